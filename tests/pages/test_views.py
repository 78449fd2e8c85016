"""What the screens show, worked out from tiny events."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any

import pytest

from paddock.actions.car import add_change, take_back
from paddock.actions.notes import add_note, topic_of
from paddock.actions.runs import log_pressures, log_rival, log_run
from paddock.engine.car.setup_sheet import open_changes, setup_in_force
from paddock.engine.clock import as_of
from paddock.engine.clock.when import day_in_hand, next_run, run_for_line, schedule
from paddock.engine.pressure.corners import Corners
from paddock.engine.pressure.moment import moment_of
from paddock.engine.scoring.gap import Freshness, Gap, Still
from paddock.engine.scoring.my_runs import my_runs
from paddock.entry import PressureLine, RivalLine, TypedRun
from paddock.model.car import Car, Limits, Target
from paddock.model.edit import AddRow, ChangeRow
from paddock.model.event import Event
from paddock.model.rows import (
    CORNERS,
    EntrantRow,
    GridRow,
    NoteRow,
    PressureRow,
    Row,
    RunRow,
    TimeRow,
    TyreRow,
    WeatherRow,
)
from paddock.model.rows import (
    SetupChange as Change,
)
from paddock.model.settings import GridSettings, Mine, Rules, Settings
from paddock.pages.changes import change_states
from paddock.pages.gap import find, freshness
from paddock.pages.notes import notes_page
from paddock.pages.pressing import aim_words, over_cold, pressing, taking
from paddock.render.lines import text as text_of

DAYS = (date(2026, 5, 9), date(2026, 5, 10))
CAR = Car(
    setup={"rear_bar": "3-3", "front_toe": "0"},
    targets={"dry": Target(front_psi=34, rear_psi=44)},
    limits=Limits(max_cold_psi=40),
)


def event(*rows: Row, car: Car = CAR, **settings: Any) -> Event:
    tables: dict[str, tuple[Row, ...]] = {}
    for row in (EntrantRow(number="26", class_="LIME"), *rows):
        tables[row.FILE] = (*tables.get(row.FILE, ()), row)
    base: dict[str, Any] = {"days": DAYS, "runs_per_day": 5, "mine": Mine(numbers=("26", "83"), cars={"26": "estate"})}
    return Event("e", Settings(**{**base, **settings}), tables, {"estate": car})


def time(run: int, ms: int | None = 50_000, number: str = "26", day: int = 1, **more: Any) -> TimeRow:
    return TimeRow(day=day, run=run, number=number, time_ms=ms, **more)


# which day, which run


def test_the_day_is_todays_or_the_latest_run() -> None:
    assert day_in_hand(event(), DAYS[1]) == 2
    assert day_in_hand(event(time(1), time(1, day=2)), date(2026, 6, 1)) == 2
    assert day_in_hand(event(), date(2026, 6, 1)) == 1


def test_a_rerun_and_practice_are_not_run() -> None:
    found = event(time(1), time(2, status="rerun"), time(3, None, status="practice"))
    assert next_run(found, "26", 1) == 2


def test_a_balance_alone_completes_the_run_without_one() -> None:
    assert run_for_line(event(time(1)), "26", 1, timed=False) == 1
    assert run_for_line(event(time(1), RunRow(day=1, run=1, number="26", entry=0)), "26", 1, timed=False) == 2
    assert run_for_line(event(), "26", 1, timed=False) == 1
    assert run_for_line(event(time(1)), "26", 1, timed=True) == 2


# my runs


def test_differences_are_to_the_last_and_to_the_best_before() -> None:
    found = my_runs(
        event(time(1, 50_000), time(2, 48_000, cones=1), time(3, 49_000), time(4, None, status="dnf")), "26", 1
    )
    assert [run.scored.total_ms for run in found if run.scored] == [50_000, 50_000, 49_000, None]
    assert [(run.to_previous_ms, run.to_best_ms) for run in found] == [
        (None, None),
        (0, 0),
        (-1000, -1000),
        (None, None),
    ]
    assert [run.counts for run in found] == [False, False, True, False]


def test_a_run_logged_without_a_time_is_there() -> None:
    found = my_runs(event(time(1), RunRow(day=1, run=2, number="26", entry=-1)), "26", 1)
    assert [(run.run, run.scored is None) for run in found] == [(1, False), (2, True)]


def test_what_was_felt_is_of_the_try_that_stands() -> None:
    felt = RunRow(day=1, run=1, number="26", entry=0, mid=1, exit=0)
    given = time(1, None, status="rerun")
    assert [run.log for run in my_runs(event(given, felt), "26", 1)] == [felt]
    again = my_runs(event(given, time(1, 49_000), felt), "26", 1)
    assert [(run.scored.status if run.scored else None, run.log) for run in again] == [("rerun", None), (None, felt)]


# edits from lines


def cells(edit: object) -> Mapping[str, Any]:
    assert isinstance(edit, AddRow | ChangeRow)
    return edit.cells


def test_a_run_goes_into_two_files() -> None:
    logged = log_run(event(time(1)), "26", 1, TypedRun(46_512, cones=1, entry=-2, mistake=False), "11:42:00")
    times, runs = logged.edit.edits
    assert (times.file, runs.file) == ("times.csv", "runs.csv")
    assert cells(times) == {"day": 1, "run": 2, "number": "26", "time_ms": 46_512, "cones": 1, "at": "11:42:00"}
    assert cells(runs) == {"day": 1, "run": 2, "number": "26", "entry": -2, "mistake": False, "at": "11:42:00"}
    assert "46.512+1" in logged.said


def test_a_time_alone_leaves_the_log_alone() -> None:
    assert [edit.file for edit in log_run(event(), "26", 1, TypedRun(46_512), "11:42").edit.edits] == ["times.csv"]


def test_mending_replaces_what_is_left_out() -> None:
    found = event(time(1, cones=2), RunRow(day=1, run=1, number="26", entry=1, note="x"))
    times, runs = log_run(found, "26", 1, TypedRun(50_000), "11:42", mend=1).edit.edits
    assert isinstance(times, ChangeRow)
    assert isinstance(runs, ChangeRow)
    assert times.cells["cones"] is None
    assert (runs.cells["entry"], runs.cells["note"]) == (None, None)


def test_a_rerun_keeps_its_own_row() -> None:
    (edit,) = log_run(event(), "26", 1, TypedRun(46_512, status="rerun"), "11:42").edit.edits
    assert cells(edit)["try_"] == "1"
    again = event(time(1, status="rerun", try_="1"))
    (edit,) = log_run(again, "26", 1, TypedRun(46_000), "11:50").edit.edits
    assert (cells(edit)["run"], cells(edit).get("try_")) == (1, None)


def test_a_rivals_run_is_his_next_and_a_stranger_is_entered() -> None:
    logged = log_rival(event(), 1, RivalLine("45", 46_512), "11:42")
    assert logged.new_number
    assert [edit.file for edit in logged.edit.edits] == ["entrants.csv", "times.csv"]
    replaced = log_rival(
        event(EntrantRow(number="45"), time(1, number="45")), 1, RivalLine("45", 46_000, run=1), "11:42"
    )
    assert isinstance(replaced.edit.edits[0], ChangeRow)


def test_readings_of_one_moment_are_one_row() -> None:
    first = log_pressures(event(), "26", 1, PressureLine({"lf": 34.0}), "after", 1, "11:42:10").edit.edits[0]
    assert isinstance(first, AddRow)
    row = PressureRow(**first.cells)
    second = log_pressures(event(row), "26", 1, PressureLine({"rf": 35.0}), "after", 1, "11:42:10").edit.edits[0]
    assert isinstance(second, ChangeRow)
    assert second.cells == {"rf_psi": 35.0}


# set-up and changes


def test_the_set_up_in_force_has_the_changes_in_it() -> None:
    rows = (
        Change(id="a", number="26", setting="rear_bar", before="3-3", after="3-4"),
        Change(id="b", number="26", setting="rear_bar", before="3-4", after="3-3", undoes="a"),
        Change(id="c", number="26", setting="front_toe", item="toe", before="0", after="1"),
        Change(id="d", number="99", setting="front_toe", after="9"),
    )
    found = {item.key: (item.value, item.changed, item.test) for item in setup_in_force(event(*rows), "26")}
    assert found == {"front_toe": ("1", True, True), "rear_bar": ("3-3", False, False)}
    assert [row.id for row in open_changes(event(*rows), "26")] == ["c"]
    assert [state for _, state in change_states(event(*rows)).values()] == ["taken back", "takes back", "open", "open"]


def test_a_change_knows_the_setting_it_is_of() -> None:
    found = add_change(event(time(1)), "26", 1, 2, "11:42", {"item": "Rear bar", "after": "3-4"})
    assert cells(found.edits[0])["setting"] == "rear_bar"


def test_taking_back_turns_it_round() -> None:
    change = Change(id="a", number="26", setting="rear_bar", item="rear bar", before="3-3", after="3-4")
    back, decision = take_back(event(change), change, "26", 1, "11:42").edits
    assert (cells(back)["before"], cells(back)["after"], cells(back)["undoes"]) == ("3-4", "3-3", "a")
    assert cells(decision) == {"decision": "revert"}


# notes


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("tyres: grains", ("tyres", "grains")),
        ("grains", (None, "grains")),
        ("the box: late", (None, "the box: late")),
        (": x", (None, ": x")),
        ("at 11:42 it rained", (None, "at 11:42 it rained")),
    ],
)
def test_a_topic_is_one_word_and_a_colon(text: str, found: tuple[str | None, str]) -> None:
    assert topic_of(text) == found


def test_a_note_typed_with_a_run_stands_at_its_time() -> None:
    rows = (
        NoteRow(id="a", day=1, at="10:00", text="early"), NoteRow(id="b", day=1, at="11:00", text="late"),
        RunRow(day=1, run=2, number="26", at="10:30", note="late on the box"), RunRow(day=1, run=3, number="26"),
    )  # fmt: skip
    said = text_of(notes_page(event(*rows), ""), 60).splitlines()
    assert said[0].startswith("─ notes: 3 ")
    assert said[1:] == [
        "day 1 11:00 late", "day 1 run 2 10:30 with the run of 26: late on the box", "day 1 10:00 early"
    ]  # fmt: skip
    assert "notes: 1 with box" in text_of(notes_page(event(*rows), "box"), 60)
    assert cells(add_note(event(time(1)), "26", 1, "11:42", "x").edits[0])["run"] == 1


# pressures


NINE = datetime(2026, 5, 9, 10, 2)


def test_off_the_target_and_since_cold() -> None:
    found = event(
        PressureRow(day=1, number="26", moment="cold", at="08:00", lf_psi=30, rr_psi=38),
        PressureRow(day=1, run=1, number="26", moment="after", at="10:01", lf_psi=35, rr_psi=45),
        time(1, at="10:00:00"),
    )
    corner = pressing(taking(found, "26", NINE, kind="after"), {"lf": 35}, frozenset())[0]
    assert (corner.off_psi, corner.gain_psi, corner.aim) == (1.0, 5.0, "hot target")


def test_what_is_measured_next() -> None:
    def offered(*rows: object) -> tuple[str, int | None, bool]:
        found = taking(event(*rows), "26", NINE)  # type: ignore[arg-type]
        return found.kind, found.run, found.due

    assert offered() == ("cold", None, False)
    assert offered(time(1)) == ("after", 1, False)
    after = PressureRow(
        day=1, run=1, number="26", moment="after", lf_psi=32.7, rf_psi=32.7, lr_psi=42.5, rr_psi=42.5, at="10:01"
    )
    assert offered(time(1, at="10:00:00"), after) == ("after", 2, True)


def test_over_the_cold_maximum_is_judged_parked_where_the_temperature_is_known() -> None:
    """p2 = (44 + 14.70) * 293.15 / 333.15 - 14.70 = 36.95 psi at sea level: under 40, though it reads 44."""
    found = taking(event(WeatherRow(day=1, at="08:00", air_c=20), altitude_m=0), "26", NINE, kind="after")
    assert "how hot is it" in over_cold(found, "lf", 44, None)[1]
    assert over_cold(found, "lf", 44, 60)[1] == ""
    assert "parked at 20" in over_cold(found, "lf", 52, 60)[1]
    now = {item.corner: item for item in pressing(found, {"lf": 44}, frozenset({"lf"}), 60)}
    assert now["lf"].cold_psi == pytest.approx(36.95, abs=0.01)
    assert now["rf"].psi is None


def test_the_temperature_of_a_tyre_comes_from_the_air_in_it() -> None:
    """30 psi at 20 C at sea level; the same air at 36 psi is at (36 + 14.70) / (30 + 14.70) * 293.15 K = 59.4 C, and
    reads 30 again when parked at 20."""
    found = event(
        WeatherRow(day=1, at="08:00", air_c=20),
        PressureRow(
            day=1, number="26", moment="cold", at="08:00", lf_psi=30, rf_psi=30, lr_psi=38, rr_psi=38, air_c=20
        ),
        time(1, at="09:00:00"),
        altitude_m=0,
    )
    warm = pressing(taking(found, "26", NINE, kind="after"), {"lf": 36}, frozenset())[0]
    assert warm.cold_psi == pytest.approx(30.0, abs=0.01)
    still = pressing(taking(found, "26", NINE, kind="cold"), {"lf": 36}, frozenset())[0]
    assert still.cold_psi == pytest.approx(36.0)


def test_the_fitted_tyres_maximum_counts() -> None:
    from paddock.model.rows import FittedRow

    rows = (TyreRow(tyre="A", max_cold_psi=36), FittedRow(day=1, number="26", corner="lf", tyre="A"))
    found = taking(event(*rows, WeatherRow(day=1, at="08:00", air_c=20)), "26", NINE, kind="after")
    assert "the cold maximum of tyre A" in over_cold(found, "lf", 39, 20)[1]
    assert over_cold(found, "rf", 39, 20)[1] == ""


# the order of starts


def _grid(*numbers: str) -> tuple[GridRow, ...]:
    return tuple(
        GridRow(day=1, number=number, group="A", order=at + 1, work_group="B") for at, number in enumerate(numbers)
    )


def test_minutes_come_from_the_order_and_the_newest_clock() -> None:
    rows = (*_grid("45", "12", "26", "83"), time(1, number="45", at="10:00:00"))
    found = schedule(event(*rows, grid=GridSettings(interval_s=30)), "26", 1, datetime(2026, 5, 9, 10, 0, 30))
    assert found.minutes == pytest.approx(0.5)
    assert (found.run, found.cars_ahead, found.work_group) == (1, 1, "B")


def test_a_start_that_went_by_has_no_minutes() -> None:
    rows = (*_grid("45", "26", "83", "12"), time(1, number="83", at="10:00:00"))
    assert (
        schedule(event(*rows, grid=GridSettings(interval_s=30)), "26", 1, datetime(2026, 5, 9, 10, 1)).minutes is None
    )


def test_starts_are_counted_over_runs() -> None:
    rows = (*_grid("45", "26", "83", "12"), time(1, number="26", at="09:59:30"), time(1, number="83", at="10:00:00"))
    found = schedule(event(*rows, grid=GridSettings(interval_s=30)), "26", 1, datetime(2026, 5, 9, 10, 0, 30))
    assert found.cars_ahead == 2
    assert found.minutes == pytest.approx(1.0)


def test_of_a_group_not_listed_whole_no_round_is_counted_but_places_of_one_round_are() -> None:
    mine, rival = GridRow(day=1, number="26", group="A", order=5), GridRow(day=1, number="45", group="A", order=2)
    at, grid = datetime(2026, 5, 9, 10, 0, 30), GridSettings(interval_s=30)

    def found(*rows: Any) -> Any:
        return schedule(event(*rows, grid=grid), "26", 1, at)

    alone = found(mine, time(1, number="26", at="10:00:00"))
    assert (alone.minutes, alone.cars_ahead, alone.order) == (None, None, 5)
    two = found(mine, rival, time(1, number="45", at="10:00:00"))
    assert (two.cars_ahead, two.minutes) == (2, pytest.approx(1.0))
    assert found(mine, rival, time(1, number="26", at="09:59:00"), time(1, number="45", at="10:00:00")).minutes is None


def test_no_minutes_on_another_day_or_without_an_interval() -> None:
    rows = (*_grid("45", "26"), time(1, number="45", at="10:00:00"))
    assert (
        schedule(event(*rows, grid=GridSettings(interval_s=30)), "26", 1, datetime(2026, 5, 10, 10, 0)).minutes is None
    )
    assert schedule(event(*rows), "26", 1, datetime(2026, 5, 9, 10, 0)).minutes is None


# what to find, in words


def gap(**more: Any) -> Gap:
    base: dict[str, Any] = {
        "table": "LIME", "scored_by": "raw", "rank": 2, "score_ms": 50_000, "leader_number": "45",
        "leader_score_ms": 49_000, "gap_ms": 1000, "need_raw_ms": 48_999, "find_raw_ms": 1001, "drive_ms": 1001,
        "penalty_ms": 0, "average_need_raw_ms": None, "why": None, "waiting": (), "seen": Freshness(3, 9, 2, "11:40"),
        "runs_left": 1, "above": None, "below": None,
    }  # fmt: skip
    return Gap(**{**base, **more})


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({}, "find 1.001 raw"),
        ({"drive_ms": -500, "penalty_ms": 1501}, "fast enough: lose the cones"),
        ({"rank": 1, "leader_number": "26", "find_raw_ms": -400}, "you lead by 0.400 raw"),
        ({"need_raw_ms": None, "find_raw_ms": None, "why": "no run is left on day 1"}, "no run is left on day 1"),
        (
            {"need_raw_ms": None, "find_raw_ms": None, "why": "no run is left", "still": (Still("45", 1, 47),)},
            "no run is left; 45 has a run left, 0.047 behind",
        ),
    ],
)
def test_the_answer_in_words(more: dict[str, Any], says: str) -> None:
    assert find(gap(**more), "26", 3).find == says


def test_how_fresh_it_is() -> None:
    now = datetime(2026, 5, 9, 11, 48)
    assert freshness(Freshness(3, 9, 2, "11:40:00"), now) == (
        "times in: 3 of 9, through run 2, newest 11:40, 8 min ago"
    )
    few = Freshness(3, 5, 2, "11:40", ("99", "7"))
    assert freshness(few, None) == "times in: 3 of 5 (not 99, 7), through run 2, newest 11:40"
    many = Freshness(3, 9, 2, "11:40", ("99", "7", "8", "9"))
    assert freshness(many, None) == "times in: 3 of 9, through run 2, newest 11:40"
    assert "ago" not in freshness(Freshness(3, 9, 2, "11:40"), None)
    assert freshness(Freshness(0, 9, None, None), now).startswith("no rival's run")


def test_rules_of_the_event_are_used() -> None:
    found = event(time(1, 50_000, cones=2), rules=Rules(cone_s=Decimal(1)))
    scored = my_runs(found, "26", 1)[0].scored
    assert scored is not None
    assert scored.total_ms == 52_000


@pytest.mark.parametrize(("ms", "doubted"), [(50_000, False), (40_000, False), (15_902, True), (95_000, True)])
def test_a_time_far_from_the_others_is_taken_and_doubted(ms: int, doubted: bool) -> None:
    found = event(*(time(1, 50_000 + at, number=str(at)) for at in range(5)))
    assert bool(log_rival(found, 1, RivalLine("45", ms), "11:42").doubt) is doubted
    assert bool(log_run(found, "26", 1, TypedRun(ms), "11:42").doubt) is doubted
    assert log_run(event(), "26", 1, TypedRun(ms), "11:42").doubt == ""


def test_a_hot_target_in_a_cooled_tyre_is_not_shown_as_the_car_file_s() -> None:
    found = event(
        PressureRow(day=1, run=1, number="26", moment="after", at="10:01", lf_psi=35, rf_psi=35, lr_psi=45, rr_psi=45),
        time(1, at="10:00:00"),
    )
    fresh = moment_of(found, "26", as_of(found, NINE, None))
    assert aim_words(fresh) == "hot target, now", "the next run adds to the warmth of the last"
    as_hot = replace(fresh, aim=Corners.of({corner: fresh.known.hot(corner) for corner in CORNERS}))
    assert aim_words(as_hot) == "hot target"
