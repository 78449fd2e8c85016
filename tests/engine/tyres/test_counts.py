"""Which tyre did which run."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from paddock.engine.tyres.counts import CarRun, car_runs, heat_cycles, runs_of, uses
from paddock.model.rows import RunRow
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
