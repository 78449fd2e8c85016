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
    """``runs`` of mine it rests on, ``enough`` of them or not. ``clear``: slower runs hit fewer cones, surely enough;
    ``slower``: how many times the usual cones a run half a scatter slower hits (1: none fewer). ``cones``: those of the
    slower half and of the quicker.
    """

    runs: int
    enough: bool
    clear: bool = False
    slower: float = 1.0
    cones: tuple[int, int] = (0, 0)


def trade_of(events: Sequence[Event], number: str) -> Trade:
    """From every clean-timed run of ``number``, days apart; runs marked as mistakes left out."""
    slow, quick = [0, 0], [0, 0]
    for event in events:
        wrong = {(row.day, row.run) for row in event.of(RunRow) if row.number == number and row.mistake}
        mine = [(row.day, row.time_ms, row.cones or 0) for row in event.times if row.number == number and row.time_ms
                and row.status is None and not row.misses and (row.day, row.run) not in wrong]  # fmt: skip
        for day in {day for day, _, _ in mine}:
            today = [(ms, cones) for its, ms, cones in mine if its == day]
            middle = median(ms for ms, _ in today)
            for ms, cones in today:
                if ms != middle:
                    side = slow if ms > middle else quick
                    side[0] += 1
                    side[1] += cones
    runs = slow[0] + quick[0]
    if runs < LEAST_RUNS or not slow[0] or not quick[0]:
        return Trade(runs, False)
    sure = beta_part(slow[1] + 1.0, quick[1] + 1.0, slow[0] / runs)
    ratio = ((slow[1] + 0.5) / slow[0]) / ((quick[1] + 0.5) / quick[0])
    if sure < SURE or ratio >= 1.0:
        return Trade(runs, True)
    return Trade(runs, True, True, math.sqrt(ratio), (slow[1], quick[1]))
