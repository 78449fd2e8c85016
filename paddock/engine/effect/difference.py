"""My change against the controls' changes, with the error of one case against a small control group.

J. R. Crawford and D. C. Howell, Comparing an individual's test score against norms derived from small samples,
The Clinical Neuropsychologist 12, 1998: t = (case - mean) / (s sqrt(1 + 1/N)), N - 1 degrees of freedom. Here the
controls' median stands for the course, since rivals spoil runs too.

Where my log says of every run used that it was no mistake, rivals' spoilt runs have no place in the scatter either:
changes far outside the rest are left out by the modified z-score 0.6745 |x - median| / MAD > 3.5 (B. Iglewicz and
D. C. Hoaglin, How to Detect and Handle Outliers, 1993). Where the log is silent, mine may be spoilt as theirs may.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean, median, stdev
from typing import Literal

from paddock.engine.effect.states import Contrast
from paddock.engine.paces import Slot

__all__ = ["Compared", "Method", "Spread", "change_of", "compare", "far_outside", "single_case_error"]


_LEAST_TO_SORT = 5
_FAR = 3.5

Method = Literal["difference", "two-way"]


@dataclass(frozen=True, slots=True)
class Spread:
    """``scatter``: sd of the controls' changes; ``error``: of my difference from their middle; ``df``: N - 1."""

    scatter: float
    error: float
    df: int


@dataclass(frozen=True, slots=True)
class Compared:
    """All in ln units; negative is faster. ``field`` None without controls, ``spread`` with fewer than two.

    ``theirs``: each control's change, by number; ``far``: controls left out for a change far outside the rest.
    """

    mine: float
    field: float | None
    spread: Spread | None
    theirs: Mapping[str, float]
    method: Method
    far: tuple[str, ...] = ()

    @property
    def extra(self) -> float | None:
        """Mine beyond the field's."""
        return None if self.field is None else self.mine - self.field

    @property
    def rank(self) -> int | None:
        """My place among my own and the controls' changes, 1 = gained most; None without controls."""
        if not self.theirs:
            return None
        return 1 + sum(1 for value in self.theirs.values() if value < self.mine)


def single_case_error(changes: Sequence[float]) -> Spread | None:
    """Scatter s, error s sqrt(1 + 1/N) and N - 1; None for fewer than two."""
    count = len(changes)
    if count < 2:
        return None
    scatter = stdev(changes)
    return Spread(scatter, scatter * math.sqrt(1.0 + 1.0 / count), count - 1)


def change_of(times: Mapping[Slot, int], of: Contrast) -> float | None:
    """Mean ln(time) with less without, over the blocks for which both are there; None where none is."""
    parts: list[tuple[float, float]] = []
    for block, share in zip(of.blocks, of.shares(), strict=True):
        old = [math.log(times[slot]) for slot in block.old if slot in times]
        new = [math.log(times[slot]) for slot in block.new if slot in times]
        if old and new:
            parts.append((share, fmean(new) - fmean(old)))
    total = sum(share for share, _ in parts)
    return sum(share * value for share, value in parts) / total if parts else None


def far_outside(changes: Mapping[str, float]) -> tuple[str, ...]:
    """Whose change is no change but a spoilt run; nobody's where fewer than ``_LEAST_TO_SORT`` could say so."""
    if len(changes) < _LEAST_TO_SORT:
        return ()
    middle = median(changes.values())
    spread = median(abs(value - middle) for value in changes.values())
    if spread <= 0.0:
        return ()
    return tuple(number for number, value in changes.items() if 0.6745 * abs(value - middle) / spread > _FAR)


def compare(
    mine: Mapping[Slot, int], controls: Mapping[str, Mapping[Slot, int]], of: Contrast, spotless: bool = False
) -> Compared:
    """The plain field-controlled difference. ``mine`` has every slot of ``of``; so should the controls.

    ``spotless``: my runs are known to hold no mistake. ValueError with no run of mine on one side.
    """
    my_change = change_of(mine, of)
    if my_change is None:
        raise ValueError("runs on both sides are wanted")
    found = {number: change_of(times, of) for number, times in controls.items()}
    theirs = {number: value for number, value in found.items() if value is not None}
    far = far_outside(theirs) if spotless else ()
    theirs = {number: value for number, value in theirs.items() if number not in far}
    changes = list(theirs.values())
    field = median(changes) if changes else None
    return Compared(my_change, field, single_case_error(changes), theirs, "difference", far)
