"""What a test could tell, worked out a second time with scipy; plans, priors and worth by hand."""

from __future__ import annotations

import math
from functools import cache
from statistics import NormalDist, fmean
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import norm

from paddock.engine.field.effect import Power
from paddock.engine.field.plan import default_sd, hoped_effect, open_test, plan, usual_tests, ways_to_test, worth_of
from paddock.engine.field.priors import default_prior, kind_of_change, parts_of, pressure_step
from paddock.model.event import Event
from paddock.model.rows import SetupChange
from tests.engine.field.made import change, of

ME = ["46.000", "46.000", "45.000", "45.000"]


def _event(*rows: SetupChange, runs_per_day: int | None = 8, **more: Any) -> Event:
    return of(ME, {"40": [*ME, "50"], "41": ME}, *rows, runs_per_day=runs_per_day, **more)


def variance_of(first: int, settings: list[str]) -> float:
    """Level sd 20, learning sd 0.35 falling with 1.8 runs, 1.4 times my scatter of 0.3: generalised least squares."""
    h = np.array([math.exp(-(first + at - 1) / 1.8) for at in range(len(settings))])
    x = np.array([setting == "new" for setting in settings], dtype=float)
    whole = 400.0 + 0.35**2 * np.outer(h, h) + 1.4 * 0.09 * np.eye(len(h))
    return float(1 / (x @ np.linalg.solve(whole, x)))


@cache
def power_of(variance: float, runs: int, hoped: float, sd: float) -> tuple[float, float, float]:
    """Chances of "probably" and "very likely", and the effect found on half the days: my scatter at five points of
    freedom over chi squared (Wilson and Hilferty), the prior in two parts.
    """
    part = 2 / (9 * (3.0 + runs))
    times = [(1 - part + NormalDist().inv_cdf(share) * math.sqrt(part)) ** -3 for share in (0.1, 0.3, 0.5, 0.7, 0.9)]
    rest = (1 - 0.1 * 0.1**2) / 0.9

    def sure(seen: float) -> float:
        """The posterior chance that an effect seen so large has its sign."""
        weights, shares = [], []
        for share, usual in ((0.1, 0.1 * sd), (0.9, sd * math.sqrt(rest))):
            for error in (k * variance for k in times):
                weights.append(share * NormalDist(0, math.sqrt(usual**2 + error)).pdf(seen))
                middle = seen * usual**2 / (usual**2 + error)
                shares.append(NormalDist().cdf(middle / math.sqrt(usual**2 * error / (usual**2 + error))))
        return float(np.average(shares, weights=weights))

    probably, very = (brentq(lambda seen, word=word: sure(seen) - word, 0.0, 9.0) for word in (0.8, 0.95))
    found = [
        fmean(NormalDist().cdf((hoped - seen) / math.sqrt(k * variance)) for k in times) for seen in (probably, very)
    ]
    return found[0], found[1], probably


def check(found: Power, variance: float, runs: int, hoped: float, sd: float) -> None:
    probably, very, finds = power_of(variance, runs, hoped, sd)
    eight = power_of(variance_of(1, ["old", "new", "new", "old"] * 2), 8, hoped, sd)[0]
    assert (found.hoped_s, found.error_s) == pytest.approx((hoped, math.sqrt(variance)))
    assert (found.probably, found.very, found.eight) == pytest.approx((probably, very, eight), abs=1e-5)
    assert found.finds_s == pytest.approx(finds, abs=1e-5)


def test_each_way_to_spend_the_runs_left_by_scipy() -> None:
    """Five runs left after my fourth, the bar turned to new; another day begins at run 1."""
    row = change(expect="0.4 s")
    found = ways_to_test(_event(row, runs_per_day=9), "26", row)
    laid = {"mirrored": ["new", "old", "old", "new"], "alternating": ["old", "new", "old", "new", "old"],
            "halves": ["new", "new", "old", "old", "old"]}  # fmt: skip
    assert {way.name: list(way.settings) for way in found[:3]} == laid
    assert [way.turns for way in sorted(found[:3], key=lambda way: way.name)] == [5, 1, 2]
    for way in found[:3]:
        check(way.power, variance_of(5, laid[way.name]), len(laid[way.name]), 0.4, 0.2)
    assert [way.name for way in found[3:]] == ["another day", "eight runs"]
    for way, blocks in zip(found[3:], (1, 2), strict=True):
        settings = ["new", "old", "old", "new"] * blocks
        assert list(way.settings) == settings
        check(way.power, variance_of(1, settings), 4 * blocks, 0.4, 0.2)


@pytest.mark.parametrize(
    ("left", "names"),
    [(0, set()), (1, set()), (2, {"alternating"}), (3, {"alternating", "halves"}),
     (4, {"mirrored", "alternating", "halves"}), (-3, set())],
)  # fmt: skip
def test_what_can_be_laid_out_in_the_runs_left(left: int, names: set[str]) -> None:
    row = change()
    assert {way.name for way in ways_to_test(_event(row), "26", row, left)[:-2]} == names


def test_what_tells_most_today_comes_first() -> None:
    """Of seven runs left all seven tell more than the four a mirrored test takes."""
    row = change()
    today = ways_to_test(_event(row), "26", row, 7)[:-2]
    assert [way.name for way in today] == ["alternating", "halves", "mirrored"]
    assert [way.power.error_s for way in today] == sorted(way.power.error_s for way in today)


@pytest.mark.parametrize(("per_day", "runs"), [(None, 3), (2, 3), (7, 7)])
def test_whole_days_by_scipy(per_day: int | None, runs: int) -> None:
    """Two nights of sd 0.3 and, with three or more runs a day, 2.8 times a run's variance by their number."""
    row = change(setting="rear_spring", item="springs", before="60", after="70")
    event = _event(row, runs_per_day=per_day)
    (way,) = ways_to_test(event, "26", row)
    assert (way.name, way.settings, way.turns) == ("days", ("new", "old"), 1)
    made = plan(event, "26")
    assert made is not None
    for power in (way.power, made.power):
        check(power, 2 * 0.09 + 2.8 * 0.09 / runs, 2 * runs, 0.2, 0.2)


def test_a_plan_s_power_is_that_of_its_runs_and_of_four_tomorrow_where_none_is_left() -> None:
    row = change()
    made = plan(_event(row, runs_per_day=9), "26")
    assert made is not None
    assert [(item.day, item.run, item.setting) for item in made.runs] == [
        (1, 5, "new"), (1, 6, "old"), (1, 7, "old"), (1, 8, "new"), (1, 9, "free"),
    ]  # fmt: skip
    check(made.power, variance_of(5, ["new", "old", "old", "new"]), 4, 0.2, 0.2)
    none = plan(_event(row, runs_per_day=None), "26")
    assert none is not None
    assert none.runs == ()
    check(none.power, variance_of(1, ["new", "old", "old", "new"]), 4, 0.2, 0.2)


def test_two_runs_left_are_one_each_way() -> None:
    row = change()
    settings = {way.name: way for way in ways_to_test(_event(row), "26", row, 2)}["alternating"]
    assert settings.settings == ("old", "new")
    two = plan(_event(row), "26", runs_left=2)
    assert two is not None
    check(two.power, variance_of(5, ["old", "new"]), 2, 0.2, 0.2)


def test_what_is_on_the_car_begins_the_test() -> None:
    """Taken back once: old; twice: new; a return of another change turns nothing."""
    rows = [change(), change("b", 4, undoes="c1"), change("c", 4, undoes="b"), change("x", 4, undoes="y")]
    begins = []
    for count in (1, 2, 3, 4):
        made = plan(_event(*rows[:count]), "26", change_id="c1")
        assert made is not None
        begins.append((made.on, made.runs[0].setting))
        assert ways_to_test(_event(*rows[:count]), "26", rows[0])[-1].settings[0] == made.runs[0].setting
    assert begins == [(True, "new"), (False, "old"), (True, "new"), (True, "new")]


def test_slow_tests_go_on_over_the_days_left() -> None:
    days = [f"2026-05-{day:02}" for day in range(9, 13)]
    row = change(setting="rear_spring", item="springs")
    made = plan(_event(row, runs_per_day=5, days=days), "26", seed=1)
    assert made is not None
    first, other = "old", "new"  # the coin of seed 1
    assert [(item.day, item.run, item.setting) for item in made.runs] == [
        (1, 5, "new"), *((day, run, {2: first, 3: other, 4: first}[day]) for day in (2, 3, 4) for run in range(1, 6)),
    ]  # fmt: skip
    assert (made.quick, made.on) == (False, True)
    tossed = {plan(_event(row, runs_per_day=5, days=days), "26", seed=seed).runs[1].setting for seed in range(6)}  # type: ignore[union-attr]
    assert tossed == {"old", "new"}


def test_the_latest_open_test_is_that_of_the_latest_run_and_one_without_a_run_comes_last() -> None:
    rows = [change("late", 1, day=2), change("early", 4, day=1), change("none", None, day=None)]
    for order in (rows, rows[::-1]):
        found = open_test(_event(*order), "26")
        assert found is not None
        assert found.id == "late"
    alone = open_test(_event(rows[2], change("first", 1, day=1)), "26")
    assert alone is not None
    assert alone.id == "first"
    before = open_test(_event(rows[2], change("eve", 1, day=0)), "26")
    assert before is not None
    assert before.id == "eve"


@pytest.mark.parametrize(
    ("expect", "hoped"),
    [("0.35 s", 0.35), ("1,5s", 1.5), ("5 s", 5.0), ("5.1 s", 0.2), ("0 s", 0.2), ("9 seats", 0.2), ("2 sec", 0.2)],
)
def test_the_effect_hoped_for_is_read_from_the_log(expect: str, hoped: float) -> None:
    assert hoped_effect(change(expect=expect)) == pytest.approx(hoped)


@pytest.mark.parametrize(
    ("cells", "sd"),
    [({"setting": "rear_pressure", "before": "30", "after": "33"}, 0.15),
     ({"setting": "rear_pressure", "before": "30,5", "after": "30"}, 0.05),
     ({"setting": "pressure", "before": "20", "after": "30"}, 0.25),
     ({"setting": "rear_pressure", "before": None, "after": "high"}, 0.1),
     ({"setting": "rear_pressure", "before": "30", "after": "30"}, 0.1),
     ({"setting": None, "item": "Rear Tyres"}, 0.5), ({"setting": "tyres"}, 0.5), ({"setting": "camber"}, 0.2),
     ({"setting": None, "item": None}, 0.2)],
)  # fmt: skip
def test_how_far_such_changes_usually_go(cells: dict[str, Any], sd: float) -> None:
    """0.1 s for 2 psi, half to two and a half times that; tyres 0.5 s; all else 0.2 s."""
    assert default_sd(change(**cells)) == pytest.approx(sd)


def test_kinds_and_parts_of_a_belief() -> None:
    kinds = {"rear_pressure": "pressure", "Pressure": "pressure", "tyres": "tyres", "front_tyres": "tyres",
             "pressure_gauge": "other", "tyres_old": "other", None: "other"}  # fmt: skip
    assert {key: kind_of_change(key) for key in kinds} == kinds
    assert kind_of_change("", "front pressure") == "pressure"
    assert (pressure_step("30", "28.5"), pressure_step(None, "2"), pressure_step("2", "")) == (1.5, None, None)
    assert default_prior("pressure").sd_s == 0.1
    assert default_prior("other").source == "default"
    (idle, small), (rest, wide) = parts_of(0.3)
    assert (idle, small, rest) == pytest.approx((0.1, 0.03, 0.9))
    assert idle * small**2 + rest * wide**2 == pytest.approx(0.09), "as wide as told, all together"


def test_the_usual_tests_and_their_worth() -> None:
    event = _event(runs_per_day=10)
    found = dict(usual_tests(event, "26", 4))
    check(found["pressure"].power, variance_of(5, ["old", "new", "new", "old"]), 4, 0.1, 0.1)
    check(found["quick"].power, variance_of(5, ["old", "new", "new", "old"]), 4, 0.2, 0.2)
    check(found["slow"].power, 2 * 0.09 + 2.8 * 0.009, 20, 0.2, 0.2)
    check(found["tyres"].power, 2 * 0.09 + 2.8 * 0.009, 20, 0.5, 0.5)


@pytest.mark.parametrize(("guess", "low", "high", "error"), [(-60.0, -180.0, 60.0, 80.0), (30.0, -20.0, 80.0, 60.0)])
def test_the_worth_of_a_test_by_simple_sums(guess: float, low: float, high: float, error: float) -> None:
    """The expected loss of going by the sign of the guess, and of the posterior mean after the test, on a grid."""
    sd = (high - low) / 2 / norm.ppf(0.9)
    found = worth_of(guess, (low, high), error)
    truth = guess + sd * norm.ppf((np.arange(40_000) + 0.5) / 40_000)
    lost = np.maximum(truth if guess < 0 else -truth, 0.0).mean()
    assert (found.keep_ms, found.keep80_ms) == (guess, (low, high))
    assert found.wrong_ms == pytest.approx(lost, rel=1e-3)
    told = sd**2 / math.sqrt(sd**2 + error**2)
    after = guess + told * norm.ppf((np.arange(40_000) + 0.5) / 40_000)
    assert found.saves_ms == pytest.approx(np.maximum(after if guess < 0 else -after, 0.0).mean(), rel=1e-3)
