"""Time against hot pressure: seasons with the truth known, and the range of a ratio against its definition."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.engine.field.response import fieller, pressure_curves, quicker_way
from paddock.engine.pressure.moment import moment_of
from paddock.model.event import Event
from paddock.model.rows import PressureRow, RunRow
from paddock.pages.reasons import timed_words
from tests.engine.field.made import of
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
    from dataclasses import replace

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
