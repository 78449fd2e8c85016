"""Student's t and the normal distribution, in plain Python.

The incomplete beta function by its continued fraction (Lentz' method; the fraction is 26.5.8 in
Abramowitz and Stegun, Handbook of Mathematical Functions). Good to about 1e-12; held against scipy in the tests.
"""

from __future__ import annotations

import math
from functools import lru_cache
from statistics import NormalDist

_TINY = 1e-300
_NORMAL = NormalDist()


def normal_cdf(z: float) -> float:
    """Share of a standard normal under ``z``."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def normal_quantile(p: float) -> float:
    """The z under which a share ``p`` lies, 0 < p < 1; ValueError outside."""
    if not 0.0 < p < 1.0:
        raise ValueError("a share between 0 and 1 is wanted")
    return _NORMAL.inv_cdf(p)


def _fraction(a: float, b: float, x: float) -> float:
    c, d = 1.0, 1.0 / (1.0 - (a + b) * x / (a + 1.0) or _TINY)
    total = d
    for m in range(1, 500):
        for term in (
            m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
        ):
            d = 1.0 / (1.0 + term * d or _TINY)
            c = 1.0 + term / c or _TINY
            total *= c * d
        if abs(c * d - 1.0) < 1e-15:
            break
    return total


def beta_part(a: float, b: float, x: float) -> float:
    """The regularised incomplete beta function I_x(a, b), a and b positive, x in 0..1."""
    if x <= 0.0 or x >= 1.0:
        return 0.0 if x <= 0.0 else 1.0
    log_front = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)
    front = math.exp(log_front)
    if x < (a + 1.0) / (a + b + 2.0):
        return front * _fraction(a, b, x) / a
    return 1.0 - front * _fraction(b, a, 1.0 - x) / b


def t_cdf(t: float, df: float) -> float:
    """Share of Student's t with ``df`` (> 0) degrees of freedom under ``t``."""
    if df <= 0.0:
        raise ValueError("degrees of freedom above 0 are wanted")
    if math.isinf(t):
        return 0.0 if t < 0 else 1.0
    square = t * t
    if square < df:
        return 0.5 + math.copysign(0.5 * beta_part(0.5, df / 2.0, square / (df + square)), t)
    tail = 0.5 * beta_part(df / 2.0, 0.5, df / (df + square))
    return tail if t < 0 else 1.0 - tail


def t_density(t: float, df: float) -> float:
    """Density of Student's t at ``t``."""
    front = math.lgamma((df + 1) / 2) - math.lgamma(df / 2) - 0.5 * math.log(df * math.pi)
    return math.exp(front - (df + 1) / 2 * math.log1p(t * t / df))


@lru_cache(maxsize=1024)
def t_quantile(p: float, df: float) -> float:
    """The t under which a share ``p`` lies, 0 < p < 1; ValueError outside."""
    if not 0.0 < p < 1.0:
        raise ValueError("a share between 0 and 1 is wanted")
    if p > 0.5:
        return -t_quantile(1.0 - p, df)
    low, high = -1.0, 0.0
    while t_cdf(low, df) > p:
        low, high = low * 2.0, low
    t = (low + high) / 2.0
    for _ in range(200):
        miss = t_cdf(t, df) - p
        low, high = (t, high) if miss < 0.0 else (low, t)
        step = t - miss / t_density(t, df)
        step = step if low < step < high else (low + high) / 2.0
        if abs(step - t) <= 1e-14 * abs(step) or not low < step < high:
            break
        t = step
    return t


@lru_cache(maxsize=256)
def expected_least(n: int) -> float:
    """How far below its mean the least of ``n`` draws of a standard normal lies on average; 0 for one draw.

    n times the integral of x phi(x) Phi(x)^(n-1) by the trapezoid rule, which is all but exact for what dies away at
    both ends; tables: Harter, Biometrika 48 (1961).
    """
    if n < 1:
        raise ValueError("at least one draw is wanted")
    width, reach = 0.0225, 400
    places = (at * width for at in range(-reach, reach + 1))
    return n * width * sum(x * _NORMAL.pdf(x) * normal_cdf(x) ** (n - 1) for x in places) if n > 1 else 0.0
