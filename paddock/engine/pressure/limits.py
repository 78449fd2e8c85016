"""The hard limits of each corner, as its gauge would read them in the tyre's present state.

The cold maximum (lowest of the car's figure, the wheel's and the fitted tyre's) is compared with what the tyre would
read parked in the hottest air expected today, never under 20 C; the minimum (the placard's where the car has none)
in the coldest air before the next setting. A tyre of unknown temperature is compared as it reads.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from paddock.engine.air import AirState, carry
from paddock.engine.corners import AXLE_OF, CORNER_NAMES
from paddock.engine.readings.log import Reading
from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.rows import CORNERS, FittedRow, TyreRow

__all__ = ["Bound", "Weather", "bounds", "cold_maximum", "fitted_tyres", "minimum"]

MAX_AT_LEAST_C = 20.0


@dataclass(frozen=True, slots=True)
class Weather:
    """Hottest and coldest air expected before the next setting, C; None = not known."""

    hottest_c: float | None = None
    coldest_c: float | None = None


@dataclass(frozen=True, slots=True)
class Bound:
    """True gauge psi in the present state. ``low`` and ``high`` None: no such limit is known.

    ``no_lower``, ``no_raise``: why a lower *new* setting, or any raise, may not be suggested; "" = may.
    """

    low: float | None = None
    high: float | None = None
    no_lower: str = ""
    no_raise: str = ""

    @property
    def impossible(self) -> bool:
        """Minimum and maximum can't both be met."""
        return self.low is not None and self.high is not None and self.low > self.high + 1e-9

    def clamp(self, psi: float) -> float:
        """``psi`` brought inside; the maximum stands above the minimum."""
        psi = psi if self.low is None else max(psi, self.low)
        return psi if self.high is None else min(psi, self.high)


def fitted_tyres(event: Event, numbers: Iterable[str], upto: tuple[int, int]) -> dict[str, TyreRow]:
    """The tyre of each corner as of a (day, run); the first fitting where all come later. Unknown ids are left out."""
    tyres = {row.tyre: row for row in event.of(TyreRow)}
    latest: dict[str, FittedRow] = {}
    mine = set(numbers)
    rows = sorted((row for row in event.of(FittedRow) if row.number in mine), key=lambda row: (row.day, row.run or 0))
    for row in rows:
        if (row.day, row.run or 0) <= upto or row.corner not in latest:
            latest[row.corner] = row
    return {corner: tyres[row.tyre] for corner, row in latest.items() if row.tyre in tyres}


def cold_maximum(car: Car | None, tyre: TyreRow | None) -> float | None:
    """Lowest of tyre, wheel and car, psi; None where neither the car nor the tyre names a cold maximum."""
    limits = car.limits if car else None
    cold = [limits.max_cold_psi if limits else None, tyre.max_cold_psi if tyre else None]
    known = [value for value in cold if value is not None]
    if not known:
        return None
    wheel = limits.wheel_max_psi if limits else None
    return min([*known, wheel] if wheel is not None else known)


def minimum(car: Car | None, axle: str) -> float | None:
    """The axle's minimum, psi: the car's own figure, else the placard's, else None."""
    if car is None:
        return None
    own: float | None = getattr(car.limits, f"{axle}_min_psi")
    placard: float | None = getattr(car.limits, f"placard_{axle}_psi")
    return own if own is not None else placard


def _high(limit: float | None, temp_c: float | None, ambient: float, hottest_c: float | None) -> float | None:
    if limit is None or temp_c is None:
        return limit
    parked = AirState(max(MAX_AT_LEAST_C, hottest_c if hottest_c is not None else MAX_AT_LEAST_C), ambient)
    return carry(limit, parked, AirState(temp_c, ambient))


def _low(limit: float | None, temp_c: float | None, ambient: float, coldest_c: float | None) -> float | None:
    if limit is None or temp_c is None or coldest_c is None:
        return limit
    return max(limit, carry(limit, AirState(coldest_c, ambient), AirState(temp_c, ambient)))


def _no_lower(corner: str, low: float | None, temp_c: float | None, cold: bool, coldest_c: float | None) -> str:
    if low is None:
        return f"no minimum and no placard is known for the {AXLE_OF[corner]}"
    if not cold and (temp_c is None or coldest_c is None):
        return f"the {CORNER_NAMES[corner]} tyre may be hot and its temperature is not known"
    return ""


def bounds(
    reading: Reading, temps: dict[str, float | None], car: Car | None, tyres: dict[str, TyreRow], weather: Weather
) -> dict[str, Bound]:
    """The limits of every corner at ``reading``; ``temps``: tyre temperatures, C, None = not known."""
    found = {}
    for corner in CORNERS:
        limit, floor = cold_maximum(car, tyres.get(corner)), minimum(car, AXLE_OF[corner])
        temp_c = temps.get(corner)
        high = _high(limit, temp_c, reading.ambient_pa, weather.hottest_c)
        low = _low(floor, temp_c, reading.ambient_pa, weather.coldest_c)
        no_lower = _no_lower(corner, low, temp_c, reading.cold, weather.coldest_c)
        no_raise = "" if limit is not None else f"no cold maximum is known for the {CORNER_NAMES[corner]} tyre"
        found[corner] = Bound(low, high, no_lower, no_raise)
    return found
