"""Four readings while they are taken: what to expect, and what each one means as it is typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from paddock import words
from paddock.engine.air import ZERO_C, AirState, ambient_pa, carry
from paddock.engine.heat.car import heat_of, predict_readings
from paddock.engine.pressure.advise import advise
from paddock.engine.readings.mass import CornerAir
from paddock.model.event import Event
from paddock.model.rows import CORNERS, PressureRow, WeatherRow
from paddock.model.units import PSI_PA
from paddock.views.readings import cold_wanted, first_of_day, max_cold_psi, readings

__all__ = ["CornerNow", "Expected", "expected", "gauge_step", "over_cold", "pressing", "warmth", "Warmth"]

_PARKED_C = 20.0


@dataclass(frozen=True, slots=True)
class CornerNow:
    """One corner, psi. ``given``: typed or confirmed; ``cold_psi``: what it would read at ``cold_c``.

    ``off_psi`` to the target, ``gain_psi`` since the day's cold reading; None: not known.
    ``aim``: what ``target_psi`` is, in words.
    """

    corner: str
    psi: float | None
    given: bool
    target_psi: float | None
    off_psi: float | None
    gain_psi: float | None
    cold_psi: float | None
    over: str
    aim: str = "target"


def gauge_step(event: Event) -> float:
    """The smallest step of the gauge in use, psi; half a psi where there is none or more than one."""
    gauge = event.settings.gauge_of(None)
    return gauge.step_psi if gauge and gauge.step_psi > 0 else 0.5


@dataclass(frozen=True, slots=True)
class Expected:
    """``psi`` by corner, in the gauge's steps; ``how``: where it comes from, in words."""

    psi: dict[str, float]
    how: str


def expected(event: Event, number: str, day: int, moment: str) -> Expected:
    """What each corner will probably read, or should be set to; corners nothing is known of are left out.

    A cold reading never starts from a hot target: before the day's first run it starts from the cold plan.
    """
    found, how = _last(event, number, day, moment), "as last read"
    better, why = _worked_out(event, number, moment)
    if better:
        found, how = found | better, why
    if moment == "cold":
        found, how = _planned_cold(event, number, day, found, how)
    elif moment != "before" or not first_of_day(event, number, day):
        for item in readings(event, number, day).corners:
            if item.corner not in found and item.target_psi is not None:
                found[item.corner] = item.target_psi
                how = "the target" if len(found) == 1 else how
    step = gauge_step(event)
    return Expected({corner: round(round(psi / step) * step, 6) for corner, psi in found.items()}, how)


def _planned_cold(
    event: Event, number: str, day: int, found: dict[str, float], how: str
) -> tuple[dict[str, float], str]:
    """Corners nothing was read of start from the cold plan; where there is none, why."""
    missing = [corner for corner in CORNERS if corner not in found]
    if not missing or not first_of_day(event, number, day):
        return found, how
    plan = cold_wanted(event, number, day)
    if isinstance(plan, str):
        return found, plan
    return found | {corner: plan.psi[corner] for corner in missing if corner in plan.psi}, plan.how


def _worked_out(event: Event, number: str, moment: str) -> tuple[dict[str, float], str]:
    """The engine's answer for this moment; empty where it has none."""
    if moment == "set":
        advice = advise(event, number)
        return (advice.set.known(), "what to set next") if advice.action == "set" else ({}, "")
    prediction = predict_readings(event, number)
    return (prediction.psi.known(), prediction.how) if prediction.moment == moment else ({}, "")


def _last(event: Event, number: str, day: int, moment: str) -> dict[str, float]:
    """The last reading of this moment today, else the last of any."""
    cars = set(event.numbers_of_car(number))
    rows = [row for row in event.of(PressureRow) if row.number in cars and row.day <= day]
    found: dict[str, float] = {}
    for row in (*rows, *(row for row in rows if row.moment == moment and row.day == day)):
        found |= {corner: psi for corner in CORNERS if (psi := getattr(row, f"{corner}_psi")) is not None}
    return found


@dataclass(frozen=True, slots=True)
class Warmth:
    """How warm the tyres are while they are read.

    ``measured_c``: typed; ``air_c``: of the day; ``air``: each corner's air at the last reading.
    """

    moment: str
    measured_c: float | None = None
    air_c: float | None = None
    air: Mapping[str, CornerAir] = field(default_factory=dict)

    def of(self, corner: str, psi: float, ambient: float) -> float | None:
        """The tyre's temperature, C: as measured; a cold tyre's is the air's; one just set is as warm as it was
        read; else by the air known to be in it. None: not known. ``ambient`` in Pa."""
        if self.measured_c is not None:
            return self.measured_c
        if self.moment == "cold":
            return self.air_c
        inside = self.air.get(corner, CornerAir())
        if self.moment == "set":
            return inside.gas_c
        return None if inside.mass is None or not inside.sure else (psi + ambient / PSI_PA) / inside.mass - ZERO_C


def warmth(event: Event, number: str, day: int, moment: str) -> Warmth:
    """What is known before anything is typed."""
    rows = [row for row in event.of(WeatherRow) if row.day == day and row.air_c is not None]
    air_c = max(rows, key=lambda row: row.at or "").air_c if rows else None
    latest = heat_of(event, number, ranges=False).track.latest
    return Warmth(moment, None, air_c, dict(latest.corners) if latest else {})


def _parked_c(event: Event) -> float:
    """The hottest air expected today, never under 20 C."""
    return max(_PARKED_C, event.settings.forecast.hottest_c or _PARKED_C)


def _cold(event: Event, psi: float, tyre_c: float | None) -> float | None:
    if tyre_c is None:
        return None
    ambient = ambient_pa(event.settings.altitude_m)
    return carry(psi, AirState(tyre_c, ambient), AirState(_parked_c(event), ambient))


def over_cold(event: Event, limit: tuple[float, str], psi: float, tyre_c: float | None) -> str:
    """Why a reading is over the cold maximum ``limit`` (psi, whose); "" where it isn't.

    Compared as it would read parked in the hottest air expected today; the reading itself where the tyre's
    temperature isn't known.
    """
    cold = _cold(event, psi, tyre_c)
    if (psi if cold is None else cold) <= limit[0] + 1e-9:
        return ""
    unit = event.settings.pressure_unit or "psi"
    most = f"{words.reading(limit[0], unit)}, the cold maximum of {limit[1]}"
    if cold is None:
        return f"reads {words.reading(psi, unit)}, over {most}; how hot is it? t41 on the line tells"
    return f"would read {words.reading(cold, unit)} parked at {_parked_c(event):.0f} °C, over {most}: let air out"


def pressing(
    event: Event, number: str, day: int, psi: Mapping[str, float], given: frozenset[str], warm: Warmth
) -> tuple[CornerNow, ...]:
    """Every corner with what its reading means. ``psi``: expected or typed readings."""
    targets = _targets(event, number, day, warm.moment)
    cold, limits = _cold_of_day(event, number, day), max_cold_psi(event, number, day, None)
    ambient = ambient_pa(event.settings.altitude_m)
    found = []
    for corner in CORNERS:
        now = _corner(corner, psi.get(corner), corner in given, targets[corner], cold.get(corner))
        if now.psi is not None:
            tyre_c = warm.of(corner, now.psi, ambient)
            over = over_cold(event, limits[corner], now.psi, tyre_c) if corner in limits else ""
            now = replace(now, cold_psi=_cold(event, now.psi, tyre_c), over=over)
        found.append(replace(now, aim="cold plan") if warm.moment == "cold" else now)
    return tuple(found)


def _targets(event: Event, number: str, day: int, moment: str) -> dict[str, float | None]:
    """What a reading of this moment is compared with: a cold one with the cold plan, any other with the hot target."""
    if moment != "cold":
        return {row.corner: row.target_psi for row in readings(event, number, day).corners}
    plan = cold_wanted(event, number, day)
    return {corner: None if isinstance(plan, str) else plan.psi.get(corner) for corner in CORNERS}


def _cold_of_day(event: Event, number: str, day: int) -> dict[str, float]:
    cars = set(event.numbers_of_car(number))
    found: dict[str, float] = {}
    for row in event.of(PressureRow):
        if row.number in cars and row.day == day and row.moment == "cold":
            found |= {item: value for item in CORNERS if (value := getattr(row, f"{item}_psi")) is not None}
    return found


def _corner(corner: str, psi: float | None, given: bool, target: float | None, cold: float | None) -> CornerNow:
    off = None if psi is None or target is None else psi - target
    gain = None if psi is None or cold is None else psi - cold
    return CornerNow(corner, psi, given, target, off, gain, None, "")
