"""Fixed words for a probability, and the sentence a driver understands."""

from __future__ import annotations

from collections.abc import Sequence

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


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


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
        first = f"{_capital(label)} {word}: {both}; {said}."
    return " ".join([first, *(f"{_capital(text)}." for text in cautions)])


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
