"""Hold or shift against scipy's integrator and closed forms; the break-even; properties; refusals."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from paddock.engine.car.driveline import Driveline, driveline_of
from paddock.engine.car.hold_or_shift import FAR_M, Hold, Trace, hold_or_shift, trace
from paddock.model.car import Car
from tests.cars import coupe, laws, saloon


def line_of(car: Car) -> Driveline:
    line, _ = driveline_of(car)
    assert line is not None
    return line


def hold(car: Car, gear: int = 2, from_kmh: float = 60, length_m: float = 80, lateral_g: float = 0) -> Hold:
    found, findings = hold_or_shift(car, gear, from_kmh, length_m, lateral_g)
    assert found is not None, findings
    return found


def integrated(line: Driveline, gear: int, from_kmh: float, metres: float) -> float:
    """Seconds over ``metres`` in one gear below its limiter, by scipy."""

    def slope(_: float, state: Any) -> list[float]:
        rate = line.acceleration(gear, line.rpm(gear, state[1] * 3.6))
        assert rate is not None
        return [state[1], rate]

    def there(_: float, state: Any) -> float:
        return float(state[0] - metres)

    there.terminal = True  # type: ignore[attr-defined]
    solved = solve_ivp(slope, (0, 60), [0, from_kmh / 3.6], events=there, rtol=1e-10, atol=1e-10)
    return float(solved.t_events[0][0])


@pytest.mark.parametrize(("car", "gear", "from_kmh", "metres"), [
    (saloon(), 2, 60, 50), (saloon(), 3, 60, 120), (coupe(drag_area_m2=0.65), 2, 45, 60), (coupe(), 1, 25, 20),
])  # fmt: skip
def test_time_in_one_gear_against_an_integrator(car: Car, gear: int, from_kmh: float, metres: float) -> None:
    line = line_of(car)
    run = trace(line, gear, from_kmh)
    assert run.time_at(metres) == pytest.approx(integrated(line, gear, from_kmh, metres), abs=2e-4)


def flat(**values: Any) -> Car:
    """A car with the same thrust at all rpm and no inertia beside its mass: closed forms hold."""
    return saloon(
        engine__rpm=[500, 8000], engine__torque_nm=[200, 200], gearbox__grip_g=None, gearbox__wheel_inertia_kg_m2=0,
        gearbox__engine_inertia_kg_m2=0, **values,
    )  # fmt: skip


def test_steady_acceleration_then_the_limiter() -> None:
    # s = v^2 / 2a to the limiter, then steady speed.
    car = flat()
    line = line_of(car)
    rate = 200 * 8 * 0.92 / line.radius_m / 1310
    top, start = line.kmh(2, 7000) / 3.6, 60 / 3.6
    reach = (top**2 - start**2) / (2 * rate)
    found = hold(car, length_m=150)
    assert found.limiter_after_m == pytest.approx(reach, rel=1e-6)
    assert found.hold_s == pytest.approx((top - start) / rate + (150 - reach) / top, rel=1e-6)


def test_the_shift_costs_its_time_without_drive() -> None:
    car = flat()
    line = line_of(car)
    two, three = (200 * ratio * 0.92 / line.radius_m / 1310 for ratio in (8, 5.6))
    top, start = line.kmh(2, 7000) / 3.6, 60 / 3.6
    reach = (top**2 - start**2) / (2 * two)
    left = 150 - reach - top * 0.3
    after = (-top + math.sqrt(top**2 + 2 * three * left)) / three
    assert hold(car, length_m=150).shift_s == pytest.approx((top - start) / two + 0.3 + after, rel=1e-6)


def test_hold_to_is_where_both_take_as_long() -> None:
    car = saloon(drag_area_m2=0.7)
    found = hold(car)
    assert found.hold_to_m is not None
    there = hold(car, length_m=found.hold_to_m)
    assert there.shift_s is not None
    assert there.hold_s == pytest.approx(there.shift_s, abs=1e-6)
    shorter, longer = (hold(car, length_m=found.hold_to_m + more) for more in (-4, 30))
    assert shorter.shift_s is not None
    assert longer.shift_s is not None
    assert shorter.hold_s < shorter.shift_s - 1e-5
    assert longer.hold_s > longer.shift_s
    assert longer.best == "shift"
    assert longer.shifting_saves_s == pytest.approx(longer.hold_s - longer.shift_s)


def test_on_the_limiter_a_shift_loses_nothing_until_it_is_made() -> None:
    found = hold(saloon())
    assert found.hold_to_m is not None
    assert found.limiter_after_m is not None
    assert found.hold_to_m == pytest.approx(found.limiter_after_m + 0.3 * 7000 * 0.06 / 8 * 1.905 / 3.6, abs=0.01)


def test_a_stretch_that_ends_before_the_shift_is_held() -> None:
    found = hold(saloon(), length_m=40)
    assert not found.shifts
    assert found.best == "hold"
    assert found.limiter_after_m is None


def test_where_grip_is_the_limit_the_longer_gear_costs_nothing() -> None:
    found = hold(saloon(gearbox__grip_g=0.3), gear=2, from_kmh=35, length_m=25)
    assert found.best == "level"
    assert found.next_gear_s == pytest.approx(found.hold_s, abs=1e-3)
    spinning = hold(saloon(), gear=1, from_kmh=30, length_m=60)
    assert spinning.best in ("next", "shift")
    assert spinning.next_gear_s is not None
    assert spinning.next_gear_s < spinning.hold_s - 0.2


def test_short_shifting_with_grip_to_spare_costs() -> None:
    found = hold(coupe(), gear=2, from_kmh=60, length_m=60)
    assert found.next_gear_s is not None
    assert found.next_gear_s > found.hold_s + 0.05


def test_cornering_takes_its_part_of_the_grip() -> None:
    straight, bent = hold(saloon(), 2, 50, 40), hold(saloon(), 2, 50, 40, lateral_g=0.85)
    assert bent.hold_s > straight.hold_s
    line = line_of(saloon())
    assert line.grip_left_n(0.0) == pytest.approx(line.grip_n)
    assert line.grip_left_n(0.57) == pytest.approx((line.grip_n or 0) * 0.8)
    assert line.grip_left_n(2.0) == 0


def test_all_grip_used_sideways_is_steady_speed() -> None:
    assert hold(saloon(), 2, 50, 40, lateral_g=0.95).hold_s == pytest.approx(40 / (50 / 3.6))


def test_the_last_gear_can_only_be_held() -> None:
    found = hold(saloon(), gear=4, from_kmh=100)
    assert (found.shift_s, found.next_gear_s, found.hold_to_m, found.best) == (None, None, None, "hold")
    assert found.shifting_saves_s is None


@laws
@given(st.floats(30, 95), st.floats(5, 300), st.floats(1, 60))
def test_a_longer_stretch_takes_longer_and_a_faster_start_less(start: float, length: float, more: float) -> None:
    car = saloon()
    base, longer = hold(car, 2, start, length), hold(car, 2, start, length + more)
    assert longer.hold_s > base.hold_s
    assert (longer.shift_s or 0) > (base.shift_s or 0)
    quicker = hold(car, 2, min(start * 1.05, 99), length)
    assert quicker.hold_s < base.hold_s + 1e-9


@laws
@given(st.floats(0, 0.6), st.floats(0.01, 0.4))
def test_slower_shifts_make_holding_pay_longer(shift: float, more: float) -> None:
    quick, slow = (hold(saloon(gearbox__shift_s=value)) for value in (shift, shift + more))
    assert (slow.hold_to_m or FAR_M) > (quick.hold_to_m or FAR_M) - 1e-6


@pytest.mark.parametrize(
    ("car", "gear", "from_kmh", "length_m", "words"),
    [
        (saloon(mass_kg=None), 2, 60, 80, "needs ratios"),
        (saloon(engine={}), 2, 60, 80, "needs ratios"),
        (saloon(gearbox__final=None), 2, 60, 80, "needs ratios"),
        (saloon(), 5, 60, 80, "no gear 5"),
        (saloon(), 0, 60, 80, "no gear 0"),
        (saloon(), 2, 120, 80, "ends at 100 km/h"),
        (saloon(), 2, 0, 80, "rolling"),
        (saloon(), 2, 60, 5000, "600 m"),
    ],
)
def test_what_cant_be_told(car: Car, gear: int, from_kmh: float, length_m: float, words: str) -> None:
    found, findings = hold_or_shift(car, gear, from_kmh, length_m)
    assert found is None
    assert words in findings[-1].message


def test_speed_past_the_last_point_stays() -> None:
    way = Trace((0.0, 10.0, 25.0), (0.0, 1.0, 2.0), (10.0, 10.0, 20.0))
    assert [way.kmh_at(metres) for metres in (0.0, 10.0, 25.0, 70.0)] == [36.0, 36.0, 72.0, 72.0]
