"""What decided a table for an entry: a penalty, a mistake that was logged, or pace alone.

Each cause is proved by scoring the event once more without it; the smallest that would have led is the one that is
named. That the same run without a cone had taken the same time is an assumption, and the page says "without".
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from paddock.engine.scoring.gap import contenders
from paddock.engine.scoring.plain import scope, standings
from paddock.engine.scoring.tables import StandingsTable, has_run
from paddock.model.event import Event
from paddock.model.rows import RunRow, TimeRow

Cause = Literal["penalty", "mistake", "pace", "their penalty", "alone"]


@dataclass(frozen=True, slots=True)
class Decision:
    """``rank`` of ``among`` entries; ``margin_ms`` to the best other: positive behind, negative ahead, None where there
    is none or the scores don't compare. ``runs``: the rows the cause lies in, in order; ``whose``: whose they are.
    ``lost_ms``: of a logged mistake, what it cost as logged; ``left``: runs I have left, None: not known.
    """

    number: str
    table: str
    rank: int
    among: int
    margin_ms: int | None
    other: str | None
    cause: Cause
    runs: tuple[TimeRow, ...] = ()
    whose: str = ""
    lost_ms: int = 0
    left: int | None = None


def decided(event: Event, number: str, name: str) -> Decision | None:
    """What decided the table ``name`` over the days it adds for ``number``; None where it is not ranked there."""
    found = standings(event).table(name)
    mine = found.of(number) if found else None
    if found is None or mine is None or mine.rank is None:
        return None
    other = found.best_other(number)
    among = len(contenders(event, found))
    left = _left(event, number)
    if other is None:
        return Decision(number, name, mine.rank, among, None, None, "alone", left=left)
    comparable = mine.score_ms is not None and other.score_ms is not None and mine.runs_counted == other.runs_counted
    margin = (mine.score_ms or 0) - (other.score_ms or 0) if comparable else None
    if mine.rank == 1:
        theirs = _without_penalties(event, other.number, name)
        cause: Cause = "their penalty" if theirs else "pace"
        whose = other.number if theirs else number
        return Decision(number, name, 1, among, margin, other.number, cause, theirs, whose, left=left)
    runs = _without_penalties(event, number, name)
    if runs:
        return Decision(number, name, mine.rank, among, margin, other.number, "penalty", runs, number, left=left)
    for row, lost_ms in _mistakes(event, number):
        if _leads(event, number, name, {id(row): {"time_ms": (row.time_ms or 0) - lost_ms}}):
            return Decision(
                number, name, mine.rank, among, margin, other.number, "mistake", (row,), number, lost_ms, left
            )
    return Decision(number, name, mine.rank, among, margin, other.number, "pace", whose=number, left=left)


def _left(event: Event, number: str) -> int | None:
    """Runs left to an entry over the event's days; None where the event doesn't say how many there are."""
    each, days = event.settings.runs_per_day, len(event.settings.days)
    if not each or not days:
        return None
    last = {
        day: max((row.run for row in _rows(event, number) if row.day == day), default=0)
        for day in range(1, days + 1)
        if not event.settings.is_practice(day)
    }
    ahead = max((day for day, run in last.items() if run), default=0)
    return sum(max(0, each - run) for day, run in last.items() if day >= ahead)


def _rows(event: Event, number: str) -> list[TimeRow]:
    return [row for row in event.times if row.number == number and has_run(row)]


def _without_penalties(event: Event, number: str, name: str) -> tuple[TimeRow, ...]:
    """The run whose penalty alone kept the entry from leading, fewest cones first; else all together; else none."""
    days = scope(event, None)
    penalised = [row for row in _rows(event, number) if row.day in days and (row.cones or row.misses)]
    penalised.sort(key=lambda row: ((row.misses or 0), (row.cones or 0), row.day, row.run))
    singles: Sequence[tuple[TimeRow, ...]] = [(row,) for row in penalised]
    whole = [tuple(sorted(penalised, key=lambda row: (row.day, row.run)))] if len(penalised) > 1 else []
    clean = {"cones": 0, "misses": 0}
    return next(
        (rows for rows in (*singles, *whole) if _leads(event, number, name, {id(row): clean for row in rows})), ()
    )


def _mistakes(event: Event, number: str) -> Iterator[tuple[TimeRow, int]]:
    """Runs with seconds logged as lost, the dearest first."""
    logged = {(row.day, row.run): row.lost_s for row in event.of(RunRow) if row.number == number and row.lost_s}
    rows = [row for row in _rows(event, number) if (row.day, row.run) in logged and row.time_ms]
    for row in sorted(rows, key=lambda row: -(logged[row.day, row.run] or 0.0)):
        lost_ms = round((logged[row.day, row.run] or 0.0) * 1000)
        if 0 < lost_ms < (row.time_ms or 0):
            yield row, lost_ms


def _leads(event: Event, number: str, name: str, changed: dict[int, dict[str, int]]) -> bool:
    """Whether the entry would be alone in first place with some of its rows otherwise."""
    times = tuple(row.model_copy(update=changed[id(row)]) if id(row) in changed else row for row in event.times)
    found: StandingsTable | None = standings(
        Event(event.name, event.settings, {**event.tables, TimeRow.FILE: times})
    ).table(name)
    firsts = [row.number for row in found.rows if row.rank == 1] if found else []
    return firsts == [number]
