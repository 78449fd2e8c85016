"""A square set, four of one size that change places, against a staggered one that keeps its axles.

From new, with d above the floor and wear f and r a run (front, rear) on an edge, a tyre kept on its axle lasts
d / f or d / r by its worst edge; four that spend half their runs on each axle last d / ((f + r) / 2), again by the
worst edge. The same rubber goes to the floor, so one set saves money only where the axles wear different edges.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from paddock.engine.tyres.counts import count_of
from paddock.engine.tyres.inventory import Inventory, TyreState
from paddock.engine.tyres.life import FLOOR_MM
from paddock.engine.tyres.readings import EDGES
from paddock.engine.tyres.wear import Rates


@dataclass(frozen=True, slots=True)
class SquareAnswer:
    """Runs from new and money a run for four tyres of a car. ``new_mm``: the deepest reading on it, taken for new.

    Money None: a price is blank. ``table_cost``: the four tyres' own ``cost_per_run`` added up, over their whole
    lives. ``is_square``: all four are one size now; None: a size is blank.
    """

    car: str
    is_square: bool | None
    new_mm: float
    front_runs: float
    rear_runs: float
    square_runs: float
    apart_cost: float | None
    square_cost: float | None
    table_cost: float | None = None

    @property
    def sentence(self) -> str:
        """Both in one line."""
        costs = (self.apart_cost, self.square_cost)
        apart, square = ("" if cost is None else f" ({cost:.2f} a run for all four)" for cost in costs)
        table = "" if self.table_cost is None or self.apart_cost is None else (
            f". These four cost {self.table_cost:.2f} a run in the table, which counts the runs they did before that"
        )  # fmt: skip
        return (
            f"{self.car}, every set counted from {self.new_mm:.1f} mm, the deepest reading here, to the floor: kept on "
            f"their axles a pair of fronts lasts {count_of(self.front_runs)} and a pair of rears "
            f"{int(self.rear_runs)}{apart}; four of one size that change places last {int(self.square_runs)}{square}"
            f"{table}"
        )


def lives(spare_mm: float, front: Mapping[str, float], rear: Mapping[str, float]) -> tuple[float, float, float] | None:
    """``(front, rear, square)`` runs from new; None where an axle's wear isn't known or is nothing."""
    shared = [edge for edge in EDGES if edge in front and edge in rear]
    worst = [
        max((front[edge] for edge in shared), default=0.0),
        max((rear[edge] for edge in shared), default=0.0),
        max(((front[edge] + rear[edge]) / 2 for edge in shared), default=0.0),
    ]
    if min(worst) <= 0 or spare_mm <= 0:
        return None
    return spare_mm / worst[0], spare_mm / worst[1], spare_mm / worst[2]


def _axle_wear(states: Iterable[TyreState]) -> dict[str, float]:
    rates: list[Rates] = [state.wear for state in states if state.wear]
    return {
        edge: sum(rate[edge].mm for rate in rates) / len(rates) for edge in EDGES
        if rates and all(edge in rate for rate in rates)
    }  # fmt: skip


def _price(states: Iterable[TyreState]) -> float | None:
    prices = [state.row.price if state.row else None for state in states]
    known = [price for price in prices if price is not None]
    return sum(known) / len(known) if known and len(known) == len(prices) else None


def _whole_lives(states: Iterable[TyreState]) -> float | None:
    costs = [state.cost_per_run for state in states]
    return None if None in costs else sum(cost for cost in costs if cost is not None)


def _one(car: str, fronts: list[TyreState], rears: list[TyreState]) -> SquareAnswer | None:
    states = [*fronts, *rears]
    depths = [depth for state in states for depth in state.read_mm.values()]
    floor = max((state.life.floor_mm for state in states), default=FLOOR_MM)
    found = lives(max(depths, default=0.0) - floor, _axle_wear(fronts), _axle_wear(rears))
    if found is None:
        return None
    front_runs, rear_runs, square_runs = found
    front_price, rear_price, price = _price(fronts), _price(rears), _price(states)
    apart = None
    if front_price is not None and rear_price is not None:
        apart = 2 * front_price / front_runs + 2 * rear_price / rear_runs
    sizes = {state.row.size if state.row else None for state in states}
    return SquareAnswer(
        car, None if None in sizes else len(sizes) == 1, max(depths), front_runs, rear_runs, square_runs, apart,
        None if price is None else 4 * price / square_runs, _whole_lives(states),
    )  # fmt: skip


def square_against_staggered(inventory: Inventory) -> tuple[SquareAnswer, ...]:
    """One answer for each car with two tyres on each axle and wear known on both."""
    found = []
    for car, held in inventory.cars.items():
        axles = {
            end: [state for corner, tyre in held.items() if corner[1] == end and (state := inventory.of(tyre))]
            for end in "fr"
        }
        if len(axles["f"]) == len(axles["r"]) == 2:
            found.append(_one(car, axles["f"], axles["r"]))
    return tuple(item for item in found if item is not None)
