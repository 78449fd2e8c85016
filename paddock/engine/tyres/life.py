"""Runs left to the floor, by the worst edge, with a range.

Runs left solve depth - floor = runs x wear. Both sides carry error, so the range is Fieller's (1954): all n for
which depth - floor - n x wear is within z of its own sd; with wear not clearly above nothing there is no upper end.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from paddock.engine.tyres.wear import GAUGE_SD_MM, Rate, Rates

FLOOR_MM = 1.6
"""The least tread in the EU (Council Directive 89/459/EEC), used where no floor is given. Two 32nds of an inch
are 1.5875 mm, so a tyre can pass there and fail here. A floor of one's own is better: grip goes earlier."""
Z80 = 1.2815515655446004
"""Normal deviate of an 80 % range."""


@dataclass(frozen=True, slots=True)
class Life:
    """Runs left; None: not known (``high``: no upper end). ``edge``: the one that ends it.

    ``depth_mm``: edge to depth now, worked forward from the last reading.
    """

    runs: float | None = None
    low: float | None = None
    high: float | None = None
    edge: str | None = None
    depth_mm: Mapping[str, float] = field(default_factory=dict)
    floor_mm: float = FLOOR_MM


def runs_to(spare_mm: float, rate: Rate, z: float = Z80) -> tuple[float | None, float, float | None]:
    """``(runs, low, high)`` until ``spare_mm`` is worn off, from the last reading.

    The last reading also ends the stretch the wear came from; that shared error is the covariance.
    """
    spare_var, wear_var = GAUGE_SD_MM**2, rate.sd**2
    shared = -rate.own * spare_var / rate.own_runs if rate.own_runs else 0.0
    a = rate.mm**2 - z * z * wear_var
    b = spare_mm * rate.mm - z * z * shared
    c = spare_mm**2 - z * z * spare_var
    runs = spare_mm / rate.mm if rate.mm > 0 else None
    root = math.sqrt(max(b * b - a * c, 0.0))
    if a <= 0 or rate.mm <= 0:
        low = c / (b + root) if spare_mm > 0 and b + root > 0 else 0.0
        return runs, max(min(low, runs) if runs is not None else low, 0.0), None
    return runs, (b - root) / a, (b + root) / a


def life_of(depth_mm: Mapping[str, float], since: int, rates: Rates, floor_mm: float | None = None) -> Life:
    """``depth_mm``: the last reading by edge; ``since``: runs made after it."""
    floor = FLOOR_MM if floor_mm is None else floor_mm
    now = {edge: depth - since * rates[edge].mm if edge in rates else depth for edge, depth in depth_mm.items()}
    found = {edge: runs_to(depth_mm[edge] - floor, rates[edge]) for edge in depth_mm if edge in rates}
    found |= {edge: (0.0, 0.0, 0.0) for edge, depth in depth_mm.items() if depth <= floor}
    ends = {edge: runs for edge, (runs, _, _) in found.items() if runs is not None}
    if not ends:
        return Life(depth_mm=now, floor_mm=floor)
    edge = min(ends, key=lambda name: ends[name])
    highs = [high for _, _, high in found.values() if high is not None]
    left = [ends[edge], min(low for _, low, _ in found.values()), min(highs) if highs else None]
    runs, low, high = (None if value is None else max(value - since, 0.0) for value in left)
    return Life(runs, low, high, edge, now, floor)
