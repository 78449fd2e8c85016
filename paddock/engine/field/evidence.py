"""Do my own slower runs hit fewer cones? What a banked or a pushed run may claim.

Real results of a like sport (10,204 runs) show no such thing for drivers at large, so nothing is assumed: my own runs,
slower and quicker than my own middle of their day, are compared by their cones. The ratio of two Poisson rates given
their sum is binomial (J. Przyborowski and H. Wilenski, Biometrika 31, 1940); its beta posterior has a flat prior.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from paddock.engine.stats.quantiles import beta_part
from paddock.model.event import Event
from paddock.model.rows import RunRow

LEAST_RUNS = 12
SURE = 0.9
"""Chance from which the record is believed."""


@dataclass(frozen=True, slots=True)
class Trade:
    """``runs`` of mine it rests on. ``clear``: slower runs hit fewer cones, surely enough; ``slower``: how many times
    the usual cones a run half a scatter slower hits (1: none fewer).
    """

    runs: int
    clear: bool
    slower: float
    sentence: str


def trade_of(events: Sequence[Event], number: str) -> Trade:
    """From every clean-timed run of ``number``, days apart; runs marked as mistakes left out."""
    slow, quick = [0, 0], [0, 0]
    for event in events:
        wrong = {(row.day, row.run) for row in event.of(RunRow) if row.number == number and row.mistake}
        mine = [row for row in event.times if row.number == number and row.time_ms and row.status is None
                and not row.misses and (row.day, row.run) not in wrong]  # fmt: skip
        for day in {row.day for row in mine}:
            today = [row for row in mine if row.day == day]
            middle = median(row.time_ms or 0 for row in today)
            for row in today:
                if row.time_ms != middle:
                    side = slow if (row.time_ms or 0) > middle else quick
                    side[0] += 1
                    side[1] += row.cones or 0
    runs = slow[0] + quick[0]
    if runs < LEAST_RUNS or not slow[0] or not quick[0]:
        return Trade(
            runs, False, 1.0, "no evidence that a safe run of mine hits fewer cones: too few runs of mine to say"
        )
    share = slow[0] / runs
    sure = beta_part(slow[1] + 1.0, quick[1] + 1.0, share)
    ratio = ((slow[1] + 0.5) / slow[0]) / ((quick[1] + 0.5) / quick[0])
    if sure < SURE or ratio >= 1.0:
        why = "bank or push makes no difference that can be shown"
        return Trade(runs, False, 1.0, f"no evidence in {runs} runs of mine that a slower run hits fewer cones: {why}")
    told = f"in {runs} runs of mine the slower half hit {slow[1]} cones, the quicker {quick[1]}"
    return Trade(
        runs, True, math.sqrt(ratio), f"{told}; a safe run is half a scatter slower, a push half a scatter quicker"
    )
