"""A booked event that says how many runs a day it has is asked that many of the tyres."""

from __future__ import annotations

from datetime import date

from paddock.engine.tyres.buying import coming_events
from paddock.model.season import Booking
from tests.factories import entrant, event, settings

DAYS = (date(2026, 8, 1), date(2026, 8, 2))


def test_the_bookings_own_runs_count_before_this_events() -> None:
    here = event([entrant("26")], [], settings(mine={"numbers": ["26"], "cars": {"26": "estate"}}))
    booked = [Booking(name="Hill", days=DAYS), Booking(name="Long", days=(date(2026, 9, 5),), runs_per_day=42)]
    assert [item.runs for item in coming_events(here, "estate", booked)] == [6.0, 42.0]
