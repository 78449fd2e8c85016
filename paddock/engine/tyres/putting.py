"""Tyres moved about on a car: what stands where after a move, and what to think of before it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from paddock.engine.tyres.counts import FittedPlace, count_of, whole
from paddock.engine.tyres.inventory import Inventory, TyreState
from paddock.engine.tyres.proposals import Move
from paddock.engine.tyres.wear import EDGES, FLOOR_MM, Rates
from paddock.model.rows import CORNERS

# a square set, four of one size that change places, against a staggered one that keeps its axles


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
            f"{whole(self.rear_runs)}{apart}; four of one size that change places last {whole(self.square_runs)}"
            f"{square}{table}"
        )


def lives(spare_mm: float, front: Mapping[str, float], rear: Mapping[str, float]) -> tuple[float, float, float] | None:
    """``(front, rear, square)`` runs from new; None where an axle's wear isn't known or is nothing."""
    shared = [edge for edge in EDGES if edge in front and edge in rear]
    if not shared or spare_mm <= 0:
        return None
    worst_front, worst_rear = max(front[edge] for edge in shared), max(rear[edge] for edge in shared)
    worst_both = max((front[edge] + rear[edge]) / 2 for edge in shared)
    if min(worst_front, worst_rear, worst_both) <= 0:
        return None
    return spare_mm / worst_front, spare_mm / worst_rear, spare_mm / worst_both


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


CAUTION = (
    "Level ground, wheels chocked, on stands, never on a jack alone; wheel nuts to the maker's torque, and again "
    "after the first run."
)

Held = Mapping[str, tuple[str, FittedPlace]]
"""Corner to the tyre there and how it is fitted."""


@dataclass(frozen=True, slots=True)
class Put:
    """A tyre on a corner; ``turned``: the other way round on its rim than it came."""

    corner: str
    tyre: str
    turned: bool = False


def after_move(held: Held, move: Move, corners: Iterable[str] = CORNERS) -> tuple[Put, ...]:
    """Where the tyres of ``corners`` stand after ``move``, in the order of the corners."""
    puts = []
    for corner in corners:
        if corner in held:
            tyre, place = held[corner]
            to = move[corner]
            puts.append(Put(to.corner, tyre, place.turned != to.turned))
    return tuple(sorted(puts, key=lambda put: CORNERS.index(put.corner)))


def put_on(held: Held, corner: str, tyre: str) -> tuple[Put, ...]:
    """``tyre`` on ``corner``; where it was on another, the two change places. Empty: it is there already."""
    there = held.get(corner)
    if there is not None and there[0] == tyre:
        return ()
    was = next((name for name, (found, _) in held.items() if found == tyre), None)
    turned = was is not None and held[was][1].turned
    puts = [Put(corner, tyre, turned)]
    if was is not None and there is not None:
        puts.append(Put(was, there[0], there[1].turned))
    return tuple(sorted(puts, key=lambda put: CORNERS.index(put.corner)))


def _where(held: Held) -> dict[str, tuple[str, bool]]:
    return {tyre: (corner, place.turned) for corner, (tyre, place) in held.items()}


def _rolling(inventory: Inventory, held: Held, puts: Iterable[Put]) -> Iterator[str]:
    was = _where(held)
    for put in puts:
        state = inventory.of(put.tyre)
        directional = state.row.directional if state and state.row else None
        if put.tyre not in was or directional is False:
            continue
        corner, turned = was[put.tyre]
        wrong = (corner[0] != put.corner[0]) != (turned != put.turned)
        if wrong and directional:
            yield f"{put.tyre} is directional: it runs backwards unless it changes sides and is turned over at once"
        elif wrong:
            yield f"{put.tyre}: is it directional? tyres.csv doesn't say"


def _sizes(inventory: Inventory, held: Held, puts: Iterable[Put]) -> Iterator[str]:
    now = {corner: tyre for corner, (tyre, _) in held.items()} | {put.corner: put.tyre for put in puts}
    for axle, name in (("f", "front"), ("r", "rear")):
        states = [inventory.of(tyre) for corner, tyre in now.items() if corner[1] == axle]
        sizes = {" ".join(state.row.size.upper().split()) for state in states if state and state.row and state.row.size}
        if len(sizes) > 1:
            yield f"two sizes on the {name} axle: {', '.join(sorted(sizes))}"


def _left_over(held: Held, puts: Iterable[Put]) -> Iterator[str]:
    """Corners a tyre left that got no other."""
    puts = tuple(puts)
    taken = {put.corner for put in puts}
    moved = {put.tyre for put in puts}
    for corner, (tyre, _) in held.items():
        if tyre in moved and corner not in taken:
            yield f"nothing is on the {corner} then"


def doubts(inventory: Inventory, held: Held, puts: Iterable[Put]) -> tuple[str, ...]:
    """What speaks against a move or must be looked up; it can be logged all the same."""
    puts = tuple(puts)
    unknown = [f"{put.tyre} isn't in tyres.csv yet: it is added" for put in puts if inventory.of(put.tyre) is None]
    return (*unknown, *_rolling(inventory, held, puts), *_sizes(inventory, held, puts), *_left_over(held, puts))
