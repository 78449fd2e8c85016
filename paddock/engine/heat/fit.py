"""The fit: for a time constant the rise is linear and closed; the time constant is searched along its profile.

From a cold start a tyre is at air + rise * s, where s is the sum of e^(-u/tau) over the day's runs so far, u minutes
from a run's end. Two readings in a row with the same air inside then give, for the ratio of absolute pressures r,
(air0 + rise s0) r = air1 + rise s1, which is linear in the rise: rise (s1 - r s0) = air0 r - air1, all in kelvin.
No mass and no earlier temperature is needed, so settings in between do no harm. All readings carry like noise and
weigh the same. Ranges: 80 %, from the profile (F with 1 and n - 2 degrees of freedom).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache

from paddock.engine.heat.model import HeatFit
from paddock.engine.stats.fits import scatter
from paddock.engine.stats.quantiles import t_quantile

FEWEST = 4
"""Fewer changes than this are no fit."""

_TAU = (2.0, 240.0)
_GRID = 14
_STEP = 1e-4
_MANY = 120


@dataclass(frozen=True, slots=True)
class Point:
    """A reading of an axle in the order of the day.

    ``minutes`` since the reading before it (``sprayed``: how many of them under spray); ``since``: minutes from the end
    of each run between them. ``ratio``: absolute pressure over the reading before's, None = not comparable (the air
    was changed, or one was not read); ``air0_k``, ``air1_k``: air then and now. ``cold``: at air temperature, the
    day's heat starts anew. ``rounding_k2``: variance that the rounding of what was read brings, K^2.
    """

    minutes: float = 0.0
    since: tuple[float, ...] = ()
    ratio: float | None = None
    air0_k: float = 0.0
    air1_k: float = 0.0
    cold: bool = False
    sprayed: float = 0.0
    rounding_k2: float = 0.0


@dataclass(frozen=True, slots=True)
class _Point:
    """The profile at one time constant."""

    log_tau: float
    squares: float
    rise: float
    weight: float


def _profile(points: Sequence[Point], log_tau: float) -> _Point:
    """Best rise and the squares left, in one pass."""
    exp, rate = math.exp, -math.exp(-log_tau)
    heat = zz = zy = yy = 0.0
    for point in points:
        before, heat = heat, 0.0
        if not point.cold:
            heat = before * exp(point.minutes * rate)
            for minutes in point.since:
                heat += exp(minutes * rate)
        ratio = point.ratio
        if ratio is not None:
            z, y = heat - ratio * before, point.air0_k * ratio - point.air1_k
            zz += z * z
            zy += z * y
            yy += y * y
    rise = zy / zz if zz > 0.0 else 0.0
    return _Point(log_tau, max(0.0, yy - rise * zy), rise, zz)


def _lowest(at: Callable[[float], _Point], low: float, middle: float, high: float) -> _Point:
    """Parabolic steps inside a bracket, golden ones where the parabola fails, until both sides are known higher."""
    best, left, right = at(middle), low, high
    f_left, f_right = at(left).squares, at(right).squares
    for _ in range(24):
        if right - left < 4 * _STEP:
            break
        x = _vertex(left, f_left, best.log_tau, best.squares, right, f_right)
        if abs(x - best.log_tau) < _STEP:
            x = best.log_tau + (_STEP if right - best.log_tau > best.log_tau - left else -_STEP)
        new = at(x)
        if new.squares < best.squares:
            if x < best.log_tau:
                right, f_right = best.log_tau, best.squares
            else:
                left, f_left = best.log_tau, best.squares
            best = new
        elif x < best.log_tau:
            left, f_left = x, new.squares
        else:
            right, f_right = x, new.squares
    return best


def _vertex(x1: float, y1: float, x2: float, y2: float, x3: float, y3: float) -> float:
    top = (x2 - x1) ** 2 * (y2 - y3) - (x2 - x3) ** 2 * (y2 - y1)
    bottom = (x2 - x1) * (y2 - y3) - (x2 - x3) * (y2 - y1)
    wide = x3 if x3 - x2 > x2 - x1 else x1
    golden = x2 + 0.381966 * (wide - x2)
    if bottom == 0.0:
        return golden
    x = x2 - 0.5 * top / bottom
    inside = x1 < x < x3 and abs(x - x2) < 0.5 * (x3 - x1)
    return x if inside else golden


def _thinned(points: Sequence[Point]) -> Sequence[Point]:
    """The first days of many: enough to find the bracket."""
    if len(points) <= 2 * _MANY:
        return points
    end = next((i for i in range(_MANY, len(points)) if points[i].cold), len(points))
    return points[:end]


def _search(points: Sequence[Point]) -> _Point:
    """The lowest point of the profile: a bracket on a grid, then parabolas."""
    low, high = (math.log(value) for value in _TAU)
    step = (high - low) / (_GRID - 1)
    thin = _thinned(points)
    grid = [_profile(thin, low + step * i) for i in range(_GRID)]
    place = min(range(_GRID), key=lambda i: grid[i].squares)
    if place in (0, _GRID - 1):
        return _profile(points, grid[place].log_tau)
    return _lowest(lambda x: _profile(points, x), *(low + step * (place + i) for i in (-1, 0, 1)))


def _edge(points: Sequence[Point], best: _Point, bound: float, limit: float) -> float | None:
    """Where the profile crosses ``limit`` between the best and ``bound``; None: it does not."""
    if _profile(points, bound).squares <= limit:
        return None
    inside, outside = best.log_tau, bound
    for _ in range(30 if len(points) <= _MANY else 9):
        middle = (inside + outside) / 2
        inside, outside = (middle, outside) if _profile(points, middle).squares <= limit else (inside, middle)
    return outside


@cache
def _t80(df: int) -> float:
    """Half an 80 % range in standard errors."""
    return t_quantile(0.9, df)


def fit_axle(axle: str, points: Sequence[Point], ranges: bool = True) -> HeatFit | str:
    """Time constant and rise per run of one axle, or why there is none.

    ``ranges`` False: quicker, the ranges are left at the figures themselves.
    """
    count = sum(1 for point in points if point.ratio is not None)
    ran = any(point.since for point in points if point.ratio is not None)
    if count < FEWEST or not ran:
        return f"too few readings ({count} of {FEWEST} changes in a row with times and air temperatures)"
    best = _search(points)
    if best.rise <= 0.0:
        return "the readings show no warming in a run"
    df = count - 2
    variance = scatter(best.squares, df, _rounding(points, count))
    limit = best.squares + _t80(df) ** 2 * variance + 1e-12
    if all(_profile(points, math.log(bound)).squares <= limit for bound in _TAU):
        return "the readings can't tell how fast the tyre cools: read again after a wait"
    edges = [_edge(points, best, math.log(bound), limit) for bound in _TAU] if ranges else [best.log_tau] * 2
    fit = _made(axle, points, best, edges, _t80(df) * math.sqrt(variance / best.weight))
    return replace(fit, pairs=count, noise_k=math.sqrt(variance))


def _rounding(points: Sequence[Point], count: int) -> float:
    """The least variance rounded readings can have, K^2."""
    return sum(point.rounding_k2 for point in points if point.ratio is not None) / count


def _made(axle: str, points: Sequence[Point], best: _Point, edges: Sequence[float | None], half: float) -> HeatFit:
    ends = [edge if edge is not None else math.log(bound) for edge, bound in zip(edges, _TAU, strict=True)]
    rises = [best.rise, *(_profile(points, end).rise for end in ends)]
    return HeatFit(
        axle=axle,
        tau_min=math.exp(best.log_tau),
        tau_low=math.exp(ends[0]),
        tau_high=None if edges[1] is None else math.exp(edges[1]),
        rise_k=best.rise,
        rise_low=min(rises) - half,
        rise_high=max(rises) + half,
        pairs=0,
        noise_k=0.0,
    )


def sprayed_by(points: Sequence[Point], factor: float) -> list[Point]:
    """The same day with its sprayed minutes counted ``factor`` times over: how a sprayed tyre's time runs."""
    return [replace(p, minutes=p.minutes + (factor - 1.0) * p.sprayed) if p.sprayed else p for p in points]


def fit_spray(fit: HeatFit, points: Sequence[Point]) -> float | None:
    """How much faster the axle cools sprayed, from three sprayed waits or more; None: too few."""
    if sum(1 for point in points if point.sprayed and point.ratio is not None) < 3:
        return None
    at = math.log(fit.tau_min)
    return min((0.5 + 0.1 * i for i in range(96)), key=lambda factor: _profile(sprayed_by(points, factor), at).squares)
