"""What is said beside the answer: questions about readings, leaks, what is missing, and the usual caution, once."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from paddock.engine.clock import Stamp, minutes, stamp_of
from paddock.engine.pressure.air import ZERO_C
from paddock.engine.pressure.answer import Proposal, Tested
from paddock.engine.pressure.corners import AXLE_OF, AXLES, CORNER_NAMES, Corners, Reason, because
from paddock.engine.pressure.limits import cold_maximum, minimum, placard
from paddock.engine.pressure.situation import Situation
from paddock.engine.pressure.timeline import TimedRun
from paddock.engine.work.due import faults_due
from paddock.model.event import Event
from paddock.model.rows import CORNERS, WorkRow
from paddock.model.thresholds import thresholds_of
from paddock.model.units import PSI_PA

# rules 1 and 2: stop and inspect, and the hard limits. Nothing stands above them


_WORD = re.compile(r"[^\W\d_]{3,}")
_NOTHING = {None, "no", "No", "none", "None", "nothing", "-"}
_EMPTY = {"the", "and", "for", "with", "from", "run", "under", "over", "left", "right", "front", "rear", "yes"}


def _words(text: str) -> set[str]:
    return {word.lower() for word in _WORD.findall(text)} - _EMPTY


def surely_before(stamp: Stamp, run: TimedRun) -> bool:
    """Surely before a run."""
    if stamp.day is None or stamp.day != run.day:
        return stamp.day is not None and stamp.day < run.day
    if stamp.run is not None:
        return stamp.run < run.run
    start = minutes(run.at)
    return stamp.minute is not None and start is not None and stamp.minute < start


def _is_for(row: WorkRow, run: TimedRun, words: Iterable[str], event: Event) -> bool:
    """A worklist row is for what was seen where it shares a word with it, or names the run, and is not older."""
    opened, done = stamp_of(row.opened, event), stamp_of(row.done, event)
    older = surely_before(opened, run) or surely_before(done, run)
    same_run = (opened.day, opened.run) == (run.day, run.run)
    return not older and (bool(_words(_text(row)) & set(words)) or "unsafe" in _text(row) or same_run)


def work_done(event: Event, run: TimedRun, seen: str) -> bool:
    """Whether a worklist row for what was seen in a run is done, and none for it still open."""
    return worked_off(event, run, seen) is not None


def worked_off(event: Event, run: TimedRun, seen: str) -> str | None:
    """When the work for what was seen in a run was done, as the worklist says it; None: a row is open or none is."""
    rows = [row for row in event.of(WorkRow) if _is_for(row, run, _words(seen), event)]
    return (rows[-1].done or "").strip() if rows and all(row.is_done for row in rows) else None


def unsafe_seen(run: TimedRun) -> str | None:
    """What was logged as not safe in a run; None: nothing."""
    seen = run.log.unsafe if run.log else None
    return None if seen in _NOTHING else seen


def _suspect(s: Situation) -> Iterator[Reason]:
    """Corners that lost air suddenly or read out of line twice alike since the last run, until work on them is done."""
    step = s.step
    if step is None or step.reading.timed.runs_before != len(s.car_log.runs):
        return
    said = {}
    for fall in s.heat.track.falls:
        if fall.reading is step.reading and fall.psi > s.thresholds.sudden_fall_psi:
            said[fall.corner] = because("fell-against-mate", corner=fall.corner, psi=fall.psi)
    for corner, odd in step.odd.items():
        if odd.fell:
            said[corner] = because("fell-beyond-mate", corner=corner, psi=abs(odd.psi))
        elif odd.twice:
            said[corner] = because("odd-twice", corner=corner, psi=odd.psi)
    for corner, reason in said.items():
        name = CORNER_NAMES[corner]
        seen = f"{name} {corner} puncture leak valve sudden fall"
        if corner in s.fresh or (s.last is not None and _worked_on(s, s.last, corner, seen)):
            continue
        yield reason


def _worked_on(s: Situation, run: TimedRun, corner: str, seen: str) -> bool:
    named = {corner, CORNER_NAMES[corner]}
    words = _words(seen)
    rows = [
        row for row in s.event.of(WorkRow)
        if any(name in _text(row) for name in named) or _is_for(row, run, words, s.event)
    ]  # fmt: skip
    return bool(rows) and all(row.is_done for row in rows)


def _text(row: WorkRow) -> str:
    return " ".join(part for part in (row.item, row.reason, row.note) if part).lower()


def suspect(s: Situation) -> Tested:
    """A tyre that lost air, or two readings that can't both be right: stop and inspect."""
    found = next(_suspect(s), None)
    return Proposal("stop", because("inspect", what=found), {}) if found is not None else because("no-corner-fell")


def stop(s: Situation) -> Tested:
    """Rule 1."""
    run = next((item for item in reversed(s.car_log.run_rows()) if item.log is not None), None)
    seen = unsafe_seen(run) if run else None
    if run and seen and not work_done(s.event, run, seen):
        return Proposal("stop", because("unsafe", seen=seen), {})
    corners = tuple(corner for corner in CORNERS if corner in s.bound and s.bound[corner].impossible)
    if corners:
        return Proposal("stop", because("inspect", what=because("limits-impossible", corners=corners)), {})
    return _off(s, [item for item in s.car_log.run_rows() if unsafe_seen(item)])


def _off(s: Situation, unsafe: Sequence[TimedRun]) -> Reason:
    """Why nothing stops: never logged, worked off, or driven since without it."""
    if not unsafe:
        return because("nothing-unsafe")
    run = unsafe[-1]
    seen, day = unsafe_seen(run) or "", None if run.day == s.clock.day else run.day
    done = worked_off(s.event, run, seen)
    if done is None:
        return because("unsafe-not-again", day=day, run=run.run, seen=seen)
    return because("unsafe-done", day=day, run=run.run, seen=seen, done=done)


def _inside(s: Situation, corner: str, now: float) -> float:
    """Inside the limit that is crossed, by at least what the gauge can tell where there is room."""
    bound = s.bound[corner]
    if bound.over is not None and now > bound.over:
        return max(min(bound.over, now - s.min_psi), bound.under if bound.under is not None else 0.0)
    low = max(_floor(s, corner) or now, now + s.min_psi)
    return low if bound.high is None else min(low, bound.high)


def _floor(s: Situation, corner: str) -> float | None:
    """Under this a reading is outside the limits for sure; a placard counts where no target is written either."""
    bound = s.bound[corner]
    if bound.under is None and bound.soft_low is not None and s.wanted(corner) is None:
        return bound.soft_low
    return bound.under


def _outside(s: Situation, corner: str, now: float) -> str:
    """``over``, ``under`` or "" for inside, as far as the tyre's temperature tells."""
    over, under = s.bound[corner].over, _floor(s, corner)
    if over is not None and now > over + 1e-9:
        return "over"
    return "under" if under is not None and now < under - 1e-9 else ""


def limits(s: Situation) -> Tested:
    """Outside the limits: inside them. A raise without a known cold maximum is never suggested: stop."""
    now = {corner: psi for corner, psi in s.now.known().items() if s.step is None or corner not in s.step.odd}
    if s.rested:
        now = {corner: psi for corner, psi in now.items() if s.plan.cold_of(corner) is None}
    out = {corner: side for corner, psi in now.items() if (side := _outside(s, corner, psi))}
    blocked = tuple(corner for corner, side in out.items() if side == "under" and s.bound[corner].no_raise)
    if blocked:
        return Proposal("stop", because("no-way-to-add", corners=blocked), {})
    if not out:
        return because("inside-limits" if s.now.known() else "nothing-read")
    over, under = (tuple(corner for corner in out if out[corner] == side) for side in ("over", "under"))
    wanted = {corner: _inside(s, corner, now[corner]) for corner in out}
    return Proposal("limits", because("outside-limits", over=over, under=under), wanted)


MAKER = because("maker")


def _missing(s: Situation) -> Iterator[Reason]:
    if s.car is None:
        yield because("no-car-file")
        return
    least = {axle: minimum(s.car, axle, *(s.tyres.get(corner) for corner in AXLES[axle])) for axle in AXLES}
    axles = tuple(axle for axle in AXLES if least[axle] is None and placard(s.car, axle) is None)
    if axles:
        yield because("no-floor", axles=axles)
    if any(cold_maximum(s.car, s.tyres.get(corner)) is None for corner in CORNERS):
        yield because("no-maximum")
    if s.target is None:
        yield because("no-target-said", target=s.surface.target)


def _readings(s: Situation) -> Iterator[Reason]:
    track = s.heat.track
    unknown = set[str | None]()
    for doubt in track.doubts:
        once = doubt.field != "gauge" or doubt.row.gauge not in unknown
        if doubt.row.day == s.clock.day and once:
            unknown |= {doubt.row.gauge} if doubt.field == "gauge" else set()
            yield because("doubt", text=str(doubt))
    for leak in track.leaks:
        yield because("leak", why=leak.why)
    for event in track.events:
        if event.kind in {"loss", "gain"} and s.step is not None and event.reading is s.step.reading:
            yield because("air-event", why=event.why)
    if s.unfinished and s.last is not None:
        yield because("run-unfinished", run=s.last.run)
    if s.fresh:
        yield because("fresh-tyre", corners=s.fresh)
    if s.clock.later:
        yield because("later-rows", count=s.clock.later)
    worked = tuple(corner for corner, psi in s.now.items() if psi is not None and not _read(s, corner))
    if worked and not s.unread:
        yield because("worked-out", corners=worked)


def _read(s: Situation, corner: str) -> bool:
    return s.step is not None and s.step.corners[corner].read


def _gauge(s: Situation) -> Iterator[Reason]:
    if s.gauge.offset_psi:
        yield because("gauge-off", gauge=s.gauge.id, psi=s.gauge.offset_psi)
    used = {reading.gauge.id for reading in s.car_log.readings if reading.timed.day == s.clock.day}
    if len(used) > 1:
        yield because("different-gauges")
    if s.step is not None and not s.car_log.around.ambient_known(s.step.reading.timed.day):
        yield because("sea-level")


OLD_MIN = 10.0
"""From then on the age of a hot reading is told: our choice. Two fifths of its warmth is usually gone."""


def _cooled(s: Situation, to: Corners) -> Iterator[Reason]:
    """A setting, for a surface that turned, of tyres as they were read some time before it did."""
    if s.step is None or not s.turned or (age := s.surface.since_min - s.step.reading.timed.minute) < OLD_MIN:
        return
    if any(now is not None and abs(psi - now) > 1e-9 for corner, psi in to.known().items() for now in [s.now[corner]]):
        yield because("cooled-since", age_min=age)


def _parked(s: Situation, to: Corners) -> Iterator[Reason]:
    """A hot tyre let out: what it will read in the coldest air expected."""
    if s.step is None or s.rested:
        return
    coldest, outside, found = s.outside.coldest_c, s.step.reading.ambient_pa / PSI_PA, []
    for corner, psi in to.known().items():
        now, likely = s.now[corner], s.likely[corner]
        if now is not None and psi < now:
            cold = (psi + outside) * (coldest + ZERO_C) / (likely.warm_c + ZERO_C) - outside
            found.append((corner, cold + s.gauge.offset_psi))
    if found:
        yield because("let-out-hot", coldest_c=coldest, parked=tuple(found))


def _over(s: Situation) -> Iterator[Reason]:
    """Reads over the cold maximum and may be as hot as that: nothing is let out for it, but it is said."""
    corners = tuple(
        corner for corner, psi in s.now.known().items()
        if not s.likely[corner].known and (top := cold_maximum(s.car, s.tyres.get(corner))) is not None and psi > top
    )  # fmt: skip
    if corners:
        yield because("over-as-read", corners=corners)


def _placards(s: Situation, to: Corners) -> Iterator[Reason]:
    """A return that parks under a placard that only stands in for a blank minimum."""
    if s.step is None or s.rested:
        return
    axles = {
        AXLE_OF[corner]
        for corner, psi in to.known().items()
        if (soft := s.bound[corner].soft_low) is not None
        and (now := s.now[corner]) is not None
        and psi < min(now, soft)
    }
    if axles:
        yield because("parks-under-placard", axles=tuple(sorted(axles)))


def _dries(s: Situation, to: Corners) -> Iterator[Reason]:
    """It was damp or wet today and is not now: the way back that was planned, where it isn't made yet."""
    if s.surface.word not in {"dry", "drying"} or not s.surface.from_wet or s.target is None:
        return
    off = tuple(
        (axle, wanted + s.gauge.offset_psi)
        for axle, wanted in (("front", s.target.front_psi), ("rear", s.target.rear_psi))
        if wanted is not None and not s.rested and any(
            (psi := to[corner]) is not None and (aim := s.aim(corner)) is not None and abs(psi - aim) > s.min_psi + 1e-9
            for corner in AXLES[axle]
        )
    )  # fmt: skip
    if off:
        yield because("dries", hot=off)


def warmed_anew(s: Situation) -> Reason | None:
    """What the next run's end rests on where its surface is another than the tyres were warmed on; None: it isn't."""
    if not s.turned:
        return None
    ways = [(s.way[corner], psi) for corner, psi in s.now.known().items() if s.way[corner].how == "turned"]
    within = max((way.ends_at(psi, way.high_c) - way.ends_at(psi, way.low_c)) / 2 for way, psi in ways)
    rises = s.rises["front"], s.rises["rear"]
    return because("warmed-anew", surface=s.surface.word or "dry", rises=rises, within_psi=within)


def road(s: Situation) -> tuple[Reason, ...]:
    """After the day's last run, where the car is driven home: back to the road pressures; what it parks at if not."""
    return () if s.event.settings.mine.driven_home is False else (because("road-caution", road=road_figures(s)),)


def road_figures(s: Situation) -> tuple[tuple[str, float], ...]:
    """The placard of each axle as the gauge in use reads, psi; empty: none is known."""
    off = s.gauge.offset_psi
    return tuple((axle, psi + off) for axle in AXLES if (psi := placard(s.car, axle)) is not None)


def _faults(s: Situation) -> Iterator[Reason]:
    """Noises and faults written down and still to be found before the car runs again."""
    for line in faults_due(s.event, s.number):
        yield because("fault-open", item=line.item, when=line.when)


def cautions(s: Situation, to: Corners, more: tuple[Reason, ...], moment: str) -> tuple[Reason, ...]:
    """Everything worth saying, the maker's word last.

    ``to``: what is suggested, true psi; ``more``: what the rule itself says.
    """
    _, doubted = thresholds_of(s.car)
    advice = (because("threshold", text=text) for text in doubted)
    stays = Corners() if moment == "day-done" else to
    moved = (*_cooled(s, stays), *_parked(s, stays), *_over(s), *_placards(s, stays))
    about = (*_readings(s), *advice, *_missing(s), *_gauge(s), *moved)
    dries = () if moment in {"event-done", "day-done"} else _dries(s, to)
    return tuple(dict.fromkeys((*more, *_faults(s), *about, *dries, MAKER)))
