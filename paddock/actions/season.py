"""Events booked, changed and cancelled in ``season.toml``."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from paddock.errors import RefusedError
from paddock.folders.booking import Raw
from paddock.model.edit import Batch, SetKey
from paddock.model.season import Booking, Season, booked_name

FILE = "season.toml"
Make = Callable[[Season, Raw], Batch]
"""An edit of the file as it is when it is done."""


def book(cells: Mapping[str, Any]) -> Make:
    """A new line under ``[[events]]``; what is None is left out. RefusedError: a day is booked already."""
    given = {name: _plain(value) for name, value in cells.items() if value is not None}

    def make(season: Season, raw: Raw) -> Batch:
        taken = next((item for item in season.events if set(item.days) & set(cells.get("days") or ())), None)
        if taken is not None:
            raise RefusedError(f"{booked_name(taken)} is booked on that day already: Enter on it changes it")
        label = f"booked: {cells.get('name') or 'an event'}{_when(cells)}"
        return Batch(label, (SetKey(FILE, ("events", f"{len(raw)}"), given),))

    return make


def change_booking(was: Booking, cells: Mapping[str, Any]) -> Make:
    """Values of a line set; None takes one out. RefusedError where the line is no more as it was."""

    def make(_season: Season, raw: Raw) -> Batch:
        at = _place(raw, was)
        edits = [
            SetKey(FILE, ("events", at, name), _plain(value))
            for name, value in cells.items() if value != getattr(was, name)
        ]  # fmt: skip
        if not edits:
            raise RefusedError("nothing to change")
        said = ", ".join(f"{_NAMES.get(edit.path[2], edit.path[2])} {_said(cells[edit.path[2]])}" for edit in edits)
        return Batch(f"{booked_name(was)}: {said}", tuple(edits))

    return make


def cancel(was: Booking) -> Make:
    """The line taken out."""

    def make(_season: Season, raw: Raw) -> Batch:
        return Batch(f"cancelled: {booked_name(was)}", (SetKey(FILE, ("events", _place(raw, was)), None),))

    return make


_NAMES = {"runs_per_day": "runs a day"}


def _place(raw: Raw, was: Booking) -> str:
    for at, line in enumerate(raw):
        if (line.get("folder"), line.get("name"), tuple(line.get("days") or ())) == (was.folder, was.name, was.days):
            return f"{at}"
    raise RefusedError(f"{booked_name(was)} is not in season.toml as it was read: look at it again")


def _plain(value: Any) -> Any:
    return list(value) if isinstance(value, tuple) else value


def _said(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return " ".join(f"{item}" for item in value)
    return "taken out" if value is None else f"{value}"


def _when(cells: Mapping[str, Any]) -> str:
    days: tuple[date, ...] = cells.get("days") or ()
    return f" on {days[0]}" if days else ""
