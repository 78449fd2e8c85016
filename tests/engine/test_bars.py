"""Bar rates against textbook formulas, closed forms and numeric energy; properties."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from paddock.engine.car.bar_parts import BarParts, Hole
from paddock.engine.car.bars import heave_forces, pair_of, pairs_table, polar_mm4, roll_heave_free, twist_rate
from paddock.model.car import Car
from tests.cars import laws
from tests.cars import rear_bar as rear

IN, LBF_IN = 25.4, 0.175126835  # mm per inch; N/mm per lbf/in (NIST SP 811)
PSI_GPA = 6.894757293168361e-6


def bar(**values: Any) -> BarParts:
    """T12/T15/T16 of the check values: 25 mm solid, 900 mm, holes at 250 and 200 mm, track 1.5 m, ratio 0.6."""
    holes = (Hole(250, 0.6, 250), Hole(200, 0.6, 200))
    base: dict[str, Any] = {
        "outer_mm": 25.0, "bore_mm": 0.0, "length_mm": 900.0, "shear_gpa": 79.3, "left": holes, "right": holes,
        "track_mm": 1500.0, "in_use": (1, 1),
    }  # fmt: skip
    return BarParts(**base | values)


# The section and the three rates


@pytest.mark.parametrize(
    ("outer", "bore", "moment"),
    [(25, 0, 38349.52), (25.4, 0, 0.0981748 * IN**4), (25.4, 19.4, 26957.28), (28, 20, 44635.75)],
)
def test_polar_moment(outer: float, bore: float, moment: float) -> None:
    # Closed form pi (D^4 - d^4) / 32; the inch value as any handbook prints it.
    assert polar_mm4(outer, bore) == pytest.approx(moment, rel=2e-6)


def test_diameter_against_a_quoted_rule() -> None:
    # F. Puhn, How to Make Your Car Handle, as quoted in a public forum: 18 to 19 mm is "24 %".
    assert polar_mm4(19) / polar_mm4(18) == pytest.approx(1.2414, abs=1e-4)


def test_tube_against_solid_and_not_the_misprint() -> None:
    # A public forum page prints 1.52 for 26/20 against 21 solid, and 23.62 for the bore of parity: 22.635 is right.
    assert polar_mm4(26, 20) / polar_mm4(21) == pytest.approx(1.5270, abs=1e-4)
    assert polar_mm4(26, 22.635) == pytest.approx(polar_mm4(21), rel=1e-4)
    assert polar_mm4(26, 23.62) < 0.8 * polar_mm4(21)


def test_lighter_tube() -> None:
    # Arithmetic: 28.6 x 20.6 instead of 25 solid.
    assert polar_mm4(28.6, 20.6) / polar_mm4(25) == pytest.approx(1.25178, abs=1e-5)


def test_the_three_rates_of_a_plain_bar() -> None:
    # Closed forms, worked by hand: k_t = G J / L, k_e = k_t / a^2, twice that per wheel, roll at the wheels.
    assert twist_rate(25, 0, 900, 79.3) == pytest.approx(3379.019, abs=5e-4)
    pair = pair_of(bar(), 1, 1)
    assert pair is not None
    assert pair.end_rate_n_mm == pytest.approx(54.0643, abs=1e-4)
    assert pair.wheel_rate_n_mm == pytest.approx(108.1286 * 0.6**2, abs=1e-4)
    assert pair.roll_nm_per_rad == pytest.approx(43792.08, abs=0.01)
    assert pair.roll_nm_per_rad is not None
    assert pair.roll_nm_per_rad * math.pi / 180 == pytest.approx(764.316, abs=1e-3)


def test_a_measured_bar_against_a_magazine() -> None:
    # circletrack.com, bar rating techniques: wheel rate 600 lbf/in, arm 19 in, link 3 in inboard: 846 lbf/in.
    ratio = 16 / 19
    assert ratio**2 == pytest.approx(0.70914, abs=1e-5)
    assert 600 / ratio**2 == pytest.approx(846.094, abs=1e-3)
    parts = bar(left=(Hole(250, ratio, 250),), right=(Hole(250, ratio, 250),))
    pair = pair_of(parts, 1, 1)
    assert pair is not None
    assert pair.wheel_rate_n_mm is not None
    assert pair.wheel_rate_n_mm / (2 * pair.end_rate_n_mm) == pytest.approx(600 / 846.094, rel=1e-6)


def test_a_torsion_bar_formula() -> None:
    # A public page: 1120000 d^4 / (L l^2) lbf/in, which has G = 11.408e6 psi built in.
    d, length, arm = 1.1, 40.0, 9.0
    twist = twist_rate(d * IN, 0, length * IN, 11.408e6 * PSI_GPA)
    assert twist / (arm * 0.0254) ** 2 / 1000 / LBF_IN == pytest.approx(1120000 * d**4 / (length * arm**2), rel=1e-4)


# Unequal holes


def test_unequal_holes_are_no_mean_of_any_kind() -> None:
    # Energy method; the wrong answers beside it are the mean rate, the mean arm and the geometric mean.
    pair = pair_of(bar(), 1, 2)
    assert pair is not None
    assert pair.roll_nm_per_rad == pytest.approx(55424.36, abs=0.01)
    for wrong in (56108.61, 54064.30, 54740.10):
        assert pair.roll_nm_per_rad != pytest.approx(wrong, rel=1e-3)


def test_relative_stiffness_of_unequal_arms() -> None:
    # Arithmetic: arms 200 / 220 / 240 on an equal bar, against 200/200.
    holes = tuple(Hole(lever, 0.6, lever) for lever in (200, 220, 240))
    parts = bar(left=holes, right=holes)
    rates = [pair_of(parts, *both) for both in ((1, 1), (1, 2), (2, 2), (1, 3), (2, 3), (3, 3))]
    first = rates[0]
    assert first is not None
    shares = [pair.roll_nm_per_rad / first.roll_nm_per_rad for pair in rates if pair and pair.roll_nm_per_rad
              and first.roll_nm_per_rad]  # fmt: skip
    assert [round(share, 2) for share in shares] == [1.00, 0.91, 0.83, 0.84, 0.76, 0.69]


def test_energy_by_numbers_agrees() -> None:
    # d2U/dphi2 of U = 1/2 k_t (twist of the arm ends)^2, by central differences.
    parts, step = bar(), 1e-4
    twist = twist_rate(25, 0, 900, 79.3)

    def energy(angle: float) -> float:
        travel = angle * 0.75 * 0.6
        return 0.5 * twist * (travel / 0.25 + travel / 0.20) ** 2

    numeric = (energy(step) - 2 * energy(0) + energy(-step)) / step**2
    pair = pair_of(parts, 1, 2)
    assert pair is not None
    assert pair.roll_nm_per_rad == pytest.approx(numeric, rel=1e-9)


def test_unequal_holes_in_heave() -> None:
    # Closed form: both arm ends +10 mm; opposite senses, the shorter arm pushes its end down.
    forces = heave_forces(bar(), Hole(250, 0.6, 250), Hole(200, 0.6, 200), at_wheel=False)
    assert forces is not None
    assert forces == pytest.approx((-135.161, 168.951), abs=1e-3)
    pair = pair_of(bar(), 1, 1)
    assert pair is not None
    assert pair.heave_end_n == (0.0, 0.0)


def test_free_heave_is_softer_only_for_unequal_holes() -> None:
    # Against the full two-by-two stiffness, condensed by solving it.
    parts, spring = bar(), 30.0
    equal, unequal = pair_of(parts, 1, 1), pair_of(parts, 1, 2)
    assert equal is not None
    assert unequal is not None
    assert roll_heave_free(parts, equal, spring) == pytest.approx(equal.roll_nm_per_rad)
    k, p, q, half = twist_rate(25, 0, 900, 79.3), 0.6 / 0.25, 0.6 / 0.2, 0.75
    k11, k12 = k * (p + q) ** 2 * half**2, k * (p + q) * (p - q) * half
    k22 = 2 * spring * 1000 + k * (p - q) ** 2
    heave = -k12 / k22
    assert roll_heave_free(parts, unequal, spring) == pytest.approx(k11 + k12 * heave, rel=1e-12)
    free = roll_heave_free(parts, unequal, spring)
    assert free is not None
    assert unequal.roll_nm_per_rad is not None
    assert 0.9 * unequal.roll_nm_per_rad < free < unequal.roll_nm_per_rad


# Arms that bend


@pytest.mark.parametrize(("d", "a", "b", "c", "rate"), [(1, 8, 36, 8, 457.149), (0.875, 7, 34, 8, 356.139)])
def test_solid_bar_with_bending_arms_against_a_book(d: float, a: float, b: float, c: float, rate: float) -> None:
    # F. Puhn, How to Make Your Car Handle, as quoted in a public forum: K = 500000 D^4 / (0.4244 A^2 B + 0.2264 C^3).
    assert 500000 * d**4 / (0.4244 * a**2 * b + 0.2264 * c**3) == pytest.approx(rate, abs=1e-3)
    car = Car.model_validate({"rear": {"bar": {
        "diameter_mm": d * IN, "length_mm": b * IN, "arms_mm": [a * IN], "arm_length_mm": c * IN, "left": 1,
        "right": 1, "shear_gpa": 12e6 * PSI_GPA, "young_gpa": 30e6 * PSI_GPA,
    }}})  # fmt: skip
    found = pairs_table(car, "rear")
    assert found is not None
    assert found.in_use is not None
    assert found.in_use.end_rate_n_mm / LBF_IN == pytest.approx(rate, rel=1e-4)


def test_the_same_bar_with_handbook_steel_is_softer() -> None:
    # G 11.2e6 psi (table of spring materials, engineersedge.com), E 28.5e6 psi: 427.46, 6.5 % less.
    car = Car.model_validate({"rear": {"bar": {
        "diameter_mm": IN, "length_mm": 36 * IN, "arms_mm": [8 * IN], "left": 1, "right": 1,
        "shear_gpa": 11.2e6 * PSI_GPA, "young_gpa": 28.5e6 * PSI_GPA,
    }}})  # fmt: skip
    found = pairs_table(car, "rear")
    assert found is not None
    assert found.in_use is not None
    assert found.in_use.end_rate_n_mm / LBF_IN == pytest.approx(427.46, abs=0.01)


@pytest.mark.parametrize(("swept", "rate"), [(0, 47.2892), (20, 52.679), (30, 60.524)])
def test_swept_arms_against_strain_energy(swept: float, rate: float) -> None:
    # Strain energy by quadrature (scipy): torque in the bar, bending along both arms of real length 250 mm.
    lever = 0.25 * math.cos(math.radians(swept))
    area = math.pi * 0.025**4 / 64
    twist_part = lever**2 * 0.9 / (79.3e9 * 2 * area)
    arm_part, _ = quad(lambda s: s**2 / (205e9 * area), 0, 0.25)
    assert 1 / (twist_part + 2 * arm_part) / 1000 == pytest.approx(rate, rel=2e-5)
    hole = (Hole(lever * 1000, None, 250),)
    pair = pair_of(bar(left=hole, right=hole, arm_ei_n_m2=205e9 * area), 1, 1)
    assert pair is not None
    assert pair.end_rate_n_mm == pytest.approx(rate, rel=2e-5)


def test_unequal_arms_that_bend_against_a_linear_system() -> None:
    # Unknown torque and end angles: a th_L + c_L T/a = z, b th_R + c_R T/b = z, k (th_L + th_R) = T, solved by numpy.
    parts = bar(arm_ei_n_m2=1500.0, link_n_m=400e3)
    (a, b), k, z = (0.25, 0.20), twist_rate(25, 0, 900, 79.3), 0.01
    give = [lever**3 / (3 * 1500.0) + 1 / 400e3 for lever in (a, b)]
    matrix = [[give[0] / a, a, 0], [give[1] / b, 0, b], [-1, k, k]]
    torque = float(np.linalg.solve(matrix, [z, z, 0])[0])
    pair = pair_of(parts, 1, 2)
    assert pair is not None
    assert pair.end_rate_n_mm == pytest.approx(torque * (1 / a + 1 / b) / 2 / (2 * z) / 1000)


def test_lever_and_real_length_are_not_the_same() -> None:
    right_way = rear(young_gpa=205, arm_length_mm=260).pairs[0].end_rate_n_mm
    swapped = rear(young_gpa=205, arms_mm=[260], arm_length_mm=[260], left=1, right=1).pairs[0].end_rate_n_mm
    assert swapped < right_way < rear().pairs[0].end_rate_n_mm


def test_links_and_rubber_add_as_springs_in_series() -> None:
    plain, soft = rear(), rear(link_n_mm=400, bush_n_mm=600)
    assert plain.in_use is not None
    assert soft.in_use is not None
    ends = 1 / plain.in_use.end_rate_n_mm + 2 / 400 + 2 / 600
    assert soft.in_use.end_rate_n_mm == pytest.approx(1 / ends)


# Properties

size = st.floats(12, 40)
lever = st.floats(120, 300)


@laws
@given(size, st.floats(1.01, 1.6), lever, lever)
def test_rates_go_with_the_fourth_power_of_a_solid_diameter(d: float, factor: float, a: float, b: float) -> None:
    holes = {"left": (Hole(a, 0.6, a),), "right": (Hole(b, 0.6, b),)}
    thin, thick = pair_of(bar(outer_mm=d, **holes), 1, 1), pair_of(bar(outer_mm=d * factor, **holes), 1, 1)
    assert thin is not None
    assert thick is not None
    assert thick.end_rate_n_mm / thin.end_rate_n_mm == pytest.approx(factor**4)


@laws
@given(lever, lever, st.floats(0.3, 1), st.floats(0.3, 1))
def test_mirror_twins_and_common_torque(a: float, b: float, m: float, n: float) -> None:
    one, other = Hole(a, m, a), Hole(b, n, b)
    parts, twin = bar(left=(one,), right=(other,)), bar(left=(other,), right=(one,))
    here, there = pair_of(parts, 1, 1), pair_of(twin, 1, 1)
    assert here is not None
    assert there is not None
    assert here.roll_nm_per_rad == pytest.approx(there.roll_nm_per_rad)
    left, right = here.heave_end_n
    assert left * a == pytest.approx(-right * b, abs=1e-6)
    assert here.roll_nm_per_rad == pytest.approx((here.wheel_rate_n_mm or 0) * 1000 * 1.5**2 / 2)


@laws
@given(lever, st.floats(1, 60))
def test_a_longer_lever_is_softer(a: float, more: float) -> None:
    def rate(length: float) -> float:
        pair = pair_of(bar(left=(Hole(length, 0.6, length),)), 1, 1)
        assert pair is not None
        return pair.end_rate_n_mm

    assert rate(a + more) < rate(a)
