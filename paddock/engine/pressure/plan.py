"""The cold plan: what to set for the first run of the day, here or at another altitude and forecast."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from statistics import median

from paddock.engine.air import AirState, ambient_pa, carry
from paddock.engine.corners import AXLES
from paddock.engine.heat.car import CarHeat, heat_of
from paddock.engine.pressure.limits import MAX_AT_LEAST_C, cold_maximum, fitted_tyres, minimum
from paddock.engine.readings.mass import Track
from paddock.model.car import Car, FirstRun, Target
from paddock.model.event import Event
from paddock.model.kinds import plain_number
from paddock.model.rows import TyreRow

__all__ = [
    "AxlePlan", "ColdPlan", "cold_plan", "first_rises", "first_run_plan", "known_rises", "next_event_plan",
    "rise_over_air",
]  # fmt: skip


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
    """Both axles for one place and air. ``air_c`` C; ``ambient_pa`` Pa; ``now_psi``: as the axles would read there."""

    air_c: float
    ambient_pa: float
    front: AxlePlan
    rear: AxlePlan
    cautions: tuple[str, ...] = ()
    now_psi: Mapping[str, float | None] = field(default_factory=dict)

    def cold_of(self, corner: str) -> float | None:
        """What to set a corner to, psi at ``air_c``; None: can't be told."""
        return (self.front if corner in AXLES["front"] else self.rear).cold_psi


@dataclass(frozen=True, slots=True)
class _Held:
    """Cold limits of an axle at the plan's air, psi, and whose they are; None = not known."""

    low: float | None
    high: float | None
    placard: float | None
    low_why: str
    high_why: str


def _limited(axle: str, hot: float, rise_k: float, state: AirState, held: _Held, now: float | None) -> AxlePlan:
    """The cold set inside the limits; without a cold maximum never above the maker's placard."""
    wanted = carry(hot, AirState(state.temp_c + rise_k, state.ambient_pa), state)
    high, why = held.high, held.high_why
    if high is None:
        high, why = held.placard, "no cold maximum is known: not above the placard"
    if high is None:
        return AxlePlan(axle, hot, None, rise_k, "no cold maximum and no placard is known: read the sidewall")
    if held.low is not None and held.high is not None and held.low > held.high:
        return AxlePlan(axle, hot, None, rise_k, "minimum and cold maximum can't both be met: look at [limits]")
    if wanted > high:
        return AxlePlan(axle, hot, high, rise_k, why, True)
    if held.low is not None and wanted < held.low:
        return AxlePlan(axle, hot, min(held.low, high), rise_k, held.low_why, True)
    if held.low is None and now is not None and wanted < now <= high:
        return AxlePlan(axle, hot, now, rise_k, "no minimum and no placard is known: not lowered", True)
    return AxlePlan(axle, hot, wanted, rise_k)


def _lowest(car: Car | None, axle: str, state: AirState, coldest_c: float | None) -> tuple[float | None, str]:
    """The minimum as it must read in this air to hold in the coldest, and which minimum it is."""
    least = minimum(car, axle)
    own = car is not None and getattr(car.limits, f"{axle}_min_psi") is not None
    whose = "the car file's minimum" if own else "the placard"
    if least is None or coldest_c is None or coldest_c >= state.temp_c:
        return least, f"held up by {whose}"
    held = carry(least, AirState(coldest_c, state.ambient_pa), state)
    return held, f"held up by {whose} at {plain_number(coldest_c, 1)} °C, the coldest air"


def _held(
    car: Car | None, axle: str, tyres: Mapping[str, TyreRow], state: AirState, hottest_c: float | None,
    coldest_c: float | None,
) -> _Held:  # fmt: skip
    maxima = [cold_maximum(car, tyres.get(corner)) for corner in AXLES[axle]]
    known = [value for value in maxima if value is not None]
    hottest = max(MAX_AT_LEAST_C, MAX_AT_LEAST_C if hottest_c is None else hottest_c, state.temp_c)
    high = carry(min(known), AirState(hottest, state.ambient_pa), state) if len(known) == len(maxima) else None
    placard: float | None = getattr(car.limits, f"placard_{axle}_psi") if car else None
    low, low_why = _lowest(car, axle, state, coldest_c)
    return _Held(low, high, placard, low_why, f"held down by the cold maximum, parked at {plain_number(hottest, 1)} °C")


def cold_plan(
    car: Car | None,
    surface: str | None,
    state: AirState,
    rises: Mapping[str, float | None],
    tyres: Mapping[str, TyreRow] | None = None,
    hottest_c: float | None = None,
    coldest_c: float | None = None,
    now: Mapping[str, float | None] | None = None,
) -> ColdPlan:
    """What to set cold in ``state`` so that the first run ends at the hot target of ``surface``.

    ``rises``: K that a first run warms each axle's tyres, None = not known. Limits as in ``limits``: the cold maximum
    in the hottest air expected, never under 20 C; the minimum in the coldest, None: in ``state``. ``now``: what each
    axle would read in ``state`` as it is, psi: not lowered where no minimum is known.
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
        plans[axle] = _limited(
            axle, hot, rise, state, _held(car, axle, tyres or {}, state, hottest_c, coldest_c), (now or {}).get(axle)
        )
    return ColdPlan(state.temp_c, state.ambient_pa, plans["front"], plans["rear"], now_psi=now or {})


def first_rises(heat: CarHeat) -> dict[str, float | None]:
    """K that a first run warms each axle over the air.

    Fitted; else the last read after a day's first run; else the median read after any run; else None.
    """
    found: dict[str, float | None] = {}
    for axle, item in heat.axles.items():
        found[axle] = item.fit.rise_k if item.fit else _cold_rise(heat, axle)
        if found[axle] is None:
            found[axle] = rise_over_air(heat.track, axle)
    return found


def rise_over_air(track: Track, axle: str) -> float | None:
    """Median of the tyre's temperature less the air's after a run, K; None without such a reading.

    Measured temperatures go before inferred ones, which drift where a setting was made minutes after the reading.
    """
    measured, inferred = [], []
    for step in track.steps:
        air = step.reading.air_c
        corners = [step.corners[corner] for corner in AXLES[axle] if corner in step.corners]
        temps = [(corner.temp_c, corner.temp_from) for corner in corners if corner.temp_c is not None]
        if step.reading.moment == "after" and air is not None:
            measured += [temp - air for temp, source in temps if source == "measured"]
            inferred += [temp - air for temp, source in temps if source != "measured"]
    rises = measured or inferred
    return median(rises) if rises else None


def known_rises(event: Event, number: str, heat: CarHeat, past: Sequence[Event] = ()) -> dict[str, float | None]:
    """K per axle: as read here, else as the car file carries it, else from the latest of ``past`` that knows it."""
    found, car = first_rises(heat), event.car_of(number)
    carried = car.first_run if car is not None else FirstRun()
    for axle in AXLES:
        if found[axle] is None:
            found[axle] = getattr(carried, f"{axle}_rise_k")
    name = event.car_name_of(number)
    for other in reversed(past):
        if None not in found.values() or name is None:
            break
        same = [item for item in other.settings.mine.numbers if other.car_name_of(item) == name]
        before = first_rises(heat_of(other, same[0])) if same else {}
        found = {axle: before.get(axle) if rise is None else rise for axle, rise in found.items()}
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


def _now(track: Track, state: AirState) -> dict[str, float | None]:
    """What each axle would read in ``state`` as it was last left, psi."""
    found: dict[str, float | None] = {}
    for axle, pair in AXLES.items():
        read = [track.latest.corners[corner].at(state.temp_c, state.ambient_pa) for corner in pair if track.latest]
        known = [value for value in read if value is not None]
        found[axle] = sum(known) / len(known) if known else None
    return found


def first_run_plan(
    event: Event, number: str, air_c: float | None = None, surface: str | None = None, past: Sequence[Event] = ()
) -> ColdPlan | str:
    """The cold plan for the next first run here. ``air_c`` None: the forecast's coldest, else the last logged air.

    ``past``: earlier events, for the rise where neither this one nor the car file knows it.
    """
    heat = heat_of(event, number)
    log, forecast = heat.track.log, event.settings.forecast
    latest = log.latest
    seen = log.around.air_c(log.day or 1, None)
    for value in (forecast.coldest_c, seen, latest.air_c if latest else None):
        air_c = value if air_c is None else air_c
    if air_c is None:
        return "no air temperature is known: log the weather or put the forecast into event.toml"
    state = AirState(air_c, log.around.ambient_pa(log.day or 1, None))
    return _planned(event, number, heat, state, surface, forecast.hottest_c, forecast.coldest_c, past)


def next_event_plan(
    event: Event, number: str, altitude_m: float | None, air_c: float, station_hpa: float | None = None,
    hottest_c: float | None = None, surface: str | None = None, coldest_c: float | None = None,
) -> ColdPlan:  # fmt: skip
    """The cold plan for another place and forecast, with the heat and the limits learned here.

    ``altitude_m`` None: sea level. ``coldest_c``: the minimum holds there, None: at ``air_c``.
    """
    state = AirState(air_c, ambient_pa(altitude_m, station_hpa))
    hottest = air_c if hottest_c is None else max(hottest_c, air_c)
    return _planned(event, number, heat_of(event, number), state, surface, hottest, coldest_c)


def _planned(
    event: Event, number: str, heat: CarHeat, state: AirState, surface: str | None, hottest_c: float | None,
    coldest_c: float | None, past: Sequence[Event] = (),
) -> ColdPlan:  # fmt: skip
    tyres = fitted_tyres(event, event.numbers_of_car(number), (heat.track.log.day or 1, 999))
    rises = known_rises(event, number, heat, past)
    return cold_plan(
        event.car_of(number), surface, state, rises, tyres, hottest_c, coldest_c, _now(heat.track, state)
    )  # fmt: skip
