"""Edits to the worklist as values: tick, untick, add, a noise or fault, what was found."""

from __future__ import annotations

from paddock.engine.work.due import Due
from paddock.model.edit import AddRow, ChangeRow
from paddock.model.rows import WorkRow

__all__ = ["add_work", "log_fault", "note_found", "tick", "untick"]


def tick(line: Due, done: str) -> AddRow | ChangeRow:
    """The line is done; ``done`` says when, like ``day 1 10:32``. A re-check nobody wrote down is written now."""
    if line.written:
        return ChangeRow(WorkRow.FILE, (line.id,), {"done": done})
    cells = {name: value for name, value in line.row.model_dump(exclude={"line"}).items() if value is not None}
    return AddRow(WorkRow.FILE, cells | {"done": done})


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
    """A noise or fault: ``what`` (knock), ``where`` on the car (right rear), ``heard`` when (over the seams, run 3)."""
    return add_work(id_, f"find the {what}: {where}" if where else f"find the {what}", opened, heard, due)


def note_found(id_: str, found: str, done: str | None = None) -> ChangeRow:
    """What the cause was; with ``done`` the line is closed too."""
    return ChangeRow(WorkRow.FILE, (id_,), {"note": found} | ({"done": done} if done else {}))
