"""The debrief's questions and the plan for next time."""

from __future__ import annotations

from dataclasses import replace

import pytest

from paddock.engine.work.due import (
    CARRIED_PLAN,
    CARRIED_UNDECIDED,
    QUESTIONS,
    answer,
    carried_tests,
    closing_note,
    plan_for_next,
    plan_note,
    questions_left,
)
from paddock.engine.work.notes import all_notes
from paddock.model.car import Car
from paddock.model.edit import AddRow
from paddock.model.event import Event
from paddock.model.rows import NoteRow, RunRow, SetupChange
from tests.engine.tyres.make import car, clean


def _event(*rows: NoteRow | SetupChange) -> Event:
    return car(clean("26", 1, 3) + clean("26", 2, 3), *rows)


def _note(id_: str, text: str, day: int | None = None, topic: str = "plan") -> NoteRow:
    return NoteRow(id=id_, day=day, topic=topic, text=text)


def test_an_answer_closes_its_question() -> None:
    row = NoteRow(**dict(answer("n1", QUESTIONS[2], "braked late at gate 4", 2).cells))
    left = questions_left(_event(row))
    assert len(left) == len(QUESTIONS) - 1
    assert QUESTIONS[2] not in left


def test_a_plan_is_one_thing_and_what_is_expected() -> None:
    row = NoteRow(**dict(plan_note("n1", "rear bar 3-4 against 3-3", "0.2 s in the slow ones", 2).cells))
    plan = plan_for_next(_event(row))
    assert plan is not None
    assert (plan.test, plan.expect, plan.written) == ("rear bar 3-4 against 3-3", "0.2 s in the slow ones", True)


def test_a_plan_in_ones_own_words_is_taken_as_it_is() -> None:
    plan = plan_for_next(_event(_note("n1", "leave the bar alone; watch pressures", 2)))
    assert plan is not None
    assert (plan.test, plan.expect) == ("leave the bar alone; watch pressures", "")


def test_the_plan_for_a_day_that_is_over_is_not_carried_and_an_open_test_is() -> None:
    old = _note("n1", "test: pressures", 1)
    change = SetupChange(id="c", day=2, run=2, kind="test", item="front bar", before="2", after="1", expect="more grip")
    plan = plan_for_next(_event(old, change))
    assert plan is not None
    assert not plan.written
    assert (plan.test, plan.expect) == ("front bar 2 against 1, old-new-new-old", "more grip")
    assert plan_for_next(_event(old)) is None


def test_a_decided_or_undone_test_is_no_plan() -> None:
    kept = SetupChange(id="c", day=2, kind="test", item="bar", decision="keep")
    undone = [SetupChange(id="d", day=2, kind="test", item="bar"), SetupChange(id="e", day=2, kind="test", undoes="d")]
    assert plan_for_next(_event(kept, *undone)) is None


def test_a_plan_carried_once_is_shown_and_not_carried_again() -> None:
    event = _event(_note("n1", "test: bar", topic=CARRIED_PLAN))
    assert plan_for_next(event) is None


def test_the_edits_cell_by_cell() -> None:
    plain = {"id": "n", "topic": "debrief mistake", "text": "late"}
    assert answer("n", QUESTIONS[2], "late") == AddRow("notes.csv", plain)
    assert answer("n", QUESTIONS[2], "late", 0) == AddRow("notes.csv", plain | {"day": 0})
    assert plan_note("n", "bar").cells == {"id": "n", "topic": "plan", "text": "test: bar"}
    assert plan_note("n", "bar", "calm", 2, "later").cells == {
        "id": "n", "topic": "later", "text": "test: bar; expect: calm", "day": 2,
    }  # fmt: skip


def test_a_question_is_open_until_a_note_says_something() -> None:
    rows = [_note("a", "", topic="debrief car"), _note("b", "a stone", topic="debrief tyres")]
    left = [item.topic for item in questions_left(_event(*rows))]
    assert left == [item.topic for item in QUESTIONS if item.topic != "debrief tyres"]
    assert closing_note(_event(*rows), "debrief car") is None
    dayless = [_note("a", "one", 1), _note("b", "two"), _note("c", "")]
    assert [(note.id if (note := closing_note(_event(*dayless), "plan", day)) else "") for day in (None, 1, 2)] == [
        "b", "a", "",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "test", "expect"),
    [
        ("test: bar 2-2; expect: calm", "bar 2-2", "calm"), (" Test: bar ;Expect:  calm\nand quick ", "bar", "calm\nand quick"),
        ("bar; expect:", "bar", ""), ("bar;expect: a; b", "bar", "a; b"), ("expect: calm", "expect: calm", ""), ("test:", "", ""),
    ],
)  # fmt: skip
def test_how_a_plan_is_read(text: str, test: str, expect: str) -> None:
    plan = plan_for_next(_event(_note("n", text, 2)))
    assert plan is not None
    assert (plan.test, plan.expect, plan.written) == (test, expect, True)


def test_the_latest_plan_is_by_day_then_clock_then_place_in_the_file() -> None:
    def latest(*notes: tuple[str, int | None, str | None]) -> str:
        rows = [NoteRow(id=text, day=day, at=at, topic="plan", text=text) for text, day, at in notes]
        plan = plan_for_next(car([], *rows))
        return plan.test if plan else ""

    assert latest(("a", 2, "18:00"), ("b", 1, "19:00")) == "a"
    assert latest(("a", 1, "19:00"), ("b", 1, "18:00"), ("c", None, "20:00")) == "a"
    assert latest(("a", 1, "18:00"), ("b", 1, "18:00")) == "b"
    assert latest(("a", 1, None), ("b", 1, None), ("c", 1, "07:00")) == "c"
    assert latest(("a", None, None), ("b", None, "")) == "b"
    assert latest(("", 2, None), ("b", 1, None)) == "b"


def test_a_plan_counts_from_the_latest_day_run_on() -> None:
    def carried(*days: int | None, run: int) -> str:
        found = car(clean("26", run, 1), *(_note(f"p{day}", f"of {day}", day) for day in days))
        plan = plan_for_next(found)
        return plan.test if plan else ""

    assert (carried(1, 2, run=2), carried(1, run=2), carried(1, None, run=2), carried(2, run=1)) == (
        "of 2", "", "of None", "of 2",
    )  # fmt: skip


def test_an_open_test_as_the_plan_names_its_car_where_there_are_two_and_how_it_is_made() -> None:
    cells = {"day": 2, "run": 2, "number": "26", "kind": "test", "before": "2", "after": "1"}
    quick, slow = SetupChange(id="c", setting="front_bar", **cells), SetupChange(id="c", item="springs", **cells)
    nameless = SetupChange(id="c", day=2, run=2, number="26", kind="test")
    mine = {"numbers": ["26", "9"], "cars": {"26": "h", "9": "k"}}

    def said(change: SetupChange, **cars: Car) -> str:
        plan = plan_for_next(replace(car(clean("26", 2, 3), change, mine=mine), cars=cars))
        assert plan is not None
        assert (plan.expect, plan.written) == ("", False)
        return plan.test

    assert said(quick, h=Car()) == "front_bar 2 against 1, old-new-new-old"
    assert said(slow, h=Car(), k=Car()) == "h: springs 2 against 1, a whole day each"
    assert said(nameless, h=Car()) == "the change ? against ?, a whole day each"


def test_what_the_last_event_left_plan_first() -> None:
    rows = [_note("a", "bar", topic=CARRIED_UNDECIDED), _note("b", "", topic=CARRIED_PLAN),
            _note("c", "toe", topic=CARRIED_PLAN), _note("d", "other")]  # fmt: skip
    assert carried_tests(_event(*rows)) == ("toe", "bar")


def test_notes_typed_with_a_run_stand_behind_mine() -> None:
    rows = [RunRow(day=1, run=2, number="26", at="09:00", note="slid"), RunRow(day=1, run=3, number="26")]
    own = _note("n", "windy", 1)
    assert all_notes(car([], *rows, own)) == (
        own, NoteRow(id="", day=1, run=2, at="09:00", topic="with the run of 26", text="slid"),
    )  # fmt: skip
