"""What is left of an effect once its error and what changes usually do are both weighed.

Normal prior around nothing, normal error: mean = D sd^2 / (sd^2 + se^2), spread = sd se / sqrt(sd^2 + se^2). The t of
the error, with its freedom, then gives probability and range, so that few controls keep their long tails. The full
posterior (t times normal) is not used: beyond a few prior sd it doubts the measurement instead of the prior, so that
a larger gain would come out as less sure.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from paddock.engine.stats.fits import interval
from paddock.engine.stats.quantiles import t_cdf

__all__ = ["PRIOR_SHARE", "Shrunk", "prior_sd", "shrink"]

PRIOR_SHARE = 0.2 / 45.0
"""Prior sd as a share of the run's time: 0.2 s in 45 s (common practice, no source)."""


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


def shrink(effect: float, error: float, df: float, sd: float) -> Shrunk:
    """``effect`` -+ ``error`` (t with ``df``) under a normal prior of mean 0 and ``sd``; ValueError unless both > 0."""
    if error <= 0.0 or sd <= 0.0:
        raise ValueError("an error and a prior sd above 0 are wanted")
    whole = math.hypot(sd, error)
    mean, left = effect * (sd / whole) ** 2, sd * error / whole
    return Shrunk(mean, *interval(mean, left, df), t_cdf(-mean / left, df))
