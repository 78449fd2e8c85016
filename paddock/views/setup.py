"""The set-up in force: as the car rolled off the trailer, with the changes since laid over it."""

from __future__ import annotations

from dataclasses import dataclass

from paddock.model.event import Event
from paddock.model.rows import ChangeRow

__all__ = ["Setting", "open_changes", "setup_in_force"]


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting. ``changed``: not as it rolled off the trailer; ``test``: the change is still undecided."""

    key: str
    value: str
    changed: bool = False
    test: bool = False


def _mine(event: Event, number: str) -> list[ChangeRow]:
    cars = set(event.numbers_of_car(number))
    return [row for row in event.of(ChangeRow) if row.number is None or row.number in cars]


def open_changes(event: Event, number: str) -> tuple[ChangeRow, ...]:
    """Changes to the car not yet kept, reverted or taken back."""
    rows = _mine(event, number)
    undone = {row.undoes for row in rows if row.undoes}
    return tuple(row for row in rows if row.decision is None and row.undoes is None and row.id not in undone)


def setup_in_force(event: Event, number: str) -> tuple[Setting, ...]:
    """Every setting known, the changed ones first, then in the car file's order."""
    car = event.car_of(number)
    base = {key: _text(value) for key, value in car.setup.items()} if car else {}
    now = dict(base)
    rows = _mine(event, number)
    for row in rows:
        if row.setting and row.after is not None:
            now[row.setting] = row.after
    on_test = {row.setting for row in open_changes(event, number)}
    found = [Setting(key, value, value != base.get(key), key in on_test) for key, value in now.items()]
    return tuple(sorted(found, key=lambda item: not item.changed))


def _text(value: object) -> str:
    return ("yes" if value else "no") if isinstance(value, bool) else str(value)
