"""Runs left, with a range."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from paddock.engine.tyres.inventory import inventory
from paddock.engine.tyres.scatter import GAUGE_SD_MM
from paddock.engine.tyres.wear import FLOOR_MM, Z80, Rate, life_of, runs_to
from tests.engine.tyres.make import car, clean, fit, tread, tyres


def _rate(mm: float, sd: float = 0.001) -> Rate:
    return Rate(mm, sd, 1.0, 20, "measured")


def test_the_worst_edge_limits() -> None:
    life = life_of({"inner": 5.0, "middle": 6.0, "outer": 4.6}, 0, {"inner": _rate(0.02), "outer": _rate(0.05)}, 1.6)
    assert (life.edge, life.runs) == ("outer", pytest.approx(60))


def test_runs_since_the_reading_are_taken_off() -> None:
    life = life_of({"outer": 4.6}, 10, {"outer": _rate(0.05)}, 1.6)
    assert life.runs == pytest.approx(50)
    assert life.depth_mm["outer"] == pytest.approx(4.1)


def test_the_floor_is_the_eu_minimum_unless_said() -> None:
    # Council Directive 89/459/EEC: 1.6 mm; two 32nds are 1.5875 mm.
    assert FLOOR_MM == 1.6
    assert 2 * 25.4 / 32 == 1.5875 < FLOOR_MM
    assert life_of({"outer": 3.1}, 0, {"outer": _rate(0.05)}).runs == pytest.approx(30)
    assert life_of({"outer": 3.1}, 0, {"outer": _rate(0.05)}, 2.6).runs == pytest.approx(10)


def test_a_published_five_thirtyseconds_to_use() -> None:
    # 5/32 to use at .06/32 a run: 83 runs (arithmetic).
    unit = 25.4 / 32
    assert life_of({"outer": FLOOR_MM + 5 * unit}, 0, {"outer": _rate(0.06 * unit)}).runs == pytest.approx(
        83.33, abs=0.01
    )


def test_below_the_floor_is_no_run_even_with_no_wear_known() -> None:
    life = life_of({"outer": 1.5, "inner": 4.0}, 0, {})
    assert (life.runs, life.low, life.high, life.edge) == (0.0, 0.0, 0.0, "outer")


def test_nothing_known_is_none_and_no_wear_has_no_upper_end() -> None:
    assert life_of({}, 0, {"outer": _rate(0.05)}).runs is None
    assert life_of({"outer": 6.0}, 0, {}).runs is None
    runs, low, high = runs_to(3.0, _rate(0.01, 0.02))
    assert runs == pytest.approx(300)
    assert high is None
    assert 0 < low < runs


@given(st.floats(0.2, 8), st.floats(0.001, 0.3), st.floats(0.0005, 0.2), st.floats(0, 1), st.integers(1, 60))
def test_the_range_holds_the_figure(spare: float, mm: float, sd: float, own: float, own_runs: int) -> None:
    assume(sd * own_runs >= GAUGE_SD_MM / 10)
    runs, low, high = runs_to(spare, Rate(mm, sd, own, own_runs, "measured"))
    assert runs is not None
    assert low <= runs * (1 + 1e-9)
    assert high is None or high >= runs * (1 - 1e-9)


@given(st.floats(0.5, 6), st.floats(0.01, 0.2))
def test_more_wear_and_less_tread_leave_fewer_runs(spare: float, mm: float) -> None:
    first = runs_to(spare, _rate(mm))[0] or 0
    assert (runs_to(spare, _rate(mm * 1.1))[0] or 0) < first
    assert (runs_to(spare * 0.9, _rate(mm))[0] or 0) < first


def test_the_ends_are_where_the_difference_is_z_standard_errors() -> None:
    """Fieller (1954): the ends solve (D - n r)^2 = z^2 (vD - 2 n cov + n^2 vr)."""
    spare, rate = 3.0, Rate(0.05, 0.01, 0.8, 12, "measured")
    _, low, high = runs_to(spare, rate)
    assert high is not None
    for n in (low, high):
        variance = GAUGE_SD_MM**2 + 2 * n * 0.8 * GAUGE_SD_MM**2 / 12 + n * n * rate.sd**2
        assert abs(spare - n * rate.mm) == pytest.approx(Z80 * math.sqrt(variance))


def test_eight_in_ten_true_lives_lie_in_the_range() -> None:
    """Simulated tyres with the gauge scatter that is assumed, each alone: coverage of the 80 % range."""
    source, inside, trials = random.Random(4), 0, 1500
    for _ in range(trials):
        true, count, new = 0.05, 15, 7.0
        first = new + source.gauss(0, GAUGE_SD_MM)
        last = new - true * count + source.gauss(0, GAUGE_SD_MM)
        rate = Rate((first - last) / count, math.sqrt(2) * GAUGE_SD_MM / count, 1.0, count, "measured")
        _, low, high = runs_to(last - 1.6, rate)
        inside += low <= (new - 1.6) / true - count <= (high or math.inf)
    assert 0.77 < inside / trials < 0.83


def test_cost_per_run() -> None:
    rows = [
        *tyres("A", runs_before=20, price=150.0),
        *fit(1, 1, lf="A"),
        tread(0, "A", 6, 6, 6),
        tread(1, "A", 6, 6, 5.6),
    ]
    state = inventory(car(clean("26", 1, 10), *rows)).tyres[0]
    assert (state.runs, state.event_runs, state.life.edge) == (30, 10, "outer")
    assert state.life.runs == pytest.approx(100)
    assert state.cost_per_run == pytest.approx(150 / 130)
