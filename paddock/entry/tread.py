"""Tread of one corner or axle on a line: ``lf 41 45 52 past`` is inner, middle, outer and the roll-over mark.

``f past`` and ``r on`` give both corners of an axle the same; several may stand on one line: ``f past r on``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from paddock.entry.said import Misread, Wrong, shown

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
    try:
        return _lines(text.lower().split(), celsius)
    except Misread as misread:
        return misread.wrong


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
