"""Whether slower runs of mine hit fewer cones."""

from __future__ import annotations

import math

import pytest

from paddock.engine.field.evidence import Trade, trade_of
from paddock.model.event import Event
from paddock.model.rows import RunRow
from tests.factories import entrant, event, runs


def _event(written: list[str], *rows: RunRow) -> Event:
    return event([entrant("26")], runs("26", 1, *written), None, *rows)


def _paired(count: int, slow: int, quick: int) -> list[str]:
    """``count`` slow runs and as many quick ones, with so many cones each."""
    return [text for at in range(count) for text in (f"47.{at:03d}+{slow}", f"46.{at:03d}+{quick}")]


def test_twelve_runs_are_enough_and_eleven_are_not() -> None:
    """Of six slow and six quick runs with 0 and 2 cones: (0 + .5) / (12 + .5), a run half a scatter slower its root."""
    found = trade_of([_event(_paired(6, 0, 2))], "26")
    assert (found.runs, found.enough, found.clear, found.cones) == (12, True, True, (0, 12))
    assert found.slower == pytest.approx(math.sqrt(0.5 / 12.5))
    assert trade_of([_event(_paired(6, 0, 2)[:11])], "26") == Trade(10, False), "the middle one of eleven is neither"
    assert trade_of([_event(_paired(3, 0, 2))] * 2, "26").enough, "events count together, each day about its own middle"


@pytest.mark.parametrize("written", [_paired(6, 1, 1), _paired(6, 2, 0), [*_paired(5, 0, 0), *_paired(1, 0, 1)]])
def test_no_difference_or_the_other_way_round_is_no_evidence(written: list[str]) -> None:
    found = trade_of([_event(written)], "26")
    assert (found.enough, found.clear, found.slower, found.cones) == (True, False, 1.0, (0, 0))


def test_runs_that_say_nothing_are_passed_over() -> None:
    alike = _event(["46.000"] * 14)
    assert trade_of([alike], "26") == Trade(0, False), "none is slower than the middle"
    one_side = _event([*["46.000+1"] * 14, *["45.000"] * 12])
    assert trade_of([one_side], "26") == Trade(12, False), "and none here either"
    assert trade_of([_event(_paired(6, 0, 2))], "27") == Trade(0, False)
    spoilt = [*_paired(6, 0, 2), "90.000+9", "91.000+9", "dnf"]
    wrong = [RunRow(day=1, run=run, number="26", mistake=True) for run in (13, 14)]
    assert trade_of([_event(spoilt, *wrong)], "26") == trade_of([_event(_paired(6, 0, 2))], "26")
