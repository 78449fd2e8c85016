"""What holds a new setting back and what stops the car: gates, stamps of the worklist, falls."""

from __future__ import annotations

from typing import Any

import pytest

from paddock.engine.clock import Stamp, stamp_of
from paddock.engine.pressure.cautions import limits, stop, surely_before, work_done
from paddock.engine.pressure.corners import Reason, because
from paddock.engine.pressure.readings import car_log
from paddock.engine.pressure.rules import leads_with_one_left, move_gates, open_change
from paddock.engine.pressure.signs import Sign
from paddock.engine.pressure.situation import Situation
from paddock.engine.pressure.timeline import TimedRun
from paddock.model.rows import SetupChange, TimeRow, WorkRow
from paddock.pages.reasons import say
from tests.engine.pressure.situations import HOT, ME, MORNING, after, before, car, cold, logged, now, put
from tests.engine.pressure.test_parts import seen
from tests.engine.pressure.test_rules import told
from tests.factories import entrant, event, runs, settings

# --- gates --------------------------------------------------------------------------------------------------------------


def test_two_signs_and_a_step_the_gauge_can_tell() -> None:
    mark, phase = Sign("mark", "front", "past", True), Sign("entry", None, "-2", True)
    assert move_gates((mark, phase), 1.0, 0.6) == ()
    assert move_gates((mark,), 1.0, 0.6) == (because("too-few-signs", sign=mark),)
    assert move_gates((), 1.0, 0.6) == (because("too-few-signs", sign=None),)
    assert move_gates((mark, phase), -0.6, 0.6) == ()
    assert move_gates((mark, phase), -0.5, 0.6) == (because("step-too-small", psi=0.5, least_psi=0.6),)


def change(**more: Any) -> SetupChange:
    return SetupChange(**({"id": "c", "day": 1, "run": 2, "number": ME, "item": "rear bar"} | more))


@pytest.mark.parametrize(
    ("more", "is_open"),
    [
        ({}, True), ({"run": 1}, False), ({"number": "5"}, False), ({"number": None}, True), ({"decision": "keep"}, False),
        ({"kind": "correction"}, False), ({"undoes": "x"}, False), ({"day": None}, True), ({"run": None}, False),
        ({"day": 2}, True),
    ],
)  # fmt: skip
def test_a_change_is_open_until_run_twice(more: dict[str, Any], is_open: bool) -> None:
    of = told(logged(1), logged(2), change(**more), times=("47", "47"))
    assert (open_change(of, ME, car_log(of, ME)) is not None) is is_open


def test_a_change_taken_back_is_closed() -> None:
    of = told(logged(1), change(), change(id="d", undoes="c"))
    assert open_change(of, ME, car_log(of, ME)) is None


def leader(*mine: str, rival: str = "50", **more: Any) -> bool:
    of = event([entrant(ME), entrant("5")], [*runs(ME, 1, *mine), *runs("5", 1, rival)], settings(**more))
    return leads_with_one_left(of, ME)


def test_leading_with_one_run_left() -> None:
    assert leader("48", "48")
    assert not leader("48")
    assert not leader("48", "48", "48")
    assert not leader("51", "51")
    assert not leader("48", "48", rival="dns")
    assert not leader("48", "48", runs_per_day=None)
    assert leader("48", "", rules={"count": {"best_of_first": 2}})
    assert leads_with_one_left(event([], []), "9") is False
    best = settings({"days": "best"}, runs_per_day=1)
    times = [*runs(ME, 1, "48"), *runs("5", 1, "50"), *runs("5", 2, "49")]
    assert leads_with_one_left(event([entrant(ME), entrant("5")], times, best), ME), "the one of day 2"


# --- stop ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "stamp"),
    [
        ("day 1 09:10", Stamp(1, None, 550.0)), ("day 1 run 2", Stamp(1, 2)), ("1/2", Stamp(1, 2)), ("d2 r3", Stamp(2, 3)),
        ("2026-05-09 09:10", Stamp(1, None, 550.0)), ("2026-05-08", Stamp(0)), ("2026-05-10", Stamp(2)),
        ("09:10", Stamp(None, None, 550.0)), ("7", Stamp()), ("soon", Stamp()), (None, Stamp()), ("", Stamp()),
    ],
)  # fmt: skip
def test_when_a_worklist_row_was_written(text: str | None, stamp: Stamp) -> None:
    assert stamp_of(text, event([], [], settings())) == stamp


def test_what_is_surely_before_a_run() -> None:
    run = TimedRun(2, 3, ME, time=TimeRow(day=2, run=3, number=ME, at="10:00"))
    before_it = [Stamp(1), Stamp(0), Stamp(2, 2), Stamp(2, None, 599.0)]
    not_before = [Stamp(), Stamp(3), Stamp(2), Stamp(2, 3), Stamp(2, None, 600.0), Stamp(2, 4, 0.0)]
    assert [surely_before(item, run) for item in before_it] == [True] * 4
    assert [surely_before(item, run) for item in not_before] == [False] * 6


def work(**more: Any) -> WorkRow:
    return WorkRow(**({"id": "w"} | more))


@pytest.mark.parametrize(
    ("rows", "done"),
    [
        ([], False),
        ([work(item="look at the vibration", done="yes")], True),
        ([work(item="look at the vibration", done=" No ")], False),
        ([work(item="look at the vibration", done="yes"), work(id="v", note="vibration again")], False),
        ([work(item="left front", done="yes")], False),
        ([work(item="unsafe", done="yes")], True),
        ([work(item="nuts", opened="day 1 run 1", done="yes")], True),
        ([work(item="nuts", opened="day 1 run 2", done="yes")], False),
    ],
)  # fmt: skip
def test_work_done_on_what_was_seen(rows: list[WorkRow], done: bool) -> None:
    assert work_done(event([], [], settings(), *rows), TimedRun(1, 1, ME), "vibration left front") is done


def test_why_nothing_stops() -> None:
    assert stop(seen(MORNING, after(1, *HOT), logged(1))) == because("nothing-unsafe")
    mended = seen(MORNING, after(1, *HOT), logged(1, unsafe="vibration"), work(item="vibration", done="yes"))
    assert said(mended) == "run 1's vibration: done"
    when = work(item="vibration", done="day 1 10:12")
    since = seen(MORNING, after(1, *HOT), logged(1, unsafe="vibration"), logged(2), when)
    assert said(since) == "run 1's vibration: done day 1 10:12"
    still = seen(MORNING, after(1, *HOT), logged(1, unsafe="vibration"), logged(2))
    assert said(still) == "run 1's vibration: not logged again since, but the work on it isn't ticked off"


def said(s: Situation) -> str:
    found = stop(s)
    assert isinstance(found, Reason)
    return say(found)


@pytest.mark.parametrize(("psi", "stops"), [(41.1, False), (40.9, True)])
def test_how_sudden_a_fall_stops(psi: float, stops: bool) -> None:
    found = now(told(MORNING, before(1, *HOT), after(1, 34.0, 34.0, 44.0, psi), logged(1)))
    assert (found.action == "stop") is stops


BARE = car().model_copy(update={"targets": {}})
"""No target is written: the limits alone answer."""


@pytest.mark.parametrize(("psi", "wanted"), [(51.2, 50.6), (52.0, 51.0), (51.0, None)])
def test_over_the_maximum_is_brought_inside_by_what_the_gauge_can_tell(psi: float, wanted: float | None) -> None:
    """Parked at 30 C the cold maximum is 51; 51.2 less the least change of 0.6 is 50.6."""
    found = limits(seen(cold(30.0, 30.0, 39.0, psi, air_c=30.0), times=(), of=BARE))
    assert (None if isinstance(found, Reason) else found.wanted) == (
        None if wanted is None else {"rr": pytest.approx(wanted)}
    )


@pytest.mark.parametrize(("psi", "wanted"), [(25.8, 26.4), (25.0, 26.0), (26.0, None)])
def test_under_the_minimum_is_brought_inside_likewise(psi: float, wanted: float | None) -> None:
    found = limits(seen(cold(psi, 30.0, 39.0, 39.0), times=(), of=BARE))
    assert (None if isinstance(found, Reason) else found.wanted) == (
        None if wanted is None else {"lf": pytest.approx(wanted)}
    )


def test_a_fall_before_the_last_run_is_past() -> None:
    rows = (
        MORNING,
        before(1, *HOT),
        after(1, 34, 34, 44, 40.5),
        logged(1),
        put(2, *HOT, at="09:05"),
        logged(2),
        after(2, *HOT),
    )
    assert now(told(*rows, times=("47", "47"))).action != "stop"
    worked = work(item="rr valve")
    assert now(told(*rows[:4], worked)).action == "stop"
