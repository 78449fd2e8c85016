"""Standings as a screen shows them: which tables there are, and one of them row by row."""

from __future__ import annotations

from dataclasses import dataclass

from paddock import words
from paddock.engine.scoring.tables import INDEX, RAW, Standing, Standings
from paddock.model.event import Event
from paddock.model.rows import TimeRow


@dataclass(frozen=True, slots=True)
class StandingLine:
    """One entrant's row, as text. ``mark``: ``>`` me, ``=`` followed."""

    number: str
    mark: str
    rank: str
    driver: str
    class_: str
    score: str
    to_first: str
    to_next: str
    runs: tuple[str, ...]
    mine: bool


@dataclass(frozen=True, slots=True)
class TableView:
    """``runs``: how many run columns there are, of ``runs_day``."""

    name: str
    title: str
    lines: tuple[StandingLine, ...]
    runs: int
    runs_day: int


def table_names(found: Standings) -> tuple[str, ...]:
    """Names of the tables, in order: classes, index, raw."""
    return tuple(table.name for table in found.tables)


def _title(event: Event, name: str, day: int | None) -> str:
    known = event.settings.class_of(name)
    what = {INDEX: "everybody on index times", RAW: "everybody on raw totals"}.get(name)
    if known is not None:
        basis = "index times" if known.scored_by == "index" else "raw totals"
        what = f"{known.name or 'class'}, {basis}"
    return f"{name}: {what or 'class'}; {'in total' if day is None else f'day {day} alone'}"


def table_view(
    event: Event, found: Standings, name: str, mine: frozenset[str], followed: frozenset[str], only: str | None = None
) -> TableView:
    """One table. ``only``: a class code to keep of a table that mixes classes."""
    table = found.table(name) or found.tables[-1]
    day = found.day or max(found.days, default=1)
    runs = _runs(event, day)
    decimals = event.settings.rules.decimals
    most = max((len(item) for item in runs.values()), default=0)
    lines = tuple(
        _line(row, runs.get(row.number, ()), decimals, mine, followed)
        for row in table.rows
        if only is None or row.class_ == only
    )
    return TableView(table.name, _title(event, table.name, found.day), lines, most, day)


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


def _line(
    row: Standing, runs: tuple[str, ...], decimals: int, mine: frozenset[str], followed: frozenset[str]
) -> StandingLine:
    mark = ">" if row.number in mine else "=" if row.number in followed else ""
    score = "waiting" if row.waiting else words.seconds(row.score_ms, decimals)
    return StandingLine(
        row.number, mark, str(row.rank or "-"), row.driver, row.class_ or "?", score,
        words.difference(row.gap_to_leader_ms, decimals) if row.gap_to_leader_ms else "",
        words.difference(row.gap_to_next_ms, decimals) if row.gap_to_next_ms else "",
        runs, row.number in mine,
    )  # fmt: skip


def followed_words(found: Standings, name: str, number: str, mine: str, decimals: int) -> str:
    """``23 112.112, 0.020 ahead of you`` in the table shown."""
    table = found.table(name)
    row, me = (table.of(number), table.of(mine)) if table else (None, None)
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
