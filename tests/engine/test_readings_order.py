"""A car's rows in order, what surrounds a reading, tyres that were changed or mended; by hand."""

from __future__ import annotations

from typing import Any

import pytest

from paddock.engine.pressure.readings import Renewed, car_log, names_corner, runs_before
from paddock.engine.pressure.timeline import TimedRun, car_runs, doubts_of, readings_entered, timeline
from paddock.model.event import Event
from paddock.model.rows import FittedRow, PressureRow, Row, RunRow, SetupChange, TimeRow, WorkRow
from paddock.model.settings import Gauge
from tests.engine.test_heat_car import read
from tests.factories import entrant, event, settings

FOUR = ("lf", "rf", "lr", "rr")


def timed(run: int, at: str | None = None, number: str = "26", **more: Any) -> TimeRow:
    return TimeRow(**({"day": 1, "run": run, "number": number, "time_ms": 45_000, "at": at} | more))


def told(times: list[TimeRow], *rows: Row, **more: Any) -> Event:
    return event([entrant("26"), entrant("7")], times, settings(**({"altitude_m": 0.0} | more)), *rows)


def lines(whole: Event) -> list[tuple[str, float]]:
    """What, and the minute it is taken as."""
    return [(item.what.moment if isinstance(item.what, PressureRow) else f"run {item.run}", item.minute)
            for item in timeline(whole, "26")]  # fmt: skip


# --- order ------------------------------------------------------------------------------------------------------------


def test_a_reading_after_a_run_nobody_typed_is_a_run() -> None:
    whole = told([timed(1, "09:00")], read("after", "09:30", 33.0, 2))
    typed, implied = (item.what for item in timeline(whole, "26") if isinstance(item.what, TimedRun))
    assert (typed.at, typed.minutes, typed.counted, typed.implied) == ("09:00", 0.75, True, None)
    assert (implied.run, implied.at, implied.minutes, implied.counted) == (2, "09:30", 0.8, True)
    assert [run.run for run in car_runs(told([timed(1)], read("after", "09:30", 33.0, 3)), ["26"])] == [1], (
        "not the next"
    )
    assert [run.run for run in car_runs(told([], read("after", "09:30", 33.0, 1)), ["26"])] == [1]
    assert [run.run for run in car_runs(told([timed(1)], read("before", "09:30", 33.0, 2)), ["26"])] == [1]
    other = read("after", "09:30", 33.0, 1, day=2)
    assert [(run.day, run.run) for run in car_runs(told([timed(1)], other), ["26"])] == [(1, 1), (2, 1)]
    assert car_runs(told([timed(1)], read("after", "09:30", 33.0, 2, number="7")), ["26"])[1:] == []


@pytest.mark.parametrize(("second", "tries"), [("09:13", 1), ("09:14", 2), (None, 1)])
def test_a_second_reading_more_than_eight_minutes_on_is_of_the_run_driven_again(second: str | None, tries: int) -> None:
    rows = [read("after", "09:05", 33.0), read("after", second, 34.0)]
    again = told([timed(1, "09:00", status="rerun")], *rows)
    found = car_runs(again, ["26"])
    assert len(found) == tries
    assert [run.implied for run in found[1:]] == ["09:14"] * (tries - 1)
    assert len(car_runs(told([timed(1, "09:00")], *rows), ["26"])) == 1, "it stands: nothing is driven again"
    both = told([timed(1, "09:00", status="rerun"), timed(1, "09:12")], *rows)
    assert len(car_runs(both, ["26"])) == 2
    assert car_runs(told([], *rows), ["26"])[0].implied == "09:05"


def test_what_counts_as_a_run_of_the_day() -> None:
    statuses = {"rerun": False, "practice": False, "dnf": True, None: True}
    found = {status: TimedRun(1, 1, "26", time=timed(1, status=status)).counted for status in statuses}
    assert found == statuses
    assert TimedRun(1, 1, "26").counted
    logged = TimedRun(1, 1, "26", log=RunRow(day=1, run=1, number="26", at="09:10"), time=timed(1))
    assert (logged.at, logged.minutes, TimedRun(1, 1, "26").minutes) == ("09:10", 0.75, 0.8)


def test_each_try_of_a_run_has_its_own_readings() -> None:
    """Driven at 09:00 and again at 09:20: each reading belongs to the last try that began before it."""
    times = [timed(1, "09:00", status="rerun"), timed(1, "09:20")]
    rows = [
        read("before", "08:55", 30.0),
        read("after", "09:03", 33.0),
        read("before", "09:15", 31.0),
        read("after", "09:23", 34.0),
    ]
    wanted = [
        ("before", 535.0),
        ("run 1", 540.0),
        ("after", 543.0),
        ("before", 555.0),
        ("run 1", 560.0),
        ("after", 563.0),
    ]
    assert lines(told(times, *rows)) == wanted
    late = [timed(1, "09:06", status="rerun"), timed(1, "09:26")]
    assert lines(told(late, *rows)) == [*wanted[:1], ("run 1", 543.0), *wanted[2:4], ("run 1", 563.0), wanted[5]]
    assert [item.runs_before for item in timeline(told(times, *rows), "26")] == [0, 0, 1, 1, 1, 2]
    turned = [read("before", "09:20", 31.0), read("after", "09:15", 34.0)]
    found = lines(told([times[0], timed(1, "09:25")], *turned))
    assert ("run 1", 565.0) in found, "read after it before it was read before it: as typed"


def test_a_run_typed_late_stands_between_what_was_read_before_and_after_it() -> None:
    rows = [
        read("before", "09:50", 30.0),
        read("after", "10:00", 33.0),
        read("before", "10:20", 31.0, 2),
        read("after", "10:30", 33.0, 2),
    ]
    for typed, minute in (("09:55", 595.0), ("10:10", 600.0), ("09:40", 590.0)):
        assert lines(told([timed(1, typed)], *rows))[1] == ("run 1", minute)
    for typed, minute in (("10:25", 625.0), ("10:40", 630.0), ("10:05", 620.0)):
        found = lines(told([timed(1, "09:55"), timed(2, typed)], *rows))
        assert found[4] == ("run 2", minute)
    alone = [read("after", "10:00", 33.0), read("after", "10:30", 33.0, 3)]
    for typed, minute in (("10:10", 610.0), ("09:20", 600.0), ("11:00", 630.0)):
        found = dict(lines(told([timed(1, "09:55"), timed(2, typed), timed(3, "10:28")], *alone)))
        assert found["run 2"] == minute, "no reading of its own: between those of its neighbours"
    tight = [read("after", "10:00", 33.0), read("before", "10:00", 33.0, 3)]
    found = dict(lines(told([timed(1, "09:55"), timed(2, "09:20"), timed(3, "10:28")], *tight)))
    assert found["run 2"] == 600.0


def test_a_clock_set_back_holds_a_run_where_its_readings_are_taken() -> None:
    """Read before it at 10:00, after it at 9:50 by a clock set back: both and the run between them are of 10:00."""
    rows = [read("before", "10:00", 30.0), read("after", "09:50", 33.0)]
    assert lines(told([timed(1, "09:55")], *rows)) == [("before", 600.0), ("run 1", 600.0), ("after", 600.0)]


def test_rows_without_a_clock_take_their_neighbours_minute() -> None:
    rows = [
        read("before", None, 30.0),
        read("after", "09:03", 33.0),
        read("set", None, 31.0, 2),
        read("before", "09:20", 31.0, 2),
    ]
    assert lines(told([timed(1), timed(2)], *rows)) == [
        ("before", 543.0), ("run 1", 543.0), ("after", 543.0), ("set", 543.0), ("before", 560.0), ("run 2", 560.0),
    ]  # fmt: skip
    assert lines(told([timed(1)], read("before", None, 30.0))) == [("before", 0.0), ("run 1", 0.0)]


def test_readings_as_entered_have_their_run_and_rank() -> None:
    """Cold, before, the run, after, set after it; a set before its reading is one before the run."""
    rows = [
        read("cold", None, 30.0, None), read("set", None, 30.0, None), read("before", None, 30.0, 2), read("set", None, 30.0, 2),
        read("after", None, 30.0, 2), read("set", None, 30.0, 2), read("after", None, 30.0, None), read("before", None, 30.0, None, day=2),
    ]  # fmt: skip
    found = [(item.run, item.rank, item.index) for item in readings_entered(rows)]
    assert found == [(0, 0, 0), (0, 1, 1), (2, 1, 2), (2, 1, 3), (2, 3, 4), (2, 4, 5), (2, 3, 6), (0, 1, 7)]


def test_two_drivers_of_a_car_by_minute_then_as_entered() -> None:
    mine = {"numbers": ["26", "7"], "cars": {"26": "estate", "7": "estate"}}
    times = [timed(1, "09:00"), timed(1, "09:10", "7"), timed(2, "09:20"), timed(2, "09:30", "7", day=2)]
    rows = [read("after", "09:12", 33.0, number="7"), read("after", "09:02", 32.0)]
    found = timeline(told(times, *rows, mine=mine), "26")
    assert [(item.number, item.run, item.rank, item.runs_before, item.runs_today) for item in found] == [
        ("26", 1, 2, 0, 0), ("26", 1, 3, 1, 1), ("7", 1, 2, 1, 1), ("7", 1, 3, 2, 2), ("26", 2, 2, 2, 2), ("7", 2, 2, 3, 0),
    ]  # fmt: skip
    blind = [row.model_copy(update={"at": None}) for row in rows]
    bare = [row.model_copy(update={"at": None}) for row in times[:2]]
    order = [(item.number, item.rank) for item in timeline(told(bare, *blind, mine=mine), "26")]
    assert order == [("7", 2), ("7", 3), ("26", 2), ("26", 3)], "as entered"
    none = [(item.number, item.run) for item in timeline(told(bare, mine=mine), "7")]
    assert none == [("26", 1), ("7", 1)], "mine in the order of the settings"


def test_a_clock_set_back_is_asked_about_and_left_in() -> None:
    row = read("after", "09:00", 30.0, line=4)
    (found,) = doubts_of(row, settings(), 20.0, settled=600.0)
    assert (found.field, found.out) == ("at", False)
    assert found.text == "09:00 is before 10:00 of a row entered earlier: taken as later. Was the clock set back?"
    assert doubts_of(row, settings(), 20.0, settled=540.0) == ()
    assert doubts_of(read("after", None, 30.0), settings(), 20.0, settled=600.0) == ()
    assert doubts_of(read("cold", None, 30.0, None, wait_min=0.0), settings(), 20.0) == (), "no run before it"
    assert str(found).startswith("pressures.csv:4: day 1 run 1 after: ")
    log = car_log(told([], read("before", "10:00", 30.0), read("before", "09:00", 30.0)), "26")
    assert [item.field for item in log.doubts] == ["at"]
    assert [item.minute for item in log.items] == [600.0, 600.0]


# --- what surrounds a reading -----------------------------------------------------------------------------------------


def test_minutes_since_the_last_run_ended() -> None:
    times = [timed(1, "09:00"), timed(1, "09:00", day=2)]
    rows = [
        read("before", "08:50", 30.0), read("after", "09:10", 33.0), read("before", "09:40", 31.0, 2), read("before", None, 31.0, 2, wait_min=50.0),
        read("before", "08:00", 31.0, 1, day=2),
    ]  # fmt: skip
    found = car_log(told(times, *rows), "26").readings
    assert [item.since_min for item in found] == [None, 9.25, 39.25, 50.0, None]
    assert [item.rested for item in found] == [True, False, False, True, True]
    assert car_log(told([], read("cold", None, 30.0, None, wait_min=0.0)), "26").doubts == (), "it had not run"
    early = car_log(told([timed(1, "09:00")], read("after", "09:00:30", 33.0)), "26").readings[0]
    assert early.since_min == 0.0
    waited = car_log(told([], read("before", None, 30.0, wait_min=50.0)), "26").readings[0]
    assert waited.since_min is None, "no run to have stood since"


@pytest.mark.parametrize(
    ("more", "cold", "rested", "warm"),
    [({"moment": "cold", "run": None}, True, True, False), ({"wait_min": 180.0}, True, True, False),
     ({"wait_min": 179.0}, False, True, False), ({"wait_min": 45.0}, False, False, False), ({"wait_min": 45.1}, False, True, False),
     ({"wait_min": 50.0, "tyre_c": 25.0}, False, True, False), ({"wait_min": 50.0, "tyre_c": 25.1}, False, False, True)],
)  # fmt: skip
def test_a_tyre_that_has_stood(more: dict[str, Any], cold: bool, rested: bool, warm: bool) -> None:
    row = read("before", None, 30.0, 2).model_copy(update=more)
    found = car_log(told([timed(1)], row), "26").readings[-1]
    assert (found.cold, found.rested, found.warmed) == (cold, rested, warm)


def test_a_gauge_that_reads_high_is_taken_off_and_shown_again() -> None:
    whole = told(
        [],
        read("before", "09:00", (30.5, None, 31.0, 32.0), gauge="g", sun="R"),
        gauges=[Gauge(id="g", offset_psi=0.5, repeat_psi=0.1)],
    )
    (found,) = car_log(whole, "26").readings
    assert dict(found.read) == {"lf": 30.0, "lr": 30.5, "rr": 31.5}
    assert (found.shown.lf, found.shown.rf, found.shown.lr, found.shown.rr) == (30.5, None, 31.0, 32.0)
    assert (found.psi.lf, found.psi.rf, found.noise_psi, found.sun, found.usable, found.eve) == (
        30.0,
        None,
        0.2,
        "right",
        True,
        False,
    )
    assert (found.moment, found.where) == ("before", "day 1 run 1 before")
    cold = car_log(told([], read("cold", "09:00", 30.0, None)), "26").readings[0]
    assert cold.where == "day 1 cold"


# --- another tyre, or a mended one ------------------------------------------------------------------------------------


def renewed(*rows: Row, times: int = 3) -> tuple[Renewed, ...]:
    return car_log(told([timed(run, f"{8 + run:02}:00") for run in range(1, times + 1)], *rows), "26").renewed


def fitted(run: int | None, corner: str, tyre: str, day: int = 1, **more: Any) -> FittedRow:
    return FittedRow(**({"day": day, "run": run, "number": "26", "corner": corner, "tyre": tyre} | more))


def test_a_tyre_fitted_or_turned_begins_anew_from_its_run() -> None:
    rows = [
        fitted(None, "lf", "a"),
        fitted(3, "lf", "b"),
        fitted(2, "rf", "c"),
        fitted(3, "rf", "c"),
        fitted(3, "lr", "d"),
    ]
    assert renewed(*rows) == (Renewed("lf", 1, 2, None, "fitted"),)
    turned = [fitted(1, "rr", "a", orientation="in"), fitted(2, "rr", "a", orientation="out")]
    assert renewed(*turned) == (Renewed("rr", 1, 1, None, "fitted"),)
    next_day = [fitted(1, "lf", "a"), fitted(None, "lf", "b", day=2)]
    assert renewed(*next_day) == (Renewed("lf", 2, 3, None, "fitted"),)
    assert renewed(*rows[:1], fitted(2, "lf", "z", number="7")) == ()
    morning = [fitted(1, "lf", "b"), fitted(None, "lf", "a"), fitted(2, "lf", "a")]
    assert [item.place for item in renewed(*morning)] == [0, 1], "what is on from the day's start comes first"
    out_of_order = [fitted(3, "lf", "b"), fitted(1, "lf", "a")]
    assert renewed(*out_of_order) == (Renewed("lf", 1, 2, None, "fitted"),)


@pytest.mark.parametrize(
    ("cells", "corners"),
    [({"item": "plug in right rear tyre"}, ["rr"]), ({"item": "valve", "reason": "LF leaks"}, ["lf"]), ({"item": "puncture", "after": "rear left"}, ["lr"]),
     ({"item": "seat"}, []), ({"item": "rear bar link"}, []), ({"item": "patch rf", "kind": "test"}, []), ({"item": "patch rf", "day": None}, []),
     ({"item": "patch rf", "number": "7"}, []), ({"item": "patch rf", "number": None}, ["rf"]), ({"setting": "nail", "item": "LF and RR"}, ["lf", "rr"])],
)  # fmt: skip
def test_a_repair_of_a_tyre_names_its_corner(cells: dict[str, Any], corners: list[str]) -> None:
    row = SetupChange(**({"id": "c", "day": 1, "run": 2, "number": "26", "kind": "repair"} | cells))
    assert renewed(row) == tuple(Renewed(corner, 1, 1, None, "repaired") for corner in corners)


@pytest.mark.parametrize(
    ("done", "place", "minute"),
    [("day 1 run 2", 2, None), ("day 1 10:30", 2, 630.0), ("day 1 09:00", 0, 540.0), ("day 1", 0, None), ("day 2 08:00", 3, 480.0), ("yes", None, None),
     ("", None, None), ("no", None, None)],
)  # fmt: skip
def test_work_done_on_a_tyre_by_its_stamp(done: str, place: int | None, minute: float | None) -> None:
    found = renewed(WorkRow(id="w", item="puncture", note="left front", done=done))
    day = 2 if done.startswith("day 2") else 1
    assert found == (() if place is None else (Renewed("lf", day, place, minute, "repaired"),))
    assert renewed(WorkRow(id="w", item="wash", note="left front", done=done)) == ()


def test_before_what_it_was_done() -> None:
    items = timeline(
        told([timed(1, "09:00"), timed(2, "10:00")], read("before", "09:50", 30.0, 2), read("after", "10:05", 30.0, 2)),
        "26",
    )
    first, before, second, after = items
    by_run = Renewed("lf", 1, 1, None, "fitted")
    assert [by_run.before(item) for item in items] == [False, True, True, True]
    by_clock = Renewed("lf", 1, 1, 595.0, "repaired")
    assert [by_clock.before(item) for item in items] == [False, False, True, True]
    assert [Renewed("lf", 1, 1, 590.0, "x").before(item) for item in (before, second)] == [True, True]
    assert [Renewed("lf", 1, 2, None, "x").before(item) for item in items] == [False, False, False, False], (
        "a reading after the run is not after it"
    )
    assert [Renewed("lf", 2, 2, None, "x").before(item) for item in items] == [False] * 4
    assert [Renewed("lf", 0, 9, None, "x").before(item) for item in (first, after)] == [True, True]


def test_how_many_runs_come_before() -> None:
    mine = {"numbers": ["26", "7"], "cars": {"26": "estate", "7": "estate"}}
    times = [timed(1, "09:00"), timed(1, "09:10", "7"), timed(2, "09:20"), timed(1, "09:00", day=2)]
    items = timeline(told(times, read("after", "09:02", 30.0), mine=mine), "26")
    assert [runs_before(items, 1, run, "26") for run in (None, 1, 2, 3)] == [0, 0, 2, 3]
    assert [runs_before(items, 1, run, "7") for run in (1, 2)] == [1, 3]
    assert [runs_before(items, day, 1, None) for day in (1, 2, 3)] == [0, 3, 4]
    assert names_corner("Right Rear and front-left, xlfx") == ["rr"]
