"""Tyres fitted or repaired: a corner whose air has no history from then on."""

from __future__ import annotations

import re
from dataclasses import dataclass

from paddock.engine.clock import stamp_of
from paddock.engine.corners import CORNER_NAMES
from paddock.engine.readings.timeline import Timed, TimedRun
from paddock.model.event import Event
from paddock.model.rows import CORNERS, FittedRow, SetupChange, WorkRow

_TYRE = re.compile(r"tyre|tire|puncture|plug|patch|valve|leak|nail|cut|rubber", re.IGNORECASE)
_AFTER = 3


@dataclass(frozen=True, slots=True)
class Renewed:
    """``corner`` begins anew before the car's run of this place (0 = its first in all).

    ``minute`` of ``day``: when, where a clock says so. ``what``: fitted or repaired.
    """

    corner: str
    day: int
    place: int
    minute: float | None
    what: str

    def before(self, item: Timed) -> bool:
        """Whether it was done before something on the line of time."""
        if item.runs_before != self.place or item.day != self.day:
            return (item.day, item.runs_before) > (self.day, self.place)
        if self.minute is not None and item.clock is not None:
            return item.clock >= self.minute
        return self.minute is None and item.rank < _AFTER


def names_corner(text: str) -> list[str]:
    """The corners that a text names, ``right rear`` or ``RR``."""
    low = text.lower()
    return [
        corner for corner in CORNERS
        if CORNER_NAMES[corner] in low or " ".join(reversed(CORNER_NAMES[corner].split())) in low
        or re.search(rf"\b{corner}\b", low)
    ]  # fmt: skip


def _place(items: tuple[Timed, ...], day: int, run: int | None, number: str | None) -> int:
    """How many of the car's runs come before ``run`` of ``number`` on ``day``; None: the day's first."""
    count = 0
    for item in items:
        if not isinstance(item.what, TimedRun):
            continue
        same = number is None or item.number == number
        if item.day > day or (item.day == day and same and item.run >= (run or 0)):
            break
        count += 1
    return count


def _fitted(event: Event, numbers: tuple[str, ...], items: tuple[Timed, ...]) -> list[Renewed]:
    mine = (row for row in event.of(FittedRow) if row.number in numbers)
    rows = sorted(mine, key=lambda row: (row.day, row.run or 0))
    on: dict[str, tuple[str, str | None]] = {}
    found = []
    for row in rows:
        now = (row.tyre, row.orientation)
        if row.corner in on and on[row.corner] != now:
            place = _place(items, row.day, row.run, row.number)
            found.append(Renewed(row.corner, row.day, place, None, "fitted"))
        on[row.corner] = now
    return found


def renewals(event: Event, number: str, items: tuple[Timed, ...]) -> tuple[Renewed, ...]:
    """Every tyre of the car that ``number`` drives that was changed, turned on its rim, or mended, in the log's order.

    ``items``: the car's line of time. Mended: a change of kind ``repair`` or work that is done, which names a corner
    and the tyre or its valve.
    """
    numbers = event.numbers_of_car(number)
    found = _fitted(event, numbers, items)
    for change in event.of(SetupChange):
        text = " ".join(filter(None, (change.item, change.setting, change.reason, change.after)))
        mine = change.number is None or change.number in numbers
        if mine and change.kind == "repair" and change.day is not None and _TYRE.search(text):
            place = _place(items, change.day, change.run, change.number)
            found += [Renewed(corner, change.day, place, None, "repaired") for corner in names_corner(text)]
    for work in event.of(WorkRow):
        text = " ".join(filter(None, (work.item, work.reason, work.note)))
        done = stamp_of(work.done, event)
        if not work.is_done or done.day is None or not _TYRE.search(text):
            continue
        if done.minute is not None:
            place = sum(
                1 for item in items
                if isinstance(item.what, TimedRun) and (item.day, item.minute) < (done.day, done.minute)
            )  # fmt: skip
        else:
            place = _place(items, done.day, None if done.run is None else done.run + 1, None)
        found += [Renewed(corner, done.day, place, done.minute, "repaired") for corner in names_corner(text)]
    return tuple(found)
