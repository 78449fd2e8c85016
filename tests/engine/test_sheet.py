"""What is on the car now, and what it was when it was fastest."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.engine.car.setup_sheet import (
    Setting,
    SetupSheet,
    SheetLine,
    changes_of,
    open_changes,
    pressure_axle,
    setup_at,
    setup_in_force,
    sheet,
    states_of,
)
from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.rows import PressureRow, SetupChange, TimeRow
from tests.engine.tyres.make import car, clean
from tests.factories import runs

ESTATE = Car(setup={"rear_bar": "3-3", "front_toe": 1.5, "limited_slip": True})


def _change(id_: str, day: int, run: int, key: str, before: str | None, after: str | None, **more: Any) -> SetupChange:
    return SetupChange(
        id=id_, day=day, run=run, number=more.pop("number", "26"), setting=key, before=before, after=after, **more
    )


def _event(times: list[TimeRow], *rows: SetupChange) -> Event:
    mine = {"numbers": ["26", "32", "83"], "cars": {"26": "estate", "32": "estate", "83": "runabout"}}
    return replace(car(times, *rows, mine=mine), cars={"estate": ESTATE, "runabout": Car()})


def _line(found: SetupSheet, key: str) -> SheetLine:
    return next(line for line in found.lines if line.key == key)


def test_now_fastest_and_the_start_side_by_side() -> None:
    times = runs("26", 1, "47.0", "46.0", "46.5") + runs("26", 2, "46.2", "46.9")
    event = _event(times, _change("a", 1, 3, "rear_bar", "3-3", "3-4"), _change("b", 2, 2, "rear_bar", "3-4", "2-2"))
    found = sheet(event, "26")
    assert [(item.day, item.run, item.raw_ms) for item in found.fastest] == [(1, 2, 46000), (2, 1, 46200)]
    bar = _line(found, "rear_bar")
    assert (bar.start, bar.at_fastest, bar.now) == ("3-3", ("3-3", "3-4"), "2-2")
    assert bar.history == ("3-3", "3-4", "2-2")
    assert bar.differs
    assert [line.key for line in found.lines] == ["rear_bar", "front_toe", "limited_slip"]
    assert (_line(found, "front_toe").now, _line(found, "limited_slip").now) == ("1.5", "yes")


def test_an_undone_change_is_back_and_said() -> None:
    rows = [_change("a", 1, 2, "rear_bar", "3-3", "3-4"), _change("b", 1, 3, "rear_bar", None, None, undoes="a")]
    bar = _line(sheet(_event(clean("26", 1, 3), *rows), "26"), "rear_bar")
    assert (bar.now, bar.undone, bar.change) == ("3-3", True, None)


def test_decided_to_go_back_and_not_done_yet() -> None:
    row = _change("a", 1, 2, "rear_bar", "3-3", "3-4", decision="revert")
    assert _line(sheet(_event([], row), "26"), "rear_bar").to_revert
    back = _change("b", 1, 3, "rear_bar", "3-4", "3-3", undoes="a")
    assert not _line(sheet(_event([], row, back), "26"), "rear_bar").to_revert


def test_a_key_the_car_file_lacks_begins_as_its_first_change_found_it() -> None:
    wing = _line(sheet(_event(clean("26", 1, 2), _change("a", 1, 2, "wing", "low", "high")), "26"), "wing")
    assert (wing.start, wing.now) == ("low", "high")


def test_void_rerun_and_practice_runs_are_no_fastest_run() -> None:
    times = runs("26", 1, "44.0 rerun", "44.1 practice", "44.2/1", "45.0 dnf", "46.0+2", "47.0")
    assert [(item.run, item.raw_ms) for item in sheet(_event(times), "26").fastest] == [(5, 46000)]


def test_a_codriver_changes_the_same_car_and_another_car_is_left_alone() -> None:
    rows = [
        _change("a", 1, 2, "rear_bar", "3-3", "3-4", number="32"),
        _change("b", 1, 2, "rear_bar", "1", "2", number="83"),
    ]
    assert _line(sheet(_event([], *rows), "26"), "rear_bar").now == "3-4"
    assert _line(sheet(_event([], *rows), "83"), "rear_bar").now == "2"


@given(st.lists(st.tuples(st.integers(1, 2), st.integers(1, 5), st.sampled_from("pqr")), max_size=8))
def test_the_sheet_now_is_the_setup_after_the_last_run(moves: list[tuple[int, int, str]]) -> None:
    rows = [_change(f"c{at}", day, run, "rear_bar", None, value) for at, (day, run, value) in enumerate(moves)]
    event = _event([], *rows)
    now = {line.key: line.now for line in sheet(event, "26").lines}
    assert now == dict(setup_at(event, "26", 99, 99))
    last = max(enumerate(moves), key=lambda pair: (pair[1][:2], pair[0]), default=None)
    assert now["rear_bar"] == (last[1][2] if last else "3-3")


def test_a_change_is_in_force_on_its_own_first_run_and_not_before() -> None:
    row = _change("a", 1, 2, "rear_bar", "3-3", "3-4")
    assert _line(sheet(_event(runs("26", 1, "47.0", "46.0"), row), "26"), "rear_bar").at_fastest == ("3-4",)
    assert _line(sheet(_event(runs("26", 1, "46.0", "47.0"), row), "26"), "rear_bar").at_fastest == ("3-3",)


def test_a_pressure_is_what_was_set_last_and_is_called_hot() -> None:
    """The change row says 42; 44 was set by the readings before run 4."""
    rows = [
        SetupChange(id="p", day=1, run=3, number="26", setting="rear_pressure", before="38", after="42"),
        PressureRow(day=1, run=3, number="26", moment="set", at="09:40", lr_psi=42.0, rr_psi=42.0),
        PressureRow(day=1, run=4, number="26", moment="set", at="10:05", lr_psi=44.0, rr_psi=44.5),
        PressureRow(day=1, run=3, number="26", moment="after", at="10:03", lr_psi=46.0, rr_psi=46.0),
    ]
    event = replace(
        car(clean("26", 1, 5), *rows, mine={"numbers": ["26"], "cars": {"26": "h"}}),
        cars={"h": Car(setup={"rear_pressure": 38, "wing_pressure": 3})},
    )
    assert setup_at(event, "26", 1, 1)["rear_pressure"] == "38"
    assert setup_at(event, "26", 1, 3)["rear_pressure"] == "42 hot"
    assert setup_at(event, "26", 1, 4)["rear_pressure"] == "44/44.5 hot"
    assert setup_at(event, "26", 9, 9)["wing_pressure"] == "3"


def _set(run: int, at: str, psi: float, number: str = "26", **more: Any) -> PressureRow:
    return PressureRow(day=1, run=run, number=number, moment="set", at=at, lr_psi=psi, rr_psi=psi, **more)


def test_a_run_drove_on_the_last_set_before_it_by_the_clock_whoever_set_it() -> None:
    """26 and 32 take turns in one car; 32's runs count for it, and 26's set of 10:35 is filed under the run just done."""
    times = [
        TimeRow(day=1, run=run, number=number, time_ms=time_ms, at=at)
        for number, run, at, time_ms in (
            ("32", 1, "09:00", 47_000), ("26", 1, "09:20", 47_000), ("32", 2, "09:40", 47_000),
            ("26", 2, "10:30", 46_000), ("32", 3, "10:50", 46_500), ("26", 3, "11:10", 46_900),
        )
    ]  # fmt: skip
    rows = [_set(1, "08:30", 26, "32"), _set(1, "09:25", 30), _set(2, "09:50", 29), _set(2, "10:35", 28)]
    event = replace(_event(times, *rows), cars={"estate": Car(setup={"rear_pressure": 31}), "runabout": Car()})
    on = {
        (number, run): setup_at(event, number, 1, run)["rear_pressure"] for number in ("26", "32") for run in (1, 2, 3)
    }
    assert on == {
        ("32", 1): "26 cold", ("26", 1): "26 cold", ("32", 2): "30 hot", ("26", 2): "29 hot",
        ("32", 3): "28 hot", ("26", 3): "28 hot",
    }  # fmt: skip
    line = _line(sheet(event, "26"), "rear_pressure")
    assert (line.now, line.at_fastest, line.differs) == ("28 hot", ("29 hot",), True)


def test_a_codrivers_change_is_on_from_its_run_or_its_clock() -> None:
    """32 made it at 09:30 before run 2 of 32: run 1 of 26 at 09:20 is without it, run 2 at 09:35 with it."""
    times = [
        TimeRow(day=1, run=run, number=number, time_ms=47_000, at=at)
        for number, run, at in (("32", 1, "09:00"), ("26", 1, "09:20"), ("26", 2, "09:35"), ("32", 2, "09:50"))
    ]
    event = _event(times, _change("a", 1, 2, "rear_bar", "3-3", "3-4", number="32", at="09:30"))
    assert [setup_at(event, "26", 1, run)["rear_bar"] for run in (1, 2)] == ["3-3", "3-4"]
    assert [setup_at(event, "32", 1, run)["rear_bar"] for run in (1, 2)] == ["3-3", "3-4"]
    undated = SetupChange(id="b", number="32", setting="rear_bar", before="3-3", after="3-4")
    assert setup_at(_event(times, undated), "26", 1, 1)["rear_bar"] == "3-4", "without a day it was on from the start"


def test_a_change_that_was_undone_is_taken_back_whatever_was_decided() -> None:
    rows = [
        _change("a", 1, 1, "bar", "1", "2", decision="revert"), _change("b", 1, 2, "bar", "2", "1", undoes="a"),
        _change("c", 1, 3, "bar", "1", "2"), _change("d", 1, 3, "toe", "1", "2", decision="keep"),
        _change("e", 1, 3, "toe", "1", "2", decision="revert"),
    ]  # fmt: skip
    assert states_of(rows) == {"a": "taken back", "b": "takes back", "c": "open", "d": "keep", "e": "revert"}


@pytest.mark.parametrize(
    ("key", "axle"),
    [
        ("rear_pressure", "rear"),
        ("front tyre psi", "front"),
        ("fuel_pressure", None),
        ("front_bar", None),
        ("psi", None),
        ("front and rear psi", None),
        ("Rear-Bar_Pressure", "rear"),
        ("rear pressures", "rear"),
        ("frontal pressure", None),
        ("2 front kPa pressure", "front"),
    ],
)
def test_which_settings_name_a_tyre_pressure(key: str, axle: str | None) -> None:
    assert pressure_axle(key) == axle


# --- in force, open, in order -----------------------------------------------------------------------------------------


def test_changes_stand_by_day_run_clock_and_then_as_in_the_file() -> None:
    rows = [
        _change("e", 2, 1, "bar", None, "e"), _change("d", 1, 2, "bar", None, "d", at="09:30"), _change("c", 1, 2, "bar", None, "c", at="09:10"),
        _change("b", 1, 2, "bar", None, "b"), SetupChange(id="a", day=1, setting="bar", after="a"),
        SetupChange(id="z", setting="bar", after="z", number="32"), _change("no", 1, 1, "bar", None, "no", number="83"),
    ]  # fmt: skip
    event = _event([], *rows)
    assert [row.id for row in changes_of(event, "26")] == ["z", "a", "b", "c", "d", "e"]
    assert [row.id for row in changes_of(event, "83")] == ["a", "no"]
    assert _line(sheet(event, "26"), "bar").history == ("z", "a", "b", "c", "d", "e")


def test_what_is_in_force_the_changed_first_and_what_is_on_test() -> None:
    rows = [
        _change("a", 1, 2, "rear_bar", "3-3", "3-4", decision="keep"), _change("b", 1, 3, "wing", "low", "high"),
        _change("c", 1, 2, "front_toe", "1.5", "2"), _change("d", 1, 4, "front_toe", "2", None, undoes="c"),
        SetupChange(id="e", day=1, run=2, number="26", item="mirror", before="a", after="b"),
        _change("f", 1, 2, "seat", None, "low", decision="revert"),
    ]  # fmt: skip
    event = _event([], *rows)
    assert setup_in_force(event, "26") == (
        Setting("rear_bar", "3-4", True, False), Setting("wing", "high", True, True), Setting("seat", "low", True, False),
        Setting("front_toe", "1.5", False, False), Setting("limited_slip", "yes", False, False),
    )  # fmt: skip
    assert [row.id for row in open_changes(event, "26")] == ["e", "b"]
    assert setup_in_force(event, "83") == ()
    assert [(line.key, line.start, line.now) for line in sheet(event, "26").lines] == [
        ("rear_bar", "3-3", "3-4"), ("front_toe", "1.5", "1.5"), ("limited_slip", "yes", "yes"), ("mirror", "a", "b"),
        ("wing", "low", "high"), ("seat", None, "low"),
    ]  # fmt: skip


def test_a_line_with_its_change_back_and_forth() -> None:
    """Moved, put back, moved again: in force is the last, and it had been undone once."""
    rows = [
        _change("a", 1, 2, "rear_bar", "3-3", "3-4"), _change("b", 1, 3, "rear_bar", "3-4", None, undoes="a"),
        _change("c", 1, 4, "rear_bar", "3-3", "2-2", decision="revert"), _change("n", 1, 5, "front_toe", "1.5", None),
    ]  # fmt: skip
    found = sheet(_event([], *rows), "26")
    assert found.car == "estate"
    assert _line(found, "rear_bar") == SheetLine(
        "rear_bar", "3-3", "2-2", (), ("3-3", "3-4", "3-3", "2-2"), rows[2], undone=True, to_revert=True
    )
    assert _line(found, "front_toe") == SheetLine("front_toe", "1.5", "1.5", (), ("1.5",), rows[3])
    assert _line(found, "limited_slip") == SheetLine("limited_slip", "yes", "yes", (), ("yes",))


def test_of_two_runs_as_fast_the_first_and_a_missed_gate_only_where_it_does_not_void() -> None:
    times = runs("26", 1, "46.0", "46.0", "45.0/2", "45.5/1") + runs("26", 2, "dnf") + runs("26", 3, "47.0")

    def fastest(**rules: Any) -> list[tuple[int, int, int]]:
        event = replace(car(times, rules=rules, days=[]), cars={})
        return [(item.day, item.run, item.raw_ms) for item in sheet(event, "26").fastest]

    assert fastest() == [(1, 1, 46_000), (3, 1, 47_000)]
    assert fastest(miss=10) == [(1, 3, 45_000), (3, 1, 47_000)]
    assert fastest(miss=10, miss_limit=1) == [(1, 4, 45_500), (3, 1, 47_000)]
    assert fastest(miss=10, miss_limit=2) == [(1, 3, 45_000), (3, 1, 47_000)]


def test_pressures_in_the_events_unit_and_a_change_filed_after_the_last_set_wins() -> None:
    """38 psi are 262 kPa and 2.62 bar. The change for run 3 is younger than the set before run 2."""

    def rear(unit: str, *rows: Any, corners: tuple[float | None, float | None] = (38.0, 38.2)) -> str:
        set_ = PressureRow(
            day=1, run=2, number="26", moment="set", at="09:25", lr_psi=corners[0], rr_psi=corners[1], lf_psi=50.0
        )
        event = replace(
            car(clean("26", 1, 4), set_, *rows, mine={"numbers": ["26"], "cars": {"26": "h"}}, pressure_unit=unit),
            cars={"h": Car(setup={"rear_pressure": 31})},
        )
        return dict(setup_at(event, "26", 1, 4))["rear_pressure"]

    assert (rear("kpa"), rear("bar")) == ("262/263 hot", "2.62/2.63 hot")
    assert rear("psi", corners=(None, 38.0)) == "38 hot"
    assert rear("psi", corners=(None, None)) == "31"
    later = [_change(id_, 1, run, "rear_pressure", "31", "40") for id_, run in (("a", 2), ("b", 3))]
    assert rear("psi", later[1]) == rear("psi", *later) == "40"
    assert rear("psi", later[0]) == "38/38.2 hot"
    assert rear("psi", later[0], _change("c", 1, 5, "rear_pressure", "40", "44")) == "38/38.2 hot"
