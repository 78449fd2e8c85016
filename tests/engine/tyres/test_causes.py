"""Why an axle's tyres go first, from what the log has."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from paddock.engine.tyres.causes import why_they_wear
from paddock.engine.tyres.inventory import inventory
from paddock.model.car import Car
from paddock.model.rows import Row, RunRow, TreadTempRow
from tests.engine.tyres.make import SET, car, clean, fit, tread, tyres


def _said(edge: str, *more: Row, setup: dict[str, Any] | None = None) -> tuple[str, ...]:
    """Fronts that lose 2 mm a day on one edge, rears half a millimetre evenly."""
    worn = {"inner": (5, 7, 7), "middle": (7, 5, 7), "outer": (7, 7, 5)}[edge]
    rows: list[Row] = [*tyres("A", "B", "C", "D"), *fit(1, 1, **SET), *(tread(0, name, 7, 7, 7) for name in "ABCD")]
    rows += [tread(1, name, *worn) for name in "AB"] + [tread(1, name, 6.5, 6.5, 6.5) for name in "CD"]
    event = car(clean("26", 1, 10), *rows, *more, mine={"numbers": ["26"], "cars": {"26": "h"}})
    event = replace(event, cars={"h": Car(setup=setup or {})})
    return why_they_wear(event, inventory(event))


def _marked(mark: str, *temps: float) -> TreadTempRow:
    inner, middle, outer = temps or (40.0, 40.0, 40.0)
    return TreadTempRow(
        day=1, run=1, number="26", corner="lf", mark=mark, inner_c=inner, middle_c=middle, outer_c=outer
    )  # fmt: skip


def test_everything_the_log_has_stands_in_one_paragraph() -> None:
    pushing = RunRow(day=1, run=1, number="26", entry=0, mid=-2, exit=0)
    (said,) = _said("outer", _marked("past", 40.0, 41.0, 52.0), pushing, setup={"front_toe": "1 mm out"})
    assert said.startswith("Why the fronts of the h go first: the outer edge is the limit; roll-over marks 1 past; ")
    assert "tread 40/41/52 °C inner to outer on average; understeer marked on 1 of 1 runs" in said
    assert "front toe 1 mm out, front camber not recorded" in said
    assert "Possible causes (common practice, no source):" in said
    assert "rolled over its shoulder" in said
    assert "scrub while it slides" in said
    assert "too little negative camber: measure it" in said


def test_no_cause_without_its_sign() -> None:
    held = RunRow(day=1, run=1, number="26", entry=0, mid=1, exit=0)
    (said,) = _said("outer", _marked("on"), held, setup={"front_camber": "-2.5"})
    assert "rolled over" not in said
    assert "scrub" not in said
    assert "front camber -2.5" in said
    assert "understeer marked on 0 of 1 runs" in said


def test_inner_and_middle_have_causes_of_their_own() -> None:
    (inner,) = _said("inner", setup={"front_toe": "2 mm out", "front_camber": "-4"})
    assert "toe-out wears the inner edges; much negative camber." in inner
    assert "no roll-over mark recorded; no tread temperature recorded; no balance marked" in inner
    (middle,) = _said("middle")
    assert "a pressure too high for the load wears the middle" in middle


def test_nothing_known_nothing_said() -> None:
    event = car(clean("26", 1, 3), *tyres("A"), *fit(1, 1, lf="A"))
    assert why_they_wear(event, inventory(event)) == ()
