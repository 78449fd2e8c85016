"""The few sums on small matrices that the fits need, in plain Python."""

from __future__ import annotations

from collections.abc import Sequence

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
