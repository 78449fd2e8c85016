"""A step is an edit as it was carried out: what stood there and what stands there now.

Undo, redo and the journal's replay all apply steps: forwards, or turned round. A step whose row or key is already
as it should be is passed over; one whose row was changed since raises RefusedError.
"""

from __future__ import annotations

from collections.abc import Iterable, MutableMapping
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any

from paddock.errors import RefusedError
from paddock.store.csvfile import CsvFile
from paddock.store.folder import Broken, Doc, parse
from paddock.store.layout import named
from paddock.store.rowsteps import RowStep, apply_row, apply_rows
from paddock.store.tomlfile import TomlFile
from paddock.store.trackdoc import TrackDoc

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


Step = RowStep | ColumnStep | FileStep | KeyStep | TrackStep


def inverse(steps: Iterable[Step]) -> tuple[Step, ...]:
    """The steps that lead back."""
    return tuple(_turned(step) for step in reversed(tuple(steps)))


def _turned(step: Step) -> Step:
    if isinstance(step, RowStep):
        return replace(step, before=step.after, after=step.before)
    if isinstance(step, TrackStep):
        return replace(step, before=step.after, after=step.before)
    if isinstance(step, KeyStep):
        return replace(
            step, before=step.after, after=step.before, before_text=step.after_text, after_text=step.before_text
        )
    return replace(step, add=not step.add)


def apply(docs: Docs, steps: Iterable[Step], merge: bool = False) -> tuple[Step, ...]:
    """Carries the steps out on ``docs``; gives them as they came out, for the way back.

    ``merge``: a changed row takes the new cells, as long as nobody else changed those same cells.
    Raises RefusedError; ``docs`` is then half changed: hand in a copy.
    """
    done: list[Step] = []
    for _, group in groupby(steps, lambda step: (step.file, isinstance(step, RowStep))):
        alike = list(group)
        if not _all_at_once(docs, alike):
            alike = [_apply_one(docs, step, merge) for step in alike]
        done += alike
    return tuple(done)


def _all_at_once(docs: Docs, steps: list[Step]) -> bool:
    """Many row steps of one file in one pass; False, and nothing done, where that can't be."""
    doc, rows = docs.get(steps[0].file), [step for step in steps if isinstance(step, RowStep)]
    made = apply_rows(doc, rows) if isinstance(doc, CsvFile) and len(rows) == len(steps) else None
    if made is not None:
        docs[made.file] = made
    return made is not None


def _apply_one(docs: Docs, step: Step, merge: bool) -> Step:
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
    raise RefusedError(f"{file} has to be mended first, line {problem.line}: {problem.message}")


def _apply_file(docs: Docs, step: FileStep) -> Step:
    doc = docs.get(step.file)
    if step.add and (doc is None or (isinstance(doc, Broken) and not (doc.data or b"x").strip())):
        docs[step.file] = parse(step.file, step.top.encode())
    elif not step.add and isinstance(doc, CsvFile) and doc.data == step.top.encode():
        del docs[step.file]
    return step


def _apply_track(docs: Docs, step: TrackStep) -> Step:
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


def _apply_key(docs: Docs, step: KeyStep) -> Step:
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
