"""Cold pressures for another place and forecast: what to set for the hot target there.

The rise of the tyres over the outside air is the car's own, from its readings after a run; with it the
hot target is carried down to the air at the new place (gas law, ``paddock.engine.air``). Nothing above the cold
maximum or below the minimum; with no maximum known nothing above, with no minimum nothing below what is in now.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from paddock.engine.air import AirState, ambient_pa, carry
from paddock.engine.heat.car import mass_track
from paddock.engine.pressure.limits import cold_maximum, fitted_tyres, minimum
from paddock.engine.readings.mass import Track
from paddock.model.car import Car
from paddock.model.event import Event

__all__ = ["LADDER_C", "ColdSet", "Place", "cold_sets", "rise_over_air"]

LADDER_C = (5.0, 15.0, 25.0)
"""Air temperatures worked out where no forecast is known."""
PARKED_AT_LEAST_C = 20.0
LAST = (10**6, 10**6)


@dataclass(frozen=True, slots=True)
class Place:
    """Where and in what the car will run. None: not known (altitude then is sea level)."""

    altitude_m: float | None = None
    coldest_c: float | None = None
    hottest_c: float | None = None

    @property
    def airs(self) -> tuple[float, ...]:
        """The air temperatures to answer for."""
        known = dict.fromkeys(value for value in (self.coldest_c, self.hottest_c) if value is not None)
        return tuple(known) or LADDER_C


@dataclass(frozen=True, slots=True)
class ColdSet:
    """One axle at one air temperature. ``now_psi``: what is in would read there, None: not known.

    ``set_psi`` None: can't be told; ``limit`` says what held it, blank: nothing did.
    """

    axle: str
    air_c: float
    target_psi: float
    rise_k: float | None
    now_psi: float | None
    set_psi: float | None
    limit: str = ""


def _ends(axle: str) -> tuple[str, str]:
    return ("lf", "rf") if axle == "front" else ("lr", "rr")


def rise_over_air(track: Track, axle: str) -> float | None:
    """Median of the tyre's temperature less the air's after a run, K; None without such a reading.

    Measured temperatures go before inferred ones, which drift where a setting was made minutes after the reading.
    """
    measured, inferred = [], []
    for step in track.steps:
        air = step.reading.air_c
        corners = [step.corners[corner] for corner in _ends(axle) if corner in step.corners]
        temps = [(corner.temp_c, corner.temp_from) for corner in corners if corner.temp_c is not None]
        if step.reading.moment == "after" and air is not None:
            measured += [temp - air for temp, source in temps if source == "measured"]
            inferred += [temp - air for temp, source in temps if source != "measured"]
    rises = measured or inferred
    return median(rises) if rises else None


def _now(track: Track, axle: str, state: AirState) -> float | None:
    step = track.latest
    read = [step.corners[corner].at(state.temp_c, state.ambient_pa) for corner in _ends(axle)] if step else []
    known = [value for value in read if value is not None]
    return sum(known) / len(known) if known else None


def _highest(event: Event, number: str, car: Car, axle: str, state: AirState, place: Place) -> float | None:
    """The cold maximum as it reads in this air: it holds parked in the hottest, never under 20 C."""
    fitted = fitted_tyres(event, event.numbers_of_car(number), LAST)
    limits = [cold_maximum(car, fitted.get(corner)) for corner in _ends(axle)]
    known = [value for value in limits if value is not None]
    if not known:
        return None
    parked = AirState(max(PARKED_AT_LEAST_C, place.hottest_c or 0.0, state.temp_c), state.ambient_pa)
    return carry(min(known), parked, state)


def _lowest(car: Car, axle: str, state: AirState, place: Place) -> float | None:
    """The minimum as it must read in this air to hold in the coldest."""
    least = minimum(car, axle)
    coldest = state.temp_c if place.coldest_c is None else min(place.coldest_c, state.temp_c)
    return None if least is None else carry(least, AirState(coldest, state.ambient_pa), state)


def _held(wanted: float, now: float | None, low: float | None, high: float | None) -> tuple[float | None, str]:
    """``wanted`` kept inside the limits; with a limit unknown, on that side of what is in now."""
    if low is not None and high is not None and low > high:
        return None, "minimum and cold maximum can't both be met: look at [limits]"
    if high is not None and wanted > high:
        return high, "cold maximum"
    if low is not None and wanted < low:
        return low, "minimum"
    if high is None and (now is None or wanted > now):
        return now, "no cold maximum known: never raised"
    if low is None and (now is None or wanted < now):
        return now, "no minimum or placard known: never lowered"
    return wanted, ""


def _one(event: Event, number: str, car: Car, axle: str, track: Track, place: Place, air_c: float) -> ColdSet | None:
    target = car.target("dry")
    hot = None if target is None else (target.front_psi if axle == "front" else target.rear_psi)
    if hot is None:
        return None
    state = AirState(air_c, ambient_pa(place.altitude_m))
    rise, now = rise_over_air(track, axle), _now(track, axle, state)
    if rise is None:
        return ColdSet(axle, air_c, hot, None, now, None, "no reading after a run with the air temperature")
    wanted = carry(hot, AirState(air_c + rise, state.ambient_pa), state)
    low, high = _lowest(car, axle, state, place), _highest(event, number, car, axle, state, place)
    found, limit = _held(wanted, now, low, high)
    return ColdSet(axle, air_c, hot, rise, now, found, limit)


def cold_sets(event: Event, number: str, place: Place) -> Sequence[ColdSet]:
    """For the dry target of the car of ``number``, each axle in each air; empty where no target is known.

    ``event`` is the one with the readings; ``place`` the one to go to.
    """
    car = event.car_of(number)
    if car is None:
        return ()
    track = mass_track(event, number)
    found = [_one(event, number, car, axle, track, place, air) for air in place.airs for axle in ("front", "rear")]
    return tuple(item for item in found if item is not None)
