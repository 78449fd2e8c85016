"""What was said, held against what came."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from paddock.engine.field.hindsight import KINDS, AskedForecast, _record, as_it_was, hindsight, replayed
from paddock.model.event import Event
from tests.engine.field.made import drawn
from tests.factories import entrant, event, runs, settings


def test_each_run_but_the_last_is_asked_after_and_every_kind_is_counted() -> None:
    found = drawn(3, controls=6, run_count=4)
    asked = list(replayed(found, "26"))
    assert {item.kind for item in asked} == set(KINDS)
    times = {row.run: row.time_ms for row in found.times if row.number == "26"}
    came = [item.came for item in asked if item.kind == "my next run"]
    assert set(came) <= {times[2], times[3], times[4]}
    records = hindsight([found, drawn(4, controls=6, run_count=4)])
    assert [item.kind for item in records] == list(KINDS)
    assert all(item.n > 0 for item in records)
    assert hindsight([]) == tuple(_record(kind, ()) for kind in KINDS)


def test_nothing_that_came_later_is_seen() -> None:
    """The same answers whatever the runs to come were."""
    found = drawn(5, controls=6, run_count=4)
    later = tuple(
        row.model_copy(update={"time_ms": (row.time_ms or 0) + 5000}) if row.run > 2 else row for row in found.times
    )
    other = replace(found, tables={**found.tables, "times.csv": later})
    assert as_it_was(found, "26", 1, 2) == as_it_was(other, "26", 1, 2)


def test_by_the_clock_where_runs_have_one() -> None:
    """A rival's run 1 that started after my run 1 is not seen; one of a higher number that started before is."""

    def at(number: str, clocks: list[str]) -> list[object]:
        rows = runs(number, 1, *["46.000"] * len(clocks))
        return [row.model_copy(update={"at": clock}) for row, clock in zip(rows, clocks, strict=True)]

    times = [*at("26", ["09:10", "10:10"]), *at("40", ["09:20", "10:20"]), *at("41", ["08:30", "09:05"])]
    made = event([entrant(n) for n in ("26", "40", "41")], times, settings(days=[date(2026, 5, 9)]))  # type: ignore[arg-type]
    seen = as_it_was(made, "26", 1, 1)
    assert {(row.number, row.run) for row in seen.times} == {("26", 1), ("41", 1), ("41", 2)}


def test_a_sure_thing_that_comes_true_scores_nought() -> None:
    asked = [AskedForecast("lead class", p=1.0, happened=True), AskedForecast("lead class", p=0.0, happened=False)]
    found = _record("lead class", asked)
    assert (found.brier, found.brier_base, found.reliability, found.resolution) == (0.0, 0.25, 0.0, 0.25)


def test_the_parts_of_a_brier_score() -> None:
    """reliability - resolution + uncertainty, exact where all chances in a bin are alike. A. H. Murphy, Journal of Applied
    Meteorology 12, 1973; worked by hand: p .9 three times of which two come, p .1 twice of which none does.
    """
    asked = (
        [AskedForecast("lead class", p=0.9, happened=True)] * 2
        + [AskedForecast("lead class", p=0.9)]
        + [AskedForecast("lead class", p=0.1)] * 2
    )
    found = _record("lead class", asked)
    assert found.brier == pytest.approx((2 * 0.01 + 0.81 + 2 * 0.01) / 5)
    assert found.brier_base == pytest.approx(0.4 * 0.6)
    assert found.brier == pytest.approx((found.reliability or 0) - (found.resolution or 0) + (found.brier_base or 0))


def test_ranges_that_were_too_narrow_say_by_how_much() -> None:
    """Twenty answers with half range 100, off by 10, 20 ... 200: the sixteenth is off by 160."""
    asked = [AskedForecast("my next run", 0.0, -100.0, 100.0, 10.0 * i) for i in range(1, 21)]
    found = _record("my next run", asked)
    assert (found.inside80, found.median_error, found.widen) == (0.5, 105.0, 1.6)
    assert _record("my next run", asked[:5]).widen is None


def test_an_event_without_me_has_no_record() -> None:
    nobody = Event("x", settings(mine={"numbers": []}), {})
    assert all(item.n == 0 for item in hindsight([nobody]))
