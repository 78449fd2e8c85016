"""What a judged change is: the figures of the contract, the evidence behind each, the words for them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from paddock.engine.field.frame import Slot
from paddock.words import capital

# fixed words for a probability, and the sentence a driver understands


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


def seconds(ms: float) -> str:
    """``0.20 s``, without a sign."""
    return f"{abs(ms) / 1000:.2f} s"


def moved(ms: float) -> str:
    """``gained 0.20 s``, ``lost 0.05 s``, ``stood still``."""
    if abs(ms) < 5:
        return "stood still"
    return f"{'gained' if ms < 0 else 'lost'} {seconds(ms)}"


def span(low: float, high: float) -> str:
    """``0.05 to 0.37 s faster``, or ``0.15 s slower to 0.25 s faster``."""
    if low < 0 < high:
        return f"{seconds(high)} slower to {seconds(low)} faster"
    near, far = sorted((abs(low), abs(high)))
    return f"{near / 1000:.2f} to {seconds(far)} {'faster' if low < 0 else 'slower'}"


def run_list(slots: Sequence[tuple[int, int]]) -> str:
    """``run 3``, ``runs 2, 3 and 4``, ``runs 2 and 3 of day 1 and run 1 of day 2``."""
    days = sorted({day for day, _ in slots})
    parts = []
    for day in days:
        runs = [str(run) for at, run in sorted(slots) if at == day]
        named = runs[0] if len(runs) == 1 else ", ".join(runs[:-1]) + " and " + runs[-1]
        parts.append(f"run{'s' if len(runs) > 1 else ''} {named}" + (f" of day {day}" if len(days) > 1 else ""))
    return " and ".join(parts)


def sentence(
    label: str,
    verdict: str,
    field: float,
    mine: float,
    guess: float,
    reach: tuple[float, float],
    cautions: Sequence[str],
) -> str:
    """The verdict, its evidence and what moves it. ``field`` and ``mine``: changes in ms; ``guess`` and ``reach``: the
    best guess of the effect and its 80 % range.
    """
    both = f"the field {moved(field)}, you {moved(mine)}"
    worth = f"{seconds(guess)} {'faster' if guess < 0 else 'slower'}" if abs(guess) >= 5 else "nothing"
    said = f"best guess {worth} (range {span(*reach)})"
    if verdict == CANT_TELL:
        first = f"Can't tell about {label}: {both}; {said}."
    else:
        word = f"may have {verdict.rsplit(' ', 1)[1]}" if verdict.startswith("leans") else verdict
        first = f"{capital(label)} {word}: {both}; {said}."
    return " ".join([first, *(f"{capital(text)}." for text in cautions)])


def no_runs(label: str, side: str, wanted: str) -> str:
    """Nothing to compare: ``side`` is what is missing."""
    return f"Can't tell about {label}: {side}; {wanted}."


def only_mine(label: str, mine: float, night: bool, slots: Sequence[tuple[int, int]]) -> str:
    """Nobody else tells the course: my own change is all there is."""
    if night:
        return (
            f"Can't separate car from course: {label} was made overnight and nobody else has times on both days; "
            f"you {moved(mine)}."
        )
    return (
        f"Can't tell about {label}: you {moved(mine)}, but nobody else has two usable runs among {run_list(slots)}, so "
        "the course's part is unknown."
    )


def together(label: str, others: str, extra: float | None, reach: tuple[float, float] | None) -> str:
    """Another change on in the same runs."""
    start = f"Can't tell about {label} alone: it came together with {others}"
    if extra is None:
        return f"{start}."
    seen = f" (range {span(*reach)})" if reach else ""
    side = "faster" if extra < 0 else "slower"
    return f"{start}; all of it together came out {seconds(extra)} {side} than the field{seen}."


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
class Effect:
    """A change judged. Times in ms at ``time_ms``, my geometric-mean time of the runs used; negative is faster.

    None = can't be said. ``field_change_ms``: the course between my runs without and with, as the field tells it;
    ``extra_ms``, ``se_ms``, ``interval80_ms``: the change by this day alone; ``shrunk_*``, ``p_helped``, ``verdict``:
    with what such changes usually do (``prior_sd_ms`` from ``prior_source``: ``default`` or ``own seasons``).
    ``told_share``: 1 - posterior over prior variance. ``own_learning_ms``: how much my learning beyond the field's is
    taken to have moved the runs with the change. ``power``: chance that the next test calls the hoped effect
    (``hoped_ms``) "probably" or surer. ``not_separable``: ids of changes on in the same runs. ``rank``: my place among
    mine and the controls' changes, 1 gained most. ``df`` is never meant: the posterior is no t. ``scatter_wider``: how
    many times wider than the field's my scatter was taken, by my own record of earlier ranges.
    """

    change_id: str
    number: str
    label: str
    verdict: str
    sentence: str
    next_test: str
    kind: str
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
    cautions: tuple[str, ...] = ()

    @property
    def controls(self) -> int:
        """How many cars tell the course."""
        return len(self.controls_used)
