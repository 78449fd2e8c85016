"""What is written down: notes, the weather of a moment, answers and the plan when the day is closed."""

from __future__ import annotations

from paddock.actions.runs import one_row
from paddock.engine.clock.when import last_run
from paddock.engine.where.splits import course_of, element_named
from paddock.engine.work.due import NEXT, PLAN, QUESTIONS, ClosingQuestion, answer, closing_note, plan_note
from paddock.entry.weather import WeatherLine
from paddock.model.edit import AddRow, Batch, ChangeRow, new_id
from paddock.model.event import Event
from paddock.model.rows import CourseRow, NoteRow, WeatherRow


def topic_of(text: str) -> tuple[str | None, str]:
    """``tyres: left front grains`` has the topic tyres; without a short first word and a colon there is none."""
    head, colon, rest = text.partition(":")
    if colon and rest.strip() and head.strip() and " " not in head.strip() and len(head) <= 15:
        return head.strip(), rest.strip()
    return None, text.strip()


def add_note(event: Event, number: str, day: int, at: str, text: str) -> Batch:
    """A note of this moment, with the run just done; of an element of the day's course where its head names one."""
    course = course_of(event, day)
    head, colon, rest = (part.strip() for part in text.partition(":"))
    element = element_named(course, head) if colon and rest else None
    topic, said = ("course", rest) if element is not None else topic_of(text)
    cells = {
        "id": new_id(), "day": day, "run": last_run(event, number, day), "at": at, "topic": topic, "text": said,
        "element": element,
    }  # fmt: skip
    where = next((f" at {label_of(row)}" for row in course if row.element == element), "")
    label = f"note{where}: {said if where else text}"
    return Batch(label, (AddRow(NoteRow.FILE, {name: cell for name, cell in cells.items() if cell is not None}),))


def note_of_element(event: Event, day: int, text: str) -> bool:
    """Whether a line is a note on an element: its number or name, a colon, words."""
    head, colon, rest = text.partition(":")
    return (
        bool(colon and rest.strip() and not rest[:1].isdigit())
        and element_named(course_of(event, day), head) is not None
    )


def label_of(row: CourseRow) -> str:
    """``4 second slalom``."""
    return f"{row.element} {row.name or row.kind or ''}".strip()


_WEATHER = {
    "air_c": "air", "surface_c": "ground", "humidity_pct": "humidity", "station_hpa": "station", "wind_kmh": "wind",
    "surface": "surface", "sky": "sky",
}  # fmt: skip


def add_weather(event: Event, day: int, at: str, said: WeatherLine, text: str = "") -> Batch:
    """The weather of this minute: what it says again is a correction. ``text``: as it was typed."""
    cells = {name: value for name in _WEATHER if (value := getattr(said, name)) is not None}
    edit = one_row(event, WeatherRow, {"day": day, "at": at}, cells)
    return Batch(f"weather: {text}" if text else "weather", (edit,))


def replaced_weather(event: Event, day: int, at: str, said: WeatherLine) -> str:
    """``, in place of air 28, surface dry of the same minute``: what a line corrects; "" = nothing."""
    old = next(iter(event.of(WeatherRow).known_by((day, at))), None)
    if old is None:
        return ""
    told = []
    for name, word in _WEATHER.items():
        before, now = getattr(old, name), getattr(said, name)
        if before is not None and now is not None and before != now:
            told.append(f"{word} {before if isinstance(before, str) else f'{before:g}'}")
    return f", in place of {', '.join(told)} of the same minute" if told else ""


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
