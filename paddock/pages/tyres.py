"""Tyres: runs, depth, wear and runs left by tyre; what to move, what to buy, why they wear where they do."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from paddock.actions.tyres import depth_words, move_words
from paddock.engine.tyres.buying import orders, questions
from paddock.engine.tyres.causes import why_they_wear
from paddock.engine.tyres.counts import car_key, fitted_now
from paddock.engine.tyres.inventory import Inventory, TyreState, inventory
from paddock.engine.tyres.proposals import Refusal, TyreProposal, moves_for
from paddock.engine.tyres.putting import CAUTION, Held, Put, doubts, square_against_staggered
from paddock.engine.tyres.wear import EDGES, FLOOR_MM
from paddock.errors import Problem
from paddock.model.event import Event
from paddock.model.rows import CORNERS
from paddock.model.season import Booking
from paddock.pages.document import Block, Column, Document, PageTable, TableRow, Words, paragraphs, words
from paddock.words import by_edge, runs_left

NO_FILES = "no tyres yet: write tyres.csv, fitted.csv and tread.csv"
NONE_ON = (
    "No tyres are known on this car yet. m puts them on: type four names of your own in the order left front, right "
    "front, left rear, right rear, like F1 F2 R1 R2. Then type their depths: wear and runs left follow. a adds "
    "a set with what it cost and its limits."
)


@dataclass(frozen=True, slots=True)
class Beside:
    """What stands beside the event's folder: earlier events of the same cars, and the booked ones."""

    past: tuple[Event, ...] = ()
    booked: tuple[Booking, ...] = ()


@dataclass(frozen=True, slots=True)
class TyreLine:
    """One tyre, or a corner without one (``state`` None). ``corner`` blank: not on the car."""

    corner: str
    state: TyreState | None

    @property
    def id(self) -> str:
        """What names the line."""
        return self.corner or (self.state.tyre if self.state else "")


@dataclass(frozen=True, slots=True)
class Tyres:
    """Tyres of one car, or of all (``car`` blank): ``lines`` as listed, ``proposals`` best first.

    ``reasons``: why they go first where they do; ``asked``: what the files leave open. ``held``: corner to tyre.
    """

    car: str
    inventory: Inventory
    held: Held
    lines: tuple[TyreLine, ...]
    proposals: tuple[TyreProposal, ...]
    refusals: tuple[Refusal, ...]
    reasons: tuple[str, ...] = ()
    asked: tuple[Problem, ...] = ()

    def line(self, line_id: str | None) -> TyreLine | None:
        """The line of an id."""
        return next((item for item in self.lines if item.id == line_id), None)


def tyres_of(event: Event, number: str, beside: Beside) -> Tyres:
    """The four corners of the car of ``number``, then its other tyres, and what to do about them."""
    car = car_key(event, number)
    whole = all_tyres(event, beside)
    found, held = whole.inventory, fitted_now(event, event.numbers_of_car(number))

    def mine(tyres: Iterable[str]) -> bool:
        return any(state is not None and state.car == car for state in map(found.of, tyres))

    return Tyres(
        car, found, held, _lines(found, held, car),
        tuple(item for item in whole.proposals if mine(item.tyres)),
        tuple(item for item in whole.refusals if mine(item.tyres)),
        why_they_wear(event, found, car),
    )  # fmt: skip


def all_tyres(event: Event, beside: Beside) -> Tyres:
    """Every tyre of my cars, as the files name them."""
    found = inventory(event, beside.past)
    moves, refusals = moves_for(found)
    return Tyres(
        "", found, {}, tuple(TyreLine(item.place.corner if item.place else "", item) for item in found.tyres),
        (*orders(event, found, beside.booked), *moves), tuple(refusals),
        (*why_they_wear(event, found), *(item.sentence for item in square_against_staggered(found))),
        tuple(questions(event, beside.past)),
    )  # fmt: skip


def _lines(found: Inventory, held: Held, car: str) -> tuple[TyreLine, ...]:
    if not held and not found.tyres:
        return ()
    on = [TyreLine(corner, found.of(held[corner][0]) if corner in held else None) for corner in CORNERS]
    names = {tyre for tyre, _ in held.values()}
    off = [TyreLine("", item) for item in found.tyres
           if item.tyre not in names and item.place is None and item.car in (None, car)]  # fmt: skip
    return (*on, *off)


# what is said


def whole(tyres: Tyres, unit: str = "mm") -> Document:
    """Everything a command prints."""
    if not tyres.lines:
        return Document("tyres", (words(NO_FILES),))
    short = "mm" if unit != "32nds" else "32nds of an inch"
    notes = [f"in/mid/out: tread now in {short}, wear in mm; runs left: 80 % range in brackets; heats: times warmed "
             "from cold here"]  # fmt: skip
    if not all(item.state and item.state.row and item.state.row.floor_mm is not None for item in tyres.lines):
        notes.append(
            f"floor {FLOOR_MM} mm (the least allowed in the EU) where tyres.csv has none; your own floor is better, "
            "for grip goes earlier"
        )
    asked = [words(f"{item}", bullet="? ") for item in tyres.asked]
    blocks: list[Block] = [table(tyres.lines, unit), *paragraphs(notes, "quiet"), words(""), *advice(tyres)]
    return Document("tyres", (*blocks, *([words(""), *asked] if asked else [])))


def table(lines: Sequence[TyreLine], unit: str) -> PageTable:
    """A row a tyre; ``unit``: that of the depths, ``mm`` or ``32nds``; the wear is in mm."""
    columns = (
        Column("at"), Column("tyre", most=12), Column("runs (here)", drop=3), Column("in/mid/out", drop=2),
        Column("wear a run", drop=4), Column("runs left"), Column("by edge"),
        Column("heats, age, cost", drop=5, under=True),
    )  # fmt: skip
    return PageTable(columns, tuple(TableRow(_cells(item, unit), item.id) for item in lines))


def _cells(item: TyreLine, unit: str) -> tuple[str, ...]:
    state = item.state
    if state is None:
        return (item.corner, "none", "", "", "", "", "", "")
    besides = [f"{state.cycles} heat{'' if state.cycles == 1 else 's'}"]
    besides += [] if state.age_years is None else [f"{state.age_years:.1f} years old"]
    besides += [] if state.cost_per_run is None else [f"{state.cost_per_run:.2f} a run"]
    return (
        item.corner or "off", state.tyre, f"{state.runs} ({state.event_runs})", _depth(state, unit), _wear(state),
        _left(state), state.life.edge or "-", ", ".join(besides),
    )  # fmt: skip


def _depth(state: TyreState, unit: str) -> str:
    return depth_words((state.life.depth_mm.get(edge) for edge in EDGES), unit)


def _wear(state: TyreState) -> str:
    return by_edge((state.wear[edge].mm if edge in state.wear else None for edge in EDGES), 3)


def _left(state: TyreState) -> str:
    return runs_left(state.life.runs, state.life.low, state.life.high)


def in_hand(item: TyreLine, unit: str) -> Words:
    """The tyre in hand in a sentence or two."""
    state = item.state
    if state is None:
        return words((f"Nothing is known to be on the {item.corner}: m puts a tyre there.", "strong"))
    where = item.corner + (" turned over" if state.place and state.place.turned else "") if item.corner else "off"
    parts = [f"{state.tyre}, {where}: {state.runs} ({state.event_runs}) runs, {state.cycles} heats here"]
    if state.life.depth_mm:
        short = "mm" if unit != "32nds" else "/32 in"
        parts.append(f"{_depth(state, unit)} {short} in/mid/out now, wears {_wear(state)} mm a run")
    else:
        parts.append("no depth yet: type inner middle outer")
    if state.life.runs is None:
        parts.append("runs left need two readings with runs between")
    else:
        parts.append(f"{_left(state)} runs left to {state.life.floor_mm:g} mm at the {state.life.edge} edge")
    return words(("; ".join(parts), "strong"))


def steppers(depths: Mapping[str, float], moved: bool) -> Words:
    """A stepper for each edge, and what logs them once one was moved."""
    pieces: list[str | tuple[str, str] | tuple[str, str, str]] = []
    for edge, depth in depths.items():
        pieces += [(f"{edge} ", "quiet"), (" - ", "key", f"bump('{edge}', -1)"), f"{depth:.1f}",
                   (" + ", "key", f"bump('{edge}', 1)"), "  "]  # fmt: skip
    return words(*pieces, *([(" log it ", "hand", "take")] if moved else []))


def advice(tyres: Tyres) -> tuple[Words, ...]:
    """What to swap and buy, what not and why, and why they wear where they do."""
    said = [item.sentence for item in tyres.proposals]
    refused = [f"no {item.kind} for {', '.join(item.tyres)}: {item.reason}" for item in tyres.refusals]
    none = () if said else (words("nothing to swap or buy yet"),)
    return (*none, *(words(item, bullet="- ") for item in (*said, *refused)), *paragraphs(tyres.reasons))


def move_asked(tyres: Tyres, puts: Sequence[Put], day: int, run: int) -> tuple[str, tuple[Words, ...]]:
    """What would stand where, in a sentence, and what to mind before it is logged."""
    head = f"From run {run} of day {day}: {move_words(puts, tyres.held)}."
    odd = (words(text, bullet="? ") for text in doubts(tyres.inventory, tyres.held, puts))
    return head, (*odd, words(CAUTION, bullet="! "))
