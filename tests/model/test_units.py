"""Unit factors against NIST SP 811 (2008) and pint; there and back."""

from __future__ import annotations

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.model.units import FAMILIES, PSI_PA, Unit, from_psi, to_psi

PINT = {
    "psi": "psi", "kpa": "kPa", "bar": "bar", "c": "degC", "f": "degF", "mm": "mm", "32nds": "thirty_second", "m": "m",
    "ft": "ft", "nm": "N*m", "lbft": "lbf*ft", "kmh": "km/h", "mph": "mph",
}  # fmt: skip
REGISTRY = pint.UnitRegistry()
REGISTRY.define("thirty_second = inch / 32")
EVERY = [(family.units[0], unit) for family in FAMILIES.values() for unit in family.units]


def test_psi_is_the_table_value_of_nist() -> None:
    """NIST SP 811 (2008), appendix B.8: 1 psi = 6.894 757 E+03 Pa."""
    assert round(PSI_PA, 3) == 6894.757


@pytest.mark.parametrize(("inside", "unit"), EVERY, ids=lambda unit: unit.suffix)
@pytest.mark.parametrize("value", [0.0, 1.0, 32.0, 100.0])
def test_every_unit_agrees_with_pint(inside: Unit, unit: Unit, value: float) -> None:
    """pint, an independent unit library."""
    want = REGISTRY.Quantity(value, PINT[unit.suffix]).to(PINT[inside.suffix]).magnitude
    assert unit.inward(value) == pytest.approx(want, rel=1e-12, abs=1e-9)


@pytest.mark.parametrize(
    ("psi", "unit", "value"),
    [(32, "kpa", 220.6322), (32, "bar", 2.206322), (50.763, "kpa", 350.0), (34.809, "kpa", 240.0)],
)
def test_pressures_of_the_check_tables(psi: float, unit: str, value: float) -> None:
    """32 psi = 220.6322 kPa; sidewall maxima 240 and 350 kPa (pint)."""
    assert from_psi(psi, unit) == pytest.approx(value, abs=0.003)


def test_a_temperature_difference_is_not_a_temperature() -> None:
    """68 F = 20 C, 212 F = 100 C, -40 is -40 (definition)."""
    fahrenheit = FAMILIES["temperature"].by_suffix("f")
    assert fahrenheit is not None
    assert fahrenheit.inward(68) == pytest.approx(20)
    assert fahrenheit.inward(212) - fahrenheit.inward(32) == pytest.approx(100)
    assert fahrenheit.inward(-40) == pytest.approx(-40)


@given(st.floats(-100, 1000), st.sampled_from(EVERY))
def test_there_and_back(value: float, pair: tuple[Unit, Unit]) -> None:
    unit = pair[1]
    assert unit.outward(unit.inward(value)) == pytest.approx(value, rel=1e-12, abs=1e-9)


def test_psi_stays_bit_for_bit_and_an_unknown_unit_is_refused() -> None:
    assert to_psi(0.1 + 0.2, "psi") == 0.1 + 0.2
    with pytest.raises(ValueError, match="no pressure unit"):
        to_psi(1, "atm")
