"""True conflicts: the same thing changed here and by other hands. Theirs stays in the file, mine is kept here."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from paddock.model.columns import spec_of
from paddock.store import disk
from paddock.store.csvfile import CsvFile
from paddock.store.folder import Doc
from paddock.store.journal import Entry
from paddock.store.labels import key_name
from paddock.store.layout import layout_of, named
from paddock.store.places import kept
from paddock.store.records import cells_of, render
from paddock.store.rowsteps import RowStep
from paddock.store.steps import KeyStep, Step
from paddock.store.tomlfile import TomlFile

_HEADER = ["what", "file", "row", "column", "mine", "theirs"]


@dataclass(frozen=True, slots=True)
class Difference:
    """One cell or key: as it would be by my edit, as it is in the file. Blank: nothing there."""

    file: str
    row: str
    column: str
    mine: str
    theirs: str


@dataclass(frozen=True, slots=True)
class Conflict:
    """An edit that could not be put in because other hands changed the same thing."""

    entry: Entry
    reason: str
    differences: tuple[Difference, ...]


def conflict_of(entry: Entry, reason: str, docs: Mapping[str, Doc]) -> Conflict:
    """What an entry wanted, beside what its files hold now."""
    found = [item for step in entry.steps for item in _differences(step, docs.get(step.file))]
    return Conflict(entry, reason, tuple(found))


def _differences(step: Step, doc: Doc | None) -> list[Difference]:
    if isinstance(step, KeyStep):
        theirs = doc.value(step.path) if isinstance(doc, TomlFile) else None
        mine, there = ("" if value is None else str(value) for value in (step.after, theirs))
        return [Difference(step.file, "", ".".join(step.path), mine, there)] if mine != there else []
    return _cells(step, doc) if isinstance(step, RowStep) else []


def _cells(step: RowStep, doc: Doc | None) -> list[Difference]:
    row = layout_of(spec_of(step.file), step.headers).read(
        cells_of(step.after or step.before or "", step.delimiter), 0
    )[0]
    mine = _named_cells(step.headers, cells_of(step.after or "", step.delimiter))
    theirs: dict[str, str] = {}
    if isinstance(doc, CsvFile) and row is not None:
        same = next((record for record in doc.records if record.row is not None and record.row.key == row.key), None)
        theirs = {} if same is None else _named_cells(doc.layout.headers, same.cells)
    name = step.file if row is None else key_name(step.file, row.key)
    pairs = ((column, mine.get(column, ""), theirs.get(column, "")) for column in {**mine, **theirs})
    return [Difference(step.file, name, column, ours, other) for column, ours, other in pairs if ours != other]


def _named_cells(headers: Iterable[str], cells: Iterable[str]) -> dict[str, str]:
    found = zip(map(named, headers), map(str.strip, cells), strict=False)
    return {name: cell for name, cell in found if cell}


def keep(folder: Path, conflict: Conflict) -> None:
    """Appends to ``.paddock/conflicts.csv``. Raises OSError."""
    path = kept(folder, "conflicts.csv")
    path.parent.mkdir(exist_ok=True)
    lines = [] if path.exists() else [_HEADER]
    lines += [[conflict.entry.label, d.file, d.row, d.column, d.mine, d.theirs] for d in conflict.differences]
    disk.append(path, "".join(render(line, ",", "\n") for line in lines).encode())
