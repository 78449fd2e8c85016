"""Why an axle's tyres go first, from what the log has."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

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


# --- word for word ------------------------------------------------------------------------------------------------------

WORN = {"inner": (5, 7, 7), "middle": (7, 5, 7), "outer": (7, 7, 5)}


def _first(axle: str, edge: str, *more: Row, setup: dict[str, Any] | None = None) -> str:
    """The tyres of one axle lose 2 mm in ten runs on one edge, those of the other half a millimetre."""
    names = "AB" if axle == "front" else "CD"
    rows: list[Row] = [*fit(1, 1, **SET), *(tread(0, name, 7, 7, 7) for name in "ABCD")]
    rows += [tread(1, name, *(WORN[edge] if name in names else (6.5, 6.5, 6.5))) for name in "ABCD"]
    event = car(clean("26", 1, 10), *rows, *more, mine={"numbers": ["26"], "cars": {"26": "h"}})
    event = replace(event, cars={"h": Car(setup=setup or {})})
    (said,) = why_they_wear(event, inventory(event))
    return said


def _temps(corner: str, *temps: float | None, number: str = "26", mark: str | None = None) -> TreadTempRow:
    inner, middle, outer = temps or (None, None, None)
    return TreadTempRow(
        day=1, run=1, number=number, corner=corner, mark=mark, inner_c=inner, middle_c=middle, outer_c=outer
    )  # type: ignore[arg-type]


def _felt(*marks: int, run: int = 1, number: str = "26") -> RunRow:
    entry, mid, leave = (*marks, None, None, None)[:3]
    return RunRow(day=1, run=run, number=number, entry=entry, mid=mid, exit=leave)


def test_the_rears_word_for_word() -> None:
    """30 + 34, 31 + 33 and 38 + 40 halved; the front's and another car's readings and the half-read row don't count."""
    rows = [
        _temps("lr", 30, 31, 38, mark="past"), _temps("rr", 34, 33, 40, mark="on"), _temps("rr", 90, None, 90, mark="on"),
        _temps("lf", 90, 90, 90, mark="past"), _temps("lr", 90, 90, 90, number="9", mark="past"),
        _felt(0, 1), _felt(-2, run=2), _felt(run=3), _felt(2, number="9"),
    ]  # fmt: skip
    assert _first("rear", "outer", *rows, setup={"rear_toe": "2 mm in", "rear_camber": "-1.5", "front_toe": "0"}) == (
        "Why the rears of the h go first: the outer edge is the limit; roll-over marks 2 on, 1 past; tread 32/32/39 °C "
        "inner to outer on average; oversteer marked on 1 of 2 runs; rear toe 2 mm in, rear camber -1.5. Possible causes "
        "(common practice, no source): where marked past it rolled over its shoulder: too little pressure for the load, "
        "or much body roll; scrub while it slides (gentler on power); too little negative camber for this cornering; "
        "toe-in wears the outer edges."
    )


def test_the_fronts_word_for_word_with_nothing_looked_at() -> None:
    assert _first("front", "outer") == (
        "Why the fronts of the h go first: the outer edge is the limit; no roll-over mark recorded; no tread temperature "
        "recorded; no balance marked; front toe not recorded, front camber not recorded. Possible causes (common "
        "practice, no source): too little negative camber: measure it."
    )


SHOULDER = "where marked past it rolled over its shoulder: too little pressure for the load, or much body roll"
CAMBERED = {"front_camber": "-2", "front_toe": "0"}


@pytest.mark.parametrize(
    ("edge", "rows", "setup", "causes"),
    [
        ("outer", [], CAMBERED, "too little negative camber for this cornering"),
        ("outer", [_temps("lf", 40, 40, 43, mark="past")], CAMBERED, f"{SHOULDER}; too little negative camber for this cornering"),
        ("outer", [_temps("lf", 40, 40, 42.9, mark="past")], CAMBERED, SHOULDER),
        ("outer", [_temps("lf", 43, 40, 40, mark="past")], CAMBERED, SHOULDER),
        ("outer", [_temps("rf", 40, 44.5, 43, mark="past")], CAMBERED, SHOULDER),
        ("outer", [_temps("rf", 40, 44.4, 43, mark="past")], CAMBERED, f"{SHOULDER}; too little negative camber for this cornering"),
        ("outer", [_felt(0, 0, -1), _felt(0, run=2)], CAMBERED,
         "scrub while it slides (slower in, less lock); too little negative camber for this cornering"),
        ("outer", [_felt(-1), _felt(0, run=2), _felt(1, run=3)], CAMBERED, "too little negative camber for this cornering"),
        ("inner", [_felt(-1)], CAMBERED, "much negative camber"),
        ("inner", [], {"front_toe": "1 mm in"}, "much negative camber: measure it"),
        ("inner", [], {"front_toe": "1 mm out", "front_camber": "-4"}, "toe-out wears the inner edges; much negative camber"),
        ("middle", [_temps("lf", 40, 40, 43, mark="past")], CAMBERED, "a pressure too high for the load wears the middle"),
    ],
)  # fmt: skip
def test_which_sign_brings_which_cause(edge: str, rows: list[Row], setup: dict[str, str], causes: str) -> None:
    said = _first("front", edge, *rows, setup=setup)
    assert said.partition("(common practice, no source): ")[2] == f"{causes}."


def test_the_edge_most_of_the_axles_tyres_end_on_and_each_car_by_itself() -> None:
    """26: A by its outer edge, B by its inner one at the same rate: that of the first; 9 has no rear tyre."""
    rows = [*fit(1, 1, **SET), *fit(1, 1, "9", lf="E"), *(tread(0, name, 7, 7, 7) for name in "ABCDE")]
    rows += [tread(1, "A", *WORN["outer"]), tread(1, "B", *WORN["inner"]), tread(1, "E", *WORN["middle"])]
    both = car(clean("26", 1, 10) + clean("9", 1, 10), *rows, mine={"numbers": ["26", "9"]})
    found = inventory(both)

    def heads(only: str | None = None) -> list[str]:
        return [said.partition(" edge is")[0] for said in why_they_wear(both, found, only)]

    first, second = "Why the fronts of the 26 go first: the outer", "Why the fronts of the 9 go first: the middle"
    assert (heads(), heads("26"), heads("9")) == ([first, second], [first], [second])
    assert why_they_wear(both, found, "h") == ()
