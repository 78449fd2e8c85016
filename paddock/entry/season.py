"""What is typed about a booked event: fee, runs a day, paid or not, when entries close."""

from __future__ import annotations

from datetime import date
from decimal import Decimal, InvalidOperation

from paddock.entry.event import read_days
from paddock.entry.said import shown

_YES = {"yes": True, "paid": True, "no": False, "not": False, "open": False}


def read_fee(text: str) -> Decimal | None:
    """Money with at most two decimals; None for ``-``. ValueError's sentence."""
    if text.strip() == "-":
        return None
    try:
        fee = Decimal(text.strip().replace(",", "."))
    except InvalidOperation:
        raise ValueError(f"{shown(text)!r} is no fee: type a number like 62.50") from None
    if not fee.is_finite() or not 0 <= fee <= 1_000_000 or fee != round(fee, 2):
        raise ValueError(f"{shown(text)} is no fee: from 0 to 1000000, with two decimals at most")
    return fee


def read_runs_a_day(text: str) -> int | None:
    """1 to 99; None for ``-``. ValueError's sentence."""
    text = text.strip()
    if text == "-":
        return None
    if not (text.isascii() and text.isdecimal()) or not 1 <= int(text) <= 99:
        raise ValueError(f"{shown(text)!r}: runs a day are a whole number from 1 to 99")
    return int(text)


def read_paid(text: str) -> bool | None:
    """``yes`` or ``no``; None for ``-``. ValueError's sentence."""
    text = text.strip().lower()
    if text == "-":
        return None
    found = {value for word, value in _YES.items() if text and word.startswith(text)}
    if len(found) != 1:
        raise ValueError(f"{shown(text)!r}: write yes or no")
    return found.pop()


def read_closing(text: str, days: tuple[date, ...]) -> date | None:
    """The last day to enter; None for ``-``. ValueError's sentence."""
    if text.strip() == "-":
        return None
    (*_, day) = read_days(text)
    if days and day > days[0]:
        raise ValueError(f"{day} is after its first day, {days[0]}: entries close before")
    return day


def read_booked_name(text: str) -> str:
    """What it is called. ValueError's sentence."""
    text = " ".join(text.split())
    if not text.isprintable() or len(text) > 60:
        raise ValueError(f"{shown(text)!r} is no name: up to 60 letters")
    return text
