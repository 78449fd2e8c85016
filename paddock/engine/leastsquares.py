"""Least squares for a handful of columns, in plain Python."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["inverse", "slopes"]


def inverse(matrix: Sequence[Sequence[float]]) -> list[list[float]] | None:
    """Gauss and Jordan with pivots; None: singular, that is, two columns say the same."""
    size = len(matrix)
    rows = [[*row, *(1.0 if i == j else 0.0 for j in range(size))] for i, row in enumerate(matrix)]
    scale = max((abs(value) for row in matrix for value in row), default=0.0)
    for column in range(size):
        pivot = max(range(column, size), key=lambda i: abs(rows[i][column]))
        if abs(rows[pivot][column]) <= 1e-9 * scale:
            return None
        rows[column], rows[pivot] = rows[pivot], rows[column]
        head = rows[column][column]
        rows[column] = [value / head for value in rows[column]]
        for other in range(size):
            if other != column and rows[other][column]:
                factor = rows[other][column]
                rows[other] = [a - factor * b for a, b in zip(rows[other], rows[column], strict=True)]
    return [row[size:] for row in rows]


def _product(one: Sequence[float], other: Sequence[float]) -> float:
    return sum(a * b for a, b in zip(one, other, strict=True))


def slopes(
    columns: Sequence[Sequence[float]], y: Sequence[float], freedom: int, least_variance: float = 0.0
) -> list[tuple[float, float]] | None:
    """Slope and standard error of ``y`` on each of ``columns``, all already centred; None: they can't be told apart.

    ``freedom`` (1 or more): degrees of freedom left; ``least_variance``: scatter never believed to be under this.
    """
    inverted = inverse([[_product(one, other) for other in columns] for one in columns])
    if inverted is None or freedom < 1:
        return None
    right = [_product(column, y) for column in columns]
    found = [_product(row, right) for row in inverted]
    left = sum((value - sum(s * c[i] for s, c in zip(found, columns, strict=True))) ** 2 for i, value in enumerate(y))
    variance = max(left / freedom, least_variance)
    return [(slope, (variance * inverted[i][i]) ** 0.5) for i, slope in enumerate(found)]
