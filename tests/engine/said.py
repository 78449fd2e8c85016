"""The words of a moment, as the pages say them."""

from __future__ import annotations

from paddock.engine.pressure.answer import Moment
from paddock.pages.pressure import reason_words, told


def reason(found: Moment) -> str:
    """Why the answer is what it is."""
    return reason_words(found)


def cautions(found: Moment) -> tuple[str, ...]:
    """What is said beside it."""
    return told(found).cautions


def why(found: Moment, rule: str) -> str:
    """Why a rule was passed over."""
    return next(text for name, _, text in told(found).passed if name == rule)
