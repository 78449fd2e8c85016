"""Load transfer against a textbook, a full two-axle case and a root finder; properties; lifting wheels; missing values."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from paddock.engine.car.balance import (
    AxleLoads,
    Chassis,
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
from tests.cars import coupe, laws, saloon


def axle(sprung_kg: float, unsprung_kg: float, centre: float, height: float, track: float, roll: float) -> AxleLoads:
    return AxleLoads(
        (sprung_kg + unsprung_kg) * G, track, sprung_kg * G * centre, unsprung_kg * G * height, roll, 0.0, None
    )


def chassis() -> Chassis:
    """1050 kg sprung, 75 kg unsprung each end, centre of gravity 1.0 m behind the front of 2.5 m and 0.52 m high."""
    front = axle(630, 75, 0.05, 0.30, 1.50, 45000)
    rear = axle(420, 75, 0.15, 0.30, 1.48, 30000)
    return Chassis(1050, 0.52 - (0.6 * 0.05 + 0.4 * 0.15), front, rear, 1.0)


def test_the_two_axle_case() -> None:
    # Own derivation, closed by moments about the ground: 6073.523985 N.m in all.
    found = transfer(chassis(), 1.0)
    assert found is not None
    assert math.degrees(found.roll_rad) == pytest.approx(3.594734, abs=1e-6)
    assert found.front.transfer_n == pytest.approx(2235.238, abs=1e-3)
    assert found.rear.transfer_n == pytest.approx(1838.289, abs=1e-3)
    assert found.front_share == pytest.approx(0.548723, abs=1e-6)
    assert found.front.transfer_n * 1.50 + found.rear.transfer_n * 1.48 == pytest.approx(6073.523985, abs=1e-5)
    without_lean = 1050 * G * 0.43 / 75000
    assert math.degrees(without_lean) == pytest.approx(3.382516, abs=1e-6)


def test_parts_against_a_textbook_and_not_its_slip() -> None:
    # Barton and Fieldhouse, Automotive Chassis Engineering, chapter 3, p. 174 (author and year from memory), g = 9.81:
    # roll centres 195 and 760 N, unsprung 158 and 218 N, rear in all 1649 N. The front is printed as 1919; its own
    # terms, with 1556 N elastic, make 1909.
    g, tracks = 0.6 * 9.81 / G, (1.46, 1.46)
    ends = (axle(1280 * 0.54, 140, 0.07, 0.280, tracks[0], 0), axle(1280 * 0.46, 180, 0.32, 0.300, tracks[1], 0))
    direct = [end.roll_centre_nm_per_g * g / end.track_m for end in ends]
    wheels = [end.unsprung_nm_per_g * g / end.track_m for end in ends]
    assert direct == pytest.approx([195.06, 759.60], abs=0.01)
    assert wheels == pytest.approx([158.04, 217.70], abs=0.01)
    assert direct[0] + wheels[0] + 1556 == pytest.approx(1909, abs=0.5)
    assert direct[1] + wheels[1] + 671 == pytest.approx(1649, abs=1)


def test_roll_gradient_of_the_textbook() -> None:
    # Same page: k 28650 N.m/rad, lever 0.365 m: 10.9 deg per g (0.0194 rad per m/s2), the body's lean in it.
    front = axle(1280 * 0.54, 0, 0, 0, 1.46, 14325)
    rear = axle(1280 * 0.46, 0, 0, 0, 1.46, 14325)
    found = transfer(Chassis(1280, 0.365, front, rear, 0.1), 0.1 * 9.81 / G)
    assert found is not None
    assert math.degrees(found.roll_rad) * 10 == pytest.approx(10.912, rel=0.01)


def test_rigid_total() -> None:
    # Arithmetic: 1200 kg, 1 g, height 0.5 m, track 1.5 m: 3922.66 N, all through roll centres at that height.
    ends = [axle(600, 0, 0.5, 0, 1.5, 20000) for _ in range(2)]
    found = transfer(Chassis(1200, 0.0, ends[0], ends[1], 1.0), 1.0)
    assert found is not None
    assert found.front.transfer_n + found.rear.transfer_n == pytest.approx(3922.66, abs=0.01)
    assert found.roll_rad == 0


def test_tyres_in_series_against_a_formula() -> None:
    # formuladen.com, required bar rate: K_phi 76693 wanted, tyres 321330 N/m, springs 35239 N/m, track 1.2 m: 89350.4.
    half = 1.2**2 / 2
    end = AxleLoads(1.0, 1.2, 0.0, 0.0, 35239 * half, 89350.4125, 321330 * half)
    assert end.roll_nm_per_rad == pytest.approx(76693, abs=0.01)
    assert in_series(5.0, None) == 5
    assert in_series(6.0, 3.0) == 2


stiff = st.floats(15000, 90000)
height = st.floats(-0.05, 0.25)


@laws
@given(stiff, stiff, height, height, st.floats(1.3, 1.6), st.floats(1.3, 1.6), st.floats(0.1, 0.8))
def test_moments_close(kf: float, kr: float, rf: float, rr: float, tf: float, tr: float, g: float) -> None:
    ends = axle(630, 75, rf, 0.3, tf, kf), axle(420, 75, rr, 0.3, tr, kr)
    lever = 0.52 - (0.6 * rf + 0.4 * rr)
    found = transfer(Chassis(1050, lever, *ends, g), g)
    assert found is not None
    lean = 1050 * G * lever * found.roll_rad
    over = (1050 * 0.52 + 150 * 0.3) * G * g + lean
    assert found.front.transfer_n * tf + found.rear.transfer_n * tr == pytest.approx(over)


@laws
@given(stiff, st.floats(1.05, 2))
def test_stiffening_an_axle_gives_it_share_and_its_elastic_part_goes_by_the_ratio(k: float, more: float) -> None:
    base = chassis()
    soft, hard = base.with_bar("front", k), base.with_bar("front", k * more)
    before, after = transfer(soft, 0.4), transfer(hard, 0.4)
    assert before is not None
    assert after is not None
    assert after.front_share > before.front_share
    assert after.roll_rad < before.roll_rad
    assert before.front.elastic_n * 1.5 / (before.rear.elastic_n * 1.48) == pytest.approx(
        soft.front.roll_nm_per_rad / soft.rear.roll_nm_per_rad
    )


def test_share_does_not_depend_on_cornering_until_a_wheel_lifts() -> None:
    shares = [transfer(chassis(), g) for g in (0.2, 0.7, 1.3)]
    assert len({round(item.front_share, 12) for item in shares if item}) == 1
    assert shares[2] is not None
    assert shares[2].rear.inside_lifts_at_g == pytest.approx(1.3203, abs=1e-4)


def test_a_lifted_wheel_clamps_and_the_rest_goes_to_the_other_axle() -> None:
    base = chassis().with_bar("rear", 60000)
    lift = transfer(base, 0.3)
    assert lift is not None
    assert lift.rear.inside_lifts_at_g is not None
    root = brentq(lambda g: _unclamped_rear(base, g) - 495 * G / 2, 0.1, 2)
    assert lift.rear.inside_lifts_at_g == pytest.approx(root)
    over = lift.rear.inside_lifts_at_g + 0.1
    found = transfer(base, over)
    assert found is not None
    assert found.rear.inside_lifts
    assert not found.front.inside_lifts
    assert found.rear.transfer_n == pytest.approx(495 * G / 2)
    more = transfer(base.with_bar("rear", 90000), over)
    assert more is not None
    assert more.front.transfer_n == pytest.approx(found.front.transfer_n)
    lean = 1050 * G * 0.43 * found.roll_rad
    moments = (1050 * 0.52 + 150 * 0.3) * G * over + lean
    assert found.front.transfer_n * 1.5 + found.rear.transfer_n * 1.48 == pytest.approx(moments)
    assert found.front_share > lift.front_share


def test_the_second_wheel_lifts_earlier_because_the_first_has() -> None:
    found = transfer(chassis(), 0.5)
    assert found is not None
    assert found.front.inside_lifts_at_g is not None
    held = 495 * G / 2 * 1.48

    def front_total(g: float) -> float:
        elastic = held - chassis().rear.rigid_nm(g)
        angle = (1050 * G * 0.43 * g - elastic) / (45000 - 1050 * G * 0.43)
        return (45000 * angle + chassis().front.rigid_nm(g)) / 1.5

    assert found.front.inside_lifts_at_g == pytest.approx(brentq(lambda g: front_total(g) - 705 * G / 2, 1.32, 2))
    assert found.front.inside_lifts_at_g < 705 * G / 2 / 2235.238  # 1.5465, the first wheel still down


def test_and_the_other_way_round() -> None:
    stiff = chassis().with_bar("front", 60000)
    found = transfer(stiff, 0.3)
    assert found is not None
    assert found.front.inside_lifts_at_g is not None
    assert found.rear.inside_lifts_at_g is not None
    assert found.front.inside_lifts_at_g < found.rear.inside_lifts_at_g
    held = 705 * G / 2 * 1.5

    def rear_total(g: float) -> float:
        angle = (1050 * G * 0.43 * g - held + stiff.front.rigid_nm(g)) / (30000 - 1050 * G * 0.43)
        return (30000 * angle + stiff.rear.rigid_nm(g)) / 1.48

    assert found.rear.inside_lifts_at_g == pytest.approx(
        brentq(lambda g: rear_total(g) - 495 * G / 2, found.front.inside_lifts_at_g, 3)
    )


def _unclamped_rear(base: Chassis, g: float) -> float:
    angle = 1050 * G * 0.43 * g / (45000 + 90000 - 1050 * G * 0.43)
    return (90000 * angle + base.rear.rigid_nm(g)) / 1.48


def test_no_jump_where_the_wheel_lifts() -> None:
    base = chassis().with_bar("rear", 60000)
    lift = transfer(base, 0.3)
    assert lift is not None
    assert lift.rear.inside_lifts_at_g is not None
    before, after = (
        transfer(base, lift.rear.inside_lifts_at_g - 1e-9),
        transfer(base, lift.rear.inside_lifts_at_g + 1e-9),
    )
    assert before is not None
    assert after is not None
    assert before.front.transfer_n == pytest.approx(after.front.transfer_n, rel=1e-6)
    assert before.roll_rad == pytest.approx(after.roll_rad, rel=1e-6)


def test_a_car_that_tips_says_so() -> None:
    assert transfer(chassis(), 3.0) is None
    found = load_transfer(saloon(), 2.9)
    assert found.transfer is None
    assert "tips" in found.findings[-1].message
    soft = transfer(Chassis(1050, 0.43, axle(630, 75, 0, 0.3, 1.5, 1000), axle(420, 75, 0, 0.3, 1.5, 1000), 1), 0.5)
    assert soft is None


def test_where_nothing_moves_there_is_no_share() -> None:
    """All mass on the ground: no moment, so nothing to share, and no division by it."""
    nought = {f"{end}__{name}": 0 for end in ("front", "rear") for name in ("roll_centre_mm", "unsprung_kg")}
    found = load_transfer(saloon(cg_height_mm=None, **nought).model_copy(update={"cg_height_mm": 0.0}))
    assert found.transfer is None
    assert "no load moves" in found.findings[-1].message


def test_a_body_hung_under_its_roll_axis_tips_as_well() -> None:
    """Roll centres 0.6 m up, centre of gravity 0.5 m: it leans inwards, and at 3 g both inside wheels are off."""
    hung = Chassis(1050, -0.1, axle(630, 75, 0.6, 0.3, 1.5, 45000), axle(420, 75, 0.6, 0.3, 1.48, 30000), 1.0)
    upright = transfer(hung, 0.5)
    assert upright is not None
    assert upright.roll_rad < 0
    assert transfer(hung, 3.0) is None


def test_a_car_from_its_file_by_hand() -> None:
    found = load_transfer(saloon(), 0.5).transfer
    built, _ = chassis_of(saloon())
    assert found is not None
    assert built is not None
    sprung = 1310 - 84 - 78
    assert built.sprung_kg == pytest.approx(sprung)
    front, rear = 1310 * 0.61 - 84, 1310 * 0.39 - 78
    high = (1310 * 0.540 - 162 * 0.310) / sprung
    assert built.lever_m == pytest.approx(high - (front * 0.060 + rear * 0.090) / sprung)
    table = pairs_table(saloon(), "rear")
    assert table is not None
    assert table.in_use is not None
    assert table.in_use.roll_nm_per_rad is not None
    springs, tyres = 60000 * 0.75**2 * 1.54**2 / 2, 250000 * 1.54**2 / 2
    parallel = springs + table.in_use.roll_nm_per_rad
    assert found.rear.roll_nm_per_rad == pytest.approx(parallel * tyres / (parallel + tyres))
    assert found.lateral_g == 0.5


def test_the_cornering_it_is_reckoned_at() -> None:
    for car, wanted in ((saloon(lateral_g=0.7), 0.7), (saloon(), 0.95), (saloon(gearbox__grip_g=None), 1.0)):
        found = load_transfer(car).transfer
        assert found is not None
        assert found.lateral_g == wanted


def test_a_stiffer_rear_bar_takes_share_from_the_front() -> None:
    table = pairs_table(saloon(), "rear")
    assert table is not None
    shares = share_per_pair(saloon(), table, 0.5)
    by_rate = sorted(zip((pair.end_rate_n_mm for pair in table.pairs), shares, strict=True))
    assert all(share is not None for share in shares)
    values = [share or 0.0 for _, share in by_rate]
    assert values == sorted(values, reverse=True)
    assert front_share(saloon(), lateral_g=0.5) == pytest.approx(shares[table.pairs.index(table.in_use)])
    assert front_share(saloon(), rear=(1, 4), lateral_g=0.5) == pytest.approx(shares[3])


def test_an_axle_without_a_bar() -> None:
    none = load_transfer(coupe(), 0.5).transfer
    assert none is not None
    springs, tyres = 38000 * 0.78**2 * 1.43**2 / 2, 215000 * 1.43**2 / 2
    assert none.rear.roll_nm_per_rad == pytest.approx(springs * tyres / (springs + tyres))


def test_holes_not_known_still_give_a_share_per_pair() -> None:
    car = saloon(rear__bar__left=9)
    table = pairs_table(car, "rear")
    assert table is not None
    assert front_share(car) is None
    assert None not in share_per_pair(car, table)


@pytest.mark.parametrize(
    "key", ["mass_kg", "front_share", "cg_height_mm", "front__track_mm", "rear__track_mm", "front__spring_n_mm"]
)
def test_a_missing_value_is_named_with_where_to_measure_it(key: str) -> None:
    found = load_transfer(saloon(**{key: None}))
    assert found.transfer is None
    note = next(item for item in found.findings if item.key == key.replace("__", "."))
    assert note.level == "warning"
    assert len(note.message) > 50


@pytest.mark.parametrize("name", ["spring_mr", "tyre_n_mm", "roll_centre_mm", "unsprung_kg", "unsprung_cg_mm"])
def test_a_lesser_value_is_assumed_and_said(name: str) -> None:
    found = load_transfer(saloon(**{f"rear__{name}": None}))
    assert found.transfer is not None
    assert [item.key for item in found.findings] == [f"rear.{name}"]


@pytest.mark.parametrize(
    ("values", "key", "words"),
    [
        ({"rear__unsprung_kg": 499, "mass_kg": 900}, "mass_kg", "leave nothing"),
    ],
)
def test_a_value_that_cant_be(values: dict[str, Any], key: str, words: str) -> None:
    found = load_transfer(saloon(**values))
    assert found.transfer is None
    assert words in next(item.message for item in found.findings if item.key == key)


def test_the_curve_is_level_then_bends_where_the_wheel_lifts() -> None:
    points = roll_share_curve(saloon())
    found = load_transfer(saloon()).transfer
    assert found is not None
    assert found.rear.inside_lifts_at_g is not None
    level = [share for g, share in points if g < found.rear.inside_lifts_at_g]
    beyond = [share for g, share in points if g > found.rear.inside_lifts_at_g]
    assert max(level) - min(level) < 1e-9
    assert beyond
    assert min(beyond) > max(level)
    assert roll_share_curve(saloon(mass_kg=None)) == ()
