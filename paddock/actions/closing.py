"""The day closed: answers and the plan for next time, each in place of the one before."""

from __future__ import annotations

from paddock.engine.work.due import NEXT, PLAN, QUESTIONS, ClosingQuestion, answer, closing_note, plan_note
from paddock.ids import new_id
from paddock.model.edit import AddRow, Batch, ChangeRow
from paddock.model.event import Event
from paddock.model.rows import NoteRow


def _kept(event: Event, topic: str, text: str, day: int) -> AddRow | ChangeRow:
    """The answer in place of the one before, else a new note."""
    question: ClosingQuestion = next(item for item in QUESTIONS if item.topic == topic)
    old = closing_note(event, topic)
    return answer(new_id(), question, text, day) if old is None else _changed(old, text)


def _changed(row: NoteRow, text: object) -> ChangeRow:
    return ChangeRow(NoteRow.FILE, (row.id,), {"text": text})


def answer_edit(event: Event, topic: str, text: str, day: int) -> Batch:
    """Keep the answer to a question."""
    return Batch(f"answer: {topic.removeprefix('debrief ')}", (_kept(event, topic, text, day),))


def plan_edit(event: Event, test: str, expect: str, day: int) -> Batch:
    """Keep the plan, in place of the one written this day, and with it the question it answers."""
    made = plan_note(new_id(), test, expect, day)
    text = str(made.cells["text"])
    old = closing_note(event, PLAN, day)
    return Batch("the plan", (made if old is None else _changed(old, text), _kept(event, NEXT, text, day)))
