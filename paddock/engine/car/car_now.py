"""The car as it is now: the holes in use are those of the last logged change, not those it came with."""

from __future__ import annotations

import re

from paddock.engine.car.bar_rates import Pair
from paddock.engine.car.bars import BarTable
from paddock.engine.car.findings import Finding, doubt
from paddock.engine.car.setup_sheet import NOW, changes_of, setup_at
from paddock.model.car import Axle, Car
from paddock.model.event import Event

__all__ = ["car_in_force", "holes_of", "least_moved"]

Holes = tuple[int, int]


def holes_of(text: str | None) -> Holes | None:
    """``1-2``: left and right hole; None where the text is no pair of holes."""
    found = re.fullmatch(r"\s*(\d{1,2})\s*[-/]\s*(\d{1,2})\s*", text or "")
    return None if found is None else (int(found[1]), int(found[2]))


def _with_holes(car: Car, axle: str, holes: Holes) -> Car:
    ends: Axle = getattr(car, axle)
    if ends.bar is None:
        return car
    bar = ends.bar.model_copy(update={"left": holes[0], "right": holes[1]})
    setup = {**car.setup, f"{axle}_bar": f"{holes[0]}-{holes[1]}"}
    return car.model_copy(update={axle: ends.model_copy(update={"bar": bar}), "setup": setup})


def car_in_force(event: Event, number: str, car: Car) -> tuple[Car, tuple[Finding, ...]]:
    """``car`` of ``number`` with the bar holes its change log leaves in use.

    A change of ``front_bar`` or ``rear_bar`` that names no pair of holes is told and leaves the file's holes.
    """
    changed = {row.setting for row in changes_of(event, number)}
    held = setup_at(event, number, *NOW)
    found: list[Finding] = []
    for axle in ("front", "rear"):
        key = f"{axle}_bar"
        if key not in changed:
            continue
        holes = holes_of(held.get(key))
        if holes is None:
            found.append(doubt(f"setup.{key}", f"the change log says {held.get(key)!r}, which is no pair of holes like "
                               "1-2 (left-right): the car file's holes are used"))  # fmt: skip
        else:
            car = _with_holes(car, axle, holes)
    return car, tuple(found)


def least_moved(table: BarTable, pair: Pair) -> Pair:
    """Of the pairs as stiff as ``pair`` (2-3 and 3-2) the one that moves the fewest holes from those in use."""
    now = table.in_use
    if now is None:
        return pair
    same = [
        item for item in table.pairs
        if abs(item.end_rate_n_mm - pair.end_rate_n_mm) < 1e-9 and item.roll_nm_per_rad == pair.roll_nm_per_rad
    ]  # fmt: skip
    return min(same, key=lambda item: abs(item.left - now.left) + abs(item.right - now.right), default=pair)
