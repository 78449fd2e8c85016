"""What the verbs of times and verdicts say."""

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


@dataclass(frozen=True, slots=True, kw_only=True)
class ChanceTableSaid:
    """``class`` of ``paddock chances``."""

    p_lead: Annotated[float | None, "chance to lead at the end; null: can't be told"]
    p_lead_if_banked: Annotated[
        float | None,
        "that after a safe run next, and after a push; as `p_lead` where my record shows no difference",
    ]
    p_lead_if_pushed: Annotated[
        float | None,
        "that after a safe run next, and after a push; as `p_lead` where my record shows no difference",
    ]
    p_range: Annotated[
        tuple[float, ...] | None,
        "`[low, high]`: the chance if my pace is at the slow and at the quick end of what my runs show",
    ]
    brier_own_record: Annotated[
        float | None,
        "Brier score of my own chances in this event and its season so far, and how many; null and 0 where "
        "the outcome of none is known",
    ]
    n_record: Annotated[
        int,
        "Brier score of my own chances in this event and its season so far, and how many; null and 0 where "
        "the outcome of none is known",
    ]
    assumptions: Annotated[tuple[str, ...], "sentences on what it rests on"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChancesSaid:
    """What ``paddock chances`` says."""

    class_: Annotated[ChanceTableSaid, "in my class"]
    index: Annotated[ChanceTableSaid, "on index"]
    as_of: AsOfSaid
    faults_left_out: FaultsLeftOut
    rows_later: RowsLater


@dataclass(frozen=True, slots=True, kw_only=True)
class KindSaid:
    """``by_kind[]`` of ``paddock effect``."""

    kind: Annotated[str, "as in `course.csv`"]
    delta_ms: Annotated[int, "with the change less without, the field's change taken off; half-width of its 80 % range"]
    error_ms: Annotated[int, "with the change less without, the field's change taken off; half-width of its 80 % range"]
    verdict: Annotated[str, "`lost`, `gained`; `can't tell` under two errors"]
    without: Annotated[int, "runs with splits on either side"]
    having: Annotated[int, "runs with splits on either side"]


@dataclass(frozen=True, slots=True, kw_only=True)
class EffectSaid:
    """What ``paddock effect`` says."""

    field_change_ms: Annotated[int | None, "how much faster or slower those left alone became, and I did"]
    my_change_ms: Annotated[int | None, "how much faster or slower those left alone became, and I did"]
    extra_ms: Annotated[int | None, "mine beyond theirs, and its standard error"]
    se_ms: Annotated[int | None, "mine beyond theirs, and its standard error"]
    df: Annotated[str | None, "degrees of freedom of that error; null: none is meant"]
    interval80_ms: Annotated[tuple[int, ...] | None, "80 % range of the change from the data alone: low, high"]
    prior_sd_ms: Annotated[int | None, "what such a change usually is worth, as a standard deviation"]
    shrunk_ms: Annotated[int | None, "the change with that taken in, and its 80 % range"]
    shrunk_interval80_ms: Annotated[tuple[int, ...] | None, "the change with that taken in, and its 80 % range"]
    p_helped: Annotated[float | None, "chance that it made the car faster"]
    rank: Annotated[int | None, "place of my change among those left alone, as a share"]
    controls: Annotated[int, "how many were left alone"]
    verdict: Annotated[str, "very likely, probably or leans, with helped or hurt; or can't tell"]
    sentence: Annotated[str, "the verdict in words, and what would tell more"]
    next_test: Annotated[str | None, "the verdict in words, and what would tell more"]
    cautions: Annotated[tuple[str, ...], "sentences on what limits it"]
    prior_source: Annotated[str | None, "`default` or `own seasons`: where `prior_sd_ms` comes from; null with it"]
    told_share: Annotated[float | None, "1 - variance after over variance before, 0 to 1: how much this day told"]
    power: Annotated[
        float | None, "chance that the next test calls an effect of `hoped_ms` probably or surer; null for a repair"
    ]
    hoped_ms: Annotated[
        int | None, "chance that the next test calls an effect of `hoped_ms` probably or surer; null for a repair"
    ]
    own_learning_ms: Annotated[
        int | None,
        "what my learning beyond the field's moved the runs with the change, and its 80 % range",
    ]
    own_learning_interval80_ms: Annotated[
        tuple[int, ...] | None,
        "what my learning beyond the field's moved the runs with the change, and its 80 % range",
    ]
    not_separable: Annotated[tuple[str, ...], "ids of changes that were on in the very same runs"]
    by_kind: Annotated[
        tuple[KindSaid, ...], "on what kind of element it acted, the largest first; empty: a side has no splits"
    ]
    as_of: AsOfSaid
    faults_left_out: FaultsLeftOut
    rows_later: RowsLater


@dataclass(frozen=True, slots=True, kw_only=True)
class HindsightKindSaid:
    """``kinds[]`` of ``paddock hindsight``."""

    kind: Annotated[str, "which, and how many answers were held against what came"]
    n: Annotated[int, "which, and how many answers were held against what came"]
    unit: Annotated[str | None, "of figures: `ms`, `psi` or `mm`; null for chances"]
    median_error: Annotated[
        float | None, "of figures: how far off in the middle, in that unit; null for chances and where `kinds[].n` is 0"
    ]
    inside80: Annotated[float | None, "share of figures inside their 80 % range, 0 to 1"]
    brier: Annotated[
        float | None, "of chances: mean square of chance less outcome, and what always saying how often it comes scores"
    ]
    brier_base: Annotated[
        float | None, "of chances: mean square of chance less outcome, and what always saying how often it comes scores"
    ]
    reliability: Annotated[
        float | None, "its parts: brier = reliability - resolution + base, in five bins of the chance"
    ]
    resolution: Annotated[
        float | None, "its parts: brier = reliability - resolution + base, in five bins of the chance"
    ]
    widen: Annotated[
        float | None, "how many times as wide the 80 % ranges had to be to hold 80 %; null under 20 answers"
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class HindsightSaid:
    """What ``paddock hindsight`` says."""

    kinds: Annotated[
        tuple[HindsightKindSaid, ...],
        "one entry a kind of answer: my next run, the course's next step, lead class, lead index, a first "
        "run's reading, a later run's reading, the next tread depth",
    ]
