"""The air's edges: what may be typed, what is held where, corners as one value. By hand."""

from __future__ import annotations

import pytest

from paddock.engine.pressure import air
from paddock.engine.pressure.air import AirState, carry
from paddock.engine.pressure.corners import AXLE_OF, MATE, SIDE_OF, Corners
from paddock.errors import UsageError


@pytest.mark.parametrize(
    ("good", "bad"),
    [
        ({"temp_c": 300.0}, {"temp_c": 300.1}), ({"temp_c": -273.1}, {"temp_c": -273.15}),
        ({"altitude_m": -2_000.0}, {"altitude_m": -2_000.1}), ({"altitude_m": 11_000.0}, {"altitude_m": 11_000.1}),
        ({"station_hpa": 200.0}, {"station_hpa": 199.9}), ({"station_hpa": 1_100.0}, {"station_hpa": 1_100.1}),
    ],
)  # fmt: skip
def test_what_may_be_typed(good: dict[str, float], bad: dict[str, float]) -> None:
    air.air_state(**({"temp_c": 20.0} | good))
    with pytest.raises(UsageError):
        air.air_state(**({"temp_c": 20.0} | bad))


def test_gauges_that_may_be_typed() -> None:
    assert (air.checked_gauge(0.0), air.checked_gauge(200.0)) == (0.0, 200.0)
    for psi in (-0.1, 200.1):
        with pytest.raises(UsageError, match="from 0 to 200 is taken"):
            air.checked_gauge(psi)


def test_the_outside_by_station_altitude_or_sea_level() -> None:
    """ISO 2533: 101325 Pa at 0 m, 89874.6 Pa at 1000 m."""
    assert (air.ambient_pa(), air.ambient_pa(1000.0, 950.0)) == (101_325.0, 95_000.0)
    assert air.ambient_pa(1000.0) == pytest.approx(89_874.6, abs=0.05)
    assert air.ambient_psi(None, 1013.25) == pytest.approx(14.695949, abs=1e-6)
    assert air.air_state(20.0, 1000.0).ambient_pa == air.ambient_pa(1000.0)
    state = AirState(40.0, 90_000.0)
    assert (state.kelvin, state.ambient_psi) == (pytest.approx(313.15), pytest.approx(90_000 / 6894.757293168))
    assert air.cold_for_hot(36.0, 50.0, 10.0, 90_000.0) == pytest.approx(
        carry(36.0, AirState(50.0, 90_000.0), AirState(10.0, 90_000.0))
    )


def test_four_corners() -> None:
    four = Corners(1.0, 2.0, None, 4.0)
    assert [four[corner] for corner in ("lf", "rf", "lr", "rr")] == [1.0, 2.0, None, 4.0]
    assert (four.axle("front"), four.axle("rear"), Corners().axle("rear")) == (1.5, 4.0, None)
    assert four.known() == {"lf": 1.0, "rf": 2.0, "rr": 4.0}
    assert four.as_dict() == {"lf": 1.0, "rf": 2.0, "lr": None, "rr": 4.0}
    assert four.map(lambda value: value + 1) == Corners(2.0, 3.0, None, 5.0)
    assert four.mirrored() == Corners(2.0, 1.0, 4.0, None)
    assert Corners.of({"rr": 4.0, "lf": 1.0}) == Corners(1.0, None, None, 4.0)
    assert {corner: (AXLE_OF[corner], SIDE_OF[corner], MATE[corner]) for corner in ("lf", "rr")} == {
        "lf": ("front", "left", "rf"), "rr": ("rear", "right", "lr"),
    }  # fmt: skip
