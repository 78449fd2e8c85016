"""Tyres moved about on a car: what stands where after a move, and what to think of before it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from paddock.engine.tyres.counts import Place
from paddock.engine.tyres.inventory import Inventory
from paddock.engine.tyres.moves import Move
from paddock.model.rows import CORNERS

CAUTION = (
    "Level ground, wheels chocked, on stands, never on a jack alone; wheel nuts to the maker's torque, and again "
    "after the first run."
)

Held = Mapping[str, tuple[str, Place]]
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
