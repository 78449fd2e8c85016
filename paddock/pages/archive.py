"""An archive of seasons as a page: what was taken in, and who leads each season."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from paddock.errors import Problem
from paddock.pages.document import Block, Column, Document, Heading, PageTable, TableRow, words

if TYPE_CHECKING:
    from paddock.folders.archiving import TakenIn

_SHOWN = 5
"""Rows of a table in the text; the JSON has all."""
_STATES = {
    "new": "taken in", "held": "held already, nothing changed", "replaced": "took the place of other results",
    "other": "held with other results, nothing changed: merge the two folders, or give --replace",
    "empty": "no results yet, nothing to take",
}  # fmt: skip


def taken_page(archive: str, found: Sequence[TakenIn]) -> Document:
    """One row an event."""
    columns = (Column("source", most=40), Column("season", most=20), Column("what became of it", most=80))
    rows = tuple(TableRow((item.source, item.season, _STATES[item.state]), f"{at}") for at, item in enumerate(found))
    return Document(archive, (PageTable(columns, rows),))


def tables_page(rows: Sequence[Mapping[str, Any]], problems: Sequence[Problem]) -> Document:
    """Each season's tables, the first of each."""
    groups: dict[tuple[str, str], list[Mapping[str, Any]]] = {}
    for row in rows:
        groups.setdefault((row["season"], row["class"]), []).append(row)
    blocks: list[Block] = []
    columns = (
        Column("", figures=True), Column("driver", most=40), Column("points", figures=True),
        Column("counted", figures=True), Column("events", figures=True),
    )  # fmt: skip
    for (season, name), found in groups.items():
        more = f", first {_SHOWN} of {len(found)}" if len(found) > _SHOWN else ""
        blocks.append(Heading(f"{season}, {name}{more}"))
        shown = found[:_SHOWN]
        blocks.append(
            PageTable(columns, tuple(TableRow(_cells(row), f"{season} {name} {at}") for at, row in enumerate(shown)))
        )
    blocks += [words(f"! {problem.file}: {problem.message}") for problem in problems]
    return Document("archive", tuple(blocks))


def _cells(row: Mapping[str, Any]) -> tuple[str, ...]:
    return (f"{row['rank']}", row["driver"], f"{row['points']:g}", f"{row['counted']}", f"{row['events']}")
