"""Notes bound to an element of the course: which element a note's first words name, and the notes of each."""

from __future__ import annotations

import re
from collections.abc import Sequence

from paddock.engine.where.splits import course_of
from paddock.model.event import Event
from paddock.model.rows import CourseRow, NoteRow

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
