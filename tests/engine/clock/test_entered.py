"""Rows whose clocks disagree with the order they were entered in: a clock set back, a second device's."""

from __future__ import annotations

from datetime import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.engine.check.sift import doubts
from paddock.engine.clock import as_of
from paddock.engine.clock.when import settled
from paddock.engine.pressure.moment import moment_of
from paddock.engine.pressure.readings import CarLog, car_log
from paddock.engine.pressure.signs import surface_now
from paddock.errors import Problem
from paddock.model.event import Event
from paddock.model.rows import PressureRow, Row, RunRow, TimeRow, WeatherRow
from paddock.pages.home import weather_words
from tests.engine.said import cautions
from tests.factories import entrant, event, settings


def read(moment: str, run: int | None, at: str | None, psi: float = 30.0, number: str = "26") -> PressureRow:
    corners = dict.fromkeys(("lf_psi", "rf_psi", "lr_psi", "rr_psi"), psi)
    return PressureRow.model_validate({"day": 1, "run": run, "number": number, "moment": moment, "at": at, **corners})


def ran(run: int, at: str | None, number: str = "26") -> TimeRow:
    return TimeRow(day=1, run=run, number=number, time_ms=45_000, at=at)


def of(*rows: Row) -> Event:
    times = [row for row in rows if isinstance(row, TimeRow)]
    return event(
        [entrant("26")], times, settings(runs_per_day=4), *(row for row in rows if not isinstance(row, TimeRow))
    )


def order(log: CarLog) -> list[tuple[str, int]]:
    return [
        (what.moment, what.run or 0) if isinstance(what, PressureRow) else ("run", what.run)
        for what in (item.what for item in log.items)
    ]


BACK = (
    ran(1, "10:00"), ran(2, "10:36"), ran(3, "09:50"),
    read("cold", None, "09:10", 28), read("after", 1, "10:04", 33), read("after", 2, "10:40", 34),
    read("before", 3, "09:48", 31), read("after", 3, "09:54", 36),
)  # fmt: skip
"""After run 2 the clock was set back an hour."""


def test_a_clock_set_back_leaves_the_order_of_the_entries() -> None:
    log = car_log(of(*BACK), "26")
    assert order(log) == [
        ("cold", 0), ("run", 1), ("after", 1), ("run", 2), ("after", 2), ("before", 3), ("run", 3), ("after", 3),
    ]  # fmt: skip
    assert log.latest is not None
    assert (log.latest.row.at, log.latest.timed.runs_today) == ("09:54", 3)


@pytest.mark.parametrize("third", [None, "09:50"])
def test_a_run_without_a_clock_before_it_still_stands_after_the_readings_of_the_run_before(third: str | None) -> None:
    rows = (ran(1, None), ran(2, None), ran(3, third), *BACK[3:])
    assert order(car_log(of(*rows), "26"))[-3:] == [("before", 3), ("run", 3), ("after", 3)]


def test_of_two_readings_after_one_run_the_last_entered_is_the_newest() -> None:
    log = car_log(of(ran(1, "10:36"), read("after", 1, "10:40", 36), read("after", 1, "09:45", 31)), "26")
    assert log.latest is not None
    assert log.latest.row.at == "09:45"


def test_what_is_typed_late_from_paper_is_no_disagreement() -> None:
    log = car_log(of(ran(2, "10:36"), ran(3, "11:16"), read("after", 3, "11:20", 36), read("after", 2, "10:40")), "26")
    assert log.latest is not None
    assert log.latest.row.run == 3
    assert not log.doubts


def test_the_answer_stands_on_the_new_reading_and_says_so() -> None:
    found = of(*BACK)
    told = moment_of(found, "26", as_of(found, datetime(2026, 5, 9, 9, 56)))
    assert told.now is not None
    assert set(told.now.as_dict().values()) == {36}
    said = [text for text in cautions(told) if "clock" in text]
    assert len(said) == 2
    assert "09:54 is before 10:40 of a row entered earlier: taken as later" in said[1]


def words(*rows: Row) -> list[str]:
    lined = [row.model_copy(update={"line": line}) for line, row in enumerate(rows, 2)]
    found: list[Problem] = doubts(lined)
    return [f"{problem.file}:{problem.line}: {problem.message}" for problem in found if "clock" in problem.message]


def test_check_warns_once_a_file_day_and_entry() -> None:
    readings, times = BACK[3:], BACK[:3]
    assert len(words(*readings)) == len(words(*times)) == 1
    assert words(*readings)[0].startswith("pressures.csv:5: 09:48 is before 10:40 of line 4, entered earlier")
    assert words(*times)[0].startswith("times.csv:4: 09:50 is before 10:36 of line 3")
    assert words(ran(1, "10:00"), ran(1, "09:20", "44"), ran(2, "10:40"), ran(2, "10:02", "44")) == []
    assert words(RunRow(day=1, run=1, number="26", at="10:00"), RunRow(day=1, run=2, number="26", at="09:10"))
    assert words(read("after", 3, "11:20"), read("after", 2, "10:40")) == []


def test_a_run_driven_again_may_be_listed_in_any_order() -> None:
    again = ran(1, "10:00").model_copy(update={"status": "rerun", "try_": "a"})
    assert words(ran(1, "10:20"), again) == []


WET = (
    WeatherRow(day=1, at="10:30", air_c=20, surface="dry"), WeatherRow(day=1, at="09:45", air_c=14, surface="wet"),
)  # fmt: skip


def test_the_weather_entered_last_is_the_newest() -> None:
    found = of(*WET)
    assert surface_now(found, car_log(found, "26"), 1).word == "wet"
    assert weather_words(found, 1) == "wet, air 14 °C"
    assert len(words(*WET)) == 1


MARKS = st.lists(st.tuples(st.tuples(st.integers(1, 4), st.integers(0, 4)), st.none() | st.floats(0, 1440)), max_size=9)


@given(MARKS)
def test_no_row_stands_before_one_that_entry_and_log_put_before_it(rows: list[tuple[tuple[int, int], float]]) -> None:
    found = settled(rows)
    assert [minute is None for minute in found] == [minute is None for _, minute in rows]
    for later, (place, given_) in enumerate(rows):
        before = [
            found[at] for at in range(later) if rows[at][0] <= place and found[at] is not None and given_ is not None
        ]
        assert found[later] == (None if given_ is None else max([given_, *(value or 0.0 for value in before)]))


@given(MARKS)
def test_clocks_that_agree_are_left_alone(rows: list[tuple[tuple[int, int], float]]) -> None:
    known = sorted(minute for _, minute in rows if minute is not None)
    agreeing = [(place, minute) for (place, _), minute in zip(rows, known, strict=False)]
    assert settled(agreeing) == known[: len(agreeing)]
