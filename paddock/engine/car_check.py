"""Values of a car file that can't be: named with the mend, left out, the rest kept."""

from __future__ import annotations

from operator import attrgetter
from typing import Any

from paddock.engine.car.findings import Finding, fault
from paddock.engine.measure import Measure, measures
from paddock.model.car import Car

__all__ = ["checked"]

_SECTIONS = ("", "front", "front.bar", "rear", "rear.bar", "gearbox", "engine", "limits", "first_run")
_BOUNDED = {
    section: tuple(
        (row.key.rpartition(".")[2], row)
        for row in measures()
        if row.key.rpartition(".")[0] == section and (row.low, row.high) != (None, None)
    )
    for section in _SECTIONS
}


def _range(row: Measure) -> str:
    if row.low is None:
        return f"at most {row.high:g}"
    return f"at least {row.low:g}" if row.high is None else f"{row.low:g} to {row.high:g}"


def _hint(row: Measure, value: float) -> str:
    assert row.low is not None or row.high is not None
    if row.high is not None and row.high <= 1 and row.low is not None and row.low <= value / 100 <= row.high:
        return f" (for {value:g} % write {value / 100:g})"
    if row.unit == "mm" and row.low is not None and row.high is not None:
        for unit, factor in (("metres", 1000.0), ("inches", 25.4)):
            if row.low <= value * factor <= row.high:
                return f" (was it in {unit}?)"
    return ""


def _judge(row: Measure, value: object) -> Finding | None:
    if not isinstance(value, int | float) or isinstance(value, bool):
        return None
    if (row.low is None or value >= row.low) and (row.high is None or value <= row.high):
        return None
    unit = f" {row.unit}" if row.unit else ""
    return fault(row.key, f"{value:g}{unit} can't be, {_range(row)} can: {row.how}{_hint(row, value)}")


def _bad(car: Car) -> dict[str, Finding]:
    found: dict[str, Finding] = {}
    for section, rows in _BOUNDED.items():
        holder: Any = attrgetter(section)(car) if section and _reached(car, section) else (None if section else car)
        for name, row in rows if holder is not None else ():
            judged = _judge(row, getattr(holder, name))
            if judged is not None:
                found[row.key] = judged
    return found


def _reached(car: Car, section: str) -> bool:
    end, _, bar = section.partition(".")
    return not bar or getattr(car, end).bar is not None


def _without(car: Car, keys: dict[str, Finding]) -> Car:
    for key in keys:
        path = key.split(".")
        holders: list[Any] = [car]
        for name in path[:-1]:
            holders.append(getattr(holders[-1], name))
        changed: Any = None
        for holder, name in zip(reversed(holders), reversed(path), strict=True):
            changed = holder.model_copy(update={name: changed})
        car = changed
    return car


def checked(car: Car) -> tuple[Car, tuple[Finding, ...]]:
    """``car`` with every impossible single value struck out, and what was struck. Lists are judged where used."""
    bad = _bad(car)
    return (_without(car, bad), tuple(bad.values())) if bad else (car, ())
