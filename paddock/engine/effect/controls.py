"""Whose runs stand for the course: same group, drive and tyre kind, nothing known to be changed.

A blank group, drive or tyre kind counts as the same as any.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from paddock.engine.effect.states import Contrast, car_changes, first_slot
from paddock.engine.paces import Slot, void_entrants
from paddock.model.event import Event
from paddock.model.rows import ChangeRow, EntrantRow, GridRow

__all__ = ["Chosen", "LeftOut", "Strangers", "choose", "groups_of"]


@dataclass(frozen=True, slots=True)
class LeftOut:
    """An entrant who ran but does not stand for the course, and why."""

    number: str
    why: str


@dataclass(frozen=True, slots=True)
class Chosen:
    """``full``: numbers with every run wanted; ``part``: with at least one on each side, but not every run."""

    full: tuple[str, ...]
    part: tuple[str, ...]
    left_out: tuple[LeftOut, ...]

    @property
    def numbers(self) -> tuple[str, ...]:
        """All of them."""
        return (*self.full, *self.part)


def groups_of(event: Event, day: int) -> dict[str, str | None]:
    """Number to run group on a day; a blank group is None."""
    return {row.number: row.group for row in event.of(GridRow) if row.day == day}


def _differ(mine: str | None, theirs: str | None) -> bool:
    return mine is not None and theirs is not None and mine.casefold() != theirs.casefold()


def _changed_inside(event: Event, changes: Sequence[ChangeRow], slots: Sequence[Slot]) -> bool:
    """Whether one of the entrant's logged changes falls among the runs compared."""
    moments = [first_slot(event, row) for row in changes]
    return any(moment is None or slots[0] < moment <= slots[-1] for moment in moments)


class Strangers:
    """What makes an entrant no control, looked up once per question."""

    def __init__(self, event: Event, number: str, slots: Sequence[Slot]) -> None:
        """``number``: the case; ``slots``: the runs compared, in order."""
        self.event = event
        self.slots = slots
        self.me = event.entrant(number) or EntrantRow(number=number)
        self.same_car = frozenset(event.numbers_of_car(number))
        self.groups = {day: groups_of(event, day) for day in {slot[0] for slot in slots}}
        self.void = void_entrants(event)
        self.changes: dict[str, list[ChangeRow]] = defaultdict(list)
        for row in event.of(ChangeRow):
            if row.number and row.number not in self.same_car:
                self.changes[row.number].append(row)

    def why(self, them: EntrantRow) -> str | None:
        """Why ``them`` is no control, None where they are one."""
        number = them.number
        if number in self.same_car:
            return "the same car"
        if number in self.void:
            return "disqualified"
        if them.control is False:
            return "known to have changed something"
        if any(_differ(groups.get(self.me.number), groups.get(number)) for groups in self.groups.values()):
            return "another run group"
        if _differ(self.me.drive, them.drive):
            return "another driven axle"
        if _differ(self.me.tyre_kind, them.tyre_kind):
            return "another kind of tyre"
        return "a logged change" if self._changed(number) else None

    def _changed(self, number: str) -> bool:
        rows = self.changes.get(number)
        mine = number in self.event.settings.mine.numbers
        if mine:
            rows = list(car_changes(self.event, number))
        return bool(rows) and _changed_inside(self.event, rows or (), self.slots)


def _missing(times: Mapping[Slot, int], slots: Sequence[Slot]) -> str:
    gaps = [slot for slot in slots if slot not in times]
    days = {slot[0] for slot in slots}
    named = ", ".join(str(run) if len(days) == 1 else f"{run} of day {day}" for day, run in gaps)
    return f"no usable time in run {named}"


def choose(event: Event, number: str, of: Contrast, times: Mapping[str, Mapping[Slot, int]]) -> Chosen:
    """Sort everybody else who ran into controls and left out. ``times`` as ``paces.raw_times`` gives them."""
    strangers = Strangers(event, number, of.slots)
    wanted = frozenset(of.slots)
    known = {entrant.number: entrant for entrant in event.entrants}
    full: list[str] = []
    part: list[str] = []
    out: list[LeftOut] = []
    for other, theirs in times.items():
        if other == number:
            continue
        reason = strangers.why(known.get(other) or EntrantRow(number=other))
        if reason is None and not any(
            any(slot in theirs for slot in block.old) and any(slot in theirs for slot in block.new)
            for block in of.blocks
        ):
            reason = _missing(theirs, of.slots)
        if reason is not None:
            out.append(LeftOut(other, reason))
        else:
            (full if wanted <= theirs.keys() else part).append(other)
    return Chosen(tuple(full), tuple(part), tuple(out))
