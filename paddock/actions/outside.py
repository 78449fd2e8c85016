"""What came from outside taken back, or the other of two values taken: edits like any other, so undo works on them."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from datetime import date, datetime, time
from decimal import Decimal, InvalidOperation
from typing import Any

from paddock.engine.merge import columns_of, meaning, row_words, said_text
from paddock.folders.merging import ConflictLine
from paddock.model.columns import spec_of
from paddock.model.edit import AddRow, Batch, ChangeRow, RemoveRow, SetKey, Single
from paddock.model.event import Event
from paddock.model.rows import ROWS, Row
from paddock.session.outside import OutsideChange, cells
from paddock.store.merge import Conflict
from paddock.store.rowsteps import KeyStep, RowStep, rows_of_step

ValueAt = Callable[[str, Sequence[str]], object]
"""What a TOML file says at a path; None: nothing."""
RowsByWords = Mapping[tuple[str, str], Sequence[Row]]
"""Rows by file and their name in the list of conflicts."""


def as_before(changes: Sequence[OutsideChange], label: str) -> Batch:
    """Rows and keys as they were before other hands changed them."""
    edits = (
        _row_edit(change.after, change.before)
        if change.file in ROWS
        else SetKey(change.file, change.key, change.before)
        for change in changes
    )
    return Batch(label, tuple(edit for edit in edits if edit is not None))


def _row_edit(now: Row | None, wanted: Row | None) -> Single | None:
    """The edit that makes ``wanted`` of ``now``; None: nothing to do."""
    if now is None:
        return None if wanted is None else AddRow(wanted.FILE, _filled(cells(wanted)))
    if wanted is None:
        return RemoveRow(now.FILE, now.key, _filled(cells(now)))
    old, new = cells(now), cells(wanted)
    changed = {name: value for name, value in new.items() if value != old[name]}
    return ChangeRow(now.FILE, now.key, changed, _filled(old)) if changed else None


def _filled(values: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in values.items() if value is not None}


def mine_again(event: Event, conflict: Conflict) -> Batch | None:
    """An entry that was put aside, put in over what other hands wrote; None where it is no matter of rows and keys."""
    edits: list[Single | None] = []
    for step in conflict.entry.steps:
        if isinstance(step, KeyStep):
            edits.append(SetKey(step.file, step.path, step.after))
        elif isinstance(step, RowStep):
            before, after = rows_of_step(step)
            row = after or before
            there = [] if row is None else [item for item in event.tables.get(step.file, ()) if item.key == row.key]
            if row is None or len(there) > 1:
                return None
            now = there[0] if there else None
            wanted = after
            if now is not None and before is not None and after is not None:
                old, new = cells(before), cells(after)
                mine = {name: value for name, value in new.items() if value != old[name]}
                wanted = now.model_copy(update=mine)
            edits.append(_row_edit(now, wanted))
    found = tuple(edit for edit in edits if edit is not None)
    return Batch(f"mine again: {conflict.entry.label}", found) if found else None


def rows_by_words(event: Event, lines: Sequence[ConflictLine]) -> RowsByWords:
    """The rows of the files that the list of conflicts names."""
    found: dict[tuple[str, str], list[Row]] = {}
    for file in {line[0] for line in lines if line[1]} & event.tables.keys():
        for row in event.tables[file]:
            found.setdefault((file, row_words(spec_of(file), row.key)), []).append(row)
    return found


def still_kept(line: ConflictLine, rows: RowsByWords, value_at: ValueAt) -> bool:
    """Whether the file still says what the merge kept; True where that can't be told."""
    file, row, column, kept, _ = line
    if file in ROWS and row:
        found, field = rows.get((file, row), ()), _field(file, column)
        return bool(found) and (field is None or any(_same(getattr(item, field), file, column, kept) for item in found))
    if file.endswith(".toml") and column:
        path = _path(file, column, value_at)
        return path is None or said_text(value_at(file, path)) == kept
    return True


def other_value(line: ConflictLine, rows: RowsByWords, value_at: ValueAt) -> Batch | None:
    """The value the merge did not keep put into the file; None where a person has to see how."""
    file, row, column, kept, other = line
    label = f"the other value: {' '.join(filter(None, (row or file, column)))} {other or 'blank'}"
    if file in ROWS and row and (field := _field(file, column)):
        found = [item for item in rows.get((file, row), ()) if _same(getattr(item, field), file, column, kept)]
        value = _read(file, column, other)
        if len(found) != 1 or (other and isinstance(value, str) != isinstance(_read(file, column, kept), str)):
            return None
        was = {field: getattr(found[0], field)}
        return Batch(label, (ChangeRow(file, found[0].key, {field: value if other else None}, was),))
    path = _path(file, column, value_at) if file.endswith(".toml") and column else None
    value = None if path is None else _like(value_at(file, path), other)
    return None if path is None or value is None else Batch(label, (SetKey(file, path, value),))


def _field(file: str, header: str) -> str | None:
    """The row's field of a column; None: one the program does not read."""
    column = columns_of(spec_of(file), [header])[0]
    return None if column.spec is None else column.name


def _read(file: str, header: str, text: str) -> Any:
    return meaning(columns_of(spec_of(file), [header])[0], text, {})


def _same(value: object, file: str, header: str, text: str) -> bool:
    said = _read(file, header, text)
    if isinstance(value, float) and isinstance(said, int | float):
        return math.isclose(value, said)
    return (value or None) == (said or None) if value in (None, "") or said in (None, "") else value == said


def _path(file: str, dotted: str, value_at: ValueAt) -> tuple[str, ...] | None:
    """The place of a key as the list names it, classes by code and gauges by id; None: no such place."""
    path: tuple[str, ...] = ()
    for key in dotted.split("."):
        inside = value_at(file, path)
        if isinstance(inside, list):
            named = [isinstance(part, Mapping) and key in (part.get("code"), part.get("id")) for part in inside]
            if True not in named:
                return None
            key = f"{named.index(True)}"
        path = (*path, key)
        if value_at(file, path) is None:
            return None
    return path


def _like(now: object, text: str) -> object | None:
    """``text`` as a value of the kind that stands there; None where it is none, or a list."""
    if isinstance(now, str):
        return text
    if isinstance(now, bool):
        return text == "true" if text in ("true", "false") else None
    with suppress(ValueError, InvalidOperation):
        if isinstance(now, int | Decimal):
            return int(text) if text.lstrip("-").isdecimal() and isinstance(now, int) else Decimal(text)
        if isinstance(now, date | time):
            return (datetime if isinstance(now, datetime) else type(now)).fromisoformat(text)
    return None
