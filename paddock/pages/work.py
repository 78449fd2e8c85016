"""Work on the car and the checklists as pages: what is due now, what is open, what was done; a line in full."""

from __future__ import annotations

from collections.abc import Sequence

from paddock.engine.work.due import CheckLine, Checklist, Due, due
from paddock.model.event import Event
from paddock.model.rows import WorkRow
from paddock.pages.document import Cell, Column, Document, PageTable, TableRow, words
from paddock.words import torque

_CAUTION = "Level ground, wheels chocked, on stands; the maker's torque, at the height the maker says."
_NO_LISTS = (
    "No checklists here yet. Make checklist.toml in the folder, a line for each list: "
    'inspection = ["wheel nuts", "battery held down"]'
)
WorkLine = Due | WorkRow
"""Open work, or a row that is done."""


def work_lines(event: Event, number: str) -> tuple[WorkLine, ...]:
    """Work on the car of ``number``: due first, then open, then done with the latest on top."""
    done = [row for row in event.of(WorkRow) if row.done]
    return (*due(event, number), *reversed(done))


def work_page(lines: Sequence[WorkLine]) -> Document:
    """A row a line of work."""
    columns = (
        Column(""), Column("work", most=60, least=30), Column("when", most=22, drop=2),
        Column("torque", figures=True, drop=1),
    )  # fmt: skip
    rows = tuple(TableRow(_cells(line), line.id) for line in lines)
    return Document("work", (PageTable(columns, rows, empty="nothing to do: a adds work, f logs a noise"),))


def _cells(line: WorkLine) -> tuple[Cell, ...]:
    state = ("NOW" if line.now else "later") if isinstance(line, Due) else "done"
    return (state, line.item or "", _when(line), torque(line.torque_nm) if line.torque_nm else "")


def _when(line: WorkLine) -> str:
    return line.when if isinstance(line, Due) else f"done {line.done}"


def work_in_full(line: WorkLine) -> Document:
    """When, why and what was found, with the usual caution."""
    row, why = (line.row, line.why) if isinstance(line, Due) else (line, line.reason or "")
    told = [words(((line.item or "") + (f", {torque(line.torque_nm)}" if line.torque_nm else ""), "strong"))]
    parts = (("when", _when(line)), ("why", why), ("found", row.note))
    told += [words(f"{label}: {text}") for label, text in parts if text]
    return Document("work", (*told, words((_CAUTION, "quiet"))))


def checklist_page(found: Checklist | None) -> Document:
    """One list. ``found`` None: there is none."""
    if found is None:
        return Document("lists", (PageTable((Column(""),), (), empty=_NO_LISTS),))
    columns = (Column(""), Column(found.name, most=100, least=27), Column("", drop=1))
    rows = tuple(TableRow((_mark(line), line.item, _ticked(line)), line.item) for line in found.lines)
    return Document(found.name, (PageTable(columns, rows),))


def list_name(found: Checklist) -> str:
    """``before grid 3``: what is left of it."""
    return f"{found.name} {found.left or 'done'}"


def _mark(line: CheckLine) -> str:
    return "x" if line.ticked else "!" if line.missed_last else "."


def _ticked(line: CheckLine) -> str:
    return line.at or ("missed last time" if line.missed_last and not line.ticked else "")
