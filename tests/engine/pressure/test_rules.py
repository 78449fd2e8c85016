"""The rules one by one, the hold gate, the learned response, the cold plan."""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest

from paddock.engine.pressure.air import AirState, carry
from paddock.engine.pressure.answer import Moment
from paddock.engine.pressure.corners import Corners, because
from paddock.engine.pressure.limits import cold_maximum, fitted_tyres, minimum
from paddock.engine.pressure.plan import Rise, cold_plan, next_event_plan
from paddock.engine.pressure.rules import RULES, leads_with_one_left
from paddock.engine.pressure.signs import Sample, axle_signs, learn
from paddock.model.event import Event
from paddock.model.rows import FittedRow, Row, RunRow, SetupChange, TyreRow, WeatherRow, WorkRow
from paddock.model.thresholds import Thresholds, thresholds_of
from paddock.pages.pressure import next_line, plan_line
from paddock.pages.pressure import told as told_words
from paddock.pages.reasons import learned_words
from tests.engine.pressure.situations import (
    HOT,
    ME,
    MORNING,
    after,
    before,
    car,
    cold,
    hourly,
    logged,
    now,
    put,
    rubber,
)
from tests.engine.said import cautions, reason, why
from tests.factories import entrant, event, runs, settings

TIGHT = "-2 -2 0 0"


def rise(front: float, rear: float) -> dict[str, Rise]:
    """Both axles' rise of a first run, K."""
    return {axle: Rise(k, k - 2.0, k + 2.0, "read", 2) for axle, k in (("front", front), ("rear", rear))}


def told(*rows: Row, times: tuple[str, ...] = ("47",), of: Any = None, order: bool = True, **more: Any) -> Event:
    """``order``: a running order says that the next run is an hour after the last; else nothing does."""
    base: dict[str, Any] = {
        "altitude_m": 412.0, "runs_per_day": 6, "forecast": {"hottest_c": 30.0, "coldest_c": 12.0},
        "gauges": [{"id": "dial", "step_psi": 0.5, "repeat_psi": 0.3}],
    }  # fmt: skip
    whole = event(
        [entrant(ME), entrant("5")], [*runs(ME, 1, *times), *runs("5", 1, "45")], settings(**(base | more)), *rows
    )
    whole = dataclasses.replace(whole, cars={"estate": of or car()})
    return hourly(whole) if order and times and "grid" not in more else whole


def asked(*rows: Row, **more: Any) -> Moment:
    return now(told(*rows, **more))


PAST = (MORNING, after(1, *HOT), logged(1, TIGHT), *rubber(1, "front", "past"))


# limits ---------------------------------------------------------------------------------------------------------


def test_the_lowest_of_tyre_wheel_and_car_counts() -> None:
    assert cold_maximum(car(), TyreRow(tyre="a", max_cold_psi=44.0)) == 44.0
    assert cold_maximum(car(wheel_max_psi=40.0), None) == 40.0
    assert cold_maximum(car(max_cold_psi=None), None) is None
    assert cold_maximum(None, TyreRow(tyre="a", max_cold_psi=44.0)) == 44.0


def test_a_placard_stands_in_for_a_blank_minimum_but_stops_no_return() -> None:
    assert minimum(car(), "front") == 26.0
    assert minimum(car(front_min_psi=None), "front") is None
    blank = car(front_min_psi=None)
    back = asked(MORNING, after(1, 38.0, 38.0, 44, 44), logged(1), of=blank)
    assert back.moves["lf"] == pytest.approx(34.0)
    assert any("under the placard" in text for text in cautions(back))
    new = asked(MORNING, after(1, *HOT), logged(1, "0 -2 0 0"), *rubber(1, "front", "short", 6), of=blank)
    assert not new.moves


def test_the_tyre_fitted_last_counts() -> None:
    rows = [
        TyreRow(tyre="a", max_cold_psi=44.0), TyreRow(tyre="b", max_cold_psi=51.0),
        FittedRow(day=1, run=1, number=ME, corner="lf", tyre="a"), FittedRow(day=1, run=3, number=ME, corner="lf", tyre="b"),
    ]  # fmt: skip
    whole = told(*rows)
    assert fitted_tyres(whole, [ME], (1, 2))["lf"].tyre == "a"
    assert fitted_tyres(whole, [ME], (1, 3))["lf"].tyre == "b"


def test_a_return_to_target_stops_at_the_minimum_in_the_coldest_air() -> None:
    # Worked by hand: a tyre that read 30 at 12 C reads 36.5 hot; 28 in 12 C air is what is allowed.
    found = asked(MORNING, after(1, 36.5, 36.5, 44, 44), logged(1), of=car(front_min_psi=28.0))
    outside = 96468.0 / 6894.757
    assert found.rule == "heat-drift"
    assert found.set["lf"] == pytest.approx((28 + outside) * (36.5 + outside) / (30 + outside) - outside, abs=0.01)
    assert (found.set["lf"] or 0) > 34.2


@pytest.mark.parametrize("word", ["no", "none", "-", None])
def test_nothing_unsafe_may_be_written_out(word: str | None) -> None:
    assert asked(MORNING, after(1, *HOT), logged(1, unsafe=word)).action == "hold"


def test_a_hot_tyre_of_unknown_temperature_is_never_set_lower_anew() -> None:
    rows = (after(1, *HOT), logged(1, "0 -2 0 0"), *rubber(1, "front", "short", 6))
    high = car(front_min_psi=29.0)
    found = asked(*rows, of=high)
    assert found.action == "hold"
    assert "temperature is not known" in why(found, "front-short")
    measured = (after(1, *HOT, tyre_c=28.0), *rows[1:])
    assert asked(*measured, of=high).rule == "front-short"


def test_no_minimum_and_no_placard_never_lowers_anew() -> None:
    blank = car(front_min_psi=None, placard_front_psi=None)
    found = asked(MORNING, after(1, *HOT), logged(1, "0 -2 0 0"), *rubber(1, "front", "short", 6), of=blank)
    assert found.action == "hold"
    assert "no placard" in why(found, "front-short")


def test_under_the_minimum_without_a_maximum_is_a_stop_not_a_raise() -> None:
    bare = car(max_cold_psi=None, placard_front_psi=None, placard_rear_psi=None)
    bare = bare.model_copy(update={"targets": {}})
    found = asked(cold(20, 20, 30, 30), times=(), of=bare)
    assert (found.action, found.rule) == ("stop", "limits")
    assert found.set is None


def test_limits_that_cannot_both_be_met_stop() -> None:
    found = asked(cold(30, 30, 40, 40), times=(), of=car(front_min_psi=45.0, max_cold_psi=44.0))
    assert (found.action, found.rule) == ("stop", "unsafe")


def test_a_hot_reading_over_the_maximum_is_fine_when_it_is_under_it_parked() -> None:
    hot = car(max_cold_psi=43.0).model_copy(update={"targets": {}})
    assert asked(MORNING, after(1, *HOT), logged(1), of=hot).action == "hold"
    blind = asked(after(1, 34.0, 34.0, 50.0, 50.0), logged(1), of=hot)
    assert blind.action == "hold"
    assert any("how hot they are is not known" in text for text in cautions(blind))
    measured = asked(after(1, 34.0, 34.0, 50.0, 50.0, tyre_c=40.0), logged(1), of=hot)
    assert (measured.rule, measured.moves["lr"] < 47.0) == ("limits", True)


# unsafe ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("work", "action"),
    [
        (WorkRow(id="w", item="inspect for vibration"), "stop"),
        (WorkRow(id="w", item="inspect for vibration", done="no"), "stop"),
        (WorkRow(id="w", item="inspect for vibration", done="09:20"), "hold"),
        (WorkRow(id="w", opened="day 1 run 1", item="wheel nuts", done="yes"), "hold"),
        (WorkRow(id="w", opened="2026-05-08", item="vibration on the way here", done="yes"), "stop"),
        (WorkRow(id="w", item="change the oil", done="yes"), "stop"),
        (WorkRow(id="w", opened="day 1 07:20", item="vibration of yesterday", done="day 1 08:10"), "stop"),
        (WorkRow(id="w", opened="day 1 09:12", item="vibration", done="day 1 09:20"), "hold"),
        (WorkRow(id="w", opened="09:12", item="vibration", done="09:20"), "hold"),
    ],
)
def test_unsafe_stands_until_its_worklist_row_is_done(work: WorkRow, action: str) -> None:
    assert asked(MORNING, after(1, *HOT), logged(1, unsafe="vibration"), work).action == action


def test_only_the_last_run_counts_as_unsafe() -> None:
    rows = (MORNING, logged(1, unsafe="noise"), logged(2), after(2, *HOT))
    assert asked(*rows, times=("47", "47")).action == "hold"


def test_a_sudden_fall_stands_above_the_limits_and_bows_to_work_done() -> None:
    rows = (MORNING, before(1, *HOT), after(1, 35, 35, 46, 41), logged(1))
    found = asked(*rows)
    assert (found.action, found.name) == ("stop", "odd-corner")
    assert "right rear" in reason(found)
    done = WorkRow(id="w", opened="day 1 run 1", item="RR valve core", done="yes")
    assert asked(*rows, done).action != "stop"


# returns --------------------------------------------------------------------------------------------------------


def test_a_setting_already_made_is_not_made_twice() -> None:
    rows = (MORNING, after(1, 36.5, 36.5, 46, 46), logged(1))
    told_to = asked(*rows).moves
    four = tuple(told_to[corner] for corner in ("lf", "rf", "lr", "rr"))
    found = asked(*rows, put(2, *four, at="09:05"))
    assert (found.action, found.name, found.set, found.moves) == ("none", "set", None, {})
    less = asked(*rows, put(2, four[0] + 1.0, four[1] + 1.0, *four[2:], at="09:03"))
    assert less.moves == {"lf": pytest.approx(four[0]), "rf": pytest.approx(four[1])}


def test_a_tyre_that_has_only_cooled_is_never_pumped() -> None:
    """Twenty minutes after the run it has lost two thirds of its heat: 34 hot then reads 31.9 (gas law by hand)."""
    assert not asked(MORNING, logged(1), before(2, 31.9, 31.9, 41.5, 41.5, at="09:20"), order=False).moves
    over = asked(MORNING, logged(1), before(2, 34.0, 34.0, 44.0, 44.0, at="09:20"), order=False)
    assert over.name == "cold-read"
    assert over.now is not None
    assert max(over.moves.values()) < 43.0
    assert set(over.moves) == {"lf", "rf", "lr", "rr"}


@pytest.mark.parametrize("more", [{"balance": "-2 0 0 0"}, {"balance": "0 0 0 2"}])
def test_heat_drift_needs_a_quiet_balance(more: dict[str, str]) -> None:
    found = asked(MORNING, after(1, 36.5, 36.5, 44, 44), logged(1, **more))
    assert found.action == "hold"
    assert "balance" in why(found, "heat-drift")


def test_standing_water_is_answered_once() -> None:
    wet = (MORNING, after(1, *HOT), logged(1, surface="standing"))
    assert asked(*wet).rule == "standing-water"
    again = (*wet, put(2, 34, 34, 41, 41, at="09:05"), logged(2, surface="standing"), after(2, 33.8, 33.8, 40.8, 40.8))
    assert not asked(*again, times=("55", "55")).moves


def test_damp_is_answered_once_and_dry_again_goes_back() -> None:
    rows: tuple[Row, ...] = (
        MORNING,
        logged(1),
        logged(2, surface="damp"),
        after(2, *HOT),
        put(3, 30, 30, 38, 38, at="10:05"),
    )
    assert asked(*rows, times=("47", "50")).name == "set"
    damp = (*rows, logged(3, "-2 0 0 0", surface="damp"), after(3, 31.4, 31.4, 39.4, 39.4))
    assert not asked(*damp, times=("47", "50", "48")).moves
    dry = (*rows, logged(3), after(3, 30.4, 30.4, 38.4, 38.4))
    found = asked(*dry, times=("47", "50", "48"))
    assert (found.rule, found.moves["lr"]) == ("heat-drift", pytest.approx(44.0, abs=0.6))


def test_the_weather_log_can_turn_it_damp() -> None:
    rows = (MORNING, after(1, *HOT), logged(1), WeatherRow(day=1, at="09:10", surface="damp"))
    assert asked(*rows).rule == "damp"


# the hold gate --------------------------------------------------------------------------------------------------


def test_an_open_change_holds_until_it_was_run_twice() -> None:
    change = SetupChange(id="c", day=1, run=1, number=ME, kind="test", item="rear bar")
    assert "rear bar" in reason(asked(*PAST, change))
    twice = (
        MORNING,
        after(2, *HOT, at="09:30"),
        logged(1),
        logged(2, TIGHT, at="09:20"),
        *rubber(2, "front", "past"),
        change,
    )
    assert asked(*twice, times=("47", "47")).rule == "front-past"
    kept = change.model_copy(update={"decision": "keep"})
    assert asked(*PAST, kept).rule == "front-past"
    other = change.model_copy(update={"number": "5"})
    assert asked(*PAST, other).rule == "front-past"


def test_a_coarse_gauge_holds_small_steps() -> None:
    found = asked(
        MORNING, after(1, *HOT), logged(1, "-2 0 0 0"), *rubber(1, "front", "past"),
        gauges=[{"id": "dial", "step_psi": 2.0, "repeat_psi": 0.3}],
    )  # fmt: skip
    assert found.action == "hold"
    assert "gauge" in reason(found)


def test_the_lead_with_one_run_left_can_be_told() -> None:
    assert now(told(*PAST), leads_with_one_left=True).action == "hold"
    assert now(told(*PAST), leads_with_one_left=False).rule == "front-past"
    first = told(*PAST, times=("44",), runs_per_day=2)
    assert leads_with_one_left(first, ME)
    assert not leads_with_one_left(told(*PAST, times=("44",), runs_per_day=3), ME)
    assert not leads_with_one_left(told(*PAST, times=("46",), runs_per_day=2), ME)
    assert not leads_with_one_left(first, "99")


def test_the_gate_never_stops_a_return() -> None:
    rows = (MORNING, after(1, 36.5, 36.5, 46, 46), logged(1, mistake=True))
    assert now(told(*rows), leads_with_one_left=True).rule == "heat-drift"


def test_signs_from_before_a_setting_are_not_answered_twice() -> None:
    found = asked(*PAST, put(2, 36, 36, 44, 44, at="09:05"))
    assert (found.action, found.name) == ("none", "set")
    half = asked(*PAST, put(2, 35, 35, 44, 44, at="09:05"))
    assert half.moves == {"lf": pytest.approx(36.0, abs=0.1), "rf": pytest.approx(36.0, abs=0.1)}
    again = asked(*PAST, put(2, 35, 35, 44, 44, at="09:05"), after(1, 34.9, 34.9, 43.9, 43.9, at="09:06"))
    assert "was set since" in why(again, "front-past")


# signs and learning ---------------------------------------------------------------------------------------------


def test_the_harder_rolled_tyre_counts_and_a_quarrel_says_nothing() -> None:
    one, two = rubber(1, "front", "on"), rubber(1, "front", "past")
    assert axle_signs([one[0], two[1]], 3.0)["front"].mark == "past"
    short = rubber(1, "front", "short", 6)
    assert axle_signs([short[0], two[1]], 3.0)["front"].mark is None
    assert axle_signs([short[0], one[1]], 3.0)["front"].mark == "on"


def test_the_car_teaches_a_direction_of_its_own() -> None:
    samples = [
        Sample(1, place, -2 + 0.4 * (psi - 30) + 0.05 * (-1) ** place, psi, 44.0)
        for place, psi in enumerate([30, 33, 31, 34, 30, 32, 35, 31])
    ]
    found = learn(samples, 6, 2.0)
    assert found["front"].slope == pytest.approx(0.4, abs=0.05)
    assert "learned from 8 runs" in learned_words(found["front"])
    assert not learn(samples[:5], 6, 2.0)
    flat = [dataclasses.replace(item, front_psi=34.0 + 0.1 * place) for place, item in enumerate(samples)]
    assert not learn(flat, 6, 2.0)


def test_a_track_that_comes_in_is_not_taken_for_the_tyres() -> None:
    samples = [Sample(1, place, -2 + 0.3 * place, 30 + 0.8 * place, 44.0) for place in range(8)]
    assert not learn(samples, 6, 2.0)


def learned_rows(slope: float) -> list[Row]:
    rows: list[Row] = [MORNING]
    for run, front in enumerate([32, 34, 31, 35, 33, 32, 35, 31], 1):
        mid = round(-1.5 + slope * (front - 33))
        rows += [logged(run, f"{mid} {mid} 0 {mid}"), after(run, front, front, 44, 44)]
    return rows


def test_a_learned_response_replaces_the_default_direction() -> None:
    last = [logged(9, TIGHT), after(9, *HOT), *rubber(9, "front", "past")]
    up = now(told(*learned_rows(0.5), *last, times=("47",) * 9, runs_per_day=12))
    assert (up.rule, "learned from" in reason(up), up.moves["lf"]) == ("front-past", True, 36.0)
    down = now(told(*learned_rows(-0.5), *last, times=("47",) * 9, runs_per_day=12))
    assert (down.rule, "learned from" in reason(down), down.moves["lf"]) == ("front-past", True, 33.0)


# thresholds, words, plan ----------------------------------------------------------------------------------------


def test_thresholds_of_the_car_file_are_held_in_bounds() -> None:
    given = car().model_copy(
        update={"advice": {"step_psi": 1.5, "max_step_psi": 9.0, "middle_c": "warm", "unknown": 3.0}}
    )
    found, said = thresholds_of(given)
    assert found == dataclasses.replace(Thresholds(), step_psi=1.5)
    assert len(said) == 2
    assert thresholds_of(None) == (Thresholds(), ())


def test_one_line() -> None:
    line = next_line(asked(MORNING, after(1, 36.5, 36.5, 44, 44), logged(1)))
    assert (
        line
        == "Front 36.5/36.5 -> 34.0/34.0 let out, rear stays 44.0/44.0 psi. Heat drift only: back to the dry target. Confidence high, or hold."
    )
    assert next_line(asked(*PAST, unsafe_row())).startswith("STOP. Unsafe: smoke")
    assert next_line(asked(*PAST), "bar").startswith("Front 2.34/2.34 -> 2.48/2.48 add")


def unsafe_row() -> RunRow:
    return logged(2, unsafe="smoke", at="09:20")


def test_the_cold_plan_ends_at_the_hot_target() -> None:
    state = AirState(10.0, 96_000.0)
    plan = cold_plan(car(), "dry", state, rise(12.0, 9.0), hottest_c=30.0)
    assert carry(plan.front.cold_psi or 0, state, AirState(22.0, 96_000.0)) == pytest.approx(34.0)
    assert plan.rear.cold_psi is not None
    assert plan.rear.cold_psi < 44.0
    assert "front 32.1 cold (31.7 to 32.4) for 34.0 hot" in plan_line(plan)
    wider = plan_line(plan, wider=2.0)
    assert "front 32.1 cold (31.4 to 32.7) for 34.0 hot" in wider
    assert "2.0 times as wide: by your own record" in wider


def test_the_cold_plan_never_passes_the_maximum_or_goes_under_the_minimum() -> None:
    state = AirState(10.0)
    low = cold_plan(car(max_cold_psi=40.0, wheel_max_psi=None), "dry", state, rise(1.0, 1.0), hottest_c=35.0)
    assert low.rear.capped
    assert carry(low.rear.cold_psi or 99, state, AirState(35.0)) == pytest.approx(40.0)
    high = cold_plan(car(front_min_psi=33.5), "dry", state, rise(30.0, 1.0))
    assert (high.front.cold_psi, high.front.capped) == (33.5, True)
    assert cold_plan(None, "dry", state, {}).front.cold_psi is None


def test_the_cold_plan_goes_by_the_written_target_without_a_maximum_or_a_minimum() -> None:
    blank = car(max_cold_psi=None, wheel_max_psi=None, front_min_psi=None)
    plan = cold_plan(blank, "dry", AirState(10.0), rise(12.0, 9.0))
    assert (plan.rear.capped, plan.front.capped) == (False, False)
    assert plan.front.caution == because("under-placard", axle="front", psi=33.0)


def test_plans_from_a_days_log() -> None:
    whole = told(MORNING, logged(1), after(1, *HOT))
    here = now(whole).known
    assert here.rises["front"].source == "read"
    assert here.rises["front"].k == pytest.approx(38 - 18, abs=1.0)
    there = next_event_plan(whole, ME, 1600.0, 12.0, hottest_c=30.0)
    assert there.front.cold_psi is not None
    assert there.front.rise == here.rises["front"]
    bare = now(event([entrant(ME)], []))
    assert (bare.action, bare.moves) == ("plan", {})


def test_nothing_logged_plans_and_says_what_is_missing() -> None:
    found = now(event([entrant(ME)], []))
    assert (found.action, found.rule, found.name) == ("plan", "cold-plan", "before")
    assert (found.now, found.set) == (None, Corners())
    assert any("No car file" in text for text in cautions(found))


def test_every_rule_has_a_name_and_is_passed_over_with_a_reason() -> None:
    found = asked(MORNING, after(1, *HOT), logged(1))
    assert found.rule == "hold"
    assert [item.name for item in found.passed_over] == [rule.name for rule in RULES]
    assert all(name and text for _, name, text in told_words(found).passed)


def test_road_pressures_are_said_after_the_last_run() -> None:
    over = asked(*PAST, runs_per_day=1)
    assert over.name == "day-done"
    assert any("driving home" in text and "front 33, rear 32" in text for text in cautions(over))
    assert not any("driving home" in text for text in cautions(asked(*PAST)))


def test_an_open_fault_stands_among_the_cautions() -> None:
    made = {"id": "w", "opened": "day 1 09:10", "item": "find the clonk: front left", "due": "before next run"}
    said = "Open: find the clonk front left, before the next run."
    assert said in cautions(asked(*PAST, WorkRow(**made)))
    assert said not in cautions(asked(*PAST, WorkRow(**made, done="day 1 09:20")))


@pytest.mark.parametrize(("air_c", "surface", "rule"), [
    (6.0, "dry", "first-run"), (20.0, "dry", "cold-plan"), (20.0, "damp", "first-run"), (6.0, "wet", "first-run"),
])  # fmt: skip
def test_the_rear_goes_under_the_plan_where_it_is_cold_or_damp(air_c: float, surface: str, rule: str) -> None:
    rows = (
        MORNING, after(1, *HOT), logged(1, "0 2 0 0"), *rubber(1, "rear", "short", 6),
        WeatherRow(day=2, at="07:30", air_c=air_c, surface=surface),  # type: ignore[arg-type]
        cold(29.2, 29.2, 40.2, 40.2, air_c=air_c, day=2),
    )  # fmt: skip
    assert asked(*rows).rule == rule
