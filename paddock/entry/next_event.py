"""What is typed about the next event: its folder, altitude and forecast."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from paddock.engine.pressure.cold import SitePlace
from paddock.errors import UsageError
from paddock.model.settings import Forecast, Settings
from paddock.model.units import Measured, measured
from paddock.store.places import typed


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


def read_hottest(text: str, coldest: object) -> float | None:
    """The hottest air, not below the ``coldest`` answered before it. Raises ValueError with a sentence."""
    value = read_air(text)
    if value is not None and isinstance(coldest, float) and value < coldest:
        raise ValueError(f"the hottest air ({value:g}) is below the coldest ({coldest:g}); Backspace goes back to it")
    return value


def place_of(answers: Mapping[str, object]) -> SitePlace:
    """The place and its forecast."""
    altitude, coldest, hottest = (_float(answers.get(name)) for name in ("altitude", "coldest", "hottest"))
    return SitePlace(altitude, coldest, hottest)


def _float(value: object) -> float | None:
    return value if isinstance(value, float) else None
