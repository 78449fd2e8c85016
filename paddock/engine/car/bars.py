"""Anti-roll bars: what one hole is worth, for every pair of holes."""

from __future__ import annotations

from dataclasses import dataclass, replace

from paddock.engine.car.bar_parts import BarParts, parts_of
from paddock.engine.car.bar_rates import Pair, pair_of, roll_heave_free
from paddock.engine.car.bar_steps import with_steps
from paddock.engine.car.findings import Finding
from paddock.model.car import Axle, Car

__all__ = ["CAUTIONS", "BarTable", "pairs_table"]

CAUTIONS = (
    "Before going under the car: level ground, wheels chocked, on stands, never on a jack alone.",
    "Tighten every fastener to the maker's torque, with the car at ride height where the maker says so.",
    "Ask the class rules first: many allow no other bar, or only one end.",
)


@dataclass(frozen=True, slots=True)
class BarTable:
    """Every hole pair of one bar, left hole first; ``in_use`` None: not known or can't be, ``findings`` say why."""

    axle: str
    parts: BarParts | None
    pairs: tuple[Pair, ...]
    in_use: Pair | None
    findings: tuple[Finding, ...]

    def pair(self, left: int, right: int) -> Pair | None:
        """The pair of two holes, None where there is no such hole."""
        return next((item for item in self.pairs if (item.left, item.right) == (left, right)), None)

    @property
    def distinct(self) -> tuple[Pair, ...]:
        """The pairs from soft to stiff, of mirror twins only the one with the lower hole left."""
        seen: dict[tuple[float, float | None], Pair] = {}
        for item in self.pairs:
            seen.setdefault((round(item.end_rate_n_mm, 9), item.roll_nm_per_rad), item)
        return tuple(sorted(seen.values(), key=lambda item: item.end_rate_n_mm))


def _spring_at_wheel(axle: Axle) -> float | None:
    return None if axle.spring_n_mm is None else axle.spring_n_mm * (axle.spring_mr or 1.0) ** 2


def _with_free_heave(parts: BarParts, pair: Pair, spring_n_mm: float | None) -> Pair:
    if spring_n_mm is None:
        return pair
    return replace(pair, roll_heave_free_nm_per_rad=roll_heave_free(parts, pair, spring_n_mm))


def pairs_table(car: Car, axle: str) -> BarTable | None:
    """Every hole pair of the bar at ``axle`` (``front``, ``rear``); None: that axle has no bar."""
    ends: Axle = getattr(car, axle)
    if ends.bar is None:
        return None
    parts, findings = parts_of(car, axle)
    if parts is None:
        return BarTable(axle, None, (), None, findings)
    numbers = [(left, right) for left in range(1, len(parts.left) + 1) for right in range(1, len(parts.right) + 1)]
    plain = tuple(pair for pair in (pair_of(parts, *both) for both in numbers) if pair is not None)
    spring = _spring_at_wheel(ends)
    pairs = with_steps(parts, ends.bar, tuple(_with_free_heave(parts, pair, spring) for pair in plain))
    table = BarTable(axle, parts, pairs, None, findings)
    return table if parts.in_use is None else replace(table, in_use=table.pair(*parts.in_use))
