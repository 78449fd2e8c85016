"""Cold pressures for another place."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.engine.pressure.air import ambient_psi
from paddock.engine.pressure.corners import because
from paddock.engine.pressure.moment import moment_of
from paddock.engine.pressure.plan import LADDER_C, ColdSet, SitePlace, cold_sets, next_event_plan
from paddock.model.car import Car, FirstRun
from paddock.model.event import Event
from paddock.model.rows import PressureRow
from paddock.model.settings import Forecast
from tests.engine.pressure.situations import clock, now
from tests.engine.tyres.make import car, clean

LIMITS = {"front_min_psi": 20.0, "rear_min_psi": 20.0, "max_cold_psi": 50.0}


def _row(moment: str, psi: float, at: str, **more: Any) -> PressureRow:
    cells = {"day": 1, "number": "26", "moment": moment, "at": at} | {f"{c}_psi": psi for c in ("lf", "rf", "lr", "rr")}
    return PressureRow(**(cells | more))


def _event(limits: dict[str, float] = LIMITS, altitude_m: float = 0.0) -> Event:
    """30 psi at 10 C, 32 after the first run: by hand (32 + 14.696) / (30 + 14.696) x 283.15 = 295.82 K, 10.67 over."""
    rows = [
        _row("cold", 30.0, "08:00", air_c=10.0, tyre_c=10.0),
        _row("after", 32.0, "09:10", run=1, air_c=12.0, tyre_c=27.0),
        _row("after", 34.0, "10:10", run=2, air_c=15.0, tyre_c=40.0),
    ]
    estate = Car.model_validate({"targets": {"dry": {"front_psi": 34.0, "rear_psi": 44.0}}, "limits": limits})
    event = car(clean("26", 1, 2), *rows, altitude_m=altitude_m, mine={"numbers": ["26"], "cars": {"26": "estate"}})
    return replace(event, cars={"estate": estate})


def _sets(place: SitePlace, **more: Any) -> dict[tuple[str, float], ColdSet]:
    return {(item.axle, item.air_c): item for item in cold_sets(_event(**more), "26", place)}


def test_the_target_is_carried_down_by_the_cars_own_rise() -> None:
    """By hand, gas law: (34 + ambient at 1600 m) x 278.15 / 288.82 - ambient."""
    found = _sets(SitePlace(1600.0, 5.0, 15.0))["front", 5.0]
    outside = ambient_psi(1600.0)
    assert found.rise_k == pytest.approx(10.67, abs=0.01)
    assert found.set_psi == pytest.approx((34.0 + outside) * 278.15 / 288.82 - outside, abs=0.01)
    assert found.limit is None


def test_what_is_in_now_is_carried_to_the_new_place() -> None:
    """By hand: the air of the cold reading, 30 psi at 10 C and sea level, at 5 C and 1600 m."""
    found = _sets(SitePlace(1600.0, 5.0, 15.0))["front", 5.0]
    assert found.now_psi == pytest.approx((30.0 + ambient_psi(0.0)) * 278.15 / 283.15 - ambient_psi(1600.0))


def test_without_a_forecast_a_ladder_of_airs() -> None:
    assert sorted({air for _, air in _sets(SitePlace(0.0))}) == list(LADDER_C) == [5.0, 15.0, 25.0]


def test_the_cold_maximum_holds_parked_in_the_hottest_air() -> None:
    found = _sets(SitePlace(0.0, 5.0, 30.0), limits=LIMITS | {"max_cold_psi": 41.0})["rear", 5.0]
    assert found.limit == because("plan-held-down", air_c=30.0)
    parked = (found.set_psi or 0) + ambient_psi(0.0)
    assert parked * 303.15 / 278.15 - ambient_psi(0.0) == pytest.approx(41.0)


def test_the_minimum_holds_in_the_coldest_air() -> None:
    found = _sets(SitePlace(0.0, 5.0, 30.0), limits=LIMITS | {"front_min_psi": 33.0})["front", 30.0]
    assert found.limit == because("plan-held-up", tyres=False, coldest_c=5.0)
    assert ((found.set_psi or 0) + ambient_psi(0.0)) * 278.15 / 303.15 - ambient_psi(0.0) == pytest.approx(33.0)


def test_the_written_target_stands_where_no_limit_is_known() -> None:
    """A placard alone cautions; the target's own cold plan is what is known to be safe."""
    rear = _sets(SitePlace(0.0, 10.0), limits={"front_min_psi": 20.0, "placard_rear_psi": 32.0})["rear", 10.0]
    assert (rear.set_psi or 0.0) > 40.0
    low = Car.model_validate({"targets": {"dry": {"front_psi": 28.0}}, "limits": {"max_cold_psi": 60.0}})
    front = cold_sets(replace(_event(), cars={"estate": low}), "26", SitePlace(0.0, 5.0))[0]
    assert (front.set_psi or 99.0) < (front.now_psi or 0.0)


def test_one_plan_for_another_place_whoever_asks() -> None:
    """The new folder, ``next`` for another place and the first run of the day."""
    event = _event()
    there = next_event_plan(event, "26", 412.0, 12.0, hottest_c=27.0, coldest_c=8.0)
    mine = [item for item in cold_sets(event, "26", SitePlace(412.0, 12.0, 27.0)) if item.air_c == 12.0]
    assert [(item.set_psi, item.rise_k) for item in mine] == [
        (there.front.cold_psi, there.front.rise and there.front.rise.k), (there.rear.cold_psi, there.rear.rise and there.rear.rise.k)
    ]  # fmt: skip


def test_the_rise_goes_along_in_the_car_file_or_comes_from_the_events_before() -> None:
    """The gas law by hand with 10.67 K: (34 + 14.696) x 285.15 / 295.82 - 14.696 = 32.24 psi at 12 C."""
    old = _event()
    bare = replace(old, tables={})
    told = old.cars["estate"].model_copy(update={"first_run": FirstRun(front_rise_k=10.67, rear_rise_k=10.67)})
    settings = old.settings.model_copy(update={"forecast": Forecast(coldest_c=12.0, hottest_c=20.0)})
    bare = replace(bare, settings=settings)
    unknown = now(bare).known
    assert (unknown.rises["front"].source, unknown.rises["front"].k) == ("usual", 20.0)
    carried = now(replace(bare, cars={"estate": told})).known
    earlier = moment_of(bare, "26", clock(bare), past=(old,)).known
    for found, source in ((carried, "car"), (earlier, "earlier")):
        assert found.rises["front"].source == source
        assert found.plan.cold_of("lf") == pytest.approx(32.24, abs=0.01)


def test_limits_that_contradict_give_no_pressure() -> None:
    found = _sets(SitePlace(0.0, 5.0, 30.0), limits=LIMITS | {"max_cold_psi": 30.0, "rear_min_psi": 40.0})["rear", 5.0]
    assert found.set_psi is None
    assert found.limit == because("plan-impossible")


def test_no_hot_reading_no_target_or_no_car_is_said_and_not_guessed() -> None:
    event = _event()
    cold_only = replace(event, tables={**event.tables, "pressures.csv": event.tables["pressures.csv"][:1]})
    assert {item.rise_k for item in cold_sets(cold_only, "26", SitePlace(0.0, 5.0))} == {20.0}, "any car's, and said so"
    assert cold_sets(replace(event, cars={"estate": Car()}), "26", SitePlace(0.0)) == ()
    assert cold_sets(replace(event, cars={}), "26", SitePlace(0.0)) == ()


@given(st.floats(-10, 40), st.floats(-200, 3000))
def test_never_above_the_cold_maximum(air_c: float, altitude_m: float) -> None:
    for item in cold_sets(_event(limits=LIMITS | {"max_cold_psi": 38.0}), "26", SitePlace(altitude_m, air_c, air_c)):
        outside = ambient_psi(altitude_m)
        parked = ((item.set_psi or 0.0) + outside) * (max(20.0, air_c) + 273.15) / (air_c + 273.15) - outside
        assert parked <= 38.0 + 1e-6
