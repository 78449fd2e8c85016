"""What is due on a car, the most pressing first."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from paddock.engine.tyres.counts import car_runs, my_cars
from paddock.engine.work.moments import opened_at, when_due
from paddock.engine.work.rechecks import implied_work
from paddock.engine.work.rules import Words, words_of
from paddock.model.event import Event
from paddock.model.rows import ChangeRow, WorkRow

__all__ = ["Due", "due", "with_car"]

JAMS = frozenset({"jam", "lock"})


@dataclass(frozen=True, slots=True)
class Due:
    """One line of the list. ``now``: due before the car runs again; ``torque_nm`` None: the maker's figure.

    ``row``: what the file has, or would have (``written`` False) once it is ticked.
    """

    id: str
    item: str
    why: str
    when: str
    torque_nm: float | None
    now: bool
    row: WorkRow
    written: bool = True


def _number_of(row: WorkRow, event: Event) -> str | None:
    """The number of the change that was logged at the same minute, or is named in the row; None: not known."""
    opened = opened_at(row, event)
    for change in event.of(ChangeRow):
        named = change.id in re.findall(r"[\w-]+", row.reason or "") or row.id.startswith(f"{change.id}-")
        same_minute = change.at is not None and (change.day, change.at[:5]) == (opened.day, opened.at)
        if change.number and (named or same_minute):
            return change.number
    return None


def _names(text: str, car: str | None) -> bool:
    return car is not None and re.search(rf"(?<!\w){re.escape(car.lower())}(?!\w)", text) is not None


def _theirs(row: WorkRow, event: Event, number: str) -> bool:
    """A row is this car's unless its words name another car's file, or a change of another car made it."""
    mine = event.car_name_of(number)
    text = f"{row.item or ''} {row.reason or ''} {row.note or ''}".lower()
    if any(_names(text, name) for name in event.cars if name != mine):
        return _names(text, mine)
    found = _number_of(row, event)
    return found is None or found in event.numbers_of_car(number)


def _is(name: Words, said: Words) -> bool:
    """The fastener is named whole; a jam nut is no other nut."""
    return name <= said and name & JAMS == said & JAMS


def _torque(row: WorkRow, event: Event, number: str) -> float | None:
    """The row's own, else that of the car file's fastener whose name the row has word for word."""
    if row.torque_nm is not None:
        return row.torque_nm
    car, said = event.car_of(number), words_of(row.item)
    fasteners = car.fasteners if car else {}
    found = {torque for name, torque in fasteners.items() if _is(words_of(name), said)}
    return next(iter(found)) if len(found) == 1 else None


def _rows(event: Event, number: str) -> list[tuple[WorkRow, bool]]:
    rows = [(row, True) for row in event.of(WorkRow) if not row.is_done and _theirs(row, event, number)]
    source = {f"{row.id}-loose": row for row in event.of(WorkRow)}
    made = implied_work(event, event.numbers_of_car(number))
    return rows + [(row, False) for row in made if row.id not in source or _theirs(source[row.id], event, number)]


def due(event: Event, number: str) -> tuple[Due, ...]:
    """All open work on the car of ``number``: written down, or made by its changes; what is due now stands first."""
    runs = car_runs(event, event.numbers_of_car(number))
    found: Sequence[tuple[tuple[bool, int], Due]] = [
        (
            (not when.now, when.rank),
            Due(
                row.id,
                row.item or "work",
                row.reason or "",
                when.words,
                _torque(row, event, number),
                when.now,
                row,
                written,
            ),
        )
        for row, written in _rows(event, number)
        for when in (when_due(row, event, runs),)
    ]
    return tuple(item for _, item in sorted(found, key=lambda pair: pair[0]))


def with_car(event: Event, line: Due, number: str) -> str:
    """The item, with the car's name before it where there are several and the row doesn't say it."""
    car, item = event.car_name_of(number), line.item
    several = len(my_cars(event)) > 1
    only_here = all(line.id not in {other.id for other in due(event, numbers[0])}
                    for numbers in my_cars(event).values() if number not in numbers)  # fmt: skip
    return f"{car}: {item}" if several and car and only_here and car.lower() not in item.lower() else item
