"""What is said beside the answer: questions about readings, leaks, what is missing, and the usual caution, once."""

from __future__ import annotations

from collections.abc import Iterator

from paddock.engine.air import ZERO_C
from paddock.engine.corners import AXLES, CORNER_NAMES, Corners
from paddock.engine.pressure.limits import minimum
from paddock.engine.pressure.situation import Situation
from paddock.engine.pressure.thresholds import thresholds_of
from paddock.engine.work.due import due
from paddock.model.kinds import plain_number
from paddock.model.units import PSI_PA

__all__ = ["MAKER", "cautions"]

MAKER = "The maker's figures and the cold maximum on the sidewall stand above this answer."


def _missing(s: Situation) -> Iterator[str]:
    if s.car is None:
        yield "No car file is known for this number: no target and no limit either."
        return
    axles = [axle for axle in AXLES if minimum(s.car, axle) is None]
    if axles:
        yield f"No minimum and no placard for the {' and '.join(axles)}: never a lower new setting."
    raises = sorted({bound.no_raise for bound in s.bound.values() if bound.no_raise})
    if raises:
        yield "No cold maximum is known (read the sidewall): never a raise."
    if s.target is None:
        yield f"No {s.surface.target} target in the car file."


def _readings(s: Situation) -> Iterator[str]:
    for doubt in s.track.doubts:
        if doubt.row.day == s.car_log.day:
            yield f"{doubt}."
    for leak in s.track.leaks:
        yield f"Leak? {leak.why}."
    for event in s.track.events:
        if event.kind in {"loss", "gain"} and s.step is not None and event.reading is s.step.reading:
            yield f"{event.why}."
    if s.stale:
        yield "No reading since the last run: read the four corners first."
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
    used = {reading.gauge.id for reading in s.car_log.readings if reading.timed.day == s.car_log.day}
    if len(used) > 1:
        yield "Today's readings are from different gauges: use one."
    if s.step is not None and not s.car_log.around.ambient_known(s.step.reading.timed.day):
        yield "No altitude and no station pressure: sea level is assumed."


def _parked(s: Situation, to: Corners) -> Iterator[str]:
    """A hot tyre bled: what it will read in the coldest air expected."""
    coldest = s.weather.coldest_c
    if s.step is None or coldest is None or s.step.reading.cold:
        return
    outside = s.step.reading.ambient_pa / PSI_PA
    found = []
    for corner, psi in to.known().items():
        now, temp_c = s.now[corner], s.step.corners[corner].temp_c
        if now is not None and temp_c is not None and psi < now:
            cold = (psi + outside) * (coldest + ZERO_C) / (temp_c + ZERO_C) - outside
            found.append(f"{corner.upper()} {plain_number(cold, 1)}")
    if found:
        yield f"Bled hot: parked at {plain_number(coldest, 0)} C it will read {', '.join(found)} psi."


def _dries(s: Situation, to: Corners) -> Iterator[str]:
    """It was damp or wet today and is not now: the way back that was planned, where it isn't made yet."""
    if s.surface.word not in {"dry", "drying"} or not s.surface.from_wet or s.target is None:
        return
    off = [
        f"{axle} {plain_number(wanted, 1)}"
        for axle, wanted in (("front", s.target.front_psi), ("rear", s.target.rear_psi))
        if wanted is not None and (psi := to.axle(axle)) is not None and abs(psi - wanted) > s.min_psi
    ]
    if off:
        yield f"It dries: the way back to the dry target is still to be made ({', '.join(off)} psi hot)."


def _home(s: Situation) -> Iterator[str]:
    runs = s.event.settings.runs_per_day
    done = max(
        (run.run for run in s.car_log.run_rows() if run.number == s.number and run.day == s.car_log.day), default=0
    )
    if s.car is not None and runs is not None and done >= runs:
        yield "Before driving home on these tyres: back to the maker's road pressures, cold."


def _faults(s: Situation) -> Iterator[str]:
    """Noises and faults written down and still to be found before the car runs again."""
    for line in due(s.event, s.number):
        words = line.item.replace(": ", " ")
        if line.written and line.now and words.lower().startswith("find "):
            yield f"Open: {words}, {line.when}."


def cautions(s: Situation, to: Corners) -> tuple[str, ...]:
    """Everything worth saying once, the maker's word last. ``to``: what is suggested, true psi."""
    _, advice = thresholds_of(s.car)
    about_air = (*_readings(s), *advice, *_missing(s), *_gauge(s), *_parked(s, to), *_dries(s, to))
    found = (*_faults(s), *about_air, *_home(s), MAKER)
    return tuple(dict.fromkeys(found))
