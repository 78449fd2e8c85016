"""Pairs of readings in a row, per axle, out of a car's track: what the fit is fed with.

Left out: doubted readings, ``set`` rows (their temperature is their neighbour's), nights, and changes whose minutes
aren't known. Minutes come from the clocks; without clocks from ``wait_min`` (minutes the car had stood when read).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from paddock.engine.corners import AXLES, SIDE_OF
from paddock.engine.heat.fit import Pair
from paddock.engine.heat.model import RUN_MIN
from paddock.engine.readings.mass import Step, Track
from paddock.engine.readings.timeline import CarRun, Timed

__all__ = ["Gap", "last_rise", "pairs_of", "run_minutes", "sun_differences", "typical_wait"]


@dataclass(frozen=True, slots=True)
class Gap:
    """Minutes between two readings, and from each run's end between them to the second."""

    minutes: float
    since: tuple[float, ...]


def run_minutes(run: object) -> float:
    """How long a run took, minutes."""
    time = run.time.time_ms if isinstance(run, CarRun) and run.time else None
    return RUN_MIN if time is None else time / 60_000


def gap_between(one: Step, two: Step, runs: tuple[Timed, ...]) -> Gap | None:
    """None where the minutes can't be told."""
    between = [
        item for item in runs
        if one.reading.timed.runs_before <= item.runs_before < two.reading.timed.runs_before
    ]  # fmt: skip
    clocks = [one.reading.timed.clock, two.reading.timed.clock, *(item.clock for item in between)]
    if all(value is not None for value in clocks):
        return _by_clock(one, two, between)
    return _by_wait(one, two, between)


def _by_clock(one: Step, two: Step, between: list[Timed]) -> Gap:
    start, end = one.reading.timed.clock or 0.0, two.reading.timed.clock or 0.0
    since = tuple(max(0.0, end - (item.clock or 0.0) - run_minutes(item.what)) for item in between)
    return Gap(max(0.0, end - start), since)


def _by_wait(one: Step, two: Step, between: list[Timed]) -> Gap | None:
    """Without clocks: one run at most between, begun where the first reading was taken."""
    here, there = one.reading.wait_min, two.reading.wait_min
    if not between:
        ran = one.reading.timed.runs_today > 0
        return Gap(there - (here or 0.0), ()) if ran and there is not None and there >= (here or 0.0) else None
    if len(between) > 1 or two.reading.moment != "after":
        return None
    waited = there or 0.0
    return Gap(run_minutes(between[0].what) + waited, (waited,))


def _mean_gas(one: Step, two: Step, axle: str) -> tuple[float, float] | None:
    pairs = [
        (a, b)
        for corner in AXLES[axle]
        if (a := one.corners[corner].gas_c) is not None and (b := two.corners[corner].gas_c) is not None
        and one.corners[corner].read and two.corners[corner].read
    ]  # fmt: skip
    if not pairs:
        return None
    return sum(a for a, _ in pairs) / len(pairs), sum(b for _, b in pairs) / len(pairs)


def pairs_of(track: Track, axle: str) -> Iterator[Pair]:
    """Every usable change of one axle between two readings of one day."""
    steps = [step for step in track.steps if step.reading.moment != "set"]
    for one, two in pairwise(steps):
        air0, air1 = one.reading.air_c, two.reading.air_c
        if one.reading.timed.day != two.reading.timed.day or air0 is None or air1 is None:
            continue
        gas, gap = _mean_gas(one, two, axle), gap_between(one, two, track.log.runs)
        if gas is None or gap is None or (one.reading.cold and not gap.since):
            continue
        cold = one.reading.cold
        x0 = 0.0 if cold else gas[0] - air0
        yield Pair(x0, gas[1] - air1, gap.minutes, gap.since, cold, two.reading.row.cooling or "none")


def sun_differences(track: Track) -> list[float]:
    """K by which the side in the sun was warmer, at every reading that names one."""
    found = []
    for step in track.steps:
        side = step.reading.sun
        if side is None or step.reading.cold:
            continue
        for pair in AXLES.values():
            left, right = (step.corners[corner].gas_c for corner in pair)
            if left is not None and right is not None:
                found.append(left - right if side == SIDE_OF[pair[0]] else right - left)
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
