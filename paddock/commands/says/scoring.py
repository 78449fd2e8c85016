"""What the verbs of times say."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from paddock.commands.says.shape import AsOfSaid, FaultsLeftOut, RowsLater


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingRunSaid:
    """``tables[].rows[].runs[]`` of ``paddock standings``."""

    day: Annotated[int, "which; try null: it has no name"]
    run: Annotated[int, "which; try null: it has no name"]
    try_: Annotated[str | None, "which; try null: it has no name"]
    raw_ms: Annotated[int | None, "without penalties; null: no time"]
    cones: Annotated[int, "counts, 0 where none was written"]
    misses: Annotated[int, "counts, 0 where none was written"]
    status: Annotated[str | None, "`dnf`, `dns`, `dsq`, `rerun`, `practice`; null: it stands"]
    total_ms: Annotated[int | None, "with penalties, in this table's times; null: void or as if not run"]
    counts: Annotated[bool, "it is in the score"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingSaid:
    """``tables[].rows[]`` of ``paddock standings``."""

    rank: Annotated[int | None, "place from 1; null: unranked"]
    number: Annotated[str, "as in `entrants.csv`; class null: none"]
    driver: Annotated[str, "as in `entrants.csv`; class null: none"]
    class_: Annotated[str | None, "as in `entrants.csv`; class null: none"]
    score_ms: Annotated[int | None, "the score in this table; null: none"]
    runs_counted: Annotated[int, "how many runs are in the score"]
    waiting: Annotated[bool, "true: has not run on the latest day, and is unranked for it"]
    gap_to_leader_ms: Annotated[int | None, "behind the first"]
    gap_to_next_ms: Annotated[int | None, "behind the one above"]
    runs: Annotated[tuple[StandingRunSaid, ...], "every run, by day and run"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingsTableSaid:
    """``tables[]`` of ``paddock standings``."""

    name: Annotated[str, "code of the class, `index` or `raw`"]
    scored_by: Annotated[str, "`raw` or `index` times"]
    rows: Annotated[tuple[StandingSaid, ...], "its entrants, the first at the top"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingsSaid:
    """What ``paddock standings`` says."""

    tables: Annotated[tuple[StandingsTableSaid, ...], "one table a class, then `index`, then `raw`"]
    as_of: AsOfSaid
    faults_left_out: FaultsLeftOut
    rows_later: RowsLater


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitingSaid:
    """``class.waiting`` of ``paddock gap``."""

    number: Annotated[str, "who"]
    lead_ms: Annotated[int | None, "how far they lead over the days before; null: not known"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenSaid:
    """``class.seen`` of ``paddock gap``."""

    entrants: Annotated[int, "entrants with a run that day, of how many"]
    of: Annotated[int, "entrants with a run that day, of how many"]
    through_run: Annotated[int | None, "all of those through this run; null: none"]
    newest: Annotated[str | None, "clock of the newest run; null: none has one"]


@dataclass(frozen=True, slots=True, kw_only=True)
class GapTableSaid:
    """``class`` of ``paddock gap``."""

    rank: Annotated[int | None, "my place and score; null: none"]
    score_ms: Annotated[int | None, "my place and score; null: none"]
    leader_number: Annotated[str | None, "who leads, with what"]
    leader_score_ms: Annotated[int | None, "who leads, with what"]
    gap_ms: Annotated[int | None, "behind the leader; 0: I lead; null: nothing to compare"]
    need_raw_ms: Annotated[int | None, "the slowest clean raw time of one more run that leads; null: none would"]
    find_raw_ms: Annotated[int | None, "what that is under my best raw time with its penalties; negative: in hand"]
    drive_ms: Annotated[int | None, "of that, the part by driving"]
    penalty_ms: Annotated[int | None, "of that, the part in penalties"]
    average_need_raw_ms: Annotated[int | None, "where runs are summed: what the runs left must average"]
    why: Annotated[str | None, "why there is no figure; null: there is"]
    waiting: Annotated[tuple[WaitingSaid, ...], "who has not run on the latest day"]
    seen: Annotated[SeenSaid, "how fresh the table is"]


@dataclass(frozen=True, slots=True, kw_only=True)
class GapSaid:
    """What ``paddock gap`` says."""

    class_: Annotated[GapTableSaid | None, "in my class; null: no class"]
    index: Annotated[GapTableSaid, "on index"]
    as_of: AsOfSaid
    faults_left_out: FaultsLeftOut
    rows_later: RowsLater
