"""Where a score may end: the chance that it stays above x, with the runs an entrant has left.

Given the driver's true pace the runs are independent: ln(raw) normal, cones Poisson, a share of runs void. What is
not known about the pace is averaged over by Gauss-Hermite (five points: M. Abramowitz and I. A. Stegun, Handbook of
Mathematical Functions, table 25.10).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from paddock.engine.pacing import Pace
from paddock.engine.stats.quantiles import normal_cdf

__all__ = ["Finish", "NODES"]

NODES = tuple(
    (math.sqrt(2.0) * x, weight / math.sqrt(math.pi))
    for x, weight in (
        (-2.020182870456086, 0.01995324205904591),
        (-0.9585724646138185, 0.3936193231522412),
        (0.0, 0.9453087204829419),
        (0.9585724646138185, 0.3936193231522412),
        (2.020182870456086, 0.01995324205904591),
    )
)
"""Points and weights that average a function over a standard normal."""

_LEAST = 1e-5
_FAR = 14.0
"""Deviations beyond which nothing happens, whatever the pace."""
_HALF_ROOT = math.sqrt(0.5)


@lru_cache(maxsize=4096)
def _cones(rate: float) -> tuple[float, ...]:
    """Poisson chances of 0, 1, 2 ... cones, up to a negligible rest."""
    found = [math.exp(-rate)]
    while 1.0 - sum(found) > _LEAST and len(found) < 40:
        found.append(found[-1] * rate / len(found))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Finish:
    """One entrant's score to come in one table, all in the table's milliseconds.

    ``base``: what earlier days add. ``banked``: today's score so far, None = none yet. ``left``: runs to come.
    ``factor``: index, 1 on raw times. ``cone_ms``: what a cone adds in the table. ``summed``: today's runs are added
    up (``banked`` then is their sum so far, 0 = none, None = one of them is void). ``pace`` None: no more runs are
    expected. ``first``: another pace for the next run only.
    """

    base: float
    banked: float | None
    left: int
    factor: float
    cone_ms: float
    pace: Pace | None
    summed: bool = False
    first: Pace | None = None

    def known(self) -> float | None:
        """The score as it stands if nothing more comes, None = none."""
        return None if self.banked is None else self.base + self.banked

    @property
    def open(self) -> bool:
        """Whether more runs are to be reckoned with."""
        return self.left > 0 and self.pace is not None

    @property
    def cap(self) -> float:
        """Above this the entrant surely does not end: the score so far, inf where there is none or it can grow."""
        known = self.known()
        return math.inf if known is None or (self.summed and self.open) else known

    def above(self, x: float) -> float:
        """Chance that the final score is x or more (no score counts as more)."""
        return self.curve((x,))[0]

    def curve(self, points: Sequence[float]) -> list[float]:
        """``above`` at many points."""
        if not self.open:
            return [1.0 if self.cap >= x else 0.0 for x in points]
        if self.summed:
            return [self._sum_above(x - self.base) for x in points]
        stays = self._none_under([x - self.base for x in points])
        return [chance if self.cap >= x else 0.0 for chance, x in zip(stays, points, strict=True)]

    def _none_under(self, points: Sequence[float]) -> list[float]:
        """Chance at each point that no run to come beats it."""
        assert self.pace is not None
        usual = self.left - (self.first is not None)
        runs = self._run_under(points, self.pace)
        if self.first is None:
            return [sum(w * (1.0 - p) ** usual for (_, w), p in zip(NODES, at, strict=True)) for at in runs]
        found = []
        for at, once in zip(runs, self._run_under(points, self.first), strict=True):
            chances = zip(NODES, at, once, strict=True)
            found.append(sum(w * (1.0 - p) ** usual * (1.0 - q) for (_, w), p, q in chances))
        return found

    def _run_under(self, points: Sequence[float], pace: Pace) -> list[list[float]]:
        """Chance at each point and node that one run is under it, the true pace the node's deviations off."""
        cones, counted = _cones(pace.cone_rate), 1.0 - pace.void_rate
        shifts = [node * pace.unsure / pace.spread for node, _ in NODES]
        found = []
        for x in points:
            under = [0.0] * len(NODES)
            for count, chance in enumerate(cones):
                raw = (x - count * self.cone_ms) / self.factor
                z = (math.log(raw) - pace.level) / pace.spread if raw > 0.0 else -_FAR
                if z <= -_FAR:
                    break
                share = 0.5 * chance * counted
                under = [
                    p + share * math.erfc((shift - z) * _HALF_ROOT) for p, shift in zip(under, shifts, strict=True)
                ]
            found.append(under)
        return found

    def _sum_above(self, x: float) -> float:
        if self.banked is None:
            return 1.0
        runs = [self.pace] * (self.left - (self.first is not None)) + ([self.first] if self.first else [])
        each = [pace for pace in runs if pace is not None]
        times = [self.factor * pace.time_ms for pace in each]
        within = sum((time * pace.spread) ** 2 for time, pace in zip(times, each, strict=True))
        unsure = sum(time * pace.unsure for time, pace in zip(times, each, strict=True))
        sd = math.sqrt(within + unsure * unsure)
        under = sum(
            chance * normal_cdf((x - self.banked - sum(times) - count * self.cone_ms) / sd)
            for count, chance in enumerate(_cones(sum(pace.cone_rate for pace in each)))
        )
        return 1.0 - under * math.prod(1.0 - pace.void_rate for pace in each)

    def reach(self) -> tuple[float, float]:
        """A range outside which the score hardly ends; high is inf where there may be no score."""
        known = self.known()
        if not self.open or self.pace is None:
            return (math.inf, math.inf) if known is None else (known, known)
        sd = math.hypot(self.pace.spread, self.pace.unsure)
        if self.summed:
            middle = (known or self.base) + self.left * self.factor * self.pace.time_ms
            width = 6.0 * self.left * self.factor * self.pace.time_ms * sd
            return middle - width, middle + width + 6.0 * self.cone_ms
        low = self.base + self.factor * math.exp(self.pace.level - 6.0 * sd)
        high = self.base + self.factor * math.exp(self.pace.level + 6.0 * sd) + 3.0 * self.cone_ms
        return (low, high) if known is None else (min(low, known), known)
