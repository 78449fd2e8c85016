"""What `check` asks about the course and its splits: rows that stay in their file and out of every answer."""

from __future__ import annotations

from collections.abc import Iterator

from paddock.engine.check.figures import said
from paddock.engine.where.plane import Plane
from paddock.engine.where.splits import SCALED_MS, course_of, official_ms
from paddock.errors import Problem
from paddock.model.event import Event
from paddock.model.kinds import format_time
from paddock.model.rows import CourseRow, SplitRow

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
