"""Open work carried to the next event: when it is due there, and on which car."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta

from paddock.engine.tyres import Inventory, my_cars, orders
from paddock.engine.work.due import Due, due, with_car
from paddock.model.edit import AddRow
from paddock.model.event import Event
from paddock.model.rows import WorkRow
from paddock.model.season import Booking

ORDER = re.compile(r"(?:[^:]*:)?\s*(?:order|buy)\b", re.IGNORECASE)
AXLE_WORDS = re.compile(r"\b(?:front|rear)", re.IGNORECASE)


def _order_due(line: Due, axles: Mapping[str, date | None], end: date | None) -> str:
    """The day an order must go out: as written, else as the wear tells, else at once.

    ``axles``: the day to order the tyres of ``front`` and ``rear``, None: not known; ``end``: the old event's last day.
    """
    if re.search(r"\b\d{4}-\d{2}-\d{2}\b", line.row.due or ""):
        return line.row.due or ""
    said = line.item.lower()
    known = [day for axle, day in axles.items() if day is not None and (axle in said or not AXLE_WORDS.search(said))]
    return min(known).isoformat() if known and (end is None or min(known) > end) else "order now"


def _order_days(event: Event, found: Inventory, booked: Booking, number: str) -> dict[str, date | None]:
    """By axle, the day to order: for the new event those that last it, for when they run out those that don't."""
    held = found.cars.get(event.car_name_of(number) or number, {})
    days: dict[str, date | None] = {axle: _delivered(found, held, axle, booked) for axle in ("front", "rear")}
    for item in orders(event, found, (booked,)):
        axles = {"front" if corner[1] == "f" else "rear" for corner, tyre in held.items() if tyre in item.tyres}
        days |= dict.fromkeys(axles, item.order_by)
    return days


def _delivered(found: Inventory, held: Mapping[str, str], axle: str, booked: Booking) -> date | None:
    """The last day to order an axle's tyres for the first day of ``booked``; None: no delivery time is known."""
    states = [found.of(tyre) for corner, tyre in held.items() if corner[1] == axle[0]]
    waits = [item.row.delivery_days for item in states if item and item.row and item.row.delivery_days is not None]
    return min(booked.days) - timedelta(days=max(waits)) if waits and booked.days else None


def _due_text(line: Due) -> str:
    """When it is due at the next event: what waited for this one's end, or is late, before its first run."""
    text = (line.row.due or "").lower()
    if line.now or "event" in text or "before" in text:
        return "before run 1"
    if line.when.startswith("in "):
        return line.when
    return "next run" if "run" in text else (line.row.due or "")


def work(event: Event, found: Inventory, name: str, days: Sequence[date]) -> Iterator[AddRow]:
    """Open work on my cars for the event ``name`` on ``days``; an order's due is a day."""
    booked, end = Booking(name=name, days=tuple(days)), max(event.settings.days, default=None)
    seen: set[str] = set()
    for numbers in my_cars(event).values():
        order_days = _order_days(event, found, booked, numbers[0])
        for line in due(event, numbers[0]):
            if line.id in seen:
                continue
            seen.add(line.id)
            when = _order_due(line, order_days, end) if ORDER.match(line.item) else _due_text(line)
            cells = {
                "id": line.id, "opened": f"at {event.settings.name or event.name}", "reason": line.row.reason,
                "item": with_car(event, line, numbers[0]), "due": when or None,
                "torque_nm": line.torque_nm, "note": line.row.note,
            }  # fmt: skip
            yield AddRow(WorkRow.FILE, {name: value for name, value in cells.items() if value is not None})
