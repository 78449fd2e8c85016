"""What a first run warms, from where it is known, and the cold plan inside its limits. By hand, the gas law beside it."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from typing import Any

import pytest

from paddock.engine.pressure.air import AirState
from paddock.engine.pressure.corners import because
from paddock.engine.pressure.heat import heat_of
from paddock.engine.pressure.outside import Asked
from paddock.engine.pressure.plan import (
    AxlePlan,
    ColdPlan,
    Rise,
    SitePlace,
    axles_now,
    cold_plan,
    cold_sets,
    first_run_rises,
    known_rises,
    next_event_plan,
    rise_over_air,
)
from paddock.engine.pressure.situation import situation
from paddock.model.car import Car, FirstRun
from paddock.model.event import Event
from paddock.model.rows import Row, TyreRow, WeatherRow
from tests.engine.pressure.situations import HOT, ME, MORNING, after, before, car, clock, cold, logged
from tests.engine.pressure.test_parts import seen
from tests.engine.pressure.test_rules import told

OUTSIDE = 96_472.48 / 6894.757
"""412 m."""


def over(psi: float, cold_psi: float, air_c: float = 18.0, cold_c: float = 12.0) -> float:
    """K over the air of a tyre that read ``cold_psi`` at ``cold_c`` and reads ``psi``."""
    return (cold_c + 273.15) * (psi + OUTSIDE) / (cold_psi + OUTSIDE) - 273.15 - air_c


def firsts(axle: str, surface: str | None, *rows: Row, **more: Any) -> list[float]:
    return first_run_rises(heat_of(told(*rows, **more), ME).track, axle, surface)


TWO = ("47", "47")
UNEVEN = after(1, 34.0, 34.4, 44.0, 44.4)
FRONT, REAR = (over(34.0, 30.0) + over(34.4, 30.0)) / 2, (over(44.0, 39.2) + over(44.4, 39.2)) / 2


def test_the_rise_of_a_first_run_is_the_mean_of_its_axle_over_the_air() -> None:
    assert firsts("front", "dry", MORNING, logged(1), UNEVEN) == [pytest.approx(FRONT, abs=0.01)]
    assert firsts("rear", None, MORNING, logged(1), UNEVEN) == [pytest.approx(REAR, abs=0.01)]
    assert firsts("rear", "drying", MORNING, logged(1), UNEVEN) == []
    half = UNEVEN.model_copy(update={"lf_psi": None})
    assert firsts("front", "dry", MORNING, logged(1), half) == [pytest.approx(over(34.4, 30.0), abs=0.01)]
    airless = UNEVEN.model_copy(update={"air_c": None})
    assert firsts("front", "dry", MORNING.model_copy(update={"air_c": None, "tyre_c": 12.0}), logged(1), airless) == []


@pytest.mark.parametrize(("word", "counts"), [
    ("dry", ("dry", None)), ("damp", ("damp",)), ("wet", ("wet", "standing")), ("standing", ("wet", "standing")),
    ("drying", ("drying",)), (None, ("dry", None)),
])  # fmt: skip
def test_a_first_run_counts_on_like_surfaces_alone(word: str | None, counts: Sequence[str | None]) -> None:
    rows = (MORNING, logged(1, surface=word), UNEVEN)
    found = {
        surface for surface in ("dry", None, "damp", "wet", "standing", "drying") if firsts("front", surface, *rows)
    }
    assert found == set(counts)


def test_which_readings_are_of_a_first_run() -> None:
    """The day's first, or the first after three quarters of an hour; read within as much; not of tyres warmed before."""
    second = after(2, 34.5, 34.5, 44.5, 44.5)
    assert len(firsts("front", "dry", MORNING, logged(1), logged(2), second, times=TWO)) == 1, "an hour after the first"
    soon = (MORNING, logged(1), logged(2, at="09:45"), after(2, *HOT, at="09:48"))
    assert firsts("front", "dry", *soon, times=TWO, order=False) == []
    late = (MORNING, logged(1), logged(2, at="09:46"), after(2, *HOT, at="09:49"))
    assert len(firsts("front", "dry", *late, times=TWO, order=False)) == 1
    assert firsts("front", "dry", MORNING, logged(1), after(1, *HOT, at="09:50")) == []
    assert firsts("front", "dry", MORNING, logged(1), before(2, *HOT, at="09:03")) == []
    blankets = cold(35.5, 35.5, 46.0, 46.0, tyre_c=55.0, run=1)
    assert firsts("front", "dry", blankets, logged(1), after(1, *HOT, tyre_c=40.0)) == []
    unclocked = (MORNING, logged(1, at=None), after(1, *HOT, at=None, wait_min=None))
    assert len(firsts("front", "dry", *unclocked, order=False)) == 1


def test_measured_where_the_air_inside_is_not_known() -> None:
    assert firsts("front", "dry", logged(1), after(1, *HOT, tyre_c=40.0)) == [pytest.approx(22.0)]
    assert firsts("front", "dry", logged(1), UNEVEN) == []


def test_the_middle_rise_over_the_air_of_all_readings() -> None:
    """Measured ones go before those inferred; of an even number the mean of the two in the middle."""
    track = heat_of(told(MORNING, logged(1), UNEVEN), ME).track
    assert rise_over_air(track, "front") == pytest.approx(FRONT, abs=0.01)
    assert rise_over_air(heat_of(told(MORNING, times=()), ME).track, "front") is None
    hot = [after(run, *HOT, tyre_c=c) for run, c in ((1, 40.0), (2, 46.0), (3, 43.0))]
    logs = [logged(run) for run in (1, 2, 3)]
    three = heat_of(told(*logs, *hot, times=("47", "47", "47")), ME).track
    assert rise_over_air(three, "front") == pytest.approx(25.0)
    two = heat_of(told(*logs[:2], *hot[:2], times=TWO), ME).track
    assert rise_over_air(two, "rear") == pytest.approx(25.0)
    mixed = heat_of(told(MORNING, *logs[:2], after(1, *HOT), after(2, *HOT, tyre_c=46.0), times=TWO), ME).track
    assert rise_over_air(mixed, "front") == pytest.approx(28.0)
    lone = heat_of(told(MORNING, logged(1), after(1, 34.0, 34.4, 44.0, 44.0), logged(2), after(2, 34.2, 34.6, 44.0, 44.0),
                        times=TWO), ME).track  # fmt: skip
    four = sorted(over(psi, 30.0) for psi in (34.0, 34.4, 34.2, 34.6))
    assert rise_over_air(lone, "front") == pytest.approx((four[1] + four[2]) / 2, abs=0.01)


def test_what_each_axle_would_read_elsewhere() -> None:
    track = heat_of(told(cold(30.0, 31.0, 39.0, 39.0), times=()), ME).track
    found = axles_now(track, AirState(22.0, 100_000.0))
    there = 100_000.0 / 6894.757
    for axle, psi in (("front", 30.5), ("rear", 39.0)):
        assert found[axle] == pytest.approx((psi + OUTSIDE) * 295.15 / 285.15 - there, abs=0.001)
    assert axles_now(heat_of(told(times=()), ME).track, AirState(22.0)) == {"front": None, "rear": None}


# --- where a rise is known from -----------------------------------------------------------------------------------------


def rises(of: Event, surface: str | None = "dry", past: Sequence[Event] = ()) -> dict[str, Rise]:
    return known_rises(of, ME, heat_of(of, ME), surface, past)


def test_a_rise_that_was_read() -> None:
    """One reading is good for 4 K either way; two for 1.28 times their scatter as it grows for the next, 1.5 K at least."""
    one = rises(told(MORNING, logged(1), UNEVEN))
    assert one["front"] == Rise(pytest.approx(FRONT, abs=0.01), pytest.approx(FRONT - 4.0, abs=0.01),
                                pytest.approx(FRONT + 4.0, abs=0.01), "read", 1)  # fmt: skip
    rows = (MORNING, logged(1), after(1, *HOT), logged(2, at="10:00"), after(2, 35.0, 35.0, 44.1, 44.1, at="10:02"))
    two = rises(told(*rows, times=TWO))
    first, second = over(34.0, 30.0), over(35.0, 30.0)
    half = 1.2816 * abs(first - second) / math.sqrt(2) * math.sqrt(1.5)
    assert (two["front"].k, two["front"].runs) == (pytest.approx((first + second) / 2, abs=0.01), 2)
    assert two["front"].high_k - two["front"].k == pytest.approx(half, abs=0.01)
    assert two["rear"].high_k - two["rear"].k == pytest.approx(1.5)
    little = rises(told(MORNING, logged(1), after(1, 30.9, 30.9, 40.4, 40.4)))["front"]
    assert little.k < 4.0
    assert little.low_k == 0.0


def test_a_rise_that_was_not_read_here() -> None:
    bare = told(times=())
    assert rises(bare) == dict.fromkeys(("front", "rear"), Rise(20.0, 12.0, 28.0, "usual"))
    assert rises(bare, "damp")["rear"] == Rise(8.0, 4.0, 12.0, "usual")
    assert rises(bare, "standing")["rear"] == Rise(5.0, 2.0, 8.0, "usual")
    assert rises(bare, "drying")["front"] == Rise(14.0, 8.0, 20.0, "between")
    carried = car().model_copy(update={"first_run": FirstRun(front_rise_k=3.0)})
    filed = told(times=(), of=carried)
    assert rises(filed) == {"front": Rise(3.0, 0.0, 7.0, "car"), "rear": Rise(20.0, 12.0, 28.0, "usual")}
    assert rises(filed, "damp")["front"].source == "usual"
    read = told(MORNING, logged(1), UNEVEN, of=carried)
    assert {axle: item.source for axle, item in rises(read).items()} == {"front": "read", "rear": "read"}
    between = rises(told(MORNING, logged(1), UNEVEN), "drying")["front"]
    assert between == Rise(pytest.approx((FRONT + 8.0) / 2, abs=0.01), 8.0, pytest.approx(FRONT, abs=0.01), "between")


def test_the_latest_earlier_event_that_tells_is_asked_axle_by_axle() -> None:
    mine = {"numbers": [ME], "cars": {ME: "estate"}}
    older = told(MORNING, logged(1), UNEVEN, mine=mine)
    fronts = UNEVEN.model_copy(update={"lr_psi": None, "rr_psi": None, "lf_psi": 36.0, "rf_psi": 36.0})
    newer = told(MORNING, logged(1), fronts, mine=mine)
    wet = told(MORNING, logged(1, surface="wet"), UNEVEN, mine=mine)
    bare = told(times=(), mine=mine)
    found = rises(bare, "dry", (older, newer, wet))
    assert (found["front"].k, found["rear"].k) == (
        pytest.approx(over(36.0, 30.0), abs=0.01),
        pytest.approx(REAR, abs=0.01),
    )
    assert {item.source for item in found.values()} == {"earlier"}
    assert rises(bare, "wet", (older, newer, wet))["front"].k == pytest.approx(FRONT, abs=0.01)
    other = told(MORNING, logged(1), UNEVEN, mine={"numbers": [ME], "cars": {ME: "van"}})
    assert rises(bare, "dry", (other,))["front"].source == "usual"
    here = rises(told(MORNING, logged(1), fronts, mine=mine), "dry", (older,))
    assert (here["front"].source, here["rear"].source) == ("read", "earlier")
    filed = dataclasses.replace(
        bare, cars={"estate": car().model_copy(update={"first_run": FirstRun(front_rise_k=9.0)})}
    )
    assert {axle: item.source for axle, item in rises(filed, "dry", (older,)).items()} == {
        "front": "car",
        "rear": "earlier",
    }


# --- the plan inside its limits -------------------------------------------------------------------------------------------

STATE = AirState(10.0, 100_000.0)
PSI = 100_000.0 / 6894.757
RISE = {axle: Rise(20.0, 15.0, 26.0, "read", 2) for axle in ("front", "rear")}


def at(psi: float, from_c: float, to_c: float) -> float:
    return (psi + PSI) * (to_c + 273.15) / (from_c + 273.15) - PSI


def planned(of: Car, tyres: dict[str, TyreRow] | None = None, **more: Any) -> AxlePlan:
    return cold_plan(of, "dry", STATE, RISE, tyres, **more).front


def test_a_plan_and_the_range_its_rise_asks_for() -> None:
    found = planned(car())
    assert found == AxlePlan("front", 34.0, pytest.approx(at(34.0, 30.0, 10.0)), RISE["front"],
                             low_psi=pytest.approx(at(34.0, 36.0, 10.0)), high_psi=pytest.approx(at(34.0, 25.0, 10.0)))  # fmt: skip
    more = planned(car(), more=1.5)
    assert (more.hot_psi, more.cold_psi) == (35.5, pytest.approx(at(35.5, 30.0, 10.0)))


def test_a_plan_that_a_limit_holds() -> None:
    top = 30.0
    held = planned(car(max_cold_psi=top), hottest_c=27.0)
    assert held == AxlePlan(
        "front", 34.0, pytest.approx(at(top, 27.0, 10.0)), RISE["front"], because("plan-held-down", air_c=27.0), True
    )
    assert planned(car(max_cold_psi=top), hottest_c=15.0).why == because("plan-held-down", air_c=20.0)
    assert planned(car(max_cold_psi=top)).cold_psi == pytest.approx(at(top, 20.0, 10.0))
    up = planned(car(front_min_psi=33.0), coldest_c=2.0)
    assert up == AxlePlan("front", 34.0, pytest.approx(at(33.0, 2.0, 10.0)), RISE["front"],
                          because("plan-held-up", tyres=False, coldest_c=2.0), True)  # fmt: skip
    mild = planned(car(front_min_psi=33.0), coldest_c=14.0)
    assert (mild.cold_psi, mild.why) == (33.0, because("plan-held-up", tyres=False, coldest_c=None))
    tyre = planned(car(), {"rf": TyreRow(tyre="a", min_cold_psi=33.0)})
    assert (tyre.cold_psi, tyre.why) == (33.0, because("plan-held-up", tyres=True, coldest_c=None))
    assert planned(car(), {"rr": TyreRow(tyre="a", min_cold_psi=33.0)}).why is None
    least = planned(car(), {"lf": TyreRow(tyre="a", max_cold_psi=31.0), "rf": TyreRow(tyre="b", max_cold_psi=29.0)})
    assert least.cold_psi == pytest.approx(at(29.0, 20.0, 10.0))
    warm = AirState(25.0, 100_000.0)
    alone = cold_plan(car(front_min_psi=33.0, max_cold_psi=33.0), "dry", warm, RISE).front
    assert (alone.cold_psi, alone.capped) == (33.0, True), "the one pressure that meets both"
    none = planned(car(front_min_psi=31.0, max_cold_psi=31.0))
    assert (none.cold_psi, none.hot_psi, none.why, none.capped) == (None, 34.0, because("plan-impossible"), False)


def test_a_plan_under_a_placard_that_stands_in_for_a_minimum() -> None:
    bare = {"front_min_psi": None, "placard_front_psi": 33.0}
    said = because("under-placard", axle="front", psi=33.0)
    assert planned(car(**bare)).caution == said
    assert planned(car(**bare, max_cold_psi=30.0)).caution == said
    assert planned(car(front_min_psi=None, placard_front_psi=30.0)).caution is None
    assert planned(car(placard_front_psi=33.0)).caution is None
    assert planned(car(front_min_psi=None, placard_front_psi=at(34.0, 30.0, 10.0))).caution is None


def test_the_plan_of_each_axle() -> None:
    one, two = (AxlePlan(axle, 34.0, psi, None) for axle, psi in (("front", 30.0), ("rear", 40.0)))
    whole = ColdPlan(10.0, 100_000.0, one, two)
    assert (whole.of("front"), whole.of("rear")) == (one, two)
    assert [whole.cold_of(corner) for corner in ("lf", "rf", "lr", "rr")] == [30.0, 30.0, 40.0, 40.0]
    blank = cold_plan(Car.model_validate({"targets": {"dry": {"rear_psi": 44.0}}}), "standing", STATE, RISE)
    assert blank.front == AxlePlan("front", None, None, RISE["front"], because("no-target", target="wet"))


def test_the_next_place_has_its_own_air_and_its_own_coldest_and_hottest() -> None:
    of = told(MORNING, logged(1), after(1, *HOT), of=car(max_cold_psi=36.0))
    high = dataclasses.replace(of, cars={"estate": car(front_min_psi=31.0)})
    k = over(34.0, 30.0)
    found = next_event_plan(of, ME, None, 10.0, hottest_c=4.0)
    sea = 101_325.0 / 6894.757
    assert (found.air_c, found.ambient_pa) == (10.0, 101_325.0)
    assert found.front.cold_psi == pytest.approx((34.0 + sea) * 283.15 / (283.15 + k) - sea, abs=0.01)
    assert found.rear.why == because("plan-held-down", air_c=20.0)
    assert next_event_plan(of, ME, None, 10.0, hottest_c=31.0).rear.why == because("plan-held-down", air_c=31.0)
    assert next_event_plan(high, ME, None, 10.0, coldest_c=-5.0).front.why == because(
        "plan-held-up", tyres=False, coldest_c=-5.0
    )
    station = next_event_plan(of, ME, 1600.0, 10.0, station_hpa=900.0)
    assert station.ambient_pa == 90_000.0
    assert found.now_psi["front"] == pytest.approx((30.0 + OUTSIDE) * 283.15 / 285.15 - sea, abs=0.01)


def test_the_cold_settings_of_a_place() -> None:
    of = told(MORNING, logged(1), after(1, *HOT))
    place = SitePlace(None, 8.0, 8.0)
    assert (place.airs, SitePlace(coldest_c=4.0, hottest_c=9.0).airs, SitePlace(hottest_c=9.0).airs) == (
        (8.0,),
        (4.0, 9.0),
        (9.0,),
    )
    found = cold_sets(of, ME, place)
    plan = next_event_plan(of, ME, None, 8.0, hottest_c=8.0, coldest_c=8.0)
    assert [(item.axle, item.air_c, item.target_psi, item.set_psi, item.now_psi) for item in found] == [
        ("front", 8.0, 34.0, plan.front.cold_psi, plan.now_psi["front"]), ("rear", 8.0, 44.0, plan.rear.cold_psi, plan.now_psi["rear"]),
    ]  # fmt: skip


# --- the end of the next run ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("word", "off"), [("wet", 0.5), ("standing", 0.5), ("damp", 0.5), ("drying", 0.3)])
def test_the_range_of_an_end_on_another_surface(word: str, off: float) -> None:
    """What is left of the warmth may be off by half on water, by three tenths else; the rise by its own range."""
    turned = WeatherRow(day=1, at="09:05", air_c=18.0, surface=word)  # type: ignore[arg-type]
    s = seen(MORNING, logged(1), after(1, *HOT), turned, order=False)
    way, rise = s.way["lf"], s.rises["front"]
    left = way.end_c - 18.0 - rise.k
    assert (way.how, rise.source) == ("turned", "between" if word == "drying" else "usual")
    assert 2.0 < left < 20.0
    assert way.low_c == pytest.approx(way.end_c - math.hypot(off * left, rise.k - rise.low_k))
    assert way.high_c == pytest.approx(way.end_c + math.hypot(off * left, rise.high_k - rise.k))


@pytest.mark.parametrize(("tyre_c", "end_c"), [(24.0, 32.0), (55.0, 55.0)])
def test_a_car_found_warm_before_its_first_run_ends_it_as_a_first_run_does_or_as_warm_as_it_is(
    tyre_c: float, end_c: float
) -> None:
    way = seen(cold(*HOT, tyre_c=tyre_c), times=()).way["lf"]
    assert (way.how, way.now_c, way.end_c, way.known) == ("first", tyre_c, pytest.approx(end_c), True)


@pytest.mark.parametrize(("wait", "how"), [(45.0, "back"), (46.0, "first"), (600.0, "first")])
def test_a_wait_of_more_than_three_quarters_of_an_hour_makes_it_a_first_run(wait: float, how: str) -> None:
    """Read two minutes after the run, which counts as at once."""
    of = told(MORNING, logged(1), after(1, *HOT))
    asked = situation(of, ME, clock(of), asked=Asked(wait_min=wait, air_c=15.0))
    assert asked.way["lf"].how == how
