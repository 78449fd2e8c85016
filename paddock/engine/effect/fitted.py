"""The same question by a Huber two-way fit, for long days and for controls whose runs differ.

My runs with and my runs without the change enter as two drivers, so the change is the difference of two levels; a
spoilt run of anybody weighs less. The error is again that of one case against the controls' own changes.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from paddock.engine.effect.difference import Compared, far_outside, single_case_error
from paddock.engine.effect.states import Contrast
from paddock.engine.paces import Slot, logs
from paddock.engine.stats.twoway import Fit, huber_fit

__all__ = ["fit_change"]

_Row = Sequence[float | None]


def _sides(of: Contrast, slots: Sequence[Slot]) -> list[tuple[list[int], list[int]]]:
    at = {slot: index for index, slot in enumerate(slots)}
    return [([at[s] for s in block.old], [at[s] for s in block.new]) for block in of.blocks]


def _my_rows(mine: Mapping[Slot, int], of: Contrast, slots: Sequence[Slot]) -> list[_Row]:
    values = logs(mine, slots)
    rows: list[_Row] = []
    for sides in _sides(of, slots):
        rows += [[value if index in side else None for index, value in enumerate(values)] for side in sides]
    return rows


def _mean(row: _Row, side: Sequence[int], level: float, fit: Fit) -> float | None:
    """Weighted mean residual on one side of the change."""
    total = weights = 0.0
    clip, effects = fit.clip, fit.effects
    for index in side:
        value = row[index]
        if value is not None:
            residual = value - level - effects[index]
            weight = 1.0 if not clip or -clip <= residual <= clip else clip / abs(residual)
            total += weight * residual
            weights += weight
    return total / weights if weights else None


def _their_change(
    row: _Row, level: float, fit: Fit, sides: Sequence[tuple[list[int], list[int]]], shares: Sequence[float]
) -> float:
    """A control's own change beyond the run effects."""
    total = used = 0.0
    for (old, new), share in zip(sides, shares, strict=True):
        before, after = _mean(row, old, level, fit), _mean(row, new, level, fit)
        if before is not None and after is not None:
            total += share * (after - before)
            used += share
    return total / used if used else 0.0


def fit_change(
    mine: Mapping[Slot, int], controls: Mapping[str, Mapping[Slot, int]], of: Contrast, spotless: bool = False
) -> Compared:
    """Fit everybody at once. ``mine`` has every slot of ``of``; each control has both sides of a block.

    ``spotless``: mine hold no mistake, so controls far outside the rest are kept out of the scatter.
    """
    slots, shares = of.slots, of.shares()
    sides = _sides(of, slots)
    rows = [*_my_rows(mine, of, slots), *(logs(times, slots) for times in controls.values())]
    fit = huber_fit(rows)
    levels, first = fit.levels, 2 * len(of.blocks)
    mine_now = [fit.level_of(row) for row in rows[:first]]
    extra = sum(share * (mine_now[2 * i + 1] - mine_now[2 * i]) for i, share in enumerate(shares))
    weights = of.weights()
    field = math.fsum(weights[slot] * effect for slot, effect in zip(slots, fit.effects, strict=True))
    theirs = {
        number: _their_change(rows[first + i], levels[first + i], fit, sides, shares)
        for i, number in enumerate(controls)
    }
    far = far_outside(theirs) if spotless else ()
    kept = {number: value for number, value in theirs.items() if number not in far}
    around = {number: value + field for number, value in kept.items()}
    return Compared(extra + field, field, single_case_error(list(kept.values())), around, "two-way", far)
