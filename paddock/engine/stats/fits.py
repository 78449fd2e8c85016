"""Least squares and pooling, with the floor that rounded figures set.

A figure written in steps of h carries an error of variance h^2 / 12 (uniform over the step; JCGM 100:2008, 4.3.7).
However well rounded figures agree, no fit of them may claim less scatter than that: a range of no width is luck.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from paddock.engine.stats.quantiles import t_quantile

_NOTHING_LEFT, _NOTHING = 1e-9, 1e-290
"""Share of a column that the columns before it leave unexplained: under it, it says nothing of its own; and the least
square whose inverse is still a number.
"""


def dot(one: Sequence[float], other: Sequence[float]) -> float:
    """Sum of the products; ValueError where the lengths differ."""
    return sum(a * b for a, b in zip(one, other, strict=True))


def gram(columns: Sequence[Sequence[float]]) -> list[list[float]]:
    """Every column times every column: the matrix of the normal equations."""
    return [[dot(one, other) for other in columns] for one in columns]


def inverse(matrix: Sequence[Sequence[float]], spare: bool = False) -> list[list[float]] | None:
    """Inverse of a symmetric matrix with no negative eigenvalue (a ``gram``), by Gauss and Jordan.

    A column that the others explain makes it None, or with ``spare`` a row of zeros: its unknown stays at 0. What
    counts as explained is judged column by column, so that no unit (psi, a place in the day) hides another.
    """
    size = len(matrix)
    left = [list(row) for row in matrix]
    right = [[float(i == j) for j in range(size)] for i in range(size)]
    for j in range(size):
        pivot = left[j][j]
        if pivot <= max(_NOTHING_LEFT * matrix[j][j], _NOTHING):
            if not spare:
                return None
            right[j] = [0.0] * size
            continue
        left[j] = [value / pivot for value in left[j]]
        right[j] = [value / pivot for value in right[j]]
        for i in range(size):
            factor = left[i][j]
            if i != j and factor:
                left[i] = [a - factor * b for a, b in zip(left[i], left[j], strict=True)]
                right[i] = [a - factor * b for a, b in zip(right[i], right[j], strict=True)]
    return right


def rounding_variance(step: float) -> float:
    """Variance of the error of a figure written in steps of ``step``."""
    return step * step / 12.0


def step_of(values: Iterable[float]) -> float:
    """The coarsest step of 1, 0.5, 0.25, 0.2, 0.1, 0.05, 0.01, 0.001 that all ``values`` stand on; 0: none of them."""
    written = [Decimal(repr(float(value))) for value in values]
    steps = ("1", "0.5", "0.25", "0.2", "0.1", "0.05", "0.01", "0.001")
    return next((float(step) for step in steps if written and not any(value % Decimal(step) for value in written)), 0.0)


def scatter(squares: float, freedom: float, floor: float = 0.0) -> float:
    """Variance of the scatter from the ``squares`` a fit leaves; never under ``floor``, the rounding's."""
    return max(squares / freedom, floor)


def interval(effect: float, error: float, df: float, share: float = 0.8) -> tuple[float, float]:
    """The range that holds the true effect in a ``share`` of cases: ``effect`` -+ t ``error``."""
    reach = t_quantile(0.5 + share / 2.0, df) * error
    return effect - reach, effect + reach


def within(groups: Sequence[Hashable], values: Sequence[float]) -> list[float]:
    """``values`` less the mean of their group, so that what differs between groups (days, courses) is no evidence."""
    parts: dict[Hashable, list[float]] = defaultdict(list)
    for group, value in zip(groups, values, strict=True):
        parts[group].append(value)
    means = {group: sum(part) / len(part) for group, part in parts.items()}
    return [value - means[group] for group, value in zip(groups, values, strict=True)]


@dataclass(frozen=True, slots=True)
class Slope:
    """``value`` per unit of its column, standard error ``error``, degrees of freedom ``freedom``."""

    value: float
    error: float
    freedom: int

    def interval(self, share: float) -> tuple[float, float]:
        """The range that holds the true slope in a ``share`` of cases."""
        return interval(self.value, self.error, self.freedom, share)

    def clear(self, share: float) -> bool:
        """Whether that range leaves out 0."""
        low, high = self.interval(share)
        return low > 0.0 or high < 0.0


def least_squares(
    columns: Sequence[Sequence[float]], y: Sequence[float], freedom: int, floor: float = 0.0
) -> tuple[Slope, ...] | None:
    """Slopes of ``y`` on ``columns``, all centred already; None: they can't be told apart, or ``freedom`` is under 1.

    ``freedom``: degrees of freedom left; ``floor``: the ``rounding_variance`` of ``y``.
    """
    inverted = inverse(gram(columns))
    if inverted is None or freedom < 1:
        return None
    right = [dot(column, y) for column in columns]
    slopes = [dot(row, right) for row in inverted]
    left = (value - sum(s * c[i] for s, c in zip(slopes, columns, strict=True)) for i, value in enumerate(y))
    variance = scatter(sum(value * value for value in left), freedom, floor)
    return tuple(Slope(slope, math.sqrt(variance * inverted[i][i]), freedom) for i, slope in enumerate(slopes))


def shrunk(values: Sequence[tuple[float, float]], tau: float) -> list[tuple[float, float, float]]:
    """``(y, s)`` of each, to ``(value, sd, own weight)`` drawn to their mean; one alone keeps its own.

    The normal model with known spreads (Gelman and others, Bayesian Data Analysis, chapter 5): y has variance s^2, the
    true values scatter about their mean m with sd ``tau``. m is the mean of y weighted by 1/(s^2 + tau^2); with
    B = s^2/(s^2 + tau^2) a value is B m + (1 - B) y, its variance (1 - B) s^2 + B^2 / sum of the weights.
    """
    weights = [1 / (s * s + tau * tau) for _, s in values]
    mean = sum(w * y for w, (y, _) in zip(weights, values, strict=True)) / sum(weights)
    found = []
    for y, s in values:
        pull = s * s / (s * s + tau * tau)
        variance = (1 - pull) * s * s + pull * pull / sum(weights)
        found.append((pull * mean + (1 - pull) * y, math.sqrt(variance), 1 - pull))
    return found
