"""What stands in an answer beside the setting: the run that is due, how sure it is, the reasons and the cautions. By hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest

from paddock.engine.clock import as_of
from paddock.engine.pressure.answer import Moment
from paddock.engine.pressure.corners import Corners, Reason, because
from paddock.engine.pressure.decide import Decided
from paddock.engine.pressure.moment import moment_of, run_due, what_if
from paddock.engine.pressure.outside import Asked
from paddock.engine.pressure.whose import at_home, for_others, for_the_road
from paddock.model.car import Target
from paddock.model.event import Event
from paddock.model.rows import FittedRow, Row, TimeRow, TyreRow, WeatherRow
from tests.engine.pressure.days import COLD, MATE, SET, Day, gauge, run, whole
from tests.engine.pressure.situations import HOT, ME, MORNING, after, car, clock, cold, logged, now, put, rubber
from tests.engine.pressure.test_parts import seen
from tests.engine.pressure.test_rules import told


def day_at(at: str, *rows: Row, who: str = ME, **more: Any) -> Moment:
    told_day = whole(Day("a day", rows, (), **more))
    moment = datetime.fromisoformat(f"2026-05-09T{at}")
    return moment_of(told_day, who, as_of(told_day, moment, moment))


# --- which run is due ---------------------------------------------------------------------------------------------------


def due(*rows: Row, **more: Any) -> int | None:
    return run_due(day_at("18:00", *rows, **more).known)


def test_the_run_that_is_to_be_typed_next() -> None:
    """After the last one that counts; one driven again keeps its number; after the last there is none."""
    again = run(2, "09:40", status="rerun", try_="1")
    assert due() == 1
    assert due(*run(1, "09:00")) == 2
    assert due(*run(1, "09:00"), *again) == 2
    assert due(*run(1, "09:00"), *again, *run(2, "10:00")) == 3
    assert due(*run(1, "09:00"), *run(2, "09:40"), *run(3, "10:10")) is None
    assert due(*run(3, "09:00", status="rerun", try_="1")) == 3
    assert due(*run(1, "09:00"), *run(1, "09:20", who=MATE), *run(2, "09:50", who=MATE), numbers=(ME, MATE)) == 2
    assert due(*run(1, "09:00"), per_day=1, days=2) is None
    second_day = (*run(1, "09:00"), *run(1, "09:00", day=2))
    there = whole(Day("two", second_day, (), days=2))
    assert run_due(now(there, at="2026-05-10T12:00").known) == 2
    mine_done = (*run(1, "09:00"), *run(1, "09:20", who=MATE))
    assert due(*mine_done, *run(2, "09:50"), *run(3, "10:20"), numbers=(ME, MATE)) is None


def offer(at: str, *rows: Row, **more: Any) -> tuple[str, int | None, bool, str]:
    found = day_at(at, *rows, **more).offer
    return found.kind, found.run, found.run_due, found.how


def test_what_is_gauged_next() -> None:
    ran = (COLD, SET, *run(1, "09:00"))
    hot = gauge("after", "09:02", 34.2, 34.2, 44.2, 44.2, run=1, air_c=16.0)
    assert offer("09:05", *ran, hot, *run(1, "09:20", who=MATE), numbers=(ME, MATE)) == ("after", 1, False, "expected")
    assert offer("09:30", *ran, hot, per_day=1, days=2) == ("after", 1, False, "")
    assert offer("09:45", *ran, hot, per_day=1, days=2) == ("after", 1, False, "")
    assert offer("09:46", *ran, hot, per_day=1, days=2) == ("cold", None, False, "the cold plan")
    assert offer("12:00", *ran, hot, per_day=1) == ("after", 1, False, "")
    eve = gauge("cold", "00:00:00", 30.0, 30.0, 39.0, 39.0, air_c=10.0)
    assert offer("00:00", eve)[:3] == ("set", None, False)
    right = gauge("cold", "00:00:00", 30.9, 30.9, 40.2, 40.2, air_c=10.0)
    eve_answer = day_at("00:01", right)
    assert (eve_answer.offer.kind, eve_answer.offer.run, eve_answer.offer.how) == ("cold", None, "read again")
    assert eve_answer.now is not None
    assert dict(eve_answer.offer.psi) == eve_answer.now.known()
    unsafe = run(1, "09:00", unsafe="vibration")
    assert offer("09:05", COLD, *unsafe, hot) == ("after", 1, False, "read again")
    assert offer("09:05", COLD, *unsafe) == ("cold", None, False, "read again")


def test_what_was_read_last_asks_for_nothing_once_the_day_is_done() -> None:
    ran = (COLD, SET, *run(1, "09:00"))
    hot = gauge("after", "09:02", 34.2, 34.2, 44.2, 44.2, run=1, air_c=16.0)
    done = day_at("09:05", *ran, hot, per_day=1)
    assert done.read_last is not None
    assert done.read_last.row is hot
    assert day_at("09:05", *ran, per_day=1).read_last is None, "read before the run"
    assert day_at("09:05", *ran, hot).read_last is None
    tomorrow = day_at("09:05", *ran, hot, per_day=1, days=2)
    assert (tomorrow.name, tomorrow.moves_now, bool(tomorrow.moves)) == ("day-done", {}, True)
    assert tomorrow.read_last is not None
    assert tomorrow.as_of == "2026-05-09T09:05"


# --- reasons ------------------------------------------------------------------------------------------------------------


def test_a_tyre_fitted_since_is_told_with_what_else_is_set() -> None:
    fitted = (TyreRow(tyre="a"), TyreRow(tyre="b"), FittedRow(day=1, run=1, number=ME, corner="rr", tyre="a"),
              FittedRow(day=1, run=2, number=ME, corner="rr", tyre="b"))  # fmt: skip
    plan = now(told(MORNING, after(1, *HOT), logged(1), *fitted)).known.plan.cold_of("rr")
    hold = now(told(MORNING, after(1, *HOT), logged(1), *fitted))
    assert (hold.action, hold.rule, hold.reason) == (
        "set",
        "cold-plan",
        because("another-tyre", corners=("rr",), first=None),
    )
    assert hold.moves == {"rr": plan}
    moved = now(told(MORNING, after(1, 36.5, 36.5, 44.0, 44.0), logged(1), *fitted))
    first = because("heat-drift", turned=None, target="dry", more_psi=0.0)
    assert (moved.rule, moved.reason) == ("heat-drift", because("another-tyre", corners=("rr",), first=first))
    assert set(moved.moves) == {"lf", "rf", "rr"}


@pytest.mark.parametrize(
    ("at", "reason"), [("09:42", "remaining-step"), ("09:43", "remaining-step"), ("09:44", "damp")]
)
def test_a_surface_that_turned_after_the_setting_is_answered_anew(at: str, reason: str) -> None:
    """Set at 9:43: with rain logged up to that minute the rest of what was advised is asked for, later the new answer."""
    rows = (COLD, SET, *run(1, "09:30"), gauge("after", "09:32", 34.2, 34.2, 44.2, 44.2, run=1, air_c=14.0),
            gauge("set", "09:43", 34.0, 34.0, 44.0, 44.0, run=1, air_c=14.0),
            WeatherRow(day=1, at=at, air_c=14.0, surface="damp"))  # fmt: skip
    found = day_at("09:50", *rows)
    assert (found.name, found.action, found.rule, found.reason.name) == ("set", "set", "damp", reason)


def test_tomorrow_says_whose_air_it_takes() -> None:
    def beside(forecast: dict[str, float]) -> set[str]:
        rows = (MORNING, after(1, *HOT), logged(1))
        found = now(told(*rows, runs_per_day=1, forecast=forecast))
        assert found.name == "day-done"
        return {item.name for item in found.cautions}

    assert "todays-air" in beside({"coldest_c": 12.0, "hottest_c": 30.0})
    assert "todays-air" not in beside({"coldest_c": 12.0, "hottest_c": 30.0, "next_coldest_c": 8.0})
    assert "air-assumed" not in beside({"coldest_c": 12.0})


def test_how_old_a_reading_is_said_to_be() -> None:
    found = day_at("09:48", COLD, SET, *run(1, "09:00"), gauge("after", "09:02", *HOT, run=1, air_c=16.0))
    assert found.reason == because("stale", age_min=46.0)


def test_an_odd_corner_leaves_its_axle_and_lets_the_other_be_set() -> None:
    odd = now(told(MORNING, after(1, 36.5, 36.5, 45.9, 52.0), logged(1)))
    values = dict(odd.reason.values)
    assert (odd.name, odd.action, odd.rule, odd.confidence) == ("odd-corner", "set", "odd-corner", "low")
    assert set(odd.moves) == {"lf", "rf"}
    other = values["other"]
    assert isinstance(other, Reason)
    assert other.name == "heat-drift"
    corners = values["corners"]
    assert isinstance(corners, tuple)
    assert {corner for corner, _ in corners} == {"rr"}


# --- how sure -------------------------------------------------------------------------------------------------------------


def sure(*rows: Row, **more: Any) -> tuple[str, str]:
    found = now(told(*rows, **more))
    return found.rule, found.confidence


def test_how_sure_an_answer_is() -> None:
    """By its own measured warmth, by as many signs as agree, by what the cold plan rests on."""
    assert sure(MORNING, after(1, 36.5, 36.5, 44.0, 44.0), logged(1)) == ("heat-drift", "high")
    assert sure(after(1, 36.5, 36.5, 44.0, 44.0), logged(1)) == ("heat-drift", "fair")
    two = (MORNING, after(1, *HOT), logged(1, "-2 0 0 0"), *rubber(1, "front", "past"))
    three = (MORNING, after(1, *HOT), logged(1, "-2 -2 0 0"), *rubber(1, "front", "past"))
    assert sure(*two) == ("front-past", "low")
    assert sure(*three) == ("front-past", "fair")
    assert sure(MORNING, after(1, *HOT), logged(1, "0 0 2 0")) == ("exit-alone", "fair")
    assert sure(MORNING, times=()) == ("cold-plan", "low")
    once = (MORNING, logged(1), after(1, *HOT), cold(29.0, 29.0, 38.0, 38.0, day=2))
    assert sure(*once) == ("cold-plan", "fair")
    again = (
        *once,
        logged(1, day=2, at="09:00"),
        after(1, 33.5, 33.5, 43.0, 43.0, day=2),
        cold(28.0, 28.0, 37.0, 37.0, day=3),
    )
    twice = told(*again, days=[datetime(2026, 5, day).date() for day in (9, 10, 11)])
    twice = replace(
        twice, tables=twice.tables | {"times.csv": (*twice.times, TimeRow(day=2, run=1, number=ME, time_ms=47_000))}
    )
    found = now(twice)
    assert (found.name, found.rule, found.known.rises["front"].runs) == ("cold-read", "cold-plan", 2)
    assert found.confidence == "high"
    over = (cold(55.0, 30.0, 39.0, 39.0, air_c=20.0),)
    assert sure(*over, times=(), of=car().model_copy(update={"targets": {}})) == ("limits", "high")


def test_a_leak_makes_every_setting_unsure() -> None:
    """The left front lost a pound over the night: 29 where its mate reads 30."""
    night = (MORNING, logged(1), after(1, *HOT), cold(29.0, 30.0, 39.2, 39.2, day=2))
    found = now(told(*night))
    assert found.known.heat.track.leaks
    assert (found.action, found.rule, found.confidence) == ("plan", "cold-plan", "low")
    assert "leak" in {item.name for item in found.cautions}
    assert now(told(*night[:3], MORNING.model_copy(update={"day": 2}))).confidence == "fair"


@pytest.mark.parametrize("last", ["5", "implied"])
def test_every_rule_that_rests_on_signs_waits_for_the_drivers_own_run(last: str) -> None:
    """Another driver's run, or one that is not typed yet: which rules those are."""
    hot, mine = (33.1, 33.1, 42.9, 42.9), {"numbers": [ME, "5"]}
    of = told(MORNING, logged(1), after(1, *hot), mine=mine, times=("47",) if last == "5" else (), order=False)
    if last == "5":
        rows = (
            *of.tables["pressures.csv"],
            after(1, 33.6, 33.6, 43.5, 43.5, at="09:33").model_copy(update={"number": "5"}),
        )
        of = replace(of, tables=of.tables | {"pressures.csv": rows})
    else:
        of = told(MORNING, after(1, *hot), times=(), order=False)
    waits = {item.name for item in now(of).passed_over if item.why.name in {"not-my-run", "waits-for-the-line"}}
    assert waits == {
        "opposite-phases", "exit-alone", "front-past", "front-short", "front-right", "rear-past", "rear-short", "fading",
    }  # fmt: skip


def test_what_a_cold_plan_says_it_rests_on() -> None:
    """34 psi hot from 20 K over 12 C, 12 to 28 K: half the range of what that asks for cold."""
    found = now(told(MORNING, times=()))
    values = dict(found.reason.values)
    s = found.known
    ends = [item for axle in (s.plan.front, s.plan.rear) for item in (axle.high_psi, axle.low_psi)]
    assert None not in ends
    front, rear = ((ends[at] or 0.0) - (ends[at + 1] or 0.0) for at in (0, 2))
    assert values["within_psi"] == pytest.approx(max(front, rear) / 2)
    assert 0.5 < front / 2 < rear / 2 < 2.0
    assert (values["surface"], values["air_c"], values["assumed"], values["held"]) == ("dry", 12.0, False, None)
    held = now(told(MORNING, times=(), of=car(front_min_psi=33.0)))
    assert dict(held.reason.values)["held"] == because("plan-held-up", tyres=False, coldest_c=None)
    blind = now(told(times=(), forecast={}))
    assert {item.name for item in blind.cautions} == {"air-assumed", "maker"}
    water = now(told(MORNING, WeatherRow(day=1, at="07:00", air_c=12.0, surface="standing"), times=()))
    assert because("when-the-water-has-gone", psi=1.0) in water.cautions


# --- what if ----------------------------------------------------------------------------------------------------------------


def test_what_if_says_of_each_corner_what_is_wanted_where_it_ends_and_what_to_set() -> None:
    of = told(MORNING, after(1, 35.0, 34.0, 44.0, 44.0), logged(1))
    found = what_if(of, ME, clock(of), Asked(front_psi=33.0, rear_psi=45.0, wait_min=15.0))
    s = found.moment.known
    for item, psi, wanted in zip(found.corners, (35.0, 34.0, 44.0, 44.0), (33.0, 33.0, 45.0, 45.0), strict=True):
        way = s.way[item.corner]
        outside = way.outside_psi
        share = (way.end_c + 273.15) / (way.now_c + 273.15)
        assert item.wanted_psi == wanted
        assert item.end_psi == pytest.approx((psi + outside) * share - outside)
        assert item.set_psi == pytest.approx((wanted + outside) / share - outside)
        assert item.held == ""
    plain = what_if(of, ME, clock(of), Asked())
    assert [item.wanted_psi for item in plain.corners] == [34.0, 34.0, 44.0, 44.0]
    bent = told(MORNING, after(1, 36.5, 36.5, 44.0, 44.0), logged(1),
                gauges=[{"id": "dial", "step_psi": 0.5, "repeat_psi": 0.3, "offset_psi": 0.4}])  # fmt: skip
    moment = now(bent)
    assert moment.moves["lf"] == pytest.approx(34.4, abs=0.02), "34 true"
    assert {item.corner: item.set_psi for item in what_if(bent, ME, clock(bent), Asked()).corners} == (
        moment.set.as_dict() if moment.set else {}
    )
    rested = told(MORNING, times=())
    cold_one = what_if(rested, ME, clock(rested), Asked(front_psi=36.0))
    plan = cold_one.moment.known.plan
    assert [item.wanted_psi for item in cold_one.corners] == [36.0, 36.0, 44.0, 44.0]
    assert [item.set_psi for item in cold_one.corners] == [plan.front.cold_psi] * 2 + [plan.rear.cold_psi] * 2
    away = what_if(rested, ME, clock(rested), Asked(altitude_m=0.0, air_c=12.0))
    assert (away.corners, away.cold) == ((), away.moment.known.plan)
    assert away.parked["lf"] == pytest.approx(30.0 + 96_472.48 / 6894.757 - 101_325.0 / 6894.757, abs=0.001)
    assert what_if(told(times=()), ME, clock(told(times=())), Asked()).corners == ()


def test_an_old_or_an_unsafe_reading_gives_no_setting_whatever_is_asked() -> None:
    old = told(MORNING, after(1, *HOT), logged(1))
    late = what_if(old, ME, clock(old, "2026-05-09T10:30"), Asked(front_psi=33.0))
    assert [item.set_psi for item in late.corners] == [None] * 4
    stop = told(MORNING, after(1, *HOT), logged(1, unsafe="smoke"))
    assert [item.set_psi for item in what_if(stop, ME, clock(stop), Asked(front_psi=33.0)).corners] == [None] * 4


def remaining(*to: float, **more: Any) -> dict[str, float]:
    """What is left to set of 34 and 44 psi where the four were put to these."""
    of: Event = told(MORNING, after(1, 36.5, 36.5, 46.0, 46.0), logged(1), put(2, *to, at="09:04"), **more)
    return now(of).moves


def test_what_is_left_of_a_setting_that_was_made_in_part() -> None:
    """By axle, where a corner is off by more than the noise of 0.6 and half a step of 0.5."""
    assert remaining(34.0, 34.0, 44.0, 44.0) == {}
    assert remaining(34.8, 34.0, 44.0, 44.0) == {}
    assert set(remaining(35.0, 34.0, 44.0, 44.0)) == {"lf"}
    assert set(remaining(35.0, 34.4, 44.0, 44.0)) == {"lf", "rf"}
    assert set(remaining(34.4, 34.0, 44.0, 43.0)) >= {"rr"}
    assert not {"lf", "rf"} & set(remaining(34.4, 34.0, 44.0, 43.0))
    left = remaining(35.0, 34.0, 45.0, 45.0)
    assert [left[corner] for corner in ("lf", "lr", "rr")] == pytest.approx([34.0, 44.0, 44.0], abs=0.01)


# --- whose answer it is -----------------------------------------------------------------------------------------------------

PLAIN = because("any")


@pytest.mark.parametrize("action", ["plan", "none", "hold", "set", "read", "stop"])
def test_the_evening_before_it_says_in_which_air_the_figures_are(action: str) -> None:
    """21 C in the garage, 12 C expected: the plan of each axle beside what is set there, as the gauge reads."""
    bent = [{"id": "dial", "step_psi": 0.5, "repeat_psi": 0.3, "offset_psi": 0.4}]
    made = Decided(action, "any", PLAIN)  # type: ignore[arg-type]
    tells = action in {"plan", "none", "hold"}
    garage = seen(cold(30, 30, 39, 39, air_c=21.0, at="00:00:01"), times=(), gauges=bent)
    plan = tuple((axle, (garage.plan.of(axle).cold_psi or 0.0) + 0.4) for axle in ("front", "rear"))
    there = because("at-home", first=PLAIN, here_c=21.0, air_c=12.0, plan=plan)
    assert at_home(garage, made) == (replace(made, reason=there) if tells else made)
    no_rear = car().model_copy(update={"targets": {"dry": Target(front_psi=34.0)}})
    half = at_home(seen(cold(30, 30, 39, 39, air_c=21.0, at="00:00:01"), times=(), of=no_rear), made)
    assert not tells or [axle for axle, _ in dict(half.reason.values)["plan"]] == ["front"]  # type: ignore[attr-defined]
    blind = seen(cold(30, 30, 39, 39, at="00:00:01").model_copy(update={"air_c": None}), times=())
    unknown = because("eve-air-unknown", first=PLAIN, air_c=12.0)
    assert at_home(blind, made) == (replace(made, reason=unknown, confidence="low") if tells else made)
    outdoors = seen(cold(30, 30, 39, 39, air_c=12.5, at="00:00:01"), times=())
    morning = seen(MORNING, times=())
    assert at_home(outdoors, made) is at_home(morning, made) is made


def test_who_is_done_is_told_who_still_drives() -> None:
    s = replace(seen(MORNING, after(1, *HOT), logged(1)), others_left=(("83", 2),))
    made = Decided("set", "any", PLAIN, Corners(*HOT))
    road = (("front", 33.0), ("rear", 32.0))
    assert for_others(s, made) == replace(
        made, reason=because("for-others", first=PLAIN, others=(("83", 2),), driven=None, road=road)
    )
    assert for_others(replace(s, others_left=()), made) is made
    stop = replace(made, action="stop")
    assert for_others(s, stop) is stop
    assert for_the_road(s) == {"driven": None, "road": road}


def test_settings_in_a_row_are_held_to_the_answer_before_the_first_of_them() -> None:
    """Let out in two goes: after the first the rest is asked for, after the second nothing; cold in the morning likewise."""
    hot = (MORNING, after(1, 36.5, 36.5, 46.0, 46.0), logged(1))
    one, two = put(2, 34.0, 34.0, 46.0, 46.0, at="09:04"), put(2, 34.0, 34.0, 44.0, 44.0, at="09:05")
    first, second = now(told(*hot, one)), now(told(*hot, one, two))
    assert (first.name, first.action, first.rule, first.reason.name) == ("set", "set", "heat-drift", "remaining-step")
    assert first.moves == {"lr": pytest.approx(44.0, abs=0.01), "rr": pytest.approx(44.0, abs=0.01)}
    assert first.confidence == second.confidence == "high"
    assert (second.action, second.reason) == ("none", because("set-as-advised"))
    assert [item.name for item in second.passed_over][:2] == ["unsafe", "limits"]
    read_between = now(told(*hot, one, after(1, 34.0, 34.0, 46.0, 46.0, at="09:04:30"), two))
    assert (read_between.action, read_between.reason) == ("none", because("set-as-advised"))
    blind = now(told(logged(1), two))
    assert (blind.action, blind.rule, blind.reason) == ("none", "set", because("set"))
    plan = now(told(MORNING, times=())).moves
    half = put(1, plan["lf"], plan["lf"], 39.2, 39.2, at="07:50", air_c=12.0)
    morning = now(told(MORNING, half, times=()))
    assert (morning.action, morning.rule, set(morning.moves)) == ("plan", "cold-plan", {"lr", "rr"})
    whole_ = put(1, plan["lf"], plan["lf"], plan["lr"], plan["lr"], at="07:51", air_c=12.0)
    assert (now(told(MORNING, half, whole_, times=())).action, now(told(half, whole_, times=())).action) == (
        "none",
        "none",
    )


def test_a_setting_that_the_limits_forbid_to_finish_is_said() -> None:
    """Set 53 where parked at 30 C 51 is the most: out of it first; a stop where nothing may be added."""
    over = now(told(MORNING, logged(1), after(1, *HOT), put(2, 34.0, 34.0, 60.0, 60.0, at="09:04")))
    assert (over.name, over.action, over.rule, over.confidence) == ("set", "set", "limits", "high")
    assert set(over.moves) == {"lr", "rr"}
    bare = car(max_cold_psi=None, placard_front_psi=None, placard_rear_psi=None).model_copy(update={"targets": {}})
    under = now(told(MORNING, logged(1), after(1, *HOT), put(2, 25.0, 25.0, 44.0, 44.0, at="09:04"), of=bare))
    assert (under.name, under.action, under.rule, under.confidence) == ("set", "stop", "limits", "high")


def test_tomorrow_is_not_read_yet() -> None:
    found = now(told(MORNING, after(1, *HOT), logged(1), runs_per_day=1))
    assert {item.name: item.why.name for item in found.passed_over}["limits"] == "tomorrow-unread"
    values = dict(found.reason.values)
    assert (values["driven"], values["road"]) == (None, (("front", 33.0), ("rear", 32.0)))
    tomorrow = values["tomorrow"]
    assert isinstance(tomorrow, Reason)
    assert tomorrow.name == "cold-plan"
    assert (found.now, found.fresh, found.aim, found.expected) == (None, False, found.set, Corners())
