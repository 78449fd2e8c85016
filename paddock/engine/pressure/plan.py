"""The cold plan: what to set for the first run of the day, here or at another altitude and forecast."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from paddock.engine.air import AirState, ambient_pa, carry
from paddock.engine.corners import AXLES
from paddock.engine.heat.car import CarHeat, heat_of
from paddock.engine.pressure.limits import MAX_AT_LEAST_C, cold_maximum, fitted_tyres, minimum
from paddock.model.car import Car, Target
from paddock.model.event import Event
from paddock.model.rows import TyreRow

__all__ = ["AxlePlan", "ColdPlan", "cold_plan", "first_run_plan", "next_event_plan"]


@dataclass(frozen=True, slots=True)
class AxlePlan:
    """``cold_psi``: set it at air temperature, None = can't be told (``why``); ``hot_psi``: wanted after the first run.

    ``capped``: a limit stood in the way, ``why`` says which.
    """

    axle: str
    hot_psi: float | None
    cold_psi: float | None
    rise_k: float | None
    why: str = ""
    capped: bool = False


@dataclass(frozen=True, slots=True)
class ColdPlan:
    """Both axles for one place and air. ``air_c`` C; ``ambient_pa`` Pa."""

    air_c: float
    ambient_pa: float
    front: AxlePlan
    rear: AxlePlan
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Held:
    """Cold limits of an axle at the plan's air, psi; None = not known."""

    low: float | None
    high: float | None
    placard: float | None


def _limited(axle: str, hot: float, rise_k: float, state: AirState, held: _Held) -> AxlePlan:
    """The cold set inside the limits; without a cold maximum never above the maker's placard."""
    wanted = carry(hot, AirState(state.temp_c + rise_k, state.ambient_pa), state)
    high, why = held.high, "the cold maximum stands in the way"
    if high is None:
        high, why = held.placard, "no cold maximum is known: not above the placard"
    if high is None:
        return AxlePlan(axle, hot, None, rise_k, "no cold maximum and no placard is known: read the sidewall")
    if wanted > high:
        return AxlePlan(axle, hot, high, rise_k, why, True)
    if held.low is not None and wanted < held.low:
        return AxlePlan(axle, hot, min(held.low, high), rise_k, "the minimum stands in the way", True)
    return AxlePlan(axle, hot, wanted, rise_k)


def _held(car: Car | None, axle: str, tyres: Mapping[str, TyreRow], state: AirState, hottest_c: float | None) -> _Held:
    maxima = [cold_maximum(car, tyres.get(corner)) for corner in AXLES[axle]]
    known = [value for value in maxima if value is not None]
    parked = AirState(max(MAX_AT_LEAST_C, MAX_AT_LEAST_C if hottest_c is None else hottest_c), state.ambient_pa)
    high = carry(min(known), parked, state) if len(known) == len(maxima) else None
    placard: float | None = getattr(car.limits, f"placard_{axle}_psi") if car else None
    return _Held(minimum(car, axle), high, placard)


def cold_plan(
    car: Car | None,
    surface: str | None,
    state: AirState,
    rises: Mapping[str, float | None],
    tyres: Mapping[str, TyreRow] | None = None,
    hottest_c: float | None = None,
) -> ColdPlan:
    """What to set cold in ``state`` so that the first run ends at the hot target of ``surface``.

    ``rises``: K that a first run warms each axle's tyres, None = not known. Limits as in ``limits``: the cold maximum
    in the hottest air expected, never under 20 C.
    """
    target = (car.target(surface) if car else None) or Target()
    plans = {}
    for axle in AXLES:
        hot: float | None = getattr(target, f"{axle}_psi")
        rise = rises.get(axle)
        if hot is None or rise is None:
            why = "no hot target in the car file" if hot is None else "no rise in a run is known: read before and after"
            plans[axle] = AxlePlan(axle, hot, None, rise, why)
            continue
        plans[axle] = _limited(axle, hot, rise, state, _held(car, axle, tyres or {}, state, hottest_c))
    return ColdPlan(state.temp_c, state.ambient_pa, plans["front"], plans["rear"])


def first_rises(heat: CarHeat) -> dict[str, float | None]:
    """K that a first run warms each axle: fitted, else the last rise read from cold, else not known."""
    found: dict[str, float | None] = {}
    for axle, item in heat.axles.items():
        found[axle] = item.fit.rise_k if item.fit else _cold_rise(heat, axle)
    return found


def _cold_rise(heat: CarHeat, axle: str) -> float | None:
    """The rise over the air at the last reading after a first run of a day."""
    for step in reversed(heat.track.steps):
        reading = step.reading
        if reading.moment != "after" or reading.timed.runs_today != 1 or reading.air_c is None:
            continue
        temps = [gas for corner in AXLES[axle] if (gas := step.corners[corner].gas_c) is not None]
        if temps:
            return sum(temps) / len(temps) - reading.air_c
    return None


def first_run_plan(event: Event, number: str, air_c: float | None = None, surface: str | None = None) -> ColdPlan | str:
    """The cold plan for the next first run here. ``air_c`` None: the forecast's coldest, else the last logged air."""
    heat = heat_of(event, number)
    log = heat.track.log
    latest = log.latest
    seen = log.around.air_c(log.day or 1, None)
    for value in (event.settings.forecast.coldest_c, seen, latest.air_c if latest else None):
        air_c = value if air_c is None else air_c
    if air_c is None:
        return "no air temperature is known: log the weather or put the forecast into event.toml"
    state = AirState(air_c, log.around.ambient_pa(log.day or 1, None))
    tyres = fitted_tyres(event, event.numbers_of_car(number), (log.day or 1, 999))
    return cold_plan(event.car_of(number), surface, state, first_rises(heat), tyres, event.settings.forecast.hottest_c)


def next_event_plan(
    event: Event, number: str, altitude_m: float, air_c: float, station_hpa: float | None = None,
    hottest_c: float | None = None, surface: str | None = None,
) -> ColdPlan:  # fmt: skip
    """The cold plan for another place and forecast, with the heat and the limits learned here."""
    heat = heat_of(event, number)
    state = AirState(air_c, ambient_pa(altitude_m, station_hpa))
    tyres = fitted_tyres(event, event.numbers_of_car(number), (heat.track.log.day or 1, 999))
    hottest = air_c if hottest_c is None else max(hottest_c, air_c)
    return cold_plan(event.car_of(number), surface, state, first_rises(heat), tyres, hottest)
