"""The season in words and tables; the sentences are those of the screen."""

from __future__ import annotations

from collections.abc import Sequence

from paddock.commands.table import table
from paddock.engine.season.points import SeasonRow, SeasonTable
from paddock.engine.season.stakes import Outlook
from paddock.folders.seasons import SeasonView
from paddock.views.season import (
    around,
    counted_words,
    fee_words,
    figure,
    head_words,
    outlook_words,
    points_words,
    stake_words,
)  # fmt: skip
from paddock.views.season_rows import run_words
from paddock.words import seconds

__all__ = ["season_text"]

TOP = 10


def season_text(view: SeasonView, written: Sequence[str] = ()) -> str:
    """Points by table, my events, what is left, my runs and changes in short, what was left out."""
    parts = [head_words(view)]
    parts += [_points(item, view) for item in view.tables]
    parts += [_outlook(item) for item in view.outlooks if item.stakes]
    parts += [run_words(view.runs, view.changes), _fees(view)]
    parts += [f"{problem}" for problem in view.problems]
    parts += [f"written: {line}" for line in written]
    return "\n\n".join(part for part in parts if part)


def _points(found: SeasonTable, view: SeasonView) -> str:
    rows = [_row(row, view) for row in around(found, view.mine, TOP)]
    head = f"{found.name}: {counted_words(found)}"
    whole = [head, table(("", "driver", "number", "points", "counted"), rows, right=(0, 3))]
    whole += [_mine(row, view) for row in found.rows if row.driver in view.mine]
    return "\n".join(whole)


def _row(row: SeasonRow | None, view: SeasonView) -> list[str]:
    if row is None:
        return ["", "…", "", "", ""]
    me = " (me)" if row.driver in view.mine else ""
    counted = f"{sum(item.counts for item in row.events)} of {len(row.events)}"
    return [f"{row.rank}", row.driver + me, row.number, figure(row.points), counted]


def _mine(row: SeasonRow, view: SeasonView) -> str:
    names = {folder: event.settings.name or folder for folder, event in view.events}
    lines = [
        [names[item.folder] + (f", day {item.day}" if item.day else ""), f"{item.place or '-'}",
         seconds(item.score_ms), points_words(item)]
        for item in row.events
    ]  # fmt: skip
    return f"\n{row.driver}\n" + table(("event", "place", "score", "points"), lines, right=(1, 2, 3))


def _outlook(item: Outlook) -> str:
    return "\n".join([outlook_words(item), *(f"  {stake.event}: {stake_words(stake)}" for stake in item.stakes)])


def _fees(view: SeasonView) -> str:
    fees = fee_words(view)
    closing = [f"{item.name or item.folder} closes on {item.closes}" for item in view.left if item.closes]
    return ". ".join([fees, *closing]) + "." if fees else ""
