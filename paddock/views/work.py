"""Due and done work, and the checklists, as a screen shows them; the edits that tick."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from paddock.engine.clock.schedule import last_run
from paddock.engine.work.due import Checklist, Due, checklists, due, tick_line, untick_line
from paddock.engine.work.logs import add_work, done_words, log_fault, note_found, tick, untick
from paddock.ids import new_id
from paddock.model.edit import Batch
from paddock.model.event import Event
from paddock.model.rows import WorkRow


@dataclass(frozen=True, slots=True)
class WorkLine:
    """One line of work. ``due`` None: done. ``state``: ``NOW``, ``later`` or ``done``."""

    id: str
    item: str
    state: str
    when: str
    why: str
    torque_nm: float | None
    note: str
    due: Due | None


def _open(line: Due) -> WorkLine:
    state = "NOW" if line.now else "later"
    return WorkLine(line.id, line.item, state, line.when, line.why, line.torque_nm, line.row.note or "", line)


def _done(row: WorkRow) -> WorkLine:
    words = f"done {row.done}"
    return WorkLine(row.id, row.item or "", "done", words, row.reason or "", row.torque_nm, row.note or "", None)


def work_lines(event: Event, number: str) -> tuple[WorkLine, ...]:
    """Work on the car of ``number``: due first, then open, then done with the latest on top."""
    done = [_done(row) for row in event.of(WorkRow) if row.done]
    return (*(_open(line) for line in due(event, number)), *reversed(done))


def opened_words(day: int, clock: str) -> str:
    """When work was opened or done, as the files write it: ``day 1 10:32``."""
    return f"day {day} {clock[:5]}"


def toggle(event: Event, number: str, line: WorkLine, day: int, clock: str) -> Batch:
    """Tick an open line of the car of ``number``, or open a done one again."""
    if line.due is None:
        return Batch(f"open again: {line.item}", (untick(line.id),))
    return Batch(f"done: {line.item}", (tick(line.due, done_words(event, number, line.due, day, clock)),))


def add(day: int, clock: str, answers: Mapping[str, object]) -> Batch:
    """New work from ``item``, ``reason``, ``due``."""
    words = {name: str(answers.get(name) or "") for name in ("item", "reason", "due")}
    made = add_work(new_id(), words["item"], opened_words(day, clock), words["reason"], words["due"])
    return Batch(f"work: {words['item']}", (made,))


def fault(event: Event, number: str, day: int, clock: str, answers: Mapping[str, object]) -> Batch:
    """A noise or fault from ``what``, ``where``, ``heard``; it is due before the next run."""
    run = last_run(event, number, day)
    heard = str(answers.get("heard") or "") or (f"run {run}" if run else "")
    made = log_fault(new_id(), str(answers["what"]), str(answers.get("where") or ""), opened_words(day, clock), heard)
    return Batch(f"to find: {answers['what']}", (made,))


def found(event: Event, number: str, line: WorkLine, words: str, day: int, clock: str) -> Batch:
    """What was found; an open line is closed, a done one keeps when it was done."""
    if line.due is None:
        return Batch(f"found: {words}", (note_found(line.id, words),))
    return Batch(f"found: {words}", (tick(line.due, done_words(event, number, line.due, day, clock), words),))


def list_names(event: Event) -> tuple[str, ...]:
    """The checklists of the event, in the file's order."""
    return tuple(event.checklists)


def lists_of(event: Event, day: int) -> tuple[Checklist, ...]:
    """Every checklist on a day."""
    return checklists(event, day)


def tick_item(found_list: Checklist, item: str, clock: str) -> Batch:
    """Tick an item of a list, or take its tick back."""
    line = next(line for line in found_list.lines if line.item == item)
    if line.ticked:
        return Batch(f"open again: {item}", (untick_line(found_list.name, item, found_list.day),))
    return Batch(f"ticked: {item}", (tick_line(found_list.name, item, found_list.day, clock[:5]),))
