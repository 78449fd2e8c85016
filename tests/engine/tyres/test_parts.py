"""Tyres part by part at their edges: what is bought when, which move buys what, what is asked about. By hand."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from paddock.engine.tyres import inventory, orders, square_against_staggered
from paddock.engine.tyres.buying import Coming, _late, _runs_out_at, coming_events, runs_per_event, runs_still_to_come
from paddock.engine.tyres.counts import (
    CarRun,
    Place,
    Stint,
    count_of,
    fitted_now,
    heat_cycles,
    is_turned,
    my_cars,
    runs_of,
    stints,
)
from paddock.engine.tyres.datecode import age_years, code_question, made_in
from paddock.engine.tyres.inventory import Inventory, TyreState
from paddock.engine.tyres.life import Life, life_of, runs_to
from paddock.engine.tyres.moves import FLIP, FRONT_REAR, SIDES, Stock, gain
from paddock.engine.tyres.proposals import Proposal, Refusal, moves_for, stocks_of
from paddock.engine.tyres.questions import questions
from paddock.engine.tyres.readings import stretches, turned_over
from paddock.engine.tyres.square import lives
from paddock.engine.tyres.wear import GAUGE_SD_MM, Observed, Rate, observe, rates_of, shrink
from paddock.model.event import Event
from paddock.model.rows import FittedRow, Row, TimeRow, TyreRow
from paddock.model.season import Booking
from tests.engine.tyres.make import SET, car, clean, fit, tread, tyres


def rate(mm: float, sd: float = 0.0, own: float = 0.0, runs: int = 0) -> Rate:
    return Rate(mm, sd, own, runs, "measured")


# --- counts -----------------------------------------------------------------------------------------------------


def test_small_words() -> None:
    assert [count_of(value) for value in (0.9, 1.0, 1.9, 2.0)] == ["0 runs", "1 run", "1 run", "2 runs"]
    assert [is_turned(text) for text in ("turned over", "Flipped", "reversed", "as moulded", None)] == [
        True,
        True,
        True,
        False,
        False,
    ]
    assert (Place("lf").axle, Place("rr").axle) == ("front", "rear")


def test_a_new_heat_cycle_after_an_hour_of_rest() -> None:
    def cycles(*at: str) -> int:
        return heat_cycles([CarRun(1, place, clock, "31", "") for place, clock in enumerate(at, 1)])

    assert (cycles("10:00", "11:00"), cycles("10:00", "11:01"), cycles("10:00:30", "11:00:30")) == (1, 2, 1)
    assert (cycles("10:00", "", "11:30"), cycles("", ""), cycles("10:00", "10:50", "11:40")) == (2, 1, 1)


def test_a_tyre_put_on_a_second_corner_has_left_the_first() -> None:
    event = car(clean("31", 1, 3), *fit(1, 1, **SET), *fit(1, 2, lf="B"))
    assert {corner: held[0] for corner, held in fitted_now(event, ["31"]).items()} == {"lf": "B", "lr": "C", "rr": "D"}
    (first, second) = stints(event, "B")
    assert first == Stint("B", "31", Place("rf"), first.first, first.first, 1)
    assert (second.place, second.runs, second.first.run, second.last.run) == (Place("lf"), 2, 2, 3)
    assert runs_of(event) == {"A": 1, "B": 3, "C": 3, "D": 3}


def test_which_rows_are_runs_of_the_car() -> None:
    from paddock.engine.tyres import car_runs

    rows = [
        TimeRow(day=1, run=run, number="31", **cells)
        for run, cells in enumerate(({}, {"cones": 1}, {"misses": 0}, {"at": "09:00"}), 1)
    ]  # type: ignore[arg-type]
    assert [(item.run, item.at) for item in car_runs(car(rows), ["31"])] == [(2, ""), (3, ""), (4, "09:00")]
    assert my_cars(car([], *fit(1, 1, number="9", lf="A"), mine={"numbers": ["31"]})) == {"31": ("31",), "9": ("9",)}


# --- wear -------------------------------------------------------------------------------------------------------


def test_shrinking_by_hand() -> None:
    """Rates .04 and .06 with s = .01, tau = .02: weights equal, mean .05, pull .2: .042 and .058."""
    one, two = shrink([(0.04, 0.01), (0.06, 0.01)], 0.02)
    assert (one[0], two[0]) == (pytest.approx(0.042), pytest.approx(0.058))
    assert one[1] == pytest.approx(math.sqrt(0.8 * 0.0001 + 0.04 / (2 / 0.0005)))
    assert one[2] == pytest.approx(0.8)


def test_an_edge_may_grow_by_scatter_and_not_by_more() -> None:
    def seen(last: float) -> list[Observed]:
        event = car(
            clean("31", 1, 10), *fit(1, 1, lf="A"), tread(0, "A", None, None, 6.0), tread(1, "A", None, None, last)
        )
        return list(observe(stretches(event), "31").get(("front", "outer"), []))

    limit = 3 * math.sqrt(2) * GAUGE_SD_MM
    assert seen(6.0 + limit - 0.001) == [
        Observed("A", pytest.approx(-0.0423, abs=1e-3), pytest.approx(0.01414, abs=1e-4), 10)
    ]
    assert seen(6.0 + limit + 0.001) == []
    assert observe((), "31") == {}


def test_the_order_of_trust() -> None:
    item = [Observed("A", 0.05, 0.01, 10)]
    assert rates_of({("front", "outer"): item}, "A", "front")["outer"].basis == "measured"
    assert rates_of({("front", "outer"): item}, "B", "front")["outer"].basis == "other tyres"
    assert rates_of({("front", "outer"): item}, "B", "rear")["outer"].basis == "other axle"
    assert rates_of({("mixed", "outer"): item}, "B", "rear")["outer"].basis == "mixed places"
    kind = rates_of({}, "B", "rear", {("rear", "outer"): item})["outer"]
    assert kind.basis == "other kind"
    assert kind.sd == pytest.approx(math.sqrt(0.03**2 + 0.01**2 + 0.03**2))
    other = rates_of({("front", "outer"): item}, "B", "front")["outer"]
    assert other.sd == pytest.approx(math.sqrt(0.0125**2 + 0.01**2 + 0.0125**2))
    assert rates_of({}, "B", "rear") == {}
    pair = [Observed("A", 0.04, 0.01, 10), Observed("C", 0.08, 0.04, 30)]
    rough = (0.04 * 10 + 0.08 * 30) / 40
    weights = [1 / (sd**2 + (0.25 * rough) ** 2) for sd in (0.01, 0.04)]
    drawn = rates_of({("front", "outer"): pair}, "B", "front")["outer"]
    assert drawn.mm == pytest.approx((weights[0] * 0.04 + weights[1] * 0.08) / sum(weights))
    assert drawn.sd == pytest.approx(math.sqrt((0.25 * rough) ** 2 + 1 / sum(weights)))


def test_stretches_know_their_place_and_their_kind() -> None:
    rows: list[Row] = [
        *tyres("A", kind="soft"),
        *fit(1, 1, lf="A"),
        tread(0, "A", 6, None, 6),
        tread(1, "A", 5, 5, 5.5),
        tread(3, "A", 4, 4, 5),
    ]
    (first, second) = stretches(car(clean("31", 1, 4) + clean("31", 2, 2), *rows))
    assert (first.runs, first.days, first.joined, first.kind, first.place) == (4, (0, 1), False, "soft", Place("lf"))
    assert first.drop_mm == {"inner": 1.0, "outer": 0.5}
    assert (second.runs, second.days, second.joined) == (2, (1, 3), True)
    assert stretches(car([], *rows)) == ()
    assert turned_over({"inner": 1.0, "middle": 2.0, "outer": 3.0}) == {"outer": 1.0, "middle": 2.0, "inner": 3.0}


# --- life -------------------------------------------------------------------------------------------------------


def test_a_life_at_its_ends() -> None:
    assert runs_to(3.0, rate(0.05)) == (
        pytest.approx(60),
        pytest.approx(60 - 2.563103, abs=1e-5),
        pytest.approx(60 + 2.563103, abs=1e-5),
    )
    assert runs_to(3.0, rate(-0.05))[0] is None
    assert runs_to(3.0, rate(0.0, 0.01))[0] is None
    assert runs_to(-1.0, rate(0.01, 0.1))[1] == 0.0
    at_floor = life_of({"inner": 1.6, "outer": 5.0}, 0, {"outer": rate(0.05)})
    assert (at_floor.runs, at_floor.low, at_floor.edge) == (0.0, 0.0, "inner")
    past = life_of({"outer": 2.0}, 100, {"outer": rate(0.05)})
    assert (past.runs, past.low, past.high) == (0.0, 0.0, 0.0)
    assert past.depth_mm == {"outer": pytest.approx(-3.0)}


# --- moves ------------------------------------------------------------------------------------------------------


def four(front: float, rear: float, spare: float = 4.0) -> dict[str, Stock]:
    return {
        corner: Stock(corner.upper(), {"outer": spare}, {"outer": front if corner[1] == "f" else rear})
        for corner in ("lf", "rf", "lr", "rr")
    }


def test_swapping_axles_by_hand() -> None:
    """4 mm, .08 and .02 a run: kept apart 50 runs; half the runs each way (4 / .05 = 80), so 40 and 40."""
    found = gain(four(0.08, 0.02), FRONT_REAR)
    assert found is not None
    assert (found.after, found.without, found.life, found.runs) == (
        pytest.approx(40, abs=1e-3), pytest.approx(50), pytest.approx(80), pytest.approx(30),
    )  # fmt: skip
    assert gain(four(0.0, 0.0), FRONT_REAR) is None
    assert gain({}, FRONT_REAR) is None
    assert gain({corner: stock for corner, stock in four(0.08, 0.02).items() if corner != "lr"}, FRONT_REAR) is None
    at_floor = gain(four(0.08, 0.02, 0.0), FRONT_REAR)
    assert at_floor is not None
    assert (at_floor.without, at_floor.life) == (0.0, pytest.approx(0.0, abs=1e-6))
    still = {corner: Stock(corner, {"outer": 0.0}, {"outer": 0.0}) for corner in ("lf", "rf")}
    unworn = gain(still, SIDES)
    assert unworn is not None
    assert (unworn.without, unworn.runs) == (0.0, 0.0)


def test_turning_over_by_hand() -> None:
    stocks = {
        corner: Stock(corner, {"inner": 4.0, "outer": 4.0}, {"inner": 0.02, "outer": 0.08}) for corner in ("lf", "rf")
    }
    found = gain(stocks, FLIP)
    assert found is not None
    assert (found.without, found.life) == (pytest.approx(50), pytest.approx(80))
    stays = gain(stocks, SIDES)
    assert stays is not None
    assert stays.runs == pytest.approx(0)


def state(tyre: str, corner: str, wear: dict[str, float], spare: float = 4.0, **row: Any) -> TyreState:
    found = {"size": "205/50R16", "directional": False} | row
    return TyreState(
        tyre=tyre, row=TyreRow(tyre=tyre, **found), car="h", place=Place(corner), runs=0, wear={edge: rate(mm) for edge, mm in wear.items()},
        life=Life(spare / max(wear.values()), None, None, "outer", dict.fromkeys(wear, spare + 1.6)),
        read_mm=dict.fromkeys(wear, spare + 1.6),
    )  # fmt: skip


def held(front: dict[str, float], rear: dict[str, float], **row: Any) -> Inventory:
    states = tuple(state(tyre, corner, front if corner[1] == "f" else rear, **row) for corner, tyre in SET.items())
    return Inventory(states, {"h": SET})


OUTER, EVEN = {"inner": 0.02, "outer": 0.08}, {"inner": 0.02, "outer": 0.02}


def kinds(found: Inventory) -> tuple[list[str], list[str]]:
    proposals, refusals = moves_for(found)
    return [item.kind for item in proposals], [item.kind for item in refusals]


def test_which_moves_are_worth_it_and_which_can_not_be() -> None:
    assert kinds(held(OUTER, EVEN)) == (["swap", "flip"], [])
    assert kinds(held(OUTER, EVEN, directional=True)) == (["swap", "flip"], ["sides", "sides"])
    assert kinds(held(OUTER, EVEN, directional=None)) == (["swap"], ["sides", "flip", "sides", "flip"])
    assert kinds(held(OUTER, EVEN, size=None)) == (["flip"], ["swap"])
    assert kinds(held(EVEN, EVEN)) == ([], [])
    mixed = held(OUTER, EVEN)
    odd = replace(
        mixed,
        tyres=(
            *mixed.tyres[:2],
            *(
                replace(item, row=TyreRow(tyre=item.tyre, size="225/45R16", directional=False))
                for item in mixed.tyres[2:]
            ),
        ),
    )
    assert kinds(odd) == (["flip"], ["swap"])
    left_right = replace(
        mixed,
        tyres=(replace(mixed.tyres[0], row=TyreRow(tyre="A", size="225/45R16", directional=False)), *mixed.tyres[1:]),
    )
    assert kinds(left_right) == ([], ["swap", "flip"])
    three = Inventory(mixed.tyres[:3], {"h": {"lf": "A", "rf": "B", "lr": "C"}})
    assert kinds(three) == (["flip"], [])
    assert set(stocks_of(SET, mixed)) == set(SET)


def test_a_move_must_buy_three_runs_and_a_twentieth() -> None:
    def swap(front: float, spare: float) -> bool:
        states = tuple(
            state(tyre, corner, {"outer": front if corner[1] == "f" else 0.04}, spare) for corner, tyre in SET.items()
        )
        return "swap" in kinds(Inventory(states, {"h": SET}))[0]

    assert not swap(0.0439, 4.0)  # 91.1 runs without, 95.4 with: 4.7 %
    assert swap(0.0445, 4.0)  # 89.9 without, 94.7 with: 5.3 %
    assert not swap(0.06, 0.8)  # 13.3 without, 16.0 with: 2.7 runs
    assert swap(0.06, 1.0)  # 16.7 without, 20.0 with: 3.3 runs


def test_a_proposal_in_words() -> None:
    proposals, _ = moves_for(held(OUTER, EVEN))
    assert isinstance(proposals[0], Proposal)
    assert proposals[0].sentence.startswith(
        "h: swap front and rear on each side after 40 more runs or a little before: "
    )
    assert "after about 80 runs instead of" in proposals[0].sentence
    assert proposals[0].tyres == ("A", "B", "C", "D")
    worn = moves_for(held({"inner": 0.02, "outer": 0.08}, EVEN, size="X"))[0]
    assert worn[0].runs_gained == pytest.approx(30)
    assert isinstance(moves_for(held(OUTER, EVEN, size=None))[1][0], Refusal)


# --- one set or two ---------------------------------------------------------------------------------------------


def test_square_against_staggered_by_hand() -> None:
    """4 mm: .08 against .02 outside: 50 and 200 runs apart, 80 in one set; with 100 a tyre 5.00 a run either way."""
    assert lives(4.0, {"outer": 0.08}, {"outer": 0.02}) == (pytest.approx(50), pytest.approx(200), pytest.approx(80))
    assert lives(0.0, {"outer": 0.08}, {"outer": 0.02}) is None
    assert lives(4.0, {"outer": 0.0}, {"outer": 0.02}) is None
    assert lives(4.0, {"inner": 0.08}, {"outer": 0.02}) is None
    (found,) = square_against_staggered(held({"outer": 0.08}, {"outer": 0.02}, price=100.0))
    assert (found.is_square, found.new_mm) == (True, pytest.approx(5.6))
    assert (found.apart_cost, found.square_cost) == (
        pytest.approx(2 * 100 / 50 + 2 * 100 / 200),
        pytest.approx(400 / 80),
    )
    (bare,) = square_against_staggered(held({"outer": 0.08}, {"outer": 0.02}, size=None))
    assert (bare.is_square, bare.apart_cost, bare.square_cost) == (None, None, None)
    assert square_against_staggered(Inventory(held(OUTER, EVEN).tyres, {"h": {"lf": "A", "rf": "B", "lr": "C"}})) == ()


# --- buying -----------------------------------------------------------------------------------------------------


def test_runs_to_come() -> None:
    two = car(clean("31", 1, 3), mine={"numbers": ["31"]})
    assert (runs_per_event(two, "31", 2), runs_still_to_come(two, "31")) == (6.0, 3.0)
    assert runs_still_to_come(car([], mine={"numbers": ["31"]}), "31") == 6.0
    assert runs_still_to_come(car(clean("31", 2, 1), mine={"numbers": ["31"]}), "31") == 0.0
    unsaid = car(clean("31", 1, 4) + clean("31", 2, 2), mine={"numbers": ["31"]}, runs_per_day=None)
    assert runs_per_event(unsaid, "31", 4) == 12.0
    assert runs_per_event(car([], mine={"numbers": ["31"]}, runs_per_day=None), "31", 2) is None


def test_what_is_booked_after_this() -> None:
    event = car([], mine={"numbers": ["31"]})
    booked = [
        Booking.model_validate(item) for item in (
            {"name": "late", "days": [date(2026, 7, 1)]}, {"name": "next", "days": [date(2026, 6, 1), date(2026, 6, 2)]},
            {"name": "same", "days": [date(2026, 5, 10)]}, {"name": "dayless"},
        )
    ]  # fmt: skip
    assert coming_events(event, "31", booked) == (
        Coming("next", date(2026, 6, 1), 6.0),
        Coming("late", date(2026, 7, 1), 3.0),
    )
    assert coming_events(event, "31", ()) == (Coming("another event like this", date.max, 6.0),)


def test_where_the_runs_run_out() -> None:
    coming = (Coming("a", date(2026, 6, 1), 6.0), Coming("b", date(2026, 7, 1), 4.0))
    assert [_runs_out_at(left, 3.0, coming) for left in (2.9, 3.0, 8.9, 9.0, 12.9, 13.0)] == [
        (True, None), (True, coming[0]), (True, coming[0]), (True, coming[1]), (True, coming[1]), (False, None),
    ]  # fmt: skip


def test_an_order_that_comes_too_late() -> None:
    event = car([])
    assert _late(date(2026, 5, 10), event) == ""
    assert _late(date(2026, 5, 8), event) == " That is 2 days before this event's last day: borrow, or buy from stock."
    assert _late(date(2026, 5, 8), car([], days=[])) == ""


def buy(event: Event, runs: float, low: float | None = None, **row: Any) -> list[Proposal]:
    found = {"size": "205/50R16", "price": 100.0, "delivery_days": 10} | row
    states = tuple(
        TyreState(tyre, TyreRow(tyre=tyre, **found), "31", Place(corner), life=Life(runs, low))
        for corner, tyre in (("lf", "A"), ("rf", "B"))
    )
    spare = TyreState("S", TyreRow(tyre="S", size="205/50R16"), life=Life(30.0))
    booked = [
        Booking.model_validate({"name": "Second", "days": [date(2026, 6, 6)]}),
        Booking.model_validate({"name": "Third", "days": [date(2026, 7, 4)]}),
    ]
    return list(orders(event, Inventory((*states, spare), {"31": {"lf": "A", "rf": "B"}}), booked))


def test_orders_in_words() -> None:
    event = car(clean("31", 1, 1) + clean("31", 2, 3), mine={"numbers": ["31"]})
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
    (now,) = buy(car(clean("31", 1, 1), mine={"numbers": ["31"]}), 2.0)
    assert "this event still asks more: have others before the next run" in now.sentence


# --- dates and questions ----------------------------------------------------------------------------------------


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
            for item in questions(car(clean("31", 1, 5), *rows), past)
        ]

    on = [
        FittedRow(day=1, run=run, number="31", corner=corner, tyre="A", line=line)
        for run, corner, line in ((1, "lf", 2), (2, "rf", 3))
    ]  # type: ignore[arg-type]
    assert asked(*on) == [("fitted.csv", 3, "tyre A is put on rf and is still on lf (line 2)")]
    swap = [FittedRow(day=1, run=2, number="31", corner="lf", tyre="B", line=4)]
    assert asked(*on, *swap) == []
    assert asked(*fit(1, 1, lf="A"), tread(0, "A", 6, 6, 6, 2), tread(1, "A", 6.1, 5, 5, 3)) == [
        ("tread.csv", 3, "the inner edge of tyre A grew by 0.10 mm from day 0 to day 1"),
    ]
    assert asked(*fit(1, 1, lf="A"), *tyres("B")) == [("fitted.csv", 0, "tyre A isn't in tyres.csv")]
    old = car(clean("31", 1, 5), *tyres("A", runs_before=10), *fit(1, 1, lf="A"))
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
    found = inventory(car(clean("31", 1, 10) + clean("31", 2, 4), *rows)).tyres[0]
    assert (found.runs, found.event_runs, found.runs_by_corner, found.cycles) == (19, 14, {"lf": 14}, 2)
    assert (found.read_on_day, found.runs_since_reading, found.read_mm) == (1, 4, {"inner": 7, "middle": 7, "outer": 7})
    assert found.age_years == pytest.approx((date(2026, 5, 10) - date(2026, 1, 4)).days / 365.25)
    assert found.life.runs == pytest.approx((6.5 - 1.6) / 0.05 - 4)
    assert found.cost_so_far == pytest.approx(120 / 19)
    unread = inventory(car(clean("31", 1, 2), *tyres("B"), *fit(1, 1, lf="B"))).tyres[0]
    assert (unread.read_on_day, unread.life.runs, unread.cost_per_run, unread.age_years) == (None, None, None, None)
    assert inventory(car([], *tyres("B"))).of("Z") is None
