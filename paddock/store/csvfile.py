"""One CSV file as a frozen value: every record's own text kept, rows read from it, edits that touch one record."""

from __future__ import annotations

import io
import re
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import accumulate
from typing import Any, NamedTuple

from paddock.errors import Problem
from paddock.model.columns import TableSpec, spec_of
from paddock.model.kept import KeptRows
from paddock.model.rows import Row
from paddock.store.disk import BOM, FileFault, decode
from paddock.store.layout import (
    DELIMITERS,
    Layout,
    Split,
    cells_of,
    end_of_cell,
    ending_of,
    layout_of,
    lines_in,
    named,
    render,
    split,
)

_NULS = "holds nothing but null bytes, as a power cut or a sync that broke off leaves them: take the line out"
_CUT = (
    "the last line ends in the middle: the file is cut off here; if the folder is being synced, wait for the rest, "
    "else complete the line or take it out"
)


class Record(NamedTuple):
    """A record under the header: its text, cells, lines spanned, the row (None: blank or faulty), what is wrong."""

    raw: str
    cells: Sequence[str]
    lines: int
    row: Row | None = None
    faults: tuple[str, ...] = ()


@dataclass(frozen=True)
class CsvFile:
    """``top`` is all text up to and with the header; ``records`` what follows; ``cut``: the first record that
    an unclosed quote or a torn end spoils, None where there is none."""

    spec: TableSpec
    bom: str
    delimiter: str
    top: str
    layout: Layout
    records: tuple[Record, ...]
    cut: int | None = None
    faults: tuple[Problem, ...] = field(default=())

    # ---- reading

    @classmethod
    def parse(cls, file: str, data: bytes) -> CsvFile:
        """The file of these bytes. Raises FileFault where nothing in it can be used."""
        text = _text_of(file, data)
        bom = BOM if text.startswith(BOM) else ""
        text = text[len(bom) :]
        spec = spec_of(file)
        delimiter = _delimiter(spec, text)
        found = split(text, delimiter)
        at = next((n for n, item in enumerate(found) if item.fault or any(map(str.strip, item.cells))), -1)
        if at < 0:
            raise FileFault(file, 1, "has no header: the first line names the columns")
        if found[at].fault:
            raise FileFault(file, 1 + sum(item.lines for item in found[:at]), found[at].fault)
        top = "".join(item.raw for item in found[: at + 1])
        layout = layout_of(spec, found[at].cells)
        empty = cls(spec, bom, delimiter, top, layout, ())
        return empty._filled(found[at + 1 :], sum(item.lines for item in found[: at + 1]))

    @classmethod
    def fresh(cls, file: str) -> CsvFile:
        """A new file: every column of the contract, commas, newline."""
        spec = spec_of(file)
        headers = [column.header for column in spec.columns]
        return cls(spec, "", ",", render(headers, ",", "\n"), layout_of(spec, headers), ())

    def _filled(self, found: Sequence[Split], above: int) -> CsvFile:
        line = above + 1
        if self.layout.faults:
            faults = tuple(Problem(self.spec.file, above, text) for text in self.layout.faults)
            records = tuple(Record(item.raw, item.cells, item.lines) for item in found)
            return replace(self, records=records, faults=faults)
        made = []
        for item in found:
            made.append(self.read_record(item, line))
            line += item.lines
        cut = next((index for index, item in enumerate(found) if item.fault), None)
        return replace(self, records=tuple(made), cut=cut)._torn()

    def _torn(self) -> CsvFile:
        last = self.records[-1] if self.records else None
        if last is None or ending_of(last.raw) or len(last.cells) >= len(self.layout.headers) or self.cut is not None:
            return self
        if not last.cells or last.faults == (_NULS,):
            return self
        spoilt = last._replace(row=None, faults=(_CUT,))
        return replace(self, records=(*self.records[:-1], spoilt), cut=len(self.records) - 1)

    def read_record(self, item: Split, line: int) -> Record:
        """The record of a split one that starts on ``line``; blank ones are neither row nor fault."""
        if item.fault:
            return Record(item.raw, item.cells, item.lines, None, (item.fault,))
        if "\0" in item.raw:
            return Record(item.raw, item.cells, item.lines, None, (_NULS,))
        if not any(item.cells) or not any(map(str.strip, item.cells)):
            return Record(item.raw, item.cells, item.lines)
        row, faults = self.layout.read(item.cells, line)
        return Record(item.raw, item.cells, item.lines, row, faults)

    # ---- what it holds

    @property
    def file(self) -> str:
        """The contract's name of the file."""
        return self.spec.file

    @cached_property
    def data(self) -> bytes:
        """The file's bytes."""
        return (self.bom + self.top + "".join([record.raw for record in self.records])).encode()

    @cached_property
    def rows(self) -> KeptRows[Row]:
        """The rows that could be read, in file order."""
        return KeptRows([record.row for record in self.records if record.row is not None])

    @cached_property
    def starts(self) -> list[int]:
        """The line each record starts on, from 1, and the one after the last."""
        return list(accumulate((record.lines for record in self.records), initial=lines_in(self.top) + 1))

    def places(self, key: tuple[Any, ...]) -> list[int]:
        """The records whose row is known by ``key``."""
        return [bisect_left(self.starts, row.line) for row in self.rows_of(key)]

    def rows_of(self, key: tuple[Any, ...]) -> list[Row]:
        """The rows known by ``key``: one, or none, or (a run and its re-run, or a fault) more."""
        return self.rows.known_by(key)

    @cached_property
    def problems(self) -> tuple[Problem, ...]:
        """Every fault found in it."""
        if len(self.rows) == len(self.records):
            return self.faults
        bad = [index for index, record in enumerate(self.records) if record.faults]
        rows = [Problem(self.file, self.starts[at], text) for at in bad for text in self.records[at].faults]
        return (*self.faults, *rows)

    @cached_property
    def comma(self) -> bool:
        """Numbers are written with a decimal comma: as most are; without any, where semicolons part the cells."""
        numeric = [slot.index for slot in self.layout.slots if slot.column.kind.name in ("time", "float")]
        text = "\n".join(cell for record in self.records for at, cell in enumerate(record.cells) if at in numeric)
        commas, points = text.count(","), text.count(".")
        return commas > points or (commas == points and self.delimiter == ";")

    @property
    def newline(self) -> str:
        """The line ending of the header, for new rows."""
        return ending_of(self.top) or "\n"

    def end_for(self, raw: str) -> int:
        """Where a new record goes: last; before a torn last one; before an open quote that its own could close."""
        if self.cut is None:
            return len(self.records)
        return self.cut if '"' in raw or self.cut == len(self.records) - 1 else len(self.records)

    # ---- changed copies

    def cells_with(self, cells: Sequence[str], values: Mapping[str, Any]) -> list[str]:
        """``cells`` with these fields set. Raises ValueError for a value that can't stand in its column."""
        made = [*cells, *[""] * (len(self.layout.headers) - len(cells))]
        for name, value in values.items():
            slot = self.layout.slot(name)
            if slot is None:
                if value is not None:
                    raise KeyError(name)
                continue
            try:
                text = slot.write(value, self.comma)
                read = slot.read(text)
            except (ValueError, TypeError, ArithmeticError) as error:
                raise ValueError(f"{slot.header}: {error}") from None
            if hasattr(read, "message"):
                raise ValueError(read.message)
            made[slot.index] = text
        return made

    def render(self, cells: Sequence[str], ending: str | None = None) -> str:
        """The text of a record in this file's own manner."""
        return render(cells, self.delimiter, self.newline if ending is None else ending)

    def with_record(self, at: int, raw: str | None, insert: bool = False) -> CsvFile:
        """Record ``at`` put in, replaced, or (``raw`` None) taken out; the lines after it are counted anew."""
        kept_after = self.records[at if insert else at + 1 :]
        made: tuple[Record, ...] = ()
        if raw is not None:
            item = Split(raw, cells_of(raw, self.delimiter), lines_in(raw))
            made = (self.read_record(item, self.starts[at]),)
        before = 0 if insert else self.records[at].lines
        shift = sum(record.lines for record in made) - before
        if shift:
            kept_after = tuple(_moved(record, shift) for record in kept_after)
        cut = self.cut
        if cut is not None and cut >= at:
            cut += len(made) - (not insert)
        changed = self._with_records((*self.records[:at], *made, *kept_after), cut)
        lines = (record.lines for record in changed.records[at:])
        changed.__dict__["starts"] = [*self.starts[:at], *accumulate(lines, initial=self.starts[at])]
        if "comma" in self.__dict__:
            changed.__dict__["comma"] = self.comma
        return changed

    def _with_records(self, records: tuple[Record, ...], cut: int | None = None) -> CsvFile:
        """The same file with other records; rows it shares with this one keep what was worked out of them."""
        changed = replace(self, records=records, cut=cut)
        changed.__dict__["rows"] = self.rows.changed_to([record.row for record in records if record.row is not None])
        return changed

    def with_records(self, changed: Mapping[int, str | None], added: Sequence[str]) -> CsvFile:
        """Many records at once, in one pass: those at these places replaced or (None) taken out, others appended.

        For a file that is not cut off and whose last line is closed.
        """
        line = self.starts[0]
        made: list[Record] = []
        for at, record in enumerate(self.records):
            raw = changed.get(at, record.raw)
            if raw is None:
                continue
            here = _at_line(record, line, self.starts[at]) if raw is record.raw else self._record_of(raw, line)
            made.append(here)
            line += made[-1].lines
        for raw in added:
            made.append(self._record_of(raw, line))
            line += made[-1].lines
        return self._with_records(tuple(made))

    def _record_of(self, raw: str, line: int) -> Record:
        return self.read_record(Split(raw, cells_of(raw, self.delimiter), lines_in(raw)), line)

    def closed(self) -> CsvFile:
        """The same with a line ending on the last line, so that another can follow."""
        if not self.records:
            return self if ending_of(self.top) else replace(self, top=self.top + self.newline)
        last = self.records[-1]
        return self if ending_of(last.raw) else self._with_last(last.raw + self.newline)

    def opened(self) -> CsvFile:
        """The same without a line ending on the last line: undoes ``closed``."""
        if not self.records:
            return replace(self, top=self.top[: len(self.top) - len(ending_of(self.top))])
        raw = self.records[-1].raw
        return self._with_last(raw[: len(raw) - len(ending_of(raw))])

    def _with_last(self, raw: str) -> CsvFile:
        return self._with_records((*self.records[:-1], self.records[-1]._replace(raw=raw)), self.cut)

    def with_column(self, header: str) -> CsvFile:
        """A column appended to the header and, blank, to every record that has cells."""
        width = len(self.layout.headers)
        top = _appended(self.top, self.delimiter + header)
        grown = replace(self, top=top, layout=layout_of(self.spec, (*self.layout.headers, header)), records=())
        return grown._filled([self._widened(record, width) for record in self.records], self.starts[0] - 1)

    def _widened(self, record: Record, width: int) -> Split:
        if not record.cells:
            return Split(record.raw, [], record.lines, record.faults[0] if record.faults else "")
        if len(record.cells) <= width:
            return Split(_appended(record.raw, self.delimiter), [*record.cells, ""], record.lines)
        cells = [*record.cells[:width], "", *record.cells[width:]]
        at = end_of_cell(record.raw, self.delimiter, width - 1)
        return Split(record.raw[:at] + self.delimiter + record.raw[at:], cells, record.lines)

    def without_column(self, header: str) -> CsvFile:
        """The last column taken out again; the same file where it is not ``header`` or not blank all the way."""
        width = len(self.layout.headers)
        last = self.layout.headers[-1]
        if named(last) != named(header) or any(any(record.cells[width - 1 : width]) for record in self.records):
            return self
        top = _cut_end(self.top, self.delimiter + last)
        texts = [self._narrowed(record, width) for record in self.records]
        return CsvFile.parse(self.file, (self.bom + top + "".join(texts)).encode())

    def _narrowed(self, record: Record, width: int) -> str:
        if len(record.cells) <= width:
            return _cut_end(record.raw, self.delimiter) if record.cells else record.raw
        at = end_of_cell(record.raw, self.delimiter, width - 1)
        return record.raw[:at].removesuffix(self.delimiter) + record.raw[at:]


_NUL_LINE = re.compile(rb"^\0+(?=\r|\n|\Z)", re.MULTILINE)


def _text_of(file: str, data: bytes) -> str:
    """The text, lines under the header that are nothing but null bytes kept in it: the rows beside them are sound."""
    if b"\0" not in data or data.startswith(b"\0"):
        return decode(file, data)
    decode(file, _NUL_LINE.sub(b"", data))
    return data.decode("utf-8")


def _at_line(record: Record, line: int, before: int) -> Record:
    return record if line == before else _moved(record, line - before)


def _appended(raw: str, text: str) -> str:
    ending = ending_of(raw)
    return raw[: len(raw) - len(ending)] + text + ending


def _cut_end(raw: str, text: str) -> str:
    ending = ending_of(raw)
    return raw[: len(raw) - len(ending)].removesuffix(text) + ending


def _moved(record: Record, shift: int) -> Record:
    if record.row is None:
        return record
    return record._replace(row=record.row.model_copy(update={"line": record.row.line + shift}))


def _delimiter(spec: TableSpec, text: str) -> str:
    """The sign that makes most known columns of the first line that says anything; then most cells."""
    line = next((line for line in io.StringIO(text, newline="") if line.strip(" \t,;\r\n")), "")

    def score(sign: str) -> tuple[int, int]:
        cells = cells_of(line, sign)
        return sum(slot is not None for slot in layout_of(spec, cells).slots), len(cells)

    there = [sign for sign in DELIMITERS if sign in line]
    return max(there, key=score) if len(there) > 1 else (there or DELIMITERS)[0]
