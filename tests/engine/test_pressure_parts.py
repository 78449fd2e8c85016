"""What the rules look at: what was set, the hot reading, the weather, the limits of each corner."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from paddock.engine.air import AirState, carry
from paddock.engine.corners import Corners
from paddock.engine.pressure.advise import advise
from paddock.engine.pressure.limits import Bound, Weather, bounds
from paddock.engine.pressure.plan import cold_plan
from paddock.engine.pressure.returns import to_target
from paddock.engine.pressure.say import _shown, next_line
from paddock.engine.pressure.situation import Situation, situation
from paddock.model.rows import FittedRow, Row, TyreRow, WeatherRow
from tests.engine.situations import HOT, ME, MORNING, after, before, car, cold, logged, put
from tests.engine.test_pressure_rules import told


def seen(*rows: Row, **more: Any) -> Situation:
    return situation(told(*rows, **more), ME)


# --- what was set -------------------------------------------------------------------------------------------------------


def test_how_far_an_axle_was_set_since_the_run() -> None:
    rows = (MORNING, after(1, *HOT), logged(1))
    assert seen(*rows).changed == {"front": 0.0, "rear": 0.0}
    assert seen(*rows, put(2, 33.0, 33.5, 44.0, 44.0, at="09:05")).changed == {"front": 1.0, "rear": 0.0}
    assert seen(*rows, put(2, 34.0, 35.0, 42.0, 44.0, at="09:05")).changed == {"front": 1.0, "rear": 2.0}
    twice = seen(*rows, put(2, 33.0, 34.0, 44.0, 44.0, at="09:05"), put(2, 32.5, 34.0, 44.0, 44.0, at="09:06"))
    assert twice.changed == {"front": 1.0, "rear": 0.0}
    some = put(2, 33.0, 34.0, 44.0, 44.0, at="09:05").model_copy(update={"lr_psi": None, "rr_psi": None})
    assert seen(*rows, some).changed == {"front": 1.0, "rear": 0.0}
    blind = seen(logged(1), put(2, 33.0, 33.0, 44.0, 44.0, at="09:05"))
    assert blind.changed == {"front": math.inf, "rear": math.inf}
    earlier = seen(MORNING, put(1, 33.0, 33.0, 42.0, 42.0, at="08:51"), logged(1), after(1, *HOT))
    assert earlier.changed == {"front": 0.0, "rear": 0.0}
    none = seen(MORNING, put(1, 33.0, 33.0, 42.0, 42.0, at="08:51"), times=())
    assert none.changed == {"front": 0.0, "rear": 0.0}


def test_the_hot_reading_with_what_was_set_since() -> None:
    rows = (MORNING, after(1, *HOT), logged(1))
    assert seen(*rows).hot.lf == 34.0
    outside = told(*rows).settings.altitude_m and seen(*rows).step
    assert outside is not None
    found = seen(*rows, put(2, 33.0, 34.0, 44.0, 44.0, at="09:05"))
    assert (found.hot.lf, found.hot.rf) == (pytest.approx(33.0), pytest.approx(34.0))
    assert seen(MORNING).hot.lf is None
    assert seen(*rows, cold(30, 30, 39, 39, day=2)).hot.lf is None
    assert seen(
        logged(1), after(1, *HOT, air_c=None), put(2, 33.0, 34.0, 44.0, 44.0, at="09:05", air_c=None)
    ).hot.lf == pytest.approx(33.0)  # type: ignore[arg-type]


def test_the_target_counts_as_set_only_within_the_gauges_noise() -> None:
    rows = (MORNING, logged(1, surface="dry"), logged(2, surface="damp"), after(2, *HOT))

    def done(*psi: float) -> bool:
        return seen(*rows, put(3, *psi, at="10:05"), times=("47", "47")).target_done

    assert done(30.0, 30.0, 38.0, 38.0)
    assert done(30.59, 29.41, 38.59, 37.41)
    assert not done(30.61, 30.0, 38.0, 38.0)
    assert not done(29.39, 30.0, 38.0, 38.0)
    assert not seen(*rows, times=("47", "47")).target_done
    early = (MORNING, put(1, 30.0, 30.0, 38.0, 38.0, at="08:51"), *rows[1:])
    assert not seen(*early, times=("47", "47")).target_done


def test_the_tyres_fitted_for_the_coming_run_give_the_maximum() -> None:
    tyres = [
        TyreRow(tyre="a", max_cold_psi=44.0),
        TyreRow(tyre="b", max_cold_psi=36.0),
        TyreRow(tyre="c", max_cold_psi=35.0),
    ]
    fitted = [
        FittedRow(day=1, run=run, number=ME, corner="lf", tyre=name) for run, name in ((1, "a"), (2, "b"), (3, "c"))
    ]
    parked = AirState(30.0, 96468.0)
    found = seen(MORNING, after(1, *HOT), logged(1), *tyres, *fitted)
    assert found.step is not None
    temp = found.step.corners["lf"].temp_c
    assert temp is not None
    assert found.bound["lf"].high == pytest.approx(carry(36.0, parked, AirState(temp, 96468.0)), abs=0.01)


def test_hottest_and_coldest_air() -> None:
    assert seen(MORNING).weather == Weather(30.0, 12.0)
    assert seen(MORNING, WeatherRow(day=1, at="08:00", air_c=33.0)).weather == Weather(33.0, 12.0)
    assert seen(cold(30, 30, 39, 39, air_c=8.0)).weather == Weather(30.0, 8.0)
    assert seen(cold(30, 30, 39, 39, air_c=34.0)).weather == Weather(34.0, 12.0)
    assert seen(MORNING, forecast={}).weather == Weather(12.0, 12.0)


def test_balance_in_words() -> None:
    def sides(balance: str) -> tuple[bool, bool]:
        found = seen(MORNING, after(1, *HOT), logged(1, balance))
        return found.understeer, found.oversteer

    assert [sides(text) for text in ("-1 0 0 0", "0 0 1 0", "-1 0 1 0", "0 0 0 0")] == [
        (True, False), (False, True), (False, False), (False, False),
    ]  # fmt: skip


def test_what_is_stale_and_how_small_a_change_may_be() -> None:
    assert seen(MORNING, logged(1)).stale
    fresh = seen(MORNING, logged(1), after(1, *HOT))
    assert (fresh.stale, fresh.runs_today, fresh.min_psi) == (False, 1, 0.6)
    coarse = seen(MORNING, gauges=[{"id": "dial", "step_psi": 1.0, "repeat_psi": 0.3}])
    assert coarse.min_psi == 1.0
    assert (fresh.wanted("lf"), fresh.wanted("rr")) == (34.0, 44.0)
    assert not fresh.unread
    assert seen(MORNING, after(1, -1, -1, -1, -1)).unread


# --- limits -------------------------------------------------------------------------------------------------------------


def test_bounds_without_and_with_figures() -> None:
    assert not Bound(30.0, 30.0).impossible
    assert Bound(30.1, 30.0).impossible
    assert not Bound(30.0, None).impossible
    assert [Bound(30.0, 40.0).clamp(psi) for psi in (29.0, 35.0, 41.0)] == [30.0, 35.0, 40.0]
    assert Bound(41.0, 40.0).clamp(50.0) == 40.0
    assert Bound().clamp(3.0) == 3.0
    reading = seen(MORNING).track.steps[0].reading
    bare = bounds(reading, {}, None, {"lf": TyreRow(tyre="a", max_cold_psi=44.0)}, Weather())
    assert (bare["lf"].high, bare["lf"].low, bare["lf"].no_raise) == (44.0, None, "")
    assert bare["rf"].no_raise == "no cold maximum is known for the right front tyre"
    assert bare["lf"].no_lower == "no minimum and no placard is known for the front"
    cool = bounds(reading, {"lf": 10.0}, None, {"lf": TyreRow(tyre="a", max_cold_psi=44.0)}, Weather(5.0, None))
    assert cool["lf"].high == pytest.approx(
        carry(44.0, AirState(20.0, reading.ambient_pa), AirState(10.0, reading.ambient_pa))
    )


# --- back to the target, and the line ---------------------------------------------------------------------------


def test_what_to_read_now_for_the_target() -> None:
    """Without a hot reading the target itself; with one by proportion of the absolute pressures."""
    assert to_target(seen(MORNING)) == {"lf": 34.0, "rf": 34.0, "lr": 44.0, "rr": 44.0}
    assert to_target(seen(MORNING), 1.5)["lr"] == 45.5
    found = seen(MORNING, after(1, *HOT), logged(1), before(2, 33.0, 33.0, 43.0, 43.0))
    outside = 96468.0 / 6894.757
    assert to_target(found)["lf"] == pytest.approx(
        (34 + outside) * (33 + outside) / (34 + outside) - outside, abs=0.001
    )
    assert to_target(found, 1.0)["lf"] == pytest.approx(
        (35 + outside) * (33 + outside) / (34 + outside) - outside, abs=0.001
    )
    assert to_target(seen(times=())) == {}


def test_figures_in_each_unit() -> None:
    """34 psi is 234.4 kPa and 2.344 bar (NIST SP 811)."""
    assert [_shown(34.0, unit) for unit in ("psi", "kpa", "bar")] == ["34.0", "234", "2.34"]
    assert _shown(None, "psi") == "-"


@pytest.mark.parametrize(
    ("to", "way"),
    [
        (Corners(33.0, 33.0, 44.0, 44.0), "front 34.0/34.0 -> 33.0/33.0 bleed, rear stays 44.0/44.0"),
        (Corners(35.0, 34.0, 44.0, 44.0), "front 34.0/34.0 -> 35.0/34.0 add, rear stays 44.0/44.0"),
        (Corners(33.0, 35.0, 44.0, 43.0), "front 34.0/34.0 -> 33.0/35.0 bleed and add, rear 44.0/44.0 -> 44.0/43.0 bleed"),
    ],
)  # fmt: skip
def test_bleed_and_add_in_the_line(to: Corners, way: str) -> None:
    found = advise(told(MORNING, after(1, *HOT), logged(1)), ME)
    line = next_line(replace(found, action="set", set=to))
    assert line.startswith(way[:1].upper() + way[1:] + " psi. ")


def test_a_plan_within_its_limits() -> None:
    """34 hot with a rise of 20 K from 10 C at sea level is 30.79 cold: (34 + 14.696) x 283.15 / 303.15 - 14.696."""
    state, hatch = AirState(10.0), car()
    wanted = carry(34.0, AirState(30.0), state)
    free = cold_plan(hatch, "dry", state, {"front": 20.0, "rear": None})
    assert (free.front.cold_psi, free.front.capped, free.front.rise_k) == (pytest.approx(wanted), False, 20.0)
    assert (free.rear.cold_psi, free.rear.why) == (None, "no rise in a run is known: read before and after")
    low = cold_plan(car(front_min_psi=31.5), "dry", state, {"front": 20.0}).front
    assert (low.cold_psi, low.capped, low.why) == (31.5, True, "held up by the car file's minimum")
    high = cold_plan(car(max_cold_psi=31.0), "dry", state, {"front": 20.0}, hottest_c=30.0).front
    assert (high.cold_psi, high.capped) == (pytest.approx(carry(31.0, AirState(30.0), state)), True)
    mild = cold_plan(car(max_cold_psi=31.0), "dry", state, {"front": 20.0}, hottest_c=15.0).front
    assert mild.cold_psi == pytest.approx(carry(31.0, AirState(20.0), state))
    placard = cold_plan(car(max_cold_psi=None, placard_front_psi=30.0), "dry", state, {"front": 20.0}).front
    assert (placard.cold_psi, placard.why) == (30.0, "no cold maximum is known: not above the placard")
    bare = cold_plan(car(max_cold_psi=None, placard_front_psi=None), "dry", state, {"front": 20.0}).front
    assert (bare.cold_psi, bare.why) == (None, "no cold maximum and no placard is known: read the sidewall")
    assert cold_plan(None, None, state, {"front": 20.0}).front.why == "no hot target in the car file"
