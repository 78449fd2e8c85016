"""Readings in a row, per axle, out of a car's track: what the fit is fed with.

A day starts cold. Left out: doubted readings, nights, what a setting changed, sides that don't agree, and the rest of
a day after a change whose minutes aren't known. Minutes come from the clocks; without clocks from ``wait_min``
(minutes the car had stood when read).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from paddock.engine.air import ZERO_C
from paddock.engine.corners import AXLES
from paddock.engine.heat.fit import Point
from paddock.engine.readings.log import Reading
from paddock.engine.readings.mass import Step, Track
from paddock.engine.readings.timeline import RUN_MIN, Timed, TimedRun
from paddock.engine.stats.fits import rounding_variance, step_of
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


def points_of(track: Track, axle: str) -> Iterator[Point]:
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


def _steps_read(track: Track) -> tuple[float, float]:
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


def sun_differences(track: Track) -> list[float]:
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


def last_rise(track: Track, axle: str) -> float | None:
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


def typical_wait(track: Track, moment: str, default: float) -> float:
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
