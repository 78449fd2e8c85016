"""Time against hot pressure: seasons with the truth known, and the range of a ratio against its definition."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.engine.field.case import NO_HABITS, Case, Contrast, field_without, own_runs
from paddock.engine.field.own import whitened
from paddock.engine.field.response import PressureCurve, fieller, numbers_of, pressure_curves, quicker_way
from paddock.engine.field.scores import raw_times
from paddock.engine.pressure.moment import moment_of
from paddock.engine.stats.quantiles import t_quantile
from paddock.model.event import Event
from paddock.model.rows import PressureRow, RunRow, SetupChange
from paddock.pages.reasons import timed_words
from tests.engine.field.made import change, of
from tests.engine.pressure.situations import HOT, ME, MORNING, after, clock, logged, now, rubber
from tests.engine.pressure.test_rules import told
from tests.engine.said import reason


def season(seed: int, levels: tuple[float, ...], best: float = 30.0, hill: float = 0.06, days: int = 3) -> list[Event]:
    """Days of 8 controls and ``len(levels)`` runs; the rear at a level a run, in an order of chance; the front still."""
    rng = random.Random(seed)

    def day() -> Event:
        course = [rng.gauss(0.0, 0.3) for _ in levels]
        order = rng.sample(levels, len(levels))

        def drive(pace: float, more: list[float]) -> list[str]:
            return [f"{pace + c + m + rng.gauss(0, 0.25):.3f}" for c, m in zip(course, more, strict=True)]

        mine = drive(45.0, [hill * (psi - best) ** 2 for psi in order])
        others = {str(100 + i): drive(rng.gauss(45.0, 1.0), [0.0] * len(levels)) for i in range(8)}
        rows = [PressureRow(day=1, run=run, number="26", moment="after", lf_psi=32.0, rf_psi=32.0, lr_psi=psi, rr_psi=psi)
                for run, psi in enumerate(order, 1)]  # fmt: skip
        logged = [
            RunRow(day=1, run=run, number="26", mistake=False, surface="dry") for run in range(1, len(levels) + 1)
        ]
        return of(mine, others, *rows, *logged, runs_per_day=len(levels))

    return [day() for _ in range(days)]


WIDE = (25.0, 27.0, 29.0, 31.0, 33.0, 35.0)


def test_the_best_pressure_is_bracketed_and_the_rest_of_the_curve_points_to_it() -> None:
    (curve,) = pressure_curves(season(1, WIDE), "26").values()
    assert curve.axle == "rear"
    assert (curve.runs, curve.days, curve.low_psi, curve.high_psi) == (18, 3, 25.0, 35.0)
    assert curve.best_psi == pytest.approx(30.0, abs=1.2)
    assert curve.best80_psi is not None
    assert curve.best80_psi[0] < curve.best_psi < curve.best80_psi[1]
    assert (curve.way(25.0), curve.way(35.0)) == (1, -1)
    assert curve.way(curve.best_psi) == 0
    assert curve.way(40.0) == 0  # never tried


def test_the_range_of_the_best_pressure_holds_it_four_times_in_five() -> None:
    found = [pressure_curves(season(seed, WIDE), "26")["rear"].best80_psi for seed in range(40)]
    known = [item for item in found if item is not None]
    assert len(known) >= 38
    held = sum(low <= 30.0 <= high for low, high in known)
    assert 26 <= held <= 38  # binomial(40, .8): beyond with under 3 in 100


def test_on_one_side_of_the_hill_it_is_not_bracketed_and_says_which_way() -> None:
    events = season(3, (22.0, 23.0, 24.0, 25.0, 26.0, 27.0), hill=0.08)
    curve = pressure_curves(events, "26")["rear"]
    assert curve.best_psi is None
    way = quicker_way(events, "26", "rear", 24.5)
    assert way is not None
    assert way.up
    assert way.best_psi is None
    assert "not bracketed yet" in timed_words(way)
    assert quicker_way(events, "26", "front", 32.0) is None  # never moved
    assert quicker_way(events, "26", "rear", None) is None


def test_two_pressures_give_a_line_and_no_best() -> None:
    curve = pressure_curves(season(4, (26.0, 26.0, 29.0, 29.0), hill=0.1), "26")["rear"]
    assert curve.bend == 0.0
    assert curve.best_psi is None
    assert curve.way(27.0) == 1


def test_too_few_runs_or_a_pressure_only_met_say_nothing() -> None:
    assert pressure_curves(season(5, (28.0, 30.0), days=2), "26") == {}
    assert pressure_curves(season(5, (28.0, 28.2, 28.4, 28.6)), "26") == {}
    assert pressure_curves([], "26") == {}


def test_a_mistake_and_a_wet_run_teach_nothing() -> None:
    (event,) = season(6, WIDE, days=1)
    rows = event.of(RunRow)
    spoilt = (rows[0].model_copy(update={"mistake": True}), rows[1].model_copy(update={"surface": "wet"}), *rows[2:])
    events = [replace(event, tables={**event.tables, RunRow.FILE: spoilt}), *season(7, WIDE, days=1)]
    assert pressure_curves(events, "26")["rear"].runs == 10


@given(
    top=st.floats(-5, 5), bottom=st.floats(1, 5), a=st.floats(0.01, 0.5), c=st.floats(0.01, 0.2), r=st.floats(-0.9, 0.9)
)
def test_at_the_ends_of_the_range_the_ratio_is_just_off_by_its_reach(
    top: float, bottom: float, a: float, c: float, r: float
) -> None:
    """E. C. Fieller, JRSS B 16, 1954: the ends are where (top - end x bottom) is ``reach`` of its own errors off 0."""
    cov = (a, r * math.sqrt(a * c), c)
    found = fieller(top, bottom, cov, 1.3)
    assert found is not None or bottom**2 <= 1.3**2 * c
    for end in found or ():
        error = math.sqrt(cov[0] - 2 * end * cov[1] + end * end * cov[2])
        assert abs(top - end * bottom) == pytest.approx(1.3 * error, rel=1e-6, abs=1e-9)


def test_my_own_times_give_the_direction_of_the_next_pressure_where_they_tell_one() -> None:
    """Loose with the rear past its mark asks for more pressure by common practice; two days of mine were quicker with
    less.
    """
    last = [MORNING, logged(1, "0 2 0 2"), after(1, *HOT), *rubber(1, "rear", "past")]
    whole = told(*last, runs_per_day=6)
    usual = now(whole)
    assert (usual.rule, usual.moves["lr"]) == ("rear-past", 45.0)
    past = season(3, (40.0, 41.0, 43.0, 45.0, 46.0, 48.0), best=38.0, hill=0.05, days=2)
    timed = moment_of(whole, ME, clock(whole), past=past)
    assert (timed.rule, timed.moves["lr"]) == ("rear-past", 43.0)
    assert "my times over 12 runs: less is quicker by" in reason(timed)


ODD = [(30.0, 26.0), (31.0, 28.0), (29.5, 30.5), (32.0, 29.0), (30.5, 27.0)]
EVEN = [(30.0, 29.0), (31.5, 27.5), (30.5, 31.0), (29.0, 28.0), (31.0, 30.0)]


def two_days() -> list[Event]:
    """A day of each event: both axles moved; the second as number 7 of the same car, its camber changed before run 4 and
    its pressure before run 3.
    """
    rng, made = random.Random(9), []
    for number, psi in (("26", ODD), ("7", EVEN)):
        course = [rng.gauss(0, 0.3) for _ in psi]

        def drive(pace: float, lost: list[float], course: list[float] = course) -> list[str]:
            return [f"{pace + c + x + rng.gauss(0, 0.2):.3f}" for c, x in zip(course, lost, strict=True)]

        mine = drive(46.0, [0.4 * (rear - 29) ** 2 + 0.05 * front for front, rear in psi])
        others = {str(100 + at): drive(rng.gauss(45, 1), [0.0] * 5) for at in range(6)}
        if number != "26":
            others = {number: mine, **others}
            mine = []
        rows = [PressureRow(day=1, run=run, number=number, moment="after", lf_psi=f - 0.5, rf_psi=f + 0.5, lr_psi=r, rr_psi=r)
                for run, (f, r) in enumerate(psi, 1)]  # fmt: skip
        changes = [
            change("camber", 4, setting="camber", number=number), change("psi", 3, setting="rear_pressure", number=number),
        ]  # fmt: skip
        numbers = {"numbers": [number], "cars": {number: "estate"}}
        made.append(of(mine, others, *rows, *(changes if number == "7" else ()), runs_per_day=5, mine=numbers))
    return made[::-1]


def test_both_axles_over_two_days_by_generalised_least_squares() -> None:
    """ln time less the course on both pressures and their squares: whole covariances, one system of normal equations."""
    events = two_days()
    found = pressure_curves(events, "26")
    assert set(found) == {"front", "rear"}
    middles = np.mean(ODD + EVEN, axis=0)
    info, score = np.zeros((4, 4)), np.zeros(4)
    for event, number, psi in zip(events, ("7", "26"), (EVEN, ODD), strict=True):
        times = raw_times(event)
        field = field_without(event, number, times, (1,))
        assert field is not None
        slots = tuple((1, run) for run in range(1, 6))
        camber = (("camber", (False, False, False, True, True)),) if number == "7" else ()
        case = Case(event, SetupChange(id="-"), number, times, dict(times[number]),
                    Contrast("day", (), slots, (False,) * 5, camber))  # fmt: skip
        inverse, gap = whitened(field.fitted, own_runs(case, field, NO_HABITS, alone=True))
        away = np.array(psi) - middles
        x = np.column_stack([away[:, 0], away[:, 0] ** 2, away[:, 1], away[:, 1] ** 2])
        info, score = info + x.T @ inverse @ x, score + x.T @ inverse @ gap
    cov = np.linalg.inv(info)
    value = cov @ score
    for at, axle in enumerate(("front", "rear")):
        curve, k = found[axle], 2 * at
        tried = [psi[at] for psi in ODD + EVEN]
        assert (curve.axle, curve.runs, curve.days, curve.freedom) == (axle, 10, 2, 10 - 2 - 4)
        assert (curve.low_psi, curve.high_psi, curve.middle_psi) == pytest.approx((min(tried), max(tried), middles[at]))
        assert (curve.slope, curve.bend) == pytest.approx((value[k], value[k + 1]))
        assert curve.cov == pytest.approx((cov[k, k], cov[k, k + 1], cov[k + 1, k + 1]))
    rear = found["rear"]
    reach = t_quantile(0.9, 4.0)
    assert rear.best_psi == pytest.approx(middles[1] - value[2] / (2 * value[3]))
    for end in rear.best80_psi or (0.0,):
        steep, error = rear.steepness(end)
        assert abs(steep) == pytest.approx(reach * error), "at the ends of the range it is just level"
    steep, error = rear.steepness(26.0)
    row = np.array([1.0, 2 * (26.0 - middles[1])])
    assert (steep, error) == pytest.approx((row @ value[2:], math.sqrt(row @ cov[2:, 2:] @ row)))


def curve(slope: float, bend: float = 0.0, sd: float = 0.01) -> PressureCurve:
    return PressureCurve("rear", 12, 2, 28.0, 32.0, 30.0, slope, bend, (sd**2, 0.0, 0.0), 8.0)


def test_the_quicker_way_by_hand() -> None:
    """Clear from t(.95, 8) = 1.860 of its errors on, at most 1 psi beyond what was tried; a sloping line or a hill."""
    assert (curve(0.05).way(30.0), curve(-0.05).way(30.0), curve(0.0).way(30.0)) == (-1, 1, 0)
    assert (curve(0.0185).way(30.0), curve(0.0187).way(30.0)) == (0, -1)
    ends = [curve(0.05).way(psi) for psi in (26.9, 27.0, 33.0, 33.1)]
    assert ends == [0, -1, -1, 0]
    hill = curve(0.0, 0.02)
    assert [hill.way(psi) for psi in (29.0, 30.0, 31.0)] == [1, 0, -1]
    assert hill.steepness(31.5) == pytest.approx((0.06, 0.01))


@pytest.mark.parametrize(
    ("front", "bent"), [([30.0, 30.4, 30.8], False), ([30.0, 31.0, 31.4], False), ([30.0, 30.5, 31.0], True)]
)
def test_three_pressures_half_a_psi_apart_make_a_hill(front: list[float], bent: bool) -> None:
    rng = random.Random(3)
    psi = [front[0], front[2], front[1], front[0], front[2], front[1], front[2], front[0]]
    if front == [30.0, 30.4, 30.8]:
        psi = [30.0, 30.4, 30.8, 31.2, 30.8, 30.4, 30.0, 31.2]
    mine = [f"{46 + 0.1 * (p - 30) + rng.gauss(0, 0.1):.3f}" for p in psi]
    others = {str(100 + at): [f"{45 + rng.gauss(0, 0.2):.3f}" for _ in psi] for at in range(5)}
    rows = [PressureRow(day=1, run=run, number="26", moment="after", lf_psi=p, rf_psi=p, lr_psi=29.0, rr_psi=29.0)
            for run, p in enumerate(psi, 1)]  # fmt: skip
    found = pressure_curves([of(mine, others, *rows, runs_per_day=8)], "26")["front"]
    assert (found.bend != 0.0) == bent
    assert found.freedom == 8 - 1 - (2 if bent else 1)


def test_whose_readings_are_mine() -> None:
    event = of(
        [], {"7": []}, mine={"numbers": ["26", "7", "8"], "cars": {"26": "estate", "7": "estate", "8": "runabout"}}
    )
    assert numbers_of(event, "26", "estate") == ["26", "7"]
    assert numbers_of(event, "8", None) == ["8"]
    bare = of([], {}, mine={"numbers": ["26", "7"]})
    assert numbers_of(bare, "26", "estate") == ["26"]
    assert numbers_of(bare, "9", None) == []


@pytest.mark.parametrize(
    ("surface", "mistake", "kept"),
    [("damp", False, 5), ("wet", False, 5), ("drying", False, 6), ("dry", True, 5), (None, False, 6)],
)
def test_runs_that_can_teach(surface: str | None, mistake: bool, kept: int) -> None:
    """Of a day of six: a wet or damp one, or a mistake, teaches nothing; and without one axle's reading none does."""
    (event,) = season(6, WIDE, days=1)
    rows = event.of(RunRow)
    first = rows[0].model_copy(update={"mistake": mistake, "surface": surface})
    changed = replace(event, tables={**event.tables, RunRow.FILE: (first, *rows[1:])})
    other = season(8, WIDE, days=1)
    assert pressure_curves([*other, changed], "26")["rear"].runs == 6 + kept
    one = tuple(row for row in event.of(PressureRow) if row.run == 4)
    single = replace(event, tables={**event.tables, PressureRow.FILE: one})
    assert pressure_curves([*other, single], "26")["rear"].runs == 6, "one run of a day tells nothing"
    half = tuple(
        row.model_copy(update={"lf_psi": None, "rf_psi": None}) if row.run == 2 else row
        for row in event.of(PressureRow)
    )
    unread = replace(event, tables={**event.tables, PressureRow.FILE: half})
    assert pressure_curves([*other, unread], "26")["rear"].runs == 11


def test_an_axle_is_moved_from_one_psi_on_within_a_day() -> None:
    def of_levels(*levels: float) -> dict[str, PressureCurve]:
        return pressure_curves(season(5, levels), "26")

    assert of_levels(28.0, 28.0, 28.9, 28.9) == {}
    assert set(of_levels(28.0, 28.0, 29.0, 29.0)) == {"rear"}


def test_what_is_told_of_the_quicker_way() -> None:
    events = season(3, (22.0, 23.0, 24.0, 25.0, 26.0, 27.0), hill=0.08)
    found, curves = quicker_way(events, "26", "rear", 24.5), pressure_curves(events, "26")
    assert found is not None
    assert (found.runs, found.steep_s) == (18, pytest.approx(abs(curves["rear"].steepness(24.5)[0])))
    over = quicker_way(season(3, (40.0, 41.0, 43.0, 45.0, 46.0, 48.0), best=38.0), "26", "rear", 45.0)
    assert over is not None
    assert not over.up
    assert quicker_way(events, "26", "middle", 24.5) is None
