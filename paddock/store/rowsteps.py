"""A step on one row: a record's text before and after, found again by what it holds."""

from __future__ import annotations

from collections.abc import Iterable, MutableMapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import groupby
from typing import Any

from paddock.errors import RefusedError
from paddock.model.columns import spec_of
from paddock.model.rows import Row, key_of
from paddock.store.csvfile import CsvFile, Record
from paddock.store.folder import Broken, Doc, TrackDoc, parse
from paddock.store.layout import Layout, cells_of, ending_of, layout_of, named
from paddock.store.spoken import row_name
from paddock.store.tomlfile import TomlFile

_MANY = 8
"""From this many steps of one file on, one pass over it is made."""


@dataclass(frozen=True, slots=True)
class RowStep:
    """A record's text before and after, line ending in; None: no such record. ``headers`` and ``delimiter`` say how
    to read them, ``place`` where it stood. ``glued``: the line above was given its missing ending."""

    file: str
    headers: tuple[str, ...]
    delimiter: str
    before: str | None
    after: str | None
    place: int
    glued: bool = False


def apply_rows(doc: CsvFile, steps: Sequence[RowStep]) -> CsvFile | None:
    """Many steps of one file in one pass, where each finds its row just where and as it left it.

    None where there are few, or one does not: then they go one by one, with the same result.
    """
    if len(steps) < _MANY or doc.faults or doc.cut is not None or doc.closed() is not doc:
        return None
    if any((s.headers, s.delimiter, s.glued) != (doc.layout.headers, doc.delimiter, False) for s in steps):
        return None
    changed = _changed(doc, [step for step in steps if step.before is not None])
    added = [step for step in steps if step.before is None]
    if changed is None or (added and len(added) < len(steps)) or not _appended(doc, added):
        return None
    return doc.with_records(changed, [step.after or "" for step in added])


def _changed(doc: CsvFile, steps: list[RowStep]) -> dict[int, str | None] | None:
    """Place to new text; None where a place is not as the step wants it, or moves on the way."""
    changed: dict[int, str | None] = {}
    lowest = len(doc.records)
    for step in steps:
        if not step.place < lowest or step.place in changed or doc.records[step.place].raw != step.before:
            return None
        if step.after is not None and ending_of(step.after) != ending_of(step.before):
            return None
        changed[step.place] = step.after
        lowest = step.place if step.after is None else lowest
    return changed


def _appended(doc: CsvFile, steps: list[RowStep]) -> bool:
    """The rows of the steps are new, one after the other at the end of the file."""
    held = key_of(doc.spec.row)
    there = {held(row) for row in doc.rows}
    for place, step in enumerate(steps, len(doc.records)):
        row = _row_of(step, step.after or "")
        if row is None or step.place != place or not ending_of(step.after or "") or held(row) in there:
            return False
        there.add(held(row))
    return True


_Applied = tuple[CsvFile, RowStep]


def apply_row(doc: CsvFile, step: RowStep, merge: bool) -> _Applied:
    """One step carried out; as it came out, for the way back. Raises RefusedError."""
    at = None if step.before is None else _find(doc, step, step.before)
    if at is not None:
        return _put(doc, step, at)
    if step.after is not None and _find(doc, step, step.after) is not None:
        return doc, step
    if step.before is None:
        return _insert(doc, step, merge)
    return _merged(doc, step) if merge else _gone(doc, step)


def _here(doc: CsvFile, step: RowStep, before: str | None, after: str | None, at: int, glued: bool) -> RowStep:
    return RowStep(step.file, doc.layout.headers, doc.delimiter, before, after, at, glued)


def _put(doc: CsvFile, step: RowStep, at: int) -> _Applied:
    now = doc.records[at].raw
    if step.after is None:
        shorter = doc.with_record(at, None)
        if step.glued and at == len(shorter.records):
            shorter = shorter.opened()
        return shorter, _here(doc, step, now, None, at, step.glued)
    raw = _translated(doc, step, step.after, ending_of(now))
    return doc.with_record(at, raw), _here(doc, step, now, raw, at, False)


def _insert(doc: CsvFile, step: RowStep, last: bool) -> _Applied:
    """Back to where it stood, or, for a new row that is put in anew, ``last``."""
    assert step.after is not None
    row = _row_of(step, step.after)
    if row is not None and any(collides(row, other) for other in doc.rows_of(row.key)):
        raise RefusedError(f"{row_name(row)} is there by now, with other values")
    ending = ending_of(step.after)
    raw = _translated(doc, step, step.after, ending)
    at = doc.end_for(raw) if last else min(step.place, doc.end_for(raw))
    if at < len(doc.records):
        raw = raw if ending else raw + doc.newline
        return doc.with_record(at, raw, insert=True), _here(doc, step, None, raw, at, False)
    closed = doc.closed()
    return closed.with_record(at, raw, insert=True), _here(doc, step, None, raw, at, closed is not doc)


def rows_of_step(step: RowStep) -> tuple[Row | None, Row | None]:
    """The row before and after; None: there is none, or it can't be read."""
    return tuple(None if raw is None else _row_of(step, raw) for raw in (step.before, step.after))  # type: ignore[return-value]


def place_of(step: RowStep) -> tuple[Any, ...]:
    """What the step's row is known by."""
    row = _row_of(step, step.after or step.before or "")
    return (step.after, step.before) if row is None else row.key


def taken_back(doc: CsvFile, step: RowStep) -> bool:
    """The row is again as it was before the step: gone, back, or with its old cells."""
    if step.after is not None and _find(doc, step, step.after) is not None:
        return False
    if step.before is None:
        row = _row_of(step, step.after or "")
        return row is not None and not doc.places(row.key)
    return _find(doc, step, step.before) is not None


def collides(row: Row, other: Row) -> bool:
    """Whether two rows of one key get in each other's way: a run that led to a re-run and the re-run do not."""
    rerun = "rerun" in (getattr(row, "status", None), getattr(other, "status", None))
    return not (row.FILE == "times.csv" and rerun and getattr(row, "try_", None) is None)


def _gone(doc: CsvFile, step: RowStep) -> _Applied:
    row = _row_of(step, step.before or "")
    name = step.file if row is None else row_name(row)
    if row is not None and doc.places(row.key):
        raise RefusedError(f"{name} was changed since by other hands")
    if step.after is None:
        return doc, step
    raise RefusedError(f"{name} is not there any more: other hands took it out or renamed it")


def _merged(doc: CsvFile, step: RowStep) -> _Applied:
    """The cells this step changes set in the row as it is now; refused where others changed one of them."""
    row = _row_of(step, step.before or "")
    found = [] if row is None else doc.places(row.key)
    if step.after is None or len(found) != 1:
        return _gone(doc, step)
    record = doc.records[found[0]]
    cells = _cells_merged(doc, step, record)
    if cells is None:
        return _gone(doc, step)
    raw = doc.render(cells, ending_of(record.raw))
    return doc.with_record(found[0], raw), _here(doc, step, record.raw, raw, found[0], False)


def _cells_merged(doc: CsvFile, step: RowStep, record: Record) -> list[str] | None:
    """The record's cells with what the step changes; None where somebody else changed one of those."""
    before = named_cells(step.headers, cells_of(step.before or "", step.delimiter))
    after = named_cells(step.headers, cells_of(step.after or "", step.delimiter))
    names = [named(header) for header in doc.layout.headers]
    cells = [*record.cells, *[""] * (len(names) - len(record.cells))]
    for name in before.keys() | after.keys():
        old, new = before.get(name, ""), after.get(name, "")
        if old != new:
            if name not in names or cells[names.index(name)].strip() not in (old, new):
                return None
            cells[names.index(name)] = new
    return cells


@lru_cache(maxsize=32)
def _layout(file: str, headers: tuple[str, ...]) -> Layout:
    """Of the header a step was made under: thousands of steps of one import share it."""
    return layout_of(spec_of(file), headers)


def _row_of(step: RowStep, raw: str) -> Row | None:
    return _layout(step.file, step.headers).read(cells_of(raw, step.delimiter), 0)[0]


def _bare(raw: str) -> str:
    return raw[: len(raw) - len(ending_of(raw))]


def _find(doc: CsvFile, step: RowStep, raw: str) -> int | None:
    """The record that holds what ``raw`` holds: first where it was, letter by letter; then by its values."""
    bare = _bare(raw)
    if doc.layout.headers == step.headers and doc.delimiter == step.delimiter:
        if step.place < len(doc.records) and _bare(doc.records[step.place].raw) == bare:
            return step.place
        for at, record in enumerate(doc.records):
            if record.raw.startswith(bare) and _bare(record.raw) == bare:
                return at
    wanted = named_cells(step.headers, cells_of(raw, step.delimiter))
    return next((at for at in _alike(doc, step, raw) if _holds(doc, doc.records[at], wanted)), None)


def _alike(doc: CsvFile, step: RowStep, raw: str) -> list[int]:
    """The records with the key of ``raw``."""
    row = _row_of(step, raw)
    return [] if row is None else doc.places(row.key)


def _holds(doc: CsvFile, record: Record, wanted: dict[str, str]) -> bool:
    return record.row is not None and named_cells(doc.layout.headers, record.cells) == wanted


def named_cells(headers: Iterable[str], cells: Iterable[str]) -> dict[str, str]:
    """Column to cell, of those that are filled."""
    found = zip(map(named, headers), map(str.strip, cells), strict=False)
    return {name: cell for name, cell in found if cell}


def _translated(doc: CsvFile, step: RowStep, raw: str, ending: str) -> str:
    """``raw`` as this file writes it now, should its columns have moved meanwhile."""
    if doc.layout.headers == step.headers and doc.delimiter == step.delimiter:
        return _bare(raw) + ending
    values = named_cells(step.headers, cells_of(raw, step.delimiter))
    names = [named(header) for header in doc.layout.headers]
    lost = [name for name in values if name not in names]
    if lost:
        raise RefusedError(f"{step.file} has no column {lost[0]} any more")
    return doc.render([values.get(name, "") for name in names], ending)


# a step is an edit as it was carried out: what stood there and what stands there now


Docs = MutableMapping[str, Doc]
"""The folder's files; one that isn't there has no key."""


@dataclass(frozen=True, slots=True)
class ColumnStep:
    """A column appended (``add``) or, where it is blank all the way, taken out."""

    file: str
    header: str
    add: bool = True


@dataclass(frozen=True, slots=True)
class FileStep:
    """A CSV file made with its header alone (``add``) or, where nothing else is in it, taken away."""

    file: str
    top: str
    add: bool = True


@dataclass(frozen=True, slots=True)
class KeyStep:
    """A key of a TOML file; the whole texts are kept so that nothing else changes. Text None: no file."""

    file: str
    path: tuple[str, ...]
    before: Any
    after: Any
    before_text: str | None
    after_text: str | None


@dataclass(frozen=True, slots=True)
class TrackStep:
    """A track put in place of another: the sums of both; None: no file."""

    file: str
    before: str | None
    after: str | None


SavedStep = RowStep | ColumnStep | FileStep | KeyStep | TrackStep


def inverse(steps: Iterable[SavedStep]) -> tuple[SavedStep, ...]:
    """The steps that lead back."""
    return tuple(_turned(step) for step in reversed(tuple(steps)))


def _turned(step: SavedStep) -> SavedStep:
    if isinstance(step, RowStep):
        return replace(step, before=step.after, after=step.before)
    if isinstance(step, TrackStep):
        return replace(step, before=step.after, after=step.before)
    if isinstance(step, KeyStep):
        return replace(
            step, before=step.after, after=step.before, before_text=step.after_text, after_text=step.before_text
        )
    return replace(step, add=not step.add)


def apply(docs: Docs, steps: Iterable[SavedStep], merge: bool = False) -> tuple[SavedStep, ...]:
    """Carries the steps out on ``docs``; gives them as they came out, for the way back.

    ``merge``: a changed row takes the new cells, as long as nobody else changed those same cells.
    Raises RefusedError; ``docs`` is then half changed: hand in a copy.
    """
    done: list[SavedStep] = []
    for _, group in groupby(steps, lambda step: (step.file, isinstance(step, RowStep))):
        alike = list(group)
        if not _all_at_once(docs, alike):
            alike = [_apply_one(docs, step, merge) for step in alike]
        done += alike
    return tuple(done)


def _all_at_once(docs: Docs, steps: list[SavedStep]) -> bool:
    """Many row steps of one file in one pass; False, and nothing done, where that can't be."""
    doc, rows = docs.get(steps[0].file), [step for step in steps if isinstance(step, RowStep)]
    made = apply_rows(doc, rows) if isinstance(doc, CsvFile) and len(rows) == len(steps) else None
    if made is not None:
        docs[made.file] = made
    return made is not None


def _apply_one(docs: Docs, step: SavedStep, merge: bool) -> SavedStep:
    if isinstance(step, KeyStep):
        return _apply_key(docs, step)
    if isinstance(step, FileStep):
        return _apply_file(docs, step)
    if isinstance(step, TrackStep):
        return _apply_track(docs, step)
    if step.file not in docs and (step.after is None if isinstance(step, RowStep) else not step.add):
        return step
    doc = usable(docs, step.file)
    if isinstance(step, ColumnStep):
        docs[step.file] = _apply_column(doc, step)
        return step
    docs[step.file], made = apply_row(doc, step, merge)
    return made


def usable(docs: Docs, file: str) -> CsvFile:
    """The CSV file that edits may go into. Raises RefusedError."""
    doc = docs.get(file)
    if isinstance(doc, CsvFile) and not doc.faults:
        return doc
    if doc is None:
        raise RefusedError(f"{file} is not there any more")
    problem = doc.problems[0]
    raise RefusedError(f"{file} has to be mended first{problem.at_line}: {problem.message}")


def _apply_file(docs: Docs, step: FileStep) -> SavedStep:
    doc = docs.get(step.file)
    if step.add and (doc is None or (isinstance(doc, Broken) and not (doc.data or b"x").strip())):
        docs[step.file] = parse(step.file, step.top.encode())
    elif not step.add and isinstance(doc, CsvFile) and doc.data == step.top.encode():
        del docs[step.file]
    return step


def _apply_track(docs: Docs, step: TrackStep) -> SavedStep:
    """A track that isn't among the files has not been looked at yet: the keeper does before it writes."""
    doc = docs.get(step.file)
    if doc is not None and not (isinstance(doc, TrackDoc) and doc.digest in (step.before, step.after)):
        raise RefusedError(f"{step.file} was changed since by other hands")
    if step.after is None:
        docs.pop(step.file, None)
    else:
        docs[step.file] = TrackDoc(step.file, step.after)
    return step


def _apply_column(doc: CsvFile, step: ColumnStep) -> CsvFile:
    there = any(named(header) == named(step.header) for header in doc.layout.headers)
    if step.add:
        return doc if there else doc.with_column(step.header)
    return doc.without_column(step.header)


def _apply_key(docs: Docs, step: KeyStep) -> SavedStep:
    doc = docs.get(step.file)
    text = None if doc is None or doc.data is None else doc.data.decode("utf-8", "surrogateescape")
    if text == step.after_text:
        return step
    if text == step.before_text:
        _set_text(docs, step.file, step.after_text)
        return step
    if not isinstance(doc, TomlFile):
        raise RefusedError(f"{step.file} can't be read any more: mend it first")
    docs[step.file] = made = _set_key(doc, step)
    return replace(step, before_text=text, after_text=made.data.decode())


def _set_text(docs: Docs, file: str, text: str | None) -> None:
    if text is None:
        docs.pop(file, None)
    else:
        docs[file] = parse(file, text.encode("utf-8", "surrogateescape"))


def _set_key(doc: TomlFile, step: KeyStep) -> TomlFile:
    now = doc.value(step.path)
    if now == step.after:
        return doc
    if now != step.before:
        raise RefusedError(f"{'.'.join(step.path)} in {step.file} was changed since by other hands")
    try:
        return doc.with_value(step.path, step.after)
    except ValueError as error:
        raise RefusedError(str(error)) from None
