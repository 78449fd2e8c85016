"""What can't be so is asked about, kept and named."""

from __future__ import annotations

from paddock.engine.tyres.buying import questions
from paddock.engine.tyres.inventory import inventory
from paddock.model.rows import FittedRow, Row, TyreRow
from tests.engine.tyres.make import SET, car, clean, fit, tread, tyres


def _asked(*rows: Row) -> list[tuple[str, int, str]]:
    found = questions(car(clean("26", 1, 4), *rows))
    assert all(item.level == "warning" for item in found)
    return [(item.file, item.line, item.message) for item in found]


def test_an_ordinary_swap_asks_nothing() -> None:
    assert _asked(*tyres(*"ABCD"), *fit(1, 1, **SET), *fit(1, 3, lf="C", lr="A", rf="D", rr="B")) == []


def test_one_tyre_on_two_corners() -> None:
    rows = [
        FittedRow(day=1, run=1, number="26", corner="lf", tyre="A", line=2),
        FittedRow(day=1, run=1, number="26", corner="rf", tyre="A", line=3),
    ]
    asked = _asked(*tyres("A"), *rows)
    assert [(file, line) for file, line, _ in asked] == [("fitted.csv", 3)]
    assert "line 2" in asked[0][2]
    event = car(clean("26", 1, 4), *tyres("A"), *rows)
    assert inventory(event).tyres[0].runs_by_corner == {"rf": 4}


def test_a_tyre_moved_while_its_corner_gets_no_other() -> None:
    rows = [*fit(1, 1, **SET), FittedRow(day=1, run=3, number="26", corner="lr", tyre="A", line=9)]
    assert [line for _, line, _ in _asked(*tyres(*"ABCD"), *rows)] == [9]


def test_a_depth_that_grows() -> None:
    rows = [*tyres("A"), *fit(1, 1, lf="A"), tread(0, "A", 5, 5, 5, line=2), tread(1, "A", 5.1, 5, 6, line=3)]
    asked = _asked(*rows)
    assert [(file, line) for file, line, _ in asked] == [("tread.csv", 3), ("tread.csv", 3)]
    assert "inner" in asked[0][2]
    assert "kept" in asked[0][2]
    assert "outer" in asked[1][2]
    assert "left out" in asked[1][2]


def test_a_run_count_that_falls() -> None:
    old = car(clean("26", 1, 4), *tyres("A", runs_before=20), *fit(1, 1, lf="A"))
    new = car([], TyreRow(tyre="A", runs_before=22, line=2))
    asked = questions(new, [old])
    assert [(item.file, item.line) for item in asked] == [("tyres.csv", 2)]
    assert "24 after" in asked[0].message
    assert questions(car([], TyreRow(tyre="A", runs_before=24)), [old]) == ()


def test_a_date_code_of_three_digits() -> None:
    asked = _asked(TyreRow(tyre="A", date_code="239", line=2))
    assert [(file, line) for file, line, _ in asked] == [("tyres.csv", 2)]
    assert "three digits" in asked[0][2]


def test_a_tyre_that_is_not_in_the_inventory_is_asked_about_once_a_file() -> None:
    rows = [*tyres("A"), *fit(1, 1, lf="Z"), *fit(1, 2, lf="Z"), tread(0, "Z", 5, 5, 5)]
    assert [file for file, _, _ in _asked(*rows)] == ["fitted.csv", "tread.csv"]
