"""The limits of each corner, the air that is expected, and what the limits leave of a setting. By hand, the gas law beside it."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from paddock.engine.pressure.answer import Proposal
from paddock.engine.pressure.cautions import limits
from paddock.engine.pressure.corners import Corners, Reason, because
from paddock.engine.pressure.decide import allowed, settled
from paddock.engine.pressure.left import others_left
from paddock.engine.pressure.limits import Bound, Likely, bounds, cold_maximum, fitted_tyres, likely_temps, minimum
from paddock.engine.pressure.outside import Asked, Outside, outside_of, stands_in
from paddock.engine.pressure.readings import car_log
from paddock.model.car import Car
from paddock.model.rows import FittedRow, PressureRow, Row, TyreRow, WeatherRow
from tests.engine.pressure.situations import HOT, ME, MORNING, after, before, car, clock, cold, logged, put
from tests.engine.pressure.test_parts import seen
from tests.engine.pressure.test_rules import told

PA, PSI = 100_000.0, 100_000.0 / 6894.757


def at(psi: float, from_c: float, to_c: float) -> float:
    """The same air at another temperature, 1000 hPa outside."""
    return (psi + PSI) * (to_c + 273.15) / (from_c + 273.15) - PSI


# --- limits ------------------------------------------------------------------------------------------------------------

WARM = Likely(20.0, 50.0)


def bound(likely: Likely, of: Car | None, air: tuple[float, float] = (5.0, 30.0), ceiling: float | None = None,
          **tyre: float) -> Bound:  # fmt: skip
    tyres = {"lf": TyreRow(tyre="a", **tyre)} if tyre else {}  # type: ignore[arg-type]
    return bounds(PA, dict.fromkeys(("lf", "rf", "lr", "rr"), likely), of, tyres, air, {"lf": ceiling})["lf"]


def test_the_limits_of_a_tyre_whose_temperature_is_known() -> None:
    """40 C inside, 5 to 30 C expected: at least what reads 26 parked at 5 C, at most what reads 51 parked at 30 C."""
    found = bound(Likely(40.0, 40.0), car())
    low, high = at(26.0, 5.0, 40.0), at(51.0, 30.0, 40.0)
    assert (found.low, found.under) == (pytest.approx(low), pytest.approx(low))
    assert (found.high, found.over) == (pytest.approx(high), pytest.approx(high))
    assert (found.soft_low, found.ceiling, found.no_lower, found.no_raise) == (None, None, None, None)
    cool = bound(Likely(10.0, 10.0), car(), (5.0, 12.0))
    assert cool.high == pytest.approx(at(51.0, 20.0, 10.0)), "never compared with less than 20 C"
    parked = bound(Likely(3.0, 3.0), car())
    assert (parked.low, parked.under) == (26.0, 26.0), "in colder air than is expected it may not read less now either"


def test_the_limits_of_a_tyre_that_is_somewhere_between() -> None:
    found = bound(WARM, car())
    assert found.low == pytest.approx(at(26.0, 5.0, 50.0))
    assert found.under == pytest.approx(at(26.0, 5.0, 20.0))
    assert found.high == pytest.approx(at(51.0, 30.0, 20.0))
    assert found.over is None
    tyre = bound(WARM, car(), max_cold_psi=44.0, min_cold_psi=29.0)
    assert (tyre.low, tyre.high) == (pytest.approx(at(29.0, 5.0, 50.0)), pytest.approx(at(44.0, 30.0, 20.0)))


def test_what_stands_in_for_a_limit_that_is_not_written() -> None:
    placarded = bound(WARM, car(front_min_psi=None))
    assert (placarded.low, placarded.under, placarded.no_lower) == (None, None, None)
    assert placarded.soft_low == pytest.approx(at(33.0, 5.0, 50.0))
    bare = bound(WARM, car(front_min_psi=None, placard_front_psi=None))
    assert (bare.soft_low, bare.no_lower) == (None, because("no-minimum-known", axle="front"))
    blank = car(max_cold_psi=None)
    assert bound(WARM, blank).no_raise == because("no-maximum-known", corner="lf")
    ceiled = bound(WARM, blank, ceiling=0.17)
    assert (ceiled.high, ceiled.over, ceiled.no_raise) == (None, None, None)
    assert ceiled.ceiling == pytest.approx(0.17 * 293.15 - PSI)
    assert bound(WARM, car(), ceiling=0.17).ceiling is None
    none = bound(WARM, None)
    assert (none.low, none.high, none.no_lower, none.no_raise) == (
        None, None, because("no-minimum-known", axle="front"), because("no-maximum-known", corner="lf"),
    )  # fmt: skip


def test_a_limit_that_only_the_tyre_names() -> None:
    tyre = TyreRow(tyre="a", max_cold_psi=44.0, min_cold_psi=29.0)
    assert (cold_maximum(None, tyre), minimum(None, "front", tyre, None)) == (44.0, 29.0)
    assert (cold_maximum(car(max_cold_psi=None, wheel_max_psi=40.0), tyre), minimum(car(), "front", tyre)) == (
        40.0,
        29.0,
    )
    assert (cold_maximum(car(max_cold_psi=None), None), minimum(None, "rear"), minimum(car(), "rear")) == (
        None,
        None,
        28.0,
    )


@pytest.mark.parametrize(("wait", "left"), [(0.0, 1.0), (20.0, math.exp(-1.0)), (40.0, math.exp(-2.0))])
def test_how_warm_a_tyre_likely_is(wait: float, left: float) -> None:
    """From the air to what a run warms it, 30 K where nothing tells, gone by a third in 20 minutes."""
    reading = car_log(told(logged(1, at=None), after(1, *HOT, at=None, wait_min=wait)), ME).readings[0]
    found = likely_temps(reading, {"lf": 33.0}, {"front": 12.0, "rear": None}, 18.0)
    assert found["lf"] == Likely(33.0, 33.0)
    assert found["lf"].known
    assert found["rf"] == Likely(18.0, pytest.approx(18.0 + 12.0 * left))
    assert found["rr"] == Likely(18.0, pytest.approx(18.0 + 30.0 * left))
    assert not found["rr"].known
    colder = likely_temps(reading, {}, {"front": -4.0, "rear": 6.0}, 18.0)
    assert colder["lf"] == Likely(18.0, 18.0)


def test_how_warm_a_rested_or_a_sprayed_tyre_likely_is() -> None:
    rested = car_log(told(MORNING, times=()), ME).readings[0]
    assert likely_temps(rested, {}, {}, 12.0)["lf"] == Likely(12.0, 12.0)
    sprayed = car_log(told(logged(1, at=None), after(1, *HOT, at=None, wait_min=0.0, cooling="spray")), ME).readings[0]
    assert likely_temps(sprayed, {}, {"front": 12.0}, 18.0)["lf"] == Likely(13.0, 30.0)
    assert likely_temps(sprayed, {}, {"front": -9.0}, 18.0)["lf"] == Likely(13.0, 18.0)


def test_the_tyre_of_a_corner_as_of_a_run() -> None:
    """The latest up to then; where all are later the first of them; a blank run stands at the day's start."""
    tyres = [TyreRow(tyre=name) for name in "abcd"]
    rows = [
        FittedRow(day=2, number=ME, corner="lf", tyre="d"), FittedRow(day=1, run=3, number=ME, corner="lf", tyre="c"),
        FittedRow(day=1, number=ME, corner="lf", tyre="a"), FittedRow(day=1, run=2, number=ME, corner="rf", tyre="b"),
        FittedRow(day=1, run=4, number=ME, corner="rf", tyre="a"), FittedRow(day=1, run=1, number="5", corner="lr", tyre="a"),
        FittedRow(day=1, run=1, number=ME, corner="rr", tyre="unknown"),
    ]  # fmt: skip
    of = told(*tyres, *rows)

    def fitted(day: int, run: int, *numbers: str) -> dict[str, str]:
        return {corner: tyre.tyre for corner, tyre in fitted_tyres(of, numbers or (ME,), (day, run)).items()}

    assert fitted(1, 0) == {"lf": "a", "rf": "b"}
    assert fitted(1, 2) == {"lf": "a", "rf": "b"}
    assert fitted(1, 3) == {"lf": "c", "rf": "b"}
    assert fitted(1, 9) == {"lf": "c", "rf": "a"}
    assert fitted(2, 0) == {"lf": "d", "rf": "a"}
    bare = seen(
        *tyres,
        FittedRow(day=1, number=ME, corner="lf", tyre="a"),
        FittedRow(day=1, number=ME, corner="lf", tyre="b"),
        times=(),
    )
    assert bare.tyres["lf"].tyre == "b", "the last one noted, before anything is read or run"
    assert fitted(1, 1, ME, "5") == {"lf": "a", "rf": "b", "lr": "a"}


# --- the air -----------------------------------------------------------------------------------------------------------


def air(*rows: Row, tomorrow: bool = False, asked: Asked | None = None, **more: Any) -> Outside:
    of = told(*rows, **more)
    return outside_of(of, car_log(of, ME), clock(of), tomorrow, asked or Asked())


def weather(at: str | None, c: float, day: int = 1) -> WeatherRow:
    return WeatherRow(day=day, at=at, air_c=c)


def test_the_newest_air_of_the_day_and_the_widest_that_is_expected() -> None:
    """Forecast 12 to 30 C: what was seen widens it, the newest is the air now."""
    found = air(weather("08:00", 10.0), weather("09:00", 33.0), weather("10:00", 20.0))
    assert (found.air_c, found.coldest_c, found.hottest_c, found.assumed) == (20.0, 10.0, 33.0, False)
    late = air(weather("08:00", 10.0), after(1, *HOT, air_c=21.0, at="11:00"), weather("10:00", 20.0))
    assert (late.air_c, late.coldest_c, late.hottest_c) == (21.0, 10.0, 30.0)
    unclocked = air(weather("08:00", 14.0), weather(None, 22.0))
    assert (unclocked.air_c, unclocked.hottest_c) == (14.0, 30.0)
    other = air(weather("08:00", 14.0), weather("09:00", 32.0, day=2))
    assert (other.air_c, other.hottest_c) == (14.0, 30.0), "another day's"


def test_what_is_no_air_of_the_day() -> None:
    """Beyond -40 to 50 C nobody meant it; the evening before is another day's air."""
    for c, counts in ((-40.0, True), (-40.1, False), (50.0, True), (50.1, False)):
        assert air(weather("08:00", 14.0), weather("09:00", c)).air_c == (c if counts else 14.0)
    assert air(weather("00:00:05", 21.0)).air_c == 12.0
    eve = cold(30, 30, 39, 39, air_c=24.0, at="00:00:01")
    assert air(eve, times=()).air_c == 12.0
    assert (air(eve, forecast={}, times=()).air_c, air(eve, forecast={}, times=()).assumed) == (24.0, False)
    silent = cold(30, 30, 39, 39).model_copy(update={"air_c": None})
    assert air(silent, weather("07:00", 9.0)).air_c == 9.0


def test_tomorrows_air_is_the_forecasts_else_todays() -> None:
    both = {"coldest_c": 12.0, "hottest_c": 30.0, "next_coldest_c": 4.0, "next_hottest_c": 19.0}
    seen_today = weather("09:00", 33.0)
    found = air(seen_today, tomorrow=True, forecast=both)
    assert (found.air_c, found.coldest_c, found.hottest_c) == (4.0, 4.0, 19.0)
    today = air(seen_today, forecast=both)
    assert (today.air_c, today.coldest_c, today.hottest_c) == (33.0, 12.0, 33.0)
    half = air(seen_today, tomorrow=True, forecast={"coldest_c": 12.0, "hottest_c": 30.0})
    assert (half.air_c, half.coldest_c, half.hottest_c) == (12.0, 12.0, 30.0)
    carried = air(cold(30, 30, 39, 39, air_c=17.0), tomorrow=True, forecast={}, times=())
    assert (carried.air_c, carried.coldest_c, carried.hottest_c, carried.assumed) == (17.0, 17.0, 17.0, False)
    nothing = air(tomorrow=True, forecast={}, times=())
    assert (nothing.air_c, nothing.coldest_c, nothing.hottest_c, nothing.assumed) == (15.0, 5.0, 30.0, True)


def test_what_is_asked_for_goes_first() -> None:
    found = air(weather("09:00", 20.0), asked=Asked(air_c=35.0, altitude_m=0.0))
    assert (found.air_c, found.coldest_c, found.hottest_c) == (35.0, 12.0, 35.0)
    assert found.ambient_pa == pytest.approx(101_325.0)
    assert found.state.temp_c == 35.0
    here = air(weather("09:00", 20.0))
    assert here.ambient_pa == pytest.approx(96_472.5, abs=0.1), "412 m, ISO 2533"
    station = air(WeatherRow(day=1, at="09:00", air_c=20.0, station_hpa=980.0))
    assert station.ambient_pa == 98_000.0


@pytest.mark.parametrize(("air_c", "apart"), [(13.0, False), (13.1, True), (11.0, False), (10.9, True), (24.0, True)])
def test_where_a_car_stands_that_was_read_the_evening_before(air_c: float, apart: bool) -> None:
    """12 C expected: a garage within one kelvin of it is no air of its own."""
    of = told(cold(30, 30, 39, 39, air_c=air_c, at="00:00:01"), times=())
    log = car_log(of, ME)
    outside = outside_of(of, log, clock(of), False, Asked())
    found = stands_in(log.readings[0], outside)
    assert (found is not None) is apart
    assert found is None or (found.temp_c, found.ambient_pa) == (air_c, outside.ambient_pa)
    assert stands_in(None, outside) is None
    morning = car_log(told(cold(30, 30, 39, 39, air_c=24.0), times=()), ME).readings[0]
    assert stands_in(morning, outside) is None
    warmed = car_log(told(cold(30, 30, 39, 39, air_c=24.0, tyre_c=50.0, at="00:00:01"), times=()), ME).readings[0]
    assert stands_in(warmed, outside) is None


def test_who_still_drives_the_car() -> None:
    assert others_left({"26": 0, "83": 2, "84": 0, "85": 1}, "26") == (("83", 2), ("85", 1))
    assert others_left({"26": 1, "83": 2}, "26") == ()
    assert others_left({"83": 2}, "26") == ()
    assert others_left({}, "26") == ()


# --- what the limits leave -----------------------------------------------------------------------------------------------

BASE = seen(MORNING, after(1, *HOT), logged(1))
"""34 and 44 psi; no move under 0.6 psi."""


def left(kind: str, wanted: dict[str, float], skip: tuple[str, ...] = (), now: Corners | None = None,
         **corners: Bound) -> tuple[dict[str, float | None], tuple[str, ...]] | str:  # fmt: skip
    s = replace(BASE, bound={**dict.fromkeys(("lf", "rf", "lr", "rr"), Bound()), **corners}, now=now or BASE.now)
    found = settled(s, Proposal(kind, because("any"), wanted), skip)  # type: ignore[arg-type]
    if isinstance(found, Reason):
        why = dict(found.values)["why"]
        assert isinstance(why, Reason)
        return why.name
    return found[0], tuple(reason.name for reason in found[1])


def four(
    lf: float | None, rf: float | None, lr: float | None = 44.0, rr: float | None = 44.0
) -> dict[str, float | None]:
    return {"lf": lf, "rf": rf, "lr": lr, "rr": rr}


def test_a_move_is_made_as_far_as_the_limits_let_it() -> None:
    low, high = Bound(low=33.0), Bound(high=35.0)
    assert left("return", {"lf": 32.0, "rf": 32.0}) == (four(32.0, 32.0), ())
    assert left("return", {"lf": 32.0, "rf": 32.0}, lf=low, rf=low) == (four(33.0, 33.0), ("held-up", "held-up"))
    assert left("return", {"lf": 36.0, "rf": 36.0}, lf=high) == (four(35.0, 36.0), ("held-down",))
    assert left("return", {"lf": 33.0, "rf": 33.0}, lf=low, rf=low) == (four(33.0, 33.0), ())
    assert left("limits", {"lf": 32.0}, lf=low) == (four(32.0, 34.0), ()), "what the limits themselves ask is not cut"
    assert left("stop", {"lf": 30.0}) == (four(34.0, 34.0), ())
    assert left("none", {}) == (four(34.0, 34.0), ())


def test_a_new_setting_moves_both_tyres_alike() -> None:
    """The least of the two moves, whichever side is held."""
    assert left("new", {"lf": 32.0, "rf": 32.0}, rf=Bound(low=33.0)) == (four(33.0, 33.0), ("held-up",) * 2)
    assert left("new", {"lf": 36.0, "rf": 36.0}, lf=Bound(high=35.0)) == (four(35.0, 35.0), ("held-down",) * 2)
    assert left("new", {"lf": 32.0, "rf": 32.0}, rf=Bound(soft_low=33.0)) == (four(33.0, 33.0), ("held-up",) * 2)
    assert left("return", {"lf": 32.0, "rf": 32.0}, rf=Bound(soft_low=33.0)) == (four(32.0, 32.0), ())
    assert left("new", {"lf": 32.0, "rf": 32.0}, rf=Bound(no_lower=because("never"))) == "cut"


def test_what_is_too_small_to_gauge_is_left() -> None:
    assert left("return", {"lf": 34.6, "rf": 34.6}) == (four(34.6, 34.6), ())
    assert left("return", {"lf": 34.5, "rf": 33.5}) == "under-the-gauge"
    assert left("return", {"lf": 34.5, "rf": 35.0}) == (four(34.5, 35.0), ()), "one of a pair that moves takes its mate"
    assert left("return", {"lf": 35.0, "rf": 35.0, "lr": 44.5, "rr": 44.5}) == (four(35.0, 35.0), ())
    assert left("limits", {"lf": 34.3}) == (four(34.3, 34.0), ())
    assert left("return", {"lf": 36.0, "rf": 36.0}, lf=Bound(high=34.4), rf=Bound(high=34.4)) == "cut"
    assert left("return", {"lf": 34.0, "rf": 34.0}) == "under-the-gauge"


def test_a_corner_that_is_left_alone_or_was_not_read() -> None:
    assert left("return", {"lf": 36.0, "rf": 36.0}, skip=("rf",)) == (four(36.0, None), ())
    assert left("return", {"lf": 36.0}, skip=("lf",)) == "corners-not-read"
    half = replace(BASE.now, lf=None)
    assert left("plan", {"lf": 30.0, "rf": 30.0}, now=half) == (four(30.0, 30.0), ())
    assert left("plan", {"lf": 30.0, "rf": 30.0}, now=half, lf=Bound(low=32.0)) == (four(30.0, 30.0), ())


def test_why_a_move_was_cut_short() -> None:
    s = replace(BASE, bound=dict.fromkeys(("lf", "rf", "lr", "rr"), Bound(low=33.0, high=35.0)))
    s = replace(s, likely={**BASE.likely, "rf": Likely(20.0, 48.0)})
    down = settled(s, Proposal("return", because("any"), {"lf": 32.0, "rf": 32.0}))
    assert not isinstance(down, Reason)
    assert down[1] == (
        because("held-up", corner="lf", coldest_c=12.0, warm_c=None), because("held-up", corner="rf", coldest_c=12.0, warm_c=48.0),
    )  # fmt: skip
    up = settled(s, Proposal("return", because("any"), {"lf": 36.0}))
    assert not isinstance(up, Reason)
    assert up[1] == (because("held-down", corner="lf", maximum=True),)
    ceiled = replace(s, bound={**s.bound, "lf": Bound(ceiling=35.0)})
    found = settled(ceiled, Proposal("return", because("any"), {"lf": 36.0}))
    assert not isinstance(found, Reason)
    assert found[1] == (because("held-down", corner="lf", maximum=False),)
    assert allowed(s, "lf", 31.0, "limits") == 31.0
    assert allowed(replace(s, now=Corners()), "lf", 31.0, "return") == 31.0


# --- outside the limits ---------------------------------------------------------------------------------------------------


def inside(now: float, **limit: Any) -> dict[str, float] | str:
    """What the limits ask of a left front that reads ``now``."""
    s = replace(
        BASE, now=Corners(lf=now), bound={**dict.fromkeys(("lf", "rf", "lr", "rr"), Bound()), "lf": Bound(**limit)}
    )
    found = limits(s)
    return found.name if isinstance(found, Reason) else dict(found.wanted) or found.reason.name


def test_a_corner_outside_its_limits_is_brought_inside_by_a_move_the_gauge_can_tell() -> None:
    assert inside(51.0, over=51.0) == "inside-limits"
    assert inside(51.2, over=51.0, high=51.0) == {"lf": pytest.approx(50.6)}
    assert inside(53.0, over=51.0, high=51.0) == {"lf": 51.0}
    assert inside(51.2, over=51.0, under=50.9) == {"lf": 50.9}, "not under the minimum for it"
    assert inside(26.0, under=26.0) == "inside-limits"
    assert inside(25.8, under=26.0) == {"lf": pytest.approx(26.4)}
    assert inside(24.0, under=26.0) == {"lf": 26.0}
    assert inside(25.8, under=26.0, high=26.1) == {"lf": 26.1}, "not over the maximum for it"
    assert inside(25.8, under=26.0, no_raise=because("any")) == "no-way-to-add"
    assert inside(30.0, soft_low=33.0) == "inside-limits", "a placard is no limit where a target is written"
    bare = replace(BASE, target=None, now=Corners(lf=30.0), bound={**BASE.bound, "lf": Bound(soft_low=33.0)})
    found = limits(bare)
    assert isinstance(found, Proposal)
    assert found.reason == because("outside-limits", over=(), under=("lf",))
    assert limits(replace(BASE, now=Corners())) == because("nothing-read")


def test_an_odd_corner_is_not_held_to_its_limits() -> None:
    rows = (MORNING, before(1, *HOT), after(1, 34.0, 34.0, 44.0, 60.5), logged(1))
    s = seen(*rows)
    assert s.step is not None
    assert "rr" in s.step.odd
    assert isinstance(limits(s), Reason)


def test_without_a_maximum_only_what_was_set_cold_is_known_to_be_safe() -> None:
    """36 psi set at 12 C in the morning is the ceiling; read, or set hot, it is none."""
    blank: dict[str, Any] = {"max_cold_psi": None, "wheel_max_psi": None, "placard_front_psi": None}
    bare = car(**blank).model_copy(update={"targets": {}})

    def ceiling(*rows: PressureRow | Row) -> float | None:
        return seen(*rows, of=bare).bound["lf"].ceiling

    set_cold = put(1, 36.0, 36.0, 44.0, 44.0, at="07:50", air_c=12.0)
    assert ceiling(MORNING, set_cold) == pytest.approx(36.0)
    assert ceiling(MORNING) is None
    assert ceiling(MORNING, logged(1), after(1, *HOT), put(2, *HOT, at="09:06")) is None
    later = put(1, 38.0, 38.0, 44.0, 44.0, at="07:50", air_c=22.0)
    outside = 96468.0 / 6894.757
    assert ceiling(later) == pytest.approx(38.0)
    warmer = ceiling(later, MORNING.model_copy(update={"at": "08:00"}))
    assert warmer == pytest.approx((38.0 + outside) * 285.15 / 295.15 - outside, abs=0.01)
