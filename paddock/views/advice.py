"""The work that is due, in words, for the home page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from paddock import words
from paddock.model.event import Event

if TYPE_CHECKING:
    from paddock.engine.work.due import Due


def _due_words(item: Due) -> str:
    torque = f", {words.torque(item.torque_nm)}" if item.torque_nm else ""
    return f"{item.item}{torque}" + ("" if item.now or not item.when else f" ({item.when})")


def due_lines(event: Event, number: str) -> tuple[tuple[bool, str], ...]:
    """Open work on the car: whether it is due before the next run, and the words for it."""
    from paddock.engine.work.due import due

    return tuple((item.now, _due_words(item)) for item in due(event, number))
