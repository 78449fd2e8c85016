"""The day to order."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from paddock.engine.tyres.buying import coming_events, orders, runs_per_event, runs_still_to_come
from paddock.engine.tyres.inventory import inventory
from paddock.engine.tyres.proposals import TyreProposal
from paddock.model.event import Event
from paddock.model.rows import Row
from paddock.model.season import Booking
from tests.engine.tyres.make import car, clean, fit, tread, tyres

BOOKED = [
    Booking(name="Old quay", days=(date(2026, 6, 6), date(2026, 6, 7))),
    Booking(name="Harbour", days=(date(2026, 7, 4),)),
    Booking(name="Hill", days=(date(2026, 8, 1), date(2026, 8, 2))),
    Booking(name="Gone by", days=(date(2026, 4, 1),)),
]


def _event(left: float, per_run: float = 0.05, **cells: Any) -> Event:
    """A car that makes three runs a day with two tyres that have ``left`` runs in them."""
    rows: list[Row] = [*tyres("A", "B", **({"delivery_days": 10, "price": 150.0} | cells)), *fit(1, 1, lf="A", rf="B")]
    end = 1.6 + left * per_run
    rows += [tread(0, name, 7, 7, end + 6 * per_run) for name in "AB"] + [tread(2, name, 7, 7, end) for name in "AB"]
    return car(clean("26", 1, 3) + clean("26", 2, 3), *rows)


def _order(event: Event, booked: list[Booking] = BOOKED) -> list[TyreProposal]:
    return list(orders(event, inventory(event), booked))


def test_runs_per_event_are_as_planned_for_each_driver_of_the_car() -> None:
    assert runs_per_event(_event(20), "26", 2) == 6
    both = car([], mine={"numbers": ["26", "83"], "cars": {"26": "h", "83": "h"}})
    assert runs_per_event(both, "h", 2) == 12
    assert runs_per_event(car(clean("26", 1, 4), runs_per_day=None), "26", 2) == 8


def test_what_is_booked_comes_in_order_and_the_past_does_not() -> None:
    assert [(item.name, item.runs) for item in coming_events(_event(20), "26", BOOKED)] == [
        ("Old quay", 6), ("Harbour", 3), ("Hill", 6),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("left", "event", "order_by"),
    [
        (5.5, "Old quay", date(2026, 5, 27)),  # 6 June less 10 days
        (6.5, "Harbour", date(2026, 6, 24)),
        (10, "Hill", date(2026, 7, 22)),
    ],
)
def test_order_before_the_event_they_would_not_last(left: float, event: str, order_by: date) -> None:
    found = _order(_event(left))
    assert [(item.kind, item.tyres, item.order_by) for item in found] == [("buy", ("A", "B"), order_by)]
    assert event in found[0].sentence
    assert str(order_by) in found[0].sentence
    assert "300 for 2 at the last price" in found[0].sentence


def test_nothing_to_buy_while_they_last() -> None:
    assert _order(_event(30)) == []


def test_the_slowest_delivery_counts_and_a_date_gone_by_is_said() -> None:
    found = _order(_event(5.5, delivery_days=40))
    assert found[0].order_by == date(2026, 4, 27)
    assert "13 days before this event's last day" in found[0].sentence


def test_delivery_not_known_gives_no_date_and_asks() -> None:
    found = _order(_event(5.5, delivery_days=None))
    assert found[0].order_by is None
    assert "delivery_days" in found[0].sentence


def test_without_bookings_one_more_event_like_this_is_the_measure() -> None:
    assert "fewer than another event like this" in _order(_event(5.5), [])[0].sentence
    assert _order(_event(7), []) == []


def test_runs_of_this_event_still_to_come_come_first() -> None:
    rows = [*tyres("A", delivery_days=5), *fit(1, 1, lf="A"), tread(0, "A", 7, 7, 1.9), tread(1, "A", 7, 7, 1.7)]
    event = car(clean("26", 1, 3), *rows)
    assert runs_still_to_come(event, "26") == 3
    assert "before the next run" in _order(event)[0].sentence


def test_spares_of_the_size_are_named() -> None:
    event = _event(5.5, size="225/45R17")
    spare, other = tyres("S", size="225/45R17"), tyres("T", size="205/50R16")
    owned = (*event.tables["tyres.csv"], *spare, *other)
    found = _order(replace(event, tables={**event.tables, "tyres.csv": owned}))
    assert "Not fitted and of that size: S." in found[0].sentence
    old = tyres("S", size="225/45R17", date_code="0119")
    found = _order(replace(event, tables={**event.tables, "tyres.csv": (*event.tables["tyres.csv"], *old)}))
    assert "of that size: S (7.3 years old)." in found[0].sentence, "rubber too old is not offered unsaid"
