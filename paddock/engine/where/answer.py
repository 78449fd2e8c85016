"""Where one run lost and gained against another, or against the best of each element; and the same over my runs."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import fmean, stdev, variance

from paddock.engine.field.effect import Effect
from paddock.engine.stats.quantiles import expected_least
from paddock.engine.where.placed import HALF80
from paddock.engine.where.splits import SplitRun, best_run, course_of, timed_runs
from paddock.errors import UsageError
from paddock.model.event import Event
from paddock.model.rows import CourseRow

LEAST_MS, LEAST_PHONE_MS, PHONE_FROM_MS = 50, 150, 70
"""What ``error_ms`` is at least: of video and receivers, of a phone, known by marks no better than the last figure."""
BEST = "best elements"


@dataclass(frozen=True, slots=True)
class ElementDelta:
    """One element, driven from the mark before it to its own. ``delta_ms``: mine less theirs, negative is faster;
    ``error_ms``: half-width of its 80 % range; ``verdict``: ``lost``, ``gained``, ``can't tell``."""

    element: int
    name: str
    kind: str
    mine_ms: int
    theirs_ms: int
    delta_ms: int
    error_ms: int
    verdict: str


@dataclass(frozen=True, slots=True)
class ElementOver:
    """One element over my runs of the day. ``mean_lost_ms``: against theirs; ``sd_ms``: from run to run, what marking
    adds taken off, None under three runs; ``lost_in``: runs that lost it by more than can be chance."""

    element: int
    name: str
    runs: int
    mean_lost_ms: int
    sd_ms: int | None
    lost_in: int


@dataclass(frozen=True, slots=True)
class WhereAnswer:
    """``official_delta_ms``: my raw time less theirs (of the best elements: less their sum); the deltas sum to it.

    ``best_elements_unbiased_ms``: the bias of picking the best parts taken off. ``runs``: my runs of the day with
    splits, which ``over_runs`` is over.
    """

    number: str
    day: int
    run: int
    against: str
    elements: tuple[ElementDelta, ...]
    official_delta_ms: int
    sum_ms: int
    best_elements_ms: int
    best_elements_unbiased_ms: int
    source: str
    official_ms: int
    runs: int
    over_runs: tuple[ElementOver, ...]


Segment = tuple[int, int]


@dataclass(frozen=True, slots=True)
class _Part:
    """An element's time in one run, with the half-width of its 80 % range and what it is at least."""

    ms: int
    error_ms: float
    least_ms: int


def where(
    event: Event, number: str, day: int | None = None, run: int | None = None, against: str | None = None,
    against_number: str | None = None,
) -> WhereAnswer:  # fmt: skip
    """My run (None: the best of the day with splits) against another (``against``: ``2`` of that day, ``1.3`` of
    day 1), another entry's best or named run, or the best of each element over my runs.

    Raises UsageError, which says what is missing, where there is nothing to compare.
    """
    day = _day(event, number, day)
    course = course_of(event, day)
    mine_all = timed_runs(event, day, number)
    mine = _mine(event, mine_all, number, day, run)
    whom = against_number or number
    if against is None and against_number is None:
        if len(mine_all) < 2:
            raise UsageError(f"run {mine.run} of day {day} is the only one of {number} with splits: mark another run, "
                             "or hold it against another number's")  # fmt: skip
        return _answer(mine, None, BEST, mine_all, course)
    other = _other(event, whom, day, against)
    if (other.day, other.run, other.number) == (mine.day, mine.run, mine.number):
        raise UsageError(f"run {mine.run} against itself: name another run")
    if other.day != day:
        _same_course(course, course_of(event, other.day), day, other.day)
    named = (
        f"{other.day}.{other.run}" if other.number == number else f"number {other.number}, run {other.day}.{other.run}"
    )
    return _answer(mine, other, named, mine_all, course)


def _day(event: Event, number: str, day: int | None) -> int:
    if day is not None:
        return day
    days = range(max(1, len(event.settings.days)), 0, -1)
    found = next((item for item in days if timed_runs(event, item, number)), None)
    if found is None:
        if not any(course_of(event, item) for item in days):
            raise UsageError("course.csv names no element yet: put the course in, then the times at its marks")
        raise UsageError(f"{number} has no splits yet: type a run's marks off the video, or bring in a track")
    return found


def _mine(event: Event, runs: tuple[SplitRun, ...], number: str, day: int, run: int | None) -> SplitRun:
    found = best_run(runs, event) if run is None else next((item for item in runs if item.run == run), None)
    if found is None:
        which = f"run {run} of {number} on day {day}" if run else f"{number} on day {day}"
        there = ", ".join(f"{item.run}" for item in runs)
        raise UsageError(f"{which} has no splits{f': runs with splits are {there}' if there else ''}")
    return found


_AGAINST = re.compile(r"(?:(\d{1,2})\.)?(\d{1,3})", re.ASCII)


def _other(event: Event, number: str, day: int, against: str | None) -> SplitRun:
    if against is None:
        runs = timed_runs(event, day, number)
        found = best_run(runs, event)
        if found is None:
            raise UsageError(f"{number} has no splits on day {day}")
        return found
    asked = _AGAINST.fullmatch(against.strip())
    if asked is None:
        raise UsageError(f"--against {against!r} is no run: write 2 for run 2 of the day, or 1.3 for run 3 of day 1")
    of_day, run = int(asked[1] or day), int(asked[2])
    found = next((item for item in timed_runs(event, of_day, number) if item.run == run), None)
    if found is None:
        raise UsageError(f"run {run} of {number} on day {of_day} has no splits")
    return found


def _same_course(one: Sequence[CourseRow], other: Sequence[CourseRow], day: int, other_day: int) -> None:
    if [(row.element, row.name, row.kind) for row in one] != [(row.element, row.name, row.kind) for row in other]:
        raise UsageError(f"the course of day {day} is not that of day {other_day}: their elements can't be compared")


def segments(marks: Sequence[int]) -> tuple[Segment, ...]:
    """The stretches between marks."""
    return tuple(pairwise(sorted(marks)))


def part_of(run: SplitRun, segment: Segment) -> _Part | None:
    """The run's time between two marks, None where it lacks one."""
    ends = [run.passes.get(mark) for mark in segment]
    if ends[0] is None or ends[1] is None:
        return None
    phone = any(item.source == "track" and item.error_ms >= PHONE_FROM_MS for item in run.passes.values())
    error = math.hypot(ends[0].error_ms, ends[1].error_ms)
    return _Part(ends[1].at_ms - ends[0].at_ms, error, LEAST_PHONE_MS if phone else LEAST_MS)


def _delta_error(one: _Part, other: _Part) -> int:
    return max(one.least_ms, other.least_ms, round(math.hypot(one.error_ms, other.error_ms)))


def verdict_of(delta_ms: float, error_ms: float) -> str:
    """Under two errors nothing is said."""
    if abs(delta_ms) < 2 * error_ms or not delta_ms:
        return "can't tell"
    return "lost" if delta_ms > 0 else "gained"


def _answer(
    mine: SplitRun, other: SplitRun | None, against: str, runs: tuple[SplitRun, ...], course: Sequence[CourseRow]
) -> WhereAnswer:  # fmt: skip
    marks = [mark for mark in mine.passes if other is None or mark in other.passes]
    stretches = segments(marks)
    named = _named(course, stretches)
    deltas = []
    theirs: dict[Segment, _Part] = {}
    for stretch in stretches:
        own = part_of(mine, stretch)
        assert own is not None
        their = part_of(other, stretch) if other else _best(runs, stretch)
        assert their is not None
        theirs[stretch] = their
        delta, error = own.ms - their.ms, _delta_error(own, their)
        name, kind = named[stretch]
        deltas.append(ElementDelta(stretch[1], name, kind, own.ms, their.ms, delta, error, verdict_of(delta, error)))
    total = sum(item.delta_ms for item in deltas)
    best_ms, unbiased_ms = best_together(runs, stretches)
    sources = sorted(mine.sources | (other.sources if other else frozenset().union(*(run.sources for run in runs))))
    return WhereAnswer(
        mine.number, mine.day, mine.run, against, tuple(deltas),
        mine.official_ms - other.official_ms if other else total, total, best_ms, unbiased_ms, ",".join(sources),
        mine.official_ms, len(runs),
        tuple(_over(runs, stretch, theirs[stretch], named[stretch][0]) for stretch in stretches),
    )  # fmt: skip


def _named(course: Sequence[CourseRow], stretches: Sequence[Segment]) -> dict[Segment, tuple[str, str]]:
    """(name, kind) of each stretch; one over several elements is named by all of them."""
    found = {}
    for begin, end in stretches:
        rows = [row for row in course if begin < row.element <= end]
        names = [row.name or row.kind or f"element {row.element}" for row in rows]
        kinds = {row.kind or "" for row in rows}
        found[begin, end] = (" + ".join(names), kinds.pop() if len(kinds) == 1 else "several")
    return found


def _best(runs: Sequence[SplitRun], stretch: Segment) -> _Part | None:
    parts = [part for run in runs if (part := part_of(run, stretch)) is not None]
    return min(parts, key=lambda part: part.ms, default=None)


def best_together(runs: Sequence[SplitRun], stretches: Sequence[Segment]) -> tuple[int, int]:
    """The best of each stretch together in ms: as picked, and with the bias of picking taken off.

    What is picked as the least of n is on average quicker than it was: its marking error is part of why it was picked.
    With a marking error of sd e and an sd s from run to run that holds it, that is ``d(n) e^2 / s`` (regression of the
    error on the time, at the expected least of n; David and Nagaraja, Order Statistics, 2003), and never more than the
    least is under the mean.
    """
    best, off = 0, 0.0
    for stretch in stretches:
        parts = [part for run in runs if (part := part_of(run, stretch)) is not None]
        least = min(part.ms for part in parts)
        best += least
        if len(parts) > 1:
            error = (fmean((part.error_ms / HALF80) ** 2 for part in parts)) ** 0.5
            spread = max(stdev(part.ms for part in parts), error, 1e-9)
            rough = expected_least(len(parts)) * error**2 / spread * _evenly(len(parts))
            off += min(rough, fmean(part.ms for part in parts) - least)
    return best, best + round(off)


def _evenly(n: int) -> float:
    """One over the mean of ``sigma / s``, s the sd of n normal draws: few draws make 1/s too large on average.

    The mean of an inverse chi; with two draws it has none, and half is taken.
    """
    if n < 3:
        return 0.5
    return math.exp(math.lgamma((n - 1) / 2) - math.lgamma((n - 2) / 2)) * math.sqrt(2 / (n - 1))


def _over(runs: Sequence[SplitRun], stretch: Segment, theirs: _Part, name: str) -> ElementOver:
    parts = [part for run in runs if (part := part_of(run, stretch)) is not None]
    lost = sum(verdict_of(part.ms - theirs.ms, _delta_error(part, theirs)) == "lost" for part in parts)
    spread: int | None = None
    if len(parts) > 2:
        noise = fmean((part.error_ms / HALF80) ** 2 for part in parts)
        spread = round(max(0.0, stdev(part.ms for part in parts) ** 2 - noise) ** 0.5)
    mean = round(fmean(part.ms for part in parts) - theirs.ms)
    return ElementOver(stretch[1], name, len(parts), mean, spread, lost)


# the same by kind of element


USUAL_SHARE = 0.01
"""A driver's scatter from run to run as a share of an element's time, worth two runs of evidence: common practice, no
source."""
_WORTH = 2


@dataclass(frozen=True, slots=True)
class KindDelta:
    """``delta_ms``: with the change less without it, what the field gave meanwhile taken off; negative is faster.
    ``error_ms``: half-width of its 80 % range; ``verdict`` as ``verdict_of`` has it; ``without``, ``having``: runs."""

    kind: str
    delta_ms: int
    error_ms: int
    verdict: str
    without: int
    having: int


def kind_deltas(event: Event, found: Effect) -> tuple[KindDelta, ...]:
    """By kind of element, the largest first; empty where a side has no run with splits."""
    days = {item.day for item in found.runs_used}
    courses = {tuple((row.element, row.name, row.kind) for row in course_of(event, day)) for day in days}
    if len(courses) != 1:
        return ()
    timed = {(run.day, run.run): run for day in days for run in timed_runs(event, day, found.number)}
    sides = [
        [timed[item.day, item.run] for item in found.runs_used if item.new is new and (item.day, item.run) in timed]
        for new in (False, True)
    ]
    if not all(sides):
        return ()
    marks = set.intersection(*(set(run.passes) for side in sides for run in side))
    kinds: dict[str, list[tuple[int, int]]] = {}
    rows = course_of(event, min(days))
    for begin, end in segments(sorted(marks)):
        names = {row.kind or "" for row in rows if begin < row.element <= end}
        if len(names) == 1 and (name := names.pop()):
            kinds.setdefault(name, []).append((begin, end))
    made = [_delta(kind, parts, sides[0], sides[1], found.field_change_ms or 0.0) for kind, parts in kinds.items()]
    return tuple(sorted(made, key=lambda item: -abs(item.delta_ms)))


def _delta(
    kind: str, stretches: Sequence[tuple[int, int]], old: Sequence[SplitRun], new: Sequence[SplitRun], field_ms: float
) -> KindDelta:  # fmt: skip
    times: list[list[float]] = []
    marking = 0.0
    for side in (old, new):
        parts = [[part for stretch in stretches if (part := part_of(run, stretch)) is not None] for run in side]
        times.append([float(sum(part.ms for part in found)) for found in parts])
        each = [sum(part.error_ms**2 for part in found) for found in parts]
        marking += sum(each) / len(side) ** 2
    usual = USUAL_SHARE * fmean([*times[0], *times[1]])
    degrees = len(times[0]) + len(times[1]) - 2
    seen = sum((len(side) - 1) * variance(side) for side in times if len(side) > 1)
    scatter = (seen + _WORTH * usual**2) / (degrees + _WORTH)
    error = math.sqrt(marking + HALF80**2 * scatter * (1 / len(old) + 1 / len(new)))
    share = fmean(times[0]) / fmean(run.official_ms for run in old)
    delta = fmean(times[1]) - fmean(times[0]) - field_ms * share
    return KindDelta(kind, round(delta), round(error), verdict_of(delta, error), len(old), len(new))
