"""Tyres that are warm before a run, a corner read again at once, water after a setting, the start by the running order."""

from __future__ import annotations

import dataclasses
from datetime import datetime

import pytest

from paddock.engine.clock import as_of, cut
from paddock.engine.pressure.answer import Moment
from paddock.engine.pressure.moment import moment_of
from paddock.model.event import Event
from paddock.pages.pressure import headline, next_line
from paddock.pages.why import as_said
from tests.engine.pressure.days import COLD, MATE, ME, SET, Day, air, gauge, run, whole
from tests.engine.pressure.situations import car
from tests.engine.said import cautions, reason

MORNING = (COLD, SET, *run(1, "09:00"), gauge("after", "09:02", 34.0, 34.0, 44.0, 44.0, run=1, tyre_c=34.0, air_c=16.0))


def asked(told: Event, at: str) -> Moment:
    moment = datetime.fromisoformat(f"2026-05-09T{at}")
    return moment_of(cut(told, moment), ME, as_of(told, moment, moment))


def found(*psi: float, tyre_c: float = 26.0, surface: str = "dry", rose: float = 0.0) -> Moment:
    """Found warm an hour after the first run, which ended ``rose`` psi over the targets."""
    ended = gauge("after", "09:02", 34.0 + rose, 34.0 + rose, 44.0 + rose, 44.0 + rose, run=1, tyre_c=34.0, air_c=16.0)
    warm = gauge("before", "10:05", *psi, run=2, tyre_c=tyre_c, air_c=16.0)
    return asked(whole(Day("found", (*MORNING[:-1], ended, air("09:50", 16.0, surface), warm), ())), "10:05")


def test_a_car_found_warm_before_its_run_is_held_to_the_plan_and_never_to_heat_drift() -> None:
    one = found(35.0, 35.0, 45.0, 45.0, rose=2.5)
    assert (one.name, one.rule, one.action) == ("cold-read", "cold-plan", "set")
    assert not one.known.rested
    assert one.moves["lf"] == one.moves["rf"] < 35.0
    assert [one.expected[corner] for corner in ("lf", "lr")] == pytest.approx([34.0, 44.0], abs=0.05)


def test_a_car_found_as_it_should_be_is_left_alone_in_plain_words() -> None:
    one = found(34.2, 34.2, 44.1, 44.1)
    assert (one.rule, one.action, one.moves) == ("cold-plan", "hold", {})
    assert reason(one) == "as found before the run it ends on the dry target"


def test_a_damp_run_after_a_break_is_not_taken_to_end_as_hot_as_the_last_dry_one() -> None:
    """34 C after the dry run, 20 C found in the rain: a damp run warms little, so what is read nearly stays."""
    one = found(29.5, 29.5, 37.5, 37.5, tyre_c=20.0, surface="damp")
    assert one.name == "cold-read"
    assert all(abs(psi - one.now[corner]) < 1.0 for corner, psi in one.moves.items() if one.now is not None)
    assert max(way.end_c for way in one.known.way.values()) < 30.0


def test_a_run_never_cools_a_tyre_that_is_warm_at_its_start() -> None:
    """Blankets: 60 C before a run that a cold tyre would end at 36 C; four minutes on it is still over 50 C."""
    rows = (
        COLD,
        SET,
        gauge("before", "08:56", 38.3, 38.3, 49.3, 49.3, tyre_c=60.0, air_c=16.0, run=1),
        *run(1, "09:00"),
    )
    one = asked(whole(Day("blankets", rows, ())), "09:01")
    assert one.name == "ran"
    assert min(way.end_c for way in one.known.way.values()) > 50.0


def test_a_corner_read_again_at_once_is_set_as_its_mate() -> None:
    """Read 49, a mistake, then 44.5 within the minute: both tyres of the axle are as warm, both end equal."""
    odd = gauge("after", "09:32", 34.6, 34.6, 49.5, 45.5, run=2, air_c=17.0)
    again = gauge("after", "09:32:40", 34.6, 34.6, 45.5, 45.5, run=2, air_c=17.0, tyre_c=36.0)
    told = whole(Day("again", (*MORNING, *run(2, "09:30"), odd, again), ()))
    assert asked(told, "09:32").name == "odd-corner"
    one = asked(told, "09:33")
    assert one.name == "read"
    assert one.moves["lr"] == pytest.approx(one.moves["rr"], abs=0.05)


def test_water_that_stands_after_the_setting_asks_for_the_rest() -> None:
    """Set for the wet, then it stands: 1 psi more, and not "nothing to do"; what was set since counts."""
    wet = (
        *MORNING, air("09:10", 16.0, "wet"), *run(2, "09:30", surface="wet"),
        gauge("after", "09:32", 32.8, 32.8, 42.7, 42.7, run=2, tyre_c=25.0, air_c=16.0),
        gauge("set", "09:35", 33.0, 33.0, 40.0, 40.0, run=2, tyre_c=25.0, air_c=16.0),
    )  # fmt: skip
    told = whole(Day("water", (*wet, air("09:45", 16.0, "standing")), ()))
    assert (asked(told, "09:40").name, asked(told, "09:40").moves) == ("set", {})
    one = asked(told, "09:46")
    assert (one.name, one.rule) == ("set", "standing-water")
    assert one.moves["lf"] > 33.5
    done = gauge("set", "09:50", *(one.moves.get(corner, 40.0) for corner in ("lf", "rf", "lr", "rr")), run=2,
                 tyre_c=25.0, air_c=16.0)  # fmt: skip
    then = whole(Day("water", (*wet, air("09:45", 16.0, "standing"), done), ()))
    assert (asked(then, "09:51").name, asked(then, "09:51").moves) == ("set", {})


def at_the_end(driven: bool | None, per_day: int, days: int = 1) -> Moment:
    """Asked after the last run of a day, read hot."""
    rows = (COLD, SET, *run(1, "09:00"), gauge("after", "09:02", 36.0, 36.0, 45.0, 45.0, run=1, air_c=16.0))
    told = whole(Day("home", rows, (), per_day=per_day, days=days))
    mine = told.settings.mine.model_copy(update={"driven_home": driven})
    told = dataclasses.replace(told, settings=told.settings.model_copy(update={"mine": mine}))
    return moment_of(told, ME, as_of(told, datetime(2027, 1, 1)))


def test_the_way_home_is_said_where_nothing_is_left_to_set() -> None:
    one = at_the_end(True, 1)
    assert (one.name, one.set) == ("event-done", None)
    assert reason(one).endswith("for the road, cold: front 33, rear 32 psi")
    assert headline(one, "psi") == (
        "for the road, cold: front 33, rear 32 psi", "no run is left: nothing to set for the course"
    )  # fmt: skip
    assert headline(one, "kpa") == (
        "for the road, cold: front 228, rear 221 kPa", "no run is left: nothing to set for the course"
    )  # fmt: skip
    asked = at_the_end(None, 1)
    told = "if it is driven home (the event's page has a line for that), for the road, cold: front 33, rear 32 psi"
    assert reason(asked).endswith(told)
    assert headline(asked, "psi")[0] == "nothing to set"
    assert "road" not in reason(at_the_end(False, 1))
    assert "driven home" not in reason(at_the_end(False, 1))


def test_in_the_evening_nothing_is_set_now_and_the_road_goes_before_tomorrow() -> None:
    """The plan is for a cold tyre tomorrow: it is no setting of tonight's warm one, logged or parked."""
    found = at_the_end(True, 1, days=2)
    assert (found.name, bool(found.moves)) == ("day-done", True)
    said, _ = headline(found, "psi")
    assert said.startswith("for the road, cold: front 33, rear 32 psi; tomorrow, cold: LF ")
    assert headline(at_the_end(False, 1, days=2), "psi")[0].startswith("tomorrow, cold: LF ")
    assert next_line(found).startswith("Tomorrow, cold: front ")
    assert as_said(found, 1, "18:00") is None
    assert not [text for text in cautions(found) if "Let out hot" in text or "Parked cold" in text]


def test_on_target_the_line_says_that_it_is_within_the_gauges_noise() -> None:
    rows = (COLD, SET, *run(1, "09:00"), gauge("after", "09:02", 33.3, 33.3, 43.3, 43.3, run=1, air_c=16.0))
    told = whole(Day("on target", rows, ()))
    found = moment_of(told, ME, as_of(told, datetime(2027, 1, 1)))
    assert (found.rule, reason(found)) == ("hold", "no rule calls for a change: within the gauge's noise of the target")


def test_whose_run_was_not_read_is_said() -> None:
    told = whole(Day("two", (COLD, SET, *run(1, "09:00"), *run(1, "09:20", who=MATE)), (), numbers=(ME, MATE)))
    by = {who: reason(moment_of(told, who, as_of(told, datetime(2027, 1, 1)))) for who in (ME, MATE)}
    assert by == {
        ME: "nothing read since 83's run 1: read the four corners", MATE: "nothing read since run 1: read the four corners"
    }  # fmt: skip


def test_a_car_found_warm_without_a_target_is_told_that_none_is_written() -> None:
    rows = (*MORNING, gauge("before", "10:05", 34.0, 34.0, 44.0, 44.0, run=2, tyre_c=26.0, air_c=16.0))
    one = asked(whole(Day("no target", rows, (), car=car().model_copy(update={"targets": {}}))), "10:05")
    assert (one.name, one.known.found_warm, one.moves) == ("cold-read", True, {})
    assert "No dry target in the car file." in cautions(one)
