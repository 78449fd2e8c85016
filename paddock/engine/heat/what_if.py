"""What to set now for another air, wait or wanted pressure, and what the tyres will read untouched elsewhere."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from paddock.engine.air import AirState, ambient_pa
from paddock.engine.corners import AXLE_OF, Corners
from paddock.engine.heat.car import CarHeat, ahead_of, heat_of
from paddock.engine.heat.model import end_reading, set_for
from paddock.engine.pressure.limits import Bound, Weather, bounds, fitted_tyres
from paddock.engine.pressure.plan import ColdPlan, cold_plan, first_rises
from paddock.engine.pressure.situation import Situation, situation
from paddock.engine.readings.mass import Step, will_read
from paddock.model.car import Car, Target
from paddock.model.event import Event
from paddock.model.rows import CORNERS

__all__ = ["Asked", "Set", "WhatIf", "what_if"]


@dataclass(frozen=True, slots=True)
class Asked:
    """None: as it is now. ``air_c`` C; ``altitude_m`` metres; ``wait_min`` minutes to the start; ``front_psi`` and
    ``rear_psi``: wanted at the end of the next run, as the gauge reads; ``cooling``: none, shade or spray."""

    air_c: float | None = None
    altitude_m: float | None = None
    wait_min: float = 0.0
    front_psi: float | None = None
    rear_psi: float | None = None
    cooling: str = "none"


@dataclass(frozen=True, slots=True)
class Set:
    """One corner, as the gauge reads, psi; None: not known. ``end_psi``: after the next run if nobody touches it;
    ``set_psi``: what to set now; ``held``: the limit it was kept at, or what is to be minded about it, "" = nothing."""

    corner: str
    wanted_psi: float | None
    end_psi: float | None
    set_psi: float | None
    held: str = ""


@dataclass(frozen=True, slots=True)
class WhatIf:
    """``air_c`` None: no air is known. ``parked``: untouched and at air temperature there, psi as the gauge reads.

    ``corners``: what to set now, where the car stays here. ``cold``: what to set cold, where another altitude is
    asked for; None: here. ``why``: what the figures of an axle without a fit rest on.
    """

    air_c: float | None
    parked: Corners
    corners: tuple[Set, ...]
    cold: ColdPlan | None
    why: tuple[str, ...]


def what_if(event: Event, number: str, asked: Asked) -> WhatIf:
    """Answer for the car that ``number`` drives. Never above a cold maximum, never under a known minimum.

    The state is that of the newest reading. Without any reading everything is None.
    """
    s, heat = situation(event, number), heat_of(event, number)
    step = heat.track.latest
    air_c = asked.air_c if asked.air_c is not None else (step.reading.air_c if step else None)
    outside = None if asked.altitude_m is None else ambient_pa(asked.altitude_m)
    offset = s.gauge.offset_psi
    parked = Corners() if air_c is None else will_read(heat.track, air_c, outside).map(lambda psi: psi + offset)
    why = tuple(f"{axle}: {item.why}" for axle, item in heat.axles.items() if item.why)
    if asked.altitude_m is not None:
        return WhatIf(air_c, parked, (), _cold(s, heat, asked, air_c), why)
    corners = _corners(s, heat, step, asked, air_c) if step is not None else ()
    return WhatIf(air_c, parked, corners, None, why)


def _wanted(s: Situation, asked: Asked, corner: str) -> float | None:
    """True psi: as asked, else the surface's hot target."""
    said = asked.front_psi if AXLE_OF[corner] == "front" else asked.rear_psi
    return s.wanted(corner) if said is None else said - s.gauge.offset_psi


def _cold(s: Situation, heat: CarHeat, asked: Asked, air_c: float | None) -> ColdPlan | None:
    if air_c is None or asked.altitude_m is None:
        return None
    state = AirState(air_c, ambient_pa(asked.altitude_m))
    tyres = fitted_tyres(s.event, s.event.numbers_of_car(s.number), (heat.track.log.day or 1, 999))
    car = _wanting(s, asked)
    return cold_plan(car, None, state, first_rises(heat), tyres, s.weather.hottest_c)


def _wanting(s: Situation, asked: Asked) -> Car | None:
    """The car with what is asked for as its dry target."""
    front, rear = _wanted(s, asked, "lf"), _wanted(s, asked, "lr")
    car = s.car or (Car() if front is not None or rear is not None else None)
    return car.model_copy(update={"targets": {"dry": Target(front_psi=front, rear_psi=rear)}}) if car else None


def _bounds(s: Situation, step: Step, air_c: float | None) -> Mapping[str, Bound]:
    """The limits now, with the air asked for among the weather expected."""
    hot = [value for value in (s.weather.hottest_c, air_c) if value is not None]
    cold = [value for value in (s.weather.coldest_c, air_c) if value is not None]
    temps = {corner: air.temp_c for corner, air in step.corners.items()}
    tyres = fitted_tyres(s.event, s.event.numbers_of_car(s.number), (s.car_log.day or 1, 999))
    return bounds(step.reading, temps, s.car, tyres, Weather(max(hot, default=None), min(cold, default=None)))


def _corners(s: Situation, heat: CarHeat, step: Step, asked: Asked, air_c: float | None) -> tuple[Set, ...]:
    limits = _bounds(s, step, air_c)
    return tuple(_corner(s, heat, step, corner, asked, air_c, limits[corner]) for corner in CORNERS)


def _corner(
    s: Situation, heat: CarHeat, step: Step, corner: str, asked: Asked, air_c: float | None, bound: Bound
) -> Set:  # fmt: skip
    air, fit, offset = step.corners[corner], heat.fit_of(corner), s.gauge.offset_psi
    rise, wanted = heat.axles[AXLE_OF[corner]].last_rise_psi, _wanted(s, asked, corner)
    ahead = ahead_of(step, corner, max(0.0, asked.wait_min), asked.cooling, air_c)
    gas_c = air.gas_c
    if fit is not None and ahead is not None and gas_c is not None:
        end = None if air.psi is None else end_reading(fit, air.psi, gas_c, ahead)
        to = None if wanted is None else set_for(fit, wanted, gas_c, ahead)
    else:
        end = None if air.psi is None or rise is None else air.psi + rise
        to = None if wanted is None or rise is None else wanted - rise
    to, held = _held(to, air.psi, bound)
    wanted, end, to = (None if value is None else value + offset for value in (wanted, end, to))
    return Set(corner, wanted, end, to, held)


def _held(to: float | None, now: float | None, bound: Bound) -> tuple[float | None, str]:
    """``to`` inside the limits, and which one held it; a lower figure without a known minimum stands with a word."""
    if to is None:
        return None, ""
    if bound.high is not None and to > bound.high:
        return bound.high, "held at the cold maximum"
    if bound.no_raise and (now is None or to > now):
        return now, bound.no_raise
    if bound.low is not None and to < bound.low:
        return bound.low, "held at the minimum"
    return to, bound.no_lower if now is None or to < now else ""
