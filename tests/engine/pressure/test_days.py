"""Ten days asked as of every few minutes: the moments come as expected, and nothing changes without a new fact."""

from __future__ import annotations

import os
from collections.abc import Iterator
from datetime import datetime, timedelta

import pytest

from paddock.engine.clock import as_of, cut
from paddock.engine.pressure.answer import Moment
from paddock.engine.pressure.moment import moment_of
from paddock.engine.pressure.timeline import REST_MIN
from paddock.model.event import Event
from paddock.pages.home import home
from paddock.pages.pressing import taking
from paddock.pages.pressure import as_json
from tests.engine.pressure.days import DAYS, ME, Day, whole
from tests.engine.said import cautions, reason

STEP = timedelta(minutes=int(os.environ.get("PADDOCK_MINUTES", "7")))
"""``PADDOCK_MINUTES=1`` replays every minute."""


def then(told: Event, at: str) -> datetime:
    """``09:02``, or ``2 09:02`` of the second day."""
    day, _, clock = at.rpartition(" ")
    return datetime.fromisoformat(f"{told.settings.days[int(day or 1) - 1]}T{clock}")


def asked(told: Event, at: datetime) -> tuple[Event, Moment]:
    seen = cut(told, at)
    return seen, moment_of(seen, ME, as_of(seen, at, at))


def ticks(day: Day, told: Event) -> Iterator[datetime]:
    """Every few minutes of the days, every minute about a row and about the end of a reading's life."""
    clocks = {row.at for rows in told.tables.values() for row in rows if getattr(row, "at", None)}  # type: ignore[attr-defined]
    for date in told.settings.days[: day.days]:
        start = datetime.combine(date, datetime.min.time()) + timedelta(hours=7)
        close = [datetime.fromisoformat(f"{date}T{clock}") for clock in clocks]
        close += [at + timedelta(minutes=REST_MIN) for at in close]
        last = start - STEP
        for minute in range(12 * 60):
            at = start + timedelta(minutes=minute)
            if at - last >= STEP or any(abs(at - other) <= timedelta(minutes=1) for other in close):
                last = at
                yield at


@pytest.mark.parametrize("day", DAYS, ids=lambda day: day.title)
def test_the_moments_of_a_day_come_as_expected(day: Day) -> None:
    told = whole(day)
    for at, name in day.story:
        _, moment = asked(told, then(told, at))
        assert moment.name == name.rstrip("*-"), (at, reason(moment))
        if name.endswith("*"):
            assert moment.moves, (at, reason(moment), moment.passed_over)
        if name.endswith("-"):
            assert not moment.moves, (at, reason(moment))


@pytest.mark.parametrize("day", DAYS, ids=lambda day: day.title)
def test_nothing_changes_from_minute_to_minute_without_a_new_fact(day: Day) -> None:
    told = whole(day)
    before: tuple[object, Moment] | None = None
    for at in ticks(day, told):
        seen, moment = asked(told, at)
        facts = (at.date(), tuple((name, rows) for name, rows in sorted(seen.tables.items()) if rows))
        if before is not None and before[0] == facts:
            old = before[1]
            aged = old.name in {"read", "gauge-first", "cold-read"} and moment.name == "stale"
            same = {"as_of": "", "reason": ""} if moment.name == old.name == "stale" else {"as_of": ""}
            assert aged or as_json(moment) | same == as_json(old) | same, at
        before = facts, moment


@pytest.mark.parametrize("day", DAYS, ids=lambda day: day.title)
def test_home_the_gauge_page_and_the_verb_say_one_thing(day: Day) -> None:
    told = whole(day)
    for at, _ in day.story:
        now = then(told, at)
        seen, moment = asked(told, now)
        page = home(seen, ME, now, None)
        assert page.moment is not None
        assert as_json(page.moment) == as_json(moment)
        offered = taking(seen, ME, now)
        assert (as_json(offered.moment), offered.advised) == (as_json(moment), moment.offer.advised)
        assert not offered.advised or offered.psi == moment.moves


def test_the_reading_after_a_run_driven_again_is_that_runs_and_none_is_called_missing() -> None:
    """Gauged before the new try is typed: it is neither a setting nor a reading of the run before."""
    told = whole(next(day for day in DAYS if day.title == "a re-run"))
    now = then(told, "09:10")
    offered = taking(cut(told, now), ME, now)
    assert (offered.kind, offered.run, offered.due, offered.advised) == ("after", 1, True, False)
    _, gauged = asked(told, then(told, "09:26"))
    _, typed = asked(told, then(told, "09:28"))
    assert (gauged.name, typed.name) == ("gauge-first", "read")
    assert gauged.moves == pytest.approx(typed.moves, abs=0.01)
    assert not any("not read" in text for text in (*cautions(gauged), *cautions(typed)))
