"""What the checks share: a problem of a row, rows of one key twice, days out of the event."""

from __future__ import annotations

import re
from collections.abc import Callable, Hashable, Iterable, Sequence
from difflib import get_close_matches
from typing import TypeVar

from paddock.errors import Level, Problem
from paddock.model.kinds import format_time
from paddock.model.rows import Row, key_of

R = TypeVar("R", bound=Row)
Faults = list[tuple[Row, str]]
"""Rows that stay out of the tables, each with the words."""


def said(row: Row, message: str, level: Level = "fault") -> Problem:
    """A problem at a row."""
    return Problem(row.FILE, row.line, message, level)


def close_to(word: str, known: Iterable[str]) -> str:
    """``; did you mean X?`` where something known looks like ``word``, else nothing."""
    near = get_close_matches(word, list(known), 1, 0.6)
    return f"; did you mean {near[0]}?" if near else ""


def near_number(word: str, known: Iterable[str]) -> str:
    """The same for a car number: only one that is written otherwise, never another car's."""
    bare = re.sub(r"\D", "", word).lstrip("0")
    near = next((item for item in known if bare and re.sub(r"\D", "", item).lstrip("0") == bare), None)
    return f"; did you mean {near}?" if near else ""


def _spoken(row: Row) -> str:
    parts = []
    for name in row.KEY:
        value = getattr(row, name)
        if value is not None:
            parts.append(f"{name.rstrip('_')} {format_time(value) if name == 'time_ms' else value}")
    return ", ".join(parts)


def repeated(rows: Sequence[R], key: Callable[[R], Hashable | None] | None = None) -> Faults:
    """Later rows of a key already seen; ``key`` None for a row: it collides with nothing."""
    if not rows:
        return []
    known_by = key or key_of(type(rows[0]))
    keys = [known_by(row) for row in rows]
    if len(set(keys)) == len(keys):
        return []
    first: dict[Hashable, int] = {}
    faults: Faults = []
    for row, at in zip(rows, keys, strict=True):
        if at is None:
            continue
        if at in first:
            faults.append((row, f"{_spoken(row)} is on line {first[at]} already: take one of the two out"))
        else:
            first[at] = row.line
    return faults


def day_fault(row: Row, days: int) -> str | None:
    """Words for a day the event hasn't got. Day 0 is read as before the event where a file allows it."""
    day = getattr(row, "day", None)
    if day is None or not days or day <= days:
        return None
    return f"day {day} is outside the event: event.toml lists {days} day{'s' if days > 1 else ''}"
