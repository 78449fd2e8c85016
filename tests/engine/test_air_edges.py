"""The air's edges: what may be typed, what is held where, corners as one value. By hand."""

from __future__ import annotations

import pytest

from paddock.engine import air
from paddock.engine.air import AirState, carry
from paddock.engine.corners import AXLE_OF, MATE, SIDE_OF, Corners
from paddock.engine.heat.what_if import Asked, _held, what_if
from paddock.engine.pressure.limits import Bound
from paddock.errors import UsageError
from tests.engine.situations import MORNING, after, logged
from tests.engine.test_what_if import day


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
    assert air.geopotential_m(1_800.0) == pytest.approx(1_799.49, abs=0.005)
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


@pytest.mark.parametrize(
    ("to", "now", "bound", "want"),
    [
        (None, 30.0, Bound(20.0, 40.0), (None, "")),
        (40.0, 30.0, Bound(20.0, 40.0), (40.0, "")),
        (40.1, 30.0, Bound(20.0, 40.0), (40.0, "held at the cold maximum")),
        (20.0, 30.0, Bound(20.0, 40.0), (20.0, "")),
        (19.9, 30.0, Bound(20.0, 40.0), (20.0, "held at the minimum")),
        (30.1, 30.0, Bound(no_raise="unknown"), (30.0, "unknown")),
        (30.0, 30.0, Bound(no_raise="unknown"), (30.0, "")),
        (30.0, None, Bound(no_raise="unknown"), (None, "unknown")),
        (29.0, 30.0, Bound(None, 40.0, no_lower="mind"), (29.0, "mind")),
        (30.0, 30.0, Bound(None, 40.0, no_lower="mind"), (30.0, "")),
        (30.0, None, Bound(None, 40.0, no_lower="mind"), (30.0, "mind")),
    ],
)  # fmt: skip
def test_what_holds_a_setting(
    to: float | None, now: float | None, bound: Bound, want: tuple[float | None, str]
) -> None:
    assert _held(to, now, bound) == want


def test_what_if_without_a_fit_corner_by_corner() -> None:
    """The last rise is 3 psi front, 2.8 rear: untouched the next run ends that much higher, so it is set that much lower."""
    rows = (MORNING, after(1, 33.0, 33.0, 42.0, 42.0), logged(1))
    found = what_if(day(*rows), "31", Asked())
    assert (found.air_c, [item.corner for item in found.corners]) == (18.0, ["lf", "rf", "lr", "rr"])
    front, rear = found.corners[0], found.corners[3]
    assert (front.wanted_psi, front.end_psi, front.set_psi) == (34.0, pytest.approx(36.0), pytest.approx(31.0))
    assert (rear.wanted_psi, rear.end_psi, rear.set_psi) == (44.0, pytest.approx(44.8), pytest.approx(41.2))
    assert found.cold is None
    there = what_if(day(*rows), "31", Asked(altitude_m=2000.0, front_psi=33.0))
    assert there.cold is not None
    assert there.cold.ambient_pa == air.ambient_pa(2000.0)
    nothing = what_if(day(), "31", Asked(front_psi=33.0))
    assert (nothing.air_c, nothing.parked, nothing.corners) == (None, Corners(), ())
    parked = what_if(day(), "31", Asked(air_c=5.0))
    assert parked.parked == Corners()
    unread = what_if(day(MORNING), "31", Asked())
    assert (unread.corners[0].end_psi, unread.corners[0].set_psi, unread.corners[0].wanted_psi) == (None, None, 34.0)
