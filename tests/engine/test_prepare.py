"""What an old event hands to the next."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from itertools import count
from typing import Any

import pytest

from paddock.engine.pressure.plan import SitePlace
from paddock.engine.season.carry import Carried, carry, index_question, without_index
from paddock.model.car import Car, Target
from paddock.model.car_axle import Axle, Bar
from paddock.model.edit import AddRow, ChangeRow, SetKey
from paddock.model.event import Event
from paddock.model.rows import NoteRow, Row, TickRow, WorkRow
from paddock.model.rows import SetupChange as Change
from tests.engine.tyres.make import SET, car, clean, fit, tread, tyres
from tests.factories import entrant

DAYS = [date(2026, 7, 4)]


def _ids() -> Callable[[], str]:
    numbers = count(1)
    return lambda: f"id{next(numbers)}"


def _event(*rows: Row, runs: tuple[int, int] = (3, 3), **more: Any) -> Event:
    estate = Car(setup={"rear_bar": "3-3", "front_toe": 1.5}, fasteners={"rear end-link jam nut": 40.0})
    mine = {"numbers": ["26"], "cars": {"26": "estate"}}
    event = car(clean("26", 1, runs[0]) + clean("26", 2, runs[1]), *rows, mine=mine, **more)
    return replace(event, cars={"estate": estate})


def _carry(event: Event, days: list[date] = DAYS, **more: Any) -> Carried:
    return carry(event, "Harbour", days, _ids(), **more)


def _added(carried: Carried, file: str) -> list[dict[str, Any]]:
    return [dict(edit.cells) for edit in carried.edits if isinstance(edit, AddRow) and edit.file == file]


def _keys(carried: Carried) -> dict[tuple[str, ...], Any]:
    return {(edit.file, *edit.path): edit.value for edit in carried.edits if isinstance(edit, SetKey)}


def test_name_days_place_and_forecast_are_the_new_ones() -> None:
    keys = _keys(_carry(_event(), place=SitePlace(1600.0, 8.0, 24.0), site="Harbour wall"))
    assert keys["event.toml", "name"] == "Harbour"
    assert keys["event.toml", "days"] == DAYS
    assert keys["event.toml", "site"] == "Harbour wall"
    assert keys["event.toml", "altitude_m"] == 1600.0
    assert (keys["event.toml", "forecast", "coldest_c"], keys["event.toml", "forecast", "hottest_c"]) == (8.0, 24.0)
    assert _keys(_carry(_event()))["event.toml", "forecast", "hottest_c"] is None


def test_tyres_go_on_with_their_runs_where_they_are() -> None:
    rows = [
        *tyres("A", "B", "S", runs_before=20),
        *fit(1, 1, lf="A", rf="B"),
        *fit(2, 1, lf="B", rf="A", orientation="turned"),
    ]
    carried = _carry(_event(*rows))
    raised = {edit.key: edit.cells for edit in carried.edits if isinstance(edit, ChangeRow)}
    assert raised == {("A",): {"runs_before": 26}, ("B",): {"runs_before": 26}}
    assert _added(carried, "fitted.csv") == [
        {"day": 1, "number": "26", "corner": corner, "tyre": tyre, "orientation": "turned"}
        for corner, tyre in (("lf", "B"), ("rf", "A"))
    ]


def test_a_tyre_that_was_never_listed_is_listed_now() -> None:
    carried = _carry(_event(*fit(1, 1, lf="Z")))
    assert _added(carried, "tyres.csv") == [{"tyre": "Z", "runs_before": 6}]


def test_the_last_reading_is_day_0_and_is_worked_forward() -> None:
    rows = [*tyres("A", "B"), *fit(1, 1, lf="A", rf="B"), tread(0, "A", 6, 6, 6), tread(1, "A", 6, 6, 5.7)]
    rows += [tread(0, "B", 6, 6, 6), tread(2, "B", 6, 6, 5.4)]
    carried = _carry(_event(*rows))
    found = {row["tyre"]: row for row in _added(carried, "tread.csv")}
    assert {row["day"] for row in found.values()} == {0}
    assert found["B"]["outer_mm"] == pytest.approx(5.4)
    assert found["A"]["outer_mm"] == pytest.approx(5.4)  # 5.7 less three runs of 0.1
    assert any("tread of A is worked forward" in question for question in carried.questions)
    assert [row["item"] for row in _added(carried, "worklist.csv")] == ["read the tread of A"]


def test_open_work_goes_on_done_work_does_not() -> None:
    rows = [
        WorkRow(id="a", item="end link", opened="day 1 run 1", due="after the event", torque_nm=40.0, note="paint"),
        WorkRow(id="b", item="done", done="day 2"),
        WorkRow(id="c", item="oil", opened="day 1 run 1", due="in 10 runs"),
        WorkRow(id="d", item="wash", due="someday"),
        WorkRow(id="e", item="bolt", opened="day 2 run 9", due="next run"),
    ]
    found = {row["id"]: row for row in _added(_carry(_event(*rows)), "worklist.csv")}
    assert {key: row.get("due") for key, row in found.items()} == {
        "a": "before run 1", "c": "in 4 runs", "d": "someday", "e": "next run",
    }  # fmt: skip
    assert (found["a"]["torque_nm"], found["a"]["note"], found["a"]["opened"]) == (40.0, "paint", "at Test event")


def test_rechecks_nobody_wrote_down_are_written_into_the_next_event() -> None:
    row = Change(id="k", day=2, run=3, number="26", setting="rear_bar", before="3-3", after="3-4", kind="test")
    carried = _carry(_event(row))
    found = {item["id"]: item for item in _added(carried, "worklist.csv")}
    assert set(found) == {"k-links", "k-jam", "k-collars"}
    assert found["k-jam"]["torque_nm"] == 40.0
    assert _keys(carried)["cars/estate.toml", "setup", "rear_bar"] == "3-4"
    assert any("rear_bar" in question and "undecided" in question for question in carried.questions)


def test_the_setup_goes_on_as_it_stands_and_keeps_its_kind() -> None:
    rows = [
        Change(
            id="a",
            day=1,
            run=2,
            number="26",
            setting="front_toe",
            before="1.5",
            after="2",
            kind="test",
            decision="keep",
        ),
        Change(id="b", day=1, run=2, number="26", setting="link", before="loose", after="40 N·m", kind="repair"),
        Change(id="c", day=1, run=2, number="26", setting="wing", before="low", after="high", decision="revert"),
    ]
    carried = _carry(_event(*rows))
    setup = {path[2]: value for path, value in _keys(carried).items() if path[0] == "cars/estate.toml"}
    assert setup == {"front_toe": 2, "wing": "high"}
    assert any("wing is to go back" in question for question in carried.questions)


def test_a_change_taken_back_leaves_the_car_file_alone() -> None:
    rows = [
        Change(id="a", day=1, run=2, number="26", setting="rear_bar", before="3-3", after="3-4"),
        Change(id="b", day=1, run=3, number="26", setting="rear_bar", before="3-4", after="3-3", undoes="a"),
    ]
    assert not [path for path in _keys(_carry(_event(*rows))) if path[0] == "cars/estate.toml"]


def test_my_entry_goes_on_and_its_disqualification_does_not() -> None:
    event = _event()
    tables = {**event.tables, "entrants.csv": (entrant("26", status="dsq"), entrant("45"))}
    found = _added(_carry(replace(event, tables=tables)), "entrants.csv")
    assert found == [
        {"number": "26", "driver": "Driver 26", "class_": "PINE"},
        {"number": "45", "driver": "Driver 45", "class_": "PINE", "status": "carried"},
    ]


def test_the_plan_and_its_expectation() -> None:
    note = NoteRow(id="n", day=2, topic="plan", text="test: rear bar; expect: 0.2 s")
    carried = _carry(_event(note))
    assert _added(carried, "notes.csv")[0] == {
        "id": "id2", "topic": "plan from last time", "text": "test: rear bar; expect: 0.2 s",
    }  # fmt: skip
    assert "the plan: test: rear bar; expect: 0.2 s" in carried.words


def test_what_was_missed_on_a_list_is_still_known() -> None:
    rows = [
        TickRow(list="grid", item="a", day=1),
        TickRow(list="grid", item="b", day=2),
        TickRow(list="all", item="x", day=1),
    ]
    event = replace(_event(*rows), checklists={"grid": ("a", "b"), "all": ("x",), "never": ("y",)})
    assert _added(_carry(event), "ticks.csv") == [{"list": "grid", "item": "b"}]


@pytest.mark.parametrize(
    ("edition", "year", "asks"),
    [
        ("2026 club table", 2026, False), ("2026 club table", 2027, True), ("club table", 2027, False),
        (None, 2027, False), ("2025/2026", 2026, False), ("table 120263", 2027, False),
    ],
)  # fmt: skip
def test_an_index_table_of_another_year_is_asked_about(edition: str | None, year: int, asks: bool) -> None:
    table = {"edition": edition, "factors": {"PINE": Decimal("0.812")}}
    event = _event(index=table)
    assert (index_question(event, [date(year, 5, 1)]) is not None) == asks
    carried = _carry(event, [date(year, 5, 1)])
    assert (carried.index_question is not None) == asks
    assert any(word.startswith(f"index table: {edition or 'no edition named'}") for word in carried.words)


def test_the_index_table_can_be_left_behind() -> None:
    event = _event(index={"edition": "2026 club table", "factors": {"PINE": Decimal("0.812")}})
    left = without_index(event, _carry(event, [date(2027, 5, 1)]))
    assert _keys(left)["event.toml", "index", "PINE"] is None
    assert _keys(left)["event.toml", "index", "edition"] is None
    assert left.index_question is None
    assert not any("index" in word for word in left.words)


def test_nothing_of_mine_is_nothing_carried() -> None:
    bare = car([], mine={"numbers": []})
    carried = _carry(bare)
    assert {edit.file for edit in carried.edits} == {"event.toml", "entrants.csv"}


def test_four_corners_in_their_order() -> None:
    found = _added(_carry(_event(*tyres(*"ABCD"), *fit(1, 1, **SET))), "fitted.csv")
    assert [(row["corner"], row["tyre"]) for row in found] == [("lf", "A"), ("rf", "B"), ("lr", "C"), ("rr", "D")]


def test_the_bar_itself_carries_the_holes_in_force() -> None:
    """``[setup]`` and ``[rear.bar]`` say the same."""
    row = Change(id="k", day=2, run=3, number="26", setting="rear_bar", before="3-3", after="3-4")
    estate = Car(setup={"rear_bar": "3-3"}, rear=Axle(bar=Bar(left=3, right=3)), front=Axle(bar=Bar(left=1, right=1)))
    keys = _keys(_carry(replace(_event(row), cars={"estate": estate})))
    cars = {path[1:]: value for path, value in keys.items() if path[0] == "cars/estate.toml"}
    assert cars == {
        ("setup", "rear_bar"): "3-4", ("rear", "bar", "left"): 3, ("rear", "bar", "right"): 4,
    }  # fmt: skip


def test_a_pressure_in_the_setup_is_carried_as_what_is_aimed_at() -> None:
    row = Change(id="k", day=1, run=2, number="26", setting="rear_pressure", before="38", after="42")
    aimed = Car(
        setup={"rear_pressure": 40, "front_pressure": 34}, targets={"dry": Target(front_psi=34.0, rear_psi=44.0)}
    )
    bare = aimed.model_copy(update={"targets": {}})
    for estate, wanted in ((aimed, {("setup", "rear_pressure"): 44}), (bare, {})):
        keys = _keys(_carry(replace(_event(row), cars={"estate": estate})))
        assert {path[1:]: value for path, value in keys.items() if path[0] == "cars/estate.toml"} == wanted


def test_an_order_is_due_on_a_day() -> None:
    """Nine days of delivery before the new event; at once where that day is past; a day written stays."""
    rows = [*tyres("A", "B", runs_before=2, delivery_days=9), *fit(1, 1, lf="A", rf="B")]
    for due, days, wanted in (
        ("after the event", [date(2026, 7, 4)], "2026-06-25"),
        ("after the event", [max(_event().settings.days) + timedelta(days=3)], "order now"),
        ("2026-06-01", [date(2026, 7, 4)], "2026-06-01"),
    ):
        event = _event(*rows, WorkRow(id="o", item="order front tyres", due=due))
        found = {row["id"]: row for row in _added(_carry(event, days), "worklist.csv")}
        assert found["o"]["due"] == wanted
    unknown = _event(WorkRow(id="o", item="estate: order front tyres", due="after the event"))
    assert _added(_carry(unknown), "worklist.csv")[0]["due"] == "order now"
