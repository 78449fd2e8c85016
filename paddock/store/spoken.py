"""Edits and rows in words, for undo and for conflicts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from paddock.model.columns import spec_of
from paddock.model.edit import AddRow, Batch, ChangeRow, Edit, PutTrack, RemoveRow, SetKey
from paddock.model.rows import ROWS, Row

_NOUNS = {
    "entrants.csv": "entry",
    "grid.csv": "grid place",
    "times.csv": "time",
    "runs.csv": "run",
    "pressures.csv": "pressures",
    "treadtemps.csv": "tread temperatures",
    "changes.csv": "change",
    "weather.csv": "weather",
    "notes.csv": "note",
    "tyres.csv": "tyre",
    "fitted.csv": "fitted tyre",
    "tread.csv": "tread depth",
    "worklist.csv": "work",
    "ticks.csv": "tick",
    "course.csv": "element",
    "splits.csv": "split",
}


def key_name(file: str, key: tuple[Any, ...]) -> str:
    """``time day 1 run 2 number 58``; an id is left out where the file goes by one."""
    fields = ROWS[file].KEY if file in ROWS else ()
    if fields == ("id",):
        return f"{_NOUNS[file]} {key[0]}"
    parts = [f"{name.strip('_')} {value}" for name, value in zip(fields, key, strict=False) if value is not None]
    return " ".join((_NOUNS.get(file, file), *parts))


def row_name(row: Row) -> str:
    """A row by what it is known by."""
    return key_name(row.FILE, row.key)


def _key_of(file: str, cells: Mapping[str, Any]) -> tuple[Any, ...]:
    return tuple(cells.get(name) for name in spec_of(file).key)


def label_of(edit: Edit) -> str:
    """What an edit does, in words."""
    if isinstance(edit, Batch):
        return edit.label
    if isinstance(edit, SetKey):
        return f"set {'.'.join(edit.path)} in {edit.file}"
    if isinstance(edit, PutTrack):
        return f"{'take out' if edit.digest is None else 'put in'} {edit.file}"
    if isinstance(edit, AddRow):
        return f"add {key_name(edit.file, _key_of(edit.file, edit.cells))}"
    verb = "remove" if isinstance(edit, RemoveRow) else "change"
    assert isinstance(edit, ChangeRow | RemoveRow)
    return f"{verb} {key_name(edit.file, edit.key)}"
