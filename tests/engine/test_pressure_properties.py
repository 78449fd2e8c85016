"""What must hold whatever was logged: limits, steps, the hold gate, left and right, units."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given
from hypothesis import settings as effort
from hypothesis import strategies as st

from paddock.engine.air import AirState, carry
from paddock.engine.corners import AXLES, MATE, Corners
from paddock.engine.heat.car import at_start_line, heat_curves, heat_of, predict_readings, set_now
from paddock.engine.pressure.advise import advise, answer
from paddock.engine.pressure.answer import Advice
from paddock.engine.pressure.plan import first_run_plan
from paddock.engine.pressure.say import heat_lines, next_line, plan_line
from paddock.engine.pressure.situation import Situation, situation
from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.rows import CORNERS, FittedRow, PressureRow, Row, RunRow, TreadTempRow, TyreRow, WeatherRow
from paddock.model.units import from_psi
from tests.factories import entrant, event, runs, settings

ME = "31"
NEW = {5, 9, 10, 11, 12, 13}
maybe = st.none()
psi = st.one_of(maybe, st.floats(5, 70), st.sampled_from([0.0, 2.4, 34.0, 234.0, -3.0]))
air = st.one_of(maybe, st.floats(-5, 40), st.just(77.0))
tyre = st.one_of(maybe, st.floats(0, 90), st.just(180.0))
limit = st.one_of(maybe, st.floats(20, 60))
step = st.one_of(maybe, st.integers(-3, 3))
surface = st.sampled_from([None, "dry", "dry", "dry", "drying", "damp", "wet", "standing"])
phases = ("entry", "mid", "exit", "slalom")
loose, tight = st.integers(0, 3), st.integers(-3, 0)
balance = st.one_of(*(st.fixed_dictionaries(dict.fromkeys(phases, one)) for one in (step, loose, tight, tight, loose)))


@st.composite
def readings(draw: st.DrawFn, wild: bool) -> list[Row]:
    """A morning's cold row and a few more; ``wild``: any figure anywhere."""
    found: list[Row] = []
    more = draw(st.lists(st.sampled_from(["before", "after", "set", "cold"] if wild else ["after", "set"]), max_size=4))
    base = {corner: draw(st.sampled_from([28.0, 30.0, 33.0, 38.0])) for corner in CORNERS}
    for place, moment in enumerate(["cold", *more]):
        rise = 0.0 if moment == "cold" else draw(st.sampled_from([1.0, 3.5, 6.0]))
        four = {
            f"{corner}_psi": draw(psi) if wild else base[corner] + rise + draw(st.sampled_from([0.0, 0.0, 0.4]))
            for corner in CORNERS
        }
        found.append(
            PressureRow(
                day=1, run=draw(st.integers(1, 2)) if place else None, number=ME, moment=moment, **four,
                at=f"09:{place * 7:02d}" if draw(st.booleans()) else None, tyre_c=draw(tyre) if wild else None,
                air_c=draw(air) if wild else draw(st.sampled_from([5.0, 15.0, 25.0])),
                wait_min=draw(st.one_of(maybe, st.floats(-5, 200))) if wild else None,
                sun=draw(st.sampled_from([None, "left", "right"])),
            )
        )  # fmt: skip
    return found


@st.composite
def cars(draw: st.DrawFn, wild: bool) -> Car:
    names = ("front_min_psi", "rear_min_psi", "placard_front_psi", "placard_rear_psi", "wheel_max_psi", "max_cold_psi")
    low, high = st.sampled_from([None, 18.0, 24.0, 26.0]), st.sampled_from([None, 44.0, 48.0, 60.0])
    limits = {name: draw(limit if wild else low if "min" in name or "placard" in name else high) for name in names}
    targets = {name: {"front_psi": draw(limit), "rear_psi": draw(limit)} for name in ("dry", "damp", "wet")}
    advice = draw(st.sampled_from([{}, {"max_step_psi": 9.0}, {"step_psi": 2.0}, {"standing_psi": 2.0}]))
    return Car.model_validate({"name": "hatch", "targets": targets, "limits": limits, "advice": advice})


@st.composite
def scrubbed(draw: st.DrawFn, run: int, ripe: tuple[str, str, float, int] | None) -> list[Row]:
    """Marks and middles of a run; ``ripe``: one axle plainly on one side of its best."""
    found: list[Row] = []
    for axle, pair in AXLES.items():
        mark, over = draw(st.sampled_from([None, "short", "on", "past"])), draw(st.sampled_from([0.0, 6.0, -6.0]))
        if ripe is not None:
            mark, over = (ripe[1], ripe[2]) if ripe[0] == axle else (draw(st.sampled_from([None, "on"])), 0.0)
        for corner in pair:
            cells: dict[str, Any] = {
                "corner": corner,
                "mark": mark,
                "inner_c": 40.0,
                "middle_c": 40.0 + over,
                "outer_c": 40.0,
            }
            found.append(TreadTempRow(day=1, run=run, number=ME, **cells))
    return found


@st.composite
def logs(draw: st.DrawFn) -> list[Row]:
    found: list[Row] = []
    runs_logged = draw(st.integers(0, 2))
    sides = [
        ("front", "past", -6.0, -2),
        ("front", "short", 6.0, -2),
        ("rear", "past", -6.0, 2),
        ("rear", "short", 6.0, 2),
    ]
    ripe = draw(st.one_of(maybe, st.sampled_from(sides)))
    for run in range(1, runs_logged + 1):
        felt = (
            draw(balance)
            if ripe is None
            else {"entry": ripe[3], "mid": ripe[3], "exit": draw(st.sampled_from([0, None]))}
        )
        word = draw(surface) if ripe is None else draw(st.sampled_from([None, "dry", "dry", "drying"]))
        mistake = draw(st.sampled_from([None, False, False, True]))
        found.append(RunRow(day=1, run=run, number=ME, mistake=mistake, surface=word, **felt))
        found += draw(scrubbed(run, ripe))
    return found


@st.composite
def events(draw: st.DrawFn) -> Event:
    wild = draw(st.sampled_from([True, False, False, False]))
    tyres: list[Row] = []
    for corner in CORNERS:
        most = draw(limit if wild else st.sampled_from([None, 44.0, 51.0]))
        tyres.append(TyreRow(tyre=corner, max_cold_psi=most))
        tyres.append(FittedRow(day=1, run=1, number=ME, corner=corner, tyre=corner))  # type: ignore[arg-type]
    station = draw(st.sampled_from([None, 960.0]))
    weather = [WeatherRow(day=1, air_c=draw(air) if wild else None, surface=draw(surface), station_hpa=station)]
    hottest, coldest = st.one_of(maybe, st.floats(15, 45)), st.one_of(maybe, st.floats(0, 20))
    forecast = {"hottest_c": draw(hottest), "coldest_c": draw(coldest)}
    found = settings(forecast=forecast, altitude_m=draw(st.sampled_from([None, 0.0, 1600.0])))
    rows = [*draw(readings(wild)), *draw(logs()), *tyres, *weather]
    times = runs(ME, 1, *draw(st.sampled_from([(), ("47.0",), ("47.0", "47.4"), ("47.0", "47.4", "48.0")])))
    whole = event([entrant(ME), entrant("5")], times, found, *rows)
    return dataclasses.replace(whole, cars={"hatch": draw(cars(wild))})


hard = effort(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def asked(found: Event) -> tuple[Situation, Advice]:
    s = situation(found, ME)
    return s, answer(s)


def cold_max(found: Event, corner: str) -> float | None:
    limits = found.cars["hatch"].limits
    tyres = [row.max_cold_psi for row in found.of(TyreRow) if row.tyre == corner]
    known = [value for value in (limits.max_cold_psi, *tyres) if value is not None]
    if not known:
        return None
    return min([*known, limits.wheel_max_psi] if limits.wheel_max_psi is not None else known)


def floor(found: Event, corner: str) -> float | None:
    limits, axle = found.cars["hatch"].limits, "front" if corner in AXLES["front"] else "rear"
    own = getattr(limits, f"{axle}_min_psi")
    return own if own is not None else getattr(limits, f"placard_{axle}_psi")


def parked(s: Situation, corner: str, psi: float, air_c: float) -> float | None:
    """Plain gas law, worked here on its own."""
    assert s.step is not None
    temp_c = s.step.corners[corner].temp_c
    outside = s.step.reading.ambient_pa / 6894.757293168361
    return None if temp_c is None else (psi + outside) * (air_c + 273.15) / (temp_c + 273.15) - outside


@hard
@given(events())
def test_no_suggestion_is_over_the_cold_maximum(found: Event) -> None:
    s, advice = asked(found)
    for corner, to in advice.set.items():
        now, limit = advice.now[corner], cold_max(found, corner)
        if advice.action != "set" or to is None or now is None or to == now:
            continue
        assert limit is not None or to < now
        if limit is not None and to > now:
            forecast, warmest = found.settings.forecast.hottest_c, 20.0
            hottest = max(warmest, forecast if forecast is not None else warmest)
            there = parked(s, corner, to, hottest)
            assert (to if there is None else there) <= limit + 1e-6


@hard
@given(events())
def test_no_new_setting_is_under_the_minimum_or_blind(found: Event) -> None:
    s, advice = asked(found)
    for corner, to in advice.set.items():
        now, least = advice.now[corner], floor(found, corner)
        if advice.action != "set" or to is None or now is None or to >= now:
            continue
        hot_unknown = s.step is not None and not s.step.reading.cold and s.step.corners[corner].temp_c is None
        if advice.rule in NEW:
            assert least is not None
            assert not hot_unknown
        if least is not None and advice.rule != 2:
            assert to >= least - 1e-6
            coldest = found.settings.forecast.coldest_c
            there = None if coldest is None else parked(s, corner, to, coldest)
            assert there is None or there >= least - 1e-6


@hard
@given(events())
def test_limits_are_met_after_rule_two(found: Event) -> None:
    s, advice = asked(found)
    if advice.rule != 2 or advice.action != "set":
        return
    for corner, to in advice.set.items():
        bound = s.bound[corner]
        assert to is None or bound.high is None or to <= bound.high + 1e-9
        assert to is None or bound.low is None or to >= bound.low - 1e-9


@hard
@given(events())
def test_new_settings_pass_the_gate_and_are_small(found: Event) -> None:
    s, advice = asked(found)
    if advice.rule not in NEW or advice.action != "set":
        return
    log = [row for row in found.of(RunRow) if row.number == ME]
    assert not log[-1].mistake
    assert s.surface.word != "drying"
    marks = sum(1 for item in s.axles.values() if item.mark)
    middles = sum(1 for item in s.axles.values() if item.middle in {"hot", "cool"})
    assert marks + middles + sum(1 for value in s.balance.values() if abs(value) >= 2) >= 2
    moves = {
        corner: to - now
        for corner, to in advice.set.items()
        if to is not None and (now := advice.now[corner]) is not None
    }
    moved = [value for value in moves.values() if value]
    assert moved
    assert all(0.6 - 1e-9 <= abs(value) <= 2.0 + 1e-9 for value in moved)
    assert len({round(value, 9) for value in moved}) == 1


@hard
@given(events())
def test_hold_and_stop_change_nothing(found: Event) -> None:
    _, advice = asked(found)
    if advice.action == "set":
        assert advice.set != advice.now
    else:
        assert advice.set == advice.now
    assert advice.action != "stop" or advice.rule in {1, 2}
    assert [item.rule for item in advice.passed_over] == sorted(item.rule for item in advice.passed_over)
    assert {item.rule for item in advice.passed_over}.isdisjoint({advice.rule})
    assert all(item.rule < advice.rule for item in advice.passed_over)
    assert len(advice.passed_over) == advice.rule - 1
    assert len(set(advice.cautions)) == len(advice.cautions)


def _other_side(row: Row) -> Row:
    if isinstance(row, PressureRow):
        four = {f"{corner}_psi": getattr(row, f"{MATE[corner]}_psi") for corner in CORNERS}
        return row.model_copy(update=four | {"sun": {"left": "right", "right": "left"}.get(row.sun or "")})
    if isinstance(row, TreadTempRow | FittedRow):
        return row.model_copy(update={"corner": MATE[row.corner]})
    return row


def mirrored(found: Event) -> Event:
    tables = {name: tuple(_other_side(row) for row in rows) for name, rows in found.tables.items()}
    return dataclasses.replace(found, tables=tables)


@hard
@given(events())
def test_mirrored_inputs_give_mirrored_answers(found: Event) -> None:
    _, one = asked(found)
    _, two = asked(mirrored(found))
    assert (one.action, one.rule, one.confidence) == (two.action, two.rule, two.confidence)
    for which in ("now", "set"):
        here: Corners = getattr(one, which)
        there: Corners = getattr(two, which).mirrored()
        for corner in CORNERS:
            assert here[corner] == (None if there[corner] is None else pytest.approx(there[corner], abs=1e-6))


@given(events(), st.sampled_from(["psi", "kpa", "bar"]))
@effort(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_units_are_interchangeable_in_the_json(found: Event, unit: str) -> None:
    advice = advise(found, ME)
    plain, other = advice.as_json(), advice.as_json(unit)
    for which in ("now", "set"):
        for corner in CORNERS:
            value = plain[which][corner]
            assert other[which][corner] == (None if value is None else pytest.approx(from_psi(value, unit)))
    assert {k: v for k, v in plain.items() if k not in {"now", "set"}} == {
        k: v for k, v in other.items() if k not in {"now", "set"}
    }


@hard
@given(events(), st.floats(0.5, 10))
def test_a_higher_maximum_never_lowers_the_answer(found: Event, more: float) -> None:
    car = found.cars["hatch"]
    assume(car.limits.max_cold_psi is not None)
    limits = car.limits.model_copy(update={"max_cold_psi": (car.limits.max_cold_psi or 0.0) + more})
    higher = dataclasses.replace(found, cars={"hatch": car.model_copy(update={"limits": limits})})
    one, two = advise(found, ME), advise(higher, ME)
    if one.rule == two.rule == 2:
        for corner, psi in one.set.known().items():
            assert (two.set[corner] or 0.0) >= psi - 1e-9


def strict(found: dict[str, Any]) -> None:
    assert set(found) == {"action", "now", "set", "rule", "reason", "signs", "passed_over", "cautions", "confidence"}
    assert set(found["now"]) == set(found["set"]) == set(CORNERS)


@given(events())
@effort(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_the_json_has_the_keys_of_the_contract(found: Event) -> None:
    strict(advise(found, ME).as_json())


@hard
@given(events(), st.floats(-20, 60))
def test_nothing_logged_can_make_it_fall_over(found: Event, wait: float) -> None:
    heat = heat_of(found, ME)
    assert len(heat_lines(heat)) == 2
    assert "\n" not in next_line(advise(found, ME), "kpa")
    plan = first_run_plan(found, ME)
    assert isinstance(plan, str) or plan_line(plan)
    foretold = predict_readings(found, ME, wait)
    wanted, _ = set_now(found, ME, Corners(34.0, 34.0, 40.0, 40.0), wait, "spray")
    figures = [*foretold.psi.known().values(), *wanted.known().values(), *at_start_line(found, ME).known().values()]
    assert all(math.isfinite(value) for value in figures)
    assert set(heat_curves(found, ME)) <= {"front", "rear"}


@hard
@given(events())
def test_the_cold_plan_never_passes_the_cold_maximum(found: Event) -> None:
    plan = first_run_plan(found, ME)
    if isinstance(plan, str):
        return
    forecast = found.settings.forecast.hottest_c
    hottest = max(20.0, 20.0 if forecast is None else forecast)
    for item in (plan.front, plan.rear):
        limits = [cold_max(found, corner) for corner in AXLES[item.axle]]
        if item.cold_psi is not None and None not in limits:
            there = carry(item.cold_psi, AirState(plan.air_c, plan.ambient_pa), AirState(hottest, plan.ambient_pa))
            assert there <= min(value for value in limits if value is not None) + 1e-6
