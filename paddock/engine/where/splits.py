"""An event's splits: the course of a day, runs with the times at its marks, and what they leave open."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from paddock.engine.check.figures import said
from paddock.engine.where.line import Plane
from paddock.errors import Problem
from paddock.model.event import Event
from paddock.model.rows import CourseRow, NoteRow, SplitRow, TimeRow
from paddock.model.units import format_time

MARKING_MS = {"video": 26, "track": 26, "hand": 100}
"""Half-width of the 80 % range of one mark where the row has none; video marked again differs by .02 s (sd)."""
SCALED_MS = 300
"""A finish in splits.csv that differs by more from the official time is not the same run."""


@dataclass(frozen=True, slots=True)
class Pass:
    """A mark of a run: ``at_ms`` from the start; ``error_ms``: half-width of its 80 % range, 0 at start and finish."""

    at_ms: int
    error_ms: int
    source: str


@dataclass(frozen=True, slots=True)
class SplitRun:
    """A run with its splits. ``passes``: element to pass, start (0) and finish among them."""

    day: int
    run: int
    number: str
    official_ms: int
    passes: Mapping[int, Pass]

    @property
    def sources(self) -> frozenset[str]:
        """Where its marks come from."""
        return frozenset(item.source for item in self.passes.values() if item.source)


def course_of(event: Event, day: int) -> tuple[CourseRow, ...]:
    """The day's elements in the order driven; the last is the finish."""
    return tuple(sorted((row for row in event.of(CourseRow) if row.day == day), key=lambda row: row.element))


def official_ms(event: Event, day: int, run: int, number: str) -> int | None:
    """The raw time of a run, of a re-run the one that stands; None where it has none."""
    found = [row for row in event.times_of(number) if (row.day, row.run) == (day, run) and row.time_ms]
    stands = [row for row in found if row.status not in ("rerun", "dns")] or found
    return stands[-1].time_ms if stands else None


def timed_runs(event: Event, day: int, number: str | None = None) -> tuple[SplitRun, ...]:
    """The day's runs that have splits and an official time, by number and run; marks that can't be are left out."""
    course = course_of(event, day)
    if len(course) < 2:
        return ()
    last = course[-1].element
    rows: dict[tuple[str, int], list[SplitRow]] = {}
    for row in event.of(SplitRow):
        if row.day == day and number in (None, row.number):
            rows.setdefault((row.number, row.run), []).append(row)
    known = {item.element for item in course}
    found = []
    for (whose, run), marks in sorted(rows.items()):
        official = official_ms(event, day, run, whose)
        if official is None:
            continue
        passes = _passes([row for row in marks if row.element in known], last, official)
        if len(passes) > 2:
            found.append(SplitRun(day, run, whose, official, passes))
    return tuple(found)


def _passes(rows: list[SplitRow], last: int, official: int) -> dict[int, Pass]:
    """In the order driven, each later than the one before and within the run; the official time is the finish.

    A finish marked within ``SCALED_MS`` of it scales the marks; one further off speaks of another run: none is taken.
    """
    ended = next((row.at_ms for row in rows if row.element == last), official)
    if abs(ended - official) > SCALED_MS or not ended:
        return {}
    passes, before = {0: Pass(0, 0, "")}, 0
    for row in sorted(rows, key=lambda row: row.element):
        at = row.at_ms if ended == official else round(row.at_ms * official / ended)
        if row.element in (0, last) or not before < at < official:
            continue
        source = row.source or "hand"
        error = MARKING_MS[source] if row.error_ms is None else row.error_ms
        passes[row.element] = Pass(at, error, source)
        before = at
    passes[last] = Pass(official, 0, "")
    return passes


def best_run(runs: tuple[SplitRun, ...], event: Event) -> SplitRun | None:
    """The run with the lowest official time; one that was not finished only where there is no other."""
    stopped = {(row.day, row.run, row.number) for row in event.of(TimeRow) if row.status in ("dnf", "dsq")}
    return min(
        runs, key=lambda item: ((item.day, item.run, item.number) in stopped, item.official_ms, item.run), default=None
    )


# what the splits leave open


LARGEST_M = 5_000.0
"""No cone course is larger (common practice, no source)."""


def where_questions(event: Event) -> Iterator[Problem]:
    """Warnings, each with its mend."""
    days = {row.day for row in event.of(CourseRow)}
    courses = {day: course_of(event, day) for day in days}
    for course in courses.values():
        yield from _course(course)
    runs: dict[tuple[int, int, str], list[SplitRow]] = {}
    for row in event.of(SplitRow):
        runs.setdefault((row.day, row.run, row.number), []).append(row)
    for key, rows in runs.items():
        yield from _run(event, key, sorted(rows, key=lambda row: row.element), courses.get(key[0], ()))


def _course(course: tuple[CourseRow, ...]) -> Iterator[Problem]:
    first: Plane | None = None
    for row in course:
        if (row.lat is None) != (row.lon is None):
            yield said(row, "a place needs both lat and lon: write the other, or leave both blank", "warning")
        elif row.lat is not None and row.lon is not None:
            first = first or Plane(row.lat, row.lon)
            x, y = first.xy(row.lat, row.lon)
            if abs(x) + abs(y) > LARGEST_M:
                yield said(row, "lies kilometres from the other elements: is that right?", "warning")


def _run(
    event: Event, key: tuple[int, int, str], rows: list[SplitRow], course: tuple[CourseRow, ...]
) -> Iterator[Problem]:  # fmt: skip
    known, official = {row.element for row in course}, official_ms(event, *key)
    last, before = (course[-1].element if course else -1), 0
    if official is None:
        yield said(rows[0], f"run {key[1]} of {key[2]} has no time in times.csv: its splits wait for it", "warning")
    for row in rows:
        if row.element not in known and row.element:
            yield said(row, f"course.csv has no element {row.element} on day {row.day}: add it there", "warning")
        elif official is not None and row.element == last:
            if abs(row.at_ms - official) > SCALED_MS:
                there = f"finishes at {format_time(row.at_ms)}, the official time is {format_time(official)}"
                yield said(row, f"{there}: none of the run's splits counts until they agree", "warning")
        elif row.element and (row.at_ms <= before or (official is not None and row.at_ms >= official)):
            yield said(row, f"{format_time(row.at_ms)} is not between the marks around it: left out", "warning")
        before = max(before, row.at_ms)


TOPICS = frozenset({"car", "course", "driver", "plan", "rival", "rivals", "tyre", "tyres", "weather"})
"""Usual topics of a note: never read as part of an element's name."""
_NUMBER = re.compile(r"(?:element\s+)?(\d{1,2})", re.ASCII | re.IGNORECASE)


def element_named(course: Sequence[CourseRow], head: str) -> int | None:
    """The element that ``4``, ``far turn``, or a word only one has (``box``) names; None: none, or more than one."""
    head = " ".join(head.casefold().split())
    found = _NUMBER.fullmatch(head)
    if found is not None:
        return next((row.element for row in course if row.element == int(found[1])), None)
    if not head or head in TOPICS:
        return None
    whole = [row.element for row in course if head in {name(row), f"{row.kind} {row.element}".casefold()}]
    part = [row.element for row in course if set(head.split()) <= {*name(row).split(), (row.kind or "").casefold()}]
    return next((found[0] for found in (whole, part) if len(found) == 1), None)


def name(row: CourseRow) -> str:
    """Its name, evened out."""
    return " ".join((row.name or "").casefold().split())


def _same(event: Event, day: int, other: int | None) -> bool:
    """The other day is this one, or has its course."""
    if other in (None, day):
        return True
    shapes = [[(row.element, name(row), row.kind) for row in course_of(event, one or 0)] for one in (day, other)]
    return bool(shapes[0]) and shapes[0] == shapes[1]


def notes_by_element(event: Event, day: int) -> dict[int, tuple[NoteRow, ...]]:
    """Element to its notes of the day, and of other days with the same course, in order."""
    rows = [row for row in event.of(NoteRow) if row.element is not None and row.text and _same(event, day, row.day)]
    rows.sort(key=lambda row: (row.day or 0, row.at or ""))
    found: dict[int, list[NoteRow]] = {}
    for row in rows:
        found.setdefault(row.element or 0, []).append(row)
    return {element: tuple(found[element]) for element in sorted(found)}
