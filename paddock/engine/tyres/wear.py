"""Wear per run of each edge, shrunk to what the car's other tyres wear in the same place.

A tyre's measured rate carries the depth gauge's error; true rates of one axle and edge scatter about their mean with sd
tau (``stats.fits.shrunk``). All of it was worn on a few days: what their surfaces had of their own stands in every
range (``scatter``). A car whose driven wheels are known begins from what such a place usually wears.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby, pairwise

from paddock.engine.stats.fits import shrunk
from paddock.engine.tyres.counts import FittedPlace, Use, uses
from paddock.engine.tyres.scatter import GAUGE_SD_MM, USUAL_SCATTER, Scatter
from paddock.model.event import Event
from paddock.model.rows import TreadRow, TyreRow

# tread readings between which a tyre kept its place: what wear is worked out from


EDGES = ("inner", "middle", "outer")


@dataclass(frozen=True, slots=True)
class Stretch:
    """From one reading of a tyre to its next. ``drop_mm``: edge to what wore off (negative: it grew).

    ``place`` None: the tyre changed places in between, so the wear can't be told apart.
    ``joined``: it begins with the reading that ended the stretch before it. ``kind``: the tyre's, None: not recorded.
    ``per_day``: its runs by day.
    """

    tyre: str
    car: str
    place: FittedPlace | None
    runs: int
    days: tuple[int, int]
    line: int
    drop_mm: Mapping[str, float]
    joined: bool = False
    kind: str | None = None
    event: str = ""
    per_day: tuple[int, ...] = ()


def edges_of(row: TreadRow) -> dict[str, float]:
    """The edges that were measured, mm."""
    cells = {"inner": row.inner_mm, "middle": row.middle_mm, "outer": row.outer_mm}
    return {edge: depth for edge, depth in cells.items() if depth is not None}


def turned_over(edges: Mapping[str, float]) -> dict[str, float]:
    """The same depths after the tyre was turned over on its rim: inner and outer change names."""
    other = {"inner": "outer", "outer": "inner", "middle": "middle"}
    return {other[edge]: value for edge, value in edges.items()}


def by_tyre(event: Event) -> dict[str, list[TreadRow]]:
    """Readings of each tyre in order of day."""
    rows = sorted(event.of(TreadRow), key=lambda row: (row.tyre, row.day))
    return {tyre: list(group) for tyre, group in groupby(rows, key=lambda row: row.tyre)}


def _place_after(run_of: Sequence[Use], day: int) -> FittedPlace | None:
    """Where the tyre was after a day; before its first run: where that run found it."""
    done = [use for use in run_of if use.run.day <= day]
    return (done[-1] if done else run_of[0]).place if run_of else None


def _stretch(first: TreadRow, last: TreadRow, run_of: Sequence[Use], joined: bool) -> Stretch | None:
    between = [use for use in run_of if first.day < use.run.day <= last.day]
    before, after = _place_after(run_of, first.day), _place_after(run_of, last.day)
    if not between or before is None or after is None:
        return None
    start, end = edges_of(first), edges_of(last)
    if before.turned != after.turned:
        start = turned_over(start)
    places = {(use.car, use.place) for use in between}
    return Stretch(
        tyre=first.tyre,
        car=between[-1].car,
        place=between[0].place if len(places) == 1 else None,
        runs=len(between),
        days=(first.day, last.day),
        line=last.line,
        drop_mm={edge: start[edge] - end[edge] for edge in EDGES if edge in start and edge in end},
        joined=joined,
        per_day=tuple(Counter(use.run.day for use in between).values()),
    )


def stretches(event: Event) -> tuple[Stretch, ...]:
    """All stretches of an event in which a tyre ran."""
    run_of: dict[str, list[Use]] = {}
    for use in uses(event):
        run_of.setdefault(use.tyre, []).append(use)
    kinds = {row.tyre: row.kind for row in event.of(TyreRow)}
    found: list[Stretch] = []
    for tyre, rows in by_tyre(event).items():
        parts = _of_tyre(rows, run_of.get(tyre, []))
        found += [replace(part, kind=kinds.get(tyre), event=event.name) for part in parts]
    return tuple(found)


def _of_tyre(rows: Iterable[TreadRow], run_of: Sequence[Use]) -> list[Stretch]:
    found: list[Stretch] = []
    for first, last in pairwise(rows):
        joined = bool(found) and found[-1].days[1] == first.day
        stretch = _stretch(first, last, run_of, joined)
        if stretch is not None:
            found.append(stretch)
    return found


SPREAD = 0.25
"""tau as a share of the mean: how much tyres in the same place differ (stated prior, no source)."""
AXLE_SPREAD = 0.6
"""The same where only the other axle, or another kind of tyre, is known."""
USUAL_MM: Mapping[tuple[str, str], float] = {
    ("front", "front"): 0.070, ("front", "rear"): 0.025, ("rear", "front"): 0.045, ("rear", "rear"): 0.050,
    ("all", "front"): 0.060, ("all", "rear"): 0.045,
}  # fmt: skip
"""Driven wheels and axle to the wear of inner and outer edge in mm a run: the front steers, driven wheels pull (stated
prior; common practice, no source)."""
USUAL_EDGE = {"inner": 1.0, "middle": 0.7, "outer": 1.0}
"""How the edges share it (stated prior, no source)."""
PLACE_SPREAD = 0.7
"""How little that says of one car: sd as a share."""
MIXED = "mixed"
"""In place of an axle: the tyre changed places between two readings."""
GROWTH_MM = 3 * math.sqrt(2) * GAUGE_SD_MM
"""A depth that grows by more than this is no gauge scatter: the stretch is left out."""


@dataclass(frozen=True, slots=True)
class Observed:
    """What one tyre wore on one axle and edge: ``mm`` a run over ``runs`` runs, sd from the gauge.

    ``days``: how many days the runs are worth, of unequal days fewer.
    """

    tyre: str
    mm: float
    sd: float
    runs: int
    days: float = 1.0


@dataclass(frozen=True, slots=True)
class Rate:
    """Wear in mm per run with its sd from the gauge and from how tyres differ. ``own``: the weight (0 to 1) of this
    tyre's own readings. ``share``: what the days' surfaces may have had of their own, as a share of the rate, sd.

    ``basis``: ``measured``, ``other tyres``, ``other axle``, ``mixed places``, ``other kind``: in
    falling order of trust.
    """

    mm: float
    sd: float
    own: float
    own_runs: int
    basis: str
    scatter: Scatter = USUAL_SCATTER
    share: float = 0.0


Rates = Mapping[str, Rate]
"""Edge to its rate; an edge nothing is known of is missing."""


def _one(tyre: str, edge: str, parts: Sequence[Stretch], gauge_mm: float) -> Observed | None:
    """Joined stretches share their middle reading, so only the ends of a chain carry gauge error."""
    used = [part for part in parts if part.drop_mm.get(edge, -math.inf) >= -GROWTH_MM]
    if not used:
        return None
    runs = sum(part.runs for part in used)
    chains = sum(not (part.joined and index and used[index - 1].days[1] == part.days[0])
                 for index, part in enumerate(used))  # fmt: skip
    drop = sum(part.drop_mm[edge] for part in used)
    by_day = [count for part in used for count in part.per_day or (part.runs,)]
    days = sum(by_day) ** 2 / sum(count * count for count in by_day)
    return Observed(tyre, drop / runs, math.sqrt(2 * chains) * gauge_mm / runs, runs, days)


Wear = Mapping[tuple[str, str], Sequence[Observed]]
"""``(axle, edge)`` to what each tyre wore there, unshrunk."""


def observe(
    stretches: Iterable[Stretch], car: str, scatter: Scatter = USUAL_SCATTER
) -> dict[tuple[str, str], list[Observed]]:
    """``(axle, edge)`` to what each tyre of a car wore there, unshrunk."""
    parts: dict[tuple[str, str], list[Stretch]] = {}
    for part in stretches:
        if part.car == car:
            parts.setdefault((part.place.axle if part.place else MIXED, part.tyre), []).append(part)
    found: dict[tuple[str, str], list[Observed]] = {}
    for (axle, tyre), of_tyre in parts.items():
        for edge in EDGES:
            seen = _one(tyre, edge, of_tyre, scatter.gauge_mm)
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


def _measured(tyre: str, group: Sequence[Observed], usual: float | None, scatter: Scatter) -> Rate | None:
    index = next((i for i, item in enumerate(group) if item.tyre == tyre), None)
    if index is None:
        return None
    _, tau, _ = _mean(group, SPREAD)
    mm, sd, own = shrunk([(item.mm, item.sd) for item in group], tau)[index]
    share = _days_share(group, scatter)
    if usual is not None:
        mm, sd, kept = _towards(mm, sd, share, usual)
        own *= kept
    return Rate(mm, sd, own, group[index].runs, "measured", scatter, share)


def _days_share(group: Sequence[Observed], scatter: Scatter) -> float:
    """What the surfaces of the days it was worn on may have had of their own, as a share of the rate, sd."""
    return scatter.surface / math.sqrt(max(item.days for item in group))


def _towards(mm: float, sd: float, share: float, usual: float) -> tuple[float, float, float]:
    """Rate and sd drawn to what such a place usually wears, known to ``PLACE_SPREAD``; and the weight left to it."""
    vague = (PLACE_SPREAD * usual) ** 2
    kept = vague / (vague + sd * sd + (share * mm) ** 2)
    return kept * mm + (1 - kept) * usual, math.sqrt(kept) * sd, kept


def _expected(
    group: Sequence[Observed], spread: float, basis: str, scatter: Scatter, times: float = 1.0
) -> Rate | None:
    """``times``: how much more such a place usually wears than that of the group."""
    if not group:
        return None
    mean, tau, variance = _mean(group, spread)
    sd = math.sqrt(tau**2 + variance)
    return Rate(times * mean, times * sd, 0.0, 0, basis, scatter, _days_share(group, scatter))


def rates_of(
    observed: Wear, tyre: str, axle: str, other_kinds: Wear | None = None, drive: str | None = None,
    scatter: Scatter = USUAL_SCATTER,
) -> Rates:  # fmt: skip
    """The rates of a tyre on an axle: its own readings, else the axle's other tyres, the other axle, or a mixture.

    ``observed``: tyres of its kind; ``other_kinds`` is asked only where those say nothing. ``drive``: the car's driven
    wheels, None: not known, and nothing is taken as usual.
    """
    other = "rear" if axle == "front" else "front"
    worn = USUAL_MM.get((drive or "", axle))
    times = 1.0 if worn is None else worn / USUAL_MM[drive or "", other]
    found = {}
    for edge in EDGES:
        here, there = observed.get((axle, edge), ()), observed.get((other, edge), ())
        rate = (
            _measured(tyre, here, None if worn is None else worn * USUAL_EDGE[edge], scatter)
            or _expected(here, SPREAD, "other tyres", scatter)
            or _expected(there, AXLE_SPREAD, "other axle", scatter, times)
            or _expected(observed.get((MIXED, edge), ()), AXLE_SPREAD, "mixed places", scatter)
            or _expected((other_kinds or {}).get((axle, edge), ()), AXLE_SPREAD, "other kind", scatter)
        )
        if rate is not None:
            found[edge] = rate
    return found


# runs left to the floor, by the worst edge, with a range


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

    The last reading also ends the stretch the wear came from; that shared error is the covariance. The true rate is
    what was measured over what the days were, so their share stands with the depth to use: spare (1 +- share) / rate.
    """
    spare_var, wear_var = rate.scatter.gauge_mm**2, rate.sd**2
    shared = -rate.own * spare_var / rate.own_runs if rate.own_runs else 0.0
    a = rate.mm**2 - z * z * wear_var
    b = spare_mm * rate.mm - z * z * shared
    c = spare_mm**2 * (1.0 - (z * rate.share) ** 2) - z * z * spare_var
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
