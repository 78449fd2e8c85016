"""Readings in a row, per axle, out of a car's track: what the fit is fed with.

A day starts cold. Left out: doubted readings, nights, what a setting changed, sides that don't agree, and the rest of
a day after a change whose minutes aren't known. Minutes come from the clocks; without clocks from ``wait_min``
(minutes the car had stood when read).
"""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from operator import is_

from paddock.engine.pressure.air import ZERO_C
from paddock.engine.pressure.corners import AXLE_OF, AXLES, SIDE_OF, Corners, Reason
from paddock.engine.pressure.follow import Cools, follow
from paddock.engine.pressure.heat_fit import (
    SPRAY_FACTOR,
    Ahead,
    HeatFit,
    Point,
    cooled,
    curve,
    fit_axle,
    fit_spray,
    sprayed_by,
)
from paddock.engine.pressure.mass import AirTrack, Step
from paddock.engine.pressure.readings import CarLog, Reading, car_log
from paddock.engine.pressure.signs import surface_now, warmth_of
from paddock.engine.pressure.timeline import RUN_MIN, Timed, TimedRun
from paddock.engine.stats.fits import rounding_variance, step_of
from paddock.model.event import Event
from paddock.model.rows import CORNERS, FittedRow, PressureRow, RunRow, SetupChange, WeatherRow, WorkRow
from paddock.model.units import PSI_PA

_APART = 0.02
_NIGHT_MIN = 1e6


@dataclass(frozen=True, slots=True)
class HeatGap:
    """Minutes between two readings, and from each run's end between them to the second."""

    minutes: float
    since: tuple[float, ...]


def run_minutes(run: object) -> float:
    """How long a run took, minutes."""
    return run.minutes if isinstance(run, TimedRun) else RUN_MIN


def gap_between(one: Step, two: Step, runs: tuple[Timed, ...]) -> HeatGap | None:
    """None where the minutes can't be told."""
    between = [
        item for item in runs
        if one.reading.timed.runs_before <= item.runs_before < two.reading.timed.runs_before
    ]  # fmt: skip
    clocks = [one.reading.timed.clock, two.reading.timed.clock, *(item.clock for item in between)]
    if all(value is not None for value in clocks):
        return _by_clock(one, two, between)
    return _by_wait(one, two, between)


def _by_clock(one: Step, two: Step, between: list[Timed]) -> HeatGap:
    start, end = one.reading.timed.clock or 0.0, two.reading.timed.clock or 0.0
    since = tuple(max(0.0, end - (item.clock or 0.0) - run_minutes(item.what)) for item in between)
    return HeatGap(max(0.0, end - start), since)


def _by_wait(one: Step, two: Step, between: list[Timed]) -> HeatGap | None:
    """Without clocks: one run at most between, begun where the first reading was taken."""
    here, there = one.reading.wait_min, two.reading.wait_min
    if not between:
        ran = one.reading.timed.runs_today > 0
        return HeatGap(there - (here or 0.0), ()) if ran and there is not None and there >= (here or 0.0) else None
    if len(between) > 1 or two.reading.moment != "after":
        return None
    waited = there or 0.0
    return HeatGap(run_minutes(between[0].what) + waited, (waited,))


def _ratio(one: Step, two: Step, axle: str) -> float | None:
    """Absolute pressure of an axle over the reading before's; None where its two sides don't agree or weren't read."""
    out0, out1 = one.reading.ambient_pa / PSI_PA, two.reading.ambient_pa / PSI_PA
    before, now = one.reading.read, two.reading.read
    found = [(now[name] + out1) / (before[name] + out0) for name in AXLES[axle] if name in before and name in now]
    if not found or max(found) - min(found) > _APART:
        return None
    return sum(found) / len(found)


def _since_morning(step: Step, runs: tuple[Timed, ...]) -> HeatGap | None:
    """From a cold start to a day's first reading: nothing, or the runs made before it; None: no clocks."""
    timed = step.reading.timed
    today = [item for item in runs if item.day == timed.day and item.runs_before < timed.runs_before]
    clocks = [item.clock for item in today]
    if step.reading.cold or not today:
        return HeatGap(0.0, ())
    if timed.clock is None or any(clock is None for clock in clocks):
        return None
    since = (timed.clock - (item.clock or 0.0) - run_minutes(item.what) for item in today)
    return HeatGap(_NIGHT_MIN, tuple(max(0.0, minutes) for minutes in since))


def points_of(track: AirTrack, axle: str) -> Iterator[Point]:
    """Every reading of an axle, day by day, each compared with the one before it where the air is the same."""
    previous: Step | None = None
    lost = False
    steps = _steps_read(track)
    for step in track.steps:
        fresh = previous is None or previous.reading.timed.day != step.reading.timed.day
        runs = track.log.runs
        gap = _since_morning(step, runs) if fresh or previous is None else gap_between(previous, step, runs)
        lost = not step.reading.cold and (gap is None or (lost and not fresh))
        if not lost:
            yield _point(None if fresh else previous, step, gap or HeatGap(0.0, ()), axle, steps)
        previous = step


def _steps_read(track: AirTrack) -> tuple[float, float]:
    """The steps pressures (psi) and air (C) were read in over the whole log; 0: finer than can be told."""
    readings = [step.reading for step in track.steps]
    psi = [value for reading in readings for value in reading.read.values()]
    return step_of(psi), step_of(reading.air_c for reading in readings if reading.air_c is not None)


def _rounding_k2(previous: Step, step: Step, axle: str, air0_k: float, steps: tuple[float, float]) -> float:
    """Variance of ``air0 ratio - air1`` from rounding alone: two pressures, each the mean of the axle's, two airs."""
    psi2, air2 = (rounding_variance(width) for width in steps)
    wheels = [name for name in AXLES[axle] if name in previous.reading.read and name in step.reading.read]
    absolute = min(previous.reading.read[name] + previous.reading.ambient_pa / PSI_PA for name in wheels)
    return 2.0 * (air0_k / absolute) ** 2 * psi2 / len(wheels) + 2.0 * air2


def _point(previous: Step | None, step: Step, gap: HeatGap, axle: str, steps: tuple[float, float]) -> Point:
    reading = step.reading
    air0 = previous.reading.air_c if previous else None
    comparable = previous is not None and reading.moment != "set" and not _doubted(previous.reading, reading)
    known = comparable and air0 is not None and reading.air_c is not None
    ratio = _ratio(previous, step, axle) if known and previous else None
    idle = previous is not None and previous.reading.cold and reading.cold
    sprayed = gap.minutes if reading.row.cooling == "spray" and not gap.since else 0.0
    cold = reading.cold or (previous is None and not gap.since)
    air0_k, air1_k = (air0 or 0.0) + ZERO_C, (reading.air_c or 0.0) + ZERO_C
    rounding = _rounding_k2(previous, step, axle, air0_k, steps) if previous and ratio is not None else 0.0
    return Point(gap.minutes, gap.since, None if idle else ratio, air0_k, air1_k, cold, sprayed, rounding)


def _doubted(*readings: Reading) -> bool:
    """Marked cold and hardly so: left out."""
    return any(doubt.field == "moment" and doubt.out for reading in readings for doubt in reading.doubts)


def sun_differences(track: AirTrack) -> list[float]:
    """K by which the side in the sun was warmer, one figure (the mean of its axles) per reading that names one."""
    found = []
    for step in track.steps:
        side = step.reading.sun
        if side is None or step.reading.cold:
            continue
        sides = [tuple(step.corners[corner].gas_c for corner in pair) for pair in AXLES.values()]
        over = [left - right for left, right in sides if left is not None and right is not None]
        if over:
            found.append(sum(over) / len(over) * (1.0 if side == "left" else -1.0))
    return found


def last_rise(track: AirTrack, axle: str) -> float | None:
    """The axle's last rise from before a run to after it, psi; None: never read."""
    steps = track.steps
    for one, two in reversed(list(pairwise(steps))):
        there, here = one.reading.timed, two.reading.timed
        if two.reading.moment != "after" or there.day != here.day or here.runs_before - there.runs_before != 1:
            continue
        before, after = one.psi.axle(axle), two.psi.axle(axle)
        if before is not None and after is not None:
            return after - before
    return None


def typical_wait(track: AirTrack, moment: str, default: float) -> float:
    """Median minutes from the reading before (``before``) or from the run's end (``after``) to such a reading."""
    found = []
    for one, two in zip(track.steps, track.steps[1:], strict=False):
        gap = gap_between(one, two, track.log.runs)
        if two.reading.moment != moment or gap is None or one.reading.timed.day != two.reading.timed.day:
            continue
        if moment == "after" and gap.since:
            found.append(gap.since[-1])
        elif moment != "after" and not gap.since and one.reading.timed.runs_today:
            found.append(gap.minutes)
    return sorted(found)[len(found) // 2] if found else default


# the heat of one car: a fit per axle, or an honest word why there is none and the last rise instead


_SUNS = 3


@dataclass(frozen=True, slots=True)
class AxleHeat:
    """``fit`` None: ``why`` says so and ``last_rise_psi`` stands in (None: never read before and after a run)."""

    axle: str
    fit: HeatFit | None
    last_rise_psi: float | None
    why: Reason | None


@dataclass(frozen=True, slots=True)
class CarHeat:
    """Both axles and the track they come from. ``surface``: that of most of its runs (dry, drying, damp, wet)."""

    track: AirTrack
    axles: Mapping[str, AxleHeat]
    surface: str = "dry"

    def fit_of(self, corner: str) -> HeatFit | None:
        """The fit of a corner's axle."""
        return self.axles[AXLE_OF[corner]].fit

    def fit_for(self, corner: str, word: str | None) -> HeatFit | None:
        """The fit for a run on a surface; None also where it is of runs on another: a damp run warms a tyre less."""
        return self.fit_of(corner) if warmth_of(word) == self.surface else None


def _fit(track: AirTrack, axle: str, ranges: bool) -> HeatFit | Reason:
    """The fit of an axle, spray and sun of its own where the log has three such readings."""
    points = list(points_of(track, axle))
    fit = fit_axle(axle, sprayed_by(points, SPRAY_FACTOR), ranges)
    if isinstance(fit, Reason):
        return fit
    spray = fit_spray(fit, points)
    return replace(fit, spray=spray) if spray is not None else fit


def _cools(fits: Mapping[str, HeatFit | Reason]) -> Cools:
    """How tyres cool by these fits; not known for an axle without one."""

    def cools(corner: str, temp_c: float, reading: Reading, minutes: float) -> float | None:
        fit = fits[AXLE_OF[corner]]
        if isinstance(fit, Reason) or reading.air_c is None:
            return None
        return cooled(fit, temp_c, reading.air_c, max(0.0, minutes))

    return cools


def _axle(track: AirTrack, axle: str, fit: HeatFit | Reason) -> AxleHeat:
    rise = last_rise(track, axle)
    if isinstance(fit, Reason):
        return AxleHeat(axle, None, rise, fit)
    suns = sun_differences(track)
    own = replace(fit, sun_k=sum(suns) / len(suns)) if len(suns) >= _SUNS else fit
    return AxleHeat(axle, own, rise, None)


_Inputs = tuple[object, ...]
_KEPT: deque[tuple[tuple[str, ...], bool, _Inputs, CarHeat]] = deque(maxlen=8)
"""The last heats worked out, each with the very rows it rests on: rows are frozen, the same ones give the same heat."""


def _rests_on(event: Event, numbers: Sequence[str]) -> _Inputs:
    """All that the heat of the car of ``numbers`` is made from; another driver's runs are not among it."""
    logged: tuple[RunRow | PressureRow, ...] = (*event.of(RunRow), *event.of(PressureRow))
    own = (*event.times_of(*numbers), *(row for row in logged if row.number in numbers))
    tables = (event.tables.get(kind.FILE) for kind in (WeatherRow, FittedRow, SetupChange, WorkRow))
    return (event.settings, *tables, *own)


def heat_of(event: Event, number: str, ranges: bool = True) -> CarHeat:
    """The heat of the car that ``number`` drives, from the event's own readings, and the track that goes with it.

    ``ranges`` False: quicker, without the 80 % ranges.
    """
    numbers = event.numbers_of_car(number)
    inputs = _rests_on(event, numbers)
    for drivers, ranged, rows, heat in tuple(_KEPT):
        same = len(rows) == len(inputs) and all(map(is_, rows, inputs))
        if same and drivers == numbers and ranged >= ranges:
            return heat
    heat = _worked_out(event, number, ranges)
    _KEPT.appendleft((numbers, ranges, inputs, heat))
    return heat


def _worked_out(event: Event, number: str, ranges: bool) -> CarHeat:
    log = car_log(event, number)
    track = follow(log, falls=False)
    fits = {axle: _fit(track, axle, ranges) for axle in AXLES}
    track = follow(log, _cools(fits))
    return CarHeat(track, {axle: _axle(track, axle, fits[axle]) for axle in AXLES}, _surface(log))


def _surface(log: CarLog) -> str:
    words = Counter(warmth_of(run.log.surface if run.log else None) for run in log.run_rows())
    return words.most_common(1)[0][0] if words else "dry"


def _sunny(step: Step, corner: str) -> bool:
    return step.reading.sun == SIDE_OF[corner]


def at_start_line(event: Event, number: str) -> Corners:
    """What the tyres read at the start of the car's last run, psi: the reading before it, cooled over the wait.

    As read where there is no fit or no clock; None where nothing was read before that run.
    """
    heat = heat_of(event, number)
    runs = heat.track.log.runs
    before = [step for step in heat.track.steps if runs and step.reading.timed.runs_before == len(runs) - 1]
    before = [step for step in before if step.reading.timed.day == runs[-1].day]
    if not before:
        return Corners()
    step, start = before[-1], runs[-1].clock
    read = step.reading.timed.clock
    wait = max(0.0, start - read) if start is not None and read is not None else 0.0
    return Corners.of({corner: _waited(heat, step, corner, wait, "none") for corner in CORNERS})


def _waited(heat: CarHeat, step: Step, corner: str, wait_min: float, cooling: str) -> float | None:
    air, fit, air_c = step.corners[corner], heat.fit_of(corner), step.reading.air_c
    if air.psi is None or fit is None or air.gas_c is None or air_c is None:
        return air.psi
    return air.at(cooled(fit, air.gas_c, air_c, wait_min, cooling, _sunny(step, corner)), step.reading.ambient_pa)


def _ahead_of(
    step: Step, corner: str, wait_min: float, cooling: str = "none", air_c: float | None = None
) -> Ahead | None:
    """What lies between a reading and the end of the next run; ``air_c`` None: the reading's; None: not known."""
    air_c = step.reading.air_c if air_c is None else air_c
    if air_c is None:
        return None
    return Ahead(air_c, step.reading.ambient_pa, wait_min, cooling=cooling, sunny=_sunny(step, corner))


def heat_curves(
    event: Event, number: str, wait_min: float = 10.0, after_min: float = 20.0
) -> dict[str, tuple[tuple[float, float], ...]]:
    """(minutes from now, psi) per axle through a wait, the next run and the cooling after it; empty without a fit for
    its surface."""
    heat = heat_of(event, number)
    step, found = heat.track.latest, {}
    word = surface_now(event, heat.track.log, step.reading.timed.day).word if step is not None else None
    for axle, pair in AXLES.items():
        fit = heat.fit_for(pair[0], word)
        ahead = _ahead_of(step, pair[0], max(0.0, wait_min)) if step else None
        corner = next((name for name in pair if step and step.corners[name].gas_c is not None), None)
        if fit is None or ahead is None or corner is None or step is None:
            continue
        air = step.corners[corner]
        if air.psi is not None and air.gas_c is not None:
            found[axle] = curve(fit, air.psi, air.gas_c, ahead, after_min)
    return found
