"""Gears against unit factors, a crossing found by scipy, and hand-worked grip and light; properties; bad input."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, cast

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from paddock.engine.car.driveline import G, TorqueCurve, curve_through, driveline_of, grip_force, mass_factor
from paddock.engine.car.gears import Gear, gear_table, grip_limited, shift_point, thrust_curves
from paddock.model.car import Car
from tests.cars import coupe, laws, saloon


@dataclass(frozen=True)
class Parabola:
    """T = 200 (1 - ((n - 4500) / 6000)^2) N.m."""

    low: float = 1000.0
    high: float = 10400.0

    def at(self, rpm: float) -> float:
        return 200 * (1 - ((rpm - 4500) / 6000) ** 2)


def gears(car: Car) -> tuple[Gear, ...]:
    return gear_table(car).gears


def keys(car: Car) -> dict[str, str]:
    return {item.key: item.message for item in gear_table(car).findings}


# Speeds


def _kmh(rpm: float, ratio: float, final: float, around_mm: float) -> float:
    line, _ = driveline_of(
        saloon(gearbox__rolling_circumference_mm=around_mm, gearbox__final=final, gearbox__ratios=[ratio])
    )
    assert line is not None
    return line.kmh(1, rpm)


def test_speed_against_the_inch_formula() -> None:
    # mph = rpm x D_in / (ratio x 336.1352398), the constant 63360 / (60 pi); folk value 336.
    kmh = _kmh(6500, 1.0, 4.10, math.pi * 25 * 25.4)
    assert kmh / 1.609344 == pytest.approx(117.9113, abs=1e-4)
    assert kmh / 1.609344 == pytest.approx(6500 * 25 / (4.10 * 63360 / (60 * math.pi)))


def test_speed_with_the_rolling_not_the_free_diameter() -> None:
    # Arithmetic: 6500 rpm, 2.0 x 4.1, 634.3 mm: 94.775 km/h geometric, 91.932 with 0.97.
    assert _kmh(6500, 2.0, 4.1, math.pi * 634.3) == pytest.approx(94.775, abs=1e-3)
    car = saloon(gearbox__rolling_circumference_mm=None, gearbox__size="225/45R17", gearbox__final=4.1,
                 gearbox__limiter_rpm=6500)  # fmt: skip
    assert gears(car)[1].limiter_kmh == pytest.approx(91.932, abs=1e-3)


@laws
@given(st.floats(500, 9000), st.integers(1, 4))
def test_rpm_and_speed_go_back_and_forth(rpm: float, gear: int) -> None:
    line, _ = driveline_of(saloon())
    assert line is not None
    assert line.rpm(gear, line.kmh(gear, rpm)) == pytest.approx(rpm)


# Shifts


def test_crossing_of_a_parabola() -> None:
    # scipy brentq on the exact curve: 8435.37 rpm dropping to 4820.21, 68.144 km/h, thrust 5318.143 N in both.
    curve = cast("TorqueCurve", Parabola())
    rpm, crosses = shift_point(curve, 3.5 * 4, 2.0 * 4, 10000)
    assert crosses
    assert rpm == pytest.approx(8435.37, abs=0.01)
    assert rpm * 2 / 3.5 == pytest.approx(4820.21, abs=0.01)
    assert _kmh(rpm, 3.5, 4.0, 2 * math.pi * 300) == pytest.approx(68.144, abs=1e-3)
    root = brentq(lambda n: curve.at(n) * 14 - curve.at(n * 2 / 3.5) * 8, 6000, 10000)
    assert rpm == pytest.approx(root, abs=1e-6)
    assert curve.at(rpm) * 14 / 0.30 == pytest.approx(5318.143, abs=1e-3)
    assert curve.at(rpm) * rpm / 2 == pytest.approx(curve.at(rpm * 2 / 3.5) * rpm / 3.5, rel=1e-9)


@laws
@given(
    st.lists(st.floats(80, 400), min_size=6, max_size=6), st.floats(0.5, 0.95), st.floats(4500, 7000), st.floats(2.5, 4)
)
def test_a_crossing_means_equal_power_and_no_later_one(
    torque: list[float], drop: float, top: float, first: float
) -> None:
    curve = curve_through([1500, 2500, 3500, 4500, 5500, 7000], sorted(torque[:3]) + sorted(torque[3:], reverse=True))
    rpm, crosses = shift_point(curve, first, first * drop, top)
    assert 0 < rpm <= top
    if not crosses:
        assert rpm == top
        assert curve.at(top) >= curve.at(top * drop) * drop - 1e-6
        return
    if rpm > curve.low / drop * (1 + 1e-9):
        assert curve.at(rpm) * rpm == pytest.approx(curve.at(rpm * drop) * rpm * drop, rel=1e-6)
    for step in range(1, 20):
        later = rpm + (top - rpm) * step / 20
        assert curve.at(later) <= curve.at(later * drop) * drop + 1e-3


@laws
@given(st.floats(5000, 6900))
def test_falling_torque_never_shifts_above_the_limiter(limiter: float) -> None:
    for gear in gears(saloon(gearbox__limiter_rpm=limiter))[:-1]:
        assert gear.shift_rpm is not None
        assert gear.shift_rpm <= limiter + 1e-9
        assert gear.crosses == (gear.shift_rpm < limiter - 1e-9)


def test_no_crossing_is_the_limiter_and_the_last_gear_has_no_shift() -> None:
    found = gears(saloon())
    assert (found[0].shift_rpm, found[0].crosses) == (7000, False)
    assert found[0].shift_kmh == found[0].limiter_kmh == pytest.approx(7000 * 0.06 / 14 * 1.905)
    last = found[-1]
    assert (last.shift_rpm, last.shift_kmh, last.crosses, last.light_rpm) == (None, None, None, None)


def test_a_close_ratio_crosses() -> None:
    fourth = gears(saloon(gearbox__ratios=[3.5, 2.0, 1.4, 1.25]))[2]
    assert fourth.crosses
    assert fourth.shift_rpm is not None
    assert 6000 < fourth.shift_rpm < 7000
    assert fourth.drop_rpm == pytest.approx(fourth.shift_rpm * 1.25 / 1.4)


def test_thrust_for_a_plot_ends_at_the_limiter() -> None:
    line, _ = driveline_of(saloon(gearbox__limiter_rpm=6500))
    assert line is not None
    curves = thrust_curves(line)
    assert len(curves) == 4
    assert curves[1][-1] == pytest.approx((line.kmh(2, 6500), line.thrust_n(2, 6500)))
    assert line.thrust_n(1, 6000) == pytest.approx(280 * 14 * 0.92 / (1.905 / (2 * math.pi)))


# Grip


def test_grip_by_hand() -> None:
    # Moments about the undriven axle's contact: W_f = m g f - F h / l, F = mu W_f.
    mu, m, h, wheelbase = 0.95, 1310, 0.54, 2.6
    front, _ = grip_force(saloon())
    assert front is not None
    assert front == pytest.approx(mu * (m * G * 0.61 - front * h / wheelbase))
    back, _ = grip_force(saloon(drive="rear"))
    assert back is not None
    assert back == pytest.approx(mu * (m * G * 0.39 + back * h / wheelbase))
    everywhere, _ = grip_force(saloon(drive="all", front_share=None))
    assert everywhere == pytest.approx(mu * m * G)


def test_grip_of_a_rear_driver_never_passes_all_of_the_weight() -> None:
    found, _ = grip_force(coupe(gearbox__grip_g=2.0, cg_height_mm=1300))
    assert found == pytest.approx(2.0 * 1150 * G)


@pytest.mark.parametrize("key", ["cg_height_mm", "wheelbase_mm"])
def test_grip_at_rest_where_the_lean_is_not_known(key: str) -> None:
    found, notes = grip_force(saloon(**{key: None}))
    assert found == pytest.approx(0.95 * 1310 * G * 0.61)
    assert notes[0].key == key


def test_where_thrust_exceeds_grip() -> None:
    line, _ = driveline_of(saloon())
    assert line is not None
    assert line.grip_n is not None
    first, second, third, _ = gears(saloon())
    assert first.grip_limited_below_kmh == first.limiter_kmh
    assert second.grip_limited_below_kmh is not None
    rpm = line.rpm(2, second.grip_limited_below_kmh)
    assert line.thrust_n(2, rpm) == pytest.approx(line.grip_n)
    assert third.grip_limited_below_kmh is None
    reach = grip_limited(line, 2)
    assert reach is not None
    assert line.thrust_n(2, line.rpm(2, reach[0])) == pytest.approx(line.grip_n)
    assert second.spins_below_kmh is None or second.spins_below_kmh < second.grip_limited_below_kmh


@laws
@given(st.floats(0.3, 1.4), st.floats(0.01, 0.4))
def test_more_grip_never_widens_the_limit(grip: float, more: float) -> None:
    low, high = gears(saloon(gearbox__grip_g=grip)), gears(saloon(gearbox__grip_g=grip + more))
    for one, other in zip(low, high, strict=True):
        assert (other.grip_limited_below_kmh or 0) <= (one.grip_limited_below_kmh or 0) + 1e-6


# The light


def test_the_light_of_the_worked_case() -> None:
    # Arithmetic: 5 m/s2, overall 8, radius 0.33 m, 0.35 s: 1157 rpm/s, about 400 rpm early.
    rise = 5 * 8 * 60 / (2 * math.pi * 0.33)
    assert rise == pytest.approx(1157, abs=1)
    car = saloon(gearbox__rpm_per_s=[0, rise])
    second = gears(car)[1]
    assert second.light_rpm == pytest.approx(7000 - rise * 0.35)
    assert 7000 - (second.light_rpm or 0) == pytest.approx(405, abs=1)


def test_the_rise_by_hand_with_inertia_given() -> None:
    car = saloon(gearbox__wheel_inertia_kg_m2=1.0, gearbox__engine_inertia_kg_m2=0.2, gearbox__grip_g=None,
                 engine__rpm=[2000, 7000], engine__torque_nm=[250, 250])  # fmt: skip
    radius = 1.905 / (2 * math.pi)
    moving = 1310 + (4 * 1.0 + 0.2 * 8**2) / radius**2
    rise = 250 * 8 * 0.92 / radius / moving * 8 * 60 / 1.905
    second = gears(car)[1]
    assert second.rise_rpm_per_s == pytest.approx(rise)
    assert second.light_rpm == pytest.approx(7000 - rise * 0.35)


def test_the_rise_is_taken_half_a_reaction_before_the_shift() -> None:
    car = saloon(gearbox__grip_g=None)
    line, _ = driveline_of(car)
    assert line is not None
    at_shift = line.rpm_per_s(2, 7000)
    assert at_shift is not None
    middle = line.rpm_per_s(2, 7000 - at_shift * 0.35 / 2)
    assert middle is not None
    assert middle > at_shift * 1.02
    assert gears(car)[1].light_rpm == pytest.approx(7000 - middle * 0.35)


def test_the_usual_mass_factor() -> None:
    # J. Y. Wong, Theory of Ground Vehicles, passenger cars: 1.04 + 0.0025 x overall^2 (constants from memory).
    assert mass_factor(14) == pytest.approx(1.53)
    line, _ = driveline_of(saloon())
    assert line is not None
    assert line.moving_kg(1) == pytest.approx(1310 * 1.53)


def test_grip_caps_the_rise_and_the_light_is_earliest_in_first() -> None:
    found = gears(saloon(gearbox__grip_g=0.5))
    line, _ = driveline_of(saloon(gearbox__grip_g=0.5))
    assert line is not None
    assert line.grip_n is not None
    assert found[0].rise_rpm_per_s == pytest.approx(line.grip_n / 1310 * 14 * 60 / 1.905)
    early = [7000 - (gear.light_rpm or 0) for gear in found[:3]]
    assert early == sorted(early, reverse=True)


@laws
@given(st.floats(0, 0.5), st.floats(0.01, 0.5))
def test_slower_hands_want_an_earlier_light(reaction: float, more: float) -> None:
    one, other = (gears(saloon(gearbox__reaction_s=value))[1] for value in (reaction, reaction + more))
    assert one.light_rpm is not None
    assert other.light_rpm is not None
    assert other.light_rpm < one.light_rpm <= 7000


def test_drag_slows_the_rise() -> None:
    still, windy = gears(saloon())[1], gears(saloon(drag_area_m2=0.7))[1]
    assert (windy.rise_rpm_per_s or 0) < (still.rise_rpm_per_s or 0)
    assert windy.shift_rpm == still.shift_rpm


# Bad input


def test_ratios_out_of_order() -> None:
    car = saloon(gearbox__ratios=[3.5, 1.4, 2.0, 1.0])
    assert "out of order: gear 3 (2) must be smaller than gear 2 (1.4)" in keys(car)["gearbox.ratios"]
    found = gears(car)
    assert [gear.shift_rpm is None for gear in found] == [False, True, False, True]
    assert all(gear.limiter_kmh for gear in found)


@pytest.mark.parametrize(
    ("values", "key", "words"),
    [
        ({"engine__rpm": [3000], "engine__torque_nm": [200]}, "engine.rpm", "one point"),
        ({"engine": {}}, "engine.rpm", "no torque curve"),
        ({"engine__rpm": [7500, 8000], "engine__torque_nm": [200, 190]}, "engine.rpm", "above the limiter"),
        ({"engine__torque_nm": [250, 300, 280]}, "engine.torque_nm", "one torque per rpm"),
    ],
)
def test_without_a_curve_speeds_remain(values: dict[str, Any], key: str, words: str) -> None:
    assert words in keys(saloon(**values))[key]
    for gear in gears(saloon(**values)):
        assert gear.limiter_kmh
        assert (gear.shift_rpm, gear.crosses, gear.light_rpm, gear.grip_limited_below_kmh) == (None, None, None, None)


def test_without_a_mass_shifts_remain_and_a_measured_rise_still_lights() -> None:
    second = gears(saloon(mass_kg=None))[1]
    assert second.shift_rpm == 7000
    assert (second.light_rpm, second.grip_limited_below_kmh) == (None, None)
    assert "no grip limit" in keys(saloon(mass_kg=None))["mass_kg"]
    assert gears(saloon(mass_kg=None, gearbox__rpm_per_s=[0, 900]))[1].light_rpm == pytest.approx(7000 - 315)


@pytest.mark.parametrize(
    ("values", "key"),
    [
        ({"gearbox__ratios": None}, "gearbox.ratios"),
        ({"gearbox__final": None}, "gearbox.final"),
        ({"gearbox__rolling_circumference_mm": None}, "gearbox.rolling_circumference_mm"),
    ],
)
def test_nothing_without_these(values: dict[str, Any], key: str) -> None:
    assert gears(saloon(**values)) == ()
    assert key in keys(saloon(**values))


def test_without_a_limiter_the_curve_ends_the_gear() -> None:
    found = gears(saloon(gearbox__limiter_rpm=None))
    assert found[0].limiter_kmh is None
    assert found[0].shift_rpm == 7000
    assert "gearbox.limiter_rpm" in keys(saloon(gearbox__limiter_rpm=None))


def test_a_curve_that_ends_below_the_limiter_is_told() -> None:
    car = saloon(gearbox__limiter_rpm=7600)
    assert "what lies between is not known" in keys(car)["engine.rpm"]
    assert gears(car)[0].shift_rpm == 7600


@pytest.mark.parametrize("name", ["efficiency", "reaction_s", "shift_s"])
def test_what_is_assumed_is_said(name: str) -> None:
    car = saloon(**{f"gearbox__{name}": None})
    assert "is taken" in keys(car)[f"gearbox.{name}"]
    assert gears(car)[1].light_rpm is not None


def test_a_ratio_that_cant_be() -> None:
    car = saloon(gearbox__ratios=[3.5, 0, 1.4])
    assert "can't be" in keys(car)["gearbox.ratios"]
    found = gears(car)
    assert found[1].limiter_kmh is None
    assert found[2].limiter_kmh


def test_shift_points_do_not_hang_on_efficiency() -> None:
    one, other = (gears(saloon(gearbox__efficiency=value)) for value in (0.8, 1.0))
    assert [gear.shift_rpm for gear in one] == pytest.approx([gear.shift_rpm for gear in other])


def test_two_overdrives_out_of_order() -> None:
    assert (
        "out of order: gear 4 (0.95) must be smaller than gear 3 (0.9)"
        in keys(saloon(gearbox__ratios=[3.5, 1.4, 0.9, 0.95]))["gearbox.ratios"]
    )
