"""Checklists by phase: what is ticked today, with what was missed last time on top.

Last time is the latest earlier day of the event on which anything of the list was ticked; before that the event
this one was prepared from, whose ticks are carried as rows without a day.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from paddock.model.edit import AddRow, RemoveRow
from paddock.model.event import Event
from paddock.model.rows import TickRow


@dataclass(frozen=True, slots=True)
class Line:
    """One item. ``at``: when it was ticked, blank text where no clock was written; None: not ticked today."""

    item: str
    at: str | None
    missed_last: bool

    @property
    def ticked(self) -> bool:
        """Done today."""
        return self.at is not None


@dataclass(frozen=True, slots=True)
class Checklist:
    """One list on one day, missed items first, otherwise in the file's order."""

    name: str
    day: int
    lines: tuple[Line, ...]

    @property
    def left(self) -> int:
        """Items not ticked yet."""
        return sum(not line.ticked for line in self.lines)


def _ticks(event: Event, name: str, day: int | None) -> dict[str, str]:
    return {row.item: row.at or "" for row in event.of(TickRow) if row.list == name and row.day == day}


def last_ticks(event: Event, name: str, before: int) -> frozenset[str]:
    """What was ticked the last time the list was used before a day; empty: never."""
    days = {row.day for row in event.of(TickRow) if row.list == name and row.day is not None and row.day < before}
    return frozenset(_ticks(event, name, max(days) if days else None))


def missed(items: Iterable[str], ticked: frozenset[str]) -> tuple[str, ...]:
    """Items that were not ticked, where the list was used at all."""
    return tuple(item for item in items if item not in ticked) if ticked else ()


def checklist(event: Event, name: str, day: int) -> Checklist:
    """The list ``name`` on a day; empty where the event has no such list."""
    items = event.checklists.get(name, ())
    behind = missed(items, last_ticks(event, name, day))
    done = _ticks(event, name, day)
    order = [*behind, *(item for item in items if item not in behind)]
    return Checklist(name, day, tuple(Line(item, done.get(item), item in behind) for item in order))


def checklists(event: Event, day: int) -> tuple[Checklist, ...]:
    """All lists of the event on a day, in the file's order."""
    return tuple(checklist(event, name, day) for name in event.checklists)


def tick_line(name: str, item: str, day: int, at: str | None = None) -> AddRow:
    """Tick an item; ``at`` HH:MM."""
    cells = {"list": name, "item": item, "day": day}
    return AddRow(TickRow.FILE, cells | ({"at": at} if at else {}))


def untick_line(name: str, item: str, day: int) -> RemoveRow:
    """Take a tick back."""
    return RemoveRow(TickRow.FILE, (name, item, day))
