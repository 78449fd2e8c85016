"""An event with invented entrants, and a table of results from text, for the tests of this room."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from paddock.engine.results import ColumnMap, Understood, propose, understand
from paddock.model.event import Event
from paddock.model.rows import CellGrid, EntrantRow, Row, TimeRow
from tests.factories import event, settings

ENTRANTS = [
    EntrantRow(number="26", driver="Jay Birch", class_="PINE"),
    EntrantRow(number="83", driver="Corin Pine", class_="PINE"),
    EntrantRow(number="4", driver="Al Cedar", class_="OAK"),
    EntrantRow(number="5", driver="Jo Crane", class_="OAK"),
    EntrantRow(number="07", driver="Mo Hazel", class_="OAK"),
]


def at_event(*times: TimeRow, rules: dict[str, Any] | None = None, rows: tuple[Row, ...] = ()) -> Event:
    """The entrants above, 30 minutes to protest, my number 26."""
    return event(ENTRANTS, list(times), settings({"protest_min": 30, **(rules or {})}), *rows)


def grid(text: str, name: str = "", title: str = "") -> CellGrid:
    """A table of lines and bars: ``No|Run 1``."""
    rows = [line.split("|") for line in text.strip().split("\n")]
    return CellGrid.of([[cell.strip() for cell in row] for row in rows], (), name, title)


def taken(
    text: str | CellGrid,
    of: Event | None = None,
    given: str | None = None,
    day: int | None = None,
    now: datetime | None = None,
) -> tuple[ColumnMap, Understood]:
    """The proposed (or given) map of a table and what is understood by it."""
    of = of or at_event()
    table = grid(text) if isinstance(text, str) else text
    columns = propose(table, of, None, given)
    return columns, understand(table, columns, of, day, now)


def written(seen: Understood) -> dict[tuple[str, int], str]:
    """Number and run to the run in short: ``46.512+1``, ``dnf``; gates behind a slash."""
    found = {}
    for row in seen.rows:
        text = "" if row.time_ms is None else f"{row.time_ms / 1000:.3f}"
        text += f"+{row.cones}" if row.cones else ""
        text += f"/{row.misses}" if row.misses else ""
        found[row.number, row.run] = " ".join(filter(None, (text, row.status or "")))
    return found
