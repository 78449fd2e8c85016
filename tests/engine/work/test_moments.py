"""What a person writes under opened, due and done, and what becomes of it; which words name which fastener."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from paddock.actions.work import add_work, log_fault, note_found
from paddock.engine.tyres.counts import CarRun
from paddock.engine.work import due, implied_work, rechecks_for
from paddock.engine.work.rechecks import (
    CALIPERS,
    LINKS,
    RINGS,
    WHEELS,
    When,
    WorkMoment,
    axle_of,
    opened_at,
    rules_for,
    runs_since,
    torque_of,
    when_due,
    words_of,
)
from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.rows import Row, RunRow, SetupChange, TimeRow, WorkRow
from tests.engine.tyres.make import SET, car, clean, fit
from tests.factories import entrant, event, settings


def work(**more: Any) -> WorkRow:
    return WorkRow(**({"id": "w", "item": "look"} | more))


EMPTY = event([], [], settings())


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ("day 1 run 4", WorkMoment(1, 4)), ("Day 2 10:08", WorkMoment(2, None, "10:08")), ("d2 r3 9:05", WorkMoment(2, 3, "09:05")),
        ("2026-05-10", WorkMoment(2)), ("2026-05-09 run 2", WorkMoment(1, 2)), ("2026-05-11", WorkMoment()), ("2026-13-40", WorkMoment()),
        ("run 4", WorkMoment()), (None, WorkMoment()), ("at the last event", WorkMoment()),
    ],
)  # fmt: skip
def test_when_it_was_opened(text: str | None, moment: WorkMoment) -> None:
    assert opened_at(work(opened=text), EMPTY) == moment


@pytest.mark.parametrize(("text", "done"), [("", False), (None, False), (" No ", False), ("n", False), ("0", False), ("-", False),
                                            ("false", False), ("day 1", True), ("yes", True)])  # fmt: skip
def test_what_counts_as_done(text: str | None, done: bool) -> None:
    assert work(done=text).is_done is done


RUNS = tuple(
    CarRun(day, run, at, "26", "") for day, run, at in ((1, 1, "09:00"), (1, 2, "10:00"), (1, 3, ""), (2, 1, "09:00"))
)


@pytest.mark.parametrize(
    ("moment", "count"),
    [
        (WorkMoment(), 4), (WorkMoment(1), 4), (WorkMoment(1, 1), 4), (WorkMoment(1, 2), 3), (WorkMoment(1, 4), 1), (WorkMoment(1, None, "10:00"), 3),
        (WorkMoment(1, None, "10:01"), 2), (WorkMoment(2), 1), (WorkMoment(2, 2), 0), (WorkMoment(3), 0),
    ],
)  # fmt: skip
def test_runs_since(moment: WorkMoment, count: int) -> None:
    assert len(runs_since(moment, RUNS)) == count


@pytest.mark.parametrize(
    ("more", "runs", "when"),
    [
        ({}, 4, When(False, "open", 4)),
        ({"due": "some day"}, 4, When(False, "some day", 4)),
        ({"due": "next run", "opened": "day 1 run 2"}, 1, When(False, "after the next run", 1)),
        ({"due": "next run", "opened": "day 1 run 2"}, 2, When(True, "before the next run", 1)),
        ({"due": "before next run"}, 0, When(True, "before the next run", 0)),
        ({"due": "now"}, 0, When(True, "before the next run", 0)),
        ({"due": "after run 2"}, 1, When(False, "after run 2", 1)),
        ({"due": "after run 2"}, 2, When(True, "after run 2", 1)),
        ({"due": "before run 3"}, 1, When(False, "before run 3", 1)),
        ({"due": "before run 3"}, 2, When(True, "before run 3", 1)),
        ({"due": "after run 1", "opened": "day 2"}, 3, When(False, "after run 1", 1)),
        ({"due": "after day 2 run 1"}, 4, When(True, "after run 1", 1)),
        ({"due": "before run 1"}, 0, When(True, "before run 1 of day 1", 0)),
        ({"due": "before run 1 of day 2"}, 0, When(False, "before run 1 of day 2", 0)),
        ({"due": "before run 1 of day 2"}, 1, When(True, "before run 1 of day 2", 0)),
        ({"due": "in 3 runs"}, 1, When(False, "in 2 runs", 2)),
        ({"due": "in 3 runs"}, 2, When(False, "in 1 run", 2)),
        ({"due": "in 3 more runs"}, 3, When(True, "now", 2)),
        ({"due": "after the event"}, 4, When(False, "after the event", 3)),
        ({"due": "order now"}, 0, When(True, "order now", 0)),
        ({"due": " Order now "}, 4, When(True, "order now", 0)),
        ({"due": "order now or later"}, 0, When(True, "before the next run", 0)),
        ({"due": "2026-05-10"}, 3, When(False, "on 2026-05-10", 2)),
        ({"due": "2026-05-10"}, 4, When(True, "on 2026-05-10", 2)),
        ({"due": "2026-05-08"}, 0, When(True, "on 2026-05-08", 2)),
        ({"due": "2026-05-09"}, 0, When(False, "on 2026-05-09", 2)),
        ({"due": "2026-05-09"}, 1, When(True, "on 2026-05-09", 2)),
    ],
)  # fmt: skip
def test_when_it_is_due(more: dict[str, str], runs: int, when: When) -> None:
    assert when_due(work(**more), EMPTY, RUNS[:runs]) == when


def test_the_event_is_over_with_the_last_run_of_the_last_day() -> None:
    last = (*RUNS, CarRun(2, 3, "", "26", ""))
    assert when_due(work(due="after the event"), EMPTY, last) == When(True, "now the event is over", 3)
    early = (*RUNS, CarRun(1, 3, "", "26", ""), CarRun(2, 2, "", "26", ""))
    assert not when_due(work(due="after the event"), EMPTY, early).now
    unsaid = event([], [], settings(runs_per_day=None))
    assert not when_due(work(due="after the event"), unsaid, last).now


# --- words and fasteners ----------------------------------------------------------------------------------------


def test_words_of_a_key_or_item() -> None:
    assert words_of("Rear end-links, rear_bar") == {"rear", "end", "link", "bar"}
    assert words_of("axis toss bias") == {"axis", "toss", "bias"}
    assert words_of(None) == frozenset()
    assert (axle_of(words_of("front bar")), axle_of(words_of("front and rear")), axle_of(words_of("bar"))) == (
        "front",
        None,
        None,
    )


@pytest.mark.parametrize(
    ("words", "slugs"),
    [
        ("rear bar", ["links", "jam", "collars"]), ("rear tyre pressure", []), ("strut bar", ["damper", "wheels"]),
        ("wheels", ["wheels"]), ("steering wheel", []), ("front springs", ["rings", "damper", "wheels"]), ("rebound clicks", []),
        ("toe", ["rods"]), ("camber", ["camber", "wheels"]), ("brake pads", ["calipers", "pedal", "wheels"]), ("brake bias", []),
        ("seat", ["belts"]), ("end link", ["links", "jam"]), ("bar and end link", ["links", "jam", "collars"]), ("mirror", []),
    ],
)  # fmt: skip
def test_what_a_change_asks_for(words: str, slugs: list[str]) -> None:
    assert [check.slug for check in rules_for(words_of(words))] == slugs


def test_a_torque_only_where_the_car_file_names_one() -> None:
    assert torque_of(WHEELS, None, {"wheel nuts": 110.0}) == 110.0
    assert torque_of(WHEELS, None, {"wheel nuts": 110.0, "lug bolts": 110.0}) == 110.0
    assert torque_of(WHEELS, None, {"wheel nuts": 110.0, "lug bolts": 120.0}) is None
    assert torque_of(WHEELS, None, {"wheels": 110.0}) is None
    assert torque_of(LINKS, "rear", {"front end links": 40.0, "rear end links": 45.0}) == 45.0
    assert torque_of(LINKS, None, {"front end links": 40.0}) == 40.0
    assert torque_of(LINKS, "rear", {"front end links": 40.0}) is None
    assert torque_of(LINKS, "rear", {"end link jam nuts": 20.0}) is None
    assert torque_of(RINGS, None, {"spring perch lock": 30.0}) == 30.0
    assert torque_of(CALIPERS, None, {}) is None


# --- the list ---------------------------------------------------------------------------------------------------


def two_cars(*rows: Row) -> Event:
    mine = {"numbers": ["26", "83", "9"], "cars": {"26": "estate", "83": "estate", "9": "coupe"}}
    made = event([entrant("26"), entrant("83"), entrant("9")], [], settings(mine=mine), *rows)
    fasteners = {"wheel nuts": 110.0, "jam nut": 20.0}
    return replace(made, cars={"estate": Car.model_validate({"fasteners": fasteners}), "coupe": Car()})


def listed(number: str, *rows: Row) -> list[str]:
    return [item.id for item in due(two_cars(*rows), number)]


def test_whose_work_it_is() -> None:
    assert listed("26", work()) == listed("9", work()) == ["w"]
    assert (listed("26", work(item="coupe: oil")), listed("9", work(item="coupe: oil"))) == ([], ["w"])
    both = work(item="coupe and estate: oil")
    assert (listed("26", both), listed("9", both)) == (["w"], ["w"])
    assert listed("26", work(item="coupes in general")) == ["w"]
    change = SetupChange(id="c7", day=1, run=2, at="10:08:00", number="9", setting="mirror")
    assert (listed("26", work(reason="after c7"), change), listed("83", work(reason="after c77"), change)) == (
        [],
        ["w"],
    )
    assert listed("26", work(opened="day 1 10:08"), change) == []
    assert listed("26", work(opened="day 2 10:08"), change) == ["w"]
    assert listed("26", work(id="c7-x"), change) == []
    of_mate = change.model_copy(update={"number": "83"})
    assert listed("26", work(reason="after c7"), of_mate) == ["w"]
    assert listed("26", work(done="yes")) == []


def test_the_torque_on_the_list() -> None:
    def torque(**more: Any) -> float | None:
        return due(two_cars(work(**more)), "26")[0].torque_nm

    assert torque(item="rear wheel nuts") == 110.0
    assert torque(item="rear wheel nuts", torque_nm=100.0) == 100.0
    assert torque(item="wheel bearing") is None
    assert torque(item="jam nut on the link") == 20.0
    assert torque(item="jam nut and wheel nut") == 20.0


def test_the_pressing_stands_first() -> None:
    rows = [
        work(id="late", due="after the event"),
        work(id="open"),
        work(id="now", due="now"),
        work(id="next", due="next run"),
    ]
    assert listed("26", *rows) == ["now", "next", "late", "open"]


def test_rechecks_by_hand() -> None:
    change = SetupChange(id="c1", day=1, run=3, number="26", setting="front_bar", before="2", after="3")
    found = rechecks_for(two_cars(), change)
    assert [(row.id, row.item, row.opened, row.due, row.torque_nm) for row in found] == [
        ("c1-links", "front end links", "day 1 run 3", "next run", None),
        ("c1-jam", "front end-link jam nuts", "day 1 run 3", "next run", 20.0),
        ("c1-collars", "front bar collars", "day 1 run 3", "next run", None),
    ]
    assert found[0].reason == "front_bar 2 to 3 (change c1)"
    (bare,) = rechecks_for(two_cars(), SetupChange(id="c2", item="wheels"))
    assert (bare.opened, bare.reason, bare.item) == (None, "wheels ? to ? (change c2)", "wheel nuts")
    assert rechecks_for(two_cars(), SetupChange(id="c3", day=2, item="wheels"))[0].opened == "day 2"


def implied(*rows: Row) -> list[str]:
    return [row.id for row in implied_work(two_cars(*rows), ["26", "83"])]


def test_a_noise_of_the_last_run_asks_for_a_look() -> None:
    noisy = RunRow(day=1, run=2, number="26", unsafe="clonk rear")
    assert implied(noisy) == ["unsafe-1-2-26"]
    assert implied(RunRow(day=1, run=1, number="26", unsafe="clonk"), RunRow(day=1, run=2, number="83")) == []
    assert implied(RunRow(day=1, run=2, number="9", unsafe="clonk")) == []
    assert implied(noisy, work(item="the clonk", opened="day 1")) == []
    assert implied(noisy, work(item="the clonk")) == ["unsafe-1-2-26"]
    assert implied(noisy, work(item="rear wing", opened="day 1")) == ["unsafe-1-2-26"]


def test_a_car_that_spun_or_did_not_finish_is_looked_over_once() -> None:
    def off(*times: TimeRow, note: str = "", run: int = 2, more: tuple[Row, ...] = ()) -> list[tuple[str, str]]:
        whole = two_cars(RunRow(day=1, run=run, number="26", note=note), *more)
        whole = replace(whole, tables={**whole.tables, TimeRow.FILE: times})
        found = [row for row in implied_work(whole, ["26", "83"]) if row.id.startswith("off-")]
        assert all(
            (row.due, row.torque_nm, row.opened) == ("before next run", 110.0, f"day 1 run {run + 1}") for row in found
        )
        return [(row.id, row.reason or "") for row in found]

    def ended(run: int, status: str | None, number: str = "26") -> TimeRow:
        return TimeRow(day=1, run=run, number=number, time_ms=None if status else 50_000, status=status)

    dnf = [("off-1-2-26", "run 2 of 26 was not finished")]
    assert off(ended(1, None), ended(2, "dnf")) == dnf
    assert off(ended(2, None), note="Spun at the box") == [("off-1-2-26", "run 2 of 26 spun")]
    assert off(ended(2, None), note="nearly spun") == []
    assert off(ended(2, None), note="a spinning wheel") == []
    assert off(ended(2, "dnf"), ended(3, "dns")) == dnf
    assert off(ended(2, "dnf"), ended(3, None)) == []
    assert off(ended(2, "dnf"), ended(2, None, "83")) == dnf
    assert off(ended(2, "dnf", "9"), run=1) == []
    ticked = work(id="off-1-2-26", opened="day 1 run 3", done="day 1 10:30")
    assert off(ended(2, "dnf"), more=(ticked,)) == []


def test_what_a_person_wrote_stands_for_a_recheck() -> None:
    change = SetupChange(id="c1", day=1, run=3, number="26", item="rear wheels")
    assert implied(change) == ["c1-wheels"]
    assert implied(change, work(item="wheel nuts, rear", opened="day 1")) == []
    assert implied(change, work(item="wheel nuts, front", opened="day 1")) == ["c1-wheels"]
    assert implied(change, work(item="wheel nuts, rear")) == ["c1-wheels"]
    assert implied(change, work(item="look", reason="c1")) == []
    assert implied(change, work(id="c1-wheels", done="yes")) == []
    assert implied(change.model_copy(update={"number": "9"})) == []


def test_tyres_put_on_ask_for_their_nuts() -> None:
    of = car(clean("26", 1, 3), *fit(1, 1, **SET), *fit(1, 3, lf="E", rf="F"))
    (found,) = implied_work(of, ["26"])
    assert (found.id, found.reason, found.opened, found.item) == (
        "fit-26-1-3-wheels",
        "tyres on at lf, rf",
        "day 1 run 3",
        "wheel nuts",
    )
    assert implied_work(of, ["9"]) == ()
    blank = car(clean("26", 1, 3), *fit(1, None, **SET), *fit(2, None, lf="E"))
    assert [(item.id, item.opened) for item in implied_work(blank, ["26"])] == [("fit-26-2-0-wheels", "day 2")]


def test_edits_as_values() -> None:
    made = add_work("w1", "oil", "day 1", due="next run", torque_nm=25.0)
    assert made.cells == {"id": "w1", "opened": "day 1", "item": "oil", "due": "next run", "torque_nm": 25.0}
    assert log_fault("w1", "clonk", "", "day 1").cells["item"] == "find the clonk"
    assert log_fault("w1", "clonk", "right rear", "day 1", "run 3").cells == {
        "id": "w1", "opened": "day 1", "item": "find the clonk: right rear", "reason": "run 3", "due": "before next run",
    }  # fmt: skip
    assert note_found("w1", "a stone").cells == {"note": "a stone"}
    assert note_found("w1", "a stone", "day 1").cells == {"note": "a stone", "done": "day 1"}
