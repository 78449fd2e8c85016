"""What is left of an effect once its error and what changes usually do are both weighed.

Posterior of the effect: Student's t of the measured difference times a normal prior around nothing, integrated
numerically, so that the t's long tails go into the probability and the range.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass
from itertools import accumulate

from paddock.engine.spread import t_quantile

__all__ = ["PRIOR_SHARE", "Shrunk", "interval", "prior_sd", "shrink"]

PRIOR_SHARE = 0.2 / 45.0
"""Prior sd as a share of the run's time: 0.2 s in 45 s (common practice, no source)."""

_REACH = 8.0
_FINE = 400


@dataclass(frozen=True, slots=True)
class Shrunk:
    """``mean`` and 80 % range in the units of the input; ``p_faster`` = chance that the effect is below 0."""

    mean: float
    low: float
    high: float
    p_faster: float


def prior_sd(time: float) -> float:
    """Prior sd at a run of ``time``, in its unit."""
    return PRIOR_SHARE * time


def interval(effect: float, error: float, df: float, share: float = 0.8) -> tuple[float, float]:
    """The range that holds the true effect in a ``share`` of cases, before any prior."""
    reach = t_quantile(0.5 + share / 2.0, df) * error
    return effect - reach, effect + reach


def _grid(effect: float, error: float, sd: float) -> list[float]:
    """Points dense around the prior and around the measurement, inside the prior's reach; 0 is one of them."""
    edge = _REACH * sd
    points = {0.0}
    points.update(edge * index / _FINE for index in range(-_FINE, _FINE + 1))
    steps = [math.sinh(7.0 * index / _FINE) / math.sinh(7.0) for index in range(-_FINE, _FINE + 1)]
    width = min(60.0 * error, 2.0 * edge)
    points.update(point for step in steps if -edge <= (point := effect + width * step) <= edge)
    return sorted(points)


def _weights(points: list[float], effect: float, error: float, df: float, sd: float) -> list[float]:
    power = -(df + 1.0) / 2.0
    logs = [power * math.log1p((((p - effect) / error) ** 2) / df) - 0.5 * (p / sd) ** 2 for p in points]
    top = max(logs)
    return [math.exp(value - top) for value in logs]


def _at(share: float, points: list[float], heights: list[float]) -> float:
    index = min(max(bisect_left(heights, share), 1), len(heights) - 1)
    low, high = heights[index - 1], heights[index]
    part = (share - low) / (high - low) if high > low else 0.0
    return points[index - 1] + part * (points[index] - points[index - 1])


def shrink(effect: float, error: float, df: float, sd: float) -> Shrunk:
    """``effect`` +- ``error`` (t with ``df``) under a normal prior of mean 0 and ``sd``; error and sd above 0."""
    if error <= 0.0 or sd <= 0.0:
        raise ValueError("an error and a prior sd above 0 are wanted")
    points = _grid(effect, error, sd)
    density = _weights(points, effect, error, df, sd)
    pieces, moments = [0.0], 0.0
    for i in range(1, len(points)):
        width = points[i] - points[i - 1]
        pieces.append(width * (density[i] + density[i - 1]) / 2.0)
        # exact for a straight density between the two points
        moments += (
            width
            * (points[i - 1] * (2 * density[i - 1] + density[i]) + points[i] * (density[i - 1] + 2 * density[i]))
            / 6.0
        )
    heights = list(accumulate(pieces))
    total = heights[-1]
    shares = [height / total for height in heights]
    return Shrunk(moments / total, _at(0.1, points, shares), _at(0.9, points, shares), shares[points.index(0.0)])
