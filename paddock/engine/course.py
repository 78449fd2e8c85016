"""How the course changed: what the field gave between run numbers, by run group, and "did I slow, or did everyone?".

Points come from the Huber fit of drivers by runs, so a driver missing here and there does no harm. A change is the
course and everybody's learning together; nothing here can part the two.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean, stdev

from paddock.engine.effect.controls import groups_of
from paddock.engine.effect.difference import single_case_error
from paddock.engine.effect.verdict import moved
from paddock.engine.paces import Slot, logs, mistakes, raw_times, void_entrants
from paddock.engine.stats.fits import interval
from paddock.engine.stats.twoway import Fit, huber_fit
from paddock.model.event import Event
from paddock.model.rows import RunRow

__all__ = ["CoursePair", "CoursePoint", "Evolution", "Slowed", "course_evolution", "did_i_slow", "groups_on", "spoilt"]

CONED = 3
"""So many cones and the run was off its line (our choice)."""


@dataclass(frozen=True, slots=True)
class CoursePoint:
    """``change_ms``: the field at this run against its first run of the day; negative is faster.

    ``low_ms`` and ``high_ms``: 80 % range, None where fewer than two drivers tie the run to the first.
    """

    run: int
    drivers: int
    change_ms: float
    low_ms: float | None
    high_ms: float | None


@dataclass(frozen=True, slots=True)
class CoursePair:
    """What the course gave from one run number to the next, over the drivers who have both."""

    run_from: int
    run_to: int
    drivers: int
    change_ms: float
    low_ms: float | None
    high_ms: float | None


@dataclass(frozen=True, slots=True)
class Evolution:
    """A day of a run group (None: everybody) at ``time_ms``, the field's typical time. Empty without data."""

    day: int
    group: str | None
    time_ms: float | None
    points: tuple[CoursePoint, ...]
    pairs: tuple[CoursePair, ...]


@dataclass(frozen=True, slots=True)
class Slowed:
    """My change between two of my runs against the field's; ``extra_ms`` and range None with too few rivals."""

    run_from: int
    run_to: int
    my_change_ms: float
    field_change_ms: float | None
    drivers: int
    extra_ms: float | None
    interval80_ms: tuple[float, float] | None
    sentence: str


def groups_on(event: Event, day: int) -> tuple[str, ...]:
    """The run groups of a day, by name."""
    return tuple(sorted({group for group in groups_of(event, day).values() if group}))


def _field(event: Event, day: int, group: str | None, without: frozenset[str]) -> dict[str, Mapping[Slot, int]]:
    groups = groups_of(event, day)
    void = void_entrants(event) | without
    wrong = mistakes(event)
    found: dict[str, Mapping[Slot, int]] = {}
    for number, times in raw_times(event).items():
        theirs = groups.get(number)
        kept = {slot: ms for slot, ms in times.items() if slot[0] == day and (number, slot) not in wrong}
        if kept and number not in void and (group is None or theirs is None or theirs == group):
            found[number] = kept
    return found


def _left(row: Sequence[float | None], level: float, fit: Fit, at: int) -> float | None:
    """A driver's own deviation at a run, an outlier pulled in to the clip."""
    value = row[at]
    if value is None:
        return None
    residual = value - level - fit.effects[at]
    return min(fit.clip, max(-fit.clip, residual)) if fit.clip else residual


@dataclass(frozen=True, slots=True)
class _Both:
    """Every driver's own deviation from one run to another, outliers pulled in; ``kept``: share not pulled in."""

    deviations: Sequence[float]
    kept: float

    def range_ms(self, centre: float, time: float) -> tuple[float | None, float | None]:
        """80 % range of an M-estimate: sd of what is kept over its share (Huber 1981), t with drivers less one."""
        count = len(self.deviations)
        if count < 2:
            return None, None
        error = stdev(self.deviations) / max(self.kept, 0.5) / math.sqrt(count)
        low, high = interval(centre, error, count - 1)
        return low * time, high * time


def _between(rows: Sequence[Sequence[float | None]], fit: Fit, i: int, j: int) -> _Both:
    """For the drivers who have both runs."""
    found, pulled = [], 0
    for row, level in zip(rows, fit.levels, strict=True):
        first, second = _left(row, level, fit, i), _left(row, level, fit, j)
        if first is not None and second is not None:
            found.append(second - first)
            pulled += sum(1 for value in (first, second) if fit.clip and abs(value) >= fit.clip)
    return _Both(found, 1.0 - pulled / (2 * len(found)) if found else 1.0)


def course_evolution(
    event: Event, day: int, group: str | None = None, without: frozenset[str] = frozenset()
) -> Evolution:
    """What each run number of ``day`` gave. ``group`` None: everybody; ``without``: numbers to leave out.

    Runs marked as mistakes are left out; so are drivers with one run only, who can't tell a change.
    """
    field = _field(event, day, group, without)
    several = {number: times for number, times in field.items() if len(times) > 1}
    if not several:
        return Evolution(day, group, None, (), ())
    slots = sorted({slot for times in several.values() for slot in times})
    rows = [logs(times, slots) for times in several.values()]
    fit = huber_fit(rows)
    time = math.exp(fmean(fit.levels))
    points = tuple(_point(rows, fit, slots, index, time) for index in range(len(slots)))
    pairs = tuple(_pair(rows, fit, slots, index, time) for index in range(len(slots) - 1))
    return Evolution(day, group, time, points, pairs)


def _point(
    rows: Sequence[Sequence[float | None]], fit: Fit, slots: Sequence[Slot], index: int, time: float
) -> CoursePoint:
    change = fit.effects[index] - fit.effects[0]
    drivers = sum(1 for row in rows if row[index] is not None)
    if index == 0:
        return CoursePoint(slots[0][1], drivers, 0.0, 0.0, 0.0)
    return CoursePoint(slots[index][1], drivers, change * time, *_between(rows, fit, 0, index).range_ms(change, time))


def _pair(
    rows: Sequence[Sequence[float | None]], fit: Fit, slots: Sequence[Slot], index: int, time: float
) -> CoursePair:
    change = fit.effects[index + 1] - fit.effects[index]
    both = _between(rows, fit, index, index + 1)
    return CoursePair(
        slots[index][1], slots[index + 1][1], len(both.deviations), change * time, *both.range_ms(change, time)
    )


def spoilt(event: Event, number: str, day: int) -> dict[int, str]:
    """My runs of a day that say nothing about pace, and why: marked a mistake or unsafe, or many cones."""
    found = {
        row.run: f"{row.cones} cones" for row in event.times
        if row.number == number and row.day == day and (row.cones or 0) >= CONED
    }  # fmt: skip
    for row in event.of(RunRow):
        if row.number == number and row.day == day and (row.mistake or row.unsafe):
            found[row.run] = "marked a mistake" if row.mistake else "marked unsafe"
    return found


def did_i_slow(event: Event, number: str, day: int, run_to: int, run_from: int | None = None) -> Slowed | None:
    """My run ``run_to`` against an earlier one of mine (None: the last clean one before it), beside my group's field.

    None where I have no such two runs. ``run_to`` counts though it be spoilt: the question is about this very run;
    with nothing clean before it there is nothing to hold it against, and the sentence says so. The field's change is
    that of ``course_evolution`` for my group without my car.
    """
    mine = {slot[1]: ms for slot, ms in raw_times(event).get(number, {}).items() if slot[0] == day}
    marked = spoilt(event, number, day)
    earlier = sorted(run for run in mine if run < run_to)
    clean = [run for run in earlier if run not in marked]
    before = max(clean or earlier, default=None) if run_from is None else run_from
    if before is None or before not in mine or run_to not in mine:
        return None
    time = math.sqrt(mine[before] * mine[run_to])
    change = math.log(mine[run_to] / mine[before]) * time
    if before in marked and run_from is None:
        return _nothing_clean((before, run_to), change, marked[before])
    own, group = frozenset(event.numbers_of_car(number)), groups_of(event, day).get(number)
    theirs = [
        math.log(times[day, run_to] / times[day, before]) for times in _field(event, day, group, own).values()
        if (day, run_to) in times and (day, before) in times
    ]  # fmt: skip
    field = _field_change(course_evolution(event, day, group, own), before, run_to)
    passed = [f"run {run} between is {marked[run]}" for run in earlier if run > before and run in marked]
    passed += [f"run {run_to} itself is {marked[run_to]}"] if run_to in marked else []
    return _slowed((before, run_to), change, field, theirs, time, "".join(f"; {word}" for word in passed))


def _nothing_clean(runs: tuple[int, int], change: float, why: str) -> Slowed:
    sentence = f"Run {runs[0]} before run {runs[1]} is {why}: there is no clean run to hold it against."
    return Slowed(*runs, change, None, 0, None, None, sentence)


def _field_change(found: Evolution, before: int, after: int) -> float | None:
    """The fitted change from one run to another, ms, as the course table has it."""
    at = {point.run: point.change_ms for point in found.points}
    return at[after] - at[before] if before in at and after in at else None


def _slowed(
    runs: tuple[int, int], change: float, field: float | None, theirs: Sequence[float], time: float, passed: str
) -> Slowed:
    start = f"From run {runs[0]} to run {runs[1]} you {moved(change)}"
    if not theirs or field is None:
        why = f"{start}; nobody else has both runs, so why can't be told{passed}."
        return Slowed(*runs, change, None, 0, None, None, why)
    start += f" and the field {moved(field)}"
    spread = single_case_error(theirs)
    if spread is None:
        sentence = f"{start}, but that is one car only{passed}."
        return Slowed(*runs, change, field, 1, change - field, None, sentence)
    reach = interval(change - field, spread.error * time, spread.df)
    sentence = f"{start}: {_who(change, field, reach)}{passed}."
    return Slowed(*runs, change, field, len(theirs), change - field, reach, sentence)


def _who(change: float, field: float, reach: tuple[float, float]) -> str:
    if reach[0] <= 0.0 <= reach[1]:
        return "you did what everyone did" if change * field > 0 else "the difference is inside the scatter"
    side = "better" if reach[1] < 0 else "worse"
    shown = abs(round(change / 10) - round(field / 10)) / 100
    return f"that was you, {shown:.2f} s {side} than everyone"
