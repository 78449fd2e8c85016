"""A season opened for reading: every event folder of a directory, points, runs, changes, tyres, what is left."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from paddock.engine.scoring.plain import standings
from paddock.engine.scoring.tables import days_run
from paddock.engine.season.points import Outlook, ScoredEvent, SeasonTable, held, outlook, remaining, season_tables
from paddock.engine.season.rows import change_rows, run_rows, tyre_rows
from paddock.errors import FolderError, Problem
from paddock.model.event import Event
from paddock.model.rows import ROWS, FittedRow
from paddock.model.season import Booking, Season
from paddock.session.loading import load
from paddock.store.disk import typed
from paddock.store.folder import no_collecting
from paddock.store.tables_out import SEASON_FILE, event_folders, season_file
from paddock.words import plural

if TYPE_CHECKING:
    from paddock.engine.field.case import Habits
    from paddock.engine.field.hindsight import ForecastRecord

# event folders that are one and the same event: a copy beside it is no second one


def _marks(event: Event) -> list[Hashable]:
    """What an event is known by: its id, and its entrants and times where it has any."""
    marks: list[Hashable] = [("id", event.settings.id)] if (event.settings.id or "").strip() else []
    return [*marks, _content(event)] if event.times else marks


def _content(event: Event) -> Hashable:
    return tuple(
        row.model_copy(update={"line": 0}) for rows in (event.entrants, event.times) for row in rows
    )  # fmt: skip


def same_event(one: Event, other: Event) -> bool:
    """Whether two folders hold one event: the same id, or the same entrants and times."""
    return bool(set(_marks(one)) & set(_marks(other)))


def counted_once(events: Sequence[tuple[str, Event]]) -> tuple[list[tuple[str, Event]], list[Problem]]:
    """Folder names and events in order, the first of each event alone; and a warning for each copy left out."""
    seen: dict[Hashable, tuple[str, Event]] = {}
    kept, said = [], []
    for name, event in events:
        marks = _marks(event)
        first = next((seen[mark] for mark in marks if mark in seen), None)
        if first is None:
            kept.append((name, event))
        else:
            alike = (first[1].tables, first[1].settings) == (event.tables, event.settings)
            differs = "" if alike else f", and they differ: {first[0]} counts"
            said.append(Problem(name, 0, f"left out: the same event as {first[0]}{differs}", "warning"))
        for mark in marks:
            seen.setdefault(mark, first or (name, event))
    return kept, said


# what stands beside an event folder: the earlier events of the same cars, and the booked ones


def _read(folder: Path) -> Event | None:
    try:
        return load(folder)
    except FolderError:
        return None


def earlier_events(folder: Path, event: Event) -> tuple[Event, ...]:
    """Events in the same directory that ended before ``event`` began, in order of date.

    Only folders with fitted tyres are read; one that can't be read is passed over, a copy of another
    counts once (``paddock season`` names both).
    """
    begins = min(event.settings.days, default=None)
    if begins is None:
        return ()
    here = folder.resolve()
    beside = sorted(path.parent for path in here.parent.glob(f"*/{FittedRow.FILE}") if path.parent != here)
    found = [(path.name, other) for path in beside if (other := _read(path)) is not None]
    before = [other for _, other in counted_once(found)[0] if max(other.settings.days, default=date.max) < begins]
    return tuple(sorted(before, key=lambda other: other.settings.days))


def names_beside(folder: Path) -> tuple[str, ...]:
    """Names of the other event folders in the same directory, the one written last first."""
    here = folder.resolve()
    found = [path.parent for path in here.parent.glob("*/event.toml") if path.parent != here]
    return tuple(path.name for path in sorted(found, key=lambda path: _written(path / "event.toml"), reverse=True))


def found_near(folder: Path, text: str) -> Path:
    """A path as typed: from the event's folder, from the one above, or from where one is; the event's own tables are
    nothing to take from. Raises UsageError."""
    path, here = typed(text), folder.resolve()
    there = (place / path for place in (here, here.parent, Path()) if (place / path).exists())
    own = {here / file for file in ROWS}
    return next((item for item in there if item.resolve() not in own), path)


def season_beside(folder: Path, this: Event) -> tuple[Event, ...]:
    """The other events where the folder lies in a season (a directory with ``season.toml``), for what I usually do."""
    here = folder.resolve()
    if not (here.parent / SEASON_FILE).is_file():
        return ()

    return tuple(
        event for name, event in open_season(here.parent).events if name != here.name and not same_event(event, this)
    )


@dataclass(frozen=True, slots=True)
class OwnRecord:
    """``season``: the other events of it; ``records``: how my next run and my chances to lead were told before, as
    ``own_record`` counts them, this event's runs so far among them.
    """

    season: tuple[Event, ...]
    records: tuple[ForecastRecord, ...]


def own_record_beside(folder: Path, event: Event, number: str) -> OwnRecord:
    """Of ``number``, from this event and the earlier ones of its season."""
    from paddock.engine.field.hindsight import own_record

    season = season_beside(folder, event)
    past = [other for other in season if other.settings.days < event.settings.days]
    return OwnRecord(season, own_record([*past, event], number))


def habits_beside(folder: Path, event: Event) -> Habits:
    """What the other events of the season say of mine: learning, how far changes go, how wide my runs scatter."""
    from paddock.engine.field.hindsight import own_scatter
    from paddock.engine.field.season import habits_of

    season, numbers = season_beside(folder, event), event.settings.mine.numbers
    return replace(habits_of(season, numbers), scatter=own_scatter(season, numbers))


def stamp_beside(folder: Path) -> object:
    """Compares unequal once what is read beside the folder may have changed."""
    here = folder.resolve()
    paths = [here.parent / SEASON_FILE, *sorted(here.parent.glob("*/*.csv")), *sorted(here.parent.glob("*/event.toml"))]
    return tuple((path, *_written(path)) for path in paths if path.parent != here)


def _written(path: Path) -> tuple[int, int]:
    """Time and size; nought where there is no such file."""
    try:
        found = path.stat()
    except OSError:
        return 0, 0
    return found.st_mtime_ns, found.st_size


def booked_beside(folder: Path) -> tuple[Booking, ...]:
    """The events of ``season.toml`` in the same directory; none where there is no such file."""
    season, _ = season_file(folder.resolve().parent)
    return season.events


Rows = list[dict[str, Any]]


def season_name(rules: Season, event: Event) -> str:
    """What the season of an event is called: by its rules, else the year of the event's first day."""
    return rules.name or (str(event.settings.days[0].year) if event.settings.days else "undated")


@dataclass(frozen=True)
class SeasonView:
    """``events``: folder name and event, by first day. ``problems``: what was left out, its file first.

    ``ruled`` False: there is no ``season.toml``, so no points stand.
    """

    name: str
    rules: Season
    events: tuple[tuple[str, Event], ...]
    problems: tuple[Problem, ...]
    ruled: bool = True

    @cached_property
    def held(self) -> tuple[ScoredEvent, ...]:
        """Events with results; days scored apart one by one."""
        return tuple(item for folder, event in self.events for item in scored(folder, event, self.rules))

    @cached_property
    def tables(self) -> tuple[SeasonTable, ...]:
        """The season's order in each table that gives points."""
        return season_tables(self.rules, self.held)

    @cached_property
    def left(self) -> tuple[Booking, ...]:
        """Booked events that give points and have no results yet."""
        return remaining(self.rules, self.held)

    @cached_property
    def mine(self) -> frozenset[str]:
        """My drivers over all events."""
        return frozenset(driver for item in self.held for driver in item.mine)

    @cached_property
    def outlooks(self) -> tuple[Outlook, ...]:
        """What is still open for each of my drivers in each table they are in."""
        asked = (outlook(table, driver, self.rules, self.left) for table in self.tables for driver in sorted(self.mine))
        return tuple(found for found in asked if found is not None)

    def rows(self, of: Callable[[str, str, Event], Rows]) -> Rows:
        """The rows of every event, one after the other."""
        return [row for folder, event in self.events for row in of(season_name(self.rules, event), folder, event)]

    @cached_property
    def runs(self) -> Rows:
        """All my runs (``season_rows.RUNS``)."""
        return self.rows(run_rows)

    @cached_property
    def changes(self) -> Rows:
        """All my changes (``season_rows.CHANGES``)."""
        return self.rows(change_rows)

    @cached_property
    def tyres(self) -> Rows:
        """All my tyres, event by event (``season_rows.TYRES``)."""
        return self.rows(tyre_rows)


def open_season(directory: Path, told: Callable[[int, int, str], None] = lambda _at, _of, _name: None) -> SeasonView:
    """Read a directory of event folders; one that can't be read, and a copy of another, is named and left out.

    ``told`` hears which folder is read: its place from 1, how many there are, its name. Raises
    FolderError where there is no event to read, UsageError where ``directory`` is an event itself.
    """
    rules, problems = season_file(directory)
    ruled = (directory / SEASON_FILE).is_file()
    events: list[tuple[str, Event]] = []
    faults = list(problems)
    with no_collecting():
        folders = event_folders(directory)
        for at, folder in enumerate(folders, 1):
            told(at, len(folders), folder.name)
            try:
                events.append((folder.name, load(folder)))
            except FolderError as error:
                faults.append(Problem(folder.name, 0, f"left out of the season: {error}"))
    events, copies = counted_once(events)
    faults += [*copies, *(_partly(folder, event) for folder, event in events if _faults(event))]
    if not events:
        raise FolderError(f"{directory}: no event in it can be read: {faults[-1].message}")
    events.sort(key=lambda item: (item[1].settings.days[:1] or (date.max,), item[0]))
    return SeasonView(rules.name or directory.resolve().name, rules, tuple(events), tuple(faults), ruled)


def _faults(event: Event) -> int:
    return sum(problem.level == "fault" for problem in event.problems)


def _partly(folder: str, event: Event) -> Problem:
    return Problem(folder, 0, f"{plural(_faults(event), 'faulty line')} left out: see paddock check", "warning")


def scored(folder: str, event: Event, rules: Season) -> Iterator[ScoredEvent]:
    """What gives points of an event, by the plain scorer: at its size polars gains nothing and costs its import."""
    apart = event.settings.rules.days == "separate"
    for day in days_run(event) if apart else (None,):
        item = held(folder, event, standings(event, day), rules)
        if item is not None:
            yield item
