"""Bars and balance of one car as a screen shows them, and the edit that moves a bar to other holes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from paddock import words_car
from paddock.engine.car.balance import Transfer, load_transfer, roll_share_curve, share_per_pair
from paddock.engine.car.bar_rates import Pair
from paddock.engine.car.bars import CAUTIONS, BarTable, pairs_table
from paddock.engine.car.car_now import least_moved
from paddock.engine.car.compensation import GiveBack, give_back
from paddock.engine.responses import Response
from paddock.model.car import Car
from paddock.model.edit import Batch
from paddock.model.event import Event
from paddock.model.rows import ChangeRow, WorkRow
from paddock.views.car import CarNow, Fault
from paddock.views.journal import add_change

__all__ = [
    "CAUTIONS", "LEAST_SHARE", "BarLine", "Bars", "bars_of", "curves", "move_bar", "moved_words", "tried", "work_words",
]  # fmt: skip

LEAST_SHARE = 4.0
"""Points of front share a picture spans at least: less would make a hill of a flat line (a choice, no source)."""

AXLES = ("front", "rear")
Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class BarLine:
    """One pair of holes. ``share`` None: not known; ``now``: as it is set, or its mirror image."""

    axle: str
    pair: Pair
    share: float | None
    now: bool

    @property
    def id(self) -> str:
        """What names the line."""
        return f"{self.axle} {self.holes}"

    @property
    def holes(self) -> str:
        """``1-2``: left and right hole."""
        return words_car.holes(self.pair.left, self.pair.right)


@dataclass(frozen=True, slots=True)
class Bars:
    """``lateral_g`` None: the car's own cornering. ``none``: axles without a bar. ``transfer`` None: not known."""

    car: Car | None
    lateral_g: float | None
    lines: tuple[BarLine, ...]
    in_use: dict[str, Pair | None]
    none: tuple[str, ...]
    transfer: Transfer | None
    faults: tuple[Fault, ...]

    def line(self, line_id: str | None) -> BarLine | None:
        """The line of an id."""
        return next((item for item in self.lines if item.id == line_id), None)


def _lines(car: Car, table: BarTable, lateral_g: float | None) -> list[BarLine]:
    shares = dict(zip(table.pairs, share_per_pair(car, table, lateral_g), strict=True))
    now = table.in_use
    found = []
    for pair in table.distinct:
        nearest = least_moved(table, pair)
        same = now is not None and nearest == now
        found.append(BarLine(table.axle, nearest, shares.get(nearest), same))
    return found


def bars_of(now: CarNow, lateral_g: float | None = None) -> Bars:
    """Every pair of holes of both bars, soft to stiff, the front first."""
    car = now.car
    if car is None:
        return Bars(None, lateral_g, (), {}, (), None, now.faults)
    tables = {axle: pairs_table(car, axle) for axle in AXLES}
    balance = load_transfer(car, lateral_g)
    lines = [line for table in tables.values() if table for line in _lines(car, table, lateral_g)]
    findings = [table.findings for table in tables.values() if table]
    return Bars(
        car=car,
        lateral_g=lateral_g,
        lines=tuple(lines),
        in_use={axle: table.in_use for axle, table in tables.items() if table},
        none=tuple(axle for axle, table in tables.items() if table is None),
        transfer=balance.transfer,
        faults=now.with_findings(*findings, balance.findings),
    )


def _tried_holes(line: BarLine) -> dict[str, tuple[int, int]]:
    return {line.axle: (line.pair.left, line.pair.right)}


def tried(bars: Bars, line: BarLine, learned: Iterable[Response]) -> GiveBack | None:
    """What the holes of ``line`` would do to the balance, and what gives it back."""
    if bars.car is None:
        return None
    return give_back(bars.car, responses=learned, lateral_g=bars.lateral_g, **_tried_holes(line))


def curves(bars: Bars, line: BarLine | None) -> dict[str, Points]:
    """Front share in per cent, from half the cornering reckoned at to a little over it: as set, and with ``line``."""
    if bars.car is None or bars.transfer is None:
        return {}
    top, least = bars.transfer.lateral_g * 1.05, bars.transfer.lateral_g / 2
    found = {"as set now": roll_share_curve(bars.car, top_g=top)}
    if line is not None and not line.now:
        holes = _tried_holes(line)
        found[line.id] = roll_share_curve(bars.car, holes.get("front"), holes.get("rear"), top)
    return {
        name: tuple((g, round(share * 100, 3)) for g, share in points if g >= least) for name, points in found.items()
    }


def moved_words(bars: Bars, line: BarLine) -> str:
    """``front bar 1-2 to 2-2``."""
    now = bars.in_use.get(line.axle)
    before = words_car.holes(now.left, now.right) if now else "?"
    return f"{line.axle} bar {before} to {line.holes}"


def _item(event: Event, setting: str, axle: str) -> str:
    named = [row.item for row in event.of(ChangeRow) if row.setting == setting and row.item]
    return named[-1] if named else f"{axle} bar hole"


def move_bar(
    event: Event, number: str, day: int, at: str, bars: Bars, line: BarLine, reason: str = ""
) -> Batch:  # fmt: skip
    """The change logged before the next run, with what it makes one look at again."""
    now, setting = bars.in_use.get(line.axle), f"{line.axle}_bar"
    said: dict[str, object] = {
        "setting": setting, "item": _item(event, setting, line.axle), "after": line.holes, "kind": "test",
    }  # fmt: skip
    if now is not None:
        said["before"] = words_car.holes(now.left, now.right)
    before = bars.transfer.front_share if bars.transfer else None
    if before is not None and line.share is not None:
        said["expect"] = f"front share {words_car.share(before)} to {words_car.share(line.share)}"
    if reason:
        said["reason"] = reason
    return add_change(event, number, day, at, said)


def work_words(made: Batch) -> tuple[str, ...]:
    """What has to be looked at again after it, with the torque where the car file has it."""
    from paddock.words import torque

    found = []
    for edit in made.edits[1:]:
        cells = getattr(edit, "cells", {})
        if getattr(edit, "file", "") == WorkRow.FILE:
            newtons = cells.get("torque_nm")
            found.append(f"{cells.get('item')}" + (f", {torque(newtons)}" if newtons else ""))
    return tuple(found)
