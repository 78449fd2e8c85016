"""The gauge and the surfaces, from readings: held against a weighted fit made another way."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest

from paddock.engine.tyres.counts import FittedPlace
from paddock.engine.tyres.scatter import USUAL_SCATTER, Scatter, scatter_of
from paddock.engine.tyres.wear import Stretch

EDGES = ("inner", "middle", "outer")


def part(
    tyre: str, day: int, runs: int, drops: Sequence[float | None], joined: bool = False, event: str = "e"
) -> Stretch:
    drop_mm = {edge: drop for edge, drop in zip(EDGES, drops, strict=True) if drop is not None}
    return Stretch(tyre, "h", FittedPlace("lf"), runs, (day - 1, day), 0, drop_mm, joined, event=event)


def fitted(pairs: Sequence[Sequence[tuple[Stretch, Stretch]]]) -> Scatter:
    """Each depth is a reading with its own error, weighted least squares through nought for each pair of days."""
    squares, freedom, shifts = 0.0, 0, []
    for pair in pairs:
        change, own, variance = [], [], []
        for one, two in pair:
            for edge in one.drop_mm.keys() & two.drop_mm.keys():
                first, second = one.drop_mm[edge], two.drop_mm[edge]
                before = [1 / one.runs, -1 / one.runs]
                after = [-1 / two.runs, 1 / two.runs]
                readings = [before[0], before[1] + after[0], after[1]] if two.joined else before + after
                change.append(first / one.runs - second / two.runs)
                own.append((first + second) / (one.runs + two.runs))
                variance.append(sum(weight * weight for weight in readings))
        scale = 1 / np.sqrt(np.array(variance))
        slope, rest, *_ = np.linalg.lstsq((np.array(own) * scale)[:, None], np.array(change) * scale, rcond=None)
        squares, freedom = squares + float(rest[0]), freedom + len(own) - 1
        shifts.append((float(slope[0]), float(np.sum((np.array(own) * scale) ** 2))))
    gauge = (4 * 0.12**2 + squares) / (4 + freedom)
    seen = sum(max(shift**2 - gauge / weight, 0) / 2 for shift, weight in shifts)
    return Scatter(math.sqrt(gauge), math.sqrt((4 * 0.33**2 + seen) / (4 + len(shifts))))


A = part("A", 1, 10, (0.8, 0.5, 1.0)), part("A", 2, 6, (0.2, 0.1, 0.3), True), part("A", 3, 8, (0.9, 0.6, 1.2), True)
B = part("B", 1, 10, (0.7, None, 0.9)), part("B", 2, 6, (0.25, 0.2, 0.2), True)
C = part("C", 2, 6, (0.4, 0.3, 0.1)), part("C", 3, 8, (0.5, 0.2, 0.6))


def close(found: Scatter, wanted: Scatter) -> None:
    assert found.gauge_mm == pytest.approx(wanted.gauge_mm, rel=1e-9)
    assert found.surface == pytest.approx(wanted.surface, rel=1e-9)


def test_the_same_two_days_are_fitted_together_for_all_tyres() -> None:
    one = fitted([[(A[0], A[1]), (B[0], B[1])]])
    close(scatter_of([A[0], A[1], B[0], B[1]]), one)
    assert one.surface > 0.33, "days that differ are seen"
    assert one.gauge_mm < 0.12, "a gauge that scatters little as well"


def test_each_pair_of_days_adds_its_own() -> None:
    wanted = fitted([[(A[0], A[1]), (B[0], B[1])], [(A[1], A[2]), (C[0], C[1])]])
    close(scatter_of([*A, *B, *C]), wanted)
    close(scatter_of([*C, A[0], B[0], A[1], B[1], A[2]]), wanted)


def test_readings_of_their_own_scatter_more_than_one_that_two_stretches_share() -> None:
    """Each stretch with both its readings: four errors, not three."""
    apart = A[0], part("A", 2, 6, (0.2, 0.1, 0.3))
    close(scatter_of(apart), fitted([[apart]]))
    assert scatter_of(apart).gauge_mm != pytest.approx(scatter_of(A[:2]).gauge_mm, rel=1e-3)


def test_alike_days_say_the_surface_differs_less_than_believed() -> None:
    alike = [part("A", 1, 10, (0.5, 0.4, 0.6)), part("A", 2, 10, (0.5, 0.4, 0.6), True)]
    found = scatter_of(alike)
    assert found.gauge_mm == pytest.approx(0.12 * math.sqrt(4 / 6))
    assert found.surface == pytest.approx(0.33 * math.sqrt(4 / 5))


def test_what_can_not_be_compared_says_nothing() -> None:
    """One edge alone, an edge that lost nothing, the same days of two tyres, days of two events."""
    single = [part("A", 1, 10, (0.8, None, None)), part("A", 2, 6, (0.2, None, None), True)]
    unworn = [part("A", 1, 10, (0.0, 0.0, 0.0)), part("A", 2, 6, (0.0, 0.0, 0.0), True)]
    for parts in (single, unworn, [A[0], B[1]], [A[0]], []):
        assert scatter_of(parts) == USUAL_SCATTER
    other = [part("B", 1, 10, (0.8, None, None), event="f"), part("B", 2, 6, (0.1, None, None), True, "f")]
    assert scatter_of([*single, *other]) == USUAL_SCATTER, "the same days of another event are other days"
    same = [part("B", 1, 10, (0.8, None, None)), part("B", 2, 6, (0.1, None, None), True)]
    close(scatter_of([*single, *same]), fitted([[(single[0], single[1]), (same[0], same[1])]]))
