"""What makes two depths or two days differ: the gauge's scatter and the surface's harshness, from a car's own readings.

Between one stretch of a tyre's edge and its next the rate changes by what the days share (the surface) and by what each
reading has by itself (the gauge): with c = r1 - r2 and the edge's own rate m, c = m d + e, the same d for all tyres and
edges of the pair of days. The variance of e is g^2 k; what is left about d gives g, and d itself, with variance
2 s^2, gives s. Both are drawn to a stated prior worth ``GAUGE_WORTH`` and ``SURFACE_WORTH`` such comparisons
(scaled inverse chi-squared; Gelman and others, Bayesian Data Analysis, chapter 2).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Protocol

GAUGE_SD_MM = 0.12
"""Repeatability of one depth reading, sd (stated prior; common practice, no source)."""
SURFACE_SD = 0.33
"""How much a day's wear differs from the car's usual, as a share, sd (stated prior; common practice, no source)."""
GAUGE_WORTH, SURFACE_WORTH = 4.0, 4.0


@dataclass(frozen=True, slots=True)
class Scatter:
    """``gauge_mm``: sd of one depth reading; ``surface``: sd of a day's wear as a share of the usual."""

    gauge_mm: float = GAUGE_SD_MM
    surface: float = SURFACE_SD


USUAL_SCATTER = Scatter()


class Worn(Protocol):
    """What wore off between two readings of a tyre."""

    @property
    def tyre(self) -> str: ...
    @property
    def event(self) -> str: ...
    @property
    def days(self) -> tuple[int, int]: ...
    @property
    def runs(self) -> int: ...
    @property
    def joined(self) -> bool: ...
    @property
    def drop_mm(self) -> Mapping[str, float]: ...


Place = tuple[str, int, int]
_Pair = tuple[Place, Place]


def _place(part: Worn) -> Place:
    return part.event, *part.days


def _compared(parts: Sequence[Worn]) -> dict[_Pair, list[tuple[float, float, float]]]:
    """By pair of stretches: the change of the rate, the edge's own rate, and k of the gauge's share in the change."""
    found: dict[_Pair, list[tuple[float, float, float]]] = defaultdict(list)
    for one, two in pairwise(parts):
        each, other = 1 / one.runs, 1 / two.runs
        shared = (each + other) ** 2 if two.joined else each * each + other * other
        for edge in one.drop_mm.keys() & two.drop_mm.keys():
            first, second = one.drop_mm[edge], two.drop_mm[edge]
            own = (first + second) / (one.runs + two.runs)
            change = first * each - second * other
            found[_place(one), _place(two)].append((change, own, each * each + other * other + shared))
    return found


def scatter_of(stretches: Iterable[Worn]) -> Scatter:
    """From all stretches of a car in which its tyres kept their places."""
    of_tyre: dict[str, list[Worn]] = defaultdict(list)
    for part in stretches:
        of_tyre[part.tyre].append(part)
    pairs: dict[_Pair, list[tuple[float, float, float]]] = defaultdict(list)
    for parts in of_tyre.values():
        for pair, rows in _compared(parts).items():
            pairs[pair] += rows
    squares, freedom, shifts = 0.0, 0.0, []
    for rows in pairs.values():
        weight = sum(own * own / k for _, own, k in rows)
        if len(rows) < 2 or weight <= 0:
            continue
        shift = sum(change * own / k for change, own, k in rows) / weight
        squares += sum((change - own * shift) ** 2 / k for change, own, k in rows)
        freedom += len(rows) - 1
        shifts.append((shift, weight))
    gauge = (GAUGE_WORTH * GAUGE_SD_MM**2 + squares) / (GAUGE_WORTH + freedom)
    seen = sum(max(shift * shift - gauge / weight, 0.0) / 2 for shift, weight in shifts)
    surface = (SURFACE_WORTH * SURFACE_SD**2 + seen) / (SURFACE_WORTH + len(shifts))
    return Scatter(gauge**0.5, surface**0.5)
