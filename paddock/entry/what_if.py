"""A what-if on one line: ``30 28 a8 w20`` is 30 wanted in front and 28 behind, in 8 °C, after twenty minutes' wait.

``a8``, ``8c`` or ``46f`` the air; ``w20`` or ``20min`` the wait; ``1600m`` or ``5250ft`` the altitude; ``shade`` or
``spray`` how the tyres are cooled. One reading is wanted on both axles, two are front and rear.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from paddock.entry.pressures import reading_psi
from paddock.entry.said import Misread, Wrong, shown
from paddock.model.settings import Forecast, Settings
from paddock.model.units import Measured, measured

_NUMBER = r"(-?\d{1,5}(?:[.,]\d{1,2})?)"
_BEFORE = re.compile(rf"([aw]){_NUMBER}", re.ASCII)
_BEHIND = re.compile(rf"{_NUMBER}(c|f|min|m|ft)", re.ASCII)
_NAMES = {
    "a": "air_c", "c": "air_c", "f": "air_c", "w": "wait_min", "min": "wait_min", "m": "altitude_m", "ft": "altitude_m",
}  # fmt: skip
_SENSE = {
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
    try:
        return _line(text, unit)
    except Misread as misread:
        return misread.wrong


def _line(text: str, unit: str) -> WhatIfLine:
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
    return _NAMES[letter], _value(word, letter, float(digits.replace(",", ".")))


def _value(word: str, letter: str, value: float) -> float:
    value = (value - 32.0) * 5.0 / 9.0 if letter == "f" else value * 0.3048 if letter == "ft" else value
    bounds, what = _SENSE[_NAMES[letter]]
    if not bounds.fits(value):
        raise Misread(_NAMES[letter], word, f"{shown(word)} is no {what}")
    return value
