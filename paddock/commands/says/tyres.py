"""What the verbs of tyres and their pressures say."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from paddock.commands.says.shape import LEFT_OUT, AsOfSaid, FaultsLeftOut, RowsLater


@dataclass(frozen=True, slots=True, kw_only=True)
class CornersSaid:
    """``now`` of ``paddock next``."""

    lf: Annotated[float | None, "left front; null: not known"]
    rf: Annotated[float | None, "right front; null: not known"]
    lr: Annotated[float | None, "left rear; null: not known"]
    rr: Annotated[float | None, "right rear; null: not known"]


@dataclass(frozen=True, slots=True, kw_only=True)
class NextSignSaid:
    """``signs[]`` of ``paddock next``."""

    sign: Annotated[str, "which, where (null: the car), what was seen, what it speaks for"]
    axle: Annotated[str | None, "which, where (null: the car), what was seen, what it speaks for"]
    value: Annotated[str, "which, where (null: the car), what was seen, what it speaks for"]
    says: Annotated[str, "which, where (null: the car), what was seen, what it speaks for"]
    counts: Annotated[bool, "false: too faint"]


@dataclass(frozen=True, slots=True, kw_only=True)
class NextPassedOverSaid:
    """``passed_over[]`` of ``paddock next``."""

    rule: Annotated[str, "name, its words, why it did not answer"]
    name: Annotated[str, "name, its words, why it did not answer"]
    why: Annotated[str, "name, its words, why it did not answer"]


@dataclass(frozen=True, slots=True, kw_only=True)
class NextSaid:
    """What ``paddock next`` says."""

    action: Annotated[str, "`set`, `hold`, `stop`, `read` (the gauge first), `plan` (cold, before a first run), `none`"]
    moment: Annotated[
        str,
        "where the day stands: its names are in `methods/next-pressure.md`",
    ]
    fresh: Annotated[bool, "a reading or setting counts now"]
    as_of: AsOfSaid
    unit: Annotated[str, "of all pressures, those in sentences too: psi, or that of `--unit`"]
    now: Annotated[
        CornersSaid | None,
        "gauge readings; null: nothing read counts now",
    ]
    set: Annotated[
        CornersSaid | None,
        "what to set, in the same thermal state; null: for `read`, `stop` and `none`",
    ]
    rule: Annotated[str, "name of the rule that answered; of the moment, where no rule did"]
    reason: Annotated[str, "one sentence"]
    signs: Annotated[tuple[NextSignSaid, ...], "what the log shows"]
    passed_over: Annotated[tuple[NextPassedOverSaid, ...], "the rules tried before"]
    cautions: Annotated[tuple[str, ...], "sentences to read before acting"]
    confidence: Annotated[str, "`high`, `fair`, `low`"]
    faults_left_out: FaultsLeftOut
    rows_later: RowsLater


@dataclass(frozen=True, slots=True, kw_only=True)
class AirSaid:
    """What ``paddock air`` says."""

    gauge: Annotated[float, "what the gauge reads there, in psi or the unit of `--unit`"]


@dataclass(frozen=True, slots=True, kw_only=True)
class WearSaid:
    """``tyres[].wear_mm_per_run`` of ``paddock tyres``."""

    inner: Annotated[float | None, "millimetres a run on this edge; null: not known"]
    middle: Annotated[float | None, "millimetres a run on this edge; null: not known"]
    outer: Annotated[float | None, "millimetres a run on this edge; null: not known"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TyreSaid:
    """``tyres[]`` of ``paddock tyres``."""

    tyre: Annotated[str, "its name, its runs in all"]
    runs: Annotated[int, "its name, its runs in all"]
    wear_mm_per_run: Annotated[
        WearSaid | None,
        "by edge; null: not known",
    ]
    runs_left: Annotated[float | None, "runs to its floor and the 80 % range; null: not known, or no upper end"]
    runs_left_low: Annotated[float | None, "runs to its floor and the 80 % range; null: not known, or no upper end"]
    runs_left_high: Annotated[float | None, "runs to its floor and the 80 % range; null: not known, or no upper end"]
    limiting_edge: Annotated[str | None, "`inner`, `middle`, `outer`"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TyresProposalSaid:
    """``proposals[]`` of ``paddock tyres``."""

    kind: Annotated[str, "what, which, and why"]
    tyres: Annotated[tuple[str, ...], "what, which, and why"]
    runs_gained: Annotated[float, "of a move"] = LEFT_OUT
    order_by: Annotated[str | None, "of `buy`: the date; null: not known"] = LEFT_OUT
    sentence: Annotated[str, "what, which, and why"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TyresRefusalSaid:
    """``refusals[]`` of ``paddock tyres``."""

    kind: Annotated[str, "which move, of which tyres, and why not"]
    tyres: Annotated[tuple[str, ...], "which move, of which tyres, and why not"]
    reason: Annotated[str, "which move, of which tyres, and why not"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TyresSaid:
    """What ``paddock tyres`` says."""

    tyres: Annotated[tuple[TyreSaid, ...], "one object a tyre"]
    proposals: Annotated[tuple[TyresProposalSaid, ...], "what to move, what to buy"]
    refusals: Annotated[tuple[TyresRefusalSaid, ...], "moves that can't be, or can't be told"]
    questions: Annotated[tuple[str, ...], "sentences: what the log leaves open about the tyres"]
    reasons: Annotated[tuple[str, ...], "sentences: why they wear as they do"]
    faults_left_out: FaultsLeftOut
    rows_later: RowsLater
