"""The debrief's questions and the plan for next time."""

from __future__ import annotations

from paddock.engine.work.due import (
    CARRIED_PLAN,
    QUESTIONS,
    answer,
    plan_for_next,
    plan_note,
    questions_left,
)
from paddock.model.event import Event
from paddock.model.rows import NoteRow, SetupChange
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
