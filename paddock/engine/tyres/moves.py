"""What moving tyres about buys: each place keeps its wear, the tyres change places once, at the best moment.

With depth d above the floor, wear r1 here and r2 there, a tyre moved after x runs lasts x + (d - x r1) / r2 in all.
The life of a set is the least of these over tyres and edges: concave in x, so the best x is found by trisection.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from paddock.engine.tyres.readings import turned_over


@dataclass(frozen=True, slots=True)
class Stock:
    """A tyre on a corner: mm above its floor, and the wear of that corner in mm per run, both by edge."""

    tyre: str
    spare_mm: Mapping[str, float]
    wear_mm: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Moved:
    """Where a tyre goes, and whether it is turned over on its rim on the way."""

    corner: str
    turned: bool = False


Move = Mapping[str, Moved]

FRONT_REAR: Move = {"lf": Moved("lr"), "lr": Moved("lf"), "rf": Moved("rr"), "rr": Moved("rf")}
SIDES: Move = {"lf": Moved("rf"), "rf": Moved("lf"), "lr": Moved("rr"), "rr": Moved("lr")}
FLIP: Move = {corner: Moved(corner, True) for corner in ("lf", "rf", "lr", "rr")}
FLIP_ACROSS: Move = {corner: Moved(to.corner, True) for corner, to in SIDES.items()}


@dataclass(frozen=True, slots=True)
class Gain:
    """``after``: runs from now until the move; ``without`` and ``life``: runs from now to the first floor."""

    after: float
    without: float
    life: float

    @property
    def runs(self) -> float:
        """Runs bought."""
        return self.life - self.without


def _edge_lasts(spare_mm: float, wear_mm: float) -> float:
    if spare_mm <= 0:
        return 0.0
    return spare_mm / wear_mm if wear_mm > 0 else math.inf


def _lasts(spare_mm: Mapping[str, float], wear_mm: Mapping[str, float]) -> float:
    return min(
        (_edge_lasts(spare, wear_mm[edge]) for edge, spare in spare_mm.items() if edge in wear_mm), default=math.inf
    )


Edges = tuple[tuple[float, float, float], ...]
"""Of one tyre, for each edge: mm to spare, wear here, wear where it goes."""


def _edges(stock: Stock, there: Moved, wear_there: Mapping[str, float]) -> Edges:
    pairs = [(spare, stock.wear_mm.get(edge, 0.0), edge) for edge, spare in stock.spare_mm.items()]
    goes_to = turned_over({edge: index for index, (_, _, edge) in enumerate(pairs)}) if there.turned else None
    names = {index: edge for edge, index in goes_to.items()} if goes_to else {}
    return tuple(
        (spare, here, wear_there[name]) for index, (spare, here, edge) in enumerate(pairs)
        if (name := names.get(index, edge)) in wear_there
    )  # fmt: skip


def _life_moved(tyres: Sequence[Edges], after: float) -> float:
    """Runs until the first floor when the tyres are moved ``after`` runs from now."""
    life = math.inf
    for edges in tyres:
        for spare, here, there in edges:
            life = min(life, _edge_lasts(spare - after * here, there))
    return after + life


def gain(stocks: Mapping[str, Stock], move: Move) -> Gain | None:
    """The best single move of the tyres on ``stocks``; None where a place is empty or no wear is known."""
    if not stocks or any(move[corner].corner not in stocks for corner in stocks):
        return None
    without = min(_lasts(stock.spare_mm, stock.wear_mm) for stock in stocks.values())
    if not math.isfinite(without):
        return None
    tyres = [_edges(stock, move[corner], stocks[move[corner].corner].wear_mm) for corner, stock in stocks.items()]
    low, high = 0.0, without
    for _ in range(200):
        a, b = low + (high - low) / 3, high - (high - low) / 3
        if _life_moved(tyres, a) < _life_moved(tyres, b):
            low = a
        else:
            high = b
        if high - low < 1e-9:
            break
    after = (low + high) / 2
    life = _life_moved(tyres, after)
    return Gain(after, without, life) if math.isfinite(life) else None
