"""What is said beside the answer: questions about readings, leaks, what is missing, and the usual caution, once."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from paddock.engine.clock import Stamp, minutes, stamp_of
from paddock.engine.pressure.air import ZERO_C
from paddock.engine.pressure.corners import AXLE_OF, AXLES, CORNER_NAMES, Corners
from paddock.engine.pressure.limits import cold_maximum, minimum, placard
from paddock.engine.pressure.proposal import Proposal
from paddock.engine.pressure.situation import Situation
from paddock.engine.pressure.thresholds import thresholds_of
from paddock.engine.pressure.timeline import TimedRun
from paddock.engine.work.due import faults_due
from paddock.model.event import Event
from paddock.model.kinds import plain_number
from paddock.model.rows import CORNERS, WorkRow
from paddock.model.units import PSI_PA

# rules 1 and 2: stop and inspect, and the hard limits. Nothing stands above them


_WORD = re.compile(r"[^\W\d_]{3,}")
_NOTHING = {None, "no", "No", "none", "None", "nothing", "-"}
_EMPTY = {"the", "and", "for", "with", "from", "run", "under", "over", "left", "right", "front", "rear", "yes"}


def _words(text: str) -> set[str]:
    return {word.lower() for word in _WORD.findall(text)} - _EMPTY


def _before(stamp: Stamp, run: TimedRun) -> bool:
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
    if _before(opened, run) or _before(done, run):
        return False
    same_run = (opened.day, opened.run) == (run.day, run.run)
    return bool(_words(_text(row)) & set(words)) or "unsafe" in _text(row) or same_run


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


def _impossible(s: Situation) -> str:
    corners = [corner for corner in CORNERS if corner in s.bound and s.bound[corner].impossible]
    if not corners:
        return ""
    names = ", ".join(CORNER_NAMES[corner] for corner in corners)
    return f"minimum and cold maximum can't both be met ({names}): look at the tyre, the limits and the forecast"


def _suspect(s: Situation) -> Iterator[str]:
    """Corners that lost air suddenly or read out of line twice alike since the last run, until work on them is done."""
    step = s.step
    if step is None or step.reading.timed.runs_before != len(s.car_log.runs):
        return
    said = {}
    for fall in s.heat.track.falls:
        if fall.reading is step.reading and fall.psi > s.thresholds.sudden_fall_psi:
            by = plain_number(fall.psi, 1)
            said[fall.corner] = (
                f"{CORNER_NAMES[fall.corner]} fell {by} psi against its mate: look for a cut, a nail, the valve"
            )
    for corner, odd in step.odd.items():
        by, name = plain_number(abs(odd.psi), 1), CORNER_NAMES[corner]
        if odd.fell:
            said[corner] = f"{name} fell {by} psi beyond its mate: look for a cut, a nail, the valve"
        elif odd.twice:
            side = "over" if odd.psi > 0 else "under"
            said[corner] = f"{name} read twice alike, {by} psi {side} what its mate's change gives"
    for corner, text in said.items():
        name = CORNER_NAMES[corner]
        seen = f"{name} {corner} puncture leak valve sudden fall"
        if corner in s.fresh or (s.last is not None and _worked_on(s, s.last, corner, seen)):
            continue
        yield text


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


def suspect(s: Situation) -> Proposal | str:
    """A tyre that lost air, or two readings that can't both be right: stop and inspect."""
    found = next(_suspect(s), "")
    return Proposal("stop", f"stop and inspect: {found}", {}) if found else "no corner fell or was found odd twice"


def stop(s: Situation) -> Proposal | str:
    """Rule 1."""
    run = next((item for item in reversed(s.car_log.run_rows()) if item.log is not None), None)
    seen = unsafe_seen(run) if run else None
    if run and seen and not work_done(s.event, run, seen):
        return Proposal("stop", f"unsafe: {seen}. Stop and inspect; no setup advice until its worklist row is done", {})
    found = _impossible(s)
    if found:
        return Proposal("stop", f"stop and inspect: {found}", {})
    return _off(s, [item for item in s.car_log.run_rows() if unsafe_seen(item)])


def _off(s: Situation, unsafe: Sequence[TimedRun]) -> str:
    """Why nothing stops: never logged, worked off, or driven since without it."""
    if not unsafe:
        return "nothing unsafe was logged"
    run = unsafe[-1]
    seen = unsafe_seen(run) or ""
    done = worked_off(s.event, run, seen)
    of = f"run {run.run}" if run.day == s.clock.day else f"day {run.day} run {run.run}"
    if done is None:
        return f"{of}'s {seen}: not logged again since, but the work on it isn't ticked off"
    return f"{of}'s {seen}: done" + (f" {done}" if any(char.isdecimal() for char in done) else "")


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


def limits(s: Situation) -> Proposal | str:
    """Outside the limits: inside them. A raise without a known cold maximum is never suggested: stop."""
    now = {corner: psi for corner, psi in s.now.known().items() if s.step is None or corner not in s.step.odd}
    if s.rested:
        now = {corner: psi for corner, psi in now.items() if s.plan.cold_of(corner) is None}
    out = {corner: side for corner, psi in now.items() if (side := _outside(s, corner, psi))}
    blocked = [corner for corner, side in out.items() if side == "under" and s.bound[corner].no_raise]
    if blocked:
        reason = f"under the minimum ({_names(blocked)}) and no cold maximum is known: read the sidewall, then add"
        return Proposal("stop", reason, {})
    if not out:
        return "inside the limits as far as they are known" if s.now.known() else "nothing has been read"
    limit = {"over": "cold maximum", "under": "minimum"}
    words = [
        f"{side} the {limit[side]} ({_names(corner for corner in out if out[corner] == side)})"
        for side in limit if side in out.values()
    ]  # fmt: skip
    wanted = {corner: _inside(s, corner, now[corner]) for corner in out}
    return Proposal("limits", f"{' and '.join(words)}: inside the limits first", wanted)


def _names(corners: Iterable[str]) -> str:
    return ", ".join(CORNER_NAMES[corner] for corner in corners)


MAKER = "The maker's figures and the cold maximum on the sidewall stand above this answer."


def _missing(s: Situation) -> Iterator[str]:
    if s.car is None:
        yield "No car file is known for this number: no target and no limit either."
        return
    least = {axle: minimum(s.car, axle, *(s.tyres.get(corner) for corner in AXLES[axle])) for axle in AXLES}
    axles = [axle for axle in AXLES if least[axle] is None and placard(s.car, axle) is None]
    if axles:
        yield f"No minimum and no placard for the {' and '.join(axles)}: never a lower new setting."
    if any(cold_maximum(s.car, s.tyres.get(corner)) is None for corner in CORNER_NAMES):
        yield (
            "No cold maximum is known (read the sidewall): never above the cold plan, the placard or a cold setting "
            "logged before."
        )
    if s.target is None:
        yield f"No {s.surface.target} target in the car file."


def _readings(s: Situation) -> Iterator[str]:
    track = s.heat.track
    for doubt in track.doubts:
        if doubt.row.day == s.clock.day:
            yield f"{doubt}."
    for leak in track.leaks:
        yield f"Leak? {leak.why}."
    for event in track.events:
        if event.kind in {"loss", "gain"} and s.step is not None and event.reading is s.step.reading:
            yield f"{event.why}."
    new = [CORNER_NAMES[corner] for corner in s.fresh]
    if new:
        yield f"Fitted or mended since it was read: {', '.join(new)}; set it cold as the plan says."
    if s.clock.later:
        yield f"{s.clock.later} rows bear a time later than now: they count as now."
    worked = [CORNER_NAMES[corner] for corner, psi in s.now.items() if psi is not None and not _read(s, corner)]
    if worked and not s.unread:
        yield f"Worked out, not read: {', '.join(worked)}."


def _read(s: Situation, corner: str) -> bool:
    return s.step is not None and s.step.corners[corner].read


def _gauge(s: Situation) -> Iterator[str]:
    if s.gauge.offset_psi:
        way = "high" if s.gauge.offset_psi > 0 else "low"
        off = plain_number(abs(s.gauge.offset_psi), 2)
        yield f"Gauge {s.gauge.id} reads {off} psi {way}: both figures are as it reads."
    used = {reading.gauge.id for reading in s.car_log.readings if reading.timed.day == s.clock.day}
    if len(used) > 1:
        yield "Today's readings are from different gauges: use one."
    if s.step is not None and not s.car_log.around.ambient_known(s.step.reading.timed.day):
        yield "No altitude and no station pressure: sea level is assumed."


def _parked(s: Situation, to: Corners) -> Iterator[str]:
    """A hot tyre let out: what it will read in the coldest air expected."""
    if s.step is None or s.rested:
        return
    coldest, outside, found = s.outside.coldest_c, s.step.reading.ambient_pa / PSI_PA, []
    for corner, psi in to.known().items():
        now, likely = s.now[corner], s.likely[corner]
        if now is not None and psi < now:
            cold = (psi + outside) * (coldest + ZERO_C) / (likely.warm_c + ZERO_C) - outside
            found.append(f"{corner.upper()} {plain_number(cold + s.gauge.offset_psi, 1)}")
    if found:
        yield f"Let out hot: parked at {plain_number(coldest, 0)} °C it will read {', '.join(found)} psi."


def _over(s: Situation) -> Iterator[str]:
    """Reads over the cold maximum and may be as hot as that: nothing is let out for it, but it is said."""
    corners = [
        corner for corner, psi in s.now.known().items()
        if not s.likely[corner].known and (top := cold_maximum(s.car, s.tyres.get(corner))) is not None and psi > top
    ]  # fmt: skip
    if corners:
        names = ", ".join(CORNER_NAMES[corner] for corner in corners)
        yield f"Over the cold maximum as read ({names}); how hot they are is not known: measure it, or let them cool."


def _placards(s: Situation, to: Corners) -> Iterator[str]:
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
        yield f"Parked cold the {' and '.join(sorted(axles))} will be under the placard, and no minimum is written."


def _dries(s: Situation, to: Corners) -> Iterator[str]:
    """It was damp or wet today and is not now: the way back that was planned, where it isn't made yet."""
    if s.surface.word not in {"dry", "drying"} or not s.surface.from_wet or s.target is None:
        return
    off = [
        f"{axle} {plain_number(wanted, 1)}"
        for axle, wanted in (("front", s.target.front_psi), ("rear", s.target.rear_psi))
        if wanted is not None and (psi := to.axle(axle)) is not None and abs(psi - wanted) > s.min_psi and not s.rested
    ]
    if off:
        yield f"It dries: the way back to the dry target is still to be made ({', '.join(off)} psi hot)."


def road(s: Situation) -> tuple[str, ...]:
    """After the day's last run, where the car is driven home: back to the road pressures; what it parks at if not."""
    if s.event.settings.mine.driven_home is False:
        return ()
    figures = road_figures(s)
    by = f" ({figures} by the placard)" if figures else ""
    return (f"Before driving home on these tyres: back to the maker's road pressures, cold{by}.",)


def road_figures(s: Situation) -> str:
    """``front 32.5, rear 33.5 psi``: the placard as the gauge in use reads; "" = none is known."""
    off = s.gauge.offset_psi
    known = [f"{axle} {plain_number(psi + off, 1)}" for axle in AXLES if (psi := placard(s.car, axle)) is not None]
    return f"{', '.join(known)} psi" if known else ""


def _faults(s: Situation) -> Iterator[str]:
    """Noises and faults written down and still to be found before the car runs again."""
    for line in faults_due(s.event, s.number):
        yield f"Open: {line.item.replace(': ', ' ')}, {line.when}."


def cautions(s: Situation, to: Corners, more: tuple[str, ...], moment: str) -> tuple[str, ...]:
    """Everything worth saying once, the maker's word last.

    ``to``: what is suggested, true psi; ``more``: what the rule itself says.
    """
    _, advice = thresholds_of(s.car)
    about = (*_readings(s), *advice, *_missing(s), *_gauge(s), *_parked(s, to), *_over(s), *_placards(s, to))
    dries = () if moment in {"event-done", "day-done"} else _dries(s, to)
    found = (*more, *_faults(s), *about, *dries, MAKER)
    return tuple(dict.fromkeys(found))
