"""What is said beside the answer: questions about readings, leaks, what is missing, and the usual caution, once."""

from __future__ import annotations

from collections.abc import Iterator

from paddock.engine.air import ZERO_C
from paddock.engine.corners import AXLE_OF, AXLES, CORNER_NAMES, Corners
from paddock.engine.pressure.limits import cold_maximum, minimum, placard
from paddock.engine.pressure.situation import Situation
from paddock.engine.pressure.thresholds import thresholds_of
from paddock.engine.work.due import due
from paddock.model.kinds import plain_number
from paddock.model.units import PSI_PA

MAKER = "The maker's figures and the cold maximum on the sidewall stand above this answer."


def _missing(s: Situation) -> Iterator[str]:
    if s.car is None:
        yield "No car file is known for this number: no target and no limit either."
        return
    axles = [axle for axle in AXLES if minimum(s.car, axle) is None and placard(s.car, axle) is None]
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
    for line in due(s.event, s.number):
        words = line.item.replace(": ", " ")
        if line.written and line.now and words.lower().startswith("find "):
            yield f"Open: {words}, {line.when}."


def cautions(s: Situation, to: Corners, more: tuple[str, ...], moment: str) -> tuple[str, ...]:
    """Everything worth saying once, the maker's word last.

    ``to``: what is suggested, true psi; ``more``: what the rule itself says.
    """
    _, advice = thresholds_of(s.car)
    about = (*_readings(s), *advice, *_missing(s), *_gauge(s), *_parked(s, to), *_over(s), *_placards(s, to))
    dries = () if moment in {"event-done", "day-done"} else _dries(s, to)
    found = (*more, *_faults(s), *about, *dries, MAKER)
    return tuple(dict.fromkeys(found))
