"""An edit held against the files: the steps that carry it out, or the reason why it makes no sense."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import groupby
from pathlib import Path
from typing import Any

from paddock.errors import FolderError, RefusedError
from paddock.model.edit import AddRow, Batch, ChangeRow, Edit, PutTrack, RemoveRow, SetKey, Single
from paddock.model.rows import (
    ROWS,
    EntrantRow,
    FittedRow,
    NoteRow,
    Row,
    TickRow,
    TimeRow,
    TreadRow,
    TyreRow,
    WorkRow,
    key_of,
)
from paddock.store import disk
from paddock.store.aside import default_checklists, new_folder
from paddock.store.csvfile import CsvFile
from paddock.store.disk import belongs, is_document, most_bytes
from paddock.store.folder import Broken, Doc, read_doc
from paddock.store.rowsteps import (
    ColumnStep,
    Docs,
    FileStep,
    KeyStep,
    RowStep,
    SavedStep,
    TrackStep,
    apply,
    collides,
    usable,
)
from paddock.store.spoken import key_name, row_name
from paddock.store.tomlfile import TomlFile

_MANY = 8
"""From this many edits of one file on, one pass over it is made."""


def singles(edit: Edit) -> tuple[Single, ...]:
    """The single edits an edit is made of."""
    return edit.edits if isinstance(edit, Batch) else (edit,)


def plan(docs: Docs, edit: Edit) -> tuple[SavedStep, ...]:
    """The steps of an edit, carried out on ``docs`` as well. Raises RefusedError; ``docs`` is then half changed."""
    done: list[SavedStep] = []
    for _, group in groupby(singles(edit), lambda single: (single.file, isinstance(single, AddRow | ChangeRow))):
        alike = list(group)
        many = len(alike) >= _MANY and alike[0].file in ROWS and isinstance(alike[0], AddRow | ChangeRow)
        done += _bulk(docs, alike) if many else [step for single in alike for step in _steps(docs, single)]
    for file in {step.file for step in done}:
        doc = docs.get(file)
        if doc is not None and len(doc.data or b"") > most_bytes(file):
            raise RefusedError(f"{file} would have {len(doc.data or b'') / 1e6:.1f} MB: more than is ever read again")
    return tuple(done)


class _OneByOne(Exception):  # noqa: N818
    """Rows that can't be taken in one pass."""


def _bulk(docs: Docs, edits: Sequence[Single]) -> list[SavedStep]:
    """Many rows of one file in one pass; what touches a row twice goes one by one, with the same result."""
    rows = [edit for edit in edits if isinstance(edit, AddRow | ChangeRow)]
    file = rows[0].file
    done = _made(docs, file)
    done += _columns(docs, file, {name: v for edit in rows for name, v in edit.cells.items() if v is not None})
    doc = usable(docs, file)
    try:
        made = _Pass(doc)
        steps = [made.add(edit) if isinstance(edit, AddRow) else made.change(edit) for edit in rows]
    except _OneByOne:
        return done + [step for edit in rows for step in _steps(docs, edit)]
    docs[file] = doc.with_records(made.changed, made.added)
    return [*done, *steps]


class _Pass:
    """The rows of one file while many of them are planned."""

    def __init__(self, doc: CsvFile) -> None:
        if doc.cut is not None or doc.closed() is not doc:
            raise _OneByOne
        self.doc = doc
        self.changed: dict[int, str | None] = {}
        self.added: list[str] = []
        self._new: dict[tuple[Any, ...], list[Row]] = defaultdict(list)
        self._old: dict[tuple[Any, ...], list[int]] = defaultdict(list)
        held = key_of(doc.spec.row)
        for at, record in enumerate(doc.records):
            if record.row is not None:
                self._old[held(record.row)].append(at)

    def _rows(self, key: tuple[Any, ...]) -> list[Row]:
        old = (self.doc.records[at].row for at in self._old.get(key, ()))
        return [row for row in old if row is not None] + self._new.get(key, [])

    def add(self, edit: AddRow) -> SavedStep:
        raw, row = _rendered(self.doc, [], edit.cells)
        key = row.key
        if any(at in self.changed for at in self._old.get(key, ())):
            raise _OneByOne
        if any(collides(row, other) for other in self._rows(key)):
            raise RefusedError(f"{row_name(row)} is there already: change that row instead")
        self._new[key].append(row)
        self.added.append(raw)
        return self._step(None, raw, len(self.doc.records) + len(self.added) - 1)

    def change(self, edit: ChangeRow) -> SavedStep:
        _known_by(self.doc, edit.key)
        at = _one_of(self.doc, edit.key, self._old.get(edit.key, []), edit.was)
        if edit.key in self._new or at in self.changed:
            raise _OneByOne
        if at is None:
            raise RefusedError(f"{key_name(edit.file, edit.key)} is not in {edit.file}")
        record = self.doc.records[at]
        raw, row = _rendered(self.doc, record.cells, edit.cells)
        if row.key != edit.key:
            raise _OneByOne
        if row.model_copy(update={"line": self.doc.starts[at]}) == record.row:
            raw = record.raw
        self.changed[at] = raw
        return self._step(record.raw, raw, at)

    def _step(self, before: str | None, after: str, at: int) -> SavedStep:
        return RowStep(self.doc.file, self.doc.layout.headers, self.doc.delimiter, before, after, at)


def _steps(docs: Docs, edit: Single) -> list[SavedStep]:
    if isinstance(edit, SetKey):
        return [_set_key(docs, edit)]
    if isinstance(edit, PutTrack):
        if not belongs(edit.file):
            raise RefusedError(f"{edit.file} is no track of an event")
        return list(apply(docs, [TrackStep(edit.file, edit.was, edit.digest)]))
    if edit.file not in ROWS:
        raise RefusedError(f"{edit.file} is no file of an event")
    if isinstance(edit, AddRow):
        return _add(docs, edit)
    return _change(docs, edit) if isinstance(edit, ChangeRow) else [_remove(docs, edit)]


# ---- rows


def _add(docs: Docs, edit: AddRow) -> list[SavedStep]:
    done = _made(docs, edit.file) + _columns(docs, edit.file, edit.cells)
    doc = usable(docs, edit.file)
    raw, row = _rendered(doc, [], edit.cells)
    if any(collides(row, other) for other in doc.rows_of(row.key)):
        raise RefusedError(f"{row_name(row)} is there already: change that row instead")
    at = doc.end_for(raw)
    glued = at == len(doc.records) and doc.closed() is not doc
    docs[edit.file] = doc.closed().with_record(at, raw, insert=True) if glued else doc.with_record(at, raw, insert=True)
    return [*done, RowStep(edit.file, doc.layout.headers, doc.delimiter, None, raw, at, glued)]


def _made(docs: Docs, file: str) -> list[SavedStep]:
    doc = docs.get(file)
    if doc is not None and not (isinstance(doc, Broken) and doc.data is not None and not doc.data.strip()):
        return []
    step = FileStep(file, CsvFile.fresh(file).top)
    apply(docs, [step])
    return [step]


def _columns(docs: Docs, file: str, cells: Mapping[str, Any]) -> list[SavedStep]:
    """The columns that are missing for these fields, appended in the contract's order."""
    doc = usable(docs, file)
    known = {column.field for column in doc.spec.columns}
    strange = [name for name in cells if name not in known]
    if strange:
        raise RefusedError(f"{file} has no column for {strange[0]}")
    wanted = [c for c in doc.spec.columns if cells.get(c.field) is not None and doc.layout.slot(c.field) is None]
    steps: list[SavedStep] = [ColumnStep(file, _header(doc, column.field)) for column in wanted]
    apply(docs, steps)
    return steps


def _header(doc: CsvFile, field: str) -> str:
    """The header of a new column: in the unit the file uses for its like."""
    column = doc.spec.column(field)
    like = (slot.unit for slot in doc.layout.slots if slot.unit is not None and slot.column.family == column.family)
    unit = next(like, None)
    return column.header if unit is None else f"{column.stem}_{unit.suffix}"


def _rendered(doc: CsvFile, cells: Any, values: Mapping[str, Any]) -> tuple[str, Row]:
    try:
        made = doc.cells_with(cells, values)
    except ValueError as error:
        raise RefusedError(f"{doc.file}: {error}") from None
    row, faults = doc.layout.read(made, 0)
    if row is None:
        raise RefusedError(f"{doc.file}: {'; '.join(faults)}")
    return doc.render(made), row


def _known_by(doc: CsvFile, key: tuple[Any, ...]) -> None:
    if len(doc.spec.key) != len(key):
        raise RefusedError(f"a row of {doc.file} is known by {', '.join(doc.spec.key)}")


def find_row(doc: CsvFile, key: tuple[Any, ...], was: Mapping[str, Any] | None = None) -> int | None:
    """The record known by ``key``, None where there is none. Raises RefusedError where it can't be told."""
    _known_by(doc, key)
    return _one_of(doc, key, doc.places(key), was)


def _one_of(doc: CsvFile, key: tuple[Any, ...], found: list[int], was: Mapping[str, Any] | None) -> int | None:
    """Which of the records of one key is meant."""
    if was is not None:
        found = [at for at in found if all(getattr(doc.records[at].row, k) == v for k, v in was.items())]
    elif len(found) > 1:
        found = [at for at in found if getattr(doc.records[at].row, "status", None) != "rerun"] or found
    if len(found) > 1:
        lines = " and ".join(str(doc.starts[at]) for at in found)
        raise RefusedError(
            f"{key_name(doc.file, key)} is there more than once, in lines {lines} of {doc.file}: mend that"
        )
    return found[0] if found else None


def _found(docs: Docs, edit: ChangeRow | RemoveRow) -> tuple[CsvFile, int]:
    doc = usable(docs, edit.file)
    at = find_row(doc, edit.key, edit.was)
    if at is None:
        raise RefusedError(f"{key_name(edit.file, edit.key)} is not in {edit.file}")
    return doc, at


def _change(docs: Docs, edit: ChangeRow) -> list[SavedStep]:
    _found(docs, edit)
    done = _columns(docs, edit.file, edit.cells)
    doc, at = _found(docs, edit)
    record = doc.records[at]
    raw, row = _rendered(doc, record.cells, edit.cells)
    if row.key != edit.key and any(collides(row, other) for other in doc.rows_of(row.key)):
        raise RefusedError(f"{row_name(row)} is there already: change that row instead")
    if row.model_copy(update={"line": doc.starts[at]}) == record.row:
        raw = record.raw
    docs[edit.file] = doc.with_record(at, raw)
    return [*done, RowStep(edit.file, doc.layout.headers, doc.delimiter, record.raw, raw, at)]


def _remove(docs: Docs, edit: RemoveRow) -> SavedStep:
    doc, at = _found(docs, edit)
    docs[edit.file] = doc.with_record(at, None)
    return RowStep(edit.file, doc.layout.headers, doc.delimiter, doc.records[at].raw, None, at)


# ---- keys


def _set_key(docs: Docs, edit: SetKey) -> SavedStep:
    if not edit.path or not is_document(edit.file):
        raise RefusedError(f"{edit.file} is no settings file of an event")
    doc = docs.get(edit.file)
    if isinstance(doc, Broken):
        problem = doc.problems[0]
        raise RefusedError(f"{edit.file} has to be mended first{problem.at_line}: {problem.message}")
    assert doc is None or isinstance(doc, TomlFile)
    made = with_key(doc, edit)
    step = KeyStep(
        edit.file,
        edit.path,
        None if doc is None else doc.value(edit.path),
        made.value(edit.path),
        None if doc is None else doc.data.decode(),
        made.data.decode(),
    )
    docs[edit.file] = made
    return step


def with_key(doc: TomlFile | None, edit: SetKey) -> TomlFile:
    """The file with a key set; None: there is none yet. Raises RefusedError where it can't stand there."""
    try:
        made = (
            TomlFile.fresh(edit.file, edit.path, edit.value) if doc is None else doc.with_value(edit.path, edit.value)
        )
    except (ValueError, TypeError) as error:
        raise RefusedError(f"{edit.file}: {error}") from None
    known = {problem.message for problem in doc.problems} if doc is not None else set()
    new = [problem.message for problem in made.problems if problem.message not in known]
    if new:
        raise RefusedError(f"{edit.file}: {new[0]}")
    return made


# a new event folder out of an old one: copies of its files, emptied or edited, and nothing of the old one touched


CHECKLISTS = "checklist.toml"
_MOST_BESIDE = 30_000_000
COPIED = ("event.toml", CHECKLISTS, TyreRow.FILE)
"""Files taken over as they stand, then edited."""
CARS = "cars"
"""The folder that is copied whole."""
HEADERS = (
    EntrantRow.FILE, TimeRow.FILE, FittedRow.FILE, TreadRow.FILE, WorkRow.FILE, TickRow.FILE, NoteRow.FILE,
)  # fmt: skip
"""Files that begin empty with the old one's header, so that its units and columns stay."""
ALWAYS = (EntrantRow.FILE, TimeRow.FILE)
"""Of ``HEADERS``, those written even when nothing goes into them."""


def _emptied(old: Path, file: str) -> CsvFile:
    """The old file's header, in its own manner, without rows; the contract's where there is none to use."""
    doc = read_doc(old, file)
    if isinstance(doc, CsvFile) and not doc.faults:
        return replace(doc, records=(), cut=None).closed()
    return CsvFile.fresh(file)


def _copied(old: Path) -> dict[str, Doc]:
    docs: dict[str, Doc] = {}
    for file in (*COPIED, *(f"{CARS}/{path.name}" for path in _cars(old) if path.suffix == ".toml")):
        doc = read_doc(old, file)
        if isinstance(doc, Broken):
            problem = doc.problems[0]
            raise FolderError(f"{old}: {file}:{problem.line}: {problem.message}: mend it, then carry it on")
        if doc is not None:
            docs[file] = doc
    return docs


def _cars(old: Path) -> list[Path]:
    """Car files and what lies beside them, links left out."""
    found = (old / CARS).iterdir() if (old / CARS).is_dir() else ()
    return sorted(path for path in found if path.is_file() and not path.is_symlink() and not path.name.startswith("."))


def _new_files(old: Path, edits: Sequence[AddRow | ChangeRow | SetKey]) -> dict[str, bytes]:
    docs = _copied(old)
    docs |= {file: _emptied(old, file) for file in HEADERS}
    plan(docs, Batch("carry", tuple(edits)))
    for file in HEADERS:
        doc = docs[file]
        if file not in ALWAYS and isinstance(doc, CsvFile) and not doc.records:
            del docs[file]
    made = {file: doc.data for file, doc in docs.items() if doc.data is not None}
    made |= {
        f"{CARS}/{path.name}": disk.read(path, _MOST_BESIDE) or b"" for path in _cars(old) if path.suffix != ".toml"
    }
    made.setdefault(CHECKLISTS, default_checklists().encode())
    return made


def write_carried(old: Path, folder: Path, edits: Sequence[AddRow | ChangeRow | SetKey]) -> None:
    """Write the folder that ``edits`` (``paddock.engine.prepare.Carried.edits``) make of copies of ``old``.

    Raises FolderError where something stands at ``folder``, it can't be written, or a file to be carried can't be
    read; then nothing is written.
    """
    try:
        made = _new_files(old, edits)
    except OSError as error:
        raise FolderError(f"{old} can't be read: {(error.strerror or str(error)).lower()}") from None
    with new_folder(folder) as draft:
        for file, data in made.items():
            (draft / file).parent.mkdir(exist_ok=True)
            (draft / file).write_bytes(data)
