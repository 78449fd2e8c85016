"""A bar of the car file made ready, at its edges; every pair's steps and spreads by another road."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from paddock.engine.car.bar_parts import BarParts, Hole, holes_of, parts_of
from paddock.engine.car.bars import (
    BarTable,
    bar_pair,
    heave_forces,
    pair_of,
    pairs_table,
    roll_heave_free,
    spread_of,
    spreads,
    twist_rate,
)
from paddock.model.car import Car
from tests.cars import rear_bar, saloon

BAR: dict[str, Any] = {"diameter_mm": 24, "length_mm": 800, "arms_mm": [240, 200], "mr": 0.6, "left": 1, "right": 2}


def of(**bar: Any) -> tuple[BarParts | None, list[tuple[str, str, str]]]:
    """A bar at the rear: ready, and of what was found level, key and the first words."""
    kept = {key: value for key, value in (BAR | bar).items() if value is not None}
    parts, found = parts_of(Car.model_validate({"rear": {"track_mm": 1500, "bar": kept}}), "rear")
    return parts, [
        (item.level, item.key.removeprefix("rear.bar."), " ".join(item.message.split()[:5])) for item in found
    ]


# --- as the file tells it -----------------------------------------------------------------------------------------------


def test_a_plain_bar_whole() -> None:
    left = right = (Hole(240, 0.6, 240), Hole(200, 0.6, 200))
    assert of() == (BarParts(24, 0.0, 800, 79.0, left, right, 1500, (1, 2)), [])


def test_a_bar_with_everything_whole() -> None:
    """EI of the tube 24 x 16: 205 GPa pi (24^4 - 16^4) / 64; arms to 250 mm along, 240 square: 200 square are 208.33."""
    parts, found = of(wall_mm=4, shear_gpa=80, right_arms_mm=[230, 210, 190], mr=[0.6, 0.65, 0.7], arm_length_mm=250, young_gpa=205, link_n_mm=300,
                      bush_n_mm=500)  # fmt: skip
    assert found == []
    assert parts == BarParts(
        24, 16.0, 800, 80.0, (Hole(240, 0.6, pytest.approx(250)), Hole(200, 0.65, pytest.approx(200 * 250 / 240))),
        (Hole(230, 0.6, pytest.approx(250)), Hole(210, 0.65, pytest.approx(210 * 250 / 230)), Hole(190, 0.7, pytest.approx(190 * 250 / 230))),
        1500, (1, 2), pytest.approx(205e9 * math.pi * (0.024**4 - 0.016**4) / 64), 300e3, 500e3,
    )  # fmt: skip
    assert parts.sides == (parts.left, parts.right)
    assert [parts.hole("left", 2), parts.hole("right", 3), parts.hole("left", 3), parts.hole("left", 0), parts.hole("right", -1)] == [
        parts.left[1], parts.right[2], None, None, None,
    ]  # fmt: skip
    given = of(arm_ei_n_m2=900.0, young_gpa=205)[0]
    assert given is not None
    assert given.arm_ei_n_m2 == 900.0
    listed = of(arm_length_mm=[260])[0]
    assert listed is not None
    assert [hole.arm_mm for hole in listed.left if hole] == [260, 200]
    short = of(arm_length_mm=239.5)[0]
    assert short is not None
    assert [hole.arm_mm if hole else None for hole in short.left] == [240, 200]


def test_what_an_arm_end_gives() -> None:
    """0.25^3 / (3 x 1500) and 1 / 400e3 and 1 / 500e3 m a newton."""
    base = of()[0]
    assert base is not None
    hole = Hole(240, 0.6, 250)
    parts = [
        BarParts(24, 0, 800, 79, (), (), None, None, *gives)
        for gives in ((1500.0, 400e3, 500e3), (None, 400e3, None), (None, None, 500e3))
    ]
    assert [item.give_m_per_n(hole) for item in parts] == pytest.approx([0.015625 / 4500 + 2.5e-6 + 2e-6, 2.5e-6, 2e-6])
    assert base.give_m_per_n(hole) == 0.0


@pytest.mark.parametrize(
    ("bar", "bore"),
    [
        ({}, 0.0), ({"bore_mm": 0}, 0.0), ({"bore_mm": 23.9}, 23.9), ({"bore_mm": 24}, None), ({"bore_mm": -0.1}, None), ({"wall_mm": 12}, 0.0),
        ({"wall_mm": 12.01}, None), ({"wall_mm": 0.01}, 23.98), ({"wall_mm": 0}, None), ({"wall_mm": -1}, None), ({"wall_mm": 4, "bore_mm": 16.5}, 16.5),
    ],
)  # fmt: skip
def test_which_bore_a_bar_can_have(bar: dict[str, float], bore: float | None) -> None:
    parts, found = of(**bar)
    assert (None if parts is None else parts.bore_mm) == (bore if bore is None else pytest.approx(bore))
    assert (not found) == (bore is not None and len(bar) < 2)


def test_bore_and_wall_a_fifth_of_a_millimetre_apart_agree() -> None:
    assert [len(of(wall_mm=4, bore_mm=bore)[1]) for bore in (15.79, 15.81, 16.19, 16.21)] == [1, 0, 0, 1]
    assert of(wall_mm=4, bore_mm=16.5)[1] == [("warning", "bore_mm", "bore 16.5 mm and wall")]


@pytest.mark.parametrize(
    ("lever", "fits"), [(9.9, False), (10, True), (1000, True), (1000.1, False), (0, False), (-240, False)]
)
def test_which_lever_a_hole_can_have(lever: float, fits: bool) -> None:
    parts, found = of(arms_mm=[240, 200, lever])
    assert parts is not None
    assert ((parts.left[2] is not None), (parts.right[2] is not None)) == (fits, fits)
    assert found == (
        [] if fits else [("fault", "arms_mm", "hole 3: a lever of"), ("fault", "right_arms_mm", "hole 3: a lever of")]
    )
    assert parts.in_use == (1, 2)


@pytest.mark.parametrize(
    ("length", "usable"),
    [
        (240, (True, True)), (239.5, (True, True)), (239.4, (False, True)), ([240, 199.5], (True, True)), ([239.4, 199.4], (False, False)),
        ([200], (False, True)), ([300, 300, 10], (True, True)), ([], (True, True)),
    ],
)  # fmt: skip
def test_a_hole_lies_on_its_arm(length: Any, usable: tuple[bool, bool]) -> None:
    parts, _ = of(arm_length_mm=length)
    assert parts is not None
    assert tuple(hole is not None for hole in parts.left) == usable


@pytest.mark.parametrize(
    ("mr", "ratios", "said"),
    [
        (3, [3, 3], 0), (3.01, [None, None], 1), (0.001, [0.001, 0.001], 0), (0, [None, None], 1), ([0.5], [0.5, None], 1), ([0.5, 4], [0.5, None], 1),
        ([0.5, 0.7, 0.9], [0.5, 0.7], 0), (None, [None, None], 1),
    ],
)  # fmt: skip
def test_which_motion_ratio_a_hole_can_have(mr: Any, ratios: list[float | None], said: int) -> None:
    parts, found = of(mr=mr)
    assert parts is not None
    assert [hole.mr if hole else None for hole in parts.left] == ratios
    assert [key for _, key, _ in found] == ["mr"] * said


def test_no_more_than_two_dozen_holes() -> None:
    many = of(arms_mm=[float(240 - at) for at in range(25)])
    assert many[0] is not None
    assert len(many[0].left) == len(many[0].right) == 24
    assert [key for _, key, _ in many[1]] == ["arms_mm", "right_arms_mm"]
    assert of(arms_mm=[float(240 - at) for at in range(24)])[1] == []


@pytest.mark.parametrize(
    ("text", "holes"),
    [
        ("1-2", (1, 2)),
        (" 3 / 12 ", (3, 12)),
        ("2 -1", (2, 1)),
        ("1", None),
        ("1-2-3", None),
        ("9" * 5000 + "-1", None),
        ("a-b", None),
        ("", None),
        (None, None),
    ],
)
def test_holes_as_written(text: str | None, holes: tuple[int, int] | None) -> None:
    assert holes_of(text) == holes


@pytest.mark.parametrize(
    ("setup", "left", "right", "in_use", "keys"),
    [
        ("1-2", None, None, (1, 2), []), ("2-1", 2, None, (2, 1), []), ("2-1", None, 1, (2, 1), []), ("2-1", 2, 1, (2, 1), []),
        ("2-1", 1, 1, (1, 1), ["setup.rear_bar"]), ("2-1", 2, 2, (2, 2), ["setup.rear_bar"]), ("soft", None, None, None, ["left", "right"]), ("", 2, None, None, ["right"]),
        ("3-1", None, None, None, ["left"]), ("0-1", None, None, None, ["left"]), ("2-1", 0, None, None, ["left"]), ("", 2, 3, None, ["right"]),
    ],
)  # fmt: skip
def test_which_holes_are_in_use(
    setup: str, left: int | None, right: int | None, in_use: tuple[int, int] | None, keys: list[str]
) -> None:
    kept = {key: value for key, value in (BAR | {"left": left, "right": right}).items() if value is not None}
    parts, found = parts_of(
        Car.model_validate({"setup": {"rear_bar": setup, "front_bar": "9-9"}, "rear": {"track_mm": 1500, "bar": kept}}),
        "rear",
    )
    assert parts is not None
    assert parts.in_use == in_use
    assert [item.key.removeprefix("rear.bar.") for item in found] == keys


def test_what_is_missing_is_said_once_and_at_once() -> None:
    parts, found = of(diameter_mm=None, arms_mm=None)
    assert parts is None
    assert [(level, key) for level, key, _ in found] == [("warning", "diameter_mm"), ("warning", "arms_mm")]
    assert of(length_mm=None)[0] is None
    bare, findings = parts_of(Car.model_validate({"rear": {"bar": BAR}}), "rear")
    assert bare is not None
    assert (bare.track_mm, [item.key for item in findings]) == (None, ["rear.track_mm"])


# --- every pair ---------------------------------------------------------------------------------------------------------


def test_a_pair_whole_against_a_linear_system() -> None:
    """Arms that give: end angles by numpy for ends that move apart, for both up alike, for both wheels up alike."""
    parts = of(young_gpa=205, link_n_mm=300, mr=[0.6, 0.7])[0]
    assert parts is not None
    a, b = 0.24, 0.2
    twist = twist_rate(24, 0, 800, 79)
    ei = 205e9 * math.pi * 0.024**4 / 64
    give = [a**3 / (3 * ei) + 1 / 300e3, b**3 / (3 * ei) + 1 / 300e3]

    def forces(up_left: float, up_right: float) -> tuple[float, float]:
        """Arm angles l, r and the torque T: the ends stand at a l + give T / a and b r - give T / b; T = k (l - r)."""
        matrix = [[a, 0, give[0] / a], [0, b, -give[1] / b], [-twist, twist, 1]]
        torque = float(np.linalg.solve(matrix, [up_left, up_right, 0])[2])
        return torque / a, -torque / b

    pair = pair_of(parts, 1, 2)
    assert pair is not None
    apart = forces(0.01, -0.01)
    assert pair.end_rate_n_mm == pytest.approx((apart[0] - apart[1]) / 2 / 20)
    rolled = forces(0.006, -0.007)
    assert pair.wheel_rate_n_mm == pytest.approx((rolled[0] * 0.6 - rolled[1] * 0.7) / 2 / 10)
    assert pair.roll_nm_per_rad == pytest.approx((rolled[0] * 0.6 - rolled[1] * 0.7) * 0.75 / (0.01 / 0.75))
    assert pair.heave_end_n == pytest.approx(forces(0.01, 0.01))
    wheels = forces(0.006, 0.007)
    assert pair.heave_wheel_n == pytest.approx((wheels[0] * 0.6, wheels[1] * 0.7))
    assert (pair.left, pair.right, pair.holes) == (1, 2, "1-2")
    assert pair_of(parts, 1, 3) is None
    assert pair_of(parts, 0, 1) is None


def test_a_motion_ratio_on_one_side_alone_is_none() -> None:
    parts = of(mr=[0.6])[0]
    assert parts is not None
    for pair in (pair_of(parts, 1, 2), pair_of(parts, 2, 1)):
        assert pair is not None
        assert (pair.wheel_rate_n_mm, pair.roll_nm_per_rad, pair.heave_wheel_n) == (None, None, None)
        assert roll_heave_free(parts, pair, 30.0) is None
    assert parts.left[0] is not None
    assert parts.left[1] is not None
    assert heave_forces(parts, parts.left[0], parts.left[1], at_wheel=True) is None


def test_free_heave_with_no_springs_leaves_the_bar_alone() -> None:
    parts = of()[0]
    assert parts is not None
    pair, unequal = pair_of(parts, 1, 1), pair_of(parts, 1, 2)
    assert pair is not None
    assert unequal is not None
    assert roll_heave_free(parts, pair, 0.0) == pair.roll_nm_per_rad
    p, q = 0.6 / 0.24, 0.6 / 0.2
    twist = twist_rate(24, 0, 800, 79)
    free = roll_heave_free(parts, unequal, 0.0)
    assert free == pytest.approx(twist * (p + q) ** 2 * 0.75**2 - twist * (p + q) ** 2 * 0.75**2, abs=1e-6)


def test_the_pair_in_use_or_another() -> None:
    car = saloon()
    found = [bar_pair(car, "rear", holes) for holes in (None, (1, 4), (5, 1))]
    assert [pair.holes if pair else None for pair in found] == ["3-3", "1-4", None]
    assert bar_pair(saloon(rear__bar=None), "rear") is None
    assert bar_pair(saloon(rear__bar__left=None), "rear") is None


def test_steps_and_spreads_of_every_pair_by_the_single_inputs() -> None:
    """The whole is the root of the squares of each input's own (GUM, JCGM 100:2008, 5.1.2); steps against the next softer rate."""
    table = rear_bar(right_arms_mm=[238, 221, 199])
    assert table.parts is not None
    bar = saloon(rear__bar__right_arms_mm=[238, 221, 199]).rear.bar
    assert bar is not None
    assert table.in_use is not None
    assert table.in_use.holes == "3-3"
    rates = sorted({round(pair.end_rate_n_mm, 9) for pair in table.pairs})
    for pair in table.pairs:
        here = (pair.left, pair.right)
        whole = math.sqrt(sum(part**2 for part in spread_of(table.parts, bar, here).values()))
        assert pair.spread_pct == pytest.approx(whole)
        assert pair.from_now_pct == pytest.approx((pair.end_rate_n_mm / table.in_use.end_rate_n_mm - 1) * 100)
        ratio = pair.end_rate_n_mm / table.in_use.end_rate_n_mm
        against = math.sqrt(sum(part**2 for part in spread_of(table.parts, bar, here, (3, 3)).values()))
        assert pair.step_spread_pct == pytest.approx(against * ratio)
        place = rates.index(round(pair.end_rate_n_mm, 9))
        step = None if place == 0 else pytest.approx((rates[place] / rates[place - 1] - 1) * 100)
        assert pair.step_pct == step
    assert [pair.end_rate_n_mm for pair in table.distinct] == sorted(pair.end_rate_n_mm for pair in table.distinct)
    none = pairs_table(saloon(rear__bar__left=None), "rear")
    assert none is not None
    assert {(pair.from_now_pct, pair.step_spread_pct) for pair in none.pairs} == {(None, None)}


def test_each_input_moved_and_no_other() -> None:
    """Low and high of a 25.4 mm tube by its wall of 4: what a calliper, a tape and a careful hand give."""
    parts, _ = parts_of(saloon(), "rear")
    bar = saloon().rear.bar
    assert parts is not None
    assert bar is not None

    def levers(item: BarParts, side: str) -> list[float]:
        return [hole.lever_mm for hole in getattr(item, side) if hole]

    def told(item: BarParts) -> tuple[Any, ...]:
        ratio = item.left[0].mr if item.left[0] else None
        return (
            item.outer_mm,
            item.bore_mm,
            item.length_mm,
            levers(item, "left")[0],
            levers(item, "right")[3],
            ratio,
            item.shear_gpa,
        )

    found = {
        name: tuple(pytest.approx(told(change(parts))) for change in (low, high)) for name, low, high in spreads(bar)
    }
    plain = (25.4, 17.4, 900, 240, 195, 0.6, 79)

    def ends(place: int, *values: float) -> tuple[tuple[float, ...], ...]:
        return tuple((*plain[:place], value, *plain[place + 1 :]) for value in values)

    assert found == {
        "diameter_mm": ((25.3, 17.3, *plain[2:]), (25.5, 17.5, *plain[2:])), "wall_mm": ends(1, 17.0, 17.8), "length_mm": ends(2, 895, 905),
        "arms_mm, left": ends(3, 239, 241), "arms_mm, right": ends(4, 194, 196), "mr": ends(5, 0.58, 0.62), "shear_gpa": ends(6, 75.05, 82.95),
    }  # fmt: skip
    sure = saloon(
        **{
            f"rear__bar__{key}": 0
            for key in ("diameter_pm_mm", "wall_pm_mm", "length_pm_mm", "arms_pm_mm", "mr_pm", "shear_pm")
        }
    ).rear.bar
    assert sure is not None
    assert all(told(change(parts)) == pytest.approx(plain) for _, low, high in spreads(sure) for change in (low, high))


def test_an_input_measured_roughly_stays_one_that_can_be() -> None:
    """A ratio above nought, a bore from nought to just inside the bar, a bar at least a millimetre thick."""

    def moved(name: str, **bar: float) -> tuple[BarParts, BarParts]:
        car = saloon(**{f"rear__bar__{key}": value for key, value in bar.items()})
        parts, _ = parts_of(car, "rear")
        assert parts is not None
        assert car.rear.bar is not None
        low, high = next((low, high) for key, low, high in spreads(car.rear.bar) if key == name)
        return low(parts), high(parts)

    ratios = [item.right[3].mr for item in moved("mr", mr=0.1, mr_pm=0.2) if item.right[3]]
    assert ratios == [1e-3, pytest.approx(0.3)]
    assert [item.bore_mm for item in moved("wall_mm", wall_mm=9, wall_pm_mm=5)] == [0.0, pytest.approx(17.4)]
    assert [item.bore_mm for item in moved("wall_mm", wall_pm_mm=5)] == [
        pytest.approx(7.4),
        pytest.approx(0.999 * 25.4),
    ]
    thin = moved("diameter_mm", diameter_mm=5.5, wall_mm=1, diameter_pm_mm=5)
    assert [(item.outer_mm, item.bore_mm) for item in thin] == [(1.0, 0.0), (10.5, pytest.approx(8.5))]
    solid = moved("diameter_mm", wall_mm=12.7, diameter_pm_mm=2)
    assert [(item.outer_mm, item.bore_mm) for item in solid] == [(pytest.approx(23.4), 0), (pytest.approx(27.4), 0)]
    assert [item.bore_mm for item in moved("wall_mm", wall_mm=12.7)] == [0, 0]


def test_of_twins_the_one_that_moves_the_fewest_holes() -> None:
    table = rear_bar(left=1, right=4)
    by_name = {pair.holes: pair for pair in table.pairs}
    assert [table.least_moved(by_name[name]).holes for name in ("4-1", "3-2", "2-1", "4-4")] == [
        "1-4",
        "2-3",
        "1-2",
        "4-4",
    ]
    assert [pair.holes for pair in table.distinct] == [
        "1-1",
        "1-2",
        "2-2",
        "1-3",
        "2-3",
        "1-4",
        "3-3",
        "2-4",
        "3-4",
        "4-4",
    ]
    assert table.pair(4, 1) is by_name["4-1"]
    assert table.pair(5, 1) is None
    assert BarTable("rear", None, (), None, ()).distinct == ()
