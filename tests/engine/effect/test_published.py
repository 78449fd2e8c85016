"""Worked examples from print. The source stands beside each."""

from __future__ import annotations

import math
from statistics import fmean, stdev, variance

import pytest
import statsmodels.api as sm

from paddock.engine.effect.difference import compare, single_case_error
from paddock.engine.effect.learning import combine_df
from paddock.engine.effect.pool import Estimate, given_between, pool
from paddock.engine.effect.states import Block, Contrast
from paddock.engine.stats.fits import interval
from paddock.engine.stats.quantiles import t_cdf
from paddock.engine.stats.twoway import huber_fit

ONE_EACH = Contrast("day", (Block(((1, 1),), ((1, 2),)),))


def _times(before: float, after: float) -> dict[tuple[int, int], float]:
    return {(1, 1): math.exp(before), (1, 2): math.exp(after)}


def test_one_case_against_a_small_group() -> None:
    """Case 10 against eight: sd 2.973, t 3.052 with 7 df, p .0185 (both tails; half of it lies beyond t).

    Worked example in the documentation of the R package psycho (crawford.test.freq); form of Crawford and Howell 1998.
    """
    controls = [0.0, -2.0, 5.0, 2.0, 1.0, 3.0, -4.0, -2.0]
    spread = single_case_error(controls)
    assert spread is not None
    assert spread.scatter == pytest.approx(2.973, abs=5e-4)
    assert spread.df == 7
    t = (10.0 - fmean(controls)) / spread.error
    assert t == pytest.approx(3.052, abs=1e-3)
    assert 2.0 * (1.0 - t_cdf(t, spread.df)) == pytest.approx(0.0185, abs=1e-4)


def test_difference_in_differences() -> None:
    """20.44 to 21.03 against 23.33 to 21.17: 2.75 from the rounded means.

    D. Card and A. B. Krueger, American Economic Review 84, 1994 (the after-means from memory).
    """
    seen = compare(_times(20.44, 21.03), {"control": _times(23.33, 21.17)}, ONE_EACH)  # type: ignore[arg-type, dict-item]
    assert seen.extra == pytest.approx(2.75, abs=1e-9)
    assert seen.spread is None


def test_paired_shoes() -> None:
    """Mean .41, sd .387, t 3.35, 95 % .133 to .687. G. Box, W. Hunter and S. Hunter, Statistics for Experimenters."""
    a = [13.2, 8.2, 10.9, 14.3, 10.7, 6.6, 9.5, 10.8, 8.8, 13.3]
    b = [14.0, 8.8, 11.2, 14.2, 11.8, 6.4, 9.8, 11.3, 9.3, 13.6]
    gains = [y - x for x, y in zip(a, b, strict=True)]
    mean, error = fmean(gains), stdev(gains) / math.sqrt(10)
    assert (mean, stdev(gains), mean / error) == pytest.approx((0.41, 0.387, 3.35), abs=2e-3)
    assert interval(mean, error, 9, 0.95) == pytest.approx((0.133, 0.687), abs=5e-4)


SLEEP = (
    [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0],
    [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4],
)


def test_paired_sleep() -> None:
    """t -4.062127683, p .0028328902, 95 % -2.45988576 to -.70011424. Student, Biometrika 6, 1908."""
    gains = [x - y for x, y in zip(*SLEEP, strict=True)]
    mean, error = fmean(gains), stdev(gains) / math.sqrt(10)
    assert mean / error == pytest.approx(-4.062127683)
    assert 2 * t_cdf(mean / error, 9) == pytest.approx(0.0028328902, rel=1e-7)
    assert interval(mean, error, 9, 0.95) == pytest.approx((-2.45988576, -0.70011424))


def test_freedom_of_two_unequal_groups() -> None:
    """The same twenty unpaired: 17.776473516; the Nile before and after 1898: 45.9906 (data in statsmodels)."""
    parts = [(variance(group) / 10, 9.0) for group in SLEEP]
    assert combine_df(parts) == pytest.approx(17.776473516)
    flow = [float(value) for value in sm.datasets.nile.load_pandas().data["volume"]]
    assert combine_df([(variance(flow[:28]) / 28, 27.0), (variance(flow[28:]) / 72, 71.0)]) == pytest.approx(
        45.9906, abs=1e-4
    )


SCHOOLS = [Estimate(float(y), float(s)) for y, s in zip(
    (28, 8, -3, 7, -1, 1, 18, 12), (15, 10, 16, 11, 9, 11, 10, 18), strict=True
)]  # fmt: skip


def test_eight_schools_pooled() -> None:
    """7.7 with se 4.1 when the schools are all alike. D. B. Rubin, Journal of Educational Statistics 6, 1981."""
    mean, sd = given_between(SCHOOLS, 0.0, math.inf)
    assert (round(mean, 1), round(sd, 1)) == (7.7, 4.1)


def test_eight_schools_partly_pooled() -> None:
    """Posterior middles 10, 8, 6, 7, 5, 6, 10, 8. A. Gelman and others, Bayesian Data Analysis, table of ch. 5,
    from memory; theirs has a flat prior on the spread, so a broad one here and a loose tolerance."""
    found = pool(SCHOOLS, 1000.0, between_scale=10.0)
    assert found.each == pytest.approx((10, 8, 6, 7, 5, 6, 10, 8), abs=1.5)
    assert 4.1 < found.sd < 5.5


def test_fit_agrees_with_median_polish() -> None:
    """Rows 6, -1, 0, 2, -8 and columns 0, -1, 0 around 8: R's documentation of medpolish, recomputed.

    Huber's fit is another robust answer: same order of rows and no row further off than 2.
    """
    table = [[14.0, 15.0, 14.0], [7.0, 4.0, 7.0], [8.0, 2.0, 10.0], [15.0, 9.0, 10.0], [0.0, 2.0, 0.0]]
    fit = huber_fit(table, 1e-9)
    polished = (6.0, -1.0, 0.0, 2.0, -8.0)
    rows = [level - sorted(fit.levels)[2] for level in fit.levels]
    assert rows == pytest.approx(polished, abs=2.0)
