"""Tyre sizes against arithmetic, a published library's examples and a tyre maker's table."""

from __future__ import annotations

import math

import pytest

from paddock.engine.car.driveline import ROLLING, read_size, rolling_circumference
from paddock.model.car_drive import Gearbox


@pytest.mark.parametrize(
    ("size", "diameter"),
    [("205/50R15", 586.0), ("225/45R17", 634.3), ("245/40R18", 653.2), ("225/45ZR17 91W", 634.3),
     ("225/45 R 17", 634.3), ("P225/45r17", 634.3), ("225/45-17", 634.3)],
)  # fmt: skip
def test_free_diameter(size: str, diameter: float) -> None:
    # Arithmetic: rim x 25.4 + 2 x width x aspect.
    found = read_size(size)
    assert found is not None
    assert found.diameter_mm == pytest.approx(diameter, abs=1e-9)


@pytest.mark.parametrize(("size", "radius_m"), [("P205/60R16", 0.3262), ("225/70Rx19.5G", 0.40515)])
def test_radius_of_a_published_library(size: str, radius_m: float) -> None:
    # Examples in the documentation of fastsim-core, tire_code_to_radius.
    found = read_size(size)
    assert found is not None
    assert found.diameter_mm / 2000 == pytest.approx(radius_m, abs=1e-9)


def test_geometric_revolutions() -> None:
    # Arithmetic: 1609344 / (pi D).
    rolling, _ = rolling_circumference(Gearbox(size="225/45R17"))
    assert rolling is not None
    assert 1_609_344 / rolling * ROLLING == pytest.approx(807.61, abs=0.005)


@pytest.mark.parametrize(
    ("inflated_in", "revs"),
    [(33.0, 628), (30.5, 682), (30.7, 674), (30.7, 676), (31.7, 655), (32.0, 648), (34.6, 601), (34.9, 595),
     (37.7, 550)],
)  # fmt: skip
def test_rolling_revolutions_of_a_tyre_makers_table(inflated_in: float, revs: float) -> None:
    # A tyre maker's size tables (light-truck tyres), revolutions per mile against inflated overall diameter.
    free = 1_609_344 / (math.pi * inflated_in * 25.4)
    assert free / ROLLING == pytest.approx(revs, rel=0.006)
    assert free < 0.985 * revs


def test_inch_sizes() -> None:
    size = read_size("31x10.5R15")
    assert size is not None
    assert size.diameter_mm == pytest.approx(31 * 25.4)


@pytest.mark.parametrize("text", ["", "225/45", "17", "abc", "999/99R99", "225/45R5"])
def test_no_size(text: str) -> None:
    assert read_size(text) is None


def test_the_roll_out_beats_the_size() -> None:
    both, findings = rolling_circumference(Gearbox(size="225/45R17", rolling_circumference_mm=1930.0))
    assert both == 1930
    assert findings == ()
    alone, _ = rolling_circumference(Gearbox(size="225/45R17"))
    assert alone == pytest.approx(math.pi * 634.3 * ROLLING)


def test_what_is_said_of_a_wheel() -> None:
    apart, findings = rolling_circumference(Gearbox(size="225/45R17", rolling_circumference_mm=1700.0))
    assert apart == 1700
    assert "far apart" in findings[0].message
    none, findings = rolling_circumference(Gearbox(size="wide"))
    assert none is None
    assert [item.level for item in findings] == ["fault", "warning"]
