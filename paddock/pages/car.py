"""What the pages of the car share: figures, what is wrong or missing, the usual cautions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from paddock.engine.car.findings import Finding
from paddock.errors import Problem
from paddock.pages.document import Block, Words, words


def figure(value: float | None, places: int = 0, sign: bool = False) -> str:
    """A number with so many places; a dash where there is none."""
    if value is None:
        return "-"
    shown = round(value, places) + 0.0
    return f"{shown:{'+' if sign and shown else ''}.{places}f}"


def share(value: float | None) -> str:
    """``61.3 %``; a dash where it can't be told."""
    return "-" if value is None else f"{value * 100:.1f} %"


def finding_words(findings: Iterable[Finding]) -> tuple[Words, ...]:
    """What is wrong with or missing from a car file: ``!`` can't be, ``?`` missing or doubtful."""
    return tuple(words(("! " if item.level == "fault" else "? ", "warn"), _sentence(item), hang=2) for item in findings)


def _sentence(finding: Finding) -> str:
    return f"{finding.key}: {finding.message}" if finding.key else finding.message


def caution_words(cautions: Sequence[str]) -> tuple[Words, ...]:
    """The usual cautions, once."""
    return tuple(words(f"! {text}", hang=2) for text in cautions)


def at_the_end(problems: Sequence[Problem], cautions: Sequence[str]) -> tuple[Block, ...]:
    """What a command's page ends with: what is wrong with its place in the file, then the cautions."""
    wrong = (words(""), *(words(f"{problem}", hang=2) for problem in problems)) if problems else ()
    return (*wrong, *((words(""), *caution_words(cautions)) if cautions else ()))
