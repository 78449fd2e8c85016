"""Splits to an answer: tiny exact cases, the sum to the millisecond, the best elements together."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.engine.stats.quantiles import expected_least
from paddock.engine.where.answer import best_together, segments, verdict_of, where
from paddock.engine.where.splits import Pass, SplitRun
from paddock.errors import UsageError
from paddock.model.event import Event
from paddock.session.loading import load
from tests.small import small_event

COURSE = "day,element,name,kind\n1,1,wall,slalom\n1,2,long left,sweeper\n1,3,box,box\n1,4,end,finish\n"
SPLITS = """\
day,run,number,element,at_s,error_s,source
1,3,7,1,12.000,,video
1,3,7,2,25.000,,video
1,3,7,3,40.000,,video
1,4,7,1,12.100,,video
1,4,7,2,24.600,,video
1,4,7,3,39.000,,video
1,5,7,1,12.020,,video
1,5,7,3,38.900,,video
1,3,9,1,11.900,,hand
1,3,9,2,25.000,,hand
1,3,9,3,39.900,,hand
"""


def event(folder: Path, splits: str = SPLITS, course: str = COURSE) -> Event:
    return load(small_event(folder, {"course.csv": course, "splits.csv": splits}))


def test_one_run_against_another(tmp_path: Path) -> None:
    """Run 4 took 46.905, run 3 48.032: by hand."""
    found = where(event(tmp_path), "7", 1, 4, "3")
    assert [(item.name, item.mine_ms, item.theirs_ms, item.delta_ms) for item in found.elements] == [
        ("wall", 12_100, 12_000, 100), ("long left", 12_500, 13_000, -500), ("box", 14_400, 15_000, -600),
        ("end", 7_905, 8_032, -127),
    ]  # fmt: skip
    assert [item.verdict for item in found.elements] == ["lost", "gained", "gained", "gained"]
    assert [item.error_ms for item in found.elements] == [50, 52, 52, 50]
    assert (found.official_delta_ms, found.sum_ms, found.source) == (46_905 - 48_032, 46_905 - 48_032, "video")
    assert found.against == "1.3"


def test_an_element_without_a_mark_in_one_run_is_one_with_the_next(tmp_path: Path) -> None:
    found = where(event(tmp_path), "7", 1, 5, "4")
    assert [(item.element, item.name, item.kind) for item in found.elements] == [
        (1, "wall", "slalom"), (3, "long left + box", "several"), (4, "end", "finish"),
    ]  # fmt: skip
    assert found.sum_ms == found.official_delta_ms


def test_against_the_best_of_each_element_and_another_entry(tmp_path: Path) -> None:
    loaded = event(tmp_path)
    found = where(loaded, "7", 1)
    assert (found.run, found.against) == (5, "best elements")
    assert found.best_elements_ms == 12_000 + 26_880 + 7_677
    assert found.best_elements_unbiased_ms > found.best_elements_ms
    other = where(loaded, "7", 1, 3, against_number="9")
    assert other.against == "number 9, run 1.3"
    assert [item.delta_ms for item in other.elements][:3] == [100, -100, 100]
    assert other.source == "hand,video"


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        ((1, 1, None, None), "run 1 of 7 on day 1 has no splits: runs with splits are 3, 4, 5"),
        ((2, None, None, None), "has no splits"),
        ((1, 3, "3", None), "against itself"),
        ((1, 3, "x", None), "is no run"),
        ((1, 3, "9", None), "run 9 of 7 on day 1 has no splits"),
        ((1, 3, None, "13"), "13 has no splits on day 1"),
    ],
)
def test_what_cannot_be_compared_is_said(tmp_path: Path, asked: tuple[int, int, str, str], why: str) -> None:
    with pytest.raises(UsageError, match=why):
        where(event(tmp_path), "7", *asked)


def test_what_is_missing_is_said(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"course\.csv names no element"):
        where(load(small_event(tmp_path / "a")), "7")
    with pytest.raises(UsageError, match="7 has no splits yet"):
        where(event(tmp_path / "b", "day,run,number,element,at_s\n"), "7")
    with pytest.raises(UsageError, match="the only one of 7"):
        where(event(tmp_path / "c", "day,run,number,element,at_s\n1,3,7,1,12.0\n"), "7")
    other_day = COURSE + "2,1,other,slalom\n2,2,end,finish\n"
    with pytest.raises(UsageError, match="can't be compared"):
        where(event(tmp_path / "d", SPLITS + "2,1,7,1,12.0,,video\n", other_day), "7", 1, 3, "2.1")


def test_a_finish_off_by_marking_scales_and_one_of_another_run_counts_for_nothing(tmp_path: Path) -> None:
    near = SPLITS + "1,3,7,4,48.132,,video\n"
    assert where(event(tmp_path / "a", near), "7", 1, 3, "4").elements[0].mine_ms == round(12_000 * 48_032 / 48_132)
    with pytest.raises(UsageError, match="has no splits"):
        where(event(tmp_path / "b", SPLITS + "1,3,7,4,49.0,,video\n"), "7", 1, 3, "4")


def test_under_two_errors_nothing_is_said() -> None:
    assert [verdict_of(delta, 50) for delta in (0, 99, 100, -99, -100)] == [
        "can't tell", "can't tell", "lost", "can't tell", "gained",
    ]  # fmt: skip


def _run(run: int, ats: list[int], error: int = 26) -> SplitRun:
    passes = {at: Pass(ms, error if 0 < at < len(ats) else 0, "video") for at, ms in enumerate([0, *ats])}
    return SplitRun(1, run, "7", ats[-1], passes)


@given(st.lists(st.lists(st.integers(1, 20_000), min_size=4, max_size=4), min_size=1, max_size=8))
def test_the_best_together_is_no_more_than_any_run_and_never_over_the_mean(steps: list[list[int]]) -> None:
    runs = [_run(at, np.cumsum(step).tolist()) for at, step in enumerate(steps, 1)]
    best, unbiased = best_together(runs, segments([0, 1, 2, 3, 4]))
    assert best == sum(min(step[at] for step in steps) for at in range(4))
    assert best <= unbiased <= sum(np.mean([step[at] for step in steps]) for at in range(4)) + 1


def test_the_least_of_n_normals() -> None:
    """Expected greatest of n standard normals: Harter, Biometrika 48 (1961), table 1 (values from memory)."""
    table = {1: 0.0, 2: 0.56419, 3: 0.84628, 4: 1.02938, 5: 1.16296, 6: 1.26721, 8: 1.42360, 10: 1.53875, 20: 1.86748}
    assert {n: expected_least(n) for n in table} == pytest.approx(table, abs=6e-6)


def test_picking_the_best_parts_is_too_good_by_what_is_taken_off() -> None:
    """Simulated: true times from run to run, marks that err; what was picked, and what it truly took."""
    rng = np.random.default_rng(11)
    naive, fair = [], []
    for _ in range(400):
        true = 10_000 + 90 * rng.standard_normal((5, 8))
        ends = np.cumsum(true, axis=1)
        marked = ends + np.concatenate([20.3 * rng.standard_normal((5, 7)), np.zeros((5, 1))], axis=1)
        runs = [_run(at, np.round(marks).astype(int).tolist()) for at, marks in enumerate(marked, 1)]
        best, unbiased = best_together(runs, segments(list(range(9))))
        seen = np.diff(np.concatenate([np.zeros((5, 1)), marked], axis=1), axis=1)
        picked = true[seen.argmin(axis=0), np.arange(8)].sum()
        naive.append(best - picked)
        fair.append(unbiased - picked)
    assert np.mean(naive) < -50
    assert abs(np.mean(fair)) < 12
