"""What a header says: which cell fills which field, in which unit; cells to rows and values to cells."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from pydantic import ValidationError

from paddock.model.columns import ColumnSpec, TableSpec
from paddock.model.rows import Row
from paddock.model.units import Unit, Written, out_of_bounds, plain_number

if TYPE_CHECKING:
    from _csv import Reader as _Reader


_BLANK: Final = object()
_MISSING: Final = object()
_LONGEST = 100_000
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")


@dataclass(frozen=True, slots=True)
class _Bad:
    """A cell that can't be read, kept in a column's memo."""

    message: str


@dataclass(frozen=True, slots=True)
class ColumnPlace:
    """One known column where it stands in the file."""

    index: int
    header: str
    column: ColumnSpec
    unit: Unit | None
    memo: dict[str, Any] = field(default_factory=dict, compare=False, repr=False)

    def read(self, text: str) -> Any:
        """The value of a cell as it stands in the file: in the unit kept inside, or a ``_Bad``."""
        stripped = text.strip()
        if not stripped:
            return _BLANK
        try:
            value = self.column.kind.read(stripped)
        except ValueError as error:
            return _Bad(f"{self.header}: {error}")
        if self.unit is not None and isinstance(value, float):
            family = self.column.family
            own = family is not None and self.unit is family.units[0]
            value = value if own else Written(self.unit.inward(value), self.unit.suffix, f"{value:g}")
        measured = self.column.measured
        wrong = None if measured is None else out_of_bounds(measured, self.column.field, value)
        if wrong is not None:
            return _Bad(f"{self.header}: {wrong}")
        return float(value) if isinstance(value, Written) else value

    def write(self, value: Any, comma: bool) -> str:
        """The cell of a value: in the file's unit, its decimal sign as the file has it; blank for None."""
        if value is None:
            return ""
        kind = self.column.kind
        if self.unit is not None and (self.unit.factor, self.unit.shift) != (1.0, 0.0):
            text = plain_number(self.unit.outward(float(value)), self.unit.places)
        else:
            text = kind.write(value)
        if kind.name in ("time", "float"):
            return text.replace(".", ",") if comma else text
        text = text.replace("\r\n", "\n").replace("\r", "\n").strip()
        if len(text) > _LONGEST:
            raise ValueError(f"is longer than {_LONGEST:,} letters: shorten it")
        if _CONTROL.search(text):
            raise ValueError("holds a control character: leave it out")
        return text


@dataclass(frozen=True, slots=True)
class Layout:
    """``headers``: the header's cells as they stand; ``slots``: the known columns; ``faults``: why no row is read."""

    spec: TableSpec
    headers: tuple[str, ...]
    slots: tuple[ColumnPlace, ...]
    faults: tuple[str, ...]
    required: frozenset[str]
    quick: tuple[tuple[int, str, dict[str, Any], Callable[[str], Any]], ...] = field(compare=False, repr=False)

    def slot(self, name: str) -> ColumnPlace | None:
        """The column that fills the field ``name``, None where the file has none."""
        return next((slot for slot in self.slots if slot.column.field == name), None)

    def read(self, cells: Sequence[str], line: int) -> tuple[Row | None, tuple[str, ...]]:
        """The row of one record's cells, or None and what is wrong with each of them."""
        values: dict[str, Any] = {"line": line}
        bad: list[str] = []
        count = len(cells)
        for index, name, memo, read in self.quick:
            if index < count and (text := cells[index]):
                value = memo.get(text, _MISSING)
                if value is _MISSING:
                    value = memo[text] = read(text)
                if value.__class__ is _Bad:
                    bad.append(value.message)
                elif value is not _BLANK:
                    values[name] = value
        if count > len(self.headers) and any(map(str.strip, cells[len(self.headers) :])):
            bad.append(too_many(count, len(self.headers)))
        if bad or not self.required <= values.keys():
            return None, (*bad, *self._blank_required(values, bad))
        return self._row(values)

    def _blank_required(self, values: Mapping[str, Any], bad: Sequence[str]) -> list[str]:
        missing = [slot.header for slot in self.slots if slot.column.required and slot.column.field not in values]
        return [f"{name}: is blank: write it" for name in missing if not any(b.startswith(name + ":") for b in bad)]

    def _row(self, values: dict[str, Any]) -> tuple[Row | None, tuple[str, ...]]:
        try:
            return self.spec.row.__pydantic_validator__.validate_python(values), ()
        except ValidationError as error:
            return None, tuple(f"{'.'.join(map(str, item['loc']))}: {item['msg']}" for item in error.errors())


def too_many(found: int, wanted: int) -> str:
    """The sentence for a record with more cells than the header."""
    return f"{found} cells where the header has {wanted}: put a text with the separator in it in double quotes"


def named(header: str) -> str:
    """A header cell as it is matched: stripped, lower case."""
    return header.strip().lower()


def _slot(spec: TableSpec, index: int, header: str) -> ColumnPlace | None:
    name = named(header)
    for column in spec.columns:
        unit = column.unit_of(name)
        if unit is not None or (column.family is None and name == column.header):
            return ColumnPlace(index, name, column, unit)
    return None


def _faults(spec: TableSpec, slots: Sequence[ColumnPlace]) -> tuple[str, ...]:
    seen: dict[str, str] = {}
    faults = []
    for slot in slots:
        other = seen.setdefault(slot.column.field, slot.header)
        if other is not slot.header:
            faults.append(f"the columns {other} and {slot.header} are the same: keep one of them")
    faults += [
        f"the column {column.header} is missing: the header needs it"
        for column in spec.columns
        if column.required and column.field not in seen
    ]
    return tuple(faults)


def layout_of(spec: TableSpec, headers: Sequence[str]) -> Layout:
    """The layout of a header's cells."""
    found = [_slot(spec, index, header) for index, header in enumerate(headers)]
    slots = tuple(slot for slot in found if slot is not None)
    quick = tuple((slot.index, slot.column.field, slot.memo, slot.read) for slot in slots)
    required = frozenset(column.field for column in spec.columns if column.required)
    return Layout(spec, tuple(headers), slots, _faults(spec, slots), required, quick)


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


def end_of_cell(raw: str, delimiter: str, number: int) -> int:
    """Where cell ``number`` (from 0) of a record's text ends, which has that many."""
    cell = re.compile(rf' *"(?:[^"]|"")*+"[^{delimiter}]*|[^{delimiter}]*')
    at = -1
    for _ in range(number + 1):
        found = cell.match(raw, at + 1)
        assert found is not None
        at = found.end()
    return at


def ending_of(raw: str) -> str:
    """The line ending a record closes with; blank for a last line without one."""
    return "\r\n" if raw.endswith("\r\n") else raw[-1:] if raw.endswith(("\n", "\r")) else ""


def _quoted(cell: str, delimiter: str) -> str:
    if not cell:
        return ""
    if delimiter in cell or '"' in cell or "\n" in cell or "\r" in cell or cell != cell.strip():
        return '"' + cell.replace('"', '""') + '"'
    return cell


def render(cells: Sequence[str], delimiter: str, ending: str) -> str:
    """One record's text; a record of one blank cell is quoted, for a blank line is no record."""
    text = delimiter.join(_quoted(cell, delimiter) for cell in cells)
    return (text or '""') + ending
