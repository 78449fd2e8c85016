"""Four gauge readings on one line, in the order one walks round the car: ``345 35 41.5 42``.

Without a point: 34 and 345 are 34 and 34.5 psi, 235 is 235 kPa, 235 is 2.35 bar. Four run together
(``345350410415``) are told apart by their length. ``-`` or ``.`` leaves a corner out. Also on the line: ``after``,
``before``, ``set``, ``cold`` (or the first letter), ``t41`` tyre and ``a24`` air temperature, ``w5`` minutes
waited, ``r3`` another run, and ``# note``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from paddock.entry.said import Misread, Wrong, or_wrong, shown, with_spaces
from paddock.model.rows import WALK
from paddock.model.settings import Forecast, Settings
from paddock.model.units import Measured, measured, to_psi

# tread of one corner or axle on a line: ``lf 41 45 52 past`` is inner, middle, outer and the roll-over mark


_PLACES = {
    "lf": ("lf",), "rf": ("rf",), "lr": ("lr",), "rr": ("rr",), "f": ("lf", "rf"), "front": ("lf", "rf"),
    "r": ("lr", "rr"), "rear": ("lr", "rr"),
}  # fmt: skip
_MARKS = ("short", "on", "past")
_NUMBER = re.compile(r"-?\d{1,3}(?:[.,]\d)?", re.ASCII)


@dataclass(frozen=True, slots=True)
class TreadLine:
    """One corner. Temperatures in C, all three or none; ``mark``: how far the scrub rolled over; None: not said."""

    corner: str
    inner_c: float | None = None
    middle_c: float | None = None
    outer_c: float | None = None
    mark: str | None = None


def read_tread(text: str, celsius: bool = True) -> tuple[TreadLine, ...] | Wrong:
    """Every corner of the line, or the first field that can't be read."""
    return or_wrong(_lines, text.lower().split(), celsius)


def _lines(parts: list[str], celsius: bool) -> tuple[TreadLine, ...]:
    if not parts or parts[0] not in _PLACES:
        raise Misread(
            "corner", parts[0] if parts else "", "begin with lf, rf, lr or rr (or f, r for both): lf 41 45 52 past"
        )
    groups: list[list[str]] = []
    for word in parts:
        if word in _PLACES:
            groups.append([word])
        else:
            groups[-1].append(word)
    found = [line for group in groups for line in _group(group, celsius)]
    corners = [line.corner for line in found]
    if len(set(corners)) < len(corners):
        raise Misread("corner", "", "a corner is there twice")
    return tuple(found)


def _group(words: list[str], celsius: bool) -> list[TreadLine]:
    place, *rest = words
    marks = [word for word in rest if word in _MARKS]
    temps = [_degrees(word, celsius) for word in rest if word not in _MARKS]
    if len(marks) > 1:
        raise Misread("mark", marks[1], f"{place}: one mark, short, on or past")
    if len(temps) not in (0, 3):
        raise Misread("tread", "", f"{place}: three temperatures, inner middle outer, or none")
    if not marks and not temps:
        raise Misread("tread", place, f"{place}: and what? 41 45 52, or short, on, past")
    mark = marks[0] if marks else None
    inner, middle, outer = temps if temps else (None, None, None)
    return [TreadLine(corner, inner, middle, outer, mark) for corner in _PLACES[place]]


def _degrees(word: str, celsius: bool) -> float:
    if _NUMBER.fullmatch(word) is None:
        raise Misread("tread", word, f"{shown(word)} is not known here: lf 41 45 52 past")
    value = float(word.replace(",", "."))
    value = value if celsius else (value - 32) * 5 / 9
    if not -30 <= value <= 200:
        raise Misread("tread", word, f"{shown(word)} is no temperature of a tread")
    return value


MOMENTS = {
    "cold": "cold", "c": "cold", "before": "before", "b": "before", "after": "after", "a": "after",
    "set": "set", "s": "set",
}  # fmt: skip

_SIDE = re.compile(r"(t|a|w)(-?\d{1,3}(?:[.,]\d)?)", re.ASCII)
_NAMES = {"t": "tyre_c", "a": "air_c", "w": "wait_min"}
_SENSE = {
    "t": (-30.0, 160.0, "tyre temperature"), "a": (-40.0, 60.0, "air temperature"), "w": (0.0, 600.0, "wait in minutes")
}  # fmt: skip
_RUN = re.compile(r"r(?:un)?(\d{1,3})", re.ASCII)
_POINTED = re.compile(r"(\d{1,3})[.,](\d{1,2})", re.ASCII)
_DIGITS = {"psi": {2: 1, 3: 10}, "kpa": {3: 1, 4: 10}, "bar": {2: 10, 3: 100}}
_TOGETHER = {"psi": (2, 3), "kpa": (3,), "bar": (3,)}
_RANGE = {"psi": (8.0, 99.9), "kpa": (55.0, 690.0), "bar": (0.55, 6.9)}
_SAMPLE = {"psi": "34.5", "kpa": "235", "bar": "2.35"}


@dataclass(frozen=True, slots=True)
class PressureLine:
    """``psi``: by corner, only those said. Temperatures in C, the wait in minutes; None: not said."""

    psi: dict[str, float]
    moment: str | None = None
    tyre_c: float | None = None
    air_c: float | None = None
    wait_min: float | None = None
    run: int | None = None
    note: str | None = None


def read_pressures(
    text: str, unit: str = "psi", walk: tuple[str, ...] = WALK, celsius: bool = True
) -> PressureLine | Wrong:
    """The line (readings in ``unit``, corners in the order ``walk``), or the first field that can't be read."""
    return or_wrong(_line, text, unit, walk, celsius)


def _line(text: str, unit: str, walk: tuple[str, ...], celsius: bool) -> PressureLine:
    plain, _, note = text.partition("#")
    said: dict[str, object] = {"note": note.strip()} if note.strip() else {}
    readings: list[float | None] = []
    for word in plain.lower().split():
        try:
            named = _named(word, celsius)
            if named is None:
                readings.extend(_readings(word, unit))
        except Misread as misread:
            raise with_spaces(
                misread, word, lambda piece: _named(piece, celsius) or _readings(piece, unit)
            ) from None  # fmt: skip
        if named is None:
            continue
        if named[0] in said:
            raise Misread(named[0], word, f"{shown(word)}: that is there twice")
        said[named[0]] = named[1]
    if len(readings) > len(walk):
        raise Misread("readings", "", f"{len(readings)} readings for four corners")
    psi = {corner: value for corner, value in zip(walk, readings, strict=False) if value is not None}
    return PressureLine(psi, **said)  # type: ignore[arg-type]


def _named(word: str, celsius: bool) -> tuple[str, object] | None:
    if word in MOMENTS:
        return "moment", MOMENTS[word]
    if found := _RUN.fullmatch(word):
        if int(found[1]) < 1:
            raise Misread("run", word, "runs count from 1")
        return "run", int(found[1])
    if found := _SIDE.fullmatch(word):
        return _NAMES[found[1]], _side_value(word, found[1], float(found[2].replace(",", ".")), celsius)
    return None


def _side_value(word: str, letter: str, value: float, celsius: bool) -> float:
    if letter != "w" and not celsius:
        value = (value - 32) * 5 / 9
    low, high, what = _SENSE[letter]
    if not low <= value <= high:
        raise Misread(_NAMES[letter], word, f"{shown(word)} is no {what}: is a space missing after {letter}?")
    return value


def _readings(word: str, unit: str) -> list[float | None]:
    if word in ("-", "."):
        return [None]
    for width in _TOGETHER[unit]:
        if word.isascii() and word.isdecimal() and len(word) == 4 * width:
            return [reading_psi(word[at : at + width], unit) for at in range(0, 4 * width, width)]
    return [reading_psi(word, unit)]


def reading_psi(word: str, unit: str) -> float:
    """One reading in psi; raises ``Misread``."""
    if found := _POINTED.fullmatch(word):
        value = float(f"{found[1]}.{found[2]}")
    elif word.isascii() and word.isdecimal() and len(word) in _DIGITS[unit]:
        value = int(word) / _DIGITS[unit][len(word)]
    else:
        raise Misread("pressure", word, f"{shown(word)} is no {unit} reading: write {_SAMPLE[unit]}, - leaves one out")
    low, high = _RANGE[unit]
    if not low <= value <= high:
        raise Misread("pressure", word, f"{shown(word)} is {value:g} {unit}, no tyre reads that: write {_SAMPLE[unit]}")
    return to_psi(value, unit)


_FIGURE = r"(-?\d{1,5}(?:[.,]\d{1,2})?)"
_BEFORE = re.compile(rf"([aw]){_FIGURE}", re.ASCII)
_BEHIND = re.compile(rf"{_FIGURE}(c|f|min|m|ft)", re.ASCII)
_MEANT = {
    "a": "air_c", "c": "air_c", "f": "air_c", "w": "wait_min", "min": "wait_min", "m": "altitude_m", "ft": "altitude_m",
}  # fmt: skip
_CAN_BE = {
    "air_c": (measured(Forecast, "hottest_c"), "air temperature"),
    "wait_min": (Measured("Wait", "min", low=0, high=600), "wait in minutes"),
    "altitude_m": (measured(Settings, "altitude_m"), "altitude"),
}


@dataclass(frozen=True, slots=True)
class WhatIfLine:
    """C, minutes, metres, psi; None: not said. ``cooling``: shade or spray."""

    air_c: float | None = None
    wait_min: float | None = None
    altitude_m: float | None = None
    front_psi: float | None = None
    rear_psi: float | None = None
    cooling: str | None = None


def read_what_if(text: str, unit: str = "psi") -> WhatIfLine | Wrong:
    """The line (readings in ``unit``), or the first word that can't be read."""
    return or_wrong(_what_if, text, unit)


def _what_if(text: str, unit: str) -> WhatIfLine:
    said: dict[str, object] = {}
    wanted: list[float] = []
    for word in text.lower().split():
        name, value = _word(word)
        if name is None:
            wanted.append(reading_psi(word, unit))
        elif name in said:
            raise Misread(name, word, f"{shown(word)}: that is there twice")
        else:
            said[name] = value
    if len(wanted) > 2:
        raise Misread("wanted", "", f"{len(wanted)} pressures for two axles: one for both, or front and rear")
    if wanted:
        said |= {"front_psi": wanted[0], "rear_psi": wanted[-1]}
    if not said:
        raise Misread("what if", "", "write what would be different, like 30 28 a8 w20")
    return WhatIfLine(**said)  # type: ignore[arg-type]


def _word(word: str) -> tuple[str | None, object]:
    if word in ("shade", "spray"):
        return "cooling", word
    before, behind = _BEFORE.fullmatch(word), _BEHIND.fullmatch(word)
    if before is None and behind is None:
        return None, None
    letter, digits = (before[1], before[2]) if before else (behind[2], behind[1])  # type: ignore[index]
    return _MEANT[letter], _value(word, letter, float(digits.replace(",", ".")))


def _value(word: str, letter: str, value: float) -> float:
    value = (value - 32.0) * 5.0 / 9.0 if letter == "f" else value * 0.3048 if letter == "ft" else value
    bounds, what = _CAN_BE[_MEANT[letter]]
    if not bounds.fits(value):
        raise Misread(_MEANT[letter], word, f"{shown(word)} is no {what}")
    return value
