"""The set-up sheet of the car in hand: now, off the trailer, when fastest, and the changes behind each line."""

from __future__ import annotations

from collections.abc import Mapping

from paddock.engine.car.setup_sheet import Fastest, Sheet, SheetLine, changes_of, sheet
from paddock.model.edit import Batch
from paddock.model.event import Event
from paddock.model.rows import ChangeRow
from paddock.views.journal import add_change

__all__ = ["Fastest", "Sheet", "SheetLine", "behind", "fastest_head", "line_name", "new_value", "sheet_of", "state_of"]


def sheet_of(event: Event, number: str) -> Sheet:
    """The sheet of the car of ``number``."""
    return sheet(event, number)


def line_name(key: str) -> str:
    """``rear bar``."""
    return key.replace("_", " ")


def fastest_head(item: Fastest) -> str:
    """The head of the column of a fastest run: ``d1 r4``."""
    return f"d{item.day} r{item.run}"


def state_of(line: SheetLine) -> str:
    """A word or two, like ``to put back`` or ``not as fastest``; blank: as it came."""
    if line.to_revert:
        return "to put back"
    if line.differs:
        return "not as fastest"
    if line.change is not None:
        return "on test" if line.change.decision is None and line.change.kind == "test" else "changed"
    return "put back" if line.undone else ""


def _of_line(row: ChangeRow, key: str) -> bool:
    return (row.setting or row.item or row.id) == key


def _words(row: ChangeRow) -> str:
    when = f"day {row.day if row.day is not None else '?'} run {row.run if row.run is not None else '?'}"
    what = f"{row.before or '?'} to {row.after or '?'}"
    why = [row.reason or "", f"expected {row.expect}" if row.expect else ""]
    end = row.decision or ("takes a change back" if row.undoes else "open")
    return f"{when}: {what}, {', '.join(part for part in (row.kind or '', *why, end) if part)}"


def behind(event: Event, number: str, line: SheetLine) -> tuple[str, ...]:
    """The changes behind a line in words, the latest first."""
    return tuple(_words(row) for row in reversed(changes_of(event, number)) if _of_line(row, line.key))


def new_value(event: Event, number: str, day: int, at: str, line: SheetLine, said: Mapping[str, object]) -> Batch:
    """A change of a line, before the next run. ``said``: ``after`` and, where given, ``reason`` and ``kind``."""
    cells: dict[str, object] = {"item": line_name(line.key), "setting": line.key, "kind": "test", **said}
    if line.now is not None:
        cells["before"] = line.now
    return add_change(event, number, day, at, cells)
