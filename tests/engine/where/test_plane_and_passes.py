"""Metres, the line, the gates and the shift: against published geodesics, closed forms and simulated receivers."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
import polars as pl
import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st

from paddock.engine.where.line import DrivenLine, Plane, in_order, line_of, radii_m
from paddock.engine.where.passes import gate_times
from tests.receivers import RECEIVERS, Course, Receiver


def test_a_thousandth_of_a_degree() -> None:
    """Figures of GeographicLib for WGS84 at latitude 40 and 52, north and east; a degree on the equator is a*pi/180."""
    for lat, north, east in ((40.0, 111.0346, 85.3939), (52.0, 111.2674, 68.6780)):
        assert Plane(lat, 8.0).xy(lat + 0.001, 8.0)[1] == pytest.approx(north, abs=0.001)
        assert Plane(lat, 8.0).xy(lat, 8.001)[0] == pytest.approx(east, abs=0.0001)
    assert math.radians(1.0) * radii_m(0.0)[1] == pytest.approx(111_319.490793, abs=1e-6)
    assert radii_m(0.0)[0] == pytest.approx(6_335_439.327, abs=0.001)  # polar curvature radii: NIMA TR8350.2
    assert radii_m(90.0)[0] == pytest.approx(6_399_593.626, abs=0.001)


@given(st.floats(-75, 75), st.floats(-180, 179.99), st.floats(-500, 500), st.floats(-500, 500))
def test_a_course_is_as_long_as_the_geodesic_says(lat: float, lon: float, x: float, y: float) -> None:
    plane = Plane(lat, lon)
    there = plane.degrees(x, y)
    assert plane.xy(*there) == pytest.approx((x, y), abs=1e-6)
    found = Geodesic.WGS84.Inverse(lat, lon, *there)["s12"]
    assert math.hypot(x, y) == pytest.approx(found, abs=0.08)


def test_the_flags_of_a_known_leg() -> None:
    """Two points of a published GPX track, 15.0032 m apart by the geodesic."""
    x, y = Plane(46.57608333, 8.89241667).xy(46.57619444, 8.89252778)
    assert math.hypot(x, y) == pytest.approx(15.0032, abs=0.001)


@given(st.lists(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 50)), max_size=4), max_size=5))
def test_passes_in_order_cost_least(choices: list[list[tuple[int, int]]]) -> None:
    """Against every way there is."""
    options: list[list[tuple[float, float]]] = [[(float(at), float(cost)) for at, cost in row] for row in choices]

    def cost(ways: list[int | None]) -> float:
        places = [options[at][way][0] for at, way in enumerate(ways) if way is not None]
        if any(b <= a for a, b in pairwise(places)):
            return math.inf
        return sum(20.0 if way is None else options[at][way][1] for at, way in enumerate(ways))

    every: list[list[int | None]] = [[]]
    for row in options:
        every = [[*ways, way] for ways in every for way in (None, *range(len(row)))]
    assert cost(in_order(options, 20.0)) == min(map(cost, every))


def frame(*runs: dict[str, Any]) -> pl.DataFrame:
    parts = [pl.DataFrame(run).with_columns(run=pl.lit(at, pl.Int64)) for at, run in enumerate(runs)]
    return pl.concat(parts).with_columns(pl.col("speed_mps").fill_nan(None))


def times(fixes: pl.DataFrame, line: DrivenLine, register: bool = True) -> dict[tuple[int, int], float]:
    return {(run, element): t for run, element, t, _, _ in gate_times(fixes, line, register)[0].rows()}


@pytest.mark.parametrize("hz", [5, 10, 25])
@pytest.mark.parametrize("speed", [True, False])
def test_round_a_circle_equal_arcs_take_equal_times(hz: int, speed: bool) -> None:
    """At 15 m/s round a circle of 40 m radius, from 0.1 to 5.9 rad: marks every 0.7 rad are 40*0.7/15 s apart."""
    t = np.arange(0.0, 15.6, 1 / hz)
    angle = 0.05 + t * 15 / 40
    run = {
        "t_s": t,
        "x_m": 40 * np.cos(angle),
        "y_m": 40 * np.sin(angle),
        "speed_mps": np.full(len(t), 15.0 if speed else np.nan),
    }
    fine = np.linspace(0.05, 5.9, 2000)
    marks = [(at, 40 * math.cos(0.4 + 0.7 * at), 40 * math.sin(0.4 + 0.7 * at)) for at in range(8)]
    line = line_of(40 * np.cos(fine), 40 * np.sin(fine), marks)
    found = times(frame(run), line)
    assert np.diff([found[0, at] for at in range(8)]) == pytest.approx(40 * 0.7 / 15, abs=0.002 if speed else 0.01)


def test_along_a_clothoid_equal_lengths_take_equal_times() -> None:
    """Curvature s/900 per metre (Fresnel integrals, scipy): at 12 m/s marks every 15 m are 1.25 s apart."""
    from scipy.special import fresnel

    scale = math.sqrt(math.pi * 900)

    def at(s: Any) -> tuple[Any, Any]:
        sine, cosine = fresnel(np.asarray(s) / scale)
        return scale * cosine, scale * sine

    t = np.arange(0.0, 8.5, 0.1)
    x, y = at(12 * t)
    line = line_of(
        *at(np.linspace(0, 100, 1500)), [(k, float(at(15.0 * k)[0]), float(at(15.0 * k)[1])) for k in range(1, 7)]
    )
    found = times(frame({"t_s": t, "x_m": x, "y_m": y, "speed_mps": np.full(len(t), 12.0)}), line)
    assert np.diff([found[0, k] for k in range(1, 7)]) == pytest.approx(1.25, abs=0.002)


def test_speed_bends_the_time_between_fixes_as_braking_does() -> None:
    """Constant deceleration has a quadratic path: the cubic of place and speed meets it exactly, a straight one does not."""
    t = np.array([0.0, 1.0, 2.0, 3.0])
    x = 30 * t - 4 * t**2
    run = {"t_s": t, "x_m": x, "y_m": 0 * t, "speed_mps": 30 - 8 * t}
    fine = np.linspace(0.0, 54.0, 400)
    line = line_of(fine, 0 * fine, [(1, 40.0, 0.0)])
    exact = (30 - math.sqrt(900 - 16 * 40)) / 8
    assert times(frame(run), line, register=False)[0, 1] == pytest.approx(exact, abs=1e-4)
    bare = {**run, "speed_mps": np.full(4, np.nan)}
    assert abs(times(frame(bare), line, register=False)[0, 1] - exact) > 0.01


COURSE = Course()


def test_a_shift_is_found_and_taken_off() -> None:
    """The same run moved by 2.1 m east and 1.4 m south passes every gate when it did."""
    run = COURSE.run(np.random.default_rng(3)).recorded(RECEIVERS[2], np.random.default_rng(4))
    line = line_of(run["x_m"], run["y_m"], COURSE.points())
    there = {**run, "x_m": run["x_m"] + 2.1, "y_m": run["y_m"] - 1.4}
    found = times(frame(run, there), line)
    inner = range(1, 8)
    assert [found[1, k] for k in inner] == pytest.approx([found[0, k] for k in inner], abs=0.015)
    bare = times(frame(run, there), line, register=False)
    assert max(abs(bare[1, k] - bare[0, k]) for k in inner) > 0.1


def day(receiver: Receiver, seed: int, runs: int = 6) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    """(errors of element deltas against run 0, their said half-widths), by simulation."""
    from paddock.engine.where.placed import place
    from paddock.model.event import Track
    from paddock.model.rows import CourseRow
    from tests.receivers import PLANE
    from tests.track_files import degrees

    rng = np.random.default_rng(seed)
    driven = [COURSE.run(rng) for _ in range(runs)]
    course = [CourseRow(day=1, element=at, lat=PLANE.degrees(x, y)[0], lon=PLANE.degrees(x, y)[1])
              for at, x, y in COURSE.points()]  # fmt: skip
    first, errors, said = None, [], []
    passes = []
    for run in driven:
        fixes = pl.DataFrame(
            degrees(run.recorded(receiver, rng)), schema=["t_s", "lat", "lon", "speed_mps"], orient="row"
        )
        fixes = fixes.with_columns(pl.col("speed_mps").fill_nan(None))
        placed = place(Track("t", fixes, False, 0), course, run.passes_s[-1], receiver.phone, first)
        first = first or placed
        at = np.array([0.0, *(mark.at_s for mark in placed.marks), run.passes_s[-1]])
        half = np.array([0.0, *(mark.error_s for mark in placed.marks), 0.0])
        passes.append((np.diff(at) - np.diff(run.passes_s), np.hypot(half[1:], half[:-1])))
    for error, half in passes[1:]:
        errors.append(error - passes[0][0])
        said.append(np.maximum(np.hypot(half, passes[0][1]), 0.150 if receiver.phone else 0.050))
    return np.array(errors), np.array(said)


@pytest.mark.parametrize("receiver", RECEIVERS, ids=lambda receiver: receiver.name)
def test_the_range_holds_the_truth_four_times_in_five_or_oftener(receiver: Receiver) -> None:
    """A small fixed piece of docs/studies/where_study.py."""
    found = [day(receiver, seed) for seed in (1, 2, 3)]
    errors, said = (np.concatenate([pair[at] for pair in found]) for at in (0, 1))
    assert np.mean(np.abs(errors) < said) > 0.77
    assert np.sqrt(np.mean(errors**2)) < (0.17 if receiver.phone else 0.045)
