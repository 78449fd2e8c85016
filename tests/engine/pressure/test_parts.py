"""What the rules look at: what was set, the hot reading, the weather, the limits of each corner."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from paddock.engine.pressure.air import AirState, carry
from paddock.engine.pressure.corners import Corners, because
from paddock.engine.pressure.limits import Bound, Likely
from paddock.engine.pressure.plan import cold_plan
from paddock.engine.pressure.rules import change_seen
from paddock.engine.pressure.situation import Situation, situation
from paddock.model.rows import FittedRow, Row, TyreRow, WeatherRow
from paddock.pages.pressure import next_line
from paddock.words import reading
from tests.engine.pressure.situations import HOT, ME, MORNING, after, car, clock, cold, logged, now, put
from tests.engine.pressure.test_rules import rise, told


def seen(*rows: Row, **more: Any) -> Situation:
    whole = told(*rows, **more)
    return situation(whole, ME, clock(whole))


# --- what was set -------------------------------------------------------------------------------------------------------


def test_how_far_an_axle_was_set_since_the_run() -> None:
    def changed(*rows: Row, **more: Any) -> dict[str, float]:
        found = seen(*rows, **more)
        return {axle: change_seen(found, axle) for axle in ("front", "rear")}

    rows = (MORNING, after(1, *HOT), logged(1))
    assert changed(*rows) == {"front": 0.0, "rear": 0.0}
    assert changed(*rows, put(2, 33.0, 33.5, 44.0, 44.0, at="09:05")) == {"front": 1.0, "rear": 0.0}
    assert changed(*rows, put(2, 34.0, 35.0, 42.0, 44.0, at="09:05")) == {"front": 1.0, "rear": 2.0}
    twice = changed(*rows, put(2, 33.0, 34.0, 44.0, 44.0, at="09:05"), put(2, 32.5, 34.0, 44.0, 44.0, at="09:06"))
    assert twice == {"front": 1.0, "rear": 0.0}
    some = put(2, 33.0, 34.0, 44.0, 44.0, at="09:05").model_copy(update={"lr_psi": None, "rr_psi": None})
    assert changed(*rows, some) == {"front": 1.0, "rear": 0.0}
    blind = changed(logged(1), put(2, 33.0, 33.0, 44.0, 44.0, at="09:05"))
    assert blind == {"front": math.inf, "rear": math.inf}
    earlier = changed(MORNING, put(1, 33.0, 33.0, 42.0, 42.0, at="08:51"), logged(1), after(1, *HOT))
    assert earlier == {"front": 0.0, "rear": 0.0}


def test_the_target_counts_as_set_once_every_axle_was_near_it() -> None:
    rows = (MORNING, logged(1, surface="dry"), logged(2, surface="damp"), after(2, *HOT))

    def done(*psi: float) -> bool:
        return seen(*rows, put(3, *psi, at="10:05"), times=("47", "47")).target_done

    assert done(30.0, 30.0, 38.0, 38.0)
    assert done(29.0, 29.0, 37.0, 37.0)
    assert not done(30.0, 30.0, 44.0, 44.0)
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
    found = seen(MORNING, after(1, *HOT), logged(1), *tyres, *fitted)
    assert found.tyres["lf"].tyre == "b"
    assert found.fresh == ("lf",)
    assert (found.now["lf"], found.now["rf"]) == (None, 34.0)


def test_the_air_now_and_what_is_expected() -> None:
    def air(*rows: Row, **more: Any) -> tuple[float, float, float, bool]:
        found = seen(*rows, **more).outside
        return found.air_c, found.coldest_c, found.hottest_c, found.assumed

    assert air(MORNING) == (12.0, 12.0, 30.0, False)
    assert air(MORNING, WeatherRow(day=1, at="08:00", air_c=33.0)) == (33.0, 12.0, 33.0, False)
    assert air(cold(30, 30, 39, 39, air_c=8.0)) == (8.0, 8.0, 30.0, False)
    assert air(cold(30, 30, 39, 39, air_c=34.0)) == (34.0, 12.0, 34.0, False)
    assert air(MORNING, forecast={}) == (12.0, 12.0, 12.0, False)
    assert air(forecast={}, times=()) == (15.0, 5.0, 30.0, True)


def test_balance_in_words() -> None:
    def sides(balance: str) -> tuple[bool, bool]:
        found = seen(MORNING, after(1, *HOT), logged(1, balance))
        return found.understeer, found.oversteer

    assert [sides(text) for text in ("-2 0 0 0", "0 0 2 0", "-2 0 2 0", "-1 0 1 0")] == [
        (True, False), (False, True), (False, False), (False, False),
    ]  # fmt: skip


def test_how_small_a_change_may_be() -> None:
    fresh = seen(MORNING, logged(1), after(1, *HOT))
    assert (fresh.runs_today, fresh.min_psi) == (1, 0.6)
    coarse = seen(MORNING, gauges=[{"id": "dial", "step_psi": 1.0, "repeat_psi": 0.3}])
    assert coarse.min_psi == 1.0
    assert (fresh.wanted("lf"), fresh.wanted("rr")) == (34.0, 44.0)
    assert not fresh.unread
    assert seen(MORNING, after(1, -1, -1, -1, -1)).unread


# --- limits -------------------------------------------------------------------------------------------------------------


def test_a_move_is_cut_short_at_the_limits_and_never_turned_round() -> None:
    assert not Bound(under=30.0, over=30.0).impossible
    assert Bound(under=30.1, over=30.0).impossible
    held = Bound(low=30.0, high=40.0, soft_low=33.0)
    assert [held.lowered(psi, 36.0, new=False) for psi in (29.0, 31.0)] == [30.0, 31.0]
    assert held.lowered(31.0, 36.0, new=True) == 33.0
    assert held.lowered(28.0, 29.0, new=False) == 29.0
    assert [held.raised(psi, 36.0) for psi in (39.0, 41.0)] == [39.0, 40.0]
    assert held.raised(42.0, 41.0) == 41.0
    assert Bound(no_raise=because("no-car-file")).raised(40.0, 30.0) == 30.0
    assert Bound(no_lower=because("no-car-file")).lowered(28.0, 30.0, new=True) == 30.0


def test_limits_of_a_tyre_of_unknown_temperature() -> None:
    """Gas law by hand: the minimum for the warmest likely tyre (air + 30 K), the maximum for one at the air's."""
    estate = car().model_copy(update={"targets": {}})
    found = seen(logged(1, at=None), after(1, *HOT, at=None, wait_min=0.0), of=estate)
    outside = 96468.0 / 6894.757
    assert found.likely["lf"] == Likely(18.0, 48.0)
    bound = found.bound["lf"]
    assert bound.low == pytest.approx((26.0 + outside) * (48.0 + 273.15) / (12.0 + 273.15) - outside, abs=0.01)
    assert bound.high == pytest.approx((51.0 + outside) * (18.0 + 273.15) / (30.0 + 273.15) - outside, abs=0.01)
    assert bound.under == pytest.approx((26.0 + outside) * (18.0 + 273.15) / (12.0 + 273.15) - outside, abs=0.01)
    assert bound.over is None, "hot and over the maximum as read orders nothing"
    sprayed = seen(logged(1, at=None), after(1, *HOT, at=None, wait_min=20.0, cooling="spray"), of=estate).likely["lf"]
    assert sprayed == Likely(13.0, pytest.approx(18.0 + 30.0 / math.e))


def test_without_a_maximum_the_ceiling_is_the_highest_that_is_known_to_be_safe() -> None:
    blank = {"max_cold_psi": None, "wheel_max_psi": None}
    placarded = seen(MORNING, of=car(**blank)).bound["lf"]
    assert placarded.ceiling == pytest.approx(33.0)
    bare = seen(MORNING, of=car(**blank, placard_front_psi=None))
    assert bare.bound["lf"].ceiling == pytest.approx(bare.plan.cold_of("lf"))
    set_before = seen(MORNING, put(1, 35.0, 35.0, 41.0, 41.0, at="07:50", air_c=12.0), of=car(**blank), times=())
    assert set_before.bound["lf"].ceiling == pytest.approx(35.0)
    none = seen(MORNING, of=car(**blank, placard_front_psi=None).model_copy(update={"targets": {}}))
    assert none.bound["lf"].no_raise == because("no-maximum-known", corner="lf")


# --- the line ------------------------------------------------------------------------------------------------------


def test_figures_in_each_unit() -> None:
    """34 psi is 234.4 kPa and 2.344 bar (NIST SP 811)."""
    assert [reading(34.0, unit) for unit in ("psi", "kpa", "bar")] == ["34.0", "234", "2.34"]
    assert reading(None, "psi") == "-"


@pytest.mark.parametrize(
    ("to", "way"),
    [
        (Corners(33.0, 33.0, 44.0, 44.0), "front 34.0/34.0 -> 33.0/33.0 let out, rear stays 44.0/44.0 psi"),
        (Corners(35.0, 34.0, 44.0, 44.0), "front 34.0/34.0 -> 35.0/34.0 add, rear stays 44.0/44.0 psi"),
        (Corners(33.0, 35.0, 44.0, 43.0), "front 34.0/34.0 -> 33.0/35.0 let out and add, rear 44.0/44.0 -> 44.0/43.0 psi let out"),
    ],
)  # fmt: skip
def test_out_and_in_in_the_line(to: Corners, way: str) -> None:
    found = now(told(MORNING, after(1, *HOT), logged(1)))
    line = next_line(replace(found, action="set", now=Corners(*HOT), set=to))
    assert line.startswith(way[:1].upper() + way[1:] + ". ")


def test_a_plan_within_its_limits() -> None:
    """34 hot with a rise of 20 K from 10 C at sea level is 30.79 cold: (34 + 14.696) x 283.15 / 303.15 - 14.696."""
    state, estate = AirState(10.0), car()
    wanted = carry(34.0, AirState(30.0), state)
    free = cold_plan(estate, "dry", state, rise(20.0, 20.0))
    assert (free.front.cold_psi, free.front.capped) == (pytest.approx(wanted), False)
    low = cold_plan(car(front_min_psi=31.5), "dry", state, rise(20.0, 20.0)).front
    assert (low.cold_psi, low.capped, low.why) == (31.5, True, because("plan-held-up", tyres=False, coldest_c=None))
    high = cold_plan(car(max_cold_psi=31.0), "dry", state, rise(20.0, 20.0), hottest_c=30.0).front
    assert (high.cold_psi, high.capped) == (pytest.approx(carry(31.0, AirState(30.0), state)), True)
    mild = cold_plan(car(max_cold_psi=31.0), "dry", state, rise(20.0, 20.0), hottest_c=15.0).front
    assert mild.cold_psi == pytest.approx(carry(31.0, AirState(20.0), state))
    assert cold_plan(None, None, state, rise(20.0, 20.0)).front.why == because("no-target", target="dry")
