"""Student's t and the normal against scipy (test-only reference)."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import special, stats

from paddock.engine.stats.quantiles import (
    beta_part,
    expected_least,
    normal_cdf,
    normal_quantile,
    t_cdf,
    t_density,
    t_quantile,
)

DF = st.floats(0.5, 400.0)


@given(st.floats(-60.0, 60.0), DF)
def test_t_share_is_scipys(t: float, df: float) -> None:
    assert t_cdf(t, df) == pytest.approx(float(stats.t.cdf(t, df)), rel=1e-9, abs=1e-13)


@settings(max_examples=50)
@given(st.floats(0.001, 0.999), DF)
def test_t_quantile_is_scipys(p: float, df: float) -> None:
    assert t_quantile(p, df) == pytest.approx(float(stats.t.ppf(p, df)), rel=1e-8, abs=1e-10)


@settings(max_examples=50)
@given(st.floats(-30.0, 30.0), DF)
def test_t_density_is_scipys(t: float, df: float) -> None:
    assert t_density(t, df) == pytest.approx(float(stats.t.pdf(t, df)), rel=1e-9)


@settings(max_examples=50)
@given(st.floats(0.1, 50.0), st.floats(0.1, 50.0), st.floats(0.0, 1.0))
def test_beta_is_scipys(a: float, b: float, x: float) -> None:
    assert beta_part(a, b, x) == pytest.approx(float(special.betainc(a, b, x)), rel=1e-9, abs=1e-13)


@settings(max_examples=50)
@given(st.floats(-30.0, 8.0))
def test_normal_share_is_scipys(z: float) -> None:
    assert normal_cdf(z) == pytest.approx(float(stats.norm.cdf(z)), rel=1e-10, abs=1e-300)


@pytest.mark.parametrize(
    ("df", "expected"),
    [
        (1, 12.7062), (2, 4.3027), (3, 3.1824), (4, 2.7764), (5, 2.5706),
        (6, 2.4469), (8, 2.3060), (10, 2.2281), (20, 2.0860), (30, 2.0423),
    ],
)  # fmt: skip
def test_printed_t_table(df: int, expected: float) -> None:
    """The 0.975 column of the t table every statistics text prints (recomputed with scipy 1.17.1)."""
    assert t_quantile(0.975, df) == pytest.approx(expected, abs=5e-5)


def test_normal_quantile_undoes_the_share() -> None:
    assert normal_quantile(normal_cdf(1.2345)) == pytest.approx(1.2345)


@pytest.mark.parametrize("p", [0.0, 1.0, -0.1, math.nan])
def test_a_share_outside_is_refused(p: float) -> None:
    with pytest.raises(ValueError, match="share"):
        t_quantile(p, 5)
    with pytest.raises(ValueError, match="share"):
        normal_quantile(p)


def test_no_freedom_is_refused() -> None:
    with pytest.raises(ValueError, match="freedom"):
        t_cdf(1.0, 0.0)


def test_the_ends_of_t() -> None:
    assert (t_cdf(math.inf, 5), t_cdf(-math.inf, 5), t_cdf(0.0, 5)) == (1.0, 0.0, 0.5)
    assert (beta_part(2.0, 3.0, 0.0), beta_part(2.0, 3.0, 1.0)) == (0.0, 1.0)
    for df in (0.0, -1.0):
        with pytest.raises(ValueError, match="above 0"):
            t_cdf(1.0, df)


def test_the_least_of_none_is_refused() -> None:
    """Two draws: 1 / sqrt(pi) below the mean, exactly."""
    assert expected_least(1) == 0.0
    assert expected_least(2) == pytest.approx(1 / math.sqrt(math.pi), rel=1e-6)
    with pytest.raises(ValueError, match="at least one draw"):
        expected_least(0)


@pytest.mark.parametrize("n", [3, 5, 12, 60])
def test_the_least_of_several_by_quadrature(n: int) -> None:
    from scipy import integrate

    found, _ = integrate.quad(lambda x: -x * n * stats.norm.pdf(x) * stats.norm.sf(x) ** (n - 1), -9.0, 9.0)
    assert expected_least(n) == pytest.approx(found, rel=1e-7)
