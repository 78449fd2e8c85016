"""Tyres on a car, in a line."""

from __future__ import annotations

from typing import Any

from paddock.model.event import Event
from paddock.model.rows import FittedRow, Row, TimeRow, TreadRow, TyreRow
from tests.factories import entrant, event, runs, settings

SET = {"lf": "A", "rf": "B", "lr": "C", "rr": "D"}


def fit(day: int, run: int | None, number: str = "26", orientation: str = "", **corners: str) -> list[Row]:
    return [
        FittedRow(day=day, run=run, number=number, corner=corner, tyre=tyre, orientation=orientation or None)  # type: ignore[arg-type]
        for corner, tyre in corners.items()
    ]


def tread(day: int, tyre: str, inner: float | None, middle: float | None, outer: float | None, line: int = 0) -> Row:
    return TreadRow(day=day, tyre=tyre, inner_mm=inner, middle_mm=middle, outer_mm=outer, line=line)


def tyres(*names: str, **cells: Any) -> list[Row]:
    return [TyreRow(tyre=name, **cells) for name in names]


def clean(number: str, day: int, count: int) -> list[TimeRow]:
    return runs(number, day, *["46.500"] * count)


def car(times: list[TimeRow], *rows: Row, **more: Any) -> Event:
    return event([entrant("26")], times, settings(**more), *rows)
