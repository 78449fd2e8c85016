"""Store and engine meet: a folder read and held against itself."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from paddock.engine.check.sift import sift
from paddock.engine.scoring import plain
from paddock.engine.scoring.gap import GapAnswer, gap
from paddock.engine.scoring.tables import Standings
from paddock.errors import FolderError, Problem, UsageError
from paddock.model.event import Event
from paddock.model.rows import CORNERS, RawFolder
from paddock.model.settings import Settings
from paddock.store.csvfile import CsvFile
from paddock.store.folder import Doc, assemble, read_docs
from paddock.store.machine import why_not_polars
from paddock.store.tomlfile import TomlFile

# which scorer answers: polars, or the plain one where polars can't run or isn't worth importing


FEW_RUNS = 4000
"""Up to here polars is used only if it is imported already."""


def standings_of(event: Event, day: int | None = None) -> Standings:
    """Every table, of a day or in total."""
    few = len(event.times) <= FEW_RUNS and "polars" not in sys.modules
    if few or why_not_polars() is not None:
        return plain.standings(event, day)
    from paddock.engine.scoring.standings import standings

    return standings(event, day)


def gap_of(event: Event, number: str, day: int | None = None, found: Standings | None = None) -> GapAnswer:
    """What ``number`` must find. ``found``: the totals, if they are at hand. KeyError: not entered."""
    if event.settings.rules.days == "separate" and day is not None:
        found = standings_of(event, day)
    return gap(event, number, found or standings_of(event), day)


def need_polars(what: str) -> None:
    """Raises UsageError, with the mend, where ``what`` can't be done without polars."""
    why = why_not_polars()
    if why is not None:
        raise UsageError(f"{what} needs polars: {why}")


def load(path: Path) -> Event:
    """The event at ``path``, read and checked; writes nothing.

    Raises FolderError where the folder can't be read or ``event.toml`` can't be used at all.
    """
    docs = read_docs(path)
    return event_of(path.resolve().name, docs)


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
