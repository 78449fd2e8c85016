"""What is typed on home between two runs: a run, four readings or the weather, told apart by their own words.

Four readings stand alone on the line (``335 340 305 305``, or run together), or with a word of theirs (``set``,
``after``, ``cold``, ``t41``); the weather has a figure's name (``28 air 41 track dry``); all else is a run.
"""

from __future__ import annotations

import re

from paddock.entry.pressures import PressureLine, read_pressures
from paddock.entry.runs import TypedRun, read_run
from paddock.entry.said import Wrong
from paddock.entry.weather import NAMED, WeatherLine, read_weather
from paddock.model.rows import WALK

_READING = re.compile(r"\d{2,3}|\d{1,3}[.,]\d{1,2}|[.-]", re.ASCII)
_TOGETHER = re.compile(r"\d{8}|\d{12}", re.ASCII)
_SAID = re.compile(r"after|before|cold|set|[taw]-?\d{1,3}(?:[.,]\d)?|r\d{1,3}", re.ASCII)
_MOMENTS = frozenset({"after", "before", "cold", "set"})


def read_between(
    text: str, decimals: int, unit: str = "psi", walk: tuple[str, ...] = WALK
) -> TypedRun | PressureLine | WeatherLine | Wrong:
    """What the line is; ``Wrong``: the first field of it that can't be read."""
    words = re.split("[#!]", text.lower(), maxsplit=1)[0].split()
    if not NAMED.keys().isdisjoint(words):
        return read_weather(text)
    return read_pressures(text, unit, walk) if _readings(words) else read_run(text, decimals)


def _readings(words: list[str]) -> bool:
    """Four readings, or fewer where a word says what they are."""
    figures = [word for word in words if not _SAID.fullmatch(word)]
    if len(figures) == 1 and _TOGETHER.fullmatch(figures[0]):
        return True
    plain = all(_READING.fullmatch(word) for word in figures)
    measured = sum(word not in ".-" for word in figures)
    return plain and ((len(figures) == 4 and measured > 1) or (measured > 0 and not _MOMENTS.isdisjoint(words)))
