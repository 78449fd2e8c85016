"""How one cell is read and written, by kind.

A reader takes the stripped, non-blank text and gives a value, or raises ValueError whose
message says what is wrong and how to mend it. Blank cells never reach it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation

BALANCE_STEP = 1.0
"""Balance is noted in whole steps."""

_TIME = re.compile(r"(?:(\d{1,3}):)?(\d{1,7})(?:[.,](\d{0,3}))?", re.ASCII)
_CLOCK = re.compile(r"(\d{1,2}):(\d{2})(?::(\d{2}))?", re.ASCII)
_WHOLE = re.compile(r"[+-]?\d{1,9}", re.ASCII)


@dataclass(frozen=True, slots=True)
class CellKind:
    """``read``: text to value; ``write``: value to text with a decimal point."""

    name: str
    read: Callable[[str], object]
    write: Callable[[object], str]


def parse_time_ms(text: str) -> int:
    """Seconds as printed (``46.512``, ``46,512``, ``1:02.345``) to whole milliseconds, exactly."""
    found = _TIME.fullmatch(text)
    if found is None:
        raise ValueError(f"{text!r} is no time: write seconds with at most three decimals, like 46.512")
    minutes, seconds, part = found.groups()
    if minutes is not None and int(seconds) > 59:
        raise ValueError(f"{text!r} is no time: after the colon come 0 to 59 seconds")
    return (int(minutes or 0) * 60 + int(seconds)) * 1000 + int((part or "").ljust(3, "0"))


def format_time(ms: int, decimals: int = 3) -> str:
    """Milliseconds as seconds, with more decimals than asked only where the value has them."""
    sign, ms = ("-", -ms) if ms < 0 else ("", ms)
    part = f"{ms % 1000:03d}"
    while len(part) > decimals and part.endswith("0"):
        part = part[:-1]
    return f"{sign}{ms // 1000}" + (f".{part}" if part else "")


def plain_number(value: float, places: int) -> str:
    """Half-up decimal text without trailing zeros or an exponent."""
    step = Decimal(1).scaleb(-places)
    text = f"{Decimal(repr(float(value))).quantize(step, ROUND_HALF_UP):f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text).replace(
        "-0", "0", 1 if text.strip("-0.") == "" else 0
    )


def _float(text: str) -> float:
    try:
        value = float(Decimal(text.replace(",", ".") if text.count(",") == 1 and "." not in text else text))
    except (InvalidOperation, ValueError):
        raise ValueError(f"{text!r} is no number") from None
    if not math.isfinite(value) or abs(value) > 1e9:
        raise ValueError(f"{text!r} is no number that can be meant")
    return value


def _whole(text: str) -> int:
    if _WHOLE.fullmatch(text) is None:
        raise ValueError(f"{text!r} is no whole number")
    return int(text)


def _ranged(low: int, high: int | None, what: str) -> Callable[[str], int]:
    def read(text: str) -> int:
        value = _whole(text)
        if value < low or (high is not None and value > high):
            raise ValueError(f"{text!r} is out of range: {what}")
        return value

    return read


def _clock(text: str) -> str:
    found = _CLOCK.fullmatch(text)
    if found is None or int(found[1]) > 23 or int(found[2]) > 59 or int(found[3] or 0) > 59:
        raise ValueError(f"{text!r} is no clock time: write HH:MM or HH:MM:SS")
    return f"{int(found[1]):02d}:{found[2]}" + (f":{found[3]}" if found[3] else "")


def _date(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ValueError(f"{text!r} is no date: write YYYY-MM-DD") from None


_YES = {"yes": True, "y": True, "true": True, "1": True, "x": True}
_NO = {"no": False, "n": False, "false": False, "0": False, "-": False}


def _flag(text: str) -> bool:
    known = _YES | _NO
    if text.lower() not in known:
        raise ValueError(f"{text!r}: write yes or no")
    return known[text.lower()]


def _text(text: str) -> str:
    return text


def choice(*words: str) -> CellKind:
    """A cell that holds one of ``words``."""

    def read(text: str) -> str:
        if text.lower() not in words:
            raise ValueError(f"{text!r} is not known here: write {', '.join(words[:-1])} or {words[-1]}")
        return text.lower()

    return CellKind("choice", read, str)


def _write_float(value: object) -> str:
    return plain_number(float(value), 6)  # type: ignore[arg-type]


KINDS: dict[str, CellKind] = {
    kind.name: kind
    for kind in (
        CellKind("text", _text, str),
        CellKind("time", parse_time_ms, lambda value: format_time(int(value))),  # type: ignore[call-overload]
        CellKind("float", _float, _write_float),
        CellKind("ordinal", _ranged(1, 999, "counts from 1"), str),
        CellKind("count", _ranged(0, 999, "0 or more"), str),
        CellKind("balance", _ranged(-3, 3, "-3 strong understeer to +3 strong oversteer"), lambda value: f"{value}"),
        CellKind("clock", _clock, str),
        CellKind("date", _date, str),
        CellKind("flag", _flag, lambda value: "yes" if value else "no"),
    )
}
