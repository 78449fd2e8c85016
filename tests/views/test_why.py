"""Doing as the answer says: what is logged, what is left alone."""

from __future__ import annotations

import dataclasses
from datetime import datetime

from paddock.model.edit import AddRow
from paddock.model.event import Event
from paddock.views.why import as_said, first_plan_words, passed_rows, sign_rows, why
from tests.engine.situations import MORNING, after, car, cold, logged, rubber
from tests.factories import entrant, event, runs, settings

NOW = datetime(2026, 5, 9, 9, 5)


def day(*rows: object, gauges: int = 1, times: tuple[str, ...] = ("47.1",)) -> Event:
    found = settings(
        altitude_m=412.0, runs_per_day=5, forecast={"hottest_c": 30.0, "coldest_c": 12.0},
        gauges=[{"id": name, "step_psi": 0.5, "repeat_psi": 0.3} for name in ("dial", "stick")[:gauges]],
    )  # fmt: skip
    whole = event([entrant("31")], runs("31", 1, *times), found, *rows)  # type: ignore[arg-type]
    return dataclasses.replace(whole, cars={"hatch": car()})


def said(whole: Event) -> dict[str, object]:
    """The cells of the row that does as said."""
    made = as_said(whole, "31", 1, "09:30", why(whole, "31"))
    assert made is not None
    (edit,) = made.edit.edits
    assert isinstance(edit, AddRow)
    return dict(edit.cells)


def test_only_the_corners_that_move_are_set() -> None:
    cells = said(day(MORNING, after(1, 36.5, 36.5, 44.0, 44.0), logged(1), *rubber(1, "front", "on")))
    assert {name: value for name, value in cells.items() if name.endswith("_psi")} == {"lf_psi": 34.0, "rf_psi": 34.0}
    assert (cells["moment"], cells["run"], cells["at"], cells["gauge"]) == ("set", 1, "09:03", "dial")
    assert cells["air_c"] == 18.0


def test_the_gauge_is_the_one_it_was_read_with() -> None:
    cells = said(day(MORNING, after(1, 36.5, 36.5, 44.0, 44.0, gauge="stick"), logged(1), gauges=2))
    assert cells["gauge"] == "stick"


def test_a_hold_sets_nothing() -> None:
    whole = day(MORNING, after(1, 34.0, 34.0, 44.0, 44.0), logged(1))
    found = why(whole, "31")
    assert found.advice.action == "hold"
    assert found.moves == {}
    assert as_said(whole, "31", 1, "09:30", found) is None


def test_the_age_of_a_hot_reading_is_told() -> None:
    whole = day(MORNING, after(1, 36.5, 36.5, 44.0, 44.0), logged(1))
    assert why(whole, "31", NOW).old == ""
    assert "22 min ago" in why(whole, "31", NOW.replace(minute=25)).old
    assert "not of today" in why(whole, "31", NOW.replace(day=10)).old
    assert why(whole, "31").old == ""


def test_the_cold_plan_is_for_a_day_without_a_run() -> None:
    assert (first_plan_words(day(cold(30.0, 30.0, 39.2, 39.2), times=()), "31", "psi") or "").startswith("First run")
    assert first_plan_words(day(MORNING, after(1, 36.5, 36.5, 44.0, 44.0), logged(1)), "31", "psi") is None


def test_every_sign_and_every_rule_passed_over_has_its_row() -> None:
    found = why(day(MORNING, after(1, 36.5, 36.5, 44.0, 44.0), logged(1, "-1 0 0 0"), *rubber(1, "front", "on")), "31")
    assert len(sign_rows(found.advice)) == len(found.advice.signs)
    assert ("front roll-over mark", "on", "about right") in sign_rows(found.advice)
    assert [row[0] for row in passed_rows(found.advice)] == ["1", "2", "3"]
    assert any(says.endswith("doesn't count") for _, _, says in sign_rows(found.advice))
