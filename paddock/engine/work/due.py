"""What is due on a car, the most pressing first."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from paddock.engine.tyres.counts import car_runs, my_cars
from paddock.engine.work.rechecks import RecheckWords, implied_work, is_theirs, when_due, words_of
from paddock.model.edit import AddRow, RemoveRow
from paddock.model.event import Event
from paddock.model.rows import NoteRow, TickRow, WorkRow

# checklists by phase: what is ticked today, with what was missed last time on top


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One item. ``at``: when it was ticked, blank text where no clock was written; None: not ticked today."""

    item: str
    at: str | None
    missed_last: bool

    @property
    def ticked(self) -> bool:
        """Done today."""
        return self.at is not None


@dataclass(frozen=True, slots=True)
class Checklist:
    """One list on one day, missed items first, otherwise in the file's order."""

    name: str
    day: int
    lines: tuple[CheckLine, ...]

    @property
    def left(self) -> int:
        """Items not ticked yet."""
        return sum(not line.ticked for line in self.lines)


def _ticks(event: Event, name: str, day: int | None) -> dict[str, str]:
    return {row.item: row.at or "" for row in event.of(TickRow) if row.list == name and row.day == day}


def last_ticks(event: Event, name: str, before: int) -> frozenset[str]:
    """What was ticked the last time the list was used before a day; empty: never."""
    days = {row.day for row in event.of(TickRow) if row.list == name and row.day is not None and row.day < before}
    return frozenset(_ticks(event, name, max(days) if days else None))


def missed(items: Iterable[str], ticked: frozenset[str]) -> tuple[str, ...]:
    """Items that were not ticked, where the list was used at all."""
    return tuple(item for item in items if item not in ticked) if ticked else ()


def checklist(event: Event, name: str, day: int) -> Checklist:
    """The list ``name`` on a day; empty where the event has no such list."""
    items = event.checklists.get(name, ())
    behind = missed(items, last_ticks(event, name, day))
    done = _ticks(event, name, day)
    order = [*behind, *(item for item in items if item not in behind)]
    return Checklist(name, day, tuple(CheckLine(item, done.get(item), item in behind) for item in order))


def checklists(event: Event, day: int) -> tuple[Checklist, ...]:
    """All lists of the event on a day, in the file's order."""
    return tuple(checklist(event, name, day) for name in event.checklists)


def tick_line(name: str, item: str, day: int, at: str | None = None) -> AddRow:
    """Tick an item; ``at`` HH:MM."""
    cells = {"list": name, "item": item, "day": day}
    return AddRow(TickRow.FILE, cells | ({"at": at} if at else {}))


def untick_line(name: str, item: str, day: int) -> RemoveRow:
    """Take a tick back."""
    return RemoveRow(TickRow.FILE, (name, item, day))


# after the event: the questions to answer while it is fresh, and the plan for next time


PLAN = "plan"
CARRIED_PLAN, CARRIED_UNDECIDED = "plan from last time", "undecided from last time"
NEXT = "debrief next"
"""The question the plan answers."""


@dataclass(frozen=True, slots=True)
class ClosingQuestion:
    """``topic`` is the topic of the note that holds the answer."""

    topic: str
    text: str


QUESTIONS = (
    ClosingQuestion("debrief fastest", "Where was the time: which run was the best, and what was different about it?"),
    ClosingQuestion("debrief slowest", "Where was it lost: which place on the course cost most, car or driver?"),
    ClosingQuestion("debrief mistake", "Which mistake came back, and what will be done instead?"),
    ClosingQuestion("debrief changes", "Which change is kept, which goes back, which is still open?"),
    ClosingQuestion("debrief tyres", "How did the tyres come in and go off, and what did the shoulders look like?"),
    ClosingQuestion("debrief car", "What was seen, felt or heard that must be looked at before it runs again?"),
    ClosingQuestion("debrief rivals", "Who was faster, where, and with what?"),
    ClosingQuestion(NEXT, "What is the one thing to test next time, and what is expected of it?"),
)


@dataclass(frozen=True, slots=True)
class ClosingPlan:
    """``expect`` blank: none written. ``written`` False: proposed, the first test still open."""

    test: str
    expect: str = ""
    written: bool = True


def answer(id_: str, question: ClosingQuestion, text: str, day: int | None = None) -> AddRow:
    """The edit that keeps an answer."""
    cells: dict[str, object] = {"id": id_, "topic": question.topic, "text": text}
    return AddRow(NoteRow.FILE, cells | ({"day": day} if day is not None else {}))


def closing_note(event: Event, topic: str, day: int | None = None) -> NoteRow | None:
    """The last note of a topic that says something; ``day``: of that day."""
    rows = [row for row in event.of(NoteRow) if row.topic == topic and row.text]
    return next((row for row in reversed(rows) if day is None or row.day == day), None)


def questions_left(event: Event) -> tuple[ClosingQuestion, ...]:
    """Questions without an answer."""
    topics = {row.topic for row in event.of(NoteRow) if row.text}
    return tuple(item for item in questions_of(event) if item.topic not in topics)


def questions_of(event: Event) -> tuple[ClosingQuestion, ...]:
    """What is asked at the end; of rivals nobody where every day is practice."""
    days = range(1, len(event.settings.days) + 1)
    alone = bool(days) and all(map(event.settings.is_practice, days))
    return tuple(item for item in QUESTIONS if not (alone and item.topic == "debrief rivals"))


def plan_note(id_: str, test: str, expect: str = "", day: int | None = None, topic: str = PLAN) -> AddRow:
    """The edit that keeps the plan: one thing to test, and the expectation."""
    text = f"test: {test}" + (f"; expect: {expect}" if expect else "")
    cells: dict[str, object] = {"id": id_, "topic": topic, "text": text}
    return AddRow(NoteRow.FILE, cells | ({"day": day} if day is not None else {}))


_WRITTEN = re.compile(r"(?:test:\s*)?(?P<test>.*?)(?:;\s*expect:\s*(?P<expect>.*))?", re.DOTALL | re.IGNORECASE)


def _read(text: str) -> ClosingPlan:
    found = _WRITTEN.fullmatch(text.strip())
    return ClosingPlan(found["test"].strip(), (found["expect"] or "").strip()) if found else ClosingPlan(text)


def _written(event: Event, topic: str, since_day: int = 0) -> ClosingPlan | None:
    notes = [row for row in event.of(NoteRow) if row.topic == topic and row.text]
    notes = [row for row in notes if row.day is None or row.day >= since_day]
    if not notes:
        return None
    last = max(enumerate(notes), key=lambda pair: (pair[1].day or 0, pair[1].at or "", pair[0]))[1]
    return _read(last.text or "")


def plan_for_next(event: Event) -> ClosingPlan | None:
    """What the next event begins with: a plan written on the latest day run or without a day.

    An older one was for a day that is over; then the first of ``to_test``, once more.
    """
    from paddock.engine.field.verdict import to_test

    latest = max((row.day for row in event.times), default=0)
    written = _written(event, PLAN, latest)
    if written is not None:
        return written
    first = next(iter(to_test(event)), None)
    if first is None:
        return None
    row, slow = first.change, first.plan is not None and not first.plan.quick
    what = f"{row.item or row.setting or 'the change'} {row.before or '?'} against {row.after or '?'}"
    what = f"{first.car}: {what}" if first.car and len(event.cars) > 1 else what
    return ClosingPlan(f"{what}, {'a whole day each' if slow else 'old-new-new-old'}", row.expect or "", written=False)


JAMS = frozenset({"jam", "lock"})


@dataclass(frozen=True, slots=True)
class Due:
    """One line of the list. ``now``: due before the car runs again; ``torque_nm`` None: the maker's figure.

    ``row``: what the file has, or would have (``written`` False) once it is ticked. ``also``: the same look asked for
    by other changes at the same time; done with this one.
    """

    id: str
    item: str
    why: str
    when: str
    torque_nm: float | None
    now: bool
    row: WorkRow
    written: bool = True
    also: tuple[Due, ...] = ()


def _is(name: RecheckWords, said: RecheckWords) -> bool:
    """The fastener is named whole; a jam nut is no other nut."""
    return name <= said and name & JAMS == said & JAMS


def _torque(row: WorkRow, event: Event, number: str) -> float | None:
    """The row's own, else that of the car file's fastener whose name the row has word for word."""
    if row.torque_nm is not None:
        return row.torque_nm
    car, said = event.car_of(number), words_of(row.item)
    fasteners = car.fasteners if car else {}
    found = {torque for name, torque in fasteners.items() if _is(words_of(name), said)}
    return next(iter(found)) if len(found) == 1 else None


def _open(row: WorkRow, event: Event, number: str) -> bool:
    return not row.is_done and is_theirs(row, event, number)


def due(event: Event, number: str) -> tuple[Due, ...]:
    """All open work on the car of ``number``: written down, or made by its changes; what is due now stands first."""
    rows = [(row, True) for row in event.of(WorkRow) if _open(row, event, number)]
    rows += [(row, False) for row in implied_work(event, event.numbers_of_car(number))]
    return _in_order(event, number, rows)


def _is_fault(row: WorkRow) -> bool:
    return (row.item or "").replace(": ", " ").lower().startswith("find ")


def faults_due(event: Event, number: str) -> tuple[Due, ...]:
    """Noises and faults written down, still to be found before the car runs again: rows that begin with "find"."""
    rows = [(row, True) for row in event.of(WorkRow) if _is_fault(row) and _open(row, event, number)]
    return tuple(item for item in _in_order(event, number, rows) if item.now) if rows else ()


def _in_order(event: Event, number: str, rows: Sequence[tuple[WorkRow, bool]]) -> tuple[Due, ...]:
    numbers = event.numbers_of_car(number)
    runs = car_runs(event, numbers)
    found: Sequence[tuple[tuple[bool, int], Due]] = [
        (
            (not when.now, when.rank),
            Due(
                row.id,
                row.item or "work",
                row.reason or "",
                when.words,
                _torque(row, event, number),
                when.now,
                row,
                written,
            ),
        )
        for row, written in rows
        for when in (when_due(row, event, runs, numbers),)
    ]
    return _once([item for _, item in sorted(found, key=lambda pair: pair[0])], words_of(event.car_name_of(number)))


def _once(lines: Iterable[Due], car: RecheckWords) -> tuple[Due, ...]:
    """The same look at the same time stands once, whoever asked for it: one check of a nut answers every change."""
    kept: dict[tuple[object, ...], Due] = {}
    for line in lines:
        key = (line.id,) if _is_fault(line.row) else (words_of(line.item) - car, line.torque_nm, line.when)
        first = kept.get(key)
        if first is None:
            kept[key] = line
            continue
        why = "; ".join(dict.fromkeys(text for text in (first.why, line.why) if text))
        kept[key] = replace(first, why=why, also=(*first.also, line))
    return tuple(kept.values())


def with_car(event: Event, line: Due, number: str) -> str:
    """The item, with the car's name before it where there are several and the row doesn't say it."""
    car, item = event.car_name_of(number), line.item
    several = len(my_cars(event)) > 1
    only_here = all(line.id not in {other.id for other in due(event, numbers[0])}
                    for numbers in my_cars(event).values() if number not in numbers)  # fmt: skip
    return f"{car}: {item}" if several and car and only_here and car.lower() not in item.lower() else item


def carried_tests(event: Event) -> tuple[str, ...]:
    """What the last event left to be tested: its plan, then the tests nobody decided there."""
    notes = event.of(NoteRow)
    return tuple(
        row.text for topic in (CARRIED_PLAN, CARRIED_UNDECIDED) for row in notes if row.topic == topic and row.text
    )
