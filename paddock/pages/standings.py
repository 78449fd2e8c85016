"""Standings as a page: one table row by row, whom I follow, and the words for a number as it is typed."""

from __future__ import annotations

from collections.abc import Sequence

from paddock import words
from paddock.engine.scoring.tables import INDEX, RAW, Standing, Standings, StandingsTable
from paddock.model.event import Event
from paddock.model.rows import TimeRow
from paddock.pages.document import Block, Column, Document, PageTable, TableRow
from paddock.pages.document import words as said

_FOLLOWED = 2
"""So many of those followed stand above the table."""


def standings_page(
    event: Event, found: Standings, name: str, followed: Sequence[str] = (), number: str = "", only: str | None = None
) -> Document:
    """One table, titled by its name; the last there is where there is none of that ``name``.

    ``followed``: whose numbers stand out, the latest first; ``number``: mine, which they are compared with; ``only``:
    a class code to keep of a table that mixes classes.
    """
    table = found.table(name) or found.tables[-1]
    keeps = f"; only {only}" if only else ""
    blocks: list[Block] = [said((f" {_title(event, table.name, found.day)}{keeps}", "strong", "table(1)"))]
    blocks += [said((practice, "quiet"))] if (practice := practice_words(event, found.day)) else []
    decimals = event.settings.rules.decimals
    blocks += [said(f" = {followed_words(table, item, number, decimals)}") for item in followed[:_FOLLOWED]]
    rows = [row for row in table.rows if only is None or row.class_ == only]
    return Document(table.name, (*blocks, _rows(event, rows, found.day or max(found.days, default=1), followed)))


def practice_words(event: Event, day: int | None) -> str:
    """Which days don't count; blank where all do, or another ``day`` alone is looked at."""
    days = event.settings.practice_days if day is None else [day] if event.settings.is_practice(day) else []
    if not days:
        return ""
    named = " and ".join(str(item) for item in days)
    return f"Practice on day {named}: no results of others are waited for, no run counts."


def _title(event: Event, name: str, day: int | None) -> str:
    known = event.settings.class_of(name)
    what = {INDEX: "everybody on index times", RAW: "everybody on raw totals"}.get(name)
    if known is not None:
        basis = "index times" if known.scored_by == "index" else "raw totals"
        what = f"{known.name or 'class'}, {basis}"
    return f"{name}: {what or 'class'}; {'in total' if day is None else f'day {day} alone'}"


def _rows(event: Event, rows: Sequence[Standing], day: int, followed: Sequence[str]) -> PageTable:
    """The latest run first; a class that all share is the title's to say."""
    runs = _runs(event, day)
    most = max((len(runs.get(row.number, ())) for row in rows), default=0)
    mixed = len({row.class_ for row in rows}) > 1
    columns = (
        Column(""), Column("", figures=True), Column("no", figures=True), Column("driver", most=20, least=11),
        Column("class", drop=1, most=7), Column("score", figures=True), Column("to 1st", figures=True),
        Column("to next", figures=True, drop=2),
        *(Column(f"day {day} run {run}" if run == most else f"run {run}", drop=3 + most - run)
          for run in range(most, 0, -1)),
    )  # fmt: skip
    decimals, mine = event.settings.rules.decimals, event.settings.mine.numbers
    lines = []
    for row in rows:
        mark = ">" if row.number in mine else "=" if row.number in followed else ""
        driven = runs.get(row.number, ())
        cells = (
            mark, f"{row.rank or '-'}", row.number, row.driver, (row.class_ or "?") if mixed else "",
            "waiting" if row.waiting else words.seconds(row.score_ms, decimals),
            words.difference(row.gap_to_leader_ms, decimals) if row.gap_to_leader_ms else "",
            words.difference(row.gap_to_next_ms, decimals) if row.gap_to_next_ms else "",
            *reversed(driven + ("",) * (most - len(driven))),
        )  # fmt: skip
        lines.append(TableRow(cells, row.number, mine=row.number in mine))
    return PageTable(columns, tuple(lines), empty="nobody is entered yet: type a number and a time")


def _runs(event: Event, day: int) -> dict[str, tuple[str, ...]]:
    """Each entrant's runs of the day as results are written, by place of the run."""
    decimals = event.settings.rules.decimals
    found: dict[str, dict[int, TimeRow]] = {}
    for row in event.times:
        if row.day == day and row.status not in ("rerun", "practice"):
            found.setdefault(row.number, {})[row.run] = row
    return {
        number: tuple(
            words.run_text(runs[run].time_ms, runs[run].cones or 0, _status(runs[run]), decimals)
            if run in runs
            else "-"
            for run in range(1, max(runs) + 1)
        )
        for number, runs in found.items()
    }


def _status(row: TimeRow) -> str | None:
    return row.status or ("miss" if row.misses else None)


def followed_words(table: StandingsTable, number: str, mine: str, decimals: int) -> str:
    """``23 112.112, 0.020 ahead of you`` in the table shown."""
    row, me = table.of(number), table.of(mine)
    if row is None:
        return f"{number}: not in this table"
    text = f"{number} {row.driver} {words.seconds(row.score_ms, decimals)}"
    if row.score_ms is None or me is None or me.score_ms is None:
        return text
    apart = me.score_ms - row.score_ms
    where = "ahead of you" if apart > 0 else "behind you"
    return f"{text}, level with you" if apart == 0 else f"{text}, {words.seconds(abs(apart), decimals)} {where}"


def heard_words(event: Event, number: str) -> str:
    """Who a typed number is; says when it is new."""
    entrant = event.entrant(number)
    if entrant is None:
        return f"{number} is new: an entrant is made, to complete later"
    return " ".join(part for part in (number, entrant.driver or "", entrant.class_ or "") if part)
