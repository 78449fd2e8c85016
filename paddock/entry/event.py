"""What is typed about the event: its days, a rule, a class, an index, a gauge, an entrant; and the next event."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

from paddock.engine.pressure.plan import SitePlace
from paddock.entry.said import shown
from paddock.errors import UsageError
from paddock.model.settings import CHOICES, FIRST_DAY, LAST_DAY, Forecast, Settings
from paddock.model.units import Measured, measured
from paddock.store.disk import typed

_CODE = re.compile(r"[^\s\"=]{1,24}")
_NUMBER = re.compile(r"([+-]?\d+(?:[.,]\d+)?|[+-]?[.,]\d+)\s*([a-zA-Z°]*)")
_FIRST = re.compile(r"(?:best of )?first (\d{1,3})|best of (\d{1,3})")
_WHOLE = ("runs_per_day", "rules.miss_limit", "rules.decimals")
_TEXT = ("name", "site", "index.edition")
_RESERVED = ("index", "raw")
_FACTOR = re.compile(r"\d*[.,]\d+")


def read_days(text: str) -> tuple[date, ...]:
    """``2026-07-11``, more with spaces or commas; ``2026-07-11 +1``: that day and the next. ValueError's sentence."""
    found: list[date] = []
    for word in (part for part in re.split(r"[,\s]+", text) if part):
        if re.fullmatch(r"\+\d", word) and found:
            found += [found[-1] + timedelta(days=step) for step in range(1, int(word[1]) + 1)]
            continue
        try:
            found.append(date.fromisoformat(word))
        except ValueError:
            raise ValueError(f"{shown(word)!r} is no date: write the days as 2026-07-11, or 2026-07-11 +1") from None
        if not FIRST_DAY <= found[-1] <= LAST_DAY:
            raise ValueError(f"{word} is no day of an event: from {FIRST_DAY} to {LAST_DAY} is taken")
    if not found or found != sorted(set(found)):
        raise ValueError("write at least one day, in order, each once")
    return tuple(found)


def days_text(days: tuple[date, ...]) -> str:
    """Days as they are typed: ``2026-07-11 +1`` where they follow each other."""
    if len(days) > 1 and days == tuple(days[0] + timedelta(days=step) for step in range(len(days))) and len(days) < 11:
        return f"{days[0]} +{len(days) - 1}"
    return " ".join(str(day) for day in days)


def read_event_value(key: str, text: str) -> Any:
    """A text typed at a dotted key as it goes into ``event.toml``; ``-`` takes it out (None). ValueError's sentence."""
    text = text.strip()
    if text == "-":
        return None
    if key in _TEXT:
        return text
    if key == "days":
        return list(read_days(text))
    if key == "mine.numbers":
        return list(read_numbers(text))
    if key == "practice_days":
        return sorted({_whole(word) for word in text.replace(",", " ").split()})
    if key == "rules.count" and (found := _FIRST.fullmatch(text.lower())):
        return {"best_of_first": int(found[1] or found[2])}
    if key in _WHOLE:
        return _whole(text)
    if key in CHOICES and not (key == "rules.miss" and text[:1].isdigit()):
        return _one_of(key, text)
    return _figure(key, text)


def read_numbers(text: str) -> tuple[str, ...]:
    """Car numbers with spaces or commas between. ValueError's sentence."""
    numbers = tuple(dict.fromkeys(text.replace(",", " ").split()))
    wrong = next((number for number in numbers if not (number.isalnum() and len(number) <= 4)), None)
    if wrong is not None or not numbers:
        raise ValueError(
            f"{shown(wrong or text)}: a car number has up to four letters or digits: "
            "58, or 58 12 for two entries of yours"
        )
    return numbers


def _one_of(key: str, text: str) -> Any:
    words = [word for word, _ in CHOICES[key] if not word.startswith("first") and not word.isdigit()]
    found = [word for word in words if word.startswith(text.lower())]
    if len(found) != 1:
        more = {"rules.count": ", or first 3", "rules.miss": ", or seconds like 8"}.get(key, "")
        raise ValueError(f"{shown(text)!r}: write {', '.join(words)}{more}")
    return found[0] == "yes" if key == "mine.driven_home" else found[0]


def _whole(text: str) -> int:
    if not (text.isascii() and text.isdecimal() and len(text) < 10):
        raise ValueError(f"{shown(text)!r}: a whole number is wanted")
    return int(text)


def _decimal(text: str) -> Decimal:
    try:
        return Decimal(text.replace(",", "."))
    except InvalidOperation:
        raise ValueError(f"{shown(text)!r} is no number") from None


def _figure(key: str, text: str) -> Any:
    found = _NUMBER.fullmatch(text)
    if found is None:
        raise ValueError(f"{shown(text)!r} is no number")
    value, unit = _decimal(found[1]), found[2].lower().strip("°")
    if key.endswith("_c") and unit in ("f", "c", ""):
        return round(float((value - 32) / Decimal("1.8")), 1) if unit == "f" else float(value)
    if key == "altitude_m" and unit in ("ft", "m", ""):
        return round(float(value) * 0.3048) if unit == "ft" else float(value)
    if unit not in ("", "s" if key.endswith("_s") or key == "rules.miss" else "min"):
        raise ValueError(f"{shown(found[2])!r} is no unit for this")
    return value if key.startswith("rules.") and key != "rules.protest_min" else float(value)


def value_shown(key: str, value: Any) -> str:
    """A value of the settings as it is typed; blank for None and nothing."""
    if value is None or value in ((), ""):
        return ""
    if key == "days":
        return days_text(value)
    if isinstance(value, tuple):
        return " ".join(f"{item}" for item in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if first := getattr(value, "best_of_first", None):
        return f"first {first}"
    return f"{value:.10g}" if isinstance(value, float) else f"{value}"


# lines of the lists


@dataclass(frozen=True, slots=True)
class ClassLine:
    """A class as typed; None: not said. ``factor``: its index."""

    code: str
    factor: Decimal | None = None
    scored_by: str | None = None
    name: str | None = None


def read_class(text: str, code: str = "") -> ClassLine:
    """``ASH``, ``ASH 0.812``, ``ELM index``, ``ASH 0.812 Saloons on street tyres``; ``code``: it is known already.

    ValueError's sentence on a fault.
    """
    words = text.split()
    if not code:
        if not words:
            raise ValueError("type the class's code, like ASH, or ASH 0.812")
        code, words = read_code(words[0]), words[1:]
    factor = scored_by = None
    while words:
        if factor is None and (words[0] == "1" or _FACTOR.fullmatch(words[0])):
            factor = read_factor(words.pop(0))
        elif scored_by is None and words[0].lower() in _RESERVED:
            scored_by = words.pop(0).lower()
        else:
            break
    return ClassLine(code, factor, scored_by, " ".join(words) or None)


def read_code(text: str) -> str:
    """A code of a class or of the index table. ValueError's sentence."""
    if _CODE.fullmatch(text) is None or not text.isprintable() or not any(map(str.isalnum, text)):
        raise ValueError(f"{shown(text)!r} is no code: up to 24 letters or digits without a space")
    if text.casefold() in (*_RESERVED, "edition"):
        raise ValueError(f"{text!r} can't be a code: it is the name of a table of its own")
    return text


def read_factor(text: str) -> Decimal:
    """An index factor, exact. ValueError's sentence."""
    factor = _decimal(text)
    if not factor.is_finite() or not 0 < factor < 1000 or factor != round(factor, 9):
        raise ValueError(f"{shown(text)} is no factor: a number over 0 with at most nine decimals, like 0.812")
    return factor


def read_index(text: str) -> tuple[str, Decimal]:
    """``FIR 0.82``. ValueError's sentence."""
    words = text.split()
    if len(words) != 2:
        raise ValueError(f"{shown(text)!r}: type code and factor, like FIR 0.82")
    return read_code(words[0]), read_factor(words[1])


_GAUGE = ("step_psi", "repeat_psi", "offset_psi")


def read_gauge(text: str, gauge: str = "") -> tuple[str, Mapping[str, float]]:
    """``pen 0.5 0.3 0.2``: name, then step, repeatability and offset in psi, as far as said; ``gauge``: it is known."""
    words = text.split()
    if not gauge:
        if not words:
            raise ValueError("type the gauge's name, like pen, or pen 0.5 0.3 0.2")
        gauge, words = words[0], words[1:]
    if len(gauge) > 24 or not gauge.isprintable() or len(words) > len(_GAUGE):
        raise ValueError("a short name, then step, repeatability and offset in psi, like pen 0.5 0.3 0.2")
    return gauge, {name: float(_decimal(word)) for name, word in zip(_GAUGE, words, strict=False)}


def gauge_text(step: float, repeat: float, offset: float) -> str:
    """A gauge as it is typed after its name."""
    return f"{step:g} {repeat:g} {offset:g}"


# the next event: its folder, altitude and forecast


def folder_of(text: str, here: Path) -> Path:
    """The folder meant: beside this event's unless a path is written. Raises ValueError where it can be none."""
    try:
        return here.resolve().parent / typed(text)
    except UsageError as error:
        raise ValueError(str(error)) from None


ALTITUDE, AIR = measured(Settings, "altitude_m"), measured(Forecast, "hottest_c")


def number_within(text: str, what: str, bounds: Measured, hint: str = "") -> float:
    """A number within bounds. Raises ValueError with a sentence; ``hint`` ends the one about no number."""
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        raise ValueError(f"{text!r} is no {what}{hint}") from None
    if not bounds.fits(value):
        raise ValueError(f"{text} is no {what}: from {bounds.low:g} to {bounds.high:g} is taken")
    return value


def _number(text: str, what: str, bounds: Measured) -> float | None:
    return None if text in {"-", "?"} else number_within(text, what, bounds, "; - where it isn't known")


def read_altitude(text: str) -> float | None:
    """Metres; None for ``-``. Raises ValueError with a sentence."""
    return _number(text, "altitude in metres", ALTITUDE)


def read_air(text: str) -> float | None:
    """Degrees C; None for ``-``. Raises ValueError with a sentence."""
    return _number(text, "air temperature in C", AIR)


def read_coldest(text: str, hottest: object) -> float | None:
    """The coldest air, not above the ``hottest`` answered before it. Raises ValueError with a sentence."""
    value = read_air(text)
    if value is not None and isinstance(hottest, float) and value > hottest:
        raise ValueError(f"the coldest air ({value:g}) is above the hottest ({hottest:g}); Backspace goes back to it")
    return value


def place_of(answers: Mapping[str, object]) -> SitePlace:
    """The place and its forecast."""
    altitude, coldest, hottest = (_float(answers.get(name)) for name in ("altitude", "coldest", "hottest"))
    return SitePlace(altitude, coldest, hottest)


def _float(value: object) -> float | None:
    return value if isinstance(value, float) else None


# an entrant on one line


_CAR_NUMBER = re.compile(r"[0-9A-Za-z]{1,4}")
_CLASS_CODE = re.compile(r"[A-Z0-9][A-Z0-9.-]{0,7}")


@dataclass(frozen=True, slots=True)
class EntrantLine:
    """None: not said. ``new_class``: the code is no class of the event; ``class_last``: it stood after the name."""

    number: str
    class_: str | None = None
    driver: str | None = None
    new_class: bool = False
    class_last: bool = False


def read_entrant(text: str, classes: Sequence[str]) -> EntrantLine:
    """Number, then the class, then the driver; either may be left out. ValueError's sentence.

    A code of small letters counts where it is a class here; a code in capitals that is none is a new class. Without a
    class before the name the last word is one where it is a class here and not written like a name.
    """
    words = text.split()
    if not words or _CAR_NUMBER.fullmatch(words[0]) is None or not any(char.isdigit() for char in words[0]):
        raise ValueError(f"{shown(words[0] if words else '')!r} is no car number: type 23 ASH Kim Dale")
    number, rest = words[0], words[1:]
    known = {code.casefold(): code for code in classes}
    class_, new, last = None, False, False
    factor = next((word for word in rest if _FACTOR.fullmatch(word)), None)
    if factor is not None:
        raise ValueError(
            f"{shown(factor)} looks like an index factor: those go with a class, on @ under classes, not with a driver"
        )
    if rest and rest[0].casefold() in known:
        class_, rest = known[rest[0].casefold()], rest[1:]
    elif rest and _CLASS_CODE.fullmatch(rest[0]) and rest[0].casefold() not in ("index", "raw"):
        class_, rest, new = rest[0], rest[1:], True
    elif rest and (rest[-1] in classes or (rest[-1].casefold() in known and not rest[-1].istitle())):
        class_, rest, last = known[rest[-1].casefold()], rest[:-1], True
    return EntrantLine(number, class_, " ".join(rest) or None, new, last)
