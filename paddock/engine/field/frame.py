"""The field as numbers: who drove which run in which group with what kind of car, ready for the model.

All times are ``45 ln(time)``: a step of 1 is one second in a run of 45 s, whatever the course's length.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from paddock.model.event import Event
from paddock.model.rows import GridRow, RunRow

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

SCALE = 45.0
"""Seconds in which the priors are told."""

Slot = tuple[int, int]
"""Day and run number."""


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """Drivers by slots. ``y`` is nan where there is no usable time, and ``base`` a driver less: their own middle.

    ``group`` and ``kind`` count from 0, a driver each; a group holds over a day, so ``group`` is drivers by slots.
    ``where``: groups by slots, when that group drove that run: 1 from one run number to the next, later days far off.
    ``marked``: the driver says it was a mistake; ``told``: the driver's log says whether it was one.
    """

    numbers: tuple[str, ...]
    slots: tuple[Slot, ...]
    y: Floats
    group: Ints
    kind: Ints
    where: Floats
    marked: Bools
    told: Bools
    base: Floats

    def rows(self, kept: Sequence[int]) -> Frame:
        """Some of the drivers."""
        at = list(kept)
        return Frame(
            tuple(self.numbers[i] for i in at), self.slots, self.y[at], self.group[at], self.kind[at], self.where,
            self.marked[at], self.told[at], self.base[at],
        )  # fmt: skip


# which timed runs say something about pace, by entrant and slot


def raw_times(event: Event) -> dict[str, dict[Slot, int]]:
    """Number to slot to raw milliseconds of the runs that say something about pace; of two rows for one slot the later
    in the file stands.

    Only runs driven round the whole course, cones or not: penalties off. Runs with a missed gate, without a time or
    with any status (``dnf``, ``rerun``, ``practice`` ...) are left out.
    """
    found: dict[str, dict[Slot, int]] = {}
    for row in event.times:
        if row.time_ms and row.status is None and not row.misses:
            mine = found.get(row.number)
            if mine is None:
                mine = found[row.number] = {}
            mine[row.day, row.run] = row.time_ms
    return found


def mistakes(event: Event) -> frozenset[tuple[str, Slot]]:
    """Number and slot of the runs their driver marked as a mistake."""
    return frozenset((row.number, (row.day, row.run)) for row in event.of(RunRow) if row.mistake)


def void_entrants(event: Event) -> frozenset[str]:
    """Numbers whose every run is void."""
    return frozenset(entrant.number for entrant in event.entrants if entrant.status == "dsq")


def groups_of(event: Event, day: int) -> dict[str, str | None]:
    """Number to run group on a day; a blank group is None."""
    return {row.number: row.group for row in event.of(GridRow) if row.day == day}
