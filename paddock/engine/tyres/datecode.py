"""The age of a tyre from the date code on its wall.

Four digits, WWYY: week and year of making (49 CFR 574.5 as amended by 64 FR 36807, 8 July 1999). Weeks run
Sunday to Saturday and week 01 is the first full one, not the ISO week (from memory of 574.5(b)(4)). Three
digits are from before 2000 and name no decade: they are asked about, never guessed.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta

_FOUR = re.compile(r"(\d{2})(\d{2})")


@dataclass(frozen=True, slots=True)
class MadeIn:
    """The week of making; ``first_day`` is its Sunday."""

    week: int
    year: int
    first_day: date


def _digits(code: str) -> str:
    """The date part: the last group, or the last four of a whole identification number."""
    last = (code.split() or [""])[-1].upper()
    whole_number = len(last) in range(10, 14) and last.isalnum() and last[-4:].isdigit()
    return last[-4:] if whole_number else last


def _week_start(week: int, year: int) -> date | None:
    new_year = date(year, 1, 1)
    first_sunday = new_year + timedelta(days=(6 - new_year.weekday()) % 7)
    start = first_sunday + timedelta(weeks=week - 1)
    return start if week >= 1 and start.year == year else None


def made_in(code: str | None) -> MadeIn | None:
    """The week a tyre was made in, None where the code doesn't say it for certain."""
    found = _FOUR.fullmatch(_digits(code or ""))
    if found is None:
        return None
    week, year = int(found[1]), 2000 + int(found[2])
    start = _week_start(week, year)
    return MadeIn(week, year, start) if start else None


def age_years(code: str | None, on: date) -> float | None:
    """Years from the week of making to ``on``; None: not known, or made after ``on``."""
    made = made_in(code)
    if made is None or made.first_day > on:
        return None
    return (on - made.first_day).days / 365.25


def code_question(code: str | None, on: date | None) -> str | None:
    """What to ask about a date code, None where it is blank or plain."""
    if not code:
        return None
    digits = _digits(code)
    if re.fullmatch(r"\d{3}", digits):
        return (
            f"date code {code}: three digits name no decade (made before 2000), or a spreadsheet dropped a leading "
            "zero; no age is worked out: read the wall again and write four digits like 0926"
        )
    made = made_in(code)
    if made is None:
        return f"date code {code}: write week and year as four digits, like 0926 for week 9 of 2026"
    if on is not None and made.first_day > on:
        return f"date code {code}: week {made.week} of {made.year} is after the event; read the wall again"
    return None
