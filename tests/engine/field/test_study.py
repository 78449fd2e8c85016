"""A small piece of the study, its seed fixed: the words' promise held against days with the truth known."""

from __future__ import annotations

import math
import random

import pytest

from tests.studies import study

DAYS, STUDY = study("field_days"), study("field_study")


def test_the_study_draws_the_twelve_kinds() -> None:
    assert len(DAYS.KINDS) == 12
    for kind in (*DAYS.KINDS, *DAYS.BOLD):
        day = DAYS.draw(kind, random.Random(1), -0.2)
        assert len(day.event.entrants) > 3
        assert day.event.times


@pytest.mark.parametrize("at", [0, 3, 5, 10])
def test_ranges_hold_and_nothing_is_not_sold_as_something(at: int) -> None:
    """Thirty days a kind: about four ranges in five hold the truth, and "very likely" is not said of nothing."""
    kind = DAYS.KINDS[at]
    told, unsaid = STUDY.judged(kind, kind.effect_s, 30, seed=5)
    assert unsaid == 0
    assert 19 <= sum(item.low <= item.truth <= item.high for item in told) <= 30
    error = math.sqrt(sum((item.guess - item.truth) ** 2 for item in told))
    assert error < 1.1 * math.sqrt(sum(item.truth**2 for item in told))
    nulls, _ = STUDY.judged(kind, 0.0, 30, seed=5)
    assert sum(item.sure >= 0.95 for item in nulls) <= 2


def test_a_stub_that_always_says_cant_tell_would_fail() -> None:
    """Old-new-new-old over eight runs with effects of half a second: "very likely" is said, and is right."""
    kind = DAYS.BOLD[1]
    told, _ = STUDY.judged(kind, kind.effect_s, 30, seed=5)
    very = [item for item in told if item.sure >= 0.95]
    assert len(very) >= 5
    assert sum(item.right for item in very) >= len(very) - 1


def test_bars_are_missed_beyond_two_simulation_errors_only() -> None:
    assert STUDY._share(75, 100, 0.76, 0.88).holds
    assert not STUDY._share(60, 100, 0.76, 0.88).holds
    assert not STUDY._share(10, 100, high=0.04).holds
