"""After the last run of a day that another follows: hot readings are of that run, shown, and nothing is to be set."""

from __future__ import annotations

from datetime import datetime

import pytest

from paddock.engine.clock import cut
from paddock.entry.pressures import PressureLine
from paddock.model.event import Event
from paddock.pages.home import home
from paddock.pages.pressing import readings_due, taking, taking_on_home
from paddock.pages.why import as_said, why
from tests.engine.pressure.days import COLD, ME, SET, Day, gauge, run, whole

FOUR = PressureLine(dict(zip(("lf", "rf", "lr", "rr"), (36.0, 36.0, 46.0, 46.0), strict=True)))
DRIVEN = (COLD, SET, *run(1, "09:00"), *run(2, "10:00"))
READ = gauge("after", "10:02", 36.0, 36.0, 46.0, 46.0, run=2, air_c=18.0)


def evening(*rows: object, days: int = 2, per_day: int = 2) -> Event:
    return whole(Day("", (*DRIVEN, *rows), (), days=days, per_day=per_day))  # type: ignore[arg-type]


def at(told: Event, clock: str) -> datetime:
    return datetime.fromisoformat(f"{told.settings.days[0]}T{clock}")


@pytest.mark.parametrize("rows", [(), (READ,)])
@pytest.mark.parametrize("days", [1, 2])
def test_what_is_typed_minutes_after_the_last_run_was_read_after_it(days: int, rows: tuple[object, ...]) -> None:
    told = evening(*rows, days=days)
    for clock in ("10:03", "10:45"):
        for found in (taking(told, ME, at(told, clock)), taking_on_home(told, ME, at(told, clock), FOUR)):
            assert (found.kind, found.run, found.due) == ("after", 2, False), clock
    late = taking(told, ME, at(told, "10:46"))
    assert late.kind == ("after" if days == 1 else "cold")


def test_a_gauge_before_the_last_run_is_typed_is_of_that_run() -> None:
    told = evening(per_day=3)
    found = taking_on_home(told, ME, at(told, "10:50"), PressureLine(FOUR.psi, run=3))
    assert (found.kind, found.run) == ("after", 3)
    early = evening(READ, gauge("after", "11:02", 36.0, 36.0, 46.0, 46.0, run=3, air_c=18.0), per_day=3)
    again = taking_on_home(early, ME, at(early, "11:03"), FOUR)
    assert (again.kind, again.run, again.due) == ("after", 3, False)


def test_tonight_nothing_is_offered_to_be_set_and_no_run_that_is_not_there() -> None:
    told = evening(READ)
    now = at(told, "10:10")
    moment = taking(told, ME, now).moment
    assert (moment.name, bool(moment.moves), moment.moves_now) == ("day-done", True, {})
    assert not any(offer.advised or offer.run_due for offer in readings_due(moment))
    by_hand = taking(told, ME, now, kind="set")
    assert (by_hand.advised, by_hand.psi, by_hand.targets.known()) == (False, {}, {})
    assert not why(told, ME, now).moves
    assert as_said(moment, 1, "10:10") is None
    before = cut(told, at(told, "09:30"))
    assert any(offer.run_due for offer in readings_due(taking(before, ME, at(told, "09:30")).moment))


@pytest.mark.parametrize("days", [1, 2])
def test_what_was_read_last_is_shown_with_its_age(days: int) -> None:
    told = evening(READ, days=days)
    now = at(told, "10:14")
    shown, said = home(told, ME, now, None), why(told, ME, now)
    assert shown.corners.known() == FOUR.psi
    assert shown.read == "read last after run 2, 12 min ago"
    assert shown.aim_is == ("tomorrow's cold plan" if days == 2 else "")
    assert said.moment.now is None
    assert said.later[0] == "read last after run 2, 12 min ago: LF 36.0  RF 36.0  LR 46.0  RR 46.0".replace(
        "LR 46.0  RR 46.0", "RR 46.0  LR 46.0"
    )
    assert not any("nothing has been read" in item for passed in said.told.passed for item in passed)
    unread = home(evening(days=days), ME, now, None)
    assert (unread.read, unread.corners.known()) == ("nothing that counts now", {})
