"""Every pair of holes: steps, spread from what was measured, holes in use; what can't be is named."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from paddock.engine.car.bar_parts import SHEAR_GPA, parts_of
from paddock.engine.car.bars import BarTable, pairs_table, roll_heave_free, spread_of
from tests.cars import rear_bar as rear
from tests.cars import saloon


def said(found: BarTable) -> dict[str, str]:
    return {item.key: item.message for item in found.findings}


def test_the_table_has_free_heave_where_the_springs_are_known() -> None:
    found = rear()
    assert found.parts is not None
    pair = found.pair(1, 4)
    assert pair is not None
    assert pair.roll_heave_free_nm_per_rad == pytest.approx(roll_heave_free(found.parts, pair, 60 * 0.75**2))
    assert pair.roll_nm_per_rad is not None
    assert pair.roll_heave_free_nm_per_rad is not None
    assert pair.roll_heave_free_nm_per_rad < pair.roll_nm_per_rad
    without = pairs_table(saloon(rear__spring_n_mm=None), "rear")
    assert without is not None
    assert without.pairs[1].roll_heave_free_nm_per_rad is None


# The table, its steps and its spread


def test_every_pair_left_hole_first_and_steps() -> None:
    found = rear()
    assert [(pair.left, pair.right) for pair in found.pairs[:5]] == [(1, 1), (1, 2), (1, 3), (1, 4), (2, 1)]
    assert len(found.pairs) == 16
    assert len(found.distinct) == 10
    assert found.in_use is not None
    assert (found.in_use.left, found.in_use.right) == (3, 3)
    assert found.in_use.from_now_pct == pytest.approx(0)
    softest, second = found.distinct[0], found.distinct[1]
    assert softest.step_pct is None
    assert second.step_pct == pytest.approx((second.end_rate_n_mm / softest.end_rate_n_mm - 1) * 100)
    twin = found.pair(2, 1)
    assert twin is not None
    assert twin.step_pct == second.step_pct


def test_no_motion_ratio_leaves_the_end_rate() -> None:
    found = rear(mr=None)
    assert found.in_use is not None
    assert found.in_use.wheel_rate_n_mm is None
    assert found.in_use.roll_nm_per_rad is None
    assert found.in_use.spread_pct is not None
    assert "motion" in said(found)["rear.bar.mr"] or "arm end" in said(found)["rear.bar.mr"]


def test_two_per_cent_of_diameter_is_eight_of_rate() -> None:
    # Arithmetic: 1.02^4 = 1.0824.
    found = rear(wall_mm=None, diameter_mm=25, diameter_pm_mm=0.5, length_pm_mm=0, arms_pm_mm=0, mr_pm=0, shear_pm=0)
    assert found.pairs[0].spread_pct == pytest.approx(8.0, abs=0.1)


def test_spread_adds_as_squares_and_steps_are_surer() -> None:
    # GUM (JCGM 100:2008) 5.1.2: independent inputs add as squares.
    exact = {"diameter_pm_mm": 0, "wall_pm_mm": 0, "length_pm_mm": 0, "arms_pm_mm": 0, "mr_pm": 0, "shear_pm": 0}
    alone = [rear(**exact | {key: value}).pairs[0].spread_pct or 0.0
             for key, value in (("diameter_pm_mm", 0.2), ("arms_pm_mm", 2), ("shear_pm", 0.05))]  # fmt: skip
    together = rear(**exact | {"diameter_pm_mm": 0.2, "arms_pm_mm": 2, "shear_pm": 0.05}).pairs[0]
    assert together.spread_pct == pytest.approx(math.hypot(*alone))
    assert together.step_spread_pct is not None
    assert together.spread_pct is not None
    assert together.step_spread_pct < together.spread_pct / 5
    assert rear(**exact).pairs[0].spread_pct == 0


def test_spread_of_a_rate_by_input() -> None:
    # By hand: rate ~ 1 / lever^2 in the left lever's part, 1 / length, G itself.
    car = saloon(rear__bar__shear_pm=0.04, rear__bar__length_pm_mm=9, rear__bar__wall_mm=None)
    parts, _ = parts_of(car, "rear")
    assert parts is not None
    assert car.rear.bar is not None
    found = spread_of(parts, car.rear.bar, (3, 3))
    assert found["shear_gpa"] == pytest.approx(4)
    assert found["length_mm"] == pytest.approx(100 * 9 / 900, rel=1e-3)
    assert found["wall_mm"] == 0
    assert found["arms_mm, left"] == pytest.approx(100 * 1 / 210, rel=1e-3)
    assert found["mr"] == pytest.approx(100 * 2 * 0.02 / 0.6, rel=1e-3)
    against = spread_of(parts, car.rear.bar, (3, 3), (1, 1))
    assert against["shear_gpa"] == pytest.approx(0, abs=1e-9)


def test_a_thin_tube_measured_roughly_stays_a_tube() -> None:
    # The diameter's low end would be under the bore: just over it is taken instead.
    car = saloon(rear__bar__wall_mm=None, rear__bar__bore_mm=25.2, rear__bar__diameter_pm_mm=0.5)
    parts, _ = parts_of(car, "rear")
    assert parts is not None
    assert car.rear.bar is not None
    low, middle, high = (outer**4 - 25.2**4 for outer in (25.2 * 1.001, 25.4, 25.9))
    found = spread_of(parts, car.rear.bar, (3, 3))["diameter_mm"]
    assert found == pytest.approx((high - low) / 2 / middle * 100)


def test_spread_of_a_step_by_hand() -> None:
    # Only the left levers are open, by 1 mm: the rate of 1-1 over that of 3-3, both with the left lever moved.
    exact = {"diameter_pm_mm": 0, "wall_pm_mm": 0, "length_pm_mm": 0, "mr_pm": 0, "shear_pm": 0}
    found = rear(**exact | {"arms_pm_mm": 1}).pair(1, 1)

    def ratio(left: float, right: float) -> float:
        return (1 / (240 + left) + 1 / (240 + right)) ** 2 / (1 / (210 + left) + 1 / (210 + right)) ** 2

    one_side = (ratio(1, 0) - ratio(-1, 0)) / 2 * 100
    assert found is not None
    assert found.step_spread_pct == pytest.approx(math.hypot(one_side, one_side), rel=1e-6)


def test_the_default_steel_and_its_spread() -> None:
    assert SHEAR_GPA == 79
    found = rear(shear_gpa=None, diameter_pm_mm=0, wall_pm_mm=0, length_pm_mm=0, arms_pm_mm=0, mr_pm=0)
    assert found.in_use is not None
    assert found.in_use.spread_pct == pytest.approx(5)
    explicit = rear()
    assert explicit.in_use is not None
    assert found.in_use.end_rate_n_mm == explicit.in_use.end_rate_n_mm


# Holes and what can't be


def test_a_wall_or_its_bore_are_the_same_bar() -> None:
    wall, bore = rear(), rear(wall_mm=None, bore_mm=17.4)
    assert wall.in_use is not None
    assert bore.in_use is not None
    assert wall.in_use.end_rate_n_mm == pytest.approx(bore.in_use.end_rate_n_mm)


def test_left_and_right_arms_of_their_own() -> None:
    found = rear(right_arms_mm=[200, 180])
    assert len(found.pairs) == 8
    assert found.in_use is None
    assert "hole 3 isn't there" in said(found)["rear.bar.right"]


def test_ratios_one_per_hole() -> None:
    found = rear(mr=[0.6, 0.62, 0.64])
    assert found.in_use is not None
    assert found.in_use.wheel_rate_n_mm == pytest.approx(2 * found.in_use.end_rate_n_mm * 0.64**2)
    last = found.pair(4, 4)
    assert last is not None
    assert last.wheel_rate_n_mm is None
    assert "hole 4" in said(found)["rear.bar.mr"]


def test_holes_of_the_setup_where_the_bar_has_none() -> None:
    found = pairs_table(saloon(rear__bar__left=None, rear__bar__right=None, setup={"rear_bar": "2-4"}), "rear")
    assert found is not None
    assert found.in_use is not None
    assert (found.in_use.left, found.in_use.right) == (2, 4)


def test_setup_and_bar_that_disagree_are_told() -> None:
    found = pairs_table(saloon(setup={"rear_bar": "2-4"}), "rear")
    assert found is not None
    assert found.in_use is not None
    assert (found.in_use.left, found.in_use.right) == (3, 3)
    assert "says 2-4" in said(found)["setup.rear_bar"]
    nought = pairs_table(saloon(setup={"rear_bar": "2-4"}, rear__bar__left=0), "rear")
    assert nought is not None
    assert nought.in_use is None


def test_no_bar_is_none() -> None:
    assert pairs_table(saloon(rear__bar=None), "rear") is None
    assert parts_of(saloon(rear__bar=None), "rear") == (None, ())


@pytest.mark.parametrize(
    ("values", "key", "words", "pairs"),
    [
        ({"wall_mm": None, "bore_mm": 25.4}, "bore_mm", "does not fit", 0),
        ({"wall_mm": None, "bore_mm": 30}, "bore_mm", "does not fit", 0),
        ({"wall_mm": 13}, "wall_mm", "at most half", 0),
        ({"wall_mm": 0}, "wall_mm", "leave it out", 0),
        ({"diameter_mm": None}, "diameter_mm", "missing", 0),
        ({"length_mm": None}, "length_mm", "missing", 0),
        ({"arms_mm": None}, "arms_mm", "missing", 0),
        ({"arms_mm": []}, "arms_mm", "missing", 0),
        ({"left": 5}, "left", "the arm has 4", 16),
        ({"right": 0}, "right", "hole 0 isn't there", 16),
        ({"left": None}, "left", "missing", 16),
        ({"arms_mm": [240, 225, 0, 195]}, "left", "can't be used", 9),
        ({"arms_mm": [240, 225, -210, 195]}, "arms_mm", "hole 3", 9),
        ({"arm_length_mm": 215}, "arms_mm", "hole 2 at 225 mm lies beyond the arm", 4),
        ({"arm_length_mm": [250, 230, 200, 200]}, "arms_mm", "hole 3 at 210 mm lies beyond", 9),
    ],
)
def test_what_cant_be_is_named_and_the_rest_computed(values: dict[str, Any], key: str, words: str, pairs: int) -> None:
    found = rear(**values)
    assert words in " ".join(item.message for item in found.findings if item.key == f"rear.bar.{key}")
    assert len(found.pairs) == pairs
    assert (found.in_use is None) == (values != {"arm_length_mm": 215})


@pytest.mark.parametrize("mr", [0, -0.5, 7])
def test_a_motion_ratio_that_cant_be(mr: float) -> None:
    found = rear(mr=mr)
    assert "can't be" in said(found)["rear.bar.mr"]
    assert found.pairs[0].wheel_rate_n_mm is None
    assert found.pairs[0].end_rate_n_mm > 0


def test_bore_and_wall_that_disagree_are_told() -> None:
    found = rear(bore_mm=15)
    assert "don't agree" in said(found)["rear.bar.bore_mm"]
    assert found.in_use is not None


def test_a_missing_track_leaves_the_wheel_rate() -> None:
    found = pairs_table(saloon(rear__track_mm=None), "rear")
    assert found is not None
    assert found.in_use is not None
    assert found.in_use.wheel_rate_n_mm is not None
    assert found.in_use.roll_nm_per_rad is None
    assert "rear.track_mm" in said(found)


def test_where_no_pair_is_in_use_each_is_its_own_nearest() -> None:
    found = replace(rear(), in_use=None)
    assert found.least_moved(found.pairs[4]) is found.pairs[4]
