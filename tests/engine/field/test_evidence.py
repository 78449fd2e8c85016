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


def test_sure_enough_is_nine_in_ten_by_scipy() -> None:
    """Six slow runs, eight quick ones over two days: the posterior share of cones that slow runs hit, a flat prior."""
    from scipy.stats import beta

    seen = set()
    for slow in range(5):
        for quick in range(9):
            texts = [f"47.{at:03d}+{slow if at == 0 else 0}" for at in range(3)] + [f"46.{at:03d}" for at in range(3)]
            other = ["47.0", "47.1", "47.2", "46.5", f"46.0+{quick}", "46.1", "46.2", "46.3", "46.4"]
            times = [*runs("26", 1, *texts), *runs("26", 2, *other)]
            found = trade_of([event([entrant("26")], times)], "26")
            sure = beta.cdf(7 / 14, slow + 1, quick + 1)
            ratio = ((slow + 0.5) / 7) / ((quick + 0.5) / 7)
            assert (found.runs, found.enough) == (14, True)
            assert found.clear == (sure >= 0.9 and ratio < 1.0)
            assert found.slower == pytest.approx(math.sqrt(ratio) if found.clear else 1.0)
            assert found.cones == ((slow, quick) if found.clear else (0, 0))
            seen.add(found.clear)
    assert seen == {True, False}


def test_unequal_halves_are_weighed_by_their_runs() -> None:
    """Of most days no run is slower than the middle one: one slow run against eight, then three against ten."""
    from scipy.stats import beta

    quick = ["45.0+2", "46.0", "46.0", "46.0", "47.0"]
    times = [
        *runs("26", 1, *quick),
        *runs("26", 2, *["44.0", "44.5+1", "46.0", "46.0", "46.0"] * 2),
        *runs("26", 3, *["44.0+1", "46.0", "46.0"] * 3),
    ]
    found = trade_of([event([entrant("26")], times)], "26")
    slow_runs, quick_runs = 1, 1 + 4 + 3
    assert found.runs == slow_runs + quick_runs
    assert not found.enough
    more = [
        *times,
        *runs("26", 4, "45.0+1", "46.0", "46.0", "46.0", "47.0"),
        *runs("26", 5, "45.0+1", "46.0", "46.0", "46.0", "47.0"),
    ]
    found = trade_of([event([entrant("26")], more)], "26")
    assert (found.runs, found.enough) == (13, True)
    assert found.clear == bool(beta.cdf(3 / 13, 1, 9) >= 0.9)
    cones = 2 + 2 + 3 + 1 + 1
    assert found.slower == pytest.approx(math.sqrt((0.5 / 3) / ((cones + 0.5) / 10)) if found.clear else 1.0)
