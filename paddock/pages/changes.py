"""Changes to the car as a page: every one with what became of it, and one in full."""

from __future__ import annotations

from collections.abc import Mapping

from paddock.model.event import Event
from paddock.model.rows import SetupChange
from paddock.pages.document import Column, Document, PageTable, TableRow, words


def change_states(event: Event) -> Mapping[str, tuple[SetupChange, str]]:
    """By id, newest first: the change, and ``open``, ``keep``, ``revert``, ``taken back`` or ``takes back``."""
    rows = event.of(SetupChange)
    undone = {row.undoes for row in rows if row.undoes}
    newest = sorted(rows, key=lambda row: (row.day or 0, row.run or 0, row.at or ""), reverse=True)
    return {row.id: (row, _state(row, undone)) for row in newest}


def _state(row: SetupChange, undone: set[str]) -> str:
    if row.undoes:
        return "takes back"
    if row.id in undone:
        return "taken back"
    return row.decision or "open"


def changes_page(event: Event) -> Document:
    """A row a change."""
    columns = (
        Column("run"), Column("no", figures=True, drop=3), Column("what", most=30), Column("from", most=10, drop=2),
        Column("to", most=10), Column("kind", drop=1), Column("state"),
    )  # fmt: skip
    rows = tuple(
        TableRow((f"d{row.day or '?'} r{row.run or '?'}", row.number or "", row.item or "", row.before or "",
                  row.after or "", row.kind or "", state), id_)
        for id_, (row, state) in change_states(event).items()
    )  # fmt: skip
    return Document("changes", (PageTable(columns, rows, empty="no change is logged yet: a logs one"),))


def change_in_full(row: SetupChange) -> Document:
    """From, to, why and what was expected."""
    told = [words((f"{row.item}: {row.before or '?'} → {row.after or '?'}", "strong"))]
    told += [words(f"{label}: {text}") for label, text in (("why", row.reason), ("expected", row.expect)) if text]
    return Document("change", tuple(told))
