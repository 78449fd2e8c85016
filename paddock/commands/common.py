"""What several verbs share: reading the folder, asking for a number or a day."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path

from paddock.errors import UsageError
from paddock.model.event import Event
from paddock.words import plural

__all__ = ["add_folder", "add_number", "day_in", "entered", "faults_line", "load"]


def add_folder(parser: ArgumentParser) -> None:
    """The event folder."""
    parser.add_argument("folder", type=Path, metavar="FOLDER", help="the event folder")


def add_number(parser: ArgumentParser) -> None:
    """The car number asked about."""
    parser.add_argument("--number", required=True, metavar="N", help="car number as in entrants.csv")


def load(folder: Path) -> Event:
    """The event of a folder; FolderError where it can't be read."""
    from paddock.folders.reading import load as read

    return read(folder)


def entered(event: Event, number: str) -> str:
    """The number, if it is entered; else UsageError."""
    if event.entrant(number) is None:
        raise UsageError(f"number {number} is not entered in {event.name} (or its row is out: see paddock check)")
    return number


def day_in(event: Event, day: int | None) -> int | None:
    """The day, if the event has it; else UsageError."""
    if day is not None and not 1 <= day <= max(1, len(event.settings.days)):
        raise UsageError(f"day {day} is outside the event: it has {plural(len(event.settings.days), 'day')}")
    return day


def faults_line(event: Event) -> str:
    """A line on what is left out of the answer, empty where nothing is."""
    faults = sum(problem.level == "fault" for problem in event.problems)
    return f"\n{plural(faults, 'fault')} in the folder, left out here: see paddock check" if faults else ""
