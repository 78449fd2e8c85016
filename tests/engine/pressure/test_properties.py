"""What must hold whatever was logged: limits, steps, the hold gate, left and right, units."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given
from hypothesis import settings as effort
from hypothesis import strategies as st

from paddock.engine.pressure.air import AirState, carry
from paddock.engine.pressure.answer import Moment
from paddock.engine.pressure.corners import AXLES, MATE, Corners
from paddock.engine.pressure.heat import at_start_line, heat_curves
from paddock.engine.pressure.moment import what_if
from paddock.engine.pressure.outside import Asked
from paddock.engine.pressure.rules import RULES
from paddock.engine.pressure.situation import Situation
from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.rows import CORNERS, FittedRow, PressureRow, Row, RunRow, TreadTempRow, TyreRow, WeatherRow
from paddock.model.units import from_psi
from paddock.pages.pressure import as_json, headline, heat_lines, later_words, next_line, plan_line
from tests.engine.pressure.situations import now
from tests.engine.said import cautions, reason
from tests.examples import share
from tests.factories import entrant, event, runs, settings

ME = "26"
NEW = {"first-run", "front-past", "front-short", "front-right", "rear-past", "rear-short"}
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
    return Car.model_validate({"name": "estate", "targets": targets, "limits": limits, "advice": advice})


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
    return dataclasses.replace(whole, cars={"estate": draw(cars(wild))})


hard = effort(max_examples=share(1.5), deadline=None, suppress_health_check=[HealthCheck.too_slow])
Promise = Callable[[Event, Situation, Moment], None]
PROMISES: list[Promise] = []


def promise(kept: Promise) -> Promise:
    """What holds of the answer for any event: all of them are asked of one answer, which is what costs the time."""
    PROMISES.append(kept)
    return kept


def asked(found: Event) -> tuple[Situation, Moment]:
    moment = now(found)
    return moment.known, moment


def cold_max(found: Event, corner: str) -> float | None:
    limits = found.cars["estate"].limits
    tyres = [row.max_cold_psi for row in found.of(TyreRow) if row.tyre == corner]
    known = [value for value in (limits.max_cold_psi, *tyres) if value is not None]
    if not known:
        return None
    return min([*known, limits.wheel_max_psi] if limits.wheel_max_psi is not None else known)


def floor(found: Event, corner: str) -> float | None:
    axle = "front" if corner in AXLES["front"] else "rear"
    own: float | None = getattr(found.cars["estate"].limits, f"{axle}_min_psi")
    return own


def temps(s: Situation, moment: Moment, corner: str) -> tuple[float, float]:
    """The coolest and the warmest the tyre likely is when it is set, worked here on its own: known, or the air to 30 K
    over it; tomorrow's plan is set on a cold one."""
    if s.step is None or s.rested or moment.name == "day-done":
        return s.outside.air_c, s.outside.air_c
    known = s.step.corners[corner].temp_c
    if known is not None:
        return known, known
    reading = s.step.reading
    air_c = reading.air_c if reading.air_c is not None else s.outside.air_c
    rises = sorted(
        step.corners[name].temp_c - step.reading.air_c
        for step in s.heat.track.steps
        for name in (corner, MATE[corner])
        if step.reading.moment == "after" and step.reading.air_c is not None and step.corners[name].temp_c is not None
    )
    return air_c, air_c + (min(rises) if rises else 30.0) * math.exp(-(reading.since_min or 0.0) / 20.0)


def parked(s: Situation, moment: Moment, psi: float, temp_c: float, air_c: float) -> float:
    """Plain gas law, worked here on its own."""
    warm = s.step is not None and not s.rested and moment.name != "day-done"
    outside = (s.step.reading.ambient_pa if warm and s.step else s.outside.ambient_pa) / 6894.757293168361
    return (psi + outside) * (air_c + 273.15) / (temp_c + 273.15) - outside


@promise
def no_move_is_over_the_cold_maximum_at_any_likely_temperature(found: Event, s: Situation, moment: Moment) -> None:
    for corner, to in moment.moves.items():
        limit, before = cold_max(found, corner), moment.now[corner] if moment.now else None
        if limit is None or (before is not None and to < before and moment.rule != "cold-plan"):
            continue
        forecast = found.settings.forecast.hottest_c
        hottest = max(20.0, 20.0 if forecast is None else forecast)
        assert parked(s, moment, to, temps(s, moment, corner)[0], hottest) <= limit + 1e-6


@promise
def no_move_parks_under_the_written_minimum_at_any_likely_temperature(
    found: Event, s: Situation, moment: Moment
) -> None:
    for corner, to in moment.moves.items():
        least, before = floor(found, corner), moment.now[corner] if moment.now else None
        if moment.rule in NEW and before is not None and to < before and moment.rule != "first-run":
            assert least is not None or getattr(
                found.cars["estate"].limits, f"placard_{'front' if corner in AXLES['front'] else 'rear'}_psi"
            )
        if least is None or (before is not None and to > before) or moment.rule == "limits":
            continue
        coldest = found.settings.forecast.coldest_c
        if cold_max(found, corner) is None or (cold_max(found, corner) or 0.0) > least + 20.0:
            assert to >= least - 1e-6
            if coldest is not None:
                assert parked(s, moment, to, temps(s, moment, corner)[1], min(coldest, s.outside.air_c)) >= least - 1e-6


@promise
def limits_are_met_after_the_rule_of_limits(found: Event, s: Situation, moment: Moment) -> None:
    if moment.rule != "limits":
        return
    for corner, to in moment.moves.items():
        bound = s.bound[corner]
        assert bound.over is None or to <= bound.over + 1e-9
        assert (
            bound.under is None or to >= min(bound.under, bound.under if bound.high is None else bound.high) - 1e-9
        )  # where the two contradict, the maximum holds


@promise
def new_settings_pass_the_gate_and_are_small(found: Event, s: Situation, moment: Moment) -> None:
    if moment.rule not in NEW or not moment.moves or s.rested or moment.name == "set":
        return
    log = [row for row in found.of(RunRow) if row.number == ME]
    assert not log[-1].mistake
    assert s.surface.word != "drying"
    marks = sum(1 for item in s.axles.values() if item.mark)
    middles = sum(1 for item in s.axles.values() if item.middle in {"hot", "cool"})
    assert marks + middles + sum(1 for value in s.balance.values() if abs(value) >= 2) >= 2
    assert moment.now is not None
    moved = [to - (moment.now[corner] or 0.0) for corner, to in moment.moves.items()]
    assert all(0.6 - 1e-9 <= abs(value) <= 2.0 + 1e-9 for value in moved)
    assert len({round(value, 9) for value in moved}) == 1


@promise
def an_action_has_its_figures(found: Event, s: Situation, moment: Moment) -> None:
    assert (moment.set is None) == (moment.action in {"stop", "read", "none"})
    assert moment.action not in {"hold", "stop", "read", "none"} or not moment.moves
    assert moment.action != "set" or moment.moves
    names = [rule.name for rule in RULES]
    tried = [item.name for item in moment.passed_over]
    assert tried == names[: len(tried)]
    assert moment.rule not in tried or moment.name in {"set", "read", "gauge-first", "before", "day-done"}
    assert len(set(cautions(moment))) == len(cautions(moment))
    assert moment.offer.advised == bool(moment.offer.kind == "set" and moment.moves)
    assert moment.offer.kind != "set" or moment.offer.psi == moment.moves


@promise
def a_cold_reading_never_meets_a_hot_target(found: Event, s: Situation, moment: Moment) -> None:
    if moment.name not in {"before", "cold-read"} or not s.rested:
        return
    assert moment.aim_is in {"", "cold plan"}
    for corner, to in moment.moves.items():
        hot = s.wanted(corner)
        held = s.plan.of("front" if corner in AXLES["front"] else "rear").capped
        assert hot is None or held or to < hot + s.more_psi + 1e-9


UNSAID_PSI = 0.05
"""What the limits cut off by no more is not told."""


@promise
def a_return_leaves_left_and_right_alike(found: Event, s: Situation, moment: Moment) -> None:
    if moment.rule not in {"heat-drift", "damp", "fading", "standing-water"} or moment.set is None:
        return
    for pair in AXLES.values():
        left, right = (moment.set[corner] for corner in pair)
        alike = s.likely[pair[0]] == s.likely[pair[1]] and s.way[pair[0]].end_c == s.way[pair[1]].end_c
        same_limits = s.bound[pair[0]] == s.bound[pair[1]]
        if left is not None and right is not None and alike and same_limits and any(c in moment.moves for c in pair):
            before = [moment.now[corner] or 0.0 for corner in pair] if moment.now else []
            aims = [s.aim(corner) or 0.0 for corner in pair]
            sides = {value > aim for value, aim in zip(before, aims, strict=True)}
            # one stands a hair over the target, the limit a hair over that: less than UNSAID_PSI apart is no difference
            assert abs(left - right) <= UNSAID_PSI or len(sides) == 2 or "cut short" in reason(moment)


def test_a_limit_a_hair_over_the_target_leaves_the_sides_a_hair_apart() -> None:
    """Left 34.02, right 35, target 34, the minimum 34.03 at the warmest these tyres may be: the left stays, the right goes
    to 34.03. Seen once in a crowded run as left and right not alike."""
    rows = (
        PressureRow(
            day=1, run=1, number=ME, moment="after", at="09:03", air_c=15.0,
            lf_psi=34.02, rf_psi=35.0, lr_psi=38.0, rr_psi=38.0,
        ),
        RunRow(day=1, run=1, number=ME, mistake=False, surface="dry", at="09:00", entry=0, mid=0, exit=0),
    )  # fmt: skip
    outside = 101_325.0 / 6894.757293168361
    least = (34.03 + outside) * 283.15 / (273.15 + 15.0 + 30.0 * math.exp(-2.217 / 20.0)) - outside
    limits = {"front_min_psi": least, "rear_min_psi": 20.0, "max_cold_psi": 51.0}
    targets = {"dry": {"front_psi": 34.0, "rear_psi": 38.0}}
    found = event([entrant(ME)], runs(ME, 1, "47.0"), settings(forecast={"coldest_c": 10.0}, altitude_m=0.0), *rows)
    car = Car.model_validate({"name": "estate", "targets": targets, "limits": limits})
    s, moment = asked(dataclasses.replace(found, cars={"estate": car}))
    assert moment.set is not None
    assert (moment.set["lf"], moment.set["rf"]) == (34.02, pytest.approx(34.03, abs=0.004))
    a_return_leaves_left_and_right_alike(found, s, moment)


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


@promise
def mirrored_inputs_give_mirrored_answers(found: Event, s: Situation, moment: Moment) -> None:
    one = moment
    _, two = asked(mirrored(found))
    assert (one.name, one.action, one.rule, one.confidence) == (two.name, two.action, two.rule, two.confidence)
    for which in ("now", "set"):
        here: Corners = getattr(one, which) or Corners()
        there: Corners = (getattr(two, which) or Corners()).mirrored()
        for corner in CORNERS:
            assert here[corner] == (None if there[corner] is None else pytest.approx(there[corner], abs=1e-6))


@promise
def units_are_interchangeable_in_the_json(found: Event, s: Situation, moment: Moment) -> None:
    for unit in ("psi", "kpa", "bar"):
        alike_in(unit, moment)


def alike_in(unit: str, moment: Moment) -> None:
    plain, other = as_json(moment), as_json(moment, unit)
    for which in ("now", "set"):
        assert (plain[which] is None) == (other[which] is None)
        for corner, value in (plain[which] or {}).items():
            assert other[which][corner] == (None if value is None else pytest.approx(from_psi(value, unit)))
    told = {"now", "set", "unit", "reason", "signs", "passed_over", "cautions"}
    assert {k: v for k, v in plain.items() if k not in told} == {k: v for k, v in other.items() if k not in told}
    if unit != "psi":
        assert " psi" not in (other["reason"] or "")


@hard
@given(events(), st.floats(0.5, 10))
def test_a_higher_maximum_never_lowers_the_limits_answer(found: Event, more: float) -> None:
    car = found.cars["estate"]
    assume(car.limits.max_cold_psi is not None)
    limits = car.limits.model_copy(update={"max_cold_psi": (car.limits.max_cold_psi or 0.0) + more})
    higher = dataclasses.replace(found, cars={"estate": car.model_copy(update={"limits": limits})})
    one, two = now(found), now(higher)
    if one.rule == two.rule == "limits":
        for corner, psi in one.moves.items():
            assert two.moves.get(corner, psi) >= psi - 1e-9


KEYS = {
    "action", "moment", "fresh", "as_of", "unit", "now", "set", "rule", "reason", "signs", "passed_over", "cautions",
    "confidence",
}  # fmt: skip


def strict(found: dict[str, Any]) -> None:
    assert set(found) - {"format", "faults_left_out", "rows_later"} == KEYS
    assert all(found[which] is None or set(found[which]) == set(CORNERS) for which in ("now", "set"))


@promise
def the_json_has_the_keys_of_the_contract(found: Event, s: Situation, moment: Moment) -> None:
    strict(as_json(moment))


@hard
@given(events(), st.floats(-20, 60))
def test_nothing_logged_can_make_it_fall_over(found: Event, wait: float) -> None:
    moment = now(found)
    assert len(heat_lines(moment.known.heat)) == 2
    assert "\n" not in next_line(moment, "kpa")
    assert plan_line(moment.known.plan)
    assert all(headline(moment, "bar"))
    later_words(moment, "psi")
    asked_for = what_if(
        found, ME, moment.known.clock, Asked(wait_min=wait, front_psi=34.0, rear_psi=40.0, cooling="spray")
    )
    figures = [
        *moment.expected.known().values(), *moment.moves.values(), *at_start_line(found, ME).known().values(),
        *(item.set_psi for item in asked_for.corners if item.set_psi is not None),
    ]  # fmt: skip
    assert all(math.isfinite(value) for value in figures)
    assert set(heat_curves(found, ME)) <= {"front", "rear"}


@promise
def the_cold_plan_never_passes_the_cold_maximum(found: Event, s: Situation, moment: Moment) -> None:
    plan = s.plan
    forecast = found.settings.forecast.hottest_c
    hottest = max(20.0, 20.0 if forecast is None else forecast)
    for item in (plan.front, plan.rear):
        limits = [cold_max(found, corner) for corner in AXLES[item.axle]]
        if item.cold_psi is not None and None not in limits:
            there = carry(item.cold_psi, AirState(plan.air_c, plan.ambient_pa), AirState(hottest, plan.ambient_pa))
            assert there <= min(value for value in limits if value is not None) + 1e-6


@hard
@given(events())
def test_every_promise_is_kept(found: Event) -> None:
    s, moment = asked(found)
    for kept in PROMISES:
        kept(found, s, moment)
