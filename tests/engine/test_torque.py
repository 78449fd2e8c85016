"""The torque curve against scipy's PCHIP; shape; reading points; what can't be."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from paddock.engine.car.driveline import curve_of, curve_through, read_points
from paddock.model.car_drive import Engine
from tests.cars import laws

points = st.lists(st.tuples(st.integers(1, 40), st.floats(0, 500)), min_size=2, max_size=14).map(
    lambda rows: sorted({x: round(y, 3) for x, y in rows}.items())
).filter(lambda rows: len(rows) > 1)  # fmt: skip


@laws
@given(points)
def test_against_scipy(rows: list[tuple[int, float]]) -> None:
    xs, ys = [250.0 * x for x, _ in rows], [y for _, y in rows]
    curve, reference = curve_through(xs, ys), PchipInterpolator(xs, ys)
    at = np.linspace(xs[0], xs[-1], 41)
    mine = [curve.at(x) for x in at]
    assert mine == pytest.approx(reference(at).tolist(), abs=1e-9, rel=1e-9)


@laws
@given(points)
def test_never_outside_its_neighbours(rows: list[tuple[int, float]]) -> None:
    curve = curve_through([250.0 * x for x, _ in rows], [y for _, y in rows])
    for (x0, y0), (x1, y1) in pairwise(rows):
        for part in (0.1, 0.35, 0.5, 0.8):
            assert min(y0, y1) - 1e-6 <= curve.at(250.0 * (x0 + (x1 - x0) * part)) <= max(y0, y1) + 1e-6


def test_a_dip_that_a_plain_cubic_would_invent() -> None:
    rpm, torque = [2000, 3000, 3200, 6000], [200, 200, 300, 300]
    curve = curve_through(rpm, torque)
    assert curve.at(2500) == 200
    assert max(curve.at(3200 + 28 * step) for step in range(100)) == pytest.approx(300)


def test_two_points_are_a_line_and_ends_are_held() -> None:
    curve = curve_through([2000, 4000], [100, 200])
    assert curve.at(3000) == pytest.approx(150)
    assert (curve.at(1000), curve.at(9000)) == (100, 200)
    assert curve.knows(4000)
    assert not curve.knows(4001)


@pytest.mark.parametrize("rows", [([], []), ([3000], [200]), ([3000, 3000], [200, 210]), ([3000, 4000], [200])])
def test_no_curve_through_that(rows: tuple[list[float], list[float]]) -> None:
    with pytest.raises(ValueError, match="at least two points"):
        curve_through(*rows)


def of(rpm: list[float], torque: list[float]) -> tuple[bool, str]:
    curve, findings = curve_of(Engine(rpm=tuple(rpm), torque_nm=tuple(torque)))
    return curve is not None, "; ".join(item.message for item in findings)


def test_what_is_wrong_with_typed_points() -> None:
    assert of([3000], [200]) == (False, "a torque curve of one point says nothing: give at least two, better one every "
                                 "500 rpm up to the limiter")  # fmt: skip
    assert of([2000, 3000, 4000], [200, 210]) == (False, "3 rpm but 2 torques: give one torque per rpm")
    made, words = of([4000, 2000, 3000], [210, 190, 200])
    assert made
    assert "sorted" in words
    made, words = of([2000, 3000, 3000, 4000], [190, 200, 205, 210])
    assert made
    assert "3000 rpm is there twice" in words
    made, words = of([2000, 3000, 4000], [190, -200, 210])
    assert made
    assert "can't be" in words
    assert of([], [])[0] is False


def test_sorted_points_keep_their_torque() -> None:
    curve, _ = curve_of(Engine(rpm=(4000.0, 2000.0), torque_nm=(210.0, 190.0)))
    assert curve is not None
    assert (curve.at(2000), curve.at(4000)) == (190, 210)


def test_points_from_a_file() -> None:
    rpm, torque, findings = read_points("rpm,torque_nm\n2000,250\n4000,300.5\n")
    assert (rpm, torque, findings) == ((2000, 4000), (250, 300.5), ())


def test_points_in_pounds_with_semicolons_commas_and_a_mark() -> None:
    # 1 lbf.ft = 4.4482216152605 N x 0.3048 m (NIST SP 811).
    rpm, torque, _ = read_points("\ufeffgear;RPM;torque_lbft\r\n3;2000;184,4\r\n3;4000;221,3\r\n")
    assert rpm == (2000, 4000)
    assert torque == pytest.approx((184.4 * 1.3558179483314, 221.3 * 1.3558179483314))


def test_a_line_that_cant_be_read_is_named_by_its_number() -> None:
    rpm, _, findings = read_points("rpm,torque_nm\n\n2000,250\nabc,3\n4000\n5000,280\n")
    assert rpm == (2000, 5000)
    assert [item.message[:6] for item in findings] == ["line 4", "line 5"]
    assert "no columns" in read_points("a,b\n1,2\n")[2][0].message
    assert "no columns" in read_points("")[2][0].message
