"""Text to records and back, every byte kept: which lines make a record, which cells it has."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from paddock.model.columns import spec_of
from paddock.model.edit import AddRow, Batch, ChangeRow, Edit, PutTrack, RemoveRow, SetKey
from paddock.model.rows import ROWS, Row

if TYPE_CHECKING:
    from _csv import Reader as _Reader


# edits and rows in words, for undo and for conflicts


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


DELIMITERS = (",", ";", "\t")
_MAX_RESTARTS = 2000


class Split(NamedTuple):
    """One record: ``raw`` with its line ending, its cells, how many lines it spans, why it is no record."""

    raw: str
    cells: list[str]
    lines: int
    fault: str = ""


OPEN_QUOTE = "a double quote is opened and never closed: the file is cut off here, or the quote is too much"
_TOO_LONG = "a cell is longer than 131,072 letters: is a double quote left open?"
_BROKEN = "too many double quotes are wrong: bring back a whole copy"


def _reader(lines: Iterable[str], delimiter: str, strict: bool = False) -> _Reader:
    return csv.reader(lines, delimiter=delimiter, skipinitialspace=True, strict=strict)


def _run(lines: list[str], start: int, delimiter: str, found: list[Split]) -> int:
    """Reads records from line ``start`` on into ``found``; gives the line of one that can't be read, or -1."""
    reader = _reader(lines[start:], delimiter, strict=True)
    first, add = start, found.append
    try:
        for cells in reader:
            after = start + reader.line_num
            raw = lines[first] if after == first + 1 else "".join(lines[first:after])
            add(Split(raw, cells, after - first))
            first = after
    except csv.Error:
        return first
    return -1


def _alone(line: str, delimiter: str) -> Split:
    """The record of a line that strict reading refuses: with a stray quote where it closes on the line itself."""
    try:
        cells, *more = _reader([line, "end"], delimiter)
    except csv.Error:
        return Split(line, [], 1, _TOO_LONG)
    return Split(line, cells, 1) if more else Split(line, [], 1, OPEN_QUOTE)


def split(text: str, delimiter: str) -> list[Split]:
    """The records of a text; ``"".join(record.raw ...)`` is the text again.

    A record whose quote is never closed, or closed in the middle of a later cell, is given up after its first
    line, so that it hides no other.
    """
    lines = list(io.StringIO(text, newline=""))
    found: list[Split] = []
    at = _run(lines, 0, delimiter, found)
    for _ in range(_MAX_RESTARTS):
        if at < 0:
            return found
        found.append(_alone(lines[at], delimiter))
        at = _run(lines, at + 1, delimiter, found)
    if at >= 0:
        found.append(Split("".join(lines[at:]), [], len(lines) - at, _BROKEN))
    return found


def lines_in(text: str) -> int:
    """How many lines a text is, by LF, CRLF and CR."""
    return sum(1 for _ in io.StringIO(text, newline=""))


def cells_of(raw: str, delimiter: str) -> list[str]:
    """The cells of one record's text; none where one is longer than 131,072 letters."""
    try:
        return next(_reader(io.StringIO(raw, newline=""), delimiter), [])
    except csv.Error:  # longer than any cell may be
        return []


def ending_of(raw: str) -> str:
    """The line ending a record closes with; blank for a last line without one."""
    return "\r\n" if raw.endswith("\r\n") else raw[-1:] if raw.endswith(("\n", "\r")) else ""


def _quoted(cell: str, delimiter: str) -> str:
    if cell and not any(sign in cell for sign in (delimiter, '"', "\n", "\r")) and cell == cell.strip():
        return cell
    return '"' + cell.replace('"', '""') + '"' if cell else ""


def render(cells: Sequence[str], delimiter: str, ending: str) -> str:
    """One record's text; a record of one blank cell is quoted, for a blank line is no record."""
    text = delimiter.join(_quoted(cell, delimiter) for cell in cells)
    return (text or '""') + ending
