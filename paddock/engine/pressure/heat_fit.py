"""A first-order tyre: towards the air while waiting, towards a running level in a run.

With x the air inside over the air outside (K): a wait of t minutes gives x e^(-t/tau); a run of d minutes gives
x e^(-d/tau) + rise. So a first run from cold ends at ``rise``, and runs without end would end at the running level,
rise/(1 - e^(-d/tau)). First-order heat balance of a tyre: Mars and Luchini, Tire Science and Technology 27(3), 1999;
one set of figures does not fit all tyres (Luchini and Popio, same journal 35(2), 2007), so both are always fitted.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache

from paddock.engine.pressure.air import ZERO_C
from paddock.engine.pressure.corners import Reason, because
from paddock.engine.pressure.timeline import RUN_MIN
from paddock.engine.stats.fits import scatter
from paddock.engine.stats.quantiles import t_quantile
from paddock.model.units import PSI_PA

SPRAY_FACTOR = 2.0
SUN_K = 3.0
"""How much faster a sprayed tyre cools, and how much warmer one in the sun ends: common practice, no source.
Both give way to the car's own where the log has three such readings."""


@dataclass(frozen=True, slots=True)
class HeatFit:
    """One axle. ``tau_min`` minutes; ``rise_k`` per run from cold; 80 % ranges; ``tau_high`` None: no upper end.

    ``pairs``: how many changes between readings it rests on; ``noise_k``: their scatter. ``spray``: how much faster
    it cools sprayed; ``sun_k``: warmer on the sun side.
    """

    axle: str
    tau_min: float
    tau_low: float
    tau_high: float | None
    rise_k: float
    rise_low: float
    rise_high: float
    pairs: int
    noise_k: float
    spray: float = SPRAY_FACTOR
    sun_k: float = SUN_K


def cooled(
    fit: HeatFit, temp_c: float, air_c: float, wait_min: float, cooling: str = "none", sunny: bool = False
) -> float:
    """Temperature after a wait (negative: before it), C."""
    air_c = air_c + (fit.sun_k if sunny else 0.0)
    rate = fit.spray if cooling == "spray" else 1.0
    return air_c + (temp_c - air_c) * math.exp(-wait_min * rate / fit.tau_min)


def warmed(fit: HeatFit, temp_c: float, air_c: float, run_min: float = RUN_MIN) -> float:
    """Temperature at the end of a run that began at ``temp_c``, C."""
    return air_c + (temp_c - air_c) * math.exp(-run_min / fit.tau_min) + fit.rise_k


def _at(psi: float, from_c: float, to_c: float, ambient_pa: float) -> float:
    outside = ambient_pa / PSI_PA
    return (psi + outside) * (to_c + ZERO_C) / (from_c + ZERO_C) - outside


@dataclass(frozen=True, slots=True)
class Ahead:
    """What lies between now and the end of the next run; minutes, C, Pa."""

    air_c: float
    ambient_pa: float
    wait_min: float = 0.0
    run_min: float = RUN_MIN
    cooling: str = "none"
    sunny: bool = False

    def end_c(self, fit: HeatFit, temp_c: float) -> float:
        """Temperature at the end of the run for a tyre at ``temp_c`` now."""
        start = cooled(fit, temp_c, self.air_c, self.wait_min, self.cooling, self.sunny)
        return warmed(fit, start, self.air_c, self.run_min)


def curve(
    fit: HeatFit, psi: float, temp_c: float, ahead: Ahead, after_min: float = 20.0, points: int = 60
) -> tuple[tuple[float, float], ...]:
    """(minutes from now, psi) through the wait, the run and ``after_min`` of cooling, for a plot."""
    total = ahead.wait_min + ahead.run_min + after_min
    corners = {ahead.wait_min, ahead.wait_min + ahead.run_min, total}
    times = sorted({total * i / (points - 1) for i in range(points)} | corners)
    return tuple((t, _at(psi, temp_c, _curve_c(fit, temp_c, ahead, t), ahead.ambient_pa)) for t in times)


def _curve_c(fit: HeatFit, temp_c: float, ahead: Ahead, minute: float) -> float:
    if minute <= ahead.wait_min:
        return cooled(fit, temp_c, ahead.air_c, minute, ahead.cooling, ahead.sunny)
    start = cooled(fit, temp_c, ahead.air_c, ahead.wait_min, ahead.cooling, ahead.sunny)
    running = min(minute - ahead.wait_min, ahead.run_min)
    share = math.expm1(-running / fit.tau_min) / math.expm1(-ahead.run_min / fit.tau_min) if ahead.run_min else 1.0
    warm = ahead.air_c + (start - ahead.air_c) * math.exp(-running / fit.tau_min) + fit.rise_k * share
    return cooled(fit, warm, ahead.air_c, max(0.0, minute - ahead.wait_min - ahead.run_min))


# the fit: for a time constant the rise is linear and closed; the time constant is searched along its profile


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


def fit_axle(axle: str, points: Sequence[Point], ranges: bool = True) -> HeatFit | Reason:
    """Time constant and rise per run of one axle, or why there is none.

    ``ranges`` False: quicker, the ranges are left at the figures themselves.
    """
    count = sum(1 for point in points if point.ratio is not None)
    ran = any(point.since for point in points if point.ratio is not None)
    if count < FEWEST or not ran:
        return because("too-few-readings", count=count, fewest=FEWEST)
    best = _search(points)
    if best.rise <= 0.0:
        return because("no-warming")
    df = count - 2
    variance = scatter(best.squares, df, _rounding(points, count))
    limit = best.squares + _t80(df) ** 2 * variance + 1e-12
    if all(_profile(points, math.log(bound)).squares <= limit for bound in _TAU):
        return because("cooling-not-told")
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
