"""The hard limits of each corner, as its gauge would read them in the tyre's state now.

The cold maximum (lowest of the car's figure, the wheel's and the fitted tyre's) is compared with what the tyre would
read parked in the hottest air expected today, never under 20 C; the minimum (the car's, or the fitted tyre's where that
is higher) in the coldest air until the next drive.
A tyre of unknown temperature is taken for the minimum as the warmest, for the maximum as the coolest it can likely be.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from paddock.engine.pressure.air import AirState, carry
from paddock.engine.pressure.corners import AXLE_OF, Reason, because
from paddock.engine.pressure.readings import Reading
from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.rows import CORNERS, FittedRow, TyreRow

MAX_AT_LEAST_C = 20.0
COOLING_MIN = 20.0
"""Time constant of a tyre whose own is not known, minutes: common practice, no source."""

RUN_RISE_K, SPRAYED_K = 30.0, 5.0
"""Warmest likely over the air at a run's end, and under it after spray: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Likely:
    """Between which temperatures the air in a tyre is, C; both the same where it is known."""

    cool_c: float
    warm_c: float

    @property
    def known(self) -> bool:
        """Measured, inferred, or that of the air."""
        return self.cool_c == self.warm_c


@dataclass(frozen=True, slots=True)
class Bound:
    """True gauge psi in the present state; None: no such limit is known.

    ``low``, ``high``: no setting goes beyond them, whatever temperature the tyre likely has. ``under``, ``over``: a
    reading beyond these is outside the limits for sure; a tyre of unknown temperature is never over the maximum so.
    ``soft_low``: ``low`` of a placard that stands in for a minimum: it stops new settings only. ``ceiling``: the most
    to raise to where no cold maximum is known. ``no_lower``, ``no_raise``: why a lower new setting, or any raise, may
    not be suggested; None = may.
    """

    low: float | None = None
    high: float | None = None
    under: float | None = None
    over: float | None = None
    soft_low: float | None = None
    ceiling: float | None = None
    no_lower: Reason | None = None
    no_raise: Reason | None = None

    @property
    def impossible(self) -> bool:
        """Minimum and maximum can't both be met, whatever the temperature."""
        return self.under is not None and self.over is not None and self.under > self.over + 1e-9

    def lowered(self, psi: float, now: float, new: bool) -> float:
        """``psi`` under ``now``, cut short at the minimum; ``now`` where nothing is left of it."""
        floors = [self.low, *([self.soft_low] if new else [])]
        if new and self.no_lower:
            return now
        return min(now, max([psi, *(floor for floor in floors if floor is not None)]))

    def raised(self, psi: float, now: float) -> float:
        """``psi`` over ``now``, cut short at the maximum; ``now`` where nothing is left of it."""
        tops = [top for top in (self.high, self.ceiling) if top is not None]
        return now if self.no_raise else max(now, min([psi, *tops]))


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


def minimum(car: Car | None, axle: str, *tyres: TyreRow | None) -> float | None:
    """The axle's own written minimum, psi, or a higher one of its fitted tyres; None where none is written."""
    own: float | None = None if car is None else getattr(car.limits, f"{axle}_min_psi")
    known = [value for value in (own, *(tyre.min_cold_psi for tyre in tyres if tyre)) if value is not None]
    return max(known, default=None)


def placard(car: Car | None, axle: str) -> float | None:
    """The maker's road pressure of an axle, psi, else None."""
    found: float | None = None if car is None else getattr(car.limits, f"placard_{axle}_psi")
    return found


def parked_hot_c(*airs_c: float) -> float:
    """The air that a cold maximum is compared with: the hottest expected, never under 20 C."""
    return max(MAX_AT_LEAST_C, *airs_c)


def most_psi(top: float, hottest_c: float, state: AirState) -> float:
    """What a tyre in ``state`` may read so that parked in the hottest air it is at its cold maximum ``top``, psi."""
    return carry(top, AirState(hottest_c, state.ambient_pa), state)


def least_psi(floor: float, coldest_c: float, state: AirState) -> float:
    """What a tyre in ``state`` must read so that it is not under ``floor``, now or parked in the coldest air, psi."""
    return max(floor, carry(floor, AirState(coldest_c, state.ambient_pa), state))


def likely_temps(
    reading: Reading, temps: Mapping[str, float | None], typical: Mapping[str, float | None], air_c: float
) -> dict[str, Likely]:
    """How warm each tyre is at a reading. ``temps``: known, C; ``typical``: K over the air at a run's end, per axle.

    ``air_c``: of the reading, or what is assumed of it.
    """
    faded = 0.0 if reading.rested else math.exp(-max(0.0, reading.since_min or 0.0) / COOLING_MIN)
    cool = air_c - (SPRAYED_K if reading.row.cooling == "spray" else 0.0)
    found = {}
    for corner in CORNERS:
        temp_c, rise = temps.get(corner), typical.get(AXLE_OF[corner])
        warm = air_c + max(0.0, RUN_RISE_K if rise is None else rise) * faded
        found[corner] = Likely(cool, max(cool, warm)) if temp_c is None else Likely(temp_c, temp_c)
    return found


def bounds(
    ambient_pa: float,
    likely: Mapping[str, Likely],
    car: Car | None,
    tyres: Mapping[str, TyreRow],
    weather: tuple[float, float],
    ceilings: Mapping[str, float | None],
) -> dict[str, Bound]:
    """The limits of every corner in the state it is in. ``weather``: coldest and hottest air expected, C.

    ``ceilings``: where no cold maximum is known, psi per kelvin that no raise goes beyond, None = never a raise.
    """
    coldest_c, hottest_c = weather[0], parked_hot_c(weather[1])
    found = {}
    for corner in CORNERS:
        cool, warm = (AirState(value, ambient_pa) for value in (likely[corner].cool_c, likely[corner].warm_c))
        top, axle = cold_maximum(car, tyres.get(corner)), AXLE_OF[corner]
        floor, road = minimum(car, axle, tyres.get(corner)), placard(car, axle)
        soft = road if floor is None else None
        ceiling = ceilings.get(corner)
        found[corner] = Bound(
            low=None if floor is None else least_psi(floor, coldest_c, warm),
            under=None if floor is None else least_psi(floor, coldest_c, cool),
            soft_low=None if soft is None else least_psi(soft, coldest_c, warm),
            high=None if top is None else most_psi(top, hottest_c, cool),
            over=None if top is None or not likely[corner].known else most_psi(top, hottest_c, warm),
            ceiling=None if top is not None or ceiling is None else ceiling * cool.kelvin - cool.ambient_psi,
            no_lower=None if floor is not None or soft is not None else because("no-minimum-known", axle=axle),
            no_raise=None if top is not None or ceiling is not None else because("no-maximum-known", corner=corner),
        )  # fmt: skip
    return found
