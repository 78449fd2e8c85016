"""The order of rows whose clocks disagree with the order they were entered in.

A clock set back, or that of a second device, gives a new row an earlier time than an old one. Three things tell which
of two rows came first: the order they were entered in (rows are appended, a merge keeps the order of both copies), the
log's own (run 3 after run 2, ``after`` after ``before``) and the clock. A clock that both others contradict is not
believed; one that a row typed late contradicts alone, is.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

T = TypeVar("T")
Place = tuple[float, ...]
"""Where the log puts a row within a day: its run, then its moment; the same place: the entry alone tells."""


def settled(rows: Sequence[tuple[Place, float | None]]) -> list[float | None]:
    """Minutes of one day's rows, given as entered, that no row entered before it and at or before its place exceeds.

    A row without a clock (None) comes back without one and holds nobody up. A minute that comes back as it was given
    is believed; a greater one means that the row is later than its clock says.
    """
    latest: dict[Place, float] = {}
    found: list[float | None] = []
    for place, minute in rows:
        if minute is not None:
            minute = max([minute, *(known for its, known in latest.items() if its <= place)])
            latest[place] = max(minute, latest.get(place, minute))
        found.append(minute)
    return found


def newest(rows: Sequence[T], minute: Callable[[T], float | None]) -> list[T]:
    """Rows of one day in which nothing but a clock tells the order, the newest last; those without a clock first."""
    at = settled([((), minute(row)) for row in rows])
    places = sorted(range(len(rows)), key=lambda place: (-1.0 if (known := at[place]) is None else known, place))
    return [rows[place] for place in places]
