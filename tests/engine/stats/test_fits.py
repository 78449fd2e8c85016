"""Least squares, the rounding floor and pooling against certified and published figures."""

from __future__ import annotations

import math

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import example, given
from hypothesis import strategies as st

from paddock.engine.pressure.signs import Levels, Sample, fitted, learn
from paddock.engine.stats.fits import (
    Slope,
    dot,
    gram,
    interval,
    inverse,
    least_squares,
    rounding_variance,
    scatter,
    shrunk,
    step_of,
    within,
)


def test_norris() -> None:
    """NIST StRD, Norris (36 observations): certified slope, its standard error and the residual's."""
    x = [0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0, 447.5,
         11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1,
         448.9, 0.5]  # fmt: skip
    y = [0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9,
         10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4,
         449.2, 0.2]  # fmt: skip
    one = [0] * len(x)
    found = least_squares([within(one, x)], within(one, y), 34)
    assert found is not None
    assert found[0].value == pytest.approx(1.00211681802045, rel=1e-12)
    assert found[0].error == pytest.approx(0.429796848199937e-03, rel=1e-9)


def test_longley() -> None:
    """NIST StRD, Longley (16 observations, 6 predictors that nearly say the same); data as shipped with statsmodels."""
    data = sm.datasets.longley.load_pandas()
    one = [0] * 16
    columns = [within(one, [float(value) for value in data.exog[name]]) for name in data.exog]
    found = least_squares(columns, within(one, [float(value) for value in data.endog]), 9)
    assert found is not None
    certified = [15.0618722713733, -0.0358191792925910, -2.02022980381683, -1.03322686717359, -0.0511041056535807,
                 1829.15146461355]  # fmt: skip
    assert [slope.value for slope in found] == pytest.approx(certified, rel=1e-6)
    assert found[5].error == pytest.approx(455.478499142212, rel=1e-6)


def test_rounded_figures_that_agree_by_luck_keep_a_range() -> None:
    """Six runs, rear 44 and 46 in turn, balance 0 and 1 in turn: half a step a psi, by both readers, with its error."""
    psi, noted = (44.0, 46.0) * 3, (0.0, 1.0) * 3
    response = fitted(Levels((1,) * 6, noted, {"rear_psi": psi}))[0]
    assert (response.per_unit, response.se) == (pytest.approx(0.5), pytest.approx(math.sqrt(1 / 12 / 6)))
    samples = [Sample(1, i, b, 34.0, p) for i, (b, p) in enumerate(zip(noted, psi, strict=True))]
    rear = learn(samples, 6, 2.0)["rear"]
    assert rear.slope == pytest.approx(0.5)
    assert rear.high - rear.low > 0.5


@given(st.lists(st.tuples(st.sampled_from([42.0, 44.0, 46.0]), st.integers(-3, 3)), min_size=6, max_size=14))
def test_no_learned_range_is_ever_without_width(runs: list[tuple[float, int]]) -> None:
    """At least what rounding to whole steps leaves of a slope: 2 t sqrt(1/12 / Sxx)."""
    samples = [Sample(1, place, float(balance), 34.0, psi) for place, (psi, balance) in enumerate(runs)]
    spread = sum(value**2 for value in within([0] * len(runs), [psi for psi, _ in runs]))
    for axle in learn(samples, 6, 2.0).values():
        assert axle.high - axle.low > 2 * 1.64 * math.sqrt(1 / 12 / spread)


def test_what_a_column_leaves_is_judged_in_its_own_unit() -> None:
    """[[2, 1], [1, 3]] by hand; a column a million times smaller than its neighbour still counts."""
    assert inverse([[2, 1], [1, 3]]) == [pytest.approx([0.6, -0.2]), pytest.approx([-0.2, 0.4])]
    assert inverse([[1, 2], [2, 4]]) is None
    assert inverse([[1, 2], [2, 4]], spare=True) == [pytest.approx([1, 0]), [0.0, 0.0]]
    assert inverse([[1e6, 0], [0, 1e-6]]) == [pytest.approx([1e-6, 0]), pytest.approx([0, 1e6])]
    found = least_squares([[-1e-6, 0.0, 1e-6, 0.0], [0.0, -1e6, 0.0, 1e6]], [-2.0, 3.0, 2.0, -3.0], 2)
    assert found is not None
    assert [slope.value for slope in found] == pytest.approx([2e6, -3e-6])
    assert least_squares([[-1.0, 1.0]], [-1.0, 1.0], 0) is None


@example([[0.0, 0.0, 0.0, 0.0, 0.0, 7.83e-160]])
@given(st.lists(st.lists(st.floats(-9, 9), min_size=6, max_size=6), min_size=1, max_size=4))
def test_inverse_is_numpys(columns: list[list[float]]) -> None:
    matrix = gram(columns)
    found = inverse(matrix)
    if found is not None and np.linalg.cond(np.array(matrix)) < 1e8:
        assert np.array(found) @ np.array(matrix) == pytest.approx(np.eye(len(columns)), abs=1e-5)


def test_steps_and_their_variance() -> None:
    assert step_of([30.0, 31.5, 44.0]) == 0.5
    assert step_of([30.1, 31.5]) == 0.1
    assert step_of([30.123456, 1.0]) == 0.0
    assert step_of([]) == 0.0
    rng = np.random.default_rng(5)
    true = rng.uniform(0, 50, 40_000)
    assert rounding_variance(0.5) == pytest.approx(float(np.var(np.round(true * 2) / 2 - true)), rel=0.02)


def test_values_drawn_to_their_mean_are_the_posterior_of_a_normal_with_a_flat_mean() -> None:
    """Whole precision: the values' own about a mean of which nothing is believed, and each error's."""
    values, tau = [(1.0, 0.3), (2.0, 0.8), (-0.5, 0.5)], 0.6
    y, errors = np.array([y for y, _ in values]), np.array([s for _, s in values])
    cov = np.linalg.inv((np.eye(3) - 1 / 3) / tau**2 + np.diag(errors**-2))
    found = shrunk(values, tau)
    assert [value for value, _, _ in found] == pytest.approx(list(cov @ (y / errors**2)))
    assert [sd for _, sd, _ in found] == pytest.approx(list(np.sqrt(np.diag(cov))))
    assert [own for *_, own in found] == pytest.approx([0.36 / (0.36 + s * s) for s in errors])
    assert shrunk([(2.0, 0.5)], 0.6) == [pytest.approx((2.0, 0.5, 0.36 / 0.61))]


def test_ranges_by_printed_t_values() -> None:
    """t(.9, 5) = 1.476, t(.975, 5) = 2.571 (printed tables)."""
    assert interval(1.0, 2.0, 5) == pytest.approx((1 - 2 * 1.476, 1 + 2 * 1.476), abs=1e-3)
    assert interval(1.0, 2.0, 5, 0.95) == pytest.approx((1 - 2 * 2.571, 1 + 2 * 2.571), abs=1e-3)
    slope = Slope(1.5, 1.0, 5)
    assert slope.interval(0.8) == interval(1.5, 1.0, 5)
    assert (slope.clear(0.8), slope.clear(0.95), Slope(-1.5, 1.0, 5).clear(0.8), Slope(0.0, 0.0, 5).clear(0.8)) == (
        True, False, True, False,
    )  # fmt: skip
    assert (scatter(6.0, 3.0), scatter(6.0, 3.0, 2.5), rounding_variance(0.6)) == (2.0, 2.5, pytest.approx(0.03))


def test_two_slopes_by_numpy_with_and_without_a_floor() -> None:
    random = np.random.default_rng(1)
    x = random.normal(size=(8, 2))
    x -= x.mean(0)
    y = x @ [1.0, -2.0] + random.normal(0.0, 0.1, 8)
    y -= y.mean()
    theirs, left, *_ = np.linalg.lstsq(x, y)
    inverted = np.linalg.inv(x.T @ x)
    columns = [list(map(float, column)) for column in x.T]
    for floor in (0.0, 1.0):
        found = least_squares(columns, [float(value) for value in y], 5, floor)
        assert found is not None
        assert [slope.value for slope in found] == pytest.approx(list(theirs))
        variance = max(float(left[0]) / 5, floor)
        assert [slope.error for slope in found] == pytest.approx(list(np.sqrt(variance * np.diag(inverted))))
        assert [slope.freedom for slope in found] == [5, 5]
    assert least_squares(columns, [float(value) for value in y], 1) is not None
    assert least_squares(columns, [float(value) for value in y], 0) is None
    assert least_squares([columns[0], columns[0]], [float(value) for value in y], 5) is None
    with pytest.raises(ValueError, match="zip"):
        dot([1.0], [1.0, 2.0])
    assert within(["a", "b", "a"], [1.0, 5.0, 2.0]) == [-0.5, 0.0, 0.5]


def test_a_column_that_says_nothing_of_its_own_is_spared_as_zeros() -> None:
    columns = [[1.0, -1.0, 0.0], [2.0, -2.0, 0.0], [1.0, 1.0, -2.0]]
    found = inverse(gram(columns), spare=True)
    assert found is not None
    assert found[1] == [0.0] * 3
    assert found[0] == pytest.approx([0.5, 0.0, 0.0])
    assert found[2] == pytest.approx([0.0, 0.0, 1 / 6])
    assert inverse(gram(columns)) is None
    assert inverse([[0.0]]) is None
    assert inverse([[1e-280]]) is not None
