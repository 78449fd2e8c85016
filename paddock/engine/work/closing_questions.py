"""After the event: the questions to answer while it is fresh, and the plan for next time.

Answers are notes with the question's topic. The plan is one thing to test and what is expected of it, a note with
the topic ``plan``; ``paddock new --from`` carries it as ``plan from last time``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from paddock.model.edit import AddRow
from paddock.model.event import Event
from paddock.model.rows import ChangeRow, NoteRow

PLAN = "plan"
CARRIED_PLAN = "plan from last time"


@dataclass(frozen=True, slots=True)
class Question:
    """``topic`` is the topic of the note that holds the answer."""

    topic: str
    text: str


QUESTIONS = (
    Question("debrief fastest", "Where was the time: which run was the best, and what was different about it?"),
    Question("debrief slowest", "Where was it lost: which place on the course cost most, car or driver?"),
    Question("debrief mistake", "Which mistake came back, and what will be done instead?"),
    Question("debrief changes", "Which change is kept, which goes back, which is still open?"),
    Question("debrief tyres", "How did the tyres come in and go off, and what did the shoulders look like?"),
    Question("debrief car", "What was seen, felt or heard that must be looked at before it runs again?"),
    Question("debrief rivals", "Who was faster, where, and with what?"),
    Question("debrief next", "What is the one thing to test next time, and what is expected of it?"),
)


@dataclass(frozen=True, slots=True)
class Plan:
    """``expect`` blank: none written. ``written`` False: proposed from a test that is still open."""

    test: str
    expect: str = ""
    written: bool = True


def answer(id_: str, question: Question, text: str, day: int | None = None) -> AddRow:
    """The edit that keeps an answer."""
    cells: dict[str, object] = {"id": id_, "topic": question.topic, "text": text}
    return AddRow(NoteRow.FILE, cells | ({"day": day} if day is not None else {}))


def questions_left(event: Event) -> tuple[Question, ...]:
    """Questions without an answer."""
    topics = {row.topic for row in event.of(NoteRow) if row.text}
    return tuple(item for item in QUESTIONS if item.topic not in topics)


def plan_note(id_: str, test: str, expect: str = "", day: int | None = None, topic: str = PLAN) -> AddRow:
    """The edit that keeps the plan: one thing to test, and the expectation."""
    text = f"test: {test}" + (f"; expect: {expect}" if expect else "")
    cells: dict[str, object] = {"id": id_, "topic": topic, "text": text}
    return AddRow(NoteRow.FILE, cells | ({"day": day} if day is not None else {}))


_WRITTEN = re.compile(r"(?:test:\s*)?(?P<test>.*?)(?:;\s*expect:\s*(?P<expect>.*))?", re.DOTALL | re.IGNORECASE)


def _read(text: str) -> Plan:
    found = _WRITTEN.fullmatch(text.strip())
    return Plan(found["test"].strip(), (found["expect"] or "").strip()) if found else Plan(text)


def _open_test(event: Event) -> ChangeRow | None:
    rows = event.of(ChangeRow)
    undone = {row.undoes for row in rows if row.undoes}
    waiting = [row for row in rows if row.kind == "test" and row.decision is None and row.undoes is None]
    waiting = [row for row in waiting if row.id not in undone]
    return max(waiting, key=lambda row: (row.day or 0, row.run or 0), default=None)


def _written(event: Event, topic: str, since_day: int = 0) -> Plan | None:
    notes = [row for row in event.of(NoteRow) if row.topic == topic and row.text]
    notes = [row for row in notes if row.day is None or row.day >= since_day]
    if not notes:
        return None
    last = max(enumerate(notes), key=lambda pair: (pair[1].day or 0, pair[1].at or "", pair[0]))[1]
    return _read(last.text or "")


def plan_of(event: Event) -> Plan | None:
    """The plan in force: the last one written, else the one carried from last time; None: neither."""
    return _written(event, PLAN) or _written(event, CARRIED_PLAN)


def plan_for_next(event: Event) -> Plan | None:
    """What the next event begins with: a plan written on the latest day run or without a day.

    An older one was for a day that is over; then the latest test still open, once more old-new-new-old.
    """
    latest = max((row.day for row in event.times), default=0)
    written = _written(event, PLAN, latest)
    row = _open_test(event)
    if written is not None or row is None:
        return written
    car = event.car_name_of(row.number) if row.number and len(event.cars) > 1 else None
    what = f"{row.item or row.setting or 'the change'} {row.before or '?'} against {row.after or '?'}, old-new-new-old"
    what = f"{car}: {what}" if car else what
    return Plan(what, row.expect or "", written=False)
