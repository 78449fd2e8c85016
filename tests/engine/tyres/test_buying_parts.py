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
    assert (unread.runs_since_reading, unread.read_mm) == (0, {})
    assert inventory(car([], *tyres("B"))).of("Z") is None


# --- orders, word for word ----------------------------------------------------------------------------------------------

DONE = car(clean("26", 1, 1) + clean("26", 2, 3), mine={"numbers": ["26"]})
JUNE, JULY = Booking(name="Second", days=(date(2026, 6, 6),)), Booking(name="Third", days=(date(2026, 7, 4),))


def on(corner: str, tyre: str, runs: float | None, low: float | None = None, **row: Any) -> TyreState:
    return TyreState(tyre, TyreRow(tyre=tyre, **row), "26", FittedPlace(corner), life=Life(runs, low))


def said(*states: TyreState, event: Event = DONE, booked: tuple[Booking, ...] = (JUNE, JULY)) -> list[tuple[Any, ...]]:
    held = {state.place.corner: state.tyre for state in states if state.place}
    found = orders(event, Inventory(states, {"26": held}), booked)
    assert all(item.kind == "buy" for item in found)
    return [(item.tyres, item.order_by, item.sentence) for item in found]


def test_an_axles_tyres_are_bought_together_and_the_earliest_order_stands_first() -> None:
    """Rears run out at the first event, fronts at the second: three runs each; the worse tyre of an axle counts."""
    rows = (
        on("lf", "A", 9.0, delivery_days=5),
        on("rf", "B", 4.0, delivery_days=7),
        on("lr", "C", 2.5, delivery_days=20),
        on("rr", "D", None),
    )
    assert said(*rows) == [
        (("C", "D"), date(2026, 5, 17), "C and D: about 2 runs left, not enough through Second on 2026-06-06: order by 2026-05-17."),
        (("A", "B"), date(2026, 6, 27), "A and B: about 4 runs left, not enough through Third on 2026-07-04: order by 2026-06-27."),
    ]  # fmt: skip
    assert said(on("lf", "A", None), on("rf", "B", None)) == []
    assert said(on("rr", "D", 1.0)) == [
        (("D",), None, "D: about 1 run left, not enough through Second on 2026-06-06: say delivery_days in tyres.csv for the day to order."),
    ]  # fmt: skip


def test_what_can_not_wait_and_what_has_no_date() -> None:
    """Three of two days' runs are still to come in the first event, none in the other."""
    going = car(clean("26", 1, 3), mine={"numbers": ["26"]})
    tail = " 80 for 1 at the last price."
    assert said(on("lf", "A", 2.9, price=80.0), event=going) == [
        (("A",), None, f"A: about 2 runs left, this event still asks more: have others before the next run.{tail}")
    ]
    assert said(on("lf", "A", 0.0, price=80.0), booked=()) == [
        (
            ("A",),
            None,
            f"A: about 0 runs left, fewer than another event like this asks (6): book it in season.toml for the day to order.{tail}",
        )
    ]
    silent = car(clean("26", 1, 1), mine={"numbers": []}, runs_per_day=None, days=[])
    assert said(on("lf", "A", 0.0), event=silent, booked=()) == [
        (("A",), None, "A: about 0 runs left, nothing above the floor: have others before the next run.")
    ]
    assert said(on("lf", "A", 6.0), booked=()) == []
    assert said(on("lf", "A", 5.9), booked=())[0][1] is None


def test_the_cautious_date_from_the_low_end() -> None:
    """About 5 runs last into the second event; at the low end 2.9 are not enough for the first, 3 are."""

    def early(low: float | None, booked: tuple[Booking, ...] = (JUNE, JULY)) -> str:
        return said(on("lf", "A", 5.0, low, delivery_days=10), on("rf", "B", 5.5, 4.0), booked=booked)[0][2].partition(
            "2026-06-24."
        )[2]

    assert early(2.9) == " To be safe (2 at the low end): by 2026-05-27, for Second."
    assert early(3.0) == early(None) == ""
    unknown = said(on("lf", "A", 5.0, 2.0), on("rf", "B", 5.5))[0][2]
    assert "To be safe" not in unknown
    late = said(on("lf", "A", 5.0, 2.0, delivery_days=60))[0][2]
    assert late.endswith("order by 2026-05-05. To be safe (2 at the low end): by 2026-04-07, for Second."
                         " That is 5 days before this event's last day: borrow, or buy from stock.")  # fmt: skip
    going = car(clean("26", 1, 3), mine={"numbers": ["26"]})
    here = said(on("lf", "A", 8.0, 2.0, delivery_days=10), event=going)[0][2]
    assert here.endswith("order by 2026-06-24."), "at the low end they don't last this event: no date to be safe by"
    unbooked = said(on("lf", "A", 7.0, 5.0, delivery_days=10), booked=())
    assert unbooked == []


def test_prices_and_spares() -> None:
    """A price for each tyre or none; spares of a size of the axle that are not worn out, with their age."""
    axle = on("lf", "A", 2.0, size="X", price=100.0), on("rf", "B", 2.0, size="Y", price=110.5)
    spares = (
        TyreState("S", TyreRow(tyre="S", size="X"), age_years=2.26), TyreState("T", TyreRow(tyre="T", size="Z")), TyreState("U"),
        TyreState("V", TyreRow(tyre="V", size="Y"), life=Life(0.0)), TyreState("W", TyreRow(tyre="W", size="Y"), life=Life(5.0)),
    )  # fmt: skip
    assert said(*axle, *spares)[0][2].endswith(
        " 210 for 2 at the last price. Not fitted and of that size: S (2.3 years old), W."
    )
    unpriced = axle[0], on("rf", "B", 2.0)
    blank = TyreState("S", TyreRow(tyre="S"))
    assert said(*unpriced, blank)[0][2].endswith("for the day to order.")


def test_runs_per_event_whoever_drives() -> None:
    mine = {"numbers": ["26", "83", "9"], "cars": {"26": "h", "83": "h"}}
    of = car(clean("26", 1, 4) + clean("83", 1, 2) + clean("9", 2, 1), mine=mine)
    assert [runs_per_event(of, key, 2) for key in ("h", "9", "unknown")] == [12.0, 6.0, 6.0]
    assert [runs_per_event(of, key, 2, 5) for key in ("h", "9")] == [20.0, 10.0]
    unsaid = car(
        clean("26", 1, 4) + clean("83", 1, 2) + clean("26", 2, 3) + clean("9", 2, 1), mine=mine, runs_per_day=None
    )
    assert [runs_per_event(unsaid, key, 3) for key in ("h", "9", "unknown")] == [13.5, 3.0, None]
    assert runs_still_to_come(car(clean("26", 3, 1), mine=mine), "h") == 0.0
    assert runs_still_to_come(unsaid, "h") == 0.0


def test_coming_events_by_name_or_folder() -> None:
    booked = [
        Booking(folder="f", days=(date(2026, 7, 1),)),
        Booking(days=(date(2026, 6, 1),)),
        Booking(name="n", folder="g", days=(date(2026, 6, 9), date(2026, 6, 8))),
    ]
    assert coming_events(DONE, "26", booked) == (
        Coming("the booked event", date(2026, 6, 1), 3.0), Coming("n", date(2026, 6, 8), 6.0), Coming("f", date(2026, 7, 1), 3.0),
    )  # fmt: skip
    unsaid = car([], mine={"numbers": ["26"]}, runs_per_day=None)
    assert coming_events(unsaid, "26", booked) == ()
    assert coming_events(unsaid, "26", [Booking(name="n", days=(date(2026, 7, 1),), runs_per_day=4)]) == (
        Coming("n", date(2026, 7, 1), 4.0),
    )
    dateless = car([], mine={"numbers": ["26"]}, days=[])
    assert coming_events(dateless, "26", [Booking(name="n", days=(date(1999, 7, 1),))])[0].name == "n"


# --- questions, word for word -------------------------------------------------------------------------------------------


def test_questions_word_for_word_in_order_of_file_and_line() -> None:
    rows: list[Row] = [
        TyreRow(tyre="A", line=2, date_code="239", runs_before=7), TyreRow(tyre="B", line=3, date_code="3026"), TyreRow(tyre="E", line=4, date_code="x"),
        *fit(1, 1, lf="A", rf="B"), FittedRow(day=1, run=2, number="26", corner="lr", tyre="A", line=4),
        FittedRow(day=1, run=3, number="26", corner="rr", tyre="Q", line=5), FittedRow(day=1, run=4, number="26", corner="rr", tyre="Q", line=6),
        tread(0, "B", 6, 6, 5, line=2), tread(1, "B", 6.2, 6, 6.5, line=3), tread(1, "R", 5, 5, 5, line=4),
    ]  # fmt: skip
    old = [
        car(clean("26", 1, count), *tyres("A", runs_before=4), *fit(1, 1, lf="A"), name=name)
        for count, name in ((4, "One"), (2, "Two"))
    ]
    found = questions(car(clean("26", 1, 5), *rows), old)
    assert [(item.file, item.line, item.message) for item in found] == [
        ("fitted.csv", 4, "tyre A is put on lr and is still on lf (line 0): counted on lr; which is it, and what is on the other corner?"),
        ("fitted.csv", 5, "tyre Q isn't in tyres.csv: add it, or mend the name"),
        ("tread.csv", 3, "the inner edge of tyre B grew by 0.20 mm from day 0 to day 1: kept, as a gauge may scatter so much; measure again, or was it turned over on its rim (orientation)?"),
        ("tread.csv", 3, "the outer edge of tyre B grew by 1.50 mm from day 0 to day 1: left out of the wear; measure again, or was it turned over on its rim (orientation)?"),
        ("tread.csv", 4, "tyre R isn't in tyres.csv: add it, or mend the name"),
        ("tyres.csv", 2, "tyre A has 7 runs before this event, but 8 after One: a run count can't fall; write 8, or give a new tyre a new name"),
        ("tyres.csv", 2, "tyre A: date code 239: three digits name no decade (made before 2000), or a spreadsheet dropped a leading zero; no age is worked out: read the wall again and write four digits like 0926"),
        ("tyres.csv", 3, "tyre B: date code 3026: week 30 of 2026 is after the event; read the wall again"),
        ("tyres.csv", 4, "tyre E: date code x: write week and year as four digits, like 0926 for week 9 of 2026"),
    ]  # fmt: skip
    assert {item.level for item in found} == {"warning"}


def test_a_growth_of_just_what_a_gauge_may_scatter_is_kept() -> None:
    """Three times the square root of two times .12 mm: .509."""

    def used(grown: float) -> str:
        (found,) = questions(
            car(clean("26", 1, 5), *fit(1, 1, lf="A"), tread(0, "A", 5, 5, 5), tread(1, "A", 5 + grown, 5, 5))
        )
        return found.message.partition(": ")[2].partition(",")[0].partition(";")[0]

    assert (used(0.50), used(0.52)) == ("kept", "left out of the wear")


def test_whole_identification_numbers_and_what_is_none() -> None:
    def first(code: str) -> date | None:
        made = made_in(code)
        return made.first_day if made else None

    june = date(2019, 6, 9)  # week 23 of 2019: the first Sunday was 6 January, 22 weeks on (calendar)
    good = ["2319", "AB12CD2319", "1234567892319", "dot ab cd 2319", "u9ab cdef 2319"]
    bad = ["AB12C2319", "12345678902319", "AB-2CD2319", "AB12CD231X", "23 19x", "", " "]
    assert [first(code) for code in good] == [june] * len(good)
    assert [first(code) for code in bad] == [None] * len(bad)


def test_two_cars_have_their_own_corners() -> None:
    """A tyre lent to the other car is on both; three tyres that go round one moment clash with nobody."""
    mine = {"numbers": ["26", "9"]}
    lent = [*fit(1, 1, lf="A"), *fit(1, 2, "9", rf="A")]
    assert questions(car(clean("26", 1, 2), *lent, mine=mine)) == ()
    ring = [*fit(1, 1, lf="A", rf="B", lr="C"), *fit(1, 2, lf="C", rf="A", lr="B")]
    assert questions(car(clean("26", 1, 2), *ring)) == ()
    assert questions(car(clean("26", 1, 2), *tyres("N", runs_before=0))) == (), "a new tyre has no run"
    later = FittedRow(day=1, run=2, number="26", corner="lr", tyre="A", line=2)
    first = FittedRow(day=1, run=1, number="26", corner="lf", tyre="A", line=3)
    assert [item.line for item in questions(car(clean("26", 1, 2), later, first))] == [2], "in order of the runs"
    again = [
        *fit(1, 1, lf="A"),
        FittedRow(day=1, run=3, number="26", corner="rr", tyre="A", line=7),
        FittedRow(day=2, run=1, number="26", corner="lf", tyre="A", line=8),
    ]
    found = questions(car(clean("26", 1, 4), *again))
    assert [(item.line, item.message[:55]) for item in found] == [
        (7, "tyre A is put on rr and is still on lf (line 0): counte"), (8, "tyre A is put on lf and is still on rr (line 7): counte"),
    ]  # fmt: skip
