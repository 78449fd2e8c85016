"""What was said, held against what came."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from paddock.engine.field import hindsight as hindsight_module
from paddock.engine.field.case import Habits
from paddock.engine.field.hindsight import (
    COLD,
    KINDS,
    NEXT_RUN,
    TREAD,
    AskedForecast,
    ForecastRecord,
    as_it_was,
    cold_record,
    hindsight,
    own_record,
    own_scatter,
    readings_replayed,
    record_of,
    replayed,
    tread_replayed,
)
from paddock.engine.field.verdict import judge
from paddock.model.event import Event
from paddock.model.rows import FittedRow, PressureRow, RunRow, TreadRow, WeatherRow
from paddock.pages.verdict_words import caution_words
from paddock.session.loading import load
from tests.engine.field.made import drawn
from tests.factories import entrant, event, runs, settings
from tests.small import small_event


def test_each_run_but_the_last_is_asked_after_and_every_kind_is_counted() -> None:
    found = drawn(3, controls=6, run_count=4)
    asked = list(replayed(found, "26"))
    assert {item.kind for item in asked} == set(KINDS[:4])
    times = {row.run: row.time_ms for row in found.times if row.number == "26"}
    came = [item.came for item in asked if item.kind == "my next run"]
    assert set(came) <= {times[2], times[3], times[4]}
    records = hindsight([found, drawn(4, controls=6, run_count=4)])
    assert [item.kind for item in records] == list(KINDS)
    assert all(item.n > 0 for item in records[:4])
    assert hindsight([]) == tuple(record_of(kind, ()) for kind in KINDS)


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
    found = record_of("lead class", asked)
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
    found = record_of("lead class", asked)
    assert found.brier == pytest.approx((2 * 0.01 + 0.81 + 2 * 0.01) / 5)
    assert found.brier_base == pytest.approx(0.4 * 0.6)
    assert found.brier == pytest.approx((found.reliability or 0) - (found.resolution or 0) + (found.brier_base or 0))


def test_ranges_that_were_too_narrow_say_by_how_much() -> None:
    """Twenty answers with half range 100, off by 10, 20 ... 200: the sixteenth is off by 160."""
    asked = [AskedForecast("my next run", 0.0, -100.0, 100.0, 10.0 * i) for i in range(1, 21)]
    found = record_of("my next run", asked)
    assert (found.inside80, found.median_error, found.widen) == (0.5, 105.0, 1.6)
    assert record_of("my next run", asked[:5]).widen is None


def test_only_ranges_that_were_too_narrow_are_widened_from_now_on() -> None:
    assert ForecastRecord(NEXT_RUN, 30, 100.0, 0.5, widen=1.6).wider == 1.6
    assert ForecastRecord(NEXT_RUN, 30, 100.0, 0.78, widen=1.2).wider == 1.0
    assert ForecastRecord(NEXT_RUN, 10, 100.0, 0.5).wider == 1.0


def test_the_reading_after_a_run_is_asked_before_it_and_only_its_own_number_s_counts(tmp_path: Path) -> None:
    """A first run from a cold setting; a later reading of the same run number by the car's other driver is not it."""
    event = load(small_event(tmp_path / "e"))
    found = list(readings_replayed(event, "7"))
    assert found
    read = {(row.run, row.lf_psi, row.rf_psi) for row in event.of(PressureRow)
            if row.moment == "after" and row.number == "7"}  # fmt: skip
    means = {round((lf + rf) / 2, 3) for _, lf, rf in read if lf is not None and rf is not None}
    assert {round(item.came, 3) for item in found} & means
    assert all(item.low < item.said < item.high for item in found if item.kind == COLD)
    later = tuple(row for row in event.of(PressureRow) if row.moment != "after")
    assert not list(readings_replayed(replace(event, tables={**event.tables, PressureRow.FILE: later}), "7"))


def test_weather_to_come_says_nothing_about_a_reading(tmp_path: Path) -> None:
    """Rain and a hot afternoon written after the run, with and without clocks of the runs: the same answers."""
    made = load(small_event(tmp_path / "e"))
    blind = tuple(row.model_copy(update={"at": None}) for row in made.times)
    airless = tuple(row.model_copy(update={"air_c": None}) for row in made.of(PressureRow))
    logged = tuple(row.model_copy(update={"at": None}) for row in made.of(RunRow))
    for tables in ({}, {"times.csv": blind, RunRow.FILE: logged, PressureRow.FILE: airless}):
        found = replace(made, tables={**made.tables, **tables})
        last = [row for row in found.of(PressureRow) if row.moment == "after" and row.number == "7"][-1]
        later = [WeatherRow(day=last.day, at="12:54", air_c=38.0, surface="wet"), WeatherRow(day=9, air_c=38.0)]
        weather = (*found.of(WeatherRow), *later)
        other = replace(found, tables={**found.tables, WeatherRow.FILE: weather})
        asked = list(readings_replayed(found, "7"))
        assert asked
        assert list(readings_replayed(other, "7")) == asked


def test_tread_is_worked_forward_from_the_readings_before(tmp_path: Path) -> None:
    """0.1 mm a run over three days, read to the tenth: what was foretold for the third is what came, within the gauge."""
    fitted = [FittedRow(day=1, run=1, number="26", corner=c, tyre=f"t{c}") for c in ("lf", "rf", "lr", "rr")]
    tread = [TreadRow(day=day, tyre="tlf", inner_mm=8.0 - 0.4 * day, middle_mm=8.0 - 0.4 * day, outer_mm=8.0 - 0.4 * day)
             for day in (1, 2, 3)]  # fmt: skip
    times = [row for day in (1, 2, 3) for row in runs("26", day, *["46.000"] * 4)]
    days = [date(2026, 5, 9), date(2026, 5, 10), date(2026, 5, 11)]
    mine = {"numbers": ["26"], "cars": {"26": "estate"}}
    found = list(tread_replayed(event([entrant("26")], times, settings(days=days, mine=mine), *fitted, *tread)))
    assert [item.kind for item in found] == [TREAD] * 3
    assert all(item.came == pytest.approx(6.8) and item.low < 6.8 < item.high for item in found)
    assert all(item.said == pytest.approx(6.8, abs=0.05) for item in found)


def test_my_own_record_counts_days_that_are_over_only() -> None:
    done = replace(drawn(3, controls=6, run_count=4))
    known = {item.kind: item.n for item in own_record([done], "26")}
    assert known == {NEXT_RUN: 3, "lead class": 2, "lead index": 2}, "no pace after one run"
    open_ = replace(done, settings=done.settings.model_copy(update={"runs_per_day": 5}))
    assert {item.kind: item.n for item in own_record([open_], "26")} == {NEXT_RUN: 3, "lead class": 0, "lead index": 0}
    assert own_record([done, done], "26", most=2)[0].n == 2


def test_an_event_without_me_has_no_record() -> None:
    nobody = Event("x", settings(mine={"numbers": []}), {})
    assert all(item.n == 0 for item in hindsight([nobody]))


def _too_narrow(kind: str) -> ForecastRecord:
    return ForecastRecord(kind, 24, 100.0, 0.5, widen=1.8)


def test_a_first_run_is_asked_once_a_day_and_the_car_is_followed_over_its_numbers(tmp_path: Path) -> None:
    made = load(small_event(tmp_path / "e"))
    days = {row.day for row in made.of(PressureRow) if row.number == "7" and row.moment == "after"}
    found = cold_record([made, made], "7")
    assert 0 < found.n <= 2 * 2 * len(days)
    assert found.kind == COLD
    assert (
        list(readings_replayed(made, "7", first=True))
        == [item for item in readings_replayed(made, "7") if item.kind == COLD][: found.n // 2]
    )


def test_my_scatter_is_widened_only_where_my_next_runs_were_told_too_narrow(monkeypatch: pytest.MonkeyPatch) -> None:
    found = drawn(3, controls=6, run_count=4)
    assert own_scatter([found], ["26"]) == {}, "too few answers"
    record = (_too_narrow(NEXT_RUN), ForecastRecord("lead class", 0), ForecastRecord("lead index", 0))
    monkeypatch.setattr(hindsight_module, "own_record", lambda *_: record)
    assert own_scatter([found], ["26"]) == {"26": 1.8}


def test_a_verdict_is_wider_by_my_own_record_and_says_so() -> None:
    found = drawn(3, controls=8, run_count=6)
    usual, wider = judge(found, "c1"), judge(found, "c1", Habits(scatter={"26": 2.0}))
    assert (wider.se_ms or 0) > 1.3 * (usual.se_ms or 0)
    assert "your scatter is taken 2.0 times as wide" in " ".join(caution_words(wider))
    assert "scatter" not in usual.cautions
    assert judge(found, "c1", Habits(scatter={"27": 2.0})) == usual


@pytest.mark.parametrize(("rival", "led"), [("47.000", True), ("46.000", True), ("45.000", False)])
def test_who_led_had_nobody_ahead(rival: str, led: bool) -> None:
    """One rival is slower whatever the other does; a tie at the head is a lead."""
    times = [*runs("26", 1, "46.2", "46.1", "46.0"), *runs("40", 1, "48.2", "48.1", "48.0")]
    times += runs("41", 1, rival, rival, rival)
    people = [entrant(number) for number in ("26", "40", "41")]
    found = [item for item in replayed(event(people, times, settings(runs_per_day=3)), "26") if item.p is not None]
    assert found
    assert {item.happened for item in found} == {led}
