"""Stretches at their edges: where a trace ends, all three ways in closed form, the break-even. By hand."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from paddock.engine.car.driveline import driveline_of
from paddock.engine.car.hold_or_shift import Trace, break_even_m, hold_or_shift, trace
from paddock.model.car import Car
from tests.cars import saloon
from tests.engine.test_gears_edges import line_of


def test_a_car_with_a_ratio_that_can_not_be_is_refused() -> None:
    for car, words in (
        (saloon(gearbox__ratios=[3.5, 2.0, 0.0]), "a ratio can't be: mend it first"), (saloon(gearbox__ratios=[3.5, 2.0, -1.0]), "a ratio can't be: mend it first"),
        (Car(), "holding against shifting needs ratios, the wheel, a torque curve and the mass"),
        (saloon(gearbox__limiter_rpm=None, engine={}), "holding against shifting needs ratios, the wheel, a torque curve and the mass"),
    ):  # fmt: skip
        found, findings = hold_or_shift(car, 1, 30, 50)
        assert (found, findings[-1].message, findings[-1].level) == (None, words, "warning")


def flat(**values: Any) -> Car:
    """Steady thrust and no inertia beside the mass: 200 N.m x overall x .92 / radius / 1310 kg."""
    return saloon(
        engine__rpm=[500, 8000], engine__torque_nm=[200, 200], gearbox__grip_g=None, gearbox__wheel_inertia_kg_m2=0,
        gearbox__engine_inertia_kg_m2=0, **values,
    )  # fmt: skip


def test_all_three_ways_down_a_stretch_in_closed_form() -> None:
    line, _ = driveline_of(flat())
    assert line is not None
    two, three = (200 * overall * 0.92 / line.radius_m / 1310 for overall in (8, 5.6))
    start, top = 60 / 3.6, 7000 / 8 * 1.905 / 60
    reach = (top**2 - start**2) / (2 * two)
    found, findings = hold_or_shift(flat(), 2, 60, 150)
    assert found is not None
    assert findings == hold_or_shift(flat(), 2, 60, 150)[1]
    assert (found.gear, found.from_kmh, found.length_m, found.shifts) == (2, 60, 150, True)
    held = (top - start) / two + (150 - reach) / top
    assert found.hold_s == pytest.approx(held, rel=1e-6)
    assert found.next_gear_s == pytest.approx((-start + math.sqrt(start**2 + 300 * three)) / three, rel=1e-6)
    assert found.shift_at_kmh == pytest.approx(top * 3.6)
    assert found.hold_to_m == pytest.approx(reach + 0.3 * top, abs=1e-3)
    assert found.hold_to_kmh == pytest.approx(top * 3.6)
    assert found.limiter_after_m == pytest.approx(reach, rel=1e-6)
    assert found.shifting_saves_s == pytest.approx(held - (found.shift_s or 0))
    at_limiter, _ = hold_or_shift(flat(), 2, 60, reach - 0.01)
    assert at_limiter is not None
    assert (at_limiter.limiter_after_m, at_limiter.shifts) == (None, False)


def test_level_is_closer_than_a_fiftieth() -> None:
    """With no time lost for the shift its gain is what the limiter costs: a stretch where that is under .02 s, one over."""
    near, far = (hold_or_shift(flat(gearbox__shift_s=0.0), 2, 90, metres)[0] for metres in (33, 62))
    assert near is not None
    assert far is not None
    assert near.shifting_saves_s is not None
    assert far.shifting_saves_s is not None
    assert 0 < near.shifting_saves_s < 0.02 < far.shifting_saves_s
    assert (near.best, far.best) == ("level", "shift")


def test_a_shift_asked_above_the_limiter_or_with_a_taller_next_gear() -> None:
    line = line_of()
    top = line.kmh(2, 7000)
    assert trace(line, 2, 60, top + 20).time_at(200) == pytest.approx(trace(line, 2, 60, top).time_at(200))
    begun, _ = hold_or_shift(saloon(gearbox__ratios=[3.5, 2.0, 1.9, 1.85]), 3, 95, 200)
    assert begun is not None
    assert begun.shift_at_kmh is not None
    assert begun.shift_at_kmh >= 95
    odd, _ = hold_or_shift(saloon(gearbox__ratios=[3.5, 2.0, 2.0]), 2, 60, 100)
    assert odd is not None
    assert (odd.shift_s, odd.best) == (None, "hold")


def test_a_trace_stops_where_it_is_far_enough_or_as_fast_as_it_will_go() -> None:
    line, _ = driveline_of(flat())
    assert line is not None
    rate = 200 * 8 * 0.92 / line.radius_m / 1310
    whole, short = trace(line, 2, 60), trace(line, 2, 60, far_m=20)
    assert whole.speeds[-1] == pytest.approx(7000 / 8 * 1.905 / 60)
    assert 20 <= short.metres[-1] < 20 + 0.25 * 20 / rate
    assert max(b - a for a, b in zip(whole.speeds, whole.speeds[1:], strict=False)) <= 0.25 + 1e-9
    unshifted = trace(line, 2, 60, 95, far_m=20)
    assert max(b - a for a, b in zip(unshifted.seconds, unshifted.seconds[1:], strict=False)) < 0.3, (
        "no shift beyond the end"
    )
    draggy = replace(line, drag_area_m2=12.0)
    slow = trace(draggy, 3, 60)
    even = math.sqrt(200 * 5.6 * 0.92 / draggy.radius_m / (0.6 * 12))
    assert slow.speeds[-1] < even
    assert slow.speeds[-1] == pytest.approx(even, abs=0.3)
    coasted = trace(draggy, 2, 60, 60.0)
    lost = draggy.drag_n(60) / 1310 * 0.3
    assert coasted.speeds[1] == pytest.approx(60 / 3.6 - lost)
    assert coasted.seconds[1] == pytest.approx(0.3)
    assert trace(replace(line, drag_area_m2=400.0, shift_s=2.0), 2, 60, 60.0).speeds[1] == 0.1


def test_a_shift_that_takes_no_time_leaves_no_point_behind() -> None:
    run = trace(line_of(gearbox__shift_s=0.0), 2, 60, 80)
    assert all(b > a for a, b in zip(run.metres, run.metres[1:], strict=False))
    assert run.metres[0] == run.seconds[0] == 0.0


def test_a_trace_begun_at_the_limiter_or_over_it_goes_nowhere() -> None:
    line = line_of()
    top = line.kmh(2, 7000)
    assert [trace(line, 2, kmh).metres for kmh in (top, top + 5)] == [(0.0,), (0.0,)]


def test_break_even_beyond_the_shift_alone() -> None:
    """Holding gains a second by 100 m and loses it again: .01 s a metre from 100 m on, level at 200 m."""
    hold = Trace((0.0, 100.0, 1000.0), (0.0, 4.0, 49.0), (25.0, 25.0, 20.0))
    shift = Trace((0.0, 100.0, 1000.0), (0.0, 5.0, 41.0), (20.0, 25.0, 25.0))
    found = break_even_m(hold, shift, 50.0)
    assert found is not None
    assert hold.time_at(found) == pytest.approx(shift.time_at(found))
    assert 100 < found < 1000
    at_once = break_even_m(shift, hold, 50.0)
    assert at_once == pytest.approx(50.0, abs=1e-6), "slower from the first metre"
    late = Trace((0.0, 598.0, 700.0), (0.0, 29.9, 40.0), (20.0, 20.0, 10.0))
    steady = Trace((0.0, 1000.0), (0.0, 50.0), (20.0, 20.0))
    assert break_even_m(late, steady, 0.0) == pytest.approx(598.0, abs=0.01)
    later = Trace((0.0, 606.0, 700.0), (0.0, 30.3, 40.0), (20.0, 20.0, 10.0))
    assert break_even_m(later, steady, 0.0) is None
