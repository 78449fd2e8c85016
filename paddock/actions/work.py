"""Work written down: tick, untick, add, a noise or fault, what was found; the checklists ticked."""

from __future__ import annotations

from collections.abc import Mapping

from paddock.engine.clock.when import last_run
from paddock.engine.tyres.counts import car_runs
from paddock.engine.work.due import Checklist, Due, tick_line, untick_line
from paddock.engine.work.rechecks import opened_at
from paddock.model.edit import AddRow, Batch, ChangeRow, new_id
from paddock.model.event import Event
from paddock.model.rows import WorkRow


def tick(line: Due, done: str, found: str = "") -> AddRow | ChangeRow:
    """The line is done; ``done`` says when, like ``day 1 10:32``. A re-check nobody wrote down is written now.

    ``found``: what the cause was; blank leaves the note as it is.
    """
    new = {"done": done} | ({"note": found} if found else {})
    if line.written:
        return ChangeRow(WorkRow.FILE, (line.id,), new)
    cells = {name: value for name, value in line.row.model_dump(exclude={"line"}).items() if value is not None}
    return AddRow(WorkRow.FILE, cells | new)


def done_words(event: Event, number: str, line: Due, day: int, clock: str) -> str:
    """When a line is done, as the files write it: ``day 2 15:53``, never before it was opened or the car last ran.

    ``day``: the one on the screen. Where the clock (``HH:MM``) stands before the last run of that day, the run is
    written in its place: ``day 2 run 3``.
    """
    opened, runs = opened_at(line.row, event), car_runs(event, event.numbers_of_car(number))
    moments = [(opened.day, opened.run or 0, opened.at or ""), *((run.day, run.run, run.at[:5]) for run in runs)]
    day = max(day, *(moment[0] for moment in moments))
    late = [run for its_day, run, at in moments if its_day == day and run and at > clock[:5]]
    return f"day {day} run {max(late)}" if late else f"day {day} {clock[:5]}"


def untick(id_: str) -> ChangeRow:
    """The line is open again."""
    return ChangeRow(WorkRow.FILE, (id_,), {"done": None})


def add_work(
    id_: str, item: str, opened: str, reason: str = "", due: str = "", torque_nm: float | None = None
) -> AddRow:
    """New work. ``due``: ``next run``, ``after run 4``, ``in 12 runs``, ``after the event``, a date or blank."""
    cells = {"id": id_, "opened": opened, "item": item, "reason": reason, "due": due, "torque_nm": torque_nm}
    return AddRow(WorkRow.FILE, {name: value for name, value in cells.items() if value not in ("", None)})


def log_fault(id_: str, what: str, where: str, opened: str, heard: str = "", due: str = "before next run") -> AddRow:
    """A noise or fault: ``what`` (hiss), ``where`` on the car (left front), ``heard`` when (in the box, run 2)."""
    return add_work(id_, f"find the {what}: {where}" if where else f"find the {what}", opened, heard, due)


def note_found(id_: str, found: str, done: str | None = None) -> ChangeRow:
    """What the cause was; with ``done`` the line is closed too."""
    return ChangeRow(WorkRow.FILE, (id_,), {"note": found} | ({"done": done} if done else {}))


def toggle(event: Event, number: str, line: Due | WorkRow, day: int, clock: str) -> Batch:
    """Tick an open line of the car of ``number``, or open a done one again."""
    if isinstance(line, WorkRow):
        return Batch(f"open again: {line.item}", (untick(line.id),))
    return Batch(f"done: {line.item}", _ticks(event, number, line, day, clock))


def new_work(day: int, clock: str, answers: Mapping[str, object]) -> Batch:
    """New work from ``item``, ``reason``, ``due``."""
    words = {name: str(answers.get(name) or "") for name in ("item", "reason", "due")}
    made = add_work(new_id(), words["item"], f"day {day} {clock[:5]}", words["reason"], words["due"])
    return Batch(f"work: {words['item']}", (made,))


def new_fault(event: Event, number: str, day: int, clock: str, answers: Mapping[str, object]) -> Batch:
    """A noise or fault from ``what``, ``where``, ``heard``; it is due before the next run."""
    run = last_run(event, number, day)
    heard = str(answers.get("heard") or "") or (f"run {run}" if run else "")
    where = str(answers.get("where") or "")
    made = log_fault(new_id(), str(answers["what"]), where, f"day {day} {clock[:5]}", heard)
    return Batch(f"to find: {answers['what']}", (made,))


def found(event: Event, number: str, line: Due | WorkRow, words: str, day: int, clock: str) -> Batch:
    """What was found; an open line is closed, a done one keeps when it was done."""
    if isinstance(line, WorkRow):
        return Batch(f"found: {words}", (note_found(line.id, words),))
    return Batch(f"found: {words}", _ticks(event, number, line, day, clock, words))


def _ticks(
    event: Event, number: str, line: Due, day: int, clock: str, found: str = ""
) -> tuple[AddRow | ChangeRow, ...]:
    """The line and every row that asked for the same look; what was found stands with the first."""
    same = ((line, found), *((other, "") for other in line.also))
    return tuple(tick(one, done_words(event, number, one, day, clock), words) for one, words in same)


def tick_item(found_list: Checklist, item: str, clock: str) -> Batch:
    """Tick an item of a list, or take its tick back."""
    line = next(line for line in found_list.lines if line.item == item)
    if line.ticked:
        return Batch(f"open again: {item}", (untick_line(found_list.name, item, found_list.day),))
    return Batch(f"ticked: {item}", (tick_line(found_list.name, item, found_list.day, clock[:5]),))
