"""What is bought when, date codes at their edges, what is asked about. By hand."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from paddock.engine.tyres.buying import (
    Coming,
    coming_events,
    orders,
    questions,
    runs_out_at,
    runs_per_event,
    runs_still_to_come,
    too_late,
)
from paddock.engine.tyres.counts import (
    FittedPlace,
)
from paddock.engine.tyres.inventory import Inventory, TyreState, age_years, code_question, inventory, made_in
from paddock.engine.tyres.proposals import TyreProposal
from paddock.engine.tyres.wear import Life
from paddock.model.event import Event
from paddock.model.rows import FittedRow, Row, TyreRow
from paddock.model.season import Booking
from tests.engine.tyres.make import car, clean, fit, tread, tyres

# --- buying -------------------------------------------------------------------------------------------------------------


def test_runs_to_come() -> None:
    two = car(clean("26", 1, 3), mine={"numbers": ["26"]})
    assert (runs_per_event(two, "26", 2), runs_still_to_come(two, "26")) == (6.0, 3.0)
    assert runs_still_to_come(car([], mine={"numbers": ["26"]}), "26") == 6.0
    assert runs_still_to_come(car(clean("26", 2, 1), mine={"numbers": ["26"]}), "26") == 0.0
    unsaid = car(clean("26", 1, 4) + clean("26", 2, 2), mine={"numbers": ["26"]}, runs_per_day=None)
    assert runs_per_event(unsaid, "26", 4) == 12.0
    assert runs_per_event(car([], mine={"numbers": ["26"]}, runs_per_day=None), "26", 2) is None


def test_what_is_booked_after_this() -> None:
    event = car([], mine={"numbers": ["26"]})
    booked = [
        Booking.model_validate(item) for item in (
            {"name": "late", "days": [date(2026, 7, 1)]}, {"name": "next", "days": [date(2026, 6, 1), date(2026, 6, 2)]},
            {"name": "same", "days": [date(2026, 5, 10)]}, {"name": "dayless"},
            {"name": "begun", "days": [date(2026, 5, 10), date(2026, 5, 11)]},
        )
    ]  # fmt: skip
    assert coming_events(event, "26", booked) == (
        Coming("next", date(2026, 6, 1), 6.0),
        Coming("late", date(2026, 7, 1), 3.0),
    )
    assert coming_events(event, "26", ()) == (Coming("another event like this", date.max, 6.0),)
    dayless = car(clean("26", 1, 2), mine={"numbers": ["26"]}, days=[], runs_per_day=None)
    assert coming_events(dayless, "26", ()) == (Coming("another event like this", date.max, 2.0),)


def test_where_the_runs_run_out() -> None:
    coming = (Coming("a", date(2026, 6, 1), 6.0), Coming("b", date(2026, 7, 1), 4.0))
    assert [runs_out_at(left, 3.0, coming) for left in (2.9, 3.0, 8.9, 9.0, 12.9, 13.0)] == [
        (True, None), (True, coming[0]), (True, coming[0]), (True, coming[1]), (True, coming[1]), (False, None),
    ]  # fmt: skip


def test_an_order_that_comes_too_late() -> None:
    event = car([])
    assert too_late(date(2026, 5, 10), event) == ""
    assert (
        too_late(date(2026, 5, 8), event) == " That is 2 days before this event's last day: borrow, or buy from stock."
    )
    assert too_late(date(2026, 5, 8), car([], days=[])) == ""


def buy(event: Event, runs: float, low: float | None = None, **row: Any) -> list[TyreProposal]:
    found = {"size": "205/50R16", "price": 100.0, "delivery_days": 10} | row
    states = tuple(
        TyreState(tyre, TyreRow(tyre=tyre, **found), "26", FittedPlace(corner), life=Life(runs, low))
        for corner, tyre in (("lf", "A"), ("rf", "B"))
    )
    spare = TyreState("S", TyreRow(tyre="S", size="205/50R16"), life=Life(30.0))
    booked = [
        Booking.model_validate({"name": "Second", "days": [date(2026, 6, 6)]}),
        Booking.model_validate({"name": "Third", "days": [date(2026, 7, 4)]}),
    ]
    return list(orders(event, Inventory((*states, spare), {"26": {"lf": "A", "rf": "B"}}), booked))


def test_orders_in_words() -> None:
    event = car(clean("26", 1, 1) + clean("26", 2, 3), mine={"numbers": ["26"]})
    (found,) = buy(event, 4.0, 2.0)
    assert (found.order_by, found.tyres) == (date(2026, 6, 24), ("A", "B"))
    assert found.sentence == (
        "A and B: about 4 runs left, not enough through Third on 2026-07-04: order by 2026-06-24. To be safe (2 at the low end): "
        "by 2026-05-27, for Second. 200 for 2 at the last price. Not fitted and of that size: S."
    )
    (safe,) = buy(event, 4.0, 3.5)
    assert "To be safe" not in safe.sentence
    assert buy(event, 6.0) == []
    (none,) = buy(event, 0.0, 0.0)
    assert "not enough through Second" in none.sentence
    (unsaid,) = buy(event, 4.0, delivery_days=None)
    assert "say delivery_days" in unsaid.sentence
    (now,) = buy(car(clean("26", 1, 1), mine={"numbers": ["26"]}), 2.0)
    assert "this event still asks more: have others before the next run" in now.sentence


def test_a_tyre_taken_off_belongs_to_the_car_it_ran_on_last() -> None:
    mine = {"numbers": ["26", "83"], "cars": {"26": "estate", "83": "special"}}
    first, then = [*fit(1, 1, lf="A"), *fit(2, 1, lf="E")], [*fit(2, 1, "83", lf="A"), *fit(2, 3, "83", lf="F")]
    found = inventory(car([*clean("26", 1, 2), *clean("83", 2, 2)], *tyres(*"AEF"), *first, *then, mine=mine)).of("A")
    assert found is not None
    assert (found.car, found.place, dict(found.runs_by_corner)) == ("special", None, {"lf": 4})


# --- dates and questions ------------------------------------------------------------------------------------------------


def test_date_codes_at_their_edges() -> None:
    """Week 1 of 2026 begins on Sunday 4 January; 2023 has 53 Sundays, 2026 has 52."""
    first = made_in("0126")
    assert first is not None
    assert first.first_day == date(2026, 1, 4)
    assert (made_in("5326"), made_in("0026"), made_in("5323") is not None) == (None, None, True)
    assert age_years("0126", date(2026, 1, 4)) == 0.0
    assert age_years("0126", date(2026, 1, 3)) is None
    assert age_years("0126", date(2027, 1, 4)) == pytest.approx(365 / 365.25)
    assert code_question("0126", date(2026, 1, 4)) is None
    assert "after the event" in (code_question("0126", date(2026, 1, 3)) or "")
    assert code_question("0126", None) is None


def test_what_is_asked_about() -> None:
    def asked(*rows: Row, past: tuple[Event, ...] = ()) -> list[tuple[str, int, str]]:
        return [
            (item.file, item.line, item.message.split(":")[0])
            for item in questions(car(clean("26", 1, 5), *rows), past)
        ]

    on = [
        FittedRow(day=1, run=run, number="26", corner=corner, tyre="A", line=line)
        for run, corner, line in ((1, "lf", 2), (2, "rf", 3))
    ]  # type: ignore[arg-type]
    assert asked(*on) == [("fitted.csv", 3, "tyre A is put on rf and is still on lf (line 2)")]
    swap = [FittedRow(day=1, run=2, number="26", corner="lf", tyre="B", line=4)]
    assert asked(*on, *swap) == []
    assert asked(*fit(1, 1, lf="A"), tread(0, "A", 6, 6, 6, 2), tread(1, "A", 6.1, 5, 5, 3)) == [
        ("tread.csv", 3, "the inner edge of tyre A grew by 0.10 mm from day 0 to day 1"),
    ]
    assert asked(*fit(1, 1, lf="A"), *tyres("B")) == [("fitted.csv", 0, "tyre A isn't in tyres.csv")]
    old = car(clean("26", 1, 5), *tyres("A", runs_before=10), *fit(1, 1, lf="A"))
    assert asked(*tyres("A", runs_before=15), past=(old,)) == []
    assert asked(*tyres("A", runs_before=14), past=(old,)) == [
        ("tyres.csv", 0, "tyre A has 14 runs before this event, but 15 after Test event"),
    ]
    assert asked(*tyres("A"), past=(old,)) == []


def test_a_tyre_now() -> None:
    rows = [
        *tyres("A", runs_before=5, price=120.0, date_code="0126"),
        *fit(1, 1, lf="A"),
        tread(0, "A", 7, 7, 7),
        tread(1, "A", 6.8, 6.9, 6.5),
    ]
    found = inventory(car(clean("26", 1, 10) + clean("26", 2, 4), *rows)).tyres[0]
    assert (found.runs, found.event_runs, found.runs_by_corner, found.cycles) == (19, 14, {"lf": 14}, 2)
    assert (found.read_on_day, found.runs_since_reading, found.read_mm) == (1, 4, {"inner": 7, "middle": 7, "outer": 7})
    assert found.age_years == pytest.approx((date(2026, 5, 10) - date(2026, 1, 4)).days / 365.25)
    assert found.life.runs == pytest.approx((6.5 - 1.6) / 0.05 - 4)
    unread = inventory(car(clean("26", 1, 2), *tyres("B"), *fit(1, 1, lf="B"))).tyres[0]
    assert (unread.read_on_day, unread.life.runs, unread.cost_per_run, unread.age_years) == (None, None, None, None)
    assert inventory(car([], *tyres("B"))).of("Z") is None
