"""Gears of one car as a screen shows them, and the question whether to hold a gear on a stretch."""

from __future__ import annotations

import re
from dataclasses import dataclass

from paddock import words_car
from paddock.engine.car.gears import CAUTIONS, Gear, GearTable, gear_table, speed_table, thrust_curves
from paddock.engine.car.hold_or_shift import hold_or_shift
from paddock.model.car import Car
from paddock.views.car import CarNow, Fault

__all__ = [
    "CAUTIONS", "Gears", "Stretch", "answer", "gears_of", "read_stretch", "speed_rows", "thrust_marks", "thrust_series",
]  # fmt: skip

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Gears:
    """``car`` None: no car file can be used. ``table`` without gears: ``faults`` say what is missing."""

    car: Car | None
    table: GearTable
    faults: tuple[Fault, ...]

    @property
    def gears(self) -> tuple[Gear, ...]:
        """Every gear, first one first."""
        return self.table.gears


@dataclass(frozen=True, slots=True)
class Stretch:
    """Flat out for ``length_m`` from ``from_kmh``; ``gear`` None: the one in hand. ``lateral_g``: cornering on it."""

    gear: int | None
    from_kmh: float
    length_m: float
    lateral_g: float = 0.0


def gears_of(now: CarNow) -> Gears:
    """Speeds, shift points, lights and grip limits of the car in hand."""
    if now.car is None:
        return Gears(None, GearTable((), None, None, ()), now.faults)
    table = gear_table(now.car)
    return Gears(now.car, table, now.with_findings(table.findings))


def thrust_series(table: GearTable) -> dict[str, Points]:
    """Thrust at the wheels (km/h, N) of every gear, and what the driven wheels hold; empty without a curve."""
    if table.line is None:
        return {}
    found = {f"gear {gear}": points for gear, points in enumerate(thrust_curves(table.line), 1)}
    fastest = max((kmh for points in found.values() for kmh, _ in points), default=0.0)
    if table.grip_n is not None and fastest:
        found["grip"] = ((0.0, table.grip_n), (fastest, table.grip_n))
    return found


def thrust_marks(table: GearTable) -> str:
    """The characters that draw ``thrust_series``: a gear's own digit, ``-`` for grip."""
    return "".join(str(item.gear % 10) for item in table.gears) + "-"


def speed_rows(table: GearTable) -> tuple[tuple[str, ...], ...]:
    """rpm and the speed in every gear there, as text."""
    rows = speed_table(table.line) if table.line else ()
    return tuple((f"{rpm:.0f}", *("-" if kmh is None else f"{kmh:.0f}" for kmh in speeds)) for rpm, speeds in rows)


_NUMBER = r"\d+(?:[.,]\d+)?"
_LINE = re.compile(rf"(?:(\d)\s+)?({_NUMBER})\s+({_NUMBER})(?:\s+(\d?[.,]?\d+)\s*g)?")


def read_stretch(text: str) -> Stretch:
    """``60 90``: from 60 km/h, 90 m; ``2 60 90``: in second; ``60 90 0.4g``: cornering at 0.4 g meanwhile.

    ValueError's sentence on anything else.
    """
    found = _LINE.fullmatch(text.strip())
    if found is None:
        raise ValueError(f"{text!r}: type the speed in km/h and the metres, like 60 90 (2 60 90 holds second)")
    kmh, metres, lateral = (float(part.replace(",", ".")) if part else 0.0 for part in found.groups()[1:])
    return Stretch(int(found[1]) if found[1] else None, kmh, metres, lateral)


def answer(gears: Gears, stretch: Stretch, gear: int) -> list[str]:
    """Hold or shift in sentences; ValueError's sentence where it can't be told. ``gear``: the one in hand."""
    if gears.car is None:
        raise ValueError("no car file to reckon with yet")
    held = stretch.gear or gear
    hold, findings = hold_or_shift(gears.car, held, stretch.from_kmh, stretch.length_m, stretch.lateral_g)
    if hold is None:
        raise ValueError(findings[-1].message if findings else "it can't be told")
    return words_car.hold_sentences(hold)
