"""The fit of a tyre's warmth a second time: squares run by run, the lowest and the edges by scipy; points by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar
from scipy.stats import t as student

from paddock.engine.pressure import heat_fit as fitting
from paddock.engine.pressure.air import SEA_LEVEL_PA, AirState, carry
from paddock.engine.pressure.corners import because
from paddock.engine.pressure.heat import (
    at_start_line,
    gap_between,
    heat_curves,
    heat_of,
    last_rise,
    points_of,
    sun_differences,
    typical_wait,
)
from paddock.engine.pressure.heat_fit import (
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
from paddock.model.rows import PressureRow, Row, RunRow, WeatherRow
from tests.engine.test_heat import PLAIN, made
from tests.engine.test_heat_car import of, ran, read, track


def heats(points: list[Point], tau: float) -> np.ndarray:
    """What a rise of 1 K a run makes of each reading's warmth over the air."""
    found, x = [], 0.0
    for point in points:
        x = 0.0 if point.cold else x * math.exp(-point.minutes / tau) + sum(math.exp(-t / tau) for t in point.since)
        found.append(x)
    return np.array(found)


def left(points: list[Point], tau: float) -> tuple[float, float, float]:
    """Squares left, rise and its weight, by least squares of every change."""
    x = heats(points, tau)
    rows = [(x[i] - (p.ratio or 0) * x[i - 1], p.air0_k * (p.ratio or 0) - p.air1_k)
            for i, p in enumerate(points) if p.ratio is not None]  # fmt: skip
    z, y = np.array(rows).T
    rise = float(z @ y / (z @ z))
    return float(((y - rise * z) ** 2).sum()), rise, float(z @ z)


def check(points: list[Point], rounding: float = 0.0) -> HeatFit:
    found = fit_axle("rear", points)
    assert isinstance(found, HeatFit)
    grid = np.linspace(math.log(2), math.log(240), 14)
    at = int(np.argmin([left(points, math.exp(x))[0] for x in grid]))
    lowest = minimize_scalar(
        lambda x: left(points, math.exp(x))[0],
        bounds=(grid[at - 1], grid[at + 1]),
        method="bounded",
        options={"xatol": 1e-9},
    )
    count = sum(point.ratio is not None for point in points)
    squares, rise, weight = left(points, math.exp(lowest.x))
    assert math.log(found.tau_min) == pytest.approx(lowest.x, abs=4e-4)
    assert found.rise_k == pytest.approx(rise, rel=2e-4)
    variance = max(squares / (count - 2), rounding)
    assert (found.pairs, found.noise_k) == (count, pytest.approx(math.sqrt(variance), rel=1e-5))
    reach = float(student.ppf(0.9, count - 2))
    limit = squares + reach**2 * variance

    def over(x: float) -> float:
        return left(points, math.exp(x))[0] - limit

    low = brentq(over, math.log(2), lowest.x) if over(math.log(2)) > 0 else math.log(2)
    high = brentq(over, lowest.x, math.log(240)) if over(math.log(240)) > 0 else None
    fine = 1e-4 if len(points) <= 120 else 0.01
    halved = 30 if len(points) <= 120 else 9
    if found.tau_low > 2.001:
        assert -4e-4 <= low - math.log(found.tau_low) <= (lowest.x - math.log(2)) / 2**halved + 4e-4
    if high is None:
        assert found.tau_high is None
    else:
        assert found.tau_high is not None
        assert -4e-4 <= math.log(found.tau_high) - high <= (math.log(240) - lowest.x) / 2**halved + 4e-4
    rises = [rise, left(points, math.exp(low))[1], left(points, math.exp(high) if high else 240.0)[1]]
    half = reach * math.sqrt(variance / weight)
    assert (found.rise_low, found.rise_high) == pytest.approx((min(rises) - half, max(rises) + half), rel=2 * fine)
    return found


def days(
    count: int, tau: float = 25.0, rise: float = 11.0, noise: float = 0.8, seed: int = 2, each: int = 10
) -> list[Point]:
    """Days of cold starts, single runs, pairs of runs and waits; the air warms and cools through the day."""
    chance = np.random.default_rng(seed)
    points: list[Point] = []
    while len(points) < count:
        x, air = 0.0, 288.0
        seen = air + float(chance.normal(0, noise))
        points.append(Point(cold=True, air1_k=air))
        for turn in range(min(each, count - len(points))):
            before, air = air, air + float(chance.normal(0.3, 0.5))
            wait = float(chance.uniform(1, 30))
            since: tuple[float, ...] = ()
            if turn % 3 != 1:
                since = (wait,) if turn % 3 == 0 else (wait + 9.0, wait)
            minutes = wait + 0.8 + 9.0 * (len(since) > 1) if since else wait
            x = x * math.exp(-minutes / tau) + sum(rise * math.exp(-t / tau) for t in since)
            now = air + x + float(chance.normal(0, noise))
            ratio = None if turn == 5 else now / seen
            points.append(Point(minutes, since, ratio, before, air, rounding_k2=0.05))
            seen = now
    return points


@pytest.mark.parametrize(
    ("count", "noise", "seed"), [(12, 0.5, 1), (40, 0.8, 2), (120, 1.0, 3), (121, 1.0, 4), (300, 1.2, 5)]
)
def test_time_constant_rise_and_ranges_by_scipy(count: int, noise: float, seed: int) -> None:
    check(days(count, noise=noise, seed=seed), 0.05)


def test_a_tyre_that_hardly_warms_is_fitted_too() -> None:
    found = fit_axle("rear", days(60, rise=0.8, noise=0.0))
    assert isinstance(found, HeatFit)
    assert found.rise_k == pytest.approx(0.8, rel=1e-3)


def test_rounding_sets_the_least_scatter() -> None:
    """Readings that agree by luck: the variance is the mean of what rounding brings to the changes compared."""
    points = days(30, noise=0.0)
    points = [replace(point, rounding_k2=0.5 if at % 2 else 0.1) for at, point in enumerate(points)]
    told = [point.rounding_k2 for point in points if point.ratio is not None]
    assert check(points, sum(told) / len(told)).noise_k == pytest.approx(math.sqrt(sum(told) / len(told)))


def test_a_range_without_an_upper_end_has_the_rise_at_the_last_time_constant() -> None:
    assert check(days(9, tau=90.0, noise=3.0, seed=3), 0.05).tau_high is None


def test_a_time_constant_is_looked_for_from_two_minutes_to_four_hours() -> None:
    for points, tau in ((days(9, tau=90.0, noise=3.0, seed=4), 240.0), (days(40, tau=0.7, noise=0.3), 2.0)):
        found = fit_axle("front", points)
        assert isinstance(found, HeatFit)
        assert (found.tau_min, found.rise_k) == pytest.approx((tau, left(points, tau)[1]))


def test_why_there_is_no_fit() -> None:
    assert fit_axle("front", days(30, rise=-6.0)) == because("no-warming")
    assert fit_axle("front", days(8, rise=1.0, noise=3.0, seed=3)) == because("cooling-not-told")
    waits = [replace(point, ratio=None if point.since else point.ratio) for point in days(30)]
    assert fit_axle("front", waits) == because(
        "too-few-readings", count=sum(p.ratio is not None for p in waits), fewest=4
    )


def test_a_parabola_finds_the_lowest_in_few_looks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Fourteen on the grid and the ends of the bracket; golden steps alone would take two dozen more."""
    looks = 0
    whole = fitting._profile

    def counted(*given: Any) -> Any:
        nonlocal looks
        looks += 1
        return whole(*given)

    monkeypatch.setattr(fitting, "_profile", counted)
    taken = []
    for seed in range(8):
        looks = 0
        assert isinstance(fit_axle("front", days(40, tau=12.0 + 5 * seed, seed=seed), ranges=False), HeatFit)
        taken.append(looks)
    assert sum(taken) <= 200


@pytest.mark.parametrize("factor", [1.5, 2.0, 4.3])
def test_spray_is_learned_to_a_tenth(factor: float) -> None:
    points, x, seen = [Point(cold=True)], 0.0, 293.15
    for turn in range(16):
        if turn % 2 == 0:
            x = (x * math.exp(-0.8 / 25) + 12.0) * math.exp(-2 / 25)
            step = Point(2.8, (2.0,), (293.15 + x) / seen, 293.15, 293.15)
        else:
            times = factor if turn % 4 == 1 else 1.0
            x *= math.exp(-12.0 * times / 25)
            step = Point(12.0, (), (293.15 + x) / seen, 293.15, 293.15, sprayed=12.0 if turn % 4 == 1 else 0.0)
        seen = 293.15 + x
        points.append(step)
    fit = replace(PLAIN, tau_min=25.0)
    assert fit_spray(fit, points) == pytest.approx(factor)
    assert fit_spray(fit, [replace(point, ratio=None if point.sprayed and at < 6 else point.ratio)
                           for at, point in enumerate(points)]) == pytest.approx(factor)  # fmt: skip
    assert fit_spray(fit, [replace(point, ratio=None if point.sprayed and at < 9 else point.ratio)
                           for at, point in enumerate(points)]) is None  # fmt: skip
    assert [point.minutes for point in sprayed_by(points, 3.0)][1:3] == [2.8, 36.0]


def test_the_model_at_a_few_places() -> None:
    fit = HeatFit("front", 25.0, 20.0, 30.0, 12.0, 11.0, 13.0, 9, 0.5, 3.0, 4.0)
    assert cooled(fit, 50.0, 20.0, 10.0) == pytest.approx(20 + 30 * math.exp(-0.4))
    assert cooled(fit, 50.0, 20.0, 10.0, "shade") == cooled(fit, 50.0, 20.0, 10.0)
    assert cooled(fit, 50.0, 20.0, 10.0, "spray", True) == pytest.approx(24 + 26 * math.exp(-1.2))
    assert warmed(fit, 50.0, 20.0) == pytest.approx(20 + 30 * math.exp(-0.8 / 25) + 12)
    ahead = Ahead(20.0, SEA_LEVEL_PA, 5.0, 1.0, "none", True)
    start = 24 + 26 * math.exp(-0.2)
    assert ahead.end_c(fit, 50.0) == pytest.approx(20 + (start - 20) * math.exp(-0.04) + 12)
    points = curve(fit, 33.0, 50.0, ahead)
    assert (len(points), points[-1][0], points[0][1]) == (62, 26.0, pytest.approx(33.0))
    end = next(psi for minute, psi in points if minute == 6.0)
    assert end == pytest.approx(carry(33.0, AirState(50.0), AirState(ahead.end_c(fit, 50.0))))


# --- points ---------------------------------------------------------------------------------------------------------


def test_points_of_two_days_by_hand() -> None:
    """By the clocks: minutes, and from each run's end; air and outside as read; rounding of half psi and whole C."""
    rows: list[Row] = [
        read("cold", "07:30", 30.0, None, air_c=12.0), ran(1, "09:00"), ran(2, "09:20"),
        read("after", "09:30", (33.0, 33.5, 34.0, 34.0), 2, air_c=15.0),
        read("before", "09:45", (32.5, 33.0, 33.0, None), 3, air_c=16.0, cooling="spray"),
        ran(1, "09:10", day=2), read("after", "09:12", 33.0, 1, day=2, air_c=18.0),
        read("after", "09:14", 33.0, 1, day=2, air_c=18.0, cooling="spray"),
    ]  # fmt: skip
    front, rear = (list(points_of(track(*rows), axle)) for axle in ("front", "rear"))
    out = SEA_LEVEL_PA / 6894.757293168
    first, second, third, day_two, again = front
    assert (first.minutes, first.since, first.ratio, first.cold, first.sprayed, first.rounding_k2) == (
        0.0,
        (),
        None,
        True,
        0.0,
        0.0,
    )
    assert (first.air0_k, first.air1_k) == pytest.approx((273.15, 285.15))
    assert (second.minutes, second.since) == (120.0, pytest.approx((29.2, 9.2)))
    assert second.ratio == pytest.approx(((33 + out) / (30 + out) + (33.5 + out) / (30 + out)) / 2)
    assert (second.air0_k, second.air1_k, second.sprayed) == pytest.approx((285.15, 288.15, 0.0))
    assert second.rounding_k2 == pytest.approx(2 * (285.15 / (30 + out)) ** 2 * (0.25 / 12) / 2 + 2 / 12)
    assert (third.minutes, third.since, third.sprayed) == (15.0, (), 15.0)
    assert third.rounding_k2 == pytest.approx(2 * (288.15 / (33 + out)) ** 2 * (0.25 / 12) / 2 + 2 / 12)
    assert rear[2].rounding_k2 == pytest.approx(2 * (288.15 / (34 + out)) ** 2 * (0.25 / 12) + 2 / 12), (
        "one wheel of the two"
    )
    assert rear[2].ratio == pytest.approx((33 + out) / (34 + out))
    assert (day_two.minutes, day_two.since, day_two.ratio, day_two.cold) == (1e6, pytest.approx((1.2,)), None, False)
    assert (again.minutes, again.since, again.sprayed) == (2.0, (), 2.0)


def test_a_wait_that_stands_still_is_no_minutes() -> None:
    rows = [ran(1, None), read("after", None, 33.0, wait_min=2.0), read("before", None, 33.0, 2, wait_min=2.0)]
    one, two = track(*rows).steps
    gap = gap_between(one, two, track(*rows).log.runs)
    assert gap is not None
    assert (gap.minutes, gap.since) == (0.0, ())
    back = track(rows[0], rows[1], read("before", None, 33.0, 2, wait_min=1.0))
    assert gap_between(back.steps[0], back.steps[1], back.log.runs) is None
    morning = track(read("cold", None, 33.0, None), read("before", None, 33.0, 1, wait_min=2.0))
    assert gap_between(morning.steps[0], morning.steps[1], morning.log.runs) is None, "no run to have stood since"
    blank = track(ran(1, None), read("after", None, 33.0), read("before", None, 32.0, 2, wait_min=14.0))
    known = gap_between(blank.steps[0], blank.steps[1], blank.log.runs)
    assert known is not None
    assert known.minutes == 14.0


def test_sides_that_do_not_agree_are_not_compared() -> None:
    """The change of one side may differ from the other's by 2 % of the absolute pressure."""
    cold, run = read("cold", "08:00", 30.0, None), ran(1, "09:00")
    out = SEA_LEVEL_PA / 6894.757293168
    for share, known in ((0.019, True), (0.021, False)):
        rf = 33.0 + share * (30 + out)
        found = list(points_of(track(cold, run, read("after", "09:02", (33.0, rf, 33.0, 33.0))), "front"))
        assert (found[1].ratio is not None) == known


def test_usual_waits_are_the_middle_of_those_of_one_day() -> None:
    rows = [
        ran(1, "09:00"), read("after", "09:03", 33.0), read("before", "09:20", 32.0, 2), ran(2, "09:25"),
        read("after", "09:27", 34.0, 2), read("before", "09:50", 32.0, 3), ran(3, "09:55"), read("after", "10:00", 34.0, 3),
        read("before", "10:05", 33.0, 4), read("before", "08:00", 30.0, 1, day=2), ran(1, "08:05", day=2),
        read("after", "08:06", 32.0, 1, day=2),
    ]  # fmt: skip
    found = track(*rows)
    assert typical_wait(found, "after", 9.0) == pytest.approx(1.2)
    assert typical_wait(found, "before", 9.0) == pytest.approx(17.0)
    assert (last_rise(found, "front"), last_rise(track(*rows[:6]), "front")) == (2.0, 2.0)
    assert last_rise(track(*rows[:8]), "rear") == 2.0
    assert typical_wait(found, "set", 9.0) == 9.0


def test_sun_on_the_right_and_a_cold_reading_in_it() -> None:
    warm, cool = (carry(30, AirState(20), AirState(temp)) for temp in (45, 40))
    cold = read("cold", "08:00", 30.0, None)
    rows = [cold, ran(1, "09:00"), read("after", "09:02", (cool, warm, cool, warm), sun="right"),
            read("cold", "08:00", (30.0, 30.5, 30.0, 30.5), None, day=2, sun="right")]  # fmt: skip
    found = sun_differences(track(*rows))
    assert found == [pytest.approx(5.0)], "a cold reading says nothing of the sun"


def season(surface: str = "dry", sun: str | None = None) -> list[Row]:
    """Two days of a made tyre (tau 20, rise 11 front, 13 rear) at 18 C, read after every run and before the next."""
    rows: list[Row] = []
    for day in (1, 2):
        x = {"front": 0.0, "rear": 0.0}
        rows.append(read("cold", "08:00", (30.0, 30.0, 29.0, 29.0), None, day=day, air_c=18.0))
        for run in range(1, 5):
            start = 9 * 60 + 30 * (run - 1)
            psi = {}
            for axle, rise, cold in (("front", 11.0, 30.0), ("rear", 13.0, 29.0)):
                x[axle] = (x[axle] * math.exp(-0.8 / 20) + rise) * math.exp(-1.2 / 20)
                after = carry(cold, AirState(18.0), AirState(18.0 + x[axle]))
                x[axle] *= math.exp(-20 / 20)
                psi[axle] = (after, carry(cold, AirState(18.0), AirState(18.0 + x[axle])))
                x[axle] *= math.exp(-8 / 20)
            rows.append(RunRow(day=day, run=run, number="26", at=f"{start // 60:02}:{start % 60:02}", surface=surface))
            for moment, at, which, of_run in (("after", start + 2, 0, run), ("before", start + 22, 1, run + 1)):
                four = (psi["front"][which],) * 2 + (psi["rear"][which],) * 2
                rows.append(
                    read(
                        moment, f"{at // 60:02}:{at % 60:02}", four, of_run, day, air_c=18.0, sun=sun if which else None
                    )
                )
    return rows


def test_a_made_car_is_found_axle_by_axle() -> None:
    heat = heat_of(of(*season()), "26")
    for axle, rise in (("front", 11.0), ("rear", 13.0)):
        found = heat.axles[axle]
        assert found.fit is not None
        assert (found.fit.tau_min, found.fit.rise_k) == (pytest.approx(20, rel=2e-3), pytest.approx(rise, rel=1e-3))
        assert (found.fit.pairs, found.why) == (16, None)
    assert heat.fit_of("rr") is heat.axles["rear"].fit
    assert heat.surface == "dry"
    assert heat.fit_for("lf", "dry") is not None
    assert heat.fit_for("lf", "wet") is None
    quick = heat_of(of(*season()), "26", ranges=False).axles["front"].fit
    assert quick is not None
    assert quick.tau_low == pytest.approx(quick.tau_min)
    assert heat_of(of(*season("damp")), "26").surface == "damp"


def test_the_curve_of_each_axle_from_its_last_reading() -> None:
    whole = of(*season())
    heat = heat_of(whole, "26")
    step = heat.track.steps[-1]
    found = heat_curves(whole, "26", 6.0, 9.0)
    assert set(found) == {"front", "rear"}
    for axle, corner in (("front", "lf"), ("rear", "lr")):
        fit, air = heat.axles[axle].fit, step.corners[corner]
        assert fit is not None
        assert air.psi is not None
        assert air.gas_c is not None
        assert found[axle] == curve(fit, air.psi, air.gas_c, Ahead(18.0, step.reading.ambient_pa, 6.0), 9.0)
    assert heat_curves(whole, "26")["front"][-1][0] == pytest.approx(10.0 + 0.8 + 20.0)
    assert heat_curves(whole, "26", -5.0)["front"][-1][0] == pytest.approx(20.8)
    damp = of(*season(), WeatherRow(day=2, at="11:00", surface="wet"))
    assert heat_curves(damp, "26") == {}


@pytest.mark.parametrize("side", ["left", "right"])
def test_the_sun_stands_on_one_side_of_a_curve_and_of_the_start_line(side: str) -> None:
    rows = season()
    last = rows[-1]
    assert isinstance(last, PressureRow)
    whole = of(*rows[:-1], last.model_copy(update={"sun": side}), RunRow(day=2, run=5, number="26", at="11:00"))
    heat = heat_of(whole, "26")
    step = heat.track.steps[-1]
    fit = heat.axles["front"].fit
    assert fit is not None
    told = at_start_line(whole, "26")
    for corner, sunny in (("lf", side == "left"), ("rf", side == "right")):
        air = step.corners[corner]
        assert air.gas_c is not None
        wanted = air.at(cooled(fit, air.gas_c, 18.0, 8.0, "none", sunny), step.reading.ambient_pa)
        assert told[corner] == pytest.approx(wanted)
    left = heat_curves(whole, "26", 6.0)["front"]
    air = step.corners["lf"]
    assert air.psi is not None
    assert air.gas_c is not None
    ahead = Ahead(18.0, step.reading.ambient_pa, 6.0, sunny=side == "left")
    assert left == curve(fit, air.psi, air.gas_c, ahead, 20.0)


def test_the_heat_is_kept_for_the_same_rows_and_ranges() -> None:
    whole = of(*season())
    ranged = heat_of(whole, "26")
    assert heat_of(whole, "26") is ranged
    assert heat_of(whole, "26", ranges=False) is ranged, "with ranges is more"
    other = of(*season(), ran(6, "12:00", day=2))
    quick = heat_of(other, "26", ranges=False)
    assert heat_of(other, "26") is not quick
    assert isinstance(fit_axle("front", made(18.0, 11.0, 0.5, 30)), HeatFit)
