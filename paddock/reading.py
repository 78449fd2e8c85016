"""A folder read and checked: what every command that writes nothing starts from."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from paddock.engine.check.settings import LineOf
from paddock.engine.check.sift import sift
from paddock.errors import FolderError, Problem, UsageError
from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.raw import RawFolder
from paddock.model.rows import EntrantRow, TimeRow
from paddock.model.settings import Settings
from paddock.store.folder import Broken, Doc, assemble, parse, read_docs
from paddock.store.text import decode
from paddock.store.tomlfile import TomlFile
from paddock.store.tomllines import line_of

__all__ = ["check", "event_of", "lines_of", "load", "load_car"]

_NEEDED = ("event.toml", EntrantRow.FILE, TimeRow.FILE)


def lines_of(docs: Mapping[str, Doc]) -> LineOf:
    """Where a key of ``event.toml`` stands."""
    doc = docs.get("event.toml")
    if not isinstance(doc, TomlFile):
        return lambda _path: 0
    text = decode("event.toml", doc.data)
    return lambda path: line_of(text, path) if path else 0


def event_of(raw: RawFolder, line: LineOf, settings: Settings) -> Event:
    """The event of a folder as read."""
    return sift(raw.name, settings, raw.tables, raw.cars, raw.checklists, raw.problems, line)


def check(folder: Path) -> tuple[Problem, ...]:
    """Every finding of a folder. Raises FolderError where there is no folder to read."""
    docs = read_docs(folder)
    raw = assemble(folder.resolve().name, docs)
    return event_of(raw, lines_of(docs), raw.settings or Settings()).problems if raw.settings else raw.problems


def _unusable(docs: Mapping[str, Doc], raw: RawFolder) -> Problem | None:
    """Why a folder can't be answered from, if so."""
    for file in _NEEDED:
        bad = file not in docs or isinstance(docs[file], Broken) or (file == "event.toml" and raw.settings is None)
        if bad:
            return next((item for item in raw.problems if item.file == file), Problem(file, 0, "can't be used"))
    return None


def load(folder: Path) -> Event:
    """The event of a folder, faulty rows left out. Raises FolderError where it can't be answered from."""
    docs = read_docs(folder)
    raw = assemble(folder.resolve().name, docs)
    why = _unusable(docs, raw)
    if why is not None or raw.settings is None:
        raise FolderError(f"{folder}: {why.file}:{why.line}: {why.message}" if why else f"{folder}: no settings")
    return event_of(raw, lines_of(docs), raw.settings)


def load_car(path: Path) -> tuple[Car, tuple[Problem, ...]]:
    """One car file, with what is wrong in it. FolderError where there is no file, UsageError for no car file."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise FolderError(f"{path}: {(error.strerror or str(error)).lower()}") from None
    if path.suffix != ".toml":
        raise UsageError(f"{path} is no car file: it ends in .toml")
    doc = parse(f"cars/{path.name}", data)
    if isinstance(doc, TomlFile) and isinstance(doc.model, Car):
        return doc.model, doc.problems
    raise FolderError(
        "; ".join(f"{path}: line {item.line}: {item.message}" for item in doc.problems) or f"{path}: no car"
    )
