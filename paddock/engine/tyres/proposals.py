"""What to do about wear: swap, sides, flip, buy; with what each buys and what it costs.

Which moves are possible is common practice, no source: front and rear change only on four tyres of one size; a
directional tyre changes sides only when it is turned over on its rim as well, and turned over only when it changes
sides. Where a size or ``directional`` is blank the move isn't proposed, and what to write is said.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from paddock.engine.tyres.counts import count_of, whole
from paddock.engine.tyres.inventory import Inventory, TyreState
from paddock.engine.tyres.wear import turned_over

# what moving tyres about buys: each place keeps its wear, the tyres change places once, at the best moment


@dataclass(frozen=True, slots=True)
class Stock:
    """A tyre on a corner: mm above its floor, and the wear of that corner in mm per run, both by edge.

    ``doubt``: the ends of its range of runs left as shares of the figure; None: not known, no upper end.
    """

    tyre: str
    spare_mm: Mapping[str, float]
    wear_mm: Mapping[str, float]
    doubt: tuple[float | None, float | None] = (None, None)


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
    """``after``: runs from now until the move; ``without`` and ``life``: runs from now to the first floor.

    ``doubt``: as the stock's that goes first without it; what is unsure of the wear is so with the move as well.
    """

    after: float
    without: float
    life: float
    doubt: tuple[float | None, float | None] = (None, None)

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
    first = min(stocks.values(), key=lambda stock: _lasts(stock.spare_mm, stock.wear_mm))
    without = _lasts(first.spare_mm, first.wear_mm)
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
    return Gain(after, without, life, first.doubt) if math.isfinite(life) else None


Kind = str
LEAST_RUNS, LEAST_SHARE = 3.0, 0.05
"""A move is named when it buys this many runs and this share of the life (a choice, no source)."""
NEAR_SHARE = 0.9
"""A move that lasts this share of the longest is as good (a choice, no source)."""
WORK = ("sides", "swap", "flip")
"""The least work first: two wheels off, four wheels off, tyres off their rims (common practice, no source)."""
WET_ROAD = (
    "Mind a wet road: the more worn tyres then stand at the rear, and there they let go without warning; not before a "
    "wet day or a wet way home."
)
"""Common practice: the better tyres belong on the rear axle of a car on the road; no source."""
_SAME_MM = 0.05
CORNERS = ("lf", "rf", "lr", "rr")


@dataclass(frozen=True, slots=True)
class TyreProposal:
    """``kind``: swap, sides, flip, buy. Moves have ``runs_gained`` and ``after_runs`` (from now until the move);
    ``life``: runs from now to the first floor with the move; ``buy`` has ``order_by``, None where the date can't be
    told."""

    kind: Kind
    tyres: tuple[str, ...]
    sentence: str
    runs_gained: float | None = None
    after_runs: float | None = None
    order_by: date | None = None
    life: float | None = None


@dataclass(frozen=True, slots=True)
class Refusal:
    """A move that can't be, or can't be told, with the reason."""

    kind: Kind
    tyres: tuple[str, ...]
    reason: str


def stocks_of(held: Mapping[str, str], inventory: Inventory) -> dict[str, Stock]:
    """Corner to what is left on it and how it wears, for the corners where both are known."""
    found = {}
    for corner, tyre in held.items():
        state = inventory.of(tyre)
        if state is not None and state.life.depth_mm and state.wear:
            spare = {edge: depth - state.life.floor_mm for edge, depth in state.life.depth_mm.items()}
            runs, low, high = state.life.runs, state.life.low, state.life.high
            doubt = (None, None) if not runs else (low and low / runs, high and high / runs)
            found[corner] = Stock(tyre, spare, {edge: rate.mm for edge, rate in state.wear.items()}, doubt)
    return found


def _sizes(states: Sequence[TyreState]) -> set[str | None]:
    return {" ".join(state.row.size.upper().split()) if state.row and state.row.size else None for state in states}


def _directional(states: Sequence[TyreState]) -> bool | None:
    """True, False, or None where a tyre's cell is blank or they differ."""
    flags = {state.row.directional if state.row else None for state in states}
    return next(iter(flags)) if len(flags) == 1 else None


def _when(after: float) -> str:
    return "now" if after < 1 else f"after {count_of(round(after), 'more run')} or a little before"


def _lasting(found: Gain) -> str:
    life, without = _ranged(found.life, found.doubt), _ranged(found.without, found.doubt)
    return f"the first of them is at its floor after about {life} runs instead of {without}"


def _ranged(runs: float, doubt: tuple[float | None, float | None]) -> str:
    """``147 (82-476)``; the figure alone where no range is known."""
    low, high = doubt
    if low is None:
        return f"{whole(runs)}"
    return f"{whole(runs)} ({whole(low * runs)}{'+' if high is None else f'-{whole(high * runs)}'})"


def _worth(found: Gain | None) -> Gain | None:
    if found is None or found.runs < max(LEAST_RUNS, LEAST_SHARE * found.without):
        return None
    return found


def _proposal(kind: Kind, stocks: Mapping[str, Stock], move: Move, head: str, cost: str) -> TyreProposal | None:
    found = _worth(gain(stocks, move))
    if found is None:
        return None
    tyres = tuple(stocks[corner].tyre for corner in CORNERS if corner in stocks)
    sentence = f"{head} {_when(found.after)}: {_lasting(found)}. It costs {cost}."
    return TyreProposal(kind, tyres, sentence, runs_gained=found.runs, after_runs=found.after, life=found.life)


def _worst_to_rear(stocks: Mapping[str, Stock], after: float) -> bool:
    """Whether, at the move, the tyre with the least tread to spare stands on the front and so comes to the rear."""

    def least(axle: str) -> float:
        return min(
            spare - after * stock.wear_mm.get(edge, 0.0)
            for corner, stock in stocks.items() if corner[1] == axle for edge, spare in stock.spare_mm.items()
        )  # fmt: skip

    return least("f") < least("r") - _SAME_MM


def _front_rear(car: str, held: Mapping[str, str], inventory: Inventory) -> TyreProposal | Refusal | None:
    stocks = stocks_of(held, inventory)
    if len(stocks) < 4:
        return None
    states = [state for state in map(inventory.of, held.values()) if state is not None]
    tyres, sizes = tuple(held.values()), _sizes(states)
    if None in sizes:
        return Refusal("swap", tyres, "a size is blank in tyres.csv: front and rear change only on one size")
    if len(sizes) > 1:
        return Refusal("swap", tyres, "front and rear sizes differ: each axle keeps its own tyres")
    found = gain(stocks, FRONT_REAR)
    caution = "" if found is None or not _worst_to_rear(stocks, found.after) else f" {WET_ROAD}"
    cost = "four wheels off once and their nuts again after the first run; then all four are due together"
    made = _proposal("swap", stocks, FRONT_REAR, f"{car}: swap front and rear on each side", cost)
    return made and replace(made, sentence=made.sentence + caution)


def _axle_move(
    kind: Kind, stocks: Mapping[str, Stock], states: Sequence[TyreState], head: str, axle: str
) -> TyreProposal | Refusal | None:
    tyres, directional = tuple(stock.tyre for stock in stocks.values()), _directional(states)
    if directional is None:
        return Refusal(kind, tyres, "say yes or no under directional in tyres.csv, the same for both tyres")
    if kind == "sides":
        if directional:
            return Refusal(kind, tyres, "directional: they change sides only when turned over on the rim as well")
        cost = "two wheels off once and their nuts again after the first run"
        return _proposal(kind, stocks, SIDES, f"{head}: change sides on the {axle}", cost)
    if len(_sizes(states)) > 1:
        return Refusal(kind, tyres, "left and right sizes differ")
    move, also = (FLIP_ACROSS, " and change sides") if directional else (FLIP, "")
    cost = "two tyres taken off, turned and balanced (not where the wall is marked inside and outside)"
    return _proposal(kind, stocks, move, f"{head}: turn the {axle} tyres over on their rims{also}", cost)


def _axle(car: str, held: Mapping[str, str], inventory: Inventory, axle: str) -> list[TyreProposal | Refusal | None]:
    corners = [corner for corner in CORNERS if corner[1] == axle[0] and corner in held]
    stocks = stocks_of({corner: held[corner] for corner in corners}, inventory)
    states = [state for state in (inventory.of(stock.tyre) for stock in stocks.values()) if state is not None]
    if len(stocks) < 2:
        return []
    return [_axle_move(kind, stocks, states, car, axle) for kind in ("sides", "flip")]


def _first(rivals: Sequence[TyreProposal]) -> tuple[TyreProposal, str]:
    """Of moves that want the same tyres the one to make, and why: the least work among those that last as long."""
    longest = max(item.life or 0.0 for item in rivals)
    near = [item for item in rivals if (item.life or 0.0) >= NEAR_SHARE * longest]
    best = min(near, key=lambda item: (WORK.index(item.kind), -(item.life or 0.0)))
    if (best.life or 0.0) >= longest:
        return best, "it lasts longest"
    return best, f"it is less work, and {whole(best.life or 0)} runs are nearly the {whole(longest)} of the other"


def in_turn(proposals: Sequence[TyreProposal]) -> tuple[TyreProposal, ...]:
    """Moves that want the same tyres: one to do, the others as alternatives; the rest as they are."""
    found: list[TyreProposal] = []
    for item in proposals:
        rivals = [other for other in proposals if set(other.tyres) & set(item.tyres)]
        if len(rivals) == 1:
            found.append(item)
            continue
        best, why = _first(rivals)
        said = (
            f"Do this: {item.sentence} First because {why}." if item is best else f"Or instead of it: {item.sentence}"
        )
        found.append(replace(item, sentence=said))
    return tuple(sorted(found, key=lambda item: item.sentence.startswith("Or instead")))


def moves_for(inventory: Inventory) -> tuple[tuple[TyreProposal, ...], tuple[Refusal, ...]]:
    """The moves worth making on each car, best first, and the ones that can't be with the reason."""
    found: list[TyreProposal | Refusal | None] = []
    for car, held in inventory.cars.items():
        found.append(_front_rear(car, held, inventory))
        found += [*_axle(car, held, inventory, "front"), *_axle(car, held, inventory, "rear")]
    proposals = sorted(
        (item for item in found if isinstance(item, TyreProposal)), key=lambda item: -(item.runs_gained or 0)
    )
    return in_turn(proposals), tuple(item for item in found if isinstance(item, Refusal))
