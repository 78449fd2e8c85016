"""Store and engine meet: a folder read and held against itself."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from paddock.engine.check.sift import sift
from paddock.engine.scoring import plain
from paddock.engine.scoring.gap import GapAnswer, gap
from paddock.engine.scoring.tables import Standings
from paddock.errors import FolderError, Problem, UsageError
from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.rows import CORNERS, RawFolder
from paddock.model.settings import Settings
from paddock.store import disk
from paddock.store.csvfile import CsvFile
from paddock.store.disk import most_bytes
from paddock.store.folder import REQUIRED, Broken, Doc, assemble, no_collecting, parse, read_docs
from paddock.store.tomlfile import TomlFile

# which scorer answers: polars, or the plain one where polars can't run or isn't worth asking


FEW_RUNS = 30_000
"""Up to here plain Python is through before polars has the rows in columns."""


def standings_of(event: Event, day: int | None = None) -> Standings:
    """Every table, of a day or in total."""
    if len(event.times) <= FEW_RUNS or _no_polars() is not None:
        return plain.standings(event, day)
    from paddock.engine.scoring.standings import standings

    return standings(event, day)


def standings_again(event: Event, day: int | None, was: tuple[Event, Standings] | None) -> Standings:
    """The same. ``was``: an event before an edit, and its standings: who ran no more stands as there."""
    from paddock.engine.scoring.again import standings_after

    found = standings_after(*was, event) if was is not None else None
    return standings_of(event, day) if found is None else found


def _no_polars() -> str | None:
    from paddock.store.machine import why_not_polars  # asked by few answers

    return why_not_polars()


def gap_of(event: Event, number: str, day: int | None = None, found: Standings | None = None) -> GapAnswer:
    """What ``number`` must find. ``found``: the standings of ``day_of_gap``, if at hand. KeyError: not entered."""
    return gap(event, number, found or standings_of(event, day_of_gap(event, day)), day)


def day_of_gap(event: Event, day: int | None) -> int | None:
    """The day whose standings a gap on ``day`` is held against; None: the totals."""
    return day if event.settings.rules.days == "separate" else None


def need_polars(what: str) -> None:
    """Raises UsageError, with the mend, where ``what`` can't be done without polars."""
    why = _no_polars()
    if why is not None:
        raise UsageError(f"{what} needs polars: {why}")


@no_collecting()
def event_of(
    name: str, docs: Mapping[str, Doc], last_good: Settings | None = None, more: Sequence[Problem] = (),
    warned: bool = True,
) -> Event:  # fmt: skip
    """The event of files as read. ``last_good``: settings that stand in while ``event.toml`` can't be used.
    ``more``: problems found beside the files. ``warned`` False: without what is only in doubt."""
    raw = assemble(name, docs, more)
    settings = raw.settings or last_good
    if settings is None:
        raise FolderError(_unusable(raw))
    settings = _with_own_unit(settings, docs.get("pressures.csv"))
    line_of = _line_in(docs.get("event.toml"))

    def car_line(file: str, path: Sequence[str]) -> int:
        return _line_in(docs.get(file))(path)

    return sift(raw.name, settings, raw.tables, raw.cars, raw.checklists, raw.problems, line_of, car_line, warned)


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


@no_collecting()
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


@no_collecting()
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
