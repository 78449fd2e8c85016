"""Tread depths and moves of tyres: what was typed, read, and the edits that log it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from paddock.actions.runs import one_row
from paddock.engine.tyres.counts import car_runs
from paddock.engine.tyres.inventory import Inventory, TyreState
from paddock.engine.tyres.proposals import FLIP, FRONT_REAR, SIDES, Moved
from paddock.engine.tyres.putting import Held, Put, after_move, put_on
from paddock.engine.tyres.wear import EDGES, by_tyre, edges_of
from paddock.model.edit import AddRow, Batch
from paddock.model.event import Event
from paddock.model.rows import CORNERS, FittedRow, TreadRow, TyreRow
from paddock.model.units import FAMILIES
from paddock.words import by_edge

TURNED = "turned over"
_DEEPEST_MM = 20.0
"""More than any tyre of a car has, new (common practice, no source)."""
_NEW_MM = 8.0
_CROSS = {"lf": Moved("rr"), "rf": Moved("lr"), "lr": Moved("rf"), "rr": Moved("lf")}
_MOVES = {"sides": SIDES, "cross": _CROSS, "turn": FLIP}


# depths


def _inward(text: str, unit: str) -> float | None:
    if text == "-":
        return None
    value = float(text.replace(",", "."))
    if unit != "32nds" and len(text) == 2 and text.isdigit():
        value /= 10
    found = FAMILIES["depth"].by_suffix(unit)
    inside = value if found is None else found.inward(value)
    if not 0 <= inside <= _DEEPEST_MM:
        raise ValueError(f"{text} {_unit_name(unit)} can't be a tread depth")
    return round(inside, 3)


def _unit_name(unit: str) -> str:
    return "32nds of an inch" if unit == "32nds" else "mm"


def read_depths(text: str, unit: str) -> dict[str, float]:
    """``4.4 4.6 3.1``: inner, middle, outer; ``-`` leaves one out, 44 in mm is 4.4. To mm.

    ``unit``: ``mm`` or ``32nds`` (of an inch). ValueError's sentence on anything else.
    """
    parts = text.split()
    fine = [re.fullmatch(r"-|\d{1,2}(?:[.,]\d{1,2})?", part) for part in parts]
    if len(parts) != 3 or not all(fine):
        raise ValueError(f"{text!r}: type three depths in {_unit_name(unit)}, inner middle outer, like 4.4 4.6 3.1; "
                         "- leaves one out")  # fmt: skip
    found = {edge: _inward(part, unit) for edge, part in zip(EDGES, parts, strict=True)}
    known = {edge: depth for edge, depth in found.items() if depth is not None}
    if not known:
        raise ValueError("three blanks are no reading: type at least one depth")
    return known


def depth_words(depths: Iterable[float | None], unit: str) -> str:
    """``4.4/4.6/3.1`` in the file's unit."""
    found = FAMILIES["depth"].by_suffix(unit)
    return by_edge((None if mm is None else (found.outward(mm) if found else mm) for mm in depths), 1)


def start_depths(state: TyreState | None, unit: str) -> dict[str, float]:
    """Edge to the depth expected now in the file's unit, to one decimal: where steppers start; 8 mm where unknown."""
    found = FAMILIES["depth"].by_suffix(unit)
    known = state.life.depth_mm if state else {}
    inside = {edge: max(0.0, known.get(edge, _NEW_MM)) for edge in EDGES}
    return {edge: round(found.outward(mm) if found else mm, 1) for edge, mm in inside.items()}


def _reading_day(event: Event, number: str, day: int) -> int:
    """A reading stands for the end of the latest day the car ran on; 0 before its first run."""
    ran = {run.day for run in car_runs(event, event.numbers_of_car(number)) if run.day <= day}
    return max(ran, default=0)


def grown(event: Event, tyre: str, day: int, depths: dict[str, float]) -> tuple[str, ...]:
    """Edges that would be deeper than at the reading before."""
    before = [row for row in by_tyre(event).get(tyre, []) if row.day < day]
    last = edges_of(before[-1]) if before else {}
    return tuple(edge for edge, depth in depths.items() if depth > last.get(edge, depth) + 1e-9)


def log_depths(event: Event, number: str, day: int, tyre: str, depths: dict[str, float]) -> tuple[Batch, int]:
    """The reading, and the day it stands for (0: before the first run)."""
    of_day = _reading_day(event, number, day)
    cells = {f"{edge}_mm": depth for edge, depth in depths.items()}
    row = one_row(event, TreadRow, {"day": of_day, "tyre": tyre}, cells)
    return Batch(f"tread depth of {tyre}", (row,)), of_day


# moves


def _named(text: str, held: Held) -> tuple[Put, ...]:
    """Four names in the order lf rf lr rr."""
    names = text.split()
    puts = [Put(corner, name, _turned(held, name)) for corner, name in zip(CORNERS, names, strict=True)]
    if len(set(names)) < len(names):
        raise ValueError(f"{text!r}: one tyre can't be on two corners")
    now = {corner: tyre for corner, (tyre, _) in held.items()}
    return tuple(put for put in puts if now.get(put.corner) != put.tyre)


def _turned(held: Held, tyre: str) -> bool:
    return any(place.turned for name, place in held.values() if name == tyre)


def _corners(words: Sequence[str]) -> tuple[str, ...]:
    ends = {"front": ("lf", "rf"), "rear": ("lr", "rr")}
    return next((ends[word] for word in words if word in ends), CORNERS)


def read_move(text: str, corner: str, held: Held) -> tuple[Put, ...]:
    """What a typed move puts where.

    ``front rear``, ``sides``, ``cross`` or ``turn`` (over on the rim), the last two of one axle with ``front`` or
    ``rear`` behind; a tyre's name for ``corner``; four names for lf rf lr rr. ValueError's sentence where it is none
    or changes nothing.
    """
    words = text.lower().split()
    puts: tuple[Put, ...]
    if words in (["front", "rear"], ["rear", "front"], ["ends"]):
        puts = after_move(held, FRONT_REAR)
    elif words and words[0] in ("sides", "cross", "turn") and set(words[1:]) <= {"front", "rear"}:
        puts = after_move(held, _MOVES[words[0]], _corners(words[1:]) if words[0] != "cross" else CORNERS)
    elif len(words) == 4:
        puts = _named(text, held)
    elif len(words) == 1 and corner:
        puts = put_on(held, corner, text.strip())
    else:
        raise ValueError(f"{text!r}: front rear, sides, cross, turn front, a tyre for the corner in hand, or four "
                         "tyres for lf rf lr rr")  # fmt: skip
    if not puts:
        raise ValueError("that changes nothing")
    return puts


def move_words(puts: Iterable[Put], held: Held) -> str:
    """``H3 to lf, H1 to lr``."""
    words = []
    for put in puts:
        place = next((place for tyre, place in held.values() if tyre == put.tyre), None)
        over = " turned over" if put.turned and not (place and place.turned) else ""
        over = " turned back" if place and place.turned and not put.turned else over
        here = place is not None and place.corner == put.corner
        words.append(f"{put.tyre}{over}" if here else f"{put.tyre} to {put.corner}{over}")
    return ", ".join(words)


def log_move(event: Event, known: Inventory, held: Held, number: str, day: int, run: int, puts: Sequence[Put]) -> Batch:
    """The tyres on from ``run`` on, those not ``known`` added to ``tyres.csv``: one step for undo."""
    added = [AddRow(TyreRow.FILE, {"tyre": put.tyre}) for put in puts if known.of(put.tyre) is None]
    rows = [
        one_row(event, FittedRow, {"day": day, "run": run, "number": number, "corner": put.corner},
                {"tyre": put.tyre, "orientation": TURNED if put.turned else None})
        for put in puts
    ]  # fmt: skip
    return Batch(f"tyres from run {run}: {move_words(puts, held)}", (*added, *rows))
