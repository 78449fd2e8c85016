"""Tyre air against published figures, a real-gas library, an atmosphere library and a unit library."""

from __future__ import annotations

import math

import pint
import pytest
from ambiance import Atmosphere
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from paddock.engine.pressure import air
from paddock.engine.pressure.air import SEA_LEVEL_PA, AirState, ambient_pa, carry, cold_for_hot
from paddock.errors import UsageError
from paddock.model.units import PSI_PA, from_psi, to_psi
from paddock.pages.reasons import uncertainty_words

UNITS = pint.UnitRegistry()
SEA = SEA_LEVEL_PA
psi = st.floats(5, 80)
celsius = st.floats(-30, 110)
outside = st.floats(60_000, 105_000)


def at(temp_c: float, pa: float = SEA) -> AirState:
    return AirState(temp_c, pa)


@pytest.mark.parametrize(
    ("height", "pascal"),
    [(500, 95460.84), (1000, 89874.56), (1500, 84555.99), (2000, 79495.20), (2500, 74682.52), (3000, 70108.53)],
)
def test_standard_atmosphere_at_geopotential_altitude(height: float, pascal: float) -> None:
    # ISO 2533:1975, formula of the troposphere worked by hand; printed tables agree from memory.
    assert ambient_pa(height) == pytest.approx(pascal, abs=0.006)


@pytest.mark.parametrize("height", [0, 500, 1000, 1609.344, 2000, 3000])
def test_standard_atmosphere_against_a_library(height: float) -> None:
    # ambiance 1.3 takes geometric altitude; the radius is that of ISO 2533.
    library = float(Atmosphere(height).pressure[0])
    assert air.standard_pa(6_356_766.0 * height / (6_356_766.0 + height)) == pytest.approx(library, abs=0.02)


def test_station_pressure_goes_before_altitude() -> None:
    assert ambient_pa(1600.0, 1002.5) == 100_250.0
    assert ambient_pa(None, None) == SEA


@pytest.mark.parametrize(
    ("gauge", "cold", "hot", "expected"),
    [
        (32, 20, 60, 38.3716),  # gas law in absolute pressure and kelvin; on gauge alone it would be 36.4
        (32, 20, (118 - 32) * 5 / 9, 36.4247),
    ],
)
def test_heat_only(gauge: float, cold: float, hot: float, expected: float) -> None:
    assert carry(gauge, at(cold), at(hot)) == pytest.approx(expected, abs=5e-5)


@pytest.mark.parametrize(
    ("gauge", "rise"),
    [(20, 0.6575), (24, 0.7333), (25, 0.7523), (30, 0.8470), (32, 0.8849), (36, 0.9608), (40, 1.0366), (44, 1.1124),
     (50, 1.2261)],
)  # fmt: skip
def test_rise_per_ten_fahrenheit_from_68(gauge: float, rise: float) -> None:
    assert carry(gauge, at(20), at(20 + 50 / 9)) - gauge == pytest.approx(rise, abs=5e-5)


@pytest.mark.parametrize(
    ("fahrenheit", "from_c", "gauge"),
    [(10, 20, 38.07), (10, 0, 34.47), (10, (100 - 32) * 5 / 9, 41.27), (12, 20, 29.28)],
)
def test_where_the_rule_of_thumb_is_exact(fahrenheit: float, from_c: float, gauge: float) -> None:
    # "1 psi per 10 F" and "per 12 F": common practice, no source; each is right at one cold pressure.
    assert carry(gauge, at(from_c), at(from_c + fahrenheit * 5 / 9)) - gauge == pytest.approx(1.0, abs=5e-4)


def test_cold_set_for_a_hot_target() -> None:
    assert cold_for_hot(36, 55, 18) == pytest.approx(30.2839, abs=5e-5)


def test_altitude_and_heat_against_an_atmosphere_library() -> None:
    mile = float(Atmosphere(1609.344).pressure[0])
    assert carry(32, at(15), at(15, mile)) == pytest.approx(34.5952, abs=5e-5)
    assert carry(32, at(15), at(35, mile)) == pytest.approx(37.8363, abs=5e-5)


def test_from_the_hills_to_a_cold_morning_at_the_sea() -> None:
    there = carry(38, AirState(25, ambient_pa(1600)), AirState(5, ambient_pa(0)))
    assert there == pytest.approx(32.1, abs=0.05)
    assert carry(38, at(50), at(8)) == pytest.approx(31.2, abs=0.05)


@pytest.mark.parametrize(
    ("absolute_pa", "from_c", "to_c", "off_psi"),
    [(300_000, 20, 60, 0.043), (321_957, 20, 60, 0.049), (400_000, 0, 90, 0.212), (200_000, 0, 90, 0.053)],
)
def test_against_real_air_at_constant_density(absolute_pa: float, from_c: float, to_c: float, off_psi: float) -> None:
    # CoolProp 8 (dry air). The gas law is always a little low, and well inside the stated 0.5 psi.
    density = PropsSI("D", "T", from_c + 273.15, "P", absolute_pa, "Air")
    real = PropsSI("P", "T", to_c + 273.15, "D", density, "Air") / PSI_PA
    gauge = (absolute_pa - SEA) / PSI_PA
    ours = carry(gauge, at(from_c), at(to_c)) + SEA / PSI_PA
    assert 0 < real - ours < air.UNCERTAINTY_PSI
    assert real - ours == pytest.approx(off_psi, abs=6e-4)


def test_nitrogen_is_no_different() -> None:
    pressures = []
    for gas in ("Air", "Nitrogen"):
        density = PropsSI("D", "T", 293.15, "P", 300_000, gas)
        pressures.append(PropsSI("P", "T", 333.15, "D", density, gas))
    assert abs(pressures[0] - pressures[1]) / PSI_PA < 0.001


def test_the_stated_uncertainty_is_about_moisture_and_growth() -> None:
    # CoolProp water: vapour pressure from 20 to 60 C; 1 % of 320 kPa for the carcass.
    vapour = (PropsSI("P", "T", 333.15, "Q", 0, "Water") - PropsSI("P", "T", 293.15, "Q", 0, "Water")) / PSI_PA
    assert vapour > air.UNCERTAINTY_PSI
    assert pytest.approx(0.46, abs=0.005) == 320_000 * (1 - 1 / 1.01) / PSI_PA
    assert "moist" in uncertainty_words()
    assert "carcass" in uncertainty_words()


def test_kelvin_a_rise_stands_for() -> None:
    assert air.rise_k(32, 6.3716, at(20)) == pytest.approx(40, abs=1e-3)


@given(psi, celsius, celsius, outside, outside)
def test_reversible(gauge: float, one: float, two: float, pa_one: float, pa_two: float) -> None:
    there = carry(gauge, at(one, pa_one), at(two, pa_two))
    assert carry(there, at(two, pa_two), at(one, pa_one)) == pytest.approx(gauge, abs=1e-9)


@given(psi, celsius, celsius, outside, outside, st.floats(0.1, 20))
def test_monotone(gauge: float, one: float, two: float, pa_one: float, pa_two: float, more: float) -> None:
    here, there = at(one, pa_one), at(two, pa_two)
    base = carry(gauge, here, there)
    assert carry(gauge + more, here, there) > base
    assert carry(gauge, here, at(two + more, pa_two)) > base
    assert carry(gauge, at(one + more, pa_one), there) < base
    assert carry(gauge, here, at(two, pa_two + more * 100)) < base


@given(psi, st.sampled_from(["psi", "kpa", "bar"]))
def test_units_are_interchangeable(gauge: float, unit: str) -> None:
    # pint 0.25 and NIST SP 811 (2008) appendix B.
    theirs = UNITS.Quantity(gauge, "psi").to({"psi": "psi", "kpa": "kPa", "bar": "bar"}[unit]).magnitude
    assert from_psi(gauge, unit) == pytest.approx(theirs, rel=1e-12)
    assert to_psi(from_psi(gauge, unit), unit) == pytest.approx(gauge, rel=1e-12)


@pytest.mark.parametrize("gauge", [240, 280, 300, 340, 350])
def test_sidewall_maxima_in_psi(gauge: float) -> None:
    assert to_psi(gauge, "kpa") == pytest.approx(UNITS.Quantity(gauge, "kPa").to("psi").magnitude, rel=1e-12)


@pytest.mark.parametrize("temp", [-273.15, -300, math.nan, math.inf, 5000])
def test_temperatures_that_cannot_be(temp: float) -> None:
    with pytest.raises(UsageError):
        air.air_state(temp)


def test_places_and_pressures_that_cannot_be() -> None:
    for bad in ({"altitude_m": 40_000.0}, {"altitude_m": math.nan}, {"station_hpa": -5.0}, {"station_hpa": 30.0}):
        with pytest.raises(UsageError):
            air.air_state(20.0, **bad)
    for gauge in (-1.0, math.inf, math.nan, 900.0):
        with pytest.raises(UsageError):
            air.checked_gauge(gauge)
