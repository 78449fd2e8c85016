"""The Huber two-way fit against statsmodels' RLM (test-only reference) and by its own laws."""

from __future__ import annotations

import random

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st

from paddock.engine.stats.twoway import Fit, huber_fit

Cells = list[list[float | None]]


def _made(seed: int, rows: int, columns: int, holes: float, odd: float) -> Cells:
    rng = random.Random(seed)
    levels = [rng.gauss(10.7, 0.03) for _ in range(rows)]
    effects = [rng.gauss(0.0, 0.01) for _ in range(columns)]

    def cell(i: int, j: int) -> float | None:
        if j > 0 and i > 0 and rng.random() < holes:
            return None
        return levels[i] + effects[j] + rng.gauss(0, 0.006) + (rng.expovariate(25) if rng.random() < odd else 0)

    return [[cell(i, j) for j in range(columns)] for i in range(rows)]


def _reference(cells: Cells) -> tuple[np.ndarray, np.ndarray, float]:
    rows, columns = len(cells), len(cells[0])
    y, x = [], []
    for i in range(rows):
        for j in range(columns):
            value = cells[i][j]
            if value is None:
                continue
            line = [0.0] * (rows + columns - 1)
            line[i] = 1.0
            if j:
                line[rows + j - 1] = 1.0
            x.append(line)
            y.append(value)
    model = sm.RLM(np.array(y), np.array(x), M=sm.robust.norms.HuberT(t=1.345))
    done = model.fit(maxiter=500, tol=1e-11)
    effects = np.concatenate([[0.0], done.params[rows:]])
    return done.params[:rows] + effects.mean(), effects - effects.mean(), float(done.scale)


@pytest.mark.parametrize(("seed", "holes"), [(1, 0.0), (2, 0.0), (3, 0.2), (4, 0.35), (5, 0.1)])
def test_same_as_statsmodels(seed: int, holes: float) -> None:
    cells = _made(seed, 9, 6, holes, 0.12)
    levels, effects, scale = _reference(cells)
    fit = huber_fit(cells, 1e-11)
    assert fit.effects == pytest.approx(effects, abs=2e-7)
    assert fit.levels == pytest.approx(levels, abs=2e-7)
    assert fit.scale == pytest.approx(scale, rel=1e-4)


def test_one_huge_mistake_moves_little() -> None:
    cells = _made(7, 10, 5, 0.0, 0.0)
    before = huber_fit(cells)
    cells[3][2] = (cells[3][2] or 0.0) + 0.5
    after = huber_fit(cells)
    plain_move = 0.5 * (1 / 10) * (1 - 1 / 5)
    assert max(abs(a - b) for a, b in zip(before.effects, after.effects, strict=True)) < plain_move / 8


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000), st.integers(0, 4), st.floats(-0.2, 0.2))
def test_shifting_a_run_shifts_only_its_effect(seed: int, column: int, by: float) -> None:
    cells = _made(seed, 7, 5, 0.15, 0.1)
    moved = [
        [value + by if j == column and value is not None else value for j, value in enumerate(row)] for row in cells
    ]
    first, second = huber_fit(cells, 1e-11), huber_fit(moved, 1e-11)
    for j in range(5):
        wanted = first.effects[j] + (by if j == column else 0.0) - by / 5
        assert second.effects[j] == pytest.approx(wanted, abs=1e-6)


def test_an_exact_table_is_fitted_exactly() -> None:
    """Levels 1, 2, 4 and effects -1, 0, 1: nothing is left over."""
    fit = huber_fit([[0.0, 1.0, 2.0], [1.0, None, 3.0], [3.0, 4.0, 5.0]])
    assert fit.levels == pytest.approx((1.0, 2.0, 4.0))
    assert fit.effects == pytest.approx((-1.0, 0.0, 1.0))
    assert fit.scale == pytest.approx(0.0, abs=1e-12)


def test_a_row_without_runs_is_passed_over() -> None:
    fit = huber_fit([[None, None], [1.0, 2.0]])
    assert fit.levels == (0.0, 1.5)


def test_columns_nothing_ties_together_do_not_fail() -> None:
    fit = huber_fit([[1.0, 2.0, None, None], [None, None, 5.0, 6.0]])
    assert fit.effects[1] - fit.effects[0] == pytest.approx(1.0)
    assert fit.effects[3] - fit.effects[2] == pytest.approx(1.0)


def test_nothing_to_fit_is_refused() -> None:
    with pytest.raises(ValueError, match="no run"):
        huber_fit([[None, None]])


@pytest.mark.parametrize("seed", range(6))
def test_a_level_alone_balances_its_clipped_residuals(seed: int) -> None:
    cells = _made(seed, 9, 6, 0.2, 0.12)
    fit = huber_fit(cells, 1e-11)
    for row in cells:
        level = fit.level_of(row)
        left = [value - effect - level for value, effect in zip(row, fit.effects, strict=True) if value is not None]
        assert sum(min(fit.clip, max(-fit.clip, value)) for value in left) == pytest.approx(0.0, abs=1e-9)


def test_a_level_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="no run"):
        Fit((0.0,), (0.0, 0.0), 1.0, 1.345, 1).level_of([None, None])
