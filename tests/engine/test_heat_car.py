"""What a car's fit foretells, worked again by hand from the fit's own figures; and where there is no fit."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import pytest

from paddock.engine.pressure.air import SEA_LEVEL_PA, AirState, carry
from paddock.engine.pressure.corners import Corners, because
from paddock.engine.pressure.heat import (
    at_start_line,
    heat_curves,
    heat_of,
    last_rise,
    points_of,
    run_minutes,
    sun_differences,
    typical_wait,
)
from paddock.engine.pressure.heat_fit import (
    FEWEST,
    Ahead,
    HeatFit,
    Point,
    cooled,
    curve,
    fit_axle,
    fit_spray,
    sprayed_by,
    warmed,
)
from paddock.engine.pressure.mass import AirTrack
from paddock.model.event import Event
from paddock.model.rows import FittedRow, PressureRow, Row, RunRow, TimeRow, WeatherRow
from tests.engine.test_heat import PLAIN, made, told
from tests.factories import entrant, event, settings


def read(
    moment: str,
    at: str | None,
    psi: float | tuple[float | None, ...] | None,
    run: int | None = 1,
    day: int = 1,
    **more: Any,
) -> PressureRow:
    four = psi if isinstance(psi, tuple) else (psi, psi, psi, psi)
    made = dict(zip(("lf_psi", "rf_psi", "lr_psi", "rr_psi"), four, strict=True))
    return PressureRow(
        **({"day": day, "run": run, "number": "26", "moment": moment, "at": at, "air_c": 20.0} | made | more)
    )


def ran(run: int, at: str | None, day: int = 1) -> RunRow:
    return RunRow(day=day, run=run, number="26", at=at)


def of(*rows: Row) -> Event:
    return event([entrant("26")], [], settings(altitude_m=0.0), *rows)


def track(*rows: Row) -> AirTrack:
    return heat_of(of(*rows), "26").track


# --- the model --------------------------------------------------------------------------------------------------


def test_the_model_against_its_formula() -> None:
    """x after 5 min: 40 e^(-5/25) = 32.749; after a run of 0.8 min: + 12 (closed forms of the docstring)."""
    e = math.exp
    assert cooled(PLAIN, 60, 20, 5) == pytest.approx(20 + 40 * e(-0.2))
    assert cooled(PLAIN, 60, 20, 5, "spray") == pytest.approx(20 + 40 * e(-0.4))
    assert cooled(PLAIN, 60, 20, 5, "shade") == pytest.approx(20 + 40 * e(-0.2))
    assert cooled(PLAIN, 60, 20, 5, sunny=True) == pytest.approx(23 + 37 * e(-0.2))
    assert warmed(PLAIN, 60, 20, 2.0) == pytest.approx(20 + 40 * e(-0.08) + 12)
    ahead = Ahead(20.0, SEA_LEVEL_PA, 5.0, 2.0, "spray", True)
    assert ahead.end_c(PLAIN, 60) == pytest.approx(20 + (3 + 37 * e(-0.4)) * e(-0.08) + 12)


def test_the_curve_point_by_point() -> None:
    ahead = Ahead(20.0, SEA_LEVEL_PA, 10.0, 2.0, "spray")
    points = curve(PLAIN, 34.0, 40.0, ahead, 8.0, 21)
    assert [minute for minute, _ in points] == [float(minute) for minute in range(21)]
    start = 20 + 20 * math.exp(-0.8)
    for minute, psi in points:
        if minute <= 10:
            temp = 20 + 20 * math.exp(-minute * 2 / 25)
        elif minute <= 12:
            heat = (1 - math.exp(-(minute - 10) / 25)) / (1 - math.exp(-2 / 25))
            temp = 20 + (start - 20) * math.exp(-(minute - 10) / 25) + 12 * heat
        else:
            temp = 20 + (warmed(PLAIN, start, 20, 2.0) - 20) * math.exp(-(minute - 12) / 25)
        assert psi == pytest.approx(carry(34.0, AirState(40.0), AirState(temp)))
    assert len(curve(PLAIN, 34.0, 40.0, ahead)) == 60 + 2
    assert curve(PLAIN, 34.0, 40.0, ahead)[-1][0] == 32.0
    jump = dict(curve(PLAIN, 34.0, 40.0, dataclasses.replace(ahead, run_min=0.0), 8.0, 19))
    assert jump[11.0] == pytest.approx(
        carry(34.0, AirState(40.0), AirState(20 + (start + 12 - 20) * math.exp(-1 / 25)))
    )


# --- the fit ----------------------------------------------------------------------------------------------------


def day(tau: float, rise: float, *parts: float) -> list[Point]:
    """A cold start at 20 C, then a run read at once (0) or a wait of so many minutes, in turn."""
    x, points = 0.0, [Point(cold=True)]
    for wait in parts:
        before = x
        x = x * math.exp(-0.8 / tau) + rise if wait == 0 else x * math.exp(-wait / tau)
        ratio = (293.15 + x) / (293.15 + before)
        points.append(Point(wait or 0.8, () if wait else (0.0,), ratio, 293.15, 293.15))
    return points


def test_four_changes_are_enough_and_three_are_not() -> None:
    assert FEWEST == 4
    few = fit_axle("front", day(20, 10, 0, 15, 0))
    assert few == because("too-few-readings", count=3, fewest=4)
    found = fit_axle("front", day(20, 10, 0, 15, 0, 20))
    assert isinstance(found, HeatFit)
    assert (found.pairs, found.axle) == (4, "front")
    assert found.tau_min == pytest.approx(20, rel=1e-3)
    assert found.rise_k == pytest.approx(10, rel=1e-3)
    assert found.noise_k == pytest.approx(0, abs=1e-3)
    waits = [Point(cold=True), *(Point(10.0, (), 0.99, 293.15, 293.15) for _ in range(9))]
    assert fit_axle("front", waits) == because("too-few-readings", count=9, fewest=4)


def test_a_cold_reading_starts_the_heat_anew() -> None:
    twice = day(20, 10, 0, 15, 0, 20)
    found = fit_axle("front", [*twice, *twice])
    assert isinstance(found, HeatFit)
    assert (found.pairs, found.tau_min) == (8, pytest.approx(20, rel=1e-3))


def test_without_ranges_the_figures_themselves_stand_there() -> None:
    points = day(20, 10, 0, 15, 0, 20, 0, 9)
    points[2] = dataclasses.replace(points[2], ratio=(points[2].ratio or 0) * 1.002)
    quick, whole = fit_axle("front", points, ranges=False), fit_axle("front", points)
    assert isinstance(quick, HeatFit)
    assert isinstance(whole, HeatFit)
    assert (quick.tau_low, quick.tau_high) == (pytest.approx(quick.tau_min), pytest.approx(quick.tau_min))
    assert (quick.tau_min, quick.rise_k, quick.noise_k) == (whole.tau_min, whole.rise_k, whole.noise_k)
    assert whole.tau_low < whole.tau_min < (whole.tau_high or math.inf)
    assert whole.rise_low < quick.rise_low < whole.rise_k < quick.rise_high < whole.rise_high


def test_the_range_of_the_time_constant_is_where_the_squares_reach_f() -> None:
    """80 % by F(1, n - 2) = t squared; t(0.9, 4) = 1.5332 (standard tables)."""
    from paddock.engine.pressure import heat_fit as fitting

    points = day(20, 10, 0, 15, 0, 20, 0, 9)
    points[2] = dataclasses.replace(points[2], ratio=(points[2].ratio or 0) * 1.002)
    found = fit_axle("front", points)
    assert isinstance(found, HeatFit)
    least = fitting._profile(points, math.log(found.tau_min)).squares
    limit = least * (1 + 1.5332**2 / 4)
    assert fitting._profile(points, math.log(found.tau_low)).squares == pytest.approx(limit, rel=1e-3)
    assert found.tau_high is not None
    assert fitting._profile(points, math.log(found.tau_high)).squares == pytest.approx(limit, rel=1e-3)
    assert found.noise_k == pytest.approx(math.sqrt(least / 4))


def test_sprayed_minutes_count_double() -> None:
    one, two = sprayed_by([Point(10.0, sprayed=4.0), Point(10.0)], 2.5)
    assert (one.minutes, two.minutes) == (16.0, 10.0)
    assert fit_spray(PLAIN, [Point(10.0, (), 0.99, 293.15, 293.15, sprayed=10.0)] * 2) is None


# --- readings in a row ------------------------------------------------------------------------------------------


def test_points_by_the_clock() -> None:
    found = list(points_of(track(
        read("cold", "08:00", 30.0, None), ran(1, "09:00"), read("after", "09:02", 33.0), read("before", "09:22", 32.0, 2),
    ), "front"))  # fmt: skip
    out = 14.695949
    first, after, before = found
    assert (first.cold, first.ratio) == (True, None)
    assert (after.minutes, after.since) == (62.0, (pytest.approx(1.2),))
    assert after.ratio == pytest.approx((33 + out) / (30 + out))
    assert (after.air0_k, after.air1_k, after.cold) == (293.15, 293.15, False)
    assert (before.minutes, before.since, before.ratio) == (20.0, (), pytest.approx((32 + out) / (33 + out)))


def test_what_is_no_comparison() -> None:
    def ratios(*rows: Row) -> list[bool]:
        return [point.ratio is not None for point in points_of(track(*rows), "front")]

    cold, run, after = read("cold", "08:00", 30.0, None), ran(1, "09:00"), read("after", "09:02", 33.0)
    assert ratios(cold, run, after) == [False, True]
    assert ratios(cold, run, after, read("set", "09:03", 31.0, 2)) == [False, True, False]
    assert ratios(cold, run, read("after", "09:02", 33.0, air_c=None)) == [False, False]
    assert ratios(cold, run, read("after", "09:02", (33.0, 35.0, 33.0, 33.0))) == [False, False]
    assert ratios(cold, run, read("after", "09:02", (33.0, 33.5, 33.0, 33.0))) == [False, True]
    assert ratios(cold, read("cold", "08:30", 30.1, None)) == [False, False]
    assert ratios(cold, ran(1, None), after) == [False, True]
    assert ratios(cold, run, read("after", "09:02", 33.0), read("before", "10:00", 31.0, 1, day=2)) == [
        False,
        True,
        False,
    ]


def test_waits_stand_in_for_clocks() -> None:
    found = list(points_of(track(
        read("cold", None, 30.0, None), ran(1, None), read("after", None, 33.0, wait_min=2.0),
        read("before", None, 32.0, 2, wait_min=15.0),
    ), "front"))  # fmt: skip
    assert [(point.minutes, point.since) for point in found] == [(0.0, ()), (pytest.approx(2.8), (2.0,)), (13.0, ())]


def test_neither_clock_nor_wait_is_read_at_once() -> None:
    found = list(points_of(track(read("cold", None, 30.0, None), ran(1, None), read("after", None, 33.0)), "front"))
    assert [(point.minutes, point.since) for point in found] == [(0.0, ()), (pytest.approx(0.8), (0.0,))]


def test_a_rest_of_a_day_without_minutes_is_left_out() -> None:
    found = list(points_of(track(
        read("cold", "08:00", 30.0, None), ran(1, None), ran(2, None), read("after", None, 33.0, 2),
        read("before", None, 32.0, 3, wait_min=15.0), read("cold", "08:00", 30.0, None, day=2),
    ), "front"))  # fmt: skip
    assert len(found) == 2


def test_a_first_reading_after_runs_knows_its_morning() -> None:
    (first,) = points_of(track(ran(1, "09:00"), read("after", "09:02", 33.0)), "front")
    assert (first.minutes, first.since, first.ratio, first.cold) == (1e6, (pytest.approx(1.2),), None, False)
    assert list(points_of(track(ran(1, None), read("after", "09:02", 33.0)), "front")) == []
    spray = list(points_of(track(
        ran(1, "09:00"), read("after", "09:02", 33.0), read("before", "09:12", 32.0, 2, cooling="spray"),
    ), "front"))  # fmt: skip
    assert [point.sprayed for point in spray] == [0.0, 10.0]


def test_the_last_rise_and_the_usual_waits() -> None:
    rows = [
        read("before", "08:58", (30.0, 31.0, 40.0, 40.0)), ran(1, "09:00"), read("after", "09:02", (32.0, 34.0, 41.0, 41.0)),
        read("before", "09:32", 31.0, 2), ran(2, "09:35"), read("after", "09:39", 33.0, 2), read("before", "09:49", 32.5, 3),
    ]  # fmt: skip
    found = track(*rows)
    assert (last_rise(track(*rows[:3]), "front"), last_rise(track(*rows[:3]), "rear")) == (2.5, 1.0)
    assert last_rise(found, "front") == 2.0
    assert last_rise(track(*rows[:2]), "front") is None
    assert last_rise(track(rows[0], rows[1], ran(2, "09:35"), read("after", "09:39", 33.0, 2)), "front") is None
    half = read("before", "08:58", (None, None, 40.0, 40.0))
    assert [last_rise(track(half, *rows[1:3]), axle) for axle in ("front", "rear")] == [None, 1.0]
    assert typical_wait(found, "after", 9.0) == pytest.approx(3.2)
    assert typical_wait(found, "before", 9.0) == 30.0
    assert typical_wait(track(*rows[:2]), "after", 9.0) == 9.0


def test_minutes_of_a_run() -> None:
    of_ms = event([entrant("26")], [TimeRow(day=1, run=1, number="26", time_ms=45_000)], settings(), ran(2, None))
    first, second = heat_of(of_ms, "26").track.log.run_rows()
    assert (run_minutes(first), run_minutes(second), run_minutes(None)) == (0.75, 0.8, 0.8)


def test_the_side_in_the_sun() -> None:
    cold = read("cold", "08:00", 30.0, None)
    warm, cool = carry(30, AirState(20), AirState(43)), carry(30, AirState(20), AirState(40))
    found = sun_differences(track(cold, ran(1, "09:00"), read("after", "09:02", (warm, cool, warm, cool), sun="left")))
    assert found == [pytest.approx(3)], "both axles of one reading are one figure"
    other = sun_differences(track(cold, ran(1, "09:00"), read("after", "09:02", (warm, cool, warm, cool), sun="right")))
    assert other == [pytest.approx(-3)]
    rear = read("after", "09:02", (warm, None, carry(30, AirState(20), AirState(45)), cool), sun="left")
    assert sun_differences(track(cold, ran(1, "09:00"), rear)) == [pytest.approx(2.5)]
    assert sun_differences(track(cold, ran(1, "09:00"), read("after", "09:02", warm))) == []


# --- the car ----------------------------------------------------------------------------------------------------


def fit_of(whole: Event) -> HeatFit:
    fit = heat_of(whole, "26").axles["front"].fit
    assert fit is not None
    return fit


def test_the_reading_at_the_start_line() -> None:
    whole = told(sets=False)
    heat = heat_of(whole, "26")
    step = next(step for step in reversed(heat.track.steps) if step.reading.moment == "before")
    air = step.corners["lf"]
    assert air.gas_c is not None
    assert at_start_line(whole, "26")["lf"] == pytest.approx(
        air.at(cooled(fit_of(whole), air.gas_c, 15.0, 2.0), SEA_LEVEL_PA)
    )


def test_the_start_line_without_a_reading_of_the_day_or_a_fit() -> None:
    first = [read("before", "09:00", 30.0), ran(1, "09:05")]
    assert at_start_line(of(*first), "26") == Corners(30, 30, 30, 30)
    assert at_start_line(of(*first, ran(1, "09:05", day=2)), "26") == Corners()
    assert at_start_line(of(*first, read("before", "09:00", 31.0, 1, day=2), ran(1, "09:05", day=2)), "26") == Corners(
        31, 31, 31, 31
    )
    assert at_start_line(of(*first, ran(2, "09:35")), "26") == Corners()
    assert at_start_line(of(), "26") == Corners()


def test_curves_start_at_the_reading() -> None:
    whole = told(sets=False)
    step = heat_of(whole, "26").track.latest
    assert step is not None
    found = heat_curves(whole, "26", 10.0, 5.0)
    assert found["front"][0] == (0.0, pytest.approx(step.corners["lf"].psi))
    assert found["rear"][0] == (0.0, pytest.approx(step.corners["lr"].psi))
    assert found["front"][-1][0] == pytest.approx(15.8)
    assert heat_curves(whole, "26", -5.0, 5.0)["front"][-1][0] == pytest.approx(5.8)


@pytest.mark.parametrize(("count", "sun_k"), [(0, 3.0), (1, 3.0), (2, 3.0), (3, 0.0)])
def test_the_sun_is_the_cars_own_from_three_readings_on(count: int, sun_k: float) -> None:
    """Both sides read alike with the sun on one: then the sun warms this car by nothing."""
    whole = told(sets=False)
    left = iter([True] * count)
    rows = [
        row.model_copy(update={"sun": "left"}) if row.moment == "before" and next(left, False) else row
        for row in whole.of(PressureRow)
    ]
    sunny = dataclasses.replace(whole, tables=dict(whole.tables) | {"pressures.csv": tuple(rows)})
    assert fit_of(sunny).sun_k == pytest.approx(sun_k, abs=1e-9)


def test_a_new_day_starts_from_its_own_morning() -> None:
    rows = (read("cold", "08:00", 30.0, None), ran(1, "09:00"), read("after", "09:02", 33.0))
    later = (ran(1, "09:00", day=2), read("after", "09:03", 33.0, day=2))
    *_, last = points_of(track(*rows, *later), "front")
    assert (last.minutes, last.since, last.ratio) == (1e6, (pytest.approx(2.2),), None)
    *_, warm = points_of(track(*rows, read("before", "07:00", 30.0, 1, day=2)), "front")
    assert (warm.minutes, warm.since, warm.cold) == (0.0, (), True)


def test_a_doubted_reading_is_compared_with_nothing() -> None:
    rows = (read("cold", "08:00", 30.0, None), ran(1, "09:00"), read("after", "09:02", 33.0))

    def ratios(*more: Row) -> list[bool]:
        return [point.ratio is not None for point in points_of(track(*rows, *more), "front")]

    hot = read("cold", "09:20", 32.5, 2)
    assert ratios(hot) == [False, True, False]
    assert ratios(hot, read("before", "09:30", 32.0, 2)) == [False, True, False, False]
    assert ratios(read("before", "09:20", 32.5, 2, wait_min=-1.0)) == [False, True, True]


def test_a_range_may_have_no_upper_end() -> None:
    found = fit_axle("front", made(40, 10.0, 1.5, 5, 2))
    assert isinstance(found, HeatFit)
    assert found.tau_high is None
    assert found.tau_low < found.tau_min


def test_one_axle_without_a_fit_is_said() -> None:
    whole = told(sets=False)
    rows = [row.model_copy(update={"lr_psi": None, "rr_psi": None}) for row in whole.of(PressureRow)]
    front_only = dataclasses.replace(whole, tables=dict(whole.tables) | {"pressures.csv": tuple(rows)})
    assert heat_of(front_only, "26").axles["rear"].fit is None
    assert heat_of(whole, "26").axles["rear"].fit is not None


# --- worked out once ----------------------------------------------------------------------------------------------


def test_the_heat_is_worked_out_anew_only_where_its_own_rows_changed() -> None:
    """A rival's run leaves it; another reading, run, weather, fitting or setting of the car gives another."""
    whole = told()
    first = heat_of(whole, "26")
    times = (*whole.times, TimeRow(day=1, run=1, number="5", time_ms=45_000))
    rival = dataclasses.replace(whole, tables={**whole.tables, TimeRow.FILE: times})
    assert heat_of(rival, "26") is first
    assert heat_of(whole, "26", ranges=False) is first
    last = whole.of(PressureRow)[-1]
    more = last.model_copy(update={"lf_psi": (last.lf_psi or 0.0) + 1.0})
    other = dataclasses.replace(whole, tables={**whole.tables, PressureRow.FILE: (*whole.of(PressureRow)[:-1], more)})
    found = heat_of(other, "26")
    assert found.track.latest is not None
    assert found.track.latest.psi["lf"] == more.lf_psi
    for row in (WeatherRow(day=1, at="09:00", air_c=3.0), FittedRow(day=1, run=9, number="26", corner="lf", tyre="a")):
        assert heat_of(event_with(whole, row), "26") is not first
    moved = whole.settings.model_copy(update={"altitude_m": 2000.0})
    assert heat_of(dataclasses.replace(whole, settings=moved), "26") is not first
    assert heat_of(whole, "26") is first


def event_with(whole: Event, row: Row) -> Event:
    return dataclasses.replace(whole, tables={**whole.tables, row.FILE: (*whole.of(type(row)), row)})


def test_after_several_runs_the_wait_is_from_the_last_of_them() -> None:
    found = track(read("cold", "08:00", 30.0, None), ran(1, "09:00"), ran(2, "09:20"), read("after", "09:23", 34.0, 2))
    assert typical_wait(found, "after", 99.0) == pytest.approx(3.0 - 0.8, abs=0.2)
