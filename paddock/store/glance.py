"""The little the first paint shows, read in milliseconds: no pydantic, no frames, faults passed over."""

from __future__ import annotations

import csv
import io
import tomllib
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from paddock.store import disk
from paddock.store.disk import inside

_MOST_BYTES = 2_000_000
_SIGNS = (",", ";", "\t")


@dataclass(frozen=True, slots=True)
class GlanceRun:
    """A run of mine as its file has it, as text; blank where not recorded."""

    day: str
    run: str
    number: str
    time: str
    cones: str
    status: str


@dataclass(frozen=True, slots=True)
class Glance:
    """``name`` falls back to the folder's own; days and runs are empty where they can't be read."""

    name: str
    days: tuple[date, ...] = ()
    numbers: tuple[str, ...] = ()
    runs: tuple[GlanceRun, ...] = ()


def glance(folder: Path) -> Glance:
    """Event name, days, my numbers and my runs. Raises nothing: what can't be read is left out."""
    settings = _settings(folder)
    days = tuple(day for day in _list(settings, "days") if isinstance(day, date))
    numbers = tuple(number for number in _list(settings.get("mine"), "numbers") if isinstance(number, str))
    name = settings.get("name")
    return Glance(
        name if isinstance(name, str) and name else folder.resolve().name, days, numbers, _runs(folder, numbers)
    )


def _settings(folder: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(_text(folder, "event.toml"))
    except (OSError, ValueError, RecursionError):
        return {}


def _text(folder: Path, file: str) -> str:
    return (disk.read(inside(folder, file), _MOST_BYTES) or b"").decode("utf-8-sig")


def _list(table: object, key: str) -> list[Any]:
    found = table.get(key) if isinstance(table, dict) else None
    return found if isinstance(found, list) else []


def _runs(folder: Path, numbers: tuple[str, ...]) -> tuple[GlanceRun, ...]:
    try:
        return _mine(_text(folder, "times.csv"), frozenset(numbers)) if numbers else ()
    except (OSError, ValueError, csv.Error):
        return ()


def _mine(text: str, numbers: frozenset[str]) -> tuple[GlanceRun, ...]:
    lines = io.StringIO(text, newline="")
    head = next((line for line in lines if line.strip()), "")
    sign = max(_SIGNS, key=head.count)
    names = [name.strip().lower() for name in next(csv.reader([head], delimiter=sign), [])]
    wanted = ("day", "run", "number", "time", "cones", "status")
    places = [names.index(name) if name in names else -1 for name in wanted]
    if places[2] < 0:
        return ()
    rows = (row for row in csv.reader(lines, delimiter=sign, skipinitialspace=True) if len(row) > places[2])
    return tuple(
        GlanceRun(*(row[at].strip() if 0 <= at < len(row) else "" for at in places))
        for row in rows
        if row[places[2]].strip() in numbers
    )
