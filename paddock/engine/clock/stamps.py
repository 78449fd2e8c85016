"""Clock times and the moments people write into cells."""

from __future__ import annotations

import re
from dataclasses import dataclass

from paddock.model.event import Event

_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
_DAY_RUN = re.compile(
    r"(?:day|d)?\s*(\d{1,2})(?:(?:\s*[,/.-]\s*|\s+|\s*,?\s*(?:run|r)\s*)(\d{1,2})(?![\d:]))?", re.IGNORECASE
)
_CLOCK = re.compile(r"\b(\d{1,2}:\d{2})\b")


def minutes(at: str | None) -> float | None:
    """Minutes since midnight of ``HH:MM[:SS]``; None where there is no clock time."""
    if at is None:
        return None
    hours, mins, *rest = at.split(":")
    return int(hours) * 60 + int(mins) + (int(rest[0]) / 60 if rest else 0.0)


def hh_mm(minute: float) -> str:
    """``HH:MM`` of minutes since midnight."""
    return f"{int(minute) // 60:02d}:{int(minute) % 60:02d}"


@dataclass(frozen=True, slots=True)
class Stamp:
    """When something was opened or done, as far as it says so; day 0: before the event; None: it doesn't say."""

    day: int | None = None
    run: int | None = None
    minute: float | None = None


def stamp_of(text: str | None, event: Event) -> Stamp:
    """``day 1 09:10``, ``day 1 run 2``, ``1/2``, ``2026-05-09 09:10``; anything else says nothing."""
    text, days = (text or "").strip(), event.settings.days
    clock, dated = _CLOCK.search(text), _DATE.search(text)
    minute = minutes(clock[1]) if clock else None
    if dated is not None and days:
        return Stamp(sum(1 for day in days if day.isoformat() <= dated[0]), None, minute)
    if text.isdigit() or (clock is not None and clock.start() == 0):
        return Stamp(None, None, minute)
    found = _DAY_RUN.match(text)
    return Stamp(int(found[1]), int(found[2]) if found[2] else None, minute) if found else Stamp()
