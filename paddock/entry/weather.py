"""The weather on one line: ``24 38 dry`` is air, ground, surface; ``28 air 41 track dry`` says which is which.

Letters name the rest, or their words do: ``h60`` and ``60 humidity`` are one.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from paddock.entry.said import SURFACES, Misread, Wrong, or_wrong, shown

_VALUE = re.compile(r"(a|g|h|p|w)?(-?\d{1,4}(?:[.,]\d{1,2})?)", re.ASCII)
_FIGURE = re.compile(r"-?\d{1,4}(?:[.,]\d{1,2})?", re.ASCII)
_NAMES = {"a": "air_c", "g": "surface_c", "h": "humidity_pct", "p": "station_hpa", "w": "wind_kmh"}
NAMED = {
    "air": "air_c", "ground": "surface_c", "track": "surface_c", "humidity": "humidity_pct", "station": "station_hpa",
    "wind": "wind_kmh",
}  # fmt: skip
"""Words that name the figure before or after them."""
_SENSE = {
    "air_c": (-40.0, 60.0, "air temperature"), "surface_c": (-40.0, 90.0, "temperature of the ground"),
    "humidity_pct": (0.0, 100.0, "humidity"), "station_hpa": (500.0, 1100.0, "station pressure in hPa"),
    "wind_kmh": (0.0, 250.0, "wind in km/h"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class WeatherLine:
    """C, percent, hPa, km/h; None: not said. ``sky``: the words that are left."""

    air_c: float | None = None
    surface_c: float | None = None
    humidity_pct: float | None = None
    station_hpa: float | None = None
    wind_kmh: float | None = None
    surface: str | None = None
    sky: str | None = None


def read_weather(text: str) -> WeatherLine | Wrong:
    """The first bare number is the air, the second the ground; ``g38 h60 p964 w12`` name the others."""
    return or_wrong(_line, text)


def _line(text: str) -> WeatherLine:
    said: dict[str, object] = {}
    sky: list[str] = []
    for word in _joined(text.split()):
        low = word.lower()
        name, _, figure = low.partition("=")
        if name in NAMED:
            if not figure:
                raise Misread("weather", name, f"{name} needs its figure, like 28 {name}")
            _put(said, f"{figure} {name}", *_checked(NAMED[name], figure, f"{figure} {name}"))
        elif found := _VALUE.fullmatch(low):
            _put(said, word, *_value(said, word, found[1], found[2]))
        elif low in SURFACES:
            _put(said, word, "surface", low)
        elif any(char.isdigit() for char in word):
            raise Misread("weather", word, f"{shown(word)}: write 24 38 dry, with h60 p964 w12 for the rest")
        elif len(word) == 1:
            mend = f"{low} needs its figure, like {low}60" if low in _NAMES else "the sky is a word, like sunny"
            raise Misread("weather", word, f"{shown(word)}: {mend}")
        else:
            sky.append(word)
    if sky:
        said["sky"] = " ".join(sky)
    if not said:
        raise Misread("weather", "", "air, ground and surface, like 24 38 dry")
    return WeatherLine(**said)  # type: ignore[arg-type]


def _joined(parts: list[str]) -> list[str]:
    """``28 air`` and ``air 28`` as ``air=28``; a name without a figure as it is."""
    found: list[str] = []
    while parts:
        word, *parts = parts
        following = parts[0].lower() if parts else ""
        for figure, name in ((word, following), (following, word.lower())):
            if name in NAMED and _FIGURE.fullmatch(figure):
                word, parts = f"{name}={figure}", parts[1:]
                break
        found.append(word)
    return found


def _put(said: dict[str, object], word: str, name: str, value: object) -> None:
    if name in said:
        raise Misread(name, word, f"{shown(word)}: that is there twice")
    said[name] = value


def _value(said: dict[str, object], word: str, letter: str | None, digits: str) -> tuple[str, float]:
    return _checked(_NAMES[letter] if letter else ("surface_c" if "air_c" in said else "air_c"), digits, word)


def _checked(name: str, digits: str, word: str) -> tuple[str, float]:
    low, high, what = _SENSE[name]
    value = float(digits.replace(",", "."))
    if not low <= value <= high:
        raise Misread(name, word, f"{shown(word)} is no {what}")
    return name, value
