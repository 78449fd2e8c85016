"""The field as numbers: who drove which run in which group with what kind of car, ready for the model.

All times are ``45 ln(time)``: a step of 1 is one second in a run of 45 s, whatever the course's length.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

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
