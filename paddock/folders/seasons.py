"""A season opened for reading: every event folder of a directory, points, runs, changes, tyres, what is left."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import Any

from paddock.engine.scoring.plain import standings
from paddock.engine.scoring.tables import days_run
from paddock.engine.season.points import Held, SeasonTable, held, remaining, season_tables
from paddock.engine.season.rows import change_rows, run_rows, tyre_rows
from paddock.engine.season.stakes import Outlook, outlook
from paddock.errors import FolderError, Problem
from paddock.folders.copies import counted_once
from paddock.folders.reading import load
from paddock.model.event import Event
from paddock.model.season import Booking, Season
from paddock.store.folder import no_collecting
from paddock.store.seasons import SEASON_FILE, event_folders, season_file

Rows = list[dict[str, Any]]


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
    def held(self) -> tuple[Held, ...]:
        """Events with results; days scored apart one by one."""
        return tuple(item for folder, event in self.events for item in _held(folder, event, self.rules))

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
        return [row for folder, event in self.events for row in of(self._season(event), folder, event)]

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

    def _season(self, event: Event) -> str:
        return self.rules.name or (str(event.settings.days[0].year) if event.settings.days else "undated")


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
    return Problem(folder, 0, f"{_faults(event)} faulty lines left out: see paddock check", "warning")


def _held(folder: str, event: Event, rules: Season) -> Iterator[Held]:
    """The plain scorer: at the size of an event polars gains nothing and costs its import."""
    apart = event.settings.rules.days == "separate"
    for day in days_run(event) if apart else (None,):
        item = held(folder, event, standings(event, day), rules)
        if item is not None:
            yield item
