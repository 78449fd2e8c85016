"""What a car's own log has shown: balance (mid-corner, -3 ... +3) per psi of rear pressure and per point of share.

Least squares of the noted balance on everything that was varied at once, so that two things changed together show as
not clear instead of as a false answer. Dry runs without a mistake only.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import sqrt

from paddock.engine.balance import front_share
from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.rows import ChangeRow, PressureRow, RunRow

__all__ = ["MIN_RUNS", "Response", "fitted", "learned", "levels_of"]

MIN_RUNS = 4
CLEAR = 2.0
ROUNDING = 1 / 12
"""Variance of a balance noted in whole steps: no scatter is believed to be under it."""


@dataclass(frozen=True, slots=True)
class Response:
    """``key``: ``rear_psi``, ``front_psi`` (per psi) or ``front_share`` (per 0.01). ``per_unit``: change of balance,
    positive towards oversteer; ``se`` its standard error; ``runs`` it rests on.
    """

    key: str
    per_unit: float
    se: float
    runs: int

    @property
    def clear(self) -> bool:
        """Whether it stands out of its own scatter: twice its standard error, from four runs or more."""
        return self.runs >= MIN_RUNS and abs(self.per_unit) > CLEAR * self.se


def _inverse(matrix: list[list[float]]) -> list[list[float]] | None:
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


def fitted(levels: Mapping[str, Sequence[float]], balance: Sequence[float]) -> tuple[Response, ...]:
    """Responses of ``balance`` to the columns of ``levels`` (one value a run, in the units of ``Response``).

    A column that never moves is left out; empty where runs are too few or the columns can't be told apart.
    """
    count = len(balance)
    moved = {key: values for key, values in levels.items() if max(values, default=0) - min(values, default=0) > 1e-9}
    freedom = count - len(moved) - 1
    if not moved or count < MIN_RUNS or freedom < 1:
        return ()
    mean_y = sum(balance) / count
    centred = {key: [value - sum(values) / count for value in values] for key, values in moved.items()}
    keys, y = list(centred), [value - mean_y for value in balance]
    inverse = _inverse([[sum(a * b for a, b in zip(centred[i], centred[j], strict=True)) for j in keys] for i in keys])
    if inverse is None:
        return ()
    products = [sum(a * b for a, b in zip(centred[key], y, strict=True)) for key in keys]
    slopes = [sum(a * b for a, b in zip(row, products, strict=True)) for row in inverse]
    left = sum((y[i] - sum(s * centred[k][i] for s, k in zip(slopes, keys, strict=True))) ** 2 for i in range(count))
    variance = max(left / freedom, ROUNDING)
    return tuple(Response(key, slopes[i], sqrt(variance * inverse[i][i]), count) for i, key in enumerate(keys))


def _axle_psi(row: PressureRow, axle: str) -> float | None:
    pair = (row.lf_psi, row.rf_psi) if axle == "front" else (row.lr_psi, row.rr_psi)
    known = [value for value in pair if value is not None]
    return sum(known) / len(known) if known else None


def _holes(text: str | None) -> tuple[int, int] | None:
    found = re.fullmatch(r"\s*(\d+)\s*[-/]\s*(\d+)\s*", text or "")
    return None if found is None else (int(found[1]), int(found[2]))


def _bar_at(car: Car, end: str, changes: Sequence[ChangeRow], when: tuple[int, int]) -> tuple[int, int] | None:
    """Holes in force on a run: the last change of ``front_bar`` or ``rear_bar`` up to it, None: as the car starts."""
    held = _holes(str(car.setup.get(f"{end}_bar", "")))
    for change in sorted(changes, key=lambda row: (row.day or 0, row.run or 0)):
        if change.setting == f"{end}_bar" and (change.day or 0, change.run or 0) <= when:
            held = _holes(change.after) or held
    return held


def levels_of(event: Event, number: str) -> tuple[dict[str, list[float]], list[float]]:
    """Columns of levels and the noted mid-corner balance over the runs of ``number`` that have all of them."""
    car = event.car_of(number)
    numbers = event.numbers_of_car(number)
    changes = [row for row in event.of(ChangeRow) if row.number in (None, *numbers)]
    after = {(row.day, row.run): row for row in event.of(PressureRow) if row.number == number and row.moment == "after"}
    levels: dict[str, list[float]] = {"front_psi": [], "rear_psi": [], "front_share": []}
    balance: list[float] = []
    for run in event.of(RunRow):
        row = after.get((run.day, run.run))
        if run.number != number or run.mid is None or run.mistake or run.surface not in (None, "dry") or row is None:
            continue
        front, rear = _axle_psi(row, "front"), _axle_psi(row, "rear")
        if front is None or rear is None:
            continue
        when = (run.day, run.run)
        bars = {end: _bar_at(car, end, changes, when) if car else None for end in ("front", "rear")}
        share = front_share(car, bars["front"], bars["rear"]) if car else None
        for key, value in zip(levels, (front, rear, 100 * share if share is not None else 0.0), strict=True):
            levels[key].append(value)
        balance.append(float(run.mid))
    return levels, balance


def learned(event: Event, number: str) -> tuple[Response, ...]:
    """The responses the log of ``number`` shows, clear ones and others; empty: not enough runs or contrast."""
    levels, balance = levels_of(event, number)
    return fitted(levels, balance)
