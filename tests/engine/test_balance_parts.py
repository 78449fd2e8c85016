"""A car's axles made ready, each part of the transfer, both bars at once. By hand."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from paddock.engine.car.balance import (
    AxleLoads,
    Chassis,
    bars_of,
    chassis_of,
    front_share,
    in_series,
    load_transfer,
    roll_share_curve,
    share_per_pair,
    transfer,
)
from paddock.engine.car.bars import pairs_table
from paddock.engine.car.driveline import G
from tests.cars import coupe, saloon
from tests.engine.test_balance import axle, chassis


def test_wheels_whose_centres_are_not_measured_stand_half_their_size_up() -> None:
    """Roll-out over two pi, else 300 mm; one that is measured stays; masses of the wheels not given are none."""

    def unsprung(**values: Any) -> float:
        built, _ = chassis_of(saloon(**values))
        assert built is not None
        return built.rear.unsprung_nm_per_g

    assert unsprung(rear__unsprung_cg_mm=None) == pytest.approx(78 * G * 1.905 / (2 * math.pi))
    assert unsprung(rear__unsprung_cg_mm=None, gearbox__rolling_circumference_mm=None) == pytest.approx(78 * G * 0.3)
    assert unsprung() == pytest.approx(78 * G * 0.31)
    assert unsprung(rear__unsprung_kg=None) == 0.0


def test_an_axle_whole() -> None:
    """Ratio .75 squared on 60 N/mm over half the squared track; without a ratio it is 1, without tyres rigid."""
    built, _ = chassis_of(saloon())
    bar = pairs_table(saloon(), "rear")
    assert built is not None
    assert bar is not None
    assert bar.in_use is not None
    half = 1.54**2 / 2 * 1000
    sprung = 1310 * 0.39 - 78
    assert built.rear == AxleLoads(
        pytest.approx(1310 * 0.39 * G), pytest.approx(1.54), pytest.approx(sprung * G * 0.09), pytest.approx(78 * G * 0.31),
        pytest.approx(60 * 0.75**2 * half), bar.in_use.roll_nm_per_rad, pytest.approx(250 * half),
    )  # fmt: skip
    assert built.axles == (built.front, built.rear)
    bare, _ = chassis_of(saloon(rear__spring_mr=None, rear__tyre_n_mm=None, rear__roll_centre_mm=None))
    assert bare is not None
    assert (bare.rear.spring_nm_per_rad, bare.rear.tyre_nm_per_rad, bare.rear.roll_centre_nm_per_g) == (
        pytest.approx(60 * half),
        None,
        0.0,
    )
    assert bare.rear.roll_nm_per_rad == pytest.approx(60 * half + bare.rear.bar_nm_per_rad)
    other, _ = chassis_of(saloon(), front=(2, 2), rear=(1, 4))
    assert other is not None
    assert bar.pair(1, 4) is not None
    assert other.rear.bar_nm_per_rad == bar.pair(1, 4).roll_nm_per_rad  # type: ignore[union-attr]
    assert other.front.bar_nm_per_rad > built.front.bar_nm_per_rad


def test_a_bar_that_can_not_be_told_is_named() -> None:
    found = load_transfer(saloon(rear__bar__mr=None, mass_kg=None))
    assert (found.transfer, [item.key for item in found.findings]) == (None, ["mass_kg", "rear.bar"])
    unsaid = load_transfer(saloon(rear__unsprung_kg=None, rear__unsprung_cg_mm=None, front__spring_mr=None))
    assert [item.key for item in unsaid.findings] == ["front.spring_mr", "rear.unsprung_kg"]


def test_springs_must_carry_something_at_both_axles() -> None:
    """Front 900 x .5 = 450 kg: an axle of 449.9 kg unsprung leaves a little, one of 450 nothing."""
    assert load_transfer(saloon(mass_kg=900, front_share=0.5, rear__unsprung_kg=449.9)).transfer is not None
    heavy = load_transfer(saloon(mass_kg=900, front_share=0.5, rear__unsprung_kg=450))
    assert (heavy.transfer, [(item.level, item.key) for item in heavy.findings]) == (None, [("fault", "mass_kg")])


def test_each_part_of_the_transfer() -> None:
    found = transfer(chassis(), 0.5)
    assert found is not None
    lean = 0.5 * 1050 * G * 0.43 / (75000 - 1050 * G * 0.43)
    assert found.roll_rad == pytest.approx(lean)
    assert (found.front.roll_centre_n, found.rear.roll_centre_n) == (
        pytest.approx(630 * G * 0.05 * 0.5 / 1.5),
        pytest.approx(420 * G * 0.15 * 0.5 / 1.48),
    )
    assert (found.front.unsprung_n, found.rear.unsprung_n) == (
        pytest.approx(75 * G * 0.3 * 0.5 / 1.5),
        pytest.approx(75 * G * 0.3 * 0.5 / 1.48),
    )
    assert (found.front.elastic_n, found.rear.elastic_n) == (
        pytest.approx(45000 * lean / 1.5),
        pytest.approx(30000 * lean / 1.48),
    )
    for end in (found.front, found.rear):
        assert end.transfer_n == pytest.approx(end.roll_centre_n + end.unsprung_n + end.elastic_n)
        assert not end.inside_lifts
    assert (found.front.roll_nm_per_rad, found.lateral_g) == (45000, 0.5)


def test_at_the_very_cornering_a_wheel_lifts_it_is_off() -> None:
    """Rear by itself, front with the rear off; at both the car tips."""
    rear_g, front_g = (getattr(transfer(chassis(), 0.5), end).inside_lifts_at_g for end in ("rear", "front"))
    at_rear = transfer(chassis(), rear_g)
    assert at_rear is not None
    assert (at_rear.front.inside_lifts, at_rear.rear.inside_lifts) == (False, True)
    assert transfer(chassis(), front_g) is None
    assert transfer(chassis(), math.nextafter(front_g, 0)) is not None
    other = chassis().with_bar("front", 60000)
    first = getattr(transfer(other, 0.3), "front").inside_lifts_at_g  # noqa: B009
    second = getattr(transfer(other, 0.3), "rear").inside_lifts_at_g  # noqa: B009
    assert transfer(other, second) is None
    at_front = transfer(other, first)
    assert at_front is not None
    assert (at_front.front.inside_lifts, at_front.rear.inside_lifts) == (True, False)


def test_a_wheel_that_never_lifts_and_one_axle_that_holds_the_body_alone() -> None:
    """Roll centres at the ground and no stiffness at the rear: nothing is carried over there at any cornering."""
    limp = Chassis(1050, 0.4, axle(630, 75, 0, 0, 1.5, 60000), AxleLoads(495 * G, 1.48, 0, 0, 0, 0, None), 1.0)
    found = transfer(limp, 0.5)
    assert found is not None
    assert (found.rear.inside_lifts_at_g, found.rear.inside_lifts, found.rear.transfer_n, found.front_share) == (
        None,
        False,
        0.0,
        1.0,
    )
    assert found.front.inside_lifts_at_g == pytest.approx(
        705 * G / 2 * 1.5 / (60000 * 1050 * G * 0.4 / (60000 - 1050 * G * 0.4))
    )
    assert transfer(limp, (found.front.inside_lifts_at_g or 9) + 0.01) is None, "nothing is left to hold the body up"
    assert in_series(0.0, 5.0) == 0.0
    assert in_series(-1.0, 1.0) == 0.0


def test_a_body_that_nothing_holds_and_nothing_leans_has_no_angle() -> None:
    ends = AxleLoads(705 * G, 1.5, 630 * G * 0.5, 0, 0, 0, None), AxleLoads(495 * G, 1.48, 420 * G * 0.5, 0, 0, 0, None)
    assert transfer(Chassis(1050, 0.0, *ends, 1.0), 0.5) is None


def test_shares_pair_by_pair_and_for_a_plot() -> None:
    table = pairs_table(saloon(), "front")
    assert table is not None
    shares = share_per_pair(saloon(), table)
    assert shares == tuple(pytest.approx(front_share(saloon(), front=(pair.left, pair.right))) for pair in table.pairs)
    at = share_per_pair(saloon(), table, 0.4)
    assert at == tuple(
        pytest.approx(front_share(saloon(), front=(pair.left, pair.right), lateral_g=0.4)) for pair in table.pairs
    )
    assert share_per_pair(saloon(mass_kg=None), table) == (None,) * 4
    half = pairs_table(saloon(front__bar__mr=[0.55]), "front")
    assert half is not None
    assert [share is None for share in share_per_pair(saloon(), half)] == [False, True, True, True]
    assert share_per_pair(saloon(), replace(table, pairs=())) == ()
    points = roll_share_curve(saloon(), rear=(1, 1), top_g=0.8, points=4)
    assert points == tuple(
        (pytest.approx(g), pytest.approx(front_share(saloon(), rear=(1, 1), lateral_g=g))) for g in (0.2, 0.4, 0.6, 0.8)
    )
    whole = roll_share_curve(saloon())
    assert whole[0][0] == pytest.approx(0.05)
    assert whole[-1][0] <= 1.6


def test_both_bars_at_once() -> None:
    found = bars_of(saloon(), 0.5)
    assert (found.car, found.lateral_g) == (saloon(), 0.5)
    assert found.tables == {axle: pairs_table(saloon(), axle) for axle in ("front", "rear")}
    assert found.shares == {axle: share_per_pair(saloon(), table, 0.5) for axle, table in found.tables.items() if table}
    assert found.transfer == load_transfer(saloon(), 0.5).transfer
    light = bars_of(coupe(mass_kg=None, front__bar__left=9))
    assert (light.transfer, light.tables["rear"], light.shares) == (None, None, {"front": (None,) * 9, "rear": ()})
    assert [item.key for item in light.findings] == ["front.bar.left", "mass_kg", "front.bar"]
