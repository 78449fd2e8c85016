"""A typed time: ``46.512``, ``46,512``, ``46512`` and ``1:02.345`` where times are printed to 3 decimals."""

from __future__ import annotations

import re

from paddock.entry.said import Misread, Wrong, shown

LONGEST_MS = 600_000
"""Longer than ten minutes is no run here."""

_POINTED = re.compile(r"(?:(\d{1,2}):)?(\d{1,3})[.,](\d+)", re.ASCII)
_BARE = re.compile(r"(?:(\d{1,2}):)?(\d+)", re.ASCII)
_COUNT = {0: "no decimals", 1: "one decimal", 2: "two decimals", 3: "three decimals"}


def looks_like_time(word: str) -> bool:
    """A word that can only be meant as a time, well written or not."""
    return bool(word) and word[0] in "0123456789.,:" and len(word) > 1


def read_time(text: str, decimals: int) -> int | Wrong:
    """Whole milliseconds of a time typed for an event that prints ``decimals`` (0 to 3)."""
    try:
        return time_ms(text, decimals)
    except Misread as misread:
        return misread.wrong


def time_ms(text: str, decimals: int) -> int:
    """As :func:`read_time`, raising ``Misread``."""
    word = text.strip()
    if found := _POINTED.fullmatch(word):
        minutes, seconds, part = found.groups()
    elif found := _BARE.fullmatch(word):
        minutes, seconds, part = _unpointed(word, found[1], found[2], decimals)
    else:
        raise _wrong(word, f"is no time: write it like {_sample(decimals)}")
    if len(part) != decimals:
        raise _wrong(word, f"has {_count(len(part))}, this event prints {_count(decimals)}: {_mend(decimals)}")
    return _checked(word, minutes, seconds, part)


def _unpointed(word: str, minutes: str | None, digits: str, decimals: int) -> tuple[str | None, str, str]:
    whole = len(digits) - decimals
    if whole == 2 or (minutes is None and whole == 3 and digits[0] == "1"):
        return minutes, digits[:whole], digits[whole:]
    near = _near(digits, decimals)
    raise _wrong(word, f"can be read in more than one way: write {near}")


def _near(digits: str, decimals: int) -> str:
    """Two ways the digits could be meant, pointed."""
    if decimals and len(digits) == decimals + 1:
        padded = f"{digits[:2]}.{digits[2:].ljust(decimals, '0')}"
        return f"{digits[:1]}.{digits[1:]} or {padded}" if len(digits) > 2 else f"it like {_sample(decimals)}"
    return f"it like {_sample(decimals)}"


def _checked(word: str, minutes: str | None, seconds: str, part: str) -> int:
    if minutes is not None and (int(seconds) > 59 or len(seconds) != 2):
        raise _wrong(word, "is no time: two digits, 00 to 59, stand after the colon")
    total = (int(minutes or 0) * 60 + int(seconds)) * 1000 + int(part.ljust(3, "0") or 0)
    if total == 0:
        raise _wrong(word, "is no time: leave it out if there is none")
    if total > LONGEST_MS:
        raise _wrong(word, "is over ten minutes: check the point")
    return total


def _wrong(word: str, says: str) -> Misread:
    return Misread("time", word, f"{shown(word)} {says}")


def _count(places: int) -> str:
    return _COUNT.get(places, f"{places} decimals")


def _sample(decimals: int) -> str:
    return "46" + (f".{'512'[:decimals]}" if decimals else "")


def _mend(decimals: int) -> str:
    return f"write it like {_sample(decimals)}"
