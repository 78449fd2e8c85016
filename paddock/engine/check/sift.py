"""A folder as read becomes an ``Event``: faulty rows are left out and said, the good ones stay."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from paddock.engine.check.cars import CarLine, checked_cars
from paddock.engine.check.doubts import doubts
from paddock.engine.check.finding import Faults, close_to, day_fault, near_number, repeated, said
from paddock.engine.check.settings import LineOf, index_problems, settings_problems
from paddock.engine.tyres.questions import questions as tyre_questions
from paddock.errors import Problem
from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.rows import EntrantRow, Row, TimeRow, key_of
from paddock.model.settings import Settings


def _no_line(_path: tuple[str, ...]) -> int:
    return 0


def _no_car_line(_file: str, _path: tuple[str, ...]) -> int:
    return 0


def _entrant_faults(rows: Sequence[EntrantRow], settings: Settings) -> Faults:
    codes = [item.code for item in settings.classes]
    faults: Faults = []
    for row in rows:
        if row.class_ is not None and row.class_ not in codes:
            mend = close_to(row.class_, codes) or f": event.toml has {', '.join(codes) or 'no classes'}"
            faults.append((row, f"class {row.class_} is unknown{mend}"))
        elif row.index is not None and row.index not in settings.index.factors:
            mend = close_to(row.index, settings.index.factors) or ": add it to [index] in event.toml"
            faults.append((row, f"index {row.index} is unknown{mend}"))
    return faults


_KEY = key_of(TimeRow)


def _time_key(row: TimeRow) -> tuple[object, ...] | None:
    return None if row.status == "rerun" and row.try_ is None else _KEY(row)


def _number_faults(rows: Iterable[Row], known: Mapping[str, bool]) -> Faults:
    """Rows of a number that isn't entered, or whose entry is itself out."""
    faults: Faults = []
    for row in rows:
        number = getattr(row, "number", None)
        if number is None or known.get(number):
            continue
        if number in known:
            faults.append((row, f"the row of {number} in entrants.csv is out, and so is this one: mend that first"))
        else:
            mend = near_number(number, known) or ": add it to entrants.csv, or mend the number"
            faults.append((row, f"number {number} is not entered{mend}"))
    return faults


def _day_faults(rows: Iterable[Row], days: int) -> Faults:
    if max((getattr(row, "day", None) or 0 for row in rows), default=0) <= days:
        return []
    found = ((row, day_fault(row, days)) for row in rows)
    return [(row, words) for row, words in found if words is not None]


def _left(rows: Sequence[Row], *faults: Faults) -> tuple[tuple[Row, ...], list[Problem]]:
    """Rows without a fault, and one problem for each that has one."""
    words: dict[int, tuple[Row, str]] = {}
    for row, text in (item for group in faults for item in group):
        words.setdefault(id(row), (row, text))
    return tuple(row for row in rows if id(row) not in words), [said(row, text) for row, text in words.values()]


def _time_warnings(rows: Iterable[TimeRow], settings: Settings) -> list[Problem]:
    tries: dict[tuple[int, int, str], int] = {}
    found = []
    most = settings.runs_per_day
    for row in rows:
        if most is not None and row.run > most:
            found.append(said(row, f"run {row.run} of {most}: is that right?", "warning"))
        if row.status in {"rerun", "practice"}:
            continue
        at = (row.day, row.run, row.number)
        if at in tries:
            words = f"run {row.run} of {row.number} counts twice (line {tries[at]}): mark the first one rerun"
            found.append(said(row, words, "warning"))
        else:
            tries[at] = row.line
    return found


def sift(
    name: str,
    settings: Settings,
    tables: Mapping[str, tuple[Row, ...]],
    cars: Mapping[str, Car] | None = None,
    checklists: Mapping[str, tuple[str, ...]] | None = None,
    problems: Iterable[Problem] = (),
    line_of: LineOf = _no_line,
    car_line: CarLine = _no_car_line,
) -> Event:
    """The event of a folder as read. ``problems``: what reading found; all come back sorted by file and line.

    ``tables``: file name to rows in file order, each with its line.
    """
    found = list(problems)
    entered = tuple(row for row in tables.get(EntrantRow.FILE, ()) if isinstance(row, EntrantRow))
    entrants, said_now = _left(entered, repeated(entered), _entrant_faults(entered, settings))
    found += said_now
    good = {row.number for row in entrants if isinstance(row, EntrantRow)}
    known = {row.number: row.number in good for row in entered}
    kept: dict[str, tuple[Row, ...]] = {EntrantRow.FILE: entrants}
    for file, rows in tables.items():
        if file == EntrantRow.FILE:
            continue
        keyed = repeated(rows, _time_key) if file == TimeRow.FILE else repeated(rows)  # type: ignore[arg-type]
        kept[file], said_now = _left(rows, _day_faults(rows, len(settings.days)), _number_faults(rows, known), keyed)
        found += said_now
    for rows in kept.values():
        found += doubts(rows)
    times = (row for row in kept.get(TimeRow.FILE, ()) if isinstance(row, TimeRow))
    found += _time_warnings(times, settings)
    found += settings_problems(settings, line_of, set(known), cars or {})
    found += index_problems((row for row in entrants if isinstance(row, EntrantRow)), settings, line_of)
    whole, said_now = checked_cars(cars or {}, car_line)
    found += said_now
    event = Event(name, settings, kept, whole, checklists or {})
    return replace(event, problems=tuple(sorted((*found, *tyre_questions(event)))))
