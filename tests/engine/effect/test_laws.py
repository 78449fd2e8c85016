"""What must hold for every event."""

from __future__ import annotations

import random
from statistics import fmean

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paddock.engine.effect import judge
from paddock.engine.effect.prior import shrink
from paddock.engine.effect.verdict import VERDICTS
from paddock.engine.stats.quantiles import t_cdf, t_quantile
from paddock.model.event import Event
from paddock.model.rows import ChangeRow
from tests.engine.effect.made import drawn

SEEDS = st.integers(0, 100_000)


def _scaled(event: Event, run: int, by: float) -> Event:
    times = tuple(
        row.model_copy(update={"time_ms": round(row.time_ms * by)}) if row.run == run and row.time_ms else row
        for row in event.times
    )
    return Event(event.name, event.settings, {**event.tables, "times.csv": times})


@settings(max_examples=40, deadline=None)
@given(SEEDS, st.integers(1, 6), st.floats(0.8, 1.25), st.sampled_from([4, 5, 6]))
def test_a_slower_course_in_one_run_changes_nothing(seed: int, run: int, by: float, runs: int) -> None:
    """Up to rounding to whole milliseconds: the effect as a share of the time, its error and its probability."""
    event = drawn(seed, run_count=runs)
    before, after = judge(event, "c1"), judge(_scaled(event, run, by), "c1")
    assert before.time_ms is not None
    assert after.time_ms is not None
    for name in ("extra_ms", "se_ms", "shrunk_ms"):
        share = getattr(before, name) / before.time_ms
        assert getattr(after, name) / after.time_ms == pytest.approx(share, abs=4e-5)
    assert after.p_helped == pytest.approx(before.p_helped, abs=0.01)


def _swapped(event: Event) -> Event:
    """Runs 1, 2 and 3, 4 change places."""
    times = tuple(row.model_copy(update={"run": {1: 3, 2: 4, 3: 1, 4: 2}[row.run]}) for row in event.times)
    return Event(event.name, event.settings, {**event.tables, "times.csv": times})


@settings(max_examples=40, deadline=None)
@given(SEEDS)
def test_swapping_before_and_after_flips_the_sign(seed: int) -> None:
    event = drawn(seed)
    one, other = judge(event, "c1"), judge(_swapped(event), "c1")
    for name in ("extra_ms", "my_change_ms", "field_change_ms", "shrunk_ms"):
        assert getattr(one, name) == pytest.approx(-getattr(other, name), abs=1e-3)
    assert one.p_helped == pytest.approx(1 - (other.p_helped or 0), abs=1e-5)
    assert one.interval80_ms == pytest.approx(tuple(-value for value in reversed(other.interval80_ms or ())), abs=1e-6)


def test_more_controls_do_not_widen_the_range_on_average() -> None:
    def width(controls: int) -> float:
        ranges = [judge(drawn(seed, controls), "c1").interval80_ms for seed in range(120)]
        return fmean(high - low for low, high in ranges)  # type: ignore[misc]

    widths = [width(count) for count in (2, 3, 5, 8, 14)]
    assert widths == sorted(widths, reverse=True)


@settings(max_examples=30, deadline=None)
@given(SEEDS, st.integers(0, 9), st.integers(2, 6))
def test_no_data_no_claim(seed: int, controls: int, runs: int) -> None:
    effect = judge(drawn(seed, controls, runs), "c1")
    assert effect.verdict in VERDICTS
    assert (effect.se_ms is None) == (controls < 2)
    assert (effect.p_helped is None) == (controls < 3)
    if effect.p_helped is None:
        assert effect.verdict == "can't tell"
    bare = Event("bare", drawn(seed).settings, {"changes.csv": drawn(seed).of(ChangeRow)})
    assert judge(bare, "c1").my_change_ms is None


def test_nothing_changed_gives_even_chances() -> None:
    found = [judge(drawn(seed), "c1").p_helped or 0.0 for seed in range(300)]
    assert fmean(found) == pytest.approx(0.5, abs=0.04)
    assert sum(1 for value in found if value > 0.95 or value < 0.05) < 0.1 * len(found)


def test_the_shrunk_range_holds_the_truth_four_times_in_five() -> None:
    """Effects drawn from the prior, runs without mistakes."""
    rng = random.Random(5)
    hits = 0
    for seed in range(400):
        truth = rng.gauss(0.0, 0.2)
        effect = judge(drawn(seed, effect_s=truth, odd=0.0), "c1")
        low, high = effect.shrunk_interval80_ms or (0.0, 0.0)
        hits += low <= truth * 1000 <= high
    assert hits / 400 == pytest.approx(0.8, abs=0.05)


@settings(max_examples=60, deadline=None)
@given(st.floats(-3, 3), st.floats(0.01, 3), st.floats(1, 30), st.floats(0.05, 1))
def test_shrinking_moves_towards_nothing(effect: float, error: float, df: float, sd: float) -> None:
    left = shrink(effect, error, df, sd)
    assert min(0.0, effect) - 1e-4 <= left.mean <= max(0.0, effect) + 1e-4
    assert left.low < left.high
    assert left.p_faster == pytest.approx(1 - shrink(-effect, error, df, sd).p_faster)
    assert shrink(effect - 0.1, error, df, sd).p_faster >= left.p_faster
    assert shrink(effect, error, df, 1e6).mean == pytest.approx(effect)


def test_shrinking_by_hand() -> None:
    """Error and prior equal: half the effect, 1/sqrt 2 of the error, t of D / se / sqrt 2."""
    left = shrink(-0.4, 0.2, 7, 0.2)
    assert left.mean == pytest.approx(-0.2)
    assert left.p_faster == pytest.approx(t_cdf(2**0.5, 7))
    assert left.high - left.mean == pytest.approx(t_quantile(0.9, 7) * 0.2 / 2**0.5)
