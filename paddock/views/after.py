"""The day closed: questions answered or left, the plan for next time, and what is asked about the next event."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from paddock.engine.cold import SitePlace
from paddock.engine.season.carry import Carried
from paddock.engine.work.due import PLAN, QUESTIONS, ClosingQuestion, answer, plan_for_next, plan_note
from paddock.errors import UsageError
from paddock.ids import new_id
from paddock.model.edit import AddRow, Batch, ChangeRow
from paddock.model.event import Event
from paddock.model.rows import NoteRow
from paddock.store.archive import Packed
from paddock.store.places import typed
from paddock.words import plural

NEXT = "debrief next"
"""The question the plan answers."""


@dataclass(frozen=True, slots=True)
class AfterAsked:
    """A question with its answer, "" = none yet. ``name``: a word for it."""

    topic: str
    name: str
    text: str
    answer: str


def _note(event: Event, topic: str, day: int | None = None) -> NoteRow | None:
    """The last note of a topic; ``day``: of that day."""
    rows = [row for row in event.of(NoteRow) if row.topic == topic and row.text]
    rows = [row for row in rows if day is None or row.day == day]
    return rows[-1] if rows else None


def asked(event: Event) -> tuple[AfterAsked, ...]:
    """The questions but the last, which is the plan."""
    return tuple(
        AfterAsked(item.topic, item.topic.removeprefix("debrief "), item.text, answered(event, item.topic))
        for item in QUESTIONS if item.topic != NEXT
    )  # fmt: skip


def answered(event: Event, topic: str) -> str:
    """The answer so far."""
    row = _note(event, topic)
    return (row.text or "") if row else ""


def _question(topic: str) -> ClosingQuestion:
    return next(item for item in QUESTIONS if item.topic == topic)


def _kept(event: Event, question: ClosingQuestion, text: str, day: int) -> AddRow | ChangeRow:
    """The answer in place of the one before, else a new note."""
    old = _note(event, question.topic)
    return answer(new_id(), question, text, day) if old is None else _changed(old, text)


def _changed(row: NoteRow, text: object) -> ChangeRow:
    return ChangeRow(NoteRow.FILE, (row.id,), {"text": text})


def answer_edit(event: Event, topic: str, text: str, day: int) -> Batch:
    """Keep the answer to a question."""
    return Batch(f"answer: {topic.removeprefix('debrief ')}", (_kept(event, _question(topic), text, day),))


def plan_now(event: Event) -> tuple[str, str, bool]:
    """What to test, what is expected, and whether somebody wrote it; blank where there is nothing."""
    found = plan_for_next(event)
    return ("", "", False) if found is None else (found.test, found.expect, found.written)


def plan_edit(event: Event, test: str, expect: str, day: int) -> Batch:
    """Keep the plan, in place of the one written this day, and with it the question it answers."""
    made = plan_note(new_id(), test, expect, day)
    text = str(made.cells["text"])
    old = _note(event, PLAN, day)
    edits = (made if old is None else _changed(old, text), _kept(event, _question(NEXT), text, day))
    return Batch("the plan", edits)


def packed_words(packed: Packed) -> str:
    """Where the zip is, what is in it, and below what was left out."""
    head = f"{packed.file}: {plural(len(packed.members), 'file')}, sha256 begins {packed.sha256[:16]}"
    return "\n".join((head, *(f"left out: {name}" for name in packed.left_out)))


# the next event


def folder_of(text: str, here: Path) -> Path:
    """The folder meant: beside this event's unless a path is written. Raises ValueError where it can be none."""
    try:
        return here.resolve().parent / typed(text)
    except UsageError as error:
        raise ValueError(str(error)) from None


def _number(text: str, what: str, low: float, high: float) -> float | None:
    if text in {"-", "?"}:
        return None
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        raise ValueError(f"{text!r} is no {what}; - where it isn't known") from None
    if not low <= value <= high:
        raise ValueError(f"{text} is no {what}: from {low:g} to {high:g} is taken")
    return value


def read_altitude(text: str) -> float | None:
    """Metres; None for ``-``. Raises ValueError with a sentence."""
    return _number(text, "altitude in metres", -500, 6000)


def read_air(text: str) -> float | None:
    """Degrees C; None for ``-``. Raises ValueError with a sentence."""
    return _number(text, "air temperature in C", -40, 60)


def read_hottest(text: str, coldest: object) -> float | None:
    """The hottest air, not below the ``coldest`` answered before it. Raises ValueError with a sentence."""
    value = read_air(text)
    if value is not None and isinstance(coldest, float) and value < coldest:
        raise ValueError(f"the hottest air ({value:g}) is below the coldest ({coldest:g}); Backspace goes back to it")
    return value


def place_of(answers: Mapping[str, object]) -> SitePlace:
    """The place and its forecast."""
    altitude, coldest, hottest = (_float(answers.get(name)) for name in ("altitude", "coldest", "hottest"))
    return SitePlace(altitude, coldest, hottest)


def _float(value: object) -> float | None:
    return value if isinstance(value, float) else None


def carried_lines(carried: Carried) -> tuple[str, ...]:
    """What was carried, then what a person must look at, a phrase each."""
    return (*carried.words, *(f"! {item}" for item in carried.questions))
