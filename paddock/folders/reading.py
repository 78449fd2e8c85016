"""A folder read for an answer or for its faults: what every command that writes nothing starts from."""

from __future__ import annotations

from pathlib import Path

from paddock.errors import FolderError, Problem, UsageError
from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.settings import Settings
from paddock.session.loading import event_of
from paddock.store import disk
from paddock.store.folder import REQUIRED, Broken, Doc, assemble, parse, read_docs
from paddock.store.places import most_bytes
from paddock.store.tomlfile import TomlFile


def check(folder: Path) -> tuple[Problem, ...]:
    """Every finding of a folder. Raises FolderError where there is no folder to read."""
    from paddock.store.journal import refused_in  # an answer reads neither journal nor merge
    from paddock.store.merge import broken_off

    docs = read_docs(folder)
    name = folder.resolve().name
    beside = (*refused_in(folder), *broken_off(folder))
    if _settings_of(docs.get("event.toml")) is None:  # without classes and days the rest can't be judged
        return tuple(sorted(assemble(name, docs, beside).problems))
    return event_of(name, docs, more=beside).problems


def _settings_of(doc: Doc | None) -> Settings | None:
    return doc.model if isinstance(doc, TomlFile) and isinstance(doc.model, Settings) else None


def load(folder: Path, warned: bool = True) -> Event:
    """The event of a folder, faulty rows left out. Raises FolderError where a required file can't be used.

    ``warned`` False: without what is only in doubt, which is quicker.
    """
    docs = read_docs(folder)
    name = folder.resolve().name
    for file in REQUIRED:
        doc = docs.get(file)
        if doc is None or isinstance(doc, Broken) or (file == "event.toml" and _settings_of(doc) is None):
            said = sorted(assemble(name, docs).problems)
            found = next((item for item in said if item.file == file), Problem(file, 0, "can't be used"))
            raise FolderError(f"{folder}: {found.file}:{found.line}: {found.message}")
    return event_of(name, docs, warned=warned)


def load_car(path: Path) -> tuple[Car, tuple[Problem, ...]]:
    """One car file, with what is wrong in it. FolderError where there is none, UsageError for no car file."""
    try:
        data = disk.read(path, most_bytes(path.name))
    except OSError as error:
        raise FolderError(f"{path}: {(error.strerror or str(error)).lower()}") from None
    if data is None:
        raise FolderError(f"{path}: no such file or directory")
    if path.suffix != ".toml":
        raise UsageError(f"{path} is no car file: it ends in .toml")
    doc = parse(f"cars/{path.name}", data)
    if isinstance(doc, TomlFile) and isinstance(doc.model, Car):
        return doc.model, doc.problems
    said = "; ".join(f"line {item.line}: {item.message}" for item in doc.problems)
    raise FolderError(f"{path}: {said or 'no car in it'}")
