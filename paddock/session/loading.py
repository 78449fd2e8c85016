"""Store and engine meet: a folder read and held against itself."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from paddock.engine.check.sift import sift
from paddock.errors import FolderError, Problem
from paddock.model.event import Event
from paddock.model.raw import RawFolder
from paddock.model.rows import CORNERS
from paddock.model.settings import Settings
from paddock.store.csvfile import CsvFile
from paddock.store.folder import Doc, assemble, read_docs
from paddock.store.tomlfile import TomlFile


def load(path: Path) -> Event:
    """The event at ``path``, read and checked; writes nothing.

    Raises FolderError where the folder can't be read or ``event.toml`` can't be used at all.
    """
    docs = read_docs(path)
    return event_of(path.resolve().name, docs)


def event_of(
    name: str, docs: Mapping[str, Doc], last_good: Settings | None = None, more: Sequence[Problem] = ()
) -> Event:
    """The event of files as read. ``last_good``: settings that stand in while ``event.toml`` can't be used.
    ``more``: problems found beside the files."""
    raw = assemble(name, docs, more)
    settings = raw.settings or last_good
    if settings is None:
        raise FolderError(_unusable(raw))
    settings = _with_own_unit(settings, docs.get("pressures.csv"))
    line_of = _line_in(docs.get("event.toml"))

    def car_line(file: str, path: Sequence[str]) -> int:
        return _line_in(docs.get(file))(path)

    return sift(raw.name, settings, raw.tables, raw.cars, raw.checklists, raw.problems, line_of, car_line)


def _with_own_unit(settings: Settings, doc: Doc | None) -> Settings:
    """The unit of the log's own headers is shown where ``pressure_unit`` says nothing else."""
    if settings.pressure_unit is not None or not isinstance(doc, CsvFile):
        return settings
    units = {slot.unit.suffix for name in CORNERS if (slot := doc.layout.slot(f"{name}_psi")) and slot.unit}
    return (
        settings.model_copy(update={"pressure_unit": units.pop()}) if len(units) == 1 and units != {"psi"} else settings
    )


def _unusable(raw: RawFolder) -> str:
    found = next((item for item in sorted(raw.problems) if item.file == "event.toml"), None)
    return f"{raw.name}: event.toml can't be used" if found is None else f"{found.file}:{found.line}: {found.message}"


def _line_in(doc: Doc | None) -> Callable[[Sequence[str]], int]:
    """A place in ``event.toml`` to its line, 0 where the file can't be used."""
    return doc.line_of if isinstance(doc, TomlFile) else lambda _path: 0
