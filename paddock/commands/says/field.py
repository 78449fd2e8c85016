"""What the verbs of the field's model say: chances, verdicts and how they did."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from paddock.commands.says.shape import AsOfSaid, FaultsLeftOut, RowsLater


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
