"""Doing as the answer says: what is logged, what is left alone."""

from __future__ import annotations

import dataclasses
from datetime import datetime
from pathlib import Path

import pytest

from paddock.entry.pressures import WhatIfLine, read_what_if
from paddock.model.edit import AddRow
from paddock.model.event import Event
from paddock.pages import heat
from paddock.pages.pressure import passed_rows, sign_rows
from paddock.pages.why import as_said, why
from paddock.session.loading import load
from tests.engine.pressure.situations import MORNING, after, car, cold, hourly, logged, rubber
from tests.factories import entrant, event, runs, settings

NOW = datetime(2026, 5, 9, 9, 5)


def day(*rows: object, gauges: int = 1, times: tuple[str, ...] = ("47.1",)) -> Event:
    found = settings(
        altitude_m=412.0, runs_per_day=5, forecast={"hottest_c": 30.0, "coldest_c": 12.0},
        gauges=[{"id": name, "step_psi": 0.5, "repeat_psi": 0.3} for name in ("dial", "stick")[:gauges]],
    )  # fmt: skip
    whole = event([entrant("26")], runs("26", 1, *times), found, *rows)  # type: ignore[arg-type]
    return hourly(dataclasses.replace(whole, cars={"estate": car()}))


def said(whole: Event) -> dict[str, object]:
    """The cells of the row that does as said."""
    made = as_said(why(whole, "26", NOW).moment, 1, "09:30")
    assert made is not None
    (edit,) = made.edit.edits
    assert isinstance(edit, AddRow)
    return dict(edit.cells)


def test_only_the_corners_that_move_are_set() -> None:
    cells = said(day(MORNING, after(1, 36.5, 36.5, 44.0, 44.0), logged(1), *rubber(1, "front", "on")))
    assert {name: value for name, value in cells.items() if name.endswith("_psi")} == {
        "lf_psi": pytest.approx(34.0), "rf_psi": pytest.approx(34.0)
    }  # fmt: skip
    assert (cells["moment"], cells["run"], cells["at"], cells["gauge"]) == ("set", 1, "09:03", "dial")
    assert cells["air_c"] == 18.0


def test_the_gauge_is_the_one_it_was_read_with() -> None:
    cells = said(day(MORNING, after(1, 36.5, 36.5, 44.0, 44.0, gauge="stick"), logged(1), gauges=2))
    assert cells["gauge"] == "stick"


def test_a_hold_sets_nothing() -> None:
    whole = day(MORNING, after(1, 34.0, 34.0, 44.0, 44.0), logged(1))
    found = why(whole, "26", NOW)
    assert found.moment.action == "hold"
    assert found.moves == {}
    assert as_said(found.moment, 1, "09:30") is None


def test_a_cold_plan_is_set_in_the_air_of_now() -> None:
    cells = said(day(cold(28.0, 28.0, 40.2, 40.2), times=()))
    assert (cells["at"], cells["air_c"], cells["moment"]) == ("09:30", 12.0, "set")
    assert "run" not in cells or cells["run"] is None


def test_an_old_reading_gives_its_age_and_no_setting() -> None:
    whole = day(MORNING, after(1, 36.5, 36.5, 44.0, 44.0), logged(1))
    assert why(whole, "26", NOW).moves
    old = why(whole, "26", NOW.replace(hour=10))
    assert "62 min ago" in old.line
    assert old.moves == {}
    assert why(whole, "26", NOW.replace(day=10)).moment.name == "before"


def test_every_sign_and_every_rule_passed_over_has_its_row() -> None:
    whole = day(MORNING, after(1, 36.5, 36.5, 44.0, 44.0), logged(1, "-1 0 0 0"), *rubber(1, "front", "on"))
    found = why(whole, "26", NOW)
    rows = sign_rows(found.told)
    assert len(rows) == len(found.moment.signs)
    assert ("front roll-over mark", "on", "about right") in rows
    assert [words for words, _ in passed_rows(found.told)][:2] == ["unsafe", "outside the limits"]
    assert any(says.endswith("doesn't count") for _, _, says in rows)


@pytest.mark.parametrize(
    ("balance", "entry"),
    [
        ("-1 0 2 0", "understeer, faint; counts beside a clear one of opposite sign"),
        ("-2 0 1 0", "understeer"),
        ("-1 0 1 0", "understeer, faint; doesn't count"),
    ],
)
def test_a_faint_sign_that_answered_is_not_said_to_count_for_nothing(balance: str, entry: str) -> None:
    whole = day(MORNING, after(1, 36.5, 36.5, 44.0, 44.0), logged(1, balance), *rubber(1, "front", "on"))
    found = why(whole, "26", NOW)
    assert {name: says for name, _, says in sign_rows(found.told)}["entry"] == entry
    assert ("no pressure mends both" in found.told.reason) is ("2" in balance)


def test_a_what_if_of_the_present_air_is_the_answer_of_now() -> None:
    """13.5 is the newest air; nobody asked for a wait, so none is put in. Shade needs one, and says it."""
    event, now = load(Path(__file__).parents[2] / "example_event"), datetime(2026, 10, 11, 12, 58)
    asked = {}
    for text in ("a13.5", "a13.5 w10", "a13.5 shade"):
        found = read_what_if(text, "psi")
        assert isinstance(found, WhatIfLine)
        asked[text] = heat.told(event, "58", found, 10.0, now)
    assert asked["a13.5"].rows == heat.told(event, "58", None, 10.0, now).rows
    assert "wait" not in asked["a13.5"].head
    assert asked["a13.5 w10"].rows != asked["a13.5"].rows
    assert "waiting 10 min" in asked["a13.5 shade"].head
