"""Fixed words for a probability, and one sentence a driver understands."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = [
    "CANT_TELL", "VERDICTS", "moved", "no_runs", "one_control", "only_mine", "run_list", "sentence", "span",
    "together", "two_controls", "verdict_of",
]  # fmt: skip

CANT_TELL = "can't tell"
_WORDS = ((0.95, "very likely"), (0.80, "probably"), (0.60, "leans"))
VERDICTS = (*(f"{word} {side}" for side in ("helped", "hurt") for _, word in _WORDS), CANT_TELL)
"""Every verdict there is."""


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


def _s(ms: float) -> str:
    return f"{abs(ms) / 1000:.2f} s"


def moved(ms: float) -> str:
    """``gained 0.20 s``, ``lost 0.05 s``, ``stood still``."""
    if abs(ms) < 5:
        return "stood still"
    return f"{'gained' if ms < 0 else 'lost'} {_s(ms)}"


def span(low: float, high: float) -> str:
    """``0.05 to 0.37 s faster``, or ``0.15 s slower to 0.25 s faster``."""
    if low < 0 < high:
        return f"{_s(high)} slower to {_s(low)} faster"
    near, far = sorted((abs(low), abs(high)))
    return f"{near / 1000:.2f} to {_s(far)} {'faster' if low < 0 else 'slower'}"


def run_list(slots: Sequence[tuple[int, int]]) -> str:
    """``run 3``, ``runs 2, 3 and 4``, ``runs 2 and 3 of day 1 and run 1 of day 2``."""
    days = sorted({day for day, _ in slots})
    parts = []
    for day in days:
        runs = [str(run) for at, run in sorted(slots) if at == day]
        named = runs[0] if len(runs) == 1 else ", ".join(runs[:-1]) + " and " + runs[-1]
        parts.append(f"run{'s' if len(runs) > 1 else ''} {named}" + (f" of day {day}" if len(days) > 1 else ""))
    return " and ".join(parts)


def _printed(ms: float) -> float:
    """A figure as its two decimals say it."""
    return round(ms / 10) * 10


def _beyond(extra: float, learning: float) -> str:
    side = "more" if extra < 0 else "less"
    usual = f" and your usual learning ({moved(learning)})" if learning else ""
    return f"{_s(extra)} {side} than the course gave{usual}"


def sentence(
    label: str, verdict: str, figures: tuple[float, float, float], learning: float, reach: tuple[float, float]
) -> str:
    """The verdict in one sentence. ``figures``: field, mine, extra in ms; ``reach``: the 80 % range."""
    field, mine, extra = figures
    if not learning:  # as printed, the difference is that of the two figures printed before it
        extra = _printed(mine) - _printed(field)
    both = f"the field {moved(field)}, you {moved(mine)}"
    start = label[:1].upper() + label[1:]
    if verdict == CANT_TELL:
        return (
            f"Can't tell about {label}: {both}; the {_s(extra)} between is inside the scatter (range {span(*reach)})."
        )
    side = verdict.rsplit(" ", 1)[1]
    said = f"may have {side}" if verdict.startswith("leans") else verdict
    return f"{start} {said}: {both}, so {_beyond(extra, learning)} (range {span(*reach)})."


def no_runs(label: str, side: str, wanted: str) -> str:
    """Nothing to compare: ``side`` is what is missing."""
    return f"Can't tell about {label}: {side}; {wanted}."


def only_mine(label: str, mine: float, night: bool, slots: Sequence[tuple[int, int]]) -> str:
    """No control: my own change is all there is."""
    if night:
        return (
            f"Can't separate car from course: {label} was made overnight and no car of your drive and tyre kind has "
            f"times for the same runs of both days; you {moved(mine)}."
        )
    return (
        f"Can't tell about {label}: you {moved(mine)}, but no comparable car has times for {run_list(slots)}, so the "
        "course's part is unknown."
    )


def two_controls(label: str, field: float, mine: float) -> str:
    """Two controls: what scatter they show is itself luck, so nothing is claimed."""
    extra = _printed(mine) - _printed(field)
    return (
        f"Can't tell about {label}: the two comparable cars {moved(field)} and you {moved(mine)}, so "
        f"{_beyond(extra, 0.0)}; two cars show too little of the scatter to call it more than luck."
    )


def one_control(label: str, field: float, mine: float) -> str:
    """One control: a difference, but no scatter to hold it against."""
    return (
        f"Can't tell about {label}: the one comparable car {moved(field)} and you {moved(mine)}; one car shows no "
        "scatter, so the difference may be luck."
    )


def together(label: str, others: str, extra: float | None, reach: tuple[float, float] | None) -> str:
    """Another change at the same moment."""
    start = f"Can't tell about {label} alone: it came together with {others}"
    if extra is None:
        return f"{start}."
    seen = f" (range {span(*reach)})" if reach else ""
    side = "faster" if extra < 0 else "slower"
    return f"{start}; all of it together came out {_s(extra)} {side} than the field{seen}."
