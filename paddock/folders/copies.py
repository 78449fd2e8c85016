"""Event folders that are one and the same event: a copy beside it is no second one."""

from __future__ import annotations

from collections.abc import Hashable, Sequence

from paddock.errors import Problem
from paddock.model.event import Event


def _marks(event: Event) -> list[Hashable]:
    """What an event is known by: its id, and its entrants and times where it has any."""
    marks: list[Hashable] = [("id", event.settings.id)] if (event.settings.id or "").strip() else []
    return [*marks, _content(event)] if event.times else marks


def _content(event: Event) -> Hashable:
    return tuple(
        row.model_copy(update={"line": 0}) for rows in (event.entrants, event.times) for row in rows
    )  # fmt: skip


def same_event(one: Event, other: Event) -> bool:
    """Whether two folders hold one event: the same id, or the same entrants and times."""
    return bool(set(_marks(one)) & set(_marks(other)))


def counted_once(events: Sequence[tuple[str, Event]]) -> tuple[list[tuple[str, Event]], list[Problem]]:
    """Folder names and events in order, the first of each event alone; and a warning for each copy left out."""
    seen: dict[Hashable, tuple[str, Event]] = {}
    kept, said = [], []
    for name, event in events:
        marks = _marks(event)
        first = next((seen[mark] for mark in marks if mark in seen), None)
        if first is None:
            kept.append((name, event))
        else:
            alike = (first[1].tables, first[1].settings) == (event.tables, event.settings)
            differs = "" if alike else f", and they differ: {first[0]} counts"
            said.append(Problem(name, 0, f"left out: the same event as {first[0]}{differs}", "warning"))
        for mark in marks:
            seen.setdefault(mark, first or (name, event))
    return kept, said
