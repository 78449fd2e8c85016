"""The fit: for a time constant the rise is linear and closed; the time constant is searched along its profile.

Each pair of readings gives x1 = a x0 + s rise with a = e^(-minutes/tau) and s the sum of e^(-u/tau) over the runs
between, u minutes from a run's end to the second reading. Both readings carry the same noise, so a pair weighs
1/(1 + a^2), which is least squares in both (total least squares); a cold first reading has none, x0 being 0 by what
cold means. Ranges: 80 %, from the profile (F with 1 and n - 2 degrees of freedom).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

from paddock.engine.heat.model import HeatFit
from paddock.engine.spread import t_quantile

__all__ = ["FEWEST", "Pair", "fit_axle", "fit_spray"]

FEWEST = 4
"""Fewer pairs than this are no fit."""

_TAU = (2.0, 240.0)
_GRID = 14
_MANY = 120


@dataclass(frozen=True, slots=True)
class Pair:
    """Two readings of an axle in a row. ``x0``, ``x1``: K over the air; ``minutes`` between them.

    ``since``: minutes from the end of each run between them to the second reading. ``exact``: x0 is 0 by what cold
    means. ``cooling``: none, shade or spray.
    """

    x0: float
    x1: float
    minutes: float
    since: tuple[float, ...] = ()
    exact: bool = False
    cooling: str = "none"


@dataclass(frozen=True, slots=True)
class _Point:
    """The profile at one time constant."""

    log_tau: float
    squares: float
    rise: float
    weight: float


def _profile(pairs: Sequence[Pair], log_tau: float) -> _Point:
    """Best rise and the weighted squares left, in one pass."""
    exp, rate = math.exp, -math.exp(-log_tau)
    ss = sy = yy = 0.0
    for pair in pairs:
        a = exp(pair.minutes * rate)
        s = 0.0
        for u in pair.since:
            s += exp(u * rate)
        y = pair.x1 - a * pair.x0
        w = 1.0 if pair.exact else 1.0 / (1.0 + a * a)
        ss += w * s * s
        sy += w * s * y
        yy += w * y * y
    rise = sy / ss if ss > 0.0 else 0.0
    return _Point(log_tau, max(0.0, yy - rise * sy), rise, ss)


def _lowest(at: Callable[[float], _Point], low: float, middle: float, high: float) -> _Point:
    """Parabolic steps inside a bracket, golden ones where the parabola fails."""
    best, left, right = at(middle), low, high
    f_left, f_right = at(left).squares, at(right).squares
    for _ in range(24):
        x = _vertex(left, f_left, best.log_tau, best.squares, right, f_right)
        if abs(x - best.log_tau) < 1e-4 or right - left < 1e-4:
            break
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


def _search(pairs: Sequence[Pair], near: float | None) -> _Point:
    """The lowest point of the profile; a thinned set finds the bracket where there are many pairs."""
    low, high = (math.log(value) for value in _TAU)
    if near is not None:
        around = [max(low, near - 0.35), near, min(high, near + 0.35)]
        left, middle, right = (_profile(pairs, x).squares for x in around)
        if around[0] < near < around[2] and middle <= min(left, right):
            return _lowest(lambda x: _profile(pairs, x), around[0], near, around[2])
    step = (high - low) / (_GRID - 1)
    thin = pairs[:: len(pairs) // _MANY + 1]
    grid = [_profile(thin, low + step * i) for i in range(_GRID)]
    place = min(range(_GRID), key=lambda i: grid[i].squares)
    if place in (0, _GRID - 1):
        return _profile(pairs, grid[place].log_tau)
    return _lowest(lambda x: _profile(pairs, x), *(low + step * (place + i) for i in (-1, 0, 1)))


def _edge(pairs: Sequence[Pair], best: _Point, bound: float, limit: float) -> float | None:
    """Where the profile crosses ``limit`` between the best and ``bound``; None: it does not."""
    if _profile(pairs, bound).squares <= limit:
        return None
    inside, outside = best.log_tau, bound
    for _ in range(30 if len(pairs) <= _MANY else 9):
        middle = (inside + outside) / 2
        inside, outside = (middle, outside) if _profile(pairs, middle).squares <= limit else (inside, middle)
    return outside


@cache
def _t80(df: int) -> float:
    """Half an 80 % range in standard errors."""
    return t_quantile(0.9, df)


def fit_axle(axle: str, pairs: Sequence[Pair], near: HeatFit | None = None, ranges: bool = True) -> HeatFit | str:
    """Time constant and rise per run of one axle, or why there is none.

    ``near``: an earlier fit to start from; ``ranges`` False: the ranges are left at the figures themselves.
    """
    dry = [pair for pair in pairs if pair.cooling != "spray"]
    run = sum(1 for pair in dry if pair.since)
    if len(dry) < FEWEST or not run:
        return f"too few readings ({len(dry)} of {FEWEST} changes in a row with times and temperatures)"
    best = _search(dry, None if near is None else math.log(near.tau_min))
    if best.rise <= 0.0:
        return "the readings show no warming in a run"
    df = len(dry) - 2
    t, variance = _t80(df), best.squares / df
    limit = best.squares + t * t * variance + 1e-12
    if all(_profile(dry, math.log(bound)).squares <= limit for bound in _TAU):
        return "the readings can't tell how fast the tyre cools: read again after a wait"
    edges = [_edge(dry, best, math.log(bound), limit) for bound in _TAU] if ranges else [best.log_tau] * 2
    return _made(axle, dry, best, edges, t * math.sqrt(variance / best.weight), math.sqrt(variance))


def _made(
    axle: str, pairs: Sequence[Pair], best: _Point, edges: Sequence[float | None], half: float, noise: float
) -> HeatFit:
    ends = [edge if edge is not None else math.log(bound) for edge, bound in zip(edges, _TAU, strict=True)]
    rises = [best.rise, *(_profile(pairs, end).rise for end in ends)]
    return HeatFit(
        axle=axle,
        tau_min=math.exp(best.log_tau),
        tau_low=math.exp(ends[0]),
        tau_high=None if edges[1] is None else math.exp(edges[1]),
        rise_k=best.rise,
        rise_low=min(rises) - half,
        rise_high=max(rises) + half,
        pairs=len(pairs),
        noise_k=noise,
    )


def fit_spray(fit: HeatFit, pairs: Sequence[Pair]) -> float | None:
    """How much faster the axle cools sprayed, from three sprayed waits or more; None: too few."""
    waits = [
        pair for pair in pairs if pair.cooling == "spray" and not pair.since and pair.x0 > 3.0 and pair.minutes > 0
    ]
    if len(waits) < 3:
        return None

    def squares(factor: float) -> float:
        return sum((pair.x1 - pair.x0 * math.exp(-pair.minutes * factor / fit.tau_min)) ** 2 for pair in waits)

    return min((0.5 + 0.05 * i for i in range(191)), key=squares)
