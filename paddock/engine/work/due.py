"""What is due on a car, the most pressing first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from paddock.engine.tyres.counts import car_runs, my_cars
from paddock.engine.work.moments import when_due
from paddock.engine.work.rechecks import Words, implied_work, is_theirs, words_of
from paddock.model.event import Event
from paddock.model.rows import WorkRow

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
    rows = [(row, True) for row in event.of(WorkRow) if not row.is_done and is_theirs(row, event, number)]
    return rows + [(row, False) for row in implied_work(event, event.numbers_of_car(number))]


def due(event: Event, number: str) -> tuple[Due, ...]:
    """All open work on the car of ``number``: written down, or made by its changes; what is due now stands first."""
    numbers = event.numbers_of_car(number)
    runs = car_runs(event, numbers)
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
        for when in (when_due(row, event, runs, numbers),)
    ]
    return tuple(item for _, item in sorted(found, key=lambda pair: pair[0]))


def with_car(event: Event, line: Due, number: str) -> str:
    """The item, with the car's name before it where there are several and the row doesn't say it."""
    car, item = event.car_name_of(number), line.item
    several = len(my_cars(event)) > 1
    only_here = all(line.id not in {other.id for other in due(event, numbers[0])}
                    for numbers in my_cars(event).values() if number not in numbers)  # fmt: skip
    return f"{car}: {item}" if several and car and only_here and car.lower() not in item.lower() else item
