"""Tyre air: one gauge reading carried to another temperature, altitude and weather.

Ideal gas at constant volume, (p + ambient)/T = constant, absolute pressure and kelvin. Ambient from the
station pressure where it is known, else the standard atmosphere of ISO 2533 (geopotential altitude).
Inside: gauge pressure in psi, temperature in C, ambient pressure in Pa.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from paddock.errors import UsageError
from paddock.model.units import PSI_PA

ZERO_C = 273.15
SEA_LEVEL_PA = 101_325.0
_SEA_LEVEL_K = 288.15
_LAPSE_K_M = 0.0065
_GAS_J_KG_K = 287.05287
_GRAVITY = 9.80665
_EXPONENT = _GRAVITY / (_GAS_J_KG_K * _LAPSE_K_M)

LOWEST_M, HIGHEST_M = -2_000.0, 11_000.0
LOWEST_HPA, HIGHEST_HPA = 200.0, 1_100.0
HOTTEST_C, HIGHEST_PSI = 300.0, 200.0

UNCERTAINTY_PSI = 0.5
"""How well a reading is foretold: water left inside adds up to 2.5 psi from 20 to 60 C; 1 % more volume takes 0.46."""
GAS_LAW_PSI = (0.05, 0.21)
"""How far the ideal gas is off real dry air: in use, and at most (0 to 90 C at 400 kPa). CoolProp 8, density held."""


@dataclass(frozen=True, slots=True)
class AirState:
    """What surrounds the air in a tyre: its temperature, C, and the absolute pressure outside, Pa."""

    temp_c: float
    ambient_pa: float = SEA_LEVEL_PA

    @property
    def kelvin(self) -> float:
        """Absolute temperature."""
        return self.temp_c + ZERO_C

    @property
    def ambient_psi(self) -> float:
        """The pressure outside in psi."""
        return self.ambient_pa / PSI_PA


def standard_pa(altitude_m: float) -> float:
    """ISO 2533 pressure, Pa, at a *geopotential* altitude in metres, up to the tropopause (11 km)."""
    return SEA_LEVEL_PA * math.exp(_EXPONENT * math.log1p(-_LAPSE_K_M * altitude_m / _SEA_LEVEL_K))


def ambient_pa(altitude_m: float | None = None, station_hpa: float | None = None) -> float:
    """Pressure outside, Pa: the station pressure (hPa) where given, else ISO 2533; neither: sea level."""
    if station_hpa is not None:
        return station_hpa * 100.0
    return standard_pa(altitude_m or 0.0)


def ambient_psi(altitude_m: float | None = None, station_hpa: float | None = None) -> float:
    """``ambient_pa`` in psi."""
    return ambient_pa(altitude_m, station_hpa) / PSI_PA


def carry(gauge_psi: float, from_state: AirState, to_state: AirState) -> float:
    """What a gauge that read ``gauge_psi`` in one state reads in the other, same air inside, psi.

    Below 0 means that the air inside is under the pressure outside: a flat tyre.
    """
    absolute = gauge_psi + from_state.ambient_psi
    return absolute * (to_state.kelvin / from_state.kelvin) - to_state.ambient_psi


def cold_for_hot(hot_psi: float, hot_c: float, cold_c: float, ambient: float = SEA_LEVEL_PA) -> float:
    """The cold gauge pressure to set for a wanted hot one, psi; ``ambient`` in Pa."""
    return carry(hot_psi, AirState(hot_c, ambient), AirState(cold_c, ambient))


def rise_k(gauge_psi: float, rise_psi: float, state: AirState) -> float:
    """How many kelvin a rise of ``rise_psi`` stands for, from ``gauge_psi`` in ``state``."""
    return state.kelvin * rise_psi / (gauge_psi + state.ambient_psi)


def _within(value: float, low: float, high: float, what: str) -> float:
    if not math.isfinite(value) or not low <= value <= high:
        raise UsageError(f"{value:g} is no {what}: from {low:g} to {high:g} is taken")
    return value


def air_state(temp_c: float, altitude_m: float | None = None, station_hpa: float | None = None) -> AirState:
    """A state from what was typed. Raises UsageError for what can't be (absolute zero and below, say)."""
    if not math.isfinite(temp_c) or temp_c <= -ZERO_C:
        raise UsageError(f"{temp_c:g} C is at or below absolute zero")
    _within(temp_c, -ZERO_C, HOTTEST_C, "temperature of a tyre in C")
    if altitude_m is not None:
        _within(altitude_m, LOWEST_M, HIGHEST_M, "altitude in metres")
    if station_hpa is not None:
        _within(station_hpa, LOWEST_HPA, HIGHEST_HPA, "station pressure in hPa")
    return AirState(temp_c, ambient_pa(altitude_m, station_hpa))


def checked_gauge(gauge_psi: float) -> float:
    """A gauge pressure that can be meant, psi; raises UsageError otherwise."""
    return _within(gauge_psi, 0.0, HIGHEST_PSI, "gauge pressure of a tyre in psi")
