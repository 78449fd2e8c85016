"""Wear per run of each edge, shrunk to what the car's other tyres wear in the same place.

A tyre's measured rate carries the depth gauge's error; true rates of one axle and edge scatter about their mean with sd
tau (``stats.fits.shrunk``).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from paddock.engine.stats.fits import shrunk
from paddock.engine.tyres.readings import EDGES, Stretch

GAUGE_SD_MM = 0.1
"""Repeatability of one depth reading, sd (stated prior; common practice, no source)."""
SPREAD = 0.25
"""tau as a share of the mean: how much tyres in the same place differ (stated prior, no source)."""
AXLE_SPREAD = 0.6
"""The same where only the other axle, or another kind of tyre, is known."""
MIXED = "mixed"
"""In place of an axle: the tyre changed places between two readings."""
GROWTH_MM = 3 * math.sqrt(2) * GAUGE_SD_MM
"""A depth that grows by more than this is no gauge scatter: the stretch is left out."""


@dataclass(frozen=True, slots=True)
class Observed:
    """What one tyre wore on one axle and edge: ``mm`` a run over ``runs`` runs, sd from the gauge."""

    tyre: str
    mm: float
    sd: float
    runs: int


@dataclass(frozen=True, slots=True)
class Rate:
    """Wear in mm per run with its sd. ``own``: the weight (0 to 1) of this tyre's own readings.

    ``basis``: ``measured``, ``other tyres``, ``other axle``, ``mixed places``, ``other kind``: in
    falling order of trust.
    """

    mm: float
    sd: float
    own: float
    own_runs: int
    basis: str


Rates = Mapping[str, Rate]
"""Edge to its rate; an edge nothing is known of is missing."""


def _one(tyre: str, edge: str, parts: Sequence[Stretch]) -> Observed | None:
    """Joined stretches share their middle reading, so only the ends of a chain carry gauge error."""
    used = [part for part in parts if part.drop_mm.get(edge, -math.inf) >= -GROWTH_MM]
    if not used:
        return None
    runs = sum(part.runs for part in used)
    chains = sum(not (part.joined and index and used[index - 1].days[1] == part.days[0])
                 for index, part in enumerate(used))  # fmt: skip
    drop = sum(part.drop_mm[edge] for part in used)
    return Observed(tyre, drop / runs, math.sqrt(2 * chains) * GAUGE_SD_MM / runs, runs)


Wear = Mapping[tuple[str, str], Sequence[Observed]]
"""``(axle, edge)`` to what each tyre wore there, unshrunk."""


def observe(stretches: Iterable[Stretch], car: str) -> dict[tuple[str, str], list[Observed]]:
    """``(axle, edge)`` to what each tyre of a car wore there, unshrunk."""
    parts: dict[tuple[str, str], list[Stretch]] = {}
    for part in stretches:
        if part.car == car:
            parts.setdefault((part.place.axle if part.place else MIXED, part.tyre), []).append(part)
    found: dict[tuple[str, str], list[Observed]] = {}
    for (axle, tyre), of_tyre in parts.items():
        for edge in EDGES:
            seen = _one(tyre, edge, of_tyre)
            if seen is not None:
                found.setdefault((axle, edge), []).append(seen)
    return found


def _mean(group: Sequence[Observed], spread: float) -> tuple[float, float, float]:
    """Mean, tau and the variance of the mean of a group."""
    rough = sum(item.mm * item.runs for item in group) / sum(item.runs for item in group)
    tau = max(spread * rough, 0.0)
    weights = [1 / (item.sd**2 + tau**2) for item in group]
    mean = sum(w * item.mm for w, item in zip(weights, group, strict=True)) / sum(weights)
    return mean, tau, 1 / sum(weights)


def _measured(tyre: str, group: Sequence[Observed]) -> Rate | None:
    index = next((i for i, item in enumerate(group) if item.tyre == tyre), None)
    if index is None:
        return None
    _, tau, _ = _mean(group, SPREAD)
    mm, sd, own = shrunk([(item.mm, item.sd) for item in group], tau)[index]
    return Rate(mm, sd, own, group[index].runs, "measured")


def _expected(group: Sequence[Observed], spread: float, basis: str) -> Rate | None:
    if not group:
        return None
    mean, tau, variance = _mean(group, spread)
    return Rate(mean, math.sqrt(tau**2 + variance), 0.0, 0, basis)


def rates_of(observed: Wear, tyre: str, axle: str, other_kinds: Wear | None = None) -> Rates:
    """The rates of a tyre on an axle: its own readings, else the axle's other tyres, the other axle, or a mixture.

    ``observed``: tyres of its kind; ``other_kinds`` is asked only where those say nothing.
    """
    other = "rear" if axle == "front" else "front"
    found = {}
    for edge in EDGES:
        here, there = observed.get((axle, edge), ()), observed.get((other, edge), ())
        rate = (
            _measured(tyre, here)
            or _expected(here, SPREAD, "other tyres")
            or _expected(there, AXLE_SPREAD, "other axle")
            or _expected(observed.get((MIXED, edge), ()), AXLE_SPREAD, "mixed places")
            or _expected((other_kinds or {}).get((axle, edge), ()), AXLE_SPREAD, "other kind")
        )
        if rate is not None:
            found[edge] = rate
    return found
