"""Which tyre did which run."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.engine.tyres.counts import (
    CarRun,
    FittedPlace,
    Use,
    car_runs,
    fitted_now,
    heat_cycles,
    my_cars,
    runs_from,
    runs_of,
    uses,
)
from paddock.model.rows import RunRow, TimeRow
from tests.engine.tyres.make import SET, car, clean, fit, tyres
from tests.factories import runs


def test_rerun_practice_and_dnf_wear_a_tyre_and_dns_does_not() -> None:
    found = car_runs(car(runs("26", 1, "46.5", "47.0 rerun", "48 practice", "dnf", "dns", "dsq")), ("26",))
    assert [run.run for run in found] == [1, 2, 3, 4, 6]


def test_a_logged_run_counts_before_its_time_is_in_and_only_once() -> None:
    logged = [RunRow(day=1, run=1, number="26"), RunRow(day=1, run=2, number="26"), RunRow(day=1, run=3, number="26")]
    found = car_runs(car(runs("26", 1, "46.5", "dns"), *logged), ("26",))
    assert [run.run for run in found] == [1, 3]


def test_a_rerun_and_its_replacement_are_two_runs() -> None:
    rerun = runs("26", 1, "46.5 rerun") + runs("26", 1, "46.4")
    assert runs_of(car(rerun, *tyres("A"), *fit(1, None, lf="A")))["A"] == 2


def test_two_drivers_in_one_car_wear_the_same_tyres() -> None:
    times = clean("26", 1, 3) + clean("83", 1, 3)
    shared = car(
        times,
        *tyres("A", runs_before=20),
        *fit(1, 1, lf="A"),
        mine={"numbers": ["26", "83"], "cars": {"26": "h", "83": "h"}},
    )
    apart = car(
        times,
        *tyres("A", runs_before=20),
        *fit(1, 1, lf="A"),
        mine={"numbers": ["26", "83"], "cars": {"26": "h", "83": "k"}},
    )
    assert runs_of(shared)["A"] == 26
    assert runs_of(apart)["A"] == 23


def test_a_tyre_moves_with_its_row_from_that_run_on() -> None:
    rows = [*fit(1, 1, **SET), *fit(1, 3, lf="C", lr="A")]
    event = car(clean("26", 1, 4), *rows)
    corners = [use.place.corner for use in uses(event) if use.tyre == "A"]
    assert corners == ["lf", "lf", "lr", "lr"]


@given(st.lists(st.tuples(st.integers(1, 2), st.integers(1, 3), st.permutations("ABCD")), max_size=6))
def test_each_run_uses_a_tyre_at_most_once(moves: list[tuple[int, int, list[str]]]) -> None:
    rows = [row for day, run, names in moves for row in fit(day, run, **dict(zip(SET, names, strict=True)))]
    event = car(clean("26", 1, 3) + clean("26", 2, 3), *rows)
    seen = [(use.run, use.tyre) for use in uses(event)]
    assert len(seen) == len(set(seen))
    assert sum(runs_of(event).values()) == len(seen)


def test_heat_cycles_by_day_and_by_rest() -> None:
    made = [CarRun(1, 1, "10:00", "26", ""), CarRun(1, 2, "10:40", "26", ""), CarRun(1, 3, "14:00", "26", "")]
    assert heat_cycles(made) == 2
    assert heat_cycles([*made, CarRun(2, 1, "", "26", ""), CarRun(2, 2, "", "26", "")]) == 3
    assert heat_cycles([]) == 0


def test_what_was_run_and_when() -> None:
    """The time's clock before the logged one; a status is a run but for dns; a row with nothing is none."""

    def timed(run: int, number: str = "26", **cells: object) -> TimeRow:
        return TimeRow(day=1, run=run, number=number, **cells)  # type: ignore[arg-type]

    times = [timed(1, at="09:00", time_ms=1), timed(2, time_ms=0), timed(3), timed(4, status="dns", time_ms=5), timed(5, misses=0),
             timed(6, cones=0), timed(7, status="dnf"), timed(8, at="12:00"), timed(1, "9", time_ms=1), timed(2, time_ms=3, try_="b")]  # fmt: skip
    logged = [RunRow(day=1, run=run, number=number, at=at) for run, number, at in
              ((1, "26", "08:59"), (2, "26", "09:30"), (3, "26", None), (4, "26", "11:00"), (9, "26", "13:00"), (9, "9", "13:01"))]  # fmt: skip
    found = car_runs(car(times, *logged), ("26", "83"))
    assert [(item.run, item.at, item.try_) for item in found] == [
        (1, "09:00", ""), (2, "09:30", ""), (2, "09:30", "b"), (3, "", ""), (5, "", ""), (6, "", ""), (7, "", ""), (8, "12:00", ""),
        (9, "13:00", ""),
    ]  # fmt: skip
    assert {(item.day, item.number) for item in found} == {(1, "26")}
    assert car_runs(car(times, *logged), ()) == ()


def test_a_row_without_a_run_comes_before_the_first_wherever_it_stands_in_the_file() -> None:
    rows = [*fit(2, 1, lf="B"), *fit(1, 1, lf="Z"), *fit(1, None, lf="Y"), *fit(2, None, lf="A")]
    event = car(clean("26", 1, 1) + clean("26", 2, 1), *rows)
    assert fitted_now(event, ["26"]) == {"lf": ("B", FittedPlace("lf"))}
    assert [use.tyre for use in uses(event)] == ["Z", "B"]
    assert fitted_now(event, ["9"]) == {}


def test_a_use_cell_by_cell_and_the_turned_way_round() -> None:
    rows = [*fit(1, 1, lf="A", orientation="Reversed on the rim"), *fit(1, 2, rr="A")]
    event = car(clean("26", 1, 2), *rows, mine={"numbers": ["26"], "cars": {"26": "h"}})
    assert uses(event) == (
        Use("A", "h", FittedPlace("lf", True), CarRun(1, 1, "", "26", "")), Use("A", "h", FittedPlace("rr"), CarRun(1, 2, "", "26", "")),
    )  # fmt: skip


def test_my_cars_with_their_drivers_in_order() -> None:
    rows = [*fit(1, 1, "7", lf="A"), *fit(1, 1, "83", rf="B")]
    mine = {"numbers": ["83", "26"], "cars": {"26": "h", "83": "h", "7": "k"}}
    assert my_cars(car([], *rows, mine=mine)) == {"h": ("83", "26"), "k": ("7",)}


LOGGED = tuple(CarRun(day, run, at, number, "") for day, run, at, number in (
    (1, 1, "09:00:30", "26"), (1, 1, "09:10", "83"), (1, 2, "09:20", "26"), (1, 2, "", "83"), (1, 3, "09:40", "26"), (2, 1, "08:00", "83"),
))  # fmt: skip


@pytest.mark.parametrize(
    ("moment", "places"),
    [
        ((1,), (0, 1, 2, 3, 4, 5)), ((0,), (0, 1, 2, 3, 4, 5)), ((2,), (5,)), ((3,), ()), ((1, 2), (2, 3, 4, 5)), ((1, 3), (4, 5)),
        ((1, None, "09:20"), (2, 3, 4, 5)), ((1, None, "09:00"), (0, 1, 2, 3, 4, 5)), ((1, None, "09:00:31"), (1, 2, 3, 4, 5)),
        ((1, None, "09:41"), (3, 5)), ((1, 2, "", "26"), (2, 3, 4, 5)), ((1, 3, "09:05", "26"), (1, 4, 5)), ((1, 2, "", "83"), (2, 3, 4, 5)),
        ((1, 2, "09:30", "83"), (3, 4, 5)), ((1, 1, "", "83"), (1, 2, 3, 4, 5)), ((2, 1, "07:00", "26"), (5,)), ((2, 1, "08:01", "26"), ()),
    ],
)  # fmt: skip
def test_the_runs_from_a_moment_on(moment: tuple[int], places: tuple[int, ...]) -> None:
    """By hand: own runs by number, the other driver's by the clock, without one by the number."""
    assert runs_from(LOGGED, *moment) == tuple(LOGGED[place] for place in places)


def test_rest_is_counted_from_the_last_clock_of_the_day() -> None:
    def cycles(*made: tuple[int, int, str], cool_min: float = 60.0) -> int:
        return heat_cycles([CarRun(day, run, at, "26", "") for day, run, at in made], cool_min)

    assert cycles((1, 3, "12:00"), (1, 1, "10:00"), (1, 2, "11:00")) == 1
    assert cycles((1, 1, "10:00"), (1, 2, "11:01"), (1, 3, "")) == 2
    assert cycles((1, 1, "10:00"), (2, 1, ""), (2, 2, "12:00"), (2, 3, "13:01")) == 3
    assert cycles((1, 1, "10:00"), (2, 1, "08:00")) == 2
    assert cycles((1, 1, "10:00"), (1, 2, "10:10"), cool_min=9.0) == 2
