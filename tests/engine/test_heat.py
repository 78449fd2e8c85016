"""The heat fit against made tyres whose figures are known, against scipy, and against closed forms."""

from __future__ import annotations

import dataclasses
import math
import random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import settings as effort
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from paddock.engine.pressure import heat_fit as fitting
from paddock.engine.pressure.air import SEA_LEVEL_PA, AirState, carry
from paddock.engine.pressure.corners import Reason, because
from paddock.engine.pressure.heat import at_start_line, heat_curves, heat_of
from paddock.engine.pressure.heat_fit import Ahead, HeatFit, Point, cooled, curve, fit_axle, fit_spray, warmed
from paddock.engine.pressure.moment import what_if
from paddock.engine.pressure.outside import Asked
from paddock.model.event import Event
from paddock.model.rows import PressureRow, Row, RunRow, WeatherRow
from paddock.model.units import PSI_PA
from paddock.pages.pressure import heat_lines
from tests.engine.pressure.situations import now
from tests.factories import entrant, event, settings

OUT = SEA_LEVEL_PA / PSI_PA
PLAIN = HeatFit("front", 25.0, 20.0, 30.0, 12.0, 11.0, 13.0, 20, 1.0)


def test_newton_cooling() -> None:
    # Closed form, worked by hand: 60 C, air 20 C, 10 min time constant.
    fit = dataclasses.replace(PLAIN, tau_min=10.0)
    assert cooled(fit, 60, 20, 5) == pytest.approx(44.2612, abs=5e-5)
    assert cooled(fit, 60, 20, 10) == pytest.approx(34.7152, abs=5e-5)
    assert cooled(fit, 60, 20, 30) == pytest.approx(21.9915, abs=5e-5)


def test_a_time_constant_from_two_readings_and_back() -> None:
    # 60 to 45 C in 5 min, air 20 C: 638.293 s, worked by hand.
    tau = 300 / math.log((60 - 20) / (45 - 20))
    assert tau == pytest.approx(638.293, abs=5e-4)
    assert cooled(dataclasses.replace(PLAIN, tau_min=tau / 60), 60, 20, 5) == pytest.approx(45)


def test_runs_without_end_reach_the_running_level() -> None:
    temp = 20.0
    for _ in range(2000):
        temp = warmed(PLAIN, temp, 20.0, 0.8)
    assert temp - 20.0 == pytest.approx(PLAIN.rise_k / -math.expm1(-0.8 / PLAIN.tau_min), rel=1e-9)


def test_sun_and_spray_are_inputs() -> None:
    assert cooled(PLAIN, 50, 20, 10, "spray") < cooled(PLAIN, 50, 20, 10)
    assert cooled(PLAIN, 50, 20, 10, sunny=True) > cooled(PLAIN, 50, 20, 10)
    assert cooled(PLAIN, 20, 20, 600, sunny=True) == pytest.approx(20 + PLAIN.sun_k)


@given(st.floats(20, 60), st.floats(0, 40), st.floats(0, 60), st.floats(0.1, 30))
def test_a_longer_wait_never_warms(temp_c: float, air_c: float, wait: float, more: float) -> None:
    hot = air_c + temp_c
    assert cooled(PLAIN, hot, air_c, wait + more) <= cooled(PLAIN, hot, air_c, wait)
    assert cooled(PLAIN, hot, air_c, wait) >= air_c


def test_the_curve_goes_through_the_wait_the_run_and_the_cooling() -> None:
    ahead = Ahead(20.0, SEA_LEVEL_PA, 10.0, 0.8)
    points = dict(curve(PLAIN, 34.0, 40.0, ahead))
    assert points[0.0] == pytest.approx(34.0)
    top = carry(34.0, AirState(40.0), AirState(ahead.end_c(PLAIN, 40.0)))
    assert max(points.values()) == pytest.approx(points[10.8]) == pytest.approx(top)
    times = list(points)
    assert times == sorted(times)
    assert points[times[-1]] < top


def made(tau: float, rise: float, noise: float, count: int, seed: int = 1) -> list[Point]:
    """Readings of a made tyre at 20 C, ``noise`` (K) on each: after a run and after a wait in turn."""
    chance = random.Random(seed)
    x, seen, points = 0.0, 293.15 + chance.gauss(0, noise), [Point(cold=True)]
    for turn in range(count):
        ran = turn % 2 == 0
        wait = chance.uniform(1, 3) if ran else chance.uniform(5, 40)
        x = (x * math.exp(-0.8 / tau) + rise) * math.exp(-wait / tau) if ran else x * math.exp(-wait / tau)
        now = 293.15 + x + chance.gauss(0, noise)
        points.append(Point(wait + 0.8 * ran, (wait,) if ran else (), now / seen, 293.15, 293.15))
        seen = now
    return points


def test_the_fit_finds_a_made_tyre_without_noise() -> None:
    found = fit_axle("front", made(18.0, 11.0, 0.0, 12))
    assert isinstance(found, HeatFit)
    assert (found.tau_min, found.rise_k) == (pytest.approx(18.0, rel=1e-3), pytest.approx(11.0, rel=1e-4))


def test_a_parabola_that_falls_on_the_best_so_far_does_not_end_the_search() -> None:
    found = fit_axle("front", made(57.65625, 18.0, 0.0, 16, 28))
    assert isinstance(found, HeatFit)
    assert (found.tau_min, found.rise_k) == (pytest.approx(57.65625, rel=1e-3), pytest.approx(18.0, rel=1e-3))


def test_the_search_against_scipy() -> None:
    points = made(22.0, 9.0, 1.2, 40)
    found = fit_axle("rear", points)
    assert isinstance(found, HeatFit)
    theirs = minimize_scalar(
        lambda x: fitting._profile(points, x).squares, bounds=(math.log(2), math.log(240)), method="bounded",
        options={"xatol": 1e-10},
    )  # fmt: skip
    assert math.log(found.tau_min) == pytest.approx(theirs.x, abs=2e-3)


def test_the_ranges_cover_about_eighty_in_a_hundred() -> None:
    hit = {"tau": 0, "rise": 0}
    tries = 150
    for seed in range(tries):
        found = fit_axle("front", made(20.0, 12.0, 1.0, 24, seed))
        assert isinstance(found, HeatFit)
        hit["tau"] += found.tau_low <= 20.0 <= (found.tau_high or math.inf)
        hit["rise"] += found.rise_low <= 12.0 <= found.rise_high
    assert 0.68 <= hit["tau"] / tries <= 0.95
    assert 0.66 <= hit["rise"] / tries <= 0.95


def test_too_few_readings_are_said_so() -> None:
    assert fit_axle("front", made(20, 12, 1, 3)) == because("too-few-readings", count=3, fewest=4)
    assert fit_axle("front", made(20, -5, 0.1, 12)) == because("no-warming")
    first = [Point(cold=True), Point(0.8, (0.0,), 303.15 / 293.15, 293.15, 293.15)]
    assert fit_axle("front", first * 6) == because("cooling-not-told")


def test_spray_is_learned_from_three_sprayed_waits() -> None:
    points: list[Point] = []
    for _ in range(3):
        hot, later = 12.0, 12.0 * math.exp(-10 * 2.6 / 25)
        points += [
            Point(cold=True), Point(0.8, (0.0,), (293.15 + hot) / 293.15, 293.15, 293.15),
            Point(10.0, (), (293.15 + later) / (293.15 + hot), 293.15, 293.15, sprayed=10.0),
        ]  # fmt: skip
    assert fit_spray(PLAIN, points) == pytest.approx(2.6, abs=0.06)
    assert fit_spray(PLAIN, points[:6]) is None


def told(
    tau: float = 25.0, rise: float = 12.0, runs: int = 5, gauge: float = 0.0, sets: bool = True, seed: int = 3
) -> Event:
    """A made day: cold at 15 C, five runs half an hour apart, read before, set, read after."""
    chance = random.Random(seed)
    rows: list[Row] = []
    air, mass = 15.0, {"f": (30 + OUT) / 288.15, "r": (38 + OUT) / 288.15}

    def four(x: float) -> dict[str, Any]:
        f, r = (mass[axle] * (288.15 + x) - OUT for axle in "fr")
        return {
            f"{corner}_psi": value + chance.gauss(0, gauge)
            for corner, value in zip(("lf", "rf", "lr", "rr"), (f, f, r, r), strict=True)
        }

    def at(minute: float) -> str:
        return f"{int(minute // 60):02d}:{int(minute % 60):02d}"

    def add(moment: str, minute: float, x: float, run: int | None) -> None:
        rows.append(PressureRow(day=1, run=run, number="26", moment=moment, at=at(minute), air_c=air, **four(x)))  # type: ignore[arg-type]

    add("cold", 480, 0.0, None)
    x, clock = 0.0, 540.0
    for run in range(1, runs + 1):
        rows.append(RunRow(day=1, run=run, number="26", at=at(clock)))
        x = (x * math.exp(-0.8 / tau) + rise) * math.exp(-1.2 / tau)
        add("after", clock + 2, x, run)
        if sets and run < runs:
            x *= math.exp(-7 / tau)
            mass = {axle: value * 0.985 for axle, value in mass.items()}
            add("set", clock + 9, x, run + 1)
        wait = 19.0 if sets else 26.0
        if run < runs:
            x *= math.exp(-wait / tau)
            add("before", clock + 28, x, run + 1)
            x *= math.exp(-2 / tau)
        clock += 30
    return event([entrant("26")], [], settings(altitude_m=0.0), *rows)


@pytest.mark.parametrize("sets", [False, True])
def test_a_whole_day_is_fitted_through_its_settings(sets: bool) -> None:
    heat = heat_of(told(sets=sets), "26")
    for axle in ("front", "rear"):
        fit = heat.axles[axle].fit
        assert fit is not None
        assert fit.tau_min == pytest.approx(25.0, rel=0.15)
        assert fit.rise_k == pytest.approx(12.0, rel=0.05)


def test_days_with_gauge_noise_still_tell_most_of_the_time() -> None:
    fits = [heat_of(told(gauge=0.15, seed=seed), "26").axles["front"].fit for seed in range(20)]
    held = [fit.tau_low < 25.0 < (fit.tau_high or math.inf) for fit in fits if fit is not None]
    assert sum(held) >= 13
    assert len(held) >= 16


def test_the_next_reading_is_predicted() -> None:
    whole = told(runs=5, sets=False)
    readings = [row for row in whole.of(PressureRow) if row.run != 5 or row.moment == "before"]
    more = whole.settings.model_copy(update={"runs_per_day": 6})
    tables = dict(whole.tables) | {"pressures.csv": tuple(readings)}
    cut = dataclasses.replace(whole, tables=tables, settings=more)
    found, real = now(cut), whole.of(PressureRow)[-1]
    assert found.name == "ran"
    assert found.expected["lf"] == pytest.approx(real.lf_psi, abs=0.3)
    assert found.expected["rr"] == pytest.approx(real.rr_psi, abs=0.3)


def test_with_few_readings_the_last_rise_is_told() -> None:
    heat = heat_of(told(runs=1, sets=False), "26")
    assert heat.axles["front"].fit is None
    assert "last rise stands in" in heat_lines(heat)[0]
    assert heat.axles["front"].last_rise_psi == pytest.approx(1.8, abs=0.1)


def test_what_it_read_at_the_start_line() -> None:
    whole = told(sets=False)
    before = [row for row in whole.of(PressureRow) if row.moment == "before"][-1]
    line = at_start_line(whole, "26")
    assert 0.0 < (before.lf_psi or 0) - (line["lf"] or 0) < 0.5


def test_curves_for_a_plot_and_nothing_where_nothing_is_known() -> None:
    assert set(heat_curves(told(), "26")) == {"front", "rear"}
    empty = event([entrant("26")], [])
    assert heat_curves(empty, "26") == {}


@given(st.floats(3, 100), st.floats(3, 25), st.integers(0, 50))
@effort(max_examples=40, deadline=None)
def test_any_made_tyre_is_found_or_refused(tau: float, rise: float, seed: int) -> None:
    found = fit_axle("front", made(tau, rise, 0.0, 16, seed))
    assert isinstance(found, Reason) or found.tau_min == pytest.approx(tau, rel=0.02)


def going_on(word: str | None, runs: str = "dry") -> Event:
    """The made day with a sixth run to come, on another surface."""
    whole = told(sets=False)
    ran = tuple(row.model_copy(update={"surface": runs}) for row in whole.of(RunRow))
    weather = (WeatherRow(day=1, at="11:05", air_c=15.0, surface=word),) if word else ()  # type: ignore[arg-type]
    tables = {**whole.tables, RunRow.FILE: ran, WeatherRow.FILE: weather}
    more = whole.settings.model_copy(update={"runs_per_day": 9})
    return dataclasses.replace(whole, settings=more, tables=tables)


@pytest.mark.parametrize(
    ("word", "source"), [("dry", "read"), ("drying", "between"), ("damp", "usual"), ("wet", "usual")]
)
def test_a_fit_of_dry_runs_foretells_no_damp_one(word: str, source: str) -> None:
    """Nor after a break: there what a damp first run warms it is taken, not a dry one."""
    whole = going_on(word)
    found = now(whole).known
    assert found.surface.word == word
    assert (found.heat.surface, found.way["lf"].how) == ("dry", "fit" if word == "dry" else "turned")
    assert found.rises["front"].source == source
    assert bool(heat_curves(whole, "26")) == (word == "dry")
    waited = what_if(whole, "26", found.clock, Asked(wait_min=90.0)).moment.known.way["lf"]
    assert (waited.end_c < 15.0 + 10.0) == (word != "dry"), "a damp first run warms it by 8 K, a wet one by 5"


def test_a_fit_of_damp_runs_is_one_of_damp_runs() -> None:
    found = now(going_on(None, "damp")).known
    assert (found.heat.surface, found.way["lf"].how) == ("damp", "fit")
