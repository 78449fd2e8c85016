"""What several verbs share: the answer they give, reading the folder, asking for a number."""

from __future__ import annotations

import re
from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, is_dataclass
from datetime import date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from paddock.commands.says.shape import LEFT_OUT
from paddock.errors import Problem, UsageError
from paddock.words import as_of as as_of_words
from paddock.words import plural

if TYPE_CHECKING:
    from paddock.engine.clock import AsOf
    from paddock.model.event import Event


def add_folder(parser: ArgumentParser, what: str = "the event folder (default: the current one)") -> None:
    """The event folder; left out, it is filled in where the current folder is an event."""
    parser.add_argument("folder", type=Path, nargs="?", metavar="FOLDER", help=what)
    parser.set_defaults(folder_or_here=True)


def add_number(parser: ArgumentParser) -> None:
    """The car number asked about."""
    parser.add_argument("--number", metavar="N", help="car number as in entrants.csv (default: my only entry)")


def add_at(parser: ArgumentParser) -> None:
    """The moment to answer for."""
    parser.add_argument("--at", metavar="TIME", help="answer as of a time, like 2026-05-09T12:58, or 12:58 of that day")


def load(folder: Path) -> Event:
    """The event of a folder with its faults, not with what is only in doubt; FolderError where it can't be read."""
    from paddock.session.loading import load as read

    return read(folder, warned=False)


def now() -> datetime:
    """The machine's clock."""
    return datetime.now()


def load_as_of(args: Namespace) -> tuple[Event, AsOf]:
    """The event of ``args.folder`` and the moment to answer for; with ``--at`` only the rows up to it."""
    from paddock.engine.clock import as_of, cut

    event = load(args.folder)
    asked = None if args.at is None else _asked(event, args.at)
    moment = as_of(event, now(), asked)
    return (event if asked is None else cut(event, asked)), moment


_TIME = re.compile(r"(?:(\d{4}-\d{2}-\d{2})[T ])?(\d{1,2}:\d{2}(:\d{2})?)", re.ASCII)


def _asked(event: Event, text: str) -> datetime:
    """The moment of ``--at``; a clock alone is of the day in hand. Raises UsageError."""
    from paddock.engine.clock import as_of

    found = _TIME.fullmatch(text.strip())
    if found is None:
        raise UsageError(f"--at {text!r} is no time: write 2026-05-09T12:58, or 12:58")
    if not event.settings.days:
        raise UsageError("--at wants the event's days: event.toml has none")
    try:
        day = date.fromisoformat(found[1]) if found[1] else event.settings.days[as_of(event, now()).day - 1]
        return datetime.combine(day, time.fromisoformat(found[2].rjust(8 if found[3] else 5, "0")))
    except ValueError:
        raise UsageError(f"--at {text!r} is no time: write 2026-05-09T12:58, or 12:58") from None


def entered(event: Event, number: str | None) -> str:
    """The number, if it is entered; None: my only entry. Raises UsageError."""
    if number is None:
        mine = event.settings.mine.numbers
        if len(mine) != 1:
            which = f"[mine] names {', '.join(mine)}" if mine else "[mine] in event.toml names no entry"
            raise UsageError(f"--number is wanted: {which}")
        number = mine[0]
    if event.entrant(number) is None:
        raise UsageError(f"number {number} is not entered in {event.name} (or its row is out: see paddock check)")
    return number


def day_in(event: Event, day: int | None) -> int | None:
    """The day, if the event has it; else UsageError."""
    if day is not None and not 1 <= day <= max(1, len(event.settings.days)):
        raise UsageError(f"day {day} is outside the event: it has {plural(len(event.settings.days), 'day')}")
    return day


def faults_line(event: Event, moment: AsOf | None = None) -> str:
    """Lines on the moment answered for, where it isn't simply now, and on what is left out; "" where nothing is."""
    told = faults_data(event, moment)
    faults, rows = told["faults_left_out"], told["rows_later"]
    said = as_of_words(moment) if moment is not None else ""
    later = f"{plural(rows, 'row')} later than the clock, taken as now" if rows else ""
    left_out = f"{plural(faults, 'fault')} in the folder, left out here: see paddock check" if faults else ""
    return "".join(f"\n{line}" for line in (said, later, left_out) if line)


def faults_data(event: Event, moment: AsOf | None = None) -> dict[str, int]:
    """The counts ``faults_line`` tells of, for the JSON: faults that keep something out, rows later than the clock."""
    faults = sum(problem.level == "fault" for problem in event.problems)
    return {"faults_left_out": faults, "rows_later": moment.later if moment else 0}


@dataclass(frozen=True, slots=True)
class Answer:
    """``text`` makes the readable answer, called only when it is wanted.

    ``data``: the JSON's keys to the engine's own values; ``commands.says`` has its type, and makes it when JSON is
    wanted. ``exact``: the text is for a program to read, and is never folded to the terminal.
    """

    data: Mapping[str, Any]
    text: Callable[[], str]
    exit_code: int = 0
    exact: bool = False


def plain(value: Any) -> Any:
    """An answer's own values as the JSON has them: a frozen value by the names of its fields, those kept back left out.

    A field is kept back where its metadata say ``json`` False.
    """
    if isinstance(value, Problem):
        return {"file": value.file, "line": value.line, "level": value.level, "message": value.message}
    if is_dataclass(value) and not isinstance(value, type):
        said = ((item.name, getattr(value, item.name)) for item in fields(value) if item.metadata.get("json", True))
        return {name.rstrip("_"): plain(part) for name, part in said if part is not LEFT_OUT}
    if isinstance(value, Mapping):
        return {name: plain(part) for name, part in value.items()}
    if isinstance(value, float):
        return exact(value)
    return [plain(part) for part in value] if isinstance(value, list | tuple) else value


def exact(value: float) -> float:
    """The decimal that is meant, 30.5 for 30.500000000000004: where twelve digits end in three noughts or more.

    Any other value is as computed, to the last bit.
    """
    short = f"{value:.11e}"
    digits, _, power = short.partition("e")
    return float(short) if power and digits.endswith("000") else value
