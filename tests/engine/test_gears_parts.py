"""Tables and edges of the car's reckoning: rpm rows, tubes, pressures that are held back, stretches. By hand."""

from __future__ import annotations

import math

import pytest

from paddock.engine.car.balance import chassis_of, in_series
from paddock.engine.car.bar_parts import parts_of
from paddock.engine.car.bars import spread_of, spreads
from paddock.engine.car.compensation import give_back, why_held_back
from paddock.engine.car.driveline import curve_through, driveline_of, grip_force
from paddock.engine.car.gears import grip_limited, light_rpm, shift_point, speed_table, thrust_curves
from paddock.engine.car.hold_or_shift import Trace, break_even_m, hold_or_shift, trace
from paddock.engine.pressure.signs import Response, holes_at
from paddock.model.car import Car
from paddock.model.rows import SetupChange
from tests.cars import coupe, saloon


def _kmh(rpm: float, overall: float, around_mm: float) -> float:
    """By definition: turns of the wheel an hour times its way round."""
    return rpm * 60 / overall * around_mm / 1e6


def test_the_speed_table_row_by_row() -> None:
    line, _ = driveline_of(saloon())
    assert line is not None
    rows = speed_table(line, 2000.0)
    assert [rpm for rpm, _ in rows] == [2000.0, 4000.0, 6000.0, 7000.0]
    assert [rpm for rpm, _ in speed_table(line, 3500.0)] == [3500.0, 7000.0]
    assert [rpm for rpm, _ in speed_table(line, 8000.0)] == [7000.0]
    assert rows[0][1] == pytest.approx(
        tuple(2000 * 60 / (ratio * 4.0) * 1.905 / 1000 for ratio in (3.5, 2.0, 1.4, 1.0))
    )
    holed, _ = driveline_of(saloon(gearbox__ratios=[3.5, -1.0]))
    if holed is not None:
        assert speed_table(holed, 7000.0)[0][1][1] is None


def test_thrust_point_by_point() -> None:
    line, _ = driveline_of(saloon())
    assert line is not None
    curves = thrust_curves(line, 6)
    assert [len(points) for points in curves] == [6] * 4
    first, last = curves[1][0], curves[1][-1]
    assert first == (pytest.approx(_kmh(2000, 8.0, 1905)), pytest.approx(250 * 8 * 0.92 / line.radius_m))
    assert last == (pytest.approx(_kmh(7000, 8.0, 1905)), pytest.approx(240 * 8 * 0.92 / line.radius_m))
    assert curves[0][1][0] == pytest.approx(_kmh(3000, 14.0, 1905))


def test_where_two_straight_curves_cross() -> None:
    """Torque falls 0.05 N.m a rpm from 400 at 4000; ratios 2 and 1.5: 2 (600 - .05 n) = 1.5 (600 - .05 x .75 n)."""
    curve = curve_through([2000.0, 8000.0], [500.0, 200.0])
    rpm, crosses = shift_point(curve, 2.0, 1.5, 7900.0)
    assert crosses
    assert rpm == pytest.approx((1200 - 900) / (0.1 - 0.05625))
    assert shift_point(curve, 2.0, 1.5, 6000.0) == (6000.0, False)
    assert shift_point(curve, 2.0, 1.5, 6850.0) == (6850.0, False), "a third of a newton metre is still more"
    flat = curve_through([2000.0, 8000.0], [300.0, 300.0])
    assert shift_point(flat, 2.0, 1.5, 7000.0) == (7000.0, False)
    steep = curve_through([2000.0, 8000.0], [500.0, 1.0])
    assert shift_point(steep, 2.0, 1.9, 2050.0) == (2050.0, False)


def test_grip_and_light() -> None:
    line, _ = driveline_of(saloon())
    assert line is not None
    assert line.grip_n is not None
    held = grip_limited(line, 1)
    assert held is not None
    assert held[0] == pytest.approx(_kmh(2000, 14.0, 1905))
    assert held[1] == pytest.approx(_kmh(7000, 14.0, 1905))
    assert grip_limited(line, 4) is None
    half = line.grip_n / (line.overall(2) * line.efficiency / line.radius_m)
    share = half / 290
    within = grip_limited(line, 2, share)
    assert within is not None
    low, high = within[0] / _kmh(1, 8.0, 1905), within[1] / _kmh(1, 8.0, 1905)
    assert line.curve is not None
    assert [line.curve.at(low), line.curve.at(high)] == pytest.approx([290.0, 290.0])
    assert 2000 < low < 4000 < high < 7000
    light, rise = light_rpm(line, 2, 6800.0)
    assert light is not None
    assert rise is not None
    first = line.rpm_per_s(2, 6800.0)
    assert first is not None
    assert rise == pytest.approx(line.rpm_per_s(2, 6800 - first * 0.35 / 2))
    assert light == pytest.approx(6800 - rise * 0.35)


def test_a_tube_measured_by_its_wall_keeps_its_wall() -> None:
    """25.4 mm over a 4 mm wall: at +-0.1 mm both diameter and bore move; by the bore only the outside does."""

    def share(**more: float | None) -> float:
        car = saloon(**{f"rear__bar__{key}": value for key, value in more.items()})
        parts, _ = parts_of(car, "rear")
        assert parts is not None
        assert car.rear.bar is not None
        return spread_of(parts, car.rear.bar, (3, 3))["diameter_mm"]

    def polar(outer: float, bore: float) -> float:
        return outer**4 - bore**4

    middle = polar(25.4, 17.4)
    assert share() == pytest.approx((polar(25.5, 17.5) - polar(25.3, 17.3)) / 2 / middle * 100)
    assert share(wall_mm=None, bore_mm=17.4) == pytest.approx(
        (polar(25.5, 17.4) - polar(25.3, 17.4)) / 2 / middle * 100
    )
    assert share(wall_mm=None) == pytest.approx((25.5**4 - 25.3**4) / 2 / 25.4**4 * 100)


def test_the_wall_counts_twice_in_the_bore() -> None:
    def share(**more: float | None) -> float:
        car = saloon(**{f"rear__bar__{key}": value for key, value in more.items()})
        parts, _ = parts_of(car, "rear")
        assert parts is not None
        assert car.rear.bar is not None
        return spread_of(parts, car.rear.bar, (3, 3))["wall_mm"]

    def half(step: float) -> float:
        return ((17.4 + step) ** 4 - (17.4 - step) ** 4) / 2 / (25.4**4 - 17.4**4) * 100

    assert share() == pytest.approx(half(0.4))
    assert share(wall_pm_mm=0.1) == pytest.approx(half(0.2))
    assert share(wall_mm=None, bore_mm=17.4) == pytest.approx(half(0.2))
    bar = saloon().rear.bar
    assert bar is not None
    assert [name for name, _, _ in spreads(bar)] == [
        "diameter_mm", "wall_mm", "length_mm", "arms_mm, left", "arms_mm, right", "mr", "shear_gpa",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("bar", "limits", "held"),
    [
        (-0.05, {}, "no cold maximum is known (limits.max_cold_psi), so nothing is to be raised"),
        (-0.05, {"max_cold_psi": 50.0}, None), (-0.05, {"wheel_max_psi": 50.0}, None), (0.05, {}, None),
        (-0.5, {"max_cold_psi": 50.0}, "in steps of at most 2 psi, never over the cold maximum"),
        (0.5, {}, "in steps of at most 2 psi, never under the minimum"),
    ],
)  # fmt: skip
def test_what_is_held_back(bar: float, limits: dict[str, float], held: str | None) -> None:
    """The share falls with a stiffer rear; sign and size of the bar's learned effect make the move up or down."""
    known = (Response("front_share", bar, abs(bar) / 50, 8, 5), Response("rear_psi", -0.25, 0.005, 8, 5))
    found = give_back(saloon(limits=limits), rear=(4, 4), responses=known)
    assert found.change is not None
    assert found.rear_pressure is not None
    assert found.rear_pressure.change_psi == pytest.approx(found.change * 100 * bar / 0.25)
    assert found.rear_pressure.held_back == held


def test_a_step_of_just_two_psi_is_one_step() -> None:
    car = saloon(limits={"max_cold_psi": 50.0})
    assert (why_held_back(car, 2.0), why_held_back(car, -2.0)) == (None, None)
    assert why_held_back(car, 2.01) == "in steps of at most 2 psi, never over the cold maximum"
    assert why_held_back(car, -2.01) == "in steps of at most 2 psi, never under the minimum"


def test_why_pressure_is_unknown() -> None:
    rear, bar = Response("rear_psi", -0.25, 0.005, 8, 5), Response("front_share", -0.5, 0.005, 8, 5)
    assert "rear pressure" in (give_back(saloon(), rear=(4, 4), responses=(bar,)).unknown or "")
    assert "the rear bar" in (give_back(saloon(), rear=(4, 4), responses=(rear,)).unknown or "")
    assert "the front bar" in (give_back(saloon(), front=(2, 2), responses=(rear,)).unknown or "")


def test_holes_in_force() -> None:
    car = Car.model_validate({"setup": {"rear_bar": "3-3"}})
    rows = [
        SetupChange(id="b", day=1, run=4, setting="rear_bar", after="1/1"), SetupChange(id="a", day=1, run=2, setting="rear_bar", after="2 - 2"),
        SetupChange(id="c", day=1, run=3, setting="front_bar", after="9-9"), SetupChange(id="d", day=1, run=5, setting="rear_bar", after="soft"),
    ]  # fmt: skip
    assert [holes_at(car, "rear", rows, (1, run)) for run in (1, 2, 3, 4, 5)] == [
        (3, 3),
        (2, 2),
        (2, 2),
        (1, 1),
        (1, 1),
    ]
    assert holes_at(car, "front", rows, (1, 2)) is None


def test_rates_in_series_and_masses() -> None:
    assert (in_series(30.0, None), in_series(30.0, 60.0), in_series(0.0, 0.0)) == (30.0, 20.0, 0.0)
    chassis, _ = chassis_of(coupe())
    assert chassis is not None
    assert chassis.sprung_kg == pytest.approx(1150 - 122)
    assert chassis.front.load_n == pytest.approx(1150 * 0.52 * 9.80665)
    assert chassis.rear.bar_nm_per_rad == 0.0
    assert chassis.lateral_g == 0.98


def test_a_trace_between_its_points() -> None:
    """1 m/s^2 from 10 m/s over 22 m is 12 m/s after 2 s; half way in time it stands at 10.5 m."""
    run = Trace((0.0, 22.0, 46.0), (0.0, 2.0, 4.0), (10.0, 12.0, 12.0))
    assert [run.time_at(m) for m in (0.0, 10.5, 22.0, 34.0, 46.0, 58.0)] == pytest.approx(
        [0.0, 1.0, 2.0, 3.0, 4.0, 5.0]
    )
    assert [run.kmh_at(m) for m in (0.0, 10.5, 22.0, 46.0, 90.0)] == pytest.approx([36.0, 39.6, 43.2, 43.2, 43.2])


def test_a_stretch_at_its_edges() -> None:
    def refused(gear: int, kmh: float, metres: float) -> str | None:
        found, findings = hold_or_shift(saloon(), gear, kmh, metres)
        return None if found is not None else findings[-1].message

    assert refused(2, 60, 600) is None
    assert refused(2, 60, 601) == refused(2, 60, 0) == "the stretch must be 1 to 600 m long"
    assert refused(0, 60, 80) == "there is no gear 0: 1 to 4"
    assert refused(5, 60, 80) == "there is no gear 5: 1 to 4"
    assert refused(4, 60, 80) is None
    top = _kmh(7000, 8.0, 1905)
    assert refused(2, top, 80) is not None
    assert refused(2, 0, 80) is not None
    last, _ = hold_or_shift(saloon(), 4, 60, 80)
    assert last is not None
    assert (last.shift_s, last.next_gear_s, last.shifting_saves_s, last.shifts, last.best) == (
        None,
        None,
        None,
        False,
        "hold",
    )
    short, _ = hold_or_shift(saloon(), 2, 60, 5)
    assert short is not None
    assert (short.shifts, short.limiter_after_m) == (False, None)
    line, _ = driveline_of(saloon())
    assert line is not None
    assert short.shift_at_kmh is not None
    run = trace(line, 2, 60.0, short.shift_at_kmh)
    begins = next(m for m, v in zip(run.metres, run.speeds, strict=True) if v * 3.6 >= short.shift_at_kmh - 1e-6)
    there, beyond = (hold_or_shift(saloon(), 2, 60, begins + more)[0] for more in (0.0, 0.01))
    assert there is not None
    assert beyond is not None
    assert (there.shifts, beyond.shifts) == (False, True)


def test_a_shift_keeps_the_metres_going() -> None:
    line, _ = driveline_of(saloon(drag_area_m2=0.7))
    assert line is not None
    run = trace(line, 2, 60.0, 90.0)
    speeds = [value * 3.6 for value in run.speeds]
    at = next(i for i in range(1, len(speeds)) if speeds[i] < speeds[i - 1])
    assert speeds[at - 1] == pytest.approx(90.0)
    assert run.seconds[at] - run.seconds[at - 1] == pytest.approx(0.3)
    assert run.metres[at] - run.metres[at - 1] == pytest.approx((run.speeds[at] + run.speeds[at - 1]) / 2 * 0.3)
    assert run.speeds[at - 1] - run.speeds[at] == pytest.approx(line.drag_n(90.0) / 1310 * 0.3)
    assert all(b > a for a, b in zip(run.metres, run.metres[1:], strict=False))
    assert math.isfinite(run.time_at(300.0))


def test_speed_in_a_later_piece_of_a_trace() -> None:
    """12 to 14 m/s over 26 m is 1 m/s^2: after 12.5 m, a second later, 13 m/s."""
    run = Trace((0.0, 22.0, 48.0), (0.0, 2.0, 4.0), (10.0, 12.0, 14.0))
    assert (run.kmh_at(34.5), run.time_at(34.5)) == (pytest.approx(46.8), pytest.approx(3.0))


@pytest.mark.parametrize(("height", "share"), [(1001.0, 1.0), (1000.0, 1.0), (500.0, 0.5 / 0.75), (150.0, 0.5 / 0.925)])
def test_a_rear_driven_car_leans_on_its_driven_wheels_and_on_no_more(height: float, share: float) -> None:
    """Grip 1.0, half the weight behind, wheelbase 2 m: 0.5 / (1 - h / 2 m) of the weight, never more than all of it."""
    car = Car.model_validate({
        "drive": "rear", "mass_kg": 1000.0, "front_share": 0.5, "cg_height_mm": height, "wheelbase_mm": 2000.0, "gearbox": {"grip_g": 1.0},
    })  # fmt: skip
    assert grip_force(car)[0] == pytest.approx(9806.65 * share, rel=1e-5)
    front = grip_force(car.model_copy(update={"drive": "front"}))[0]
    assert front == pytest.approx(9806.65 * 0.5 / (1 + height / 2000))
    assert grip_force(car.model_copy(update={"drive": "all"}))[0] == pytest.approx(9806.65)


def test_two_ways_that_never_part_have_no_break_even() -> None:
    same = Trace((0.0, 1000.0), (0.0, 50.0), (20.0, 20.0))
    assert break_even_m(same, same, 0.0) is None
    slower = Trace((0.0, 100.0, 1000.0), (0.0, 5.0, 51.0), (20.0, 20.0, 900 / 46))
    assert break_even_m(slower, same, 10.0) == pytest.approx(100.0)
    assert break_even_m(slower, same, 600.0) is None
