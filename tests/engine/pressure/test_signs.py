"""What the rules take for a sign, the surface now, and the car's own response. By hand."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats

from paddock.engine.pressure.readings import car_log
from paddock.engine.pressure.signs import (
    AxleSigns,
    Sample,
    SurfaceNow,
    all_signs,
    axle_signs,
    hottest_tread,
    learn,
    phases,
    samples_of,
    supporting,
    surface_now,
)
from paddock.model.event import Event
from paddock.model.rows import Row, TreadTempRow, WeatherRow
from paddock.pages.reasons import learned_words, sign_says
from tests.engine.pressure.situations import HOT, ME, after, logged
from tests.engine.pressure.test_rules import told


def tread(
    corner: str, inner: float | None, middle: float | None, outer: float | None, mark: str | None = None
) -> TreadTempRow:
    return TreadTempRow(
        day=1, run=1, number=ME, corner=corner, inner_c=inner, middle_c=middle, outer_c=outer, mark=mark
    )  # type: ignore[arg-type]


# --- signs --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("left", "right", "mark"),
    [
        ("past", "on", "past"), ("short", "on", "on"), ("short", "short", "short"), ("short", "past", None),
        (None, None, None), (None, "past", "past"),
    ],
)  # fmt: skip
def test_the_harder_rolled_tyre_counts(left: str | None, right: str | None, mark: str | None) -> None:
    found = axle_signs([tread("lf", None, None, None, left), tread("rf", None, None, None, right)], 3.0)
    assert (found["front"].mark, found["rear"].mark, found["front"].middle) == (mark, None, None)


@pytest.mark.parametrize(
    ("left", "right", "middle"),
    [
        (3.0, 3.0, "hot"), (2.9, 3.0, "even"), (9.0, -2.9, "hot"), (9.0, -3.0, "even"), (-3.0, -3.0, "cool"),
        (-2.9, -3.0, "even"), (-9.0, 2.9, "cool"), (-9.0, 3.0, "even"), (0.0, 0.0, "even"),
    ],
)  # fmt: skip
def test_a_middle_against_its_edges(left: float, right: float, middle: str) -> None:
    rows = [tread("lr", 44.0, 50.0 + left, 56.0), tread("rr", 50.0, 50.0 + right, 50.0)]
    assert axle_signs(rows, 3.0)["rear"].middle == middle
    assert axle_signs([tread("lr", None, 60.0, 50.0)], 3.0)["rear"].middle is None


def test_what_an_axle_says() -> None:
    assert AxleSigns("past").under
    assert not AxleSigns("on").under
    assert AxleSigns("short", "hot").over
    assert not AxleSigns("short", "even").over
    assert not AxleSigns("on", "hot").over


def test_the_hottest_tread_and_the_phases() -> None:
    assert (
        hottest_tread([tread("lf", 60.0, 70.0, None), tread("rf", 66.0, 66.0, 66.0), tread("lr", None, None, None)])
        == 66.0
    )
    assert hottest_tread([tread("lf", None, None, None)]) is None
    assert phases(None) == {}
    assert phases(logged(1, "-2 0 1 3")) == {"entry": -2, "mid": 0, "exit": 1, "slalom": 3}


def test_every_sign_and_whether_it_counts() -> None:
    found = all_signs(
        {"front": AxleSigns("past", "even"), "rear": AxleSigns(None, "cool")}, {"entry": -2, "mid": 1, "exit": 0}
    )
    assert [(sign.kind, sign.axle, sign.value, sign.counts) for sign in found] == [
        ("mark", "front", "past", True), ("middle", "front", "even", False), ("middle", "rear", "cool", True),
        ("entry", None, "-2", True), ("mid", None, "+1", False), ("exit", None, "0", False),
    ]  # fmt: skip
    assert [sign_says(sign) for sign in found[3:]] == ["understeer", "oversteer, faint", "neutral"]


def test_which_signs_agree() -> None:
    signs = all_signs(
        {"front": AxleSigns("past", "cool"), "rear": AxleSigns("short", "hot")}, {"entry": -2, "mid": 2, "exit": -1}
    )

    def agree(axle: str, up: bool, side: int, *marks: str) -> list[str]:
        return [
            f"{sign.axle or ''} {sign.kind} {sign.value}".strip() for sign in supporting(signs, axle, up, side, marks)
        ]

    assert agree("front", True, -1) == ["front mark past", "front middle cool", "entry -2"]
    assert agree("front", False, 1) == ["mid +2"]
    assert agree("rear", False, 1) == ["rear mark short", "rear middle hot", "mid +2"]
    assert agree("rear", True, -1) == ["entry -2"]
    assert agree("rear", True, -1, "front past") == ["front mark past", "entry -2"]
    assert agree("rear", True, -1, "front on") == ["entry -2"]


# --- surface ------------------------------------------------------------------------------------------------------------


def surface(*rows: Row, times: tuple[str, ...] = ()) -> SurfaceNow:
    of: Event = told(*rows, times=times)
    return surface_now(of, car_log(of, ME), 1)


def test_the_surface_now_and_since_when() -> None:
    assert surface() == SurfaceNow(None, 0, False)
    assert surface(logged(1)) == SurfaceNow("dry", 0, False, False, 540.0)
    assert surface(logged(1), logged(2, surface="damp")) == SurfaceNow("damp", 1, True, True, 600.0)
    thrice = (logged(1), logged(2, surface="damp"), logged(3, surface="damp"))
    assert surface(*thrice) == SurfaceNow("damp", 1, False, True, 600.0)
    assert surface(logged(1, surface="drying")).changing
    dried = (logged(1, surface="damp"), logged(2, surface="dry"), logged(3), logged(4))
    assert surface(*dried) == SurfaceNow("dry", 1, False, True, 600.0)
    rows = (logged(1), logged(2))
    assert surface(WeatherRow(day=1, at="10:30", surface="wet"), *rows) == SurfaceNow("wet", 2, True, True, 630.0)
    assert surface(WeatherRow(day=1, at="08:30", surface="wet"), *rows) == SurfaceNow("dry", 0, False, True, 540.0)
    half = (logged(1, at=None), logged(2))
    wet = WeatherRow(day=1, at="10:30", surface="wet")
    assert surface(wet, *half).word == "dry", "a run without a clock: the weather stands at the day's start"
    assert surface(wet, logged(1, at=None, surface=None), logged(2, surface=None)).word == "wet"
    assert surface(WeatherRow(day=1, surface="wet")) == SurfaceNow("wet", 0, False, True)
    assert surface(WeatherRow(day=2, surface="wet"), logged(1)).word == "dry"
    of = told(logged(1), WeatherRow(day=2, surface="wet"))
    assert surface_now(of, car_log(of, ME), 2) == SurfaceNow("wet", 1, False, True), "after the run of day 1"
    words = ("drying", "standing", "damp", None)
    assert [SurfaceNow(word, 0, False).target for word in words] == ["dry", "wet", "damp", "dry"]


# --- the learned response -----------------------------------------------------------------------------------------------


def test_a_response_by_hand() -> None:
    """Balance = 0.5 (front - 33) exactly over one day: slope 0.5, scatter of whole steps only."""
    fronts = (32.0, 34.0, 33.0, 35.0, 31.0, 33.0, 34.0)
    samples = [Sample(1, place, 0.5 * (psi - 33), psi, 44.0) for place, psi in enumerate(fronts)]
    reference = sm.OLS([item.balance for item in samples], sm.add_constant(np.column_stack([fronts, range(7)]))).fit()
    half = float(stats.t.ppf(0.95, 4) * np.sqrt(reference.normalized_cov_params[1, 1] / 12))
    found = learn(samples, 6, 2.0)
    assert list(found) == ["front"]
    front = found["front"]
    assert (front.slope, front.low, front.high) == (
        pytest.approx(0.5),
        pytest.approx(0.5 - half),
        pytest.approx(0.5 + half),
    )
    assert (front.runs, front.spread_psi) == (7, 4.0)
    assert learned_words(front).startswith(
        "learned from 7 runs over 4.0 psi: front +1 psi brings 0.50 of a step to oversteer"
    )
    assert learn(samples, 8, 2.0) == {}
    assert learn(samples, 7, 4.0) != {}
    assert learn(samples, 7, 4.1) == {}
    assert learn(samples[:4], 4, 2.0) == {}
    assert learn(samples[:5], 4, 2.0) != {}
    flat = [Sample(1, place, 0.5 * (-1) ** place, psi, 44.0) for place, psi in enumerate(fronts)]
    assert learn(flat, 6, 2.0) == {}


def test_which_runs_teach() -> None:
    rows = [
        logged(1, "1 1 -1 -1"), after(1, 34.0, 35.0, 44.0, 45.0), logged(2, mistake=True), after(2, *HOT), logged(3, surface="wet"),
        after(3, *HOT), logged(4),
    ]  # fmt: skip
    of = told(*rows, times=("47", "47", "47", "47"))
    assert samples_of(car_log(of, ME), ME, ("dry",)) == (Sample(1, 0, 0.0, 34.5, 44.5),)
    assert samples_of(car_log(of, ME), "5", ("dry",)) == ()
