"""Steps between hole pairs, and how far a rate may be off from what was measured."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import sqrt

from paddock.engine.car.bar_parts import BarParts, Hole
from paddock.engine.car.bar_rates import Pair, bare_compliance, end_of, rate_n_mm
from paddock.model.car import Bar

__all__ = ["Spread", "spread_of", "spreads", "with_steps"]

Change = Callable[[BarParts], BarParts]

DIAMETER_PM_MM, WALL_PM_MM, LENGTH_PM_MM, ARMS_PM_MM, MR_PM, SHEAR_PM = 0.1, 0.2, 5.0, 1.0, 0.02, 0.05
"""What a calliper, a tape and a careful hand give: common practice, no source; the steel's: the spread of handbooks."""

Spread = tuple[str, Change, Change]
"""Key of the input and the bar with it at the low and at the high end of its range."""


def _moved(holes: tuple[Hole | None, ...], lever_mm: float, mr: float) -> tuple[Hole | None, ...]:
    return tuple(
        None
        if hole is None
        else replace(hole, lever_mm=hole.lever_mm + lever_mm, mr=None if hole.mr is None else max(hole.mr + mr, 1e-3))
        for hole in holes
    )


def _inside(parts: BarParts, step: float) -> float:
    return min(max(0.0, parts.bore_mm + step), 0.999 * parts.outer_mm)


def _thicker(bar: Bar, parts: BarParts, step: float) -> BarParts:
    """Another diameter; the bore goes with it where the wall was measured, else it stays."""
    outer = max(parts.outer_mm + step, 1.0)
    if parts.bore_mm == 0:
        return replace(parts, outer_mm=outer)
    if bar.bore_mm is None:
        return replace(parts, outer_mm=outer, bore_mm=min(max(0.0, parts.bore_mm + step), 0.999 * outer))
    return replace(parts, outer_mm=max(outer, 1.001 * parts.bore_mm))


def _both(name: str, make: Callable[[float], Change], size: float) -> Spread:
    return name, make(-size), make(size)


def spreads(bar: Bar) -> tuple[Spread, ...]:
    """Every measured input of ``bar`` with its low and high; 0 given = taken as exact."""

    def size(name: str, default: float) -> float:
        given: float | None = getattr(bar, name)
        return default if given is None else given

    def bore(step: float) -> Change:
        return lambda parts: parts if parts.bore_mm == 0 else replace(parts, bore_mm=_inside(parts, step))

    return (
        _both("diameter_mm", lambda step: lambda p: _thicker(bar, p, step), size("diameter_pm_mm", DIAMETER_PM_MM)),
        _both("wall_mm", bore, size("wall_pm_mm", WALL_PM_MM) * (2.0 if bar.bore_mm is None else 1.0)),
        _both("length_mm", lambda step: lambda p: replace(p, length_mm=p.length_mm + step),
              size("length_pm_mm", LENGTH_PM_MM)),
        _both("arms_mm, left", lambda step: lambda p: replace(p, left=_moved(p.left, step, 0.0)),
              size("arms_pm_mm", ARMS_PM_MM)),
        _both("arms_mm, right", lambda step: lambda p: replace(p, right=_moved(p.right, step, 0.0)),
              size("arms_pm_mm", ARMS_PM_MM)),
        _both("mr", lambda step: lambda p: replace(p, left=_moved(p.left, 0.0, step), right=_moved(p.right, 0.0, step)),
              size("mr_pm", MR_PM)),
        _both("shear_gpa", lambda step: lambda p: replace(p, shear_gpa=p.shear_gpa * (1 + step)),
              size("shear_pm", SHEAR_PM)),
    )  # fmt: skip


def _rates(parts: BarParts, pairs: Sequence[tuple[int, int]]) -> list[float]:
    """Wheel rate of each pair, or the end-to-end rate where no motion ratio is known, N/mm."""
    bare = bare_compliance(parts)
    left, right = ({n: end_of(parts, hole) for n, hole in enumerate(holes, 1) if hole} for holes in parts.sides)
    return [rate_n_mm(bare, left[one], right[other]) for one, other in pairs]


def spread_of(
    parts: BarParts, bar: Bar, pair: tuple[int, int], base: tuple[int, int] | None = None
) -> dict[str, float]:
    """Per input, by how many per cent (half range) the rate of ``pair`` may be off, over that of ``base`` if given.

    Independent inputs add as squares: ``sqrt(sum of squares)`` is the whole (GUM, JCGM 100:2008, 5.1.2).
    """

    def value(changed: BarParts) -> float:
        rate, *against = _rates(changed, [pair] if base is None else [pair, base])
        return rate / against[0] if against else rate

    middle = value(parts)
    return {name: abs(value(high(parts)) - value(low(parts))) / 2 / middle * 100 for name, low, high in spreads(bar)}


def _rates_under(parts: BarParts, bar: Bar, pairs: Sequence[tuple[int, int]]) -> list[list[tuple[float, float]]]:
    """Per input: (low, high) rate of every pair."""
    return [
        list(zip(_rates(low(parts), pairs), _rates(high(parts), pairs), strict=True))
        for _, low, high in spreads(bar)
    ]  # fmt: skip


def _root(parts: list[float]) -> float:
    return sqrt(sum(part * part for part in parts))


def _steps(pairs: tuple[Pair, ...]) -> dict[tuple[int, int], float | None]:
    """Per cent against the next softer pair; mirror twins share theirs."""
    order = sorted(pairs, key=lambda item: item.end_rate_n_mm)
    steps: dict[tuple[int, int], float | None] = {}
    softer: float | None = None
    level = order[0].end_rate_n_mm if order else 0.0
    for pair in order:
        if pair.end_rate_n_mm > level * (1 + 1e-9):
            softer, level = level, pair.end_rate_n_mm
        steps[pair.left, pair.right] = None if softer is None else (level / softer - 1) * 100
    return steps


def with_steps(parts: BarParts, bar: Bar, pairs: tuple[Pair, ...]) -> tuple[Pair, ...]:
    """``pairs`` with steps and spreads filled in, against the pair in use where there is one."""
    numbers = [(pair.left, pair.right) for pair in pairs]
    steps, ranges, base = _steps(pairs), _rates_under(parts, bar, numbers), _rates(parts, numbers)
    mine = numbers.index(parts.in_use) if parts.in_use in numbers else None
    filled = []
    for index, pair in enumerate(pairs):
        whole = _root([(row[index][1] - row[index][0]) / 2 / base[index] * 100 for row in ranges])
        step = change = None
        if mine is not None:
            change = (base[index] / base[mine] - 1) * 100
            step = _root([(row[index][1] / row[mine][1] - row[index][0] / row[mine][0]) * 50 for row in ranges])
        softer = steps[pair.left, pair.right]
        filled.append(replace(pair, step_pct=softer, from_now_pct=change, spread_pct=whole, step_spread_pct=step))
    return tuple(filled)
