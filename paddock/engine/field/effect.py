"""What a judged change is: the figures of the contract, the evidence behind each, the word for a probability."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from paddock.engine.field.scores import Slot

# fixed words for a probability


CANT_TELL = "can't tell"
_WORDS = ((0.95, "very likely"), (0.80, "probably"), (0.60, "leans"))
VERDICTS = (*(f"{word} {side}" for side in ("helped", "hurt") for _, word in _WORDS), CANT_TELL)
"""Every verdict there is."""
TOLD_LITTLE = 0.3
"""Below this share told by the day, the answer is mostly the prior."""


def verdict_of(p_helped: float | None) -> str:
    """``very likely helped`` from .95 on, ``probably`` .80, ``leans`` .60, mirrored for hurt; None: can't tell."""
    if p_helped is None:
        return CANT_TELL
    for share, word in _WORDS:
        if p_helped >= share:
            return f"{word} helped"
        if 1.0 - p_helped >= share:
            return f"{word} hurt"
    return CANT_TELL


NoVerdict = Literal["judged", "no first run", "no run", "not driven", "none without", "nobody else", "together"]
"""``judged``, or why there is no verdict: the log doesn't say from which run it was on; no usable run of mine at all,
with it, or without it; nobody else tells the course; another change was on in the very same runs.
"""
Caution = Literal[
    "tells little", "own learning", "scatter", "few cars", "silent log", "changed too", "overnight"
]  # fmt: skip
"""What moves the answer."""


@dataclass(frozen=True, slots=True)
class RunUsed:
    """A run of mine behind the verdict; ``new``: driven with the change."""

    day: int
    run: int
    raw_ms: int
    new: bool


@dataclass(frozen=True, slots=True)
class ControlUsed:
    """A car that tells the course and how much it changed between the runs without and with; None: lacks a side."""

    number: str
    change_ms: float | None


@dataclass(frozen=True, slots=True)
class LeftOut:
    """An entrant who ran but does not tell the course, and why."""

    number: str
    why: str


@dataclass(frozen=True, slots=True)
class CoDriver:
    """Who drove the same car, changed as mine was: their runs are weighed in, with room to differ."""

    number: str
    change_ms: float
    extra_ms: float


@dataclass(frozen=True, slots=True)
class PlannedRun:
    """One run to come; ``setting``: ``old``, ``new`` or ``free`` (no part of the test)."""

    day: int
    run: int
    setting: str


@dataclass(frozen=True, slots=True)
class Power:
    """Before a test is made: ``probably`` and ``very``, the chances that it calls an effect of ``hoped_s`` (at 45 s)
    by that word or a surer one, the right way; ``eight``: ``probably`` with eight runs old-new-new-old.

    ``finds_s``: the effect that it would call "probably" on every other day; ``error_s``: the error it would leave.
    inf: it can't tell.
    """

    hoped_s: float
    probably: float
    very: float
    eight: float
    finds_s: float
    error_s: float


@dataclass(frozen=True, slots=True)
class TestPlan:
    """``runs`` in order, none: no run is left; ``quick`` as far as the change's name tells; ``on``: the car carries it
    now; ``power`` its worth.
    """

    change_id: str
    quick: bool
    runs: tuple[PlannedRun, ...]
    on: bool
    power: Power


@dataclass(frozen=True, slots=True)
class Effect:
    """A change judged. Times in ms at ``time_ms``, my geometric-mean time of the runs used; negative is faster.

    None = can't be said. ``field_change_ms``: the course between my runs without and with, as the field tells it;
    ``extra_ms``, ``se_ms``, ``interval80_ms``: the change by this day alone; ``shrunk_*``, ``p_helped``, ``verdict``:
    with what such changes usually do (``prior_sd_ms`` from ``prior_source``: ``default`` or ``own seasons``).
    ``told_share``: 1 - posterior over prior variance. ``own_learning_ms``: how much my learning beyond the field's is
    taken to have moved the runs with the change. ``power``: chance that the next test calls the hoped effect
    (``hoped_ms``) "probably" or surer; ``plan``: that test, None for a repair. ``not_separable``: ids of changes on in
    the same runs. ``rank``: my place among mine and the controls' changes, 1 gained most. ``df`` is never meant: the
    posterior is no t. ``scatter_wider``: how many times wider than the field's my scatter was taken, by my own record
    of earlier ranges. ``why`` there is a verdict or none; ``first``: the first run with it, None: not said;
    ``cautions``: what moves the answer; ``silent``: runs used of which the log doesn't say whether they were mistakes;
    ``together_with``, ``changed_too``: other changes on in the very same of these runs, and in some of them, as
    labelled.
    """

    change_id: str
    number: str
    label: str
    verdict: str
    why: NoVerdict
    kind: str
    first: Slot | None = None
    plan: TestPlan | None = None
    decision: str | None = None
    time_ms: float | None = None
    field_change_ms: float | None = None
    my_change_ms: float | None = None
    extra_ms: float | None = None
    scatter_ms: float | None = None
    se_ms: float | None = None
    df: float | None = None
    interval80_ms: tuple[float, float] | None = None
    prior_sd_ms: float | None = None
    prior_source: str | None = None
    shrunk_ms: float | None = None
    shrunk_interval80_ms: tuple[float, float] | None = None
    p_helped: float | None = None
    told_share: float | None = None
    power: float | None = None
    hoped_ms: float | None = None
    own_learning_ms: float | None = None
    own_learning_interval80_ms: tuple[float, float] | None = None
    learning_days: int = 0
    scatter_wider: float = 1.0
    not_separable: tuple[str, ...] = ()
    rank: int | None = None
    runs_used: tuple[RunUsed, ...] = ()
    mistakes_left_out: tuple[Slot, ...] = ()
    controls_used: tuple[ControlUsed, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    co_drivers: tuple[CoDriver, ...] = ()
    cautions: tuple[Caution, ...] = ()
    silent: tuple[Slot, ...] = ()
    together_with: tuple[str, ...] = ()
    changed_too: tuple[str, ...] = ()

    @property
    def controls(self) -> int:
        """How many cars tell the course."""
        return len(self.controls_used)
