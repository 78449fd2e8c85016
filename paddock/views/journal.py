"""Notes, changes and weather: what is listed, and the edits that add to them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from paddock.actions import changes
from paddock.actions.rows import one_row
from paddock.engine.car.setup_sheet import setup_in_force
from paddock.engine.clock.schedule import last_run, next_run
from paddock.entry.weather import WeatherLine
from paddock.ids import new_id
from paddock.model.edit import AddRow, Batch, ChangeRow
from paddock.model.event import Event
from paddock.model.rows import NoteRow, WeatherRow
from paddock.model.rows import SetupChange as Change

# notes


def topic_of(text: str) -> tuple[str | None, str]:
    """``tyres: left front grains`` has the topic tyres; without a short first word and a colon there is none."""
    head, colon, rest = text.partition(":")
    if colon and rest.strip() and head.strip() and " " not in head.strip() and len(head) <= 15:
        return head.strip(), rest.strip()
    return None, text.strip()


def add_note(event: Event, number: str, day: int, at: str, text: str) -> Batch:
    """A note of this moment, with the run just done."""
    topic, words = topic_of(text)
    cells = {
        "id": new_id(), "day": day, "run": last_run(event, number, day), "at": at, "topic": topic, "text": words
    }  # fmt: skip
    return Batch(f"note: {text}", (AddRow(NoteRow.FILE, cells),))


def notes_found(event: Event, wanted: str) -> tuple[NoteRow, ...]:
    """Notes that have every word of ``wanted`` in topic or text, newest first."""
    words = wanted.casefold().split()
    rows = [
        row for row in event.of(NoteRow)
        if all(word in f"{row.topic or ''} {row.text or ''}".casefold() for word in words)
    ]  # fmt: skip
    return tuple(sorted(rows, key=lambda row: (row.day or 0, row.at or ""), reverse=True))


# changes


@dataclass(frozen=True, slots=True)
class ChangeLine:
    """A change and where it stands: ``open``, ``keep``, ``revert`` or ``taken back``."""

    row: Change
    state: str


def change_lines(event: Event) -> tuple[ChangeLine, ...]:
    """Every change, newest first."""
    rows = event.of(Change)
    undone = {row.undoes for row in rows if row.undoes}
    lines = [ChangeLine(row, _state(row, undone)) for row in rows]
    return tuple(
        sorted(lines, key=lambda item: (item.row.day or 0, item.row.run or 0, item.row.at or ""), reverse=True)
    )


def _state(row: Change, undone: set[str]) -> str:
    if row.undoes:
        return "takes back"
    if row.id in undone:
        return "taken back"
    return row.decision or "open"


def known_items(event: Event, number: str) -> dict[str, str]:
    """What can be changed, with what it is now: the settings of the car."""
    return {item.key: item.value for item in setup_in_force(event, number)}


def add_change(event: Event, number: str, day: int, at: str, said: Mapping[str, object]) -> Batch:
    """A change before the next run and what it makes one look at again."""
    return changes.add_change(event, number, day, next_run(event, number, day), at, said)


def decide(change: Change, decision: str | None) -> Batch:
    """Keep or revert a change, or open it again."""
    label = {"keep": "keep", "revert": "revert"}.get(decision or "", "open again")
    return Batch(f"{label}: {change.item}", (ChangeRow(Change.FILE, (change.id,), {"decision": decision}),))


def take_back(event: Event, change: Change, number: str, day: int, at: str) -> Batch:
    """Back to the old setting: a row that undoes the change, and the decision on it."""
    cells: dict[str, Any] = {
        "id": new_id(), "day": day, "run": next_run(event, number, day), "at": at, "number": change.number,
        "kind": change.kind, "setting": change.setting, "item": change.item, "before": change.after,
        "after": change.before, "undoes": change.id,
    }  # fmt: skip
    edits = (AddRow(Change.FILE, cells), ChangeRow(Change.FILE, (change.id,), {"decision": "revert"}))
    return Batch(f"take back: {change.item}", edits)


# weather


def add_weather(event: Event, day: int, at: str, said: WeatherLine, text: str = "") -> Batch:
    """The weather of this minute. ``text``: as it was typed."""
    names = ("air_c", "surface_c", "humidity_pct", "station_hpa", "wind_kmh", "surface", "sky")
    cells = {name: value for name in names if (value := getattr(said, name)) is not None}
    edit = one_row(event, WeatherRow, {"day": day, "at": at}, cells)
    return Batch(f"weather: {text}" if text else "weather", (edit,))
