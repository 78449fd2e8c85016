"""Rows become a frame: which slots there are, who is in it, what a blank stands for."""

from __future__ import annotations

import numpy as np
import pytest

from paddock.engine.field.from_event import group_row, placed
from paddock.engine.field.scores import raw_times
from tests.engine.field.made import in_group
from tests.factories import entrant, event, runs, settings


def test_runs_to_come_follow_the_last_of_the_last_day() -> None:
    times = [*runs("26", 1, "46.0", "46.1", "46.2"), *runs("26", 2, "45.0"), *runs("40", 2, "45.5", "45.6")]
    made = event([entrant("26"), entrant("40")], times, settings())
    found = placed(made, raw_times(made), (1, 2), "26", ahead=2)
    assert found.frame.slots == ((1, 1), (1, 2), (1, 3), (2, 1), (2, 2), (2, 3), (2, 4))
    assert found.frame.numbers == ("26", "40")
    seen = ~np.isnan(found.frame.y)
    assert seen.sum(1).tolist() == [4, 2]
    assert not seen[:, -2:].any()
    assert (found.row("40"), found.row("41")) == (1, None)
    assert placed(made, raw_times(made), (1,), "26").frame.slots == ((1, 1), (1, 2), (1, 3))


def test_a_blank_group_or_kind_is_mine_else_what_most_have() -> None:
    people = [
        entrant("26", drive="rear"), entrant("40", drive="front"), entrant("41", drive="front"), entrant("42"),
    ]  # fmt: skip
    times = [row for number in ("26", "40", "41", "42") for row in runs(number, 1, "46.0", "46.2")]
    grid = [in_group("40", "B"), in_group("41", "B"), in_group("42", "A")]
    made = event(people, times, settings(), *grid)
    mine = placed(made, raw_times(made), (1,), "26")
    assert mine.kinds[mine.frame.kind[3]] == mine.kinds[mine.frame.kind[0]] == ("rear", "")
    assert [mine.groups[at] for at in mine.frame.group[:, 0]] == ["B", "B", "B", "A"], "mine is blank: what most have"
    nobody = placed(made, raw_times(made), (1,))
    assert nobody.kinds[nobody.frame.kind[3]] == ("front", "")
    assert list(group_row(mine, made, "42")) == [mine.groups.index("A")] * 2
    assert list(group_row(mine, made, "99")) == [0, 0]


def test_times_are_told_against_each_driver_s_own_middle() -> None:
    """45 ln(ms): a tenth of a second in 45 is a tenth, whatever the pace."""
    made = event([entrant("26")], runs("26", 1, "45.000", "45.100"), settings())
    frame = placed(made, raw_times(made), (1,), "26").frame
    assert frame.y[0].sum() == pytest.approx(0.0)
    assert frame.y[0, 1] - frame.y[0, 0] == pytest.approx(0.1, abs=2e-4)
    assert frame.base[0] == pytest.approx(45 * np.log(45_050), abs=1e-3)
