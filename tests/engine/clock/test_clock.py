"""Which moment an answer is for, and an event cut to a time."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock import words
from paddock.engine.clock import as_of, cut, stamp_of, stands_at
from paddock.model.event import Event
from paddock.model.rows import NoteRow, PressureRow, Row, RunRow, TimeRow, TreadTempRow, WeatherRow, WorkRow
from tests.factories import entrant, event, runs, settings

DAYS = (date(2026, 5, 9), date(2026, 5, 11))


def timed(day: int, run: int, number: str, at: str | None = None) -> TimeRow:
    return TimeRow(day=day, run=run, number=number, time_ms=45_000, at=at)


def of(*rows: Row) -> Event:
    times = [row for row in rows if isinstance(row, TimeRow)]
    others = [row for row in rows if not isinstance(row, TimeRow)]
    return event([entrant("26"), entrant("45")], times, settings(days=DAYS), *others)


LOG = of(
    timed(1, 1, "26", "09:05"), timed(1, 2, "26", "09:40:30"), timed(1, 2, "45", "09:44"),
    PressureRow(day=1, run=2, number="26", moment="after", at="09:46", lf_psi=30),
    NoteRow(id="a", day=1, at="21:00", text="late"), WeatherRow(day=2, at="08:00", air_c=9),
)  # fmt: skip


def test_on_a_day_of_the_event_now_is_the_machines_clock() -> None:
    found = as_of(LOG, datetime(2026, 5, 9, 9, 43, 12, 99))
    assert (found.time, found.day, found.source) == (datetime(2026, 5, 9, 9, 43, 12), 1, "clock")
    assert found.iso == "2026-05-09T09:43:12"


def test_a_row_later_than_the_clock_is_told_and_counts_as_now() -> None:
    found = as_of(LOG, datetime(2026, 5, 9, 9, 43))
    assert found.later == 2
    assert found.age_min(1, "09:46") == 0.0
    assert found.age_min(1, "09:33") == 10.0
    assert found.age_min(1, None) is None
    assert found.age_min(2, "09:33") is None


@pytest.mark.parametrize("machine", [datetime(2026, 5, 12, 8), datetime(2031, 1, 1)])
def test_afterwards_it_is_a_minute_after_the_latest_time_run_or_reading(machine: datetime) -> None:
    found = as_of(LOG, machine)
    assert (found.iso, found.day, found.source, found.later) == ("2026-05-09T09:47", 1, "rows", 0)


def test_notes_weather_and_work_are_not_the_latest() -> None:
    found = as_of(
        of(RunRow(day=1, run=1, number="26", at="10:00"), NoteRow(id="a", day=2, at="11:00")), datetime(2027, 1, 1)
    )
    assert found.iso == "2026-05-09T10:01"


@pytest.mark.parametrize(("machine", "day"), [((2026, 5, 1), 1), ((2026, 5, 10), 2)])
def test_before_the_first_day_and_on_a_free_day_it_is_the_next_days_beginning(
    machine: tuple[int, int, int], day: int
) -> None:
    rows = () if day == 1 else (timed(1, 1, "26", "09:05"),)
    found = as_of(of(*rows), datetime(*machine, 15))
    assert (found.day, found.iso, found.clocked) == (day, DAYS[day - 1].isoformat(), False)


def test_what_is_logged_for_a_day_to_come_counts_as_now() -> None:
    assert as_of(LOG, datetime(2026, 5, 1)).iso == "2026-05-09T09:47"


def test_without_any_clock_only_the_date_is_known() -> None:
    found = as_of(of(timed(1, 1, "26"), timed(2, 1, "26")), datetime(2030, 1, 1))
    assert (found.iso, found.day) == ("2026-05-11", 2)


def test_asked_is_asked() -> None:
    found = as_of(LOG, datetime(2026, 5, 9, 9, 43), datetime(2026, 5, 10, 12))
    assert (found.iso, found.day, found.source, found.later) == ("2026-05-10T12:00", 2, "asked", 0)


def test_an_event_without_days_has_only_the_machines_date() -> None:
    found = as_of(event([], [], settings(days=())), datetime(2026, 5, 9, 9, 43))
    assert (found.day, found.clocked) == (1, False)


def kept(found: Event, kind: type[Row]) -> list[int]:
    return [getattr(row, "run", 0) for row in found.of(kind)]


@pytest.mark.parametrize(
    ("clock", "mine"), [("09:04", []), ("09:05", [1]), ("09:40", [1]), ("09:40:30", [1, 2]), ("23:59", [1, 2, 2])]
)
def test_a_row_with_a_clock_stands_at_it(clock: str, mine: list[int]) -> None:
    assert kept(cut(LOG, datetime.fromisoformat(f"2026-05-09T{clock}")), TimeRow) == mine


def test_a_row_without_a_clock_stands_at_its_run() -> None:
    event_ = of(
        timed(1, 1, "26"), timed(1, 2, "26"), RunRow(day=1, run=1, number="26", at="09:05"),
        RunRow(day=1, run=2, number="26", at="09:40"), TreadTempRow(day=1, run=2, number="26", corner="lf", inner_c=20),
        PressureRow(day=1, run=2, number="26", moment="before", lf_psi=30),
    )  # fmt: skip
    early, late = (cut(event_, datetime(2026, 5, 9, 9, minute)) for minute in (39, 40))
    assert [kept(early, kind) for kind in (TimeRow, RunRow, TreadTempRow, PressureRow)] == [[1], [1], [], []]
    assert [kept(late, kind) for kind in (TimeRow, RunRow, TreadTempRow, PressureRow)] == [[1, 2], [1, 2], [2], [2]]


def test_a_rivals_row_without_a_clock_stands_at_the_latest_of_that_run() -> None:
    event_ = of(timed(1, 1, "45"), timed(1, 1, "26", "09:05"), timed(1, 1, "12", "09:20"), timed(1, 2, "45"))
    assert kept(cut(event_, datetime(2026, 5, 9, 9, 19)), TimeRow) == [1]
    assert kept(cut(event_, datetime(2026, 5, 9, 9, 20)), TimeRow) == [1, 1, 1, 2]


def test_a_reading_gives_its_run_a_clock_and_the_one_after_it_is_nearer() -> None:
    event_ = of(
        timed(1, 1, "26"), PressureRow(day=1, run=1, number="26", moment="before", at="09:00", lf_psi=30),
        PressureRow(day=1, run=1, number="26", moment="after", at="09:12", lf_psi=33),
    )  # fmt: skip
    assert stands_at(event_)(event_.times[0]) == datetime(2026, 5, 9, 9, 12)


def test_a_row_of_a_day_alone_stands_at_its_beginning_and_one_without_a_day_before() -> None:
    event_ = of(PressureRow(day=2, number="26", moment="cold", lf_psi=28), NoteRow(id="a", text="from last time"))
    early = cut(event_, datetime(2026, 5, 10, 23, 59))
    assert not early.of(PressureRow)
    assert early.of(NoteRow)
    assert cut(event_, datetime(2026, 5, 11)).of(PressureRow)


def test_work_opened_later_is_gone_and_work_done_later_is_open_again() -> None:
    event_ = of(
        timed(1, 1, "26", "09:05"), WorkRow(id="a", opened="day 1 08:00", item="nuts", done="day 1 09:30"),
        WorkRow(id="b", opened="2026-05-09 10:00", item="jam nut"), WorkRow(id="c", item="brake fluid", done="yes"),
        WorkRow(id="d", opened="day 1 run 1", item="end link"),
    )  # fmt: skip
    found = {row.id: row.done for row in cut(event_, datetime(2026, 5, 9, 9, 15)).of(WorkRow)}
    assert found == {"a": None, "c": "yes", "d": None}
    assert {row.id: row.done for row in cut(event_, datetime(2026, 5, 9, 10, 15)).of(WorkRow)}["a"] == "day 1 09:30"


clocks = st.none() | st.times().map(lambda at: at.strftime("%H:%M:%S"))
some_runs = st.builds(timed, st.integers(1, 2), st.integers(1, 4), st.sampled_from(["26", "45"]), clocks)
some_readings = st.builds(
    PressureRow, day=st.integers(1, 2), run=st.none() | st.integers(1, 4), number=st.just("26"),
    moment=st.sampled_from(["cold", "before", "after", "set"]), at=clocks, lf_psi=st.just(30.0),
)  # fmt: skip
moments = st.datetimes(datetime(2026, 5, 8), datetime(2026, 5, 13))


@given(st.lists(some_runs | some_readings, max_size=12), moments, st.timedeltas(timedelta(), timedelta(days=2)))
def test_time_only_adds_rows_and_in_the_end_all_are_seen(rows: list[Row], at: datetime, later: timedelta) -> None:
    event_ = of(*rows)
    early, late, end = (cut(event_, moment) for moment in (at, at + later, datetime(2026, 5, 12)))
    for kind in (TimeRow, PressureRow):
        assert set(map(id, early.of(kind))) <= set(map(id, late.of(kind)))
        assert end.of(kind) == event_.of(kind)


@given(st.lists(some_runs | some_readings, max_size=12), moments)
def test_nothing_with_a_later_clock_is_seen(rows: list[Row], at: datetime) -> None:
    found = cut(of(*rows), at)
    for row in (*found.times, *found.of(PressureRow)):
        assert row.at is None or datetime.fromisoformat(f"{DAYS[row.day - 1]}T{row.at}") <= at  # type: ignore[attr-defined]


@given(st.lists(some_runs | some_readings, max_size=12), moments)
def test_the_moment_is_never_before_a_row_unless_that_is_told(rows: list[Row], machine: datetime) -> None:
    found = as_of(of(*rows), machine)
    later = [
        row for row in rows
        if row.at and datetime.fromisoformat(f"{DAYS[row.day - 1]}T{row.at}") > found.time  # type: ignore[attr-defined]
    ]  # fmt: skip
    assert found.later == len(later)
    assert 1 <= found.day <= 2


def test_a_cut_event_without_days_is_whole() -> None:
    event_ = event([entrant("26")], runs("26", 1, "46.512"), settings(days=()))
    assert cut(event_, datetime(2026, 5, 9)) is event_


def test_stamps_are_read_as_people_write_them() -> None:
    assert (stamp_of("day 2 12:26", LOG).day, stamp_of("day 2 12:26", LOG).minute) == (2, 746.0)
    assert (stamp_of("1/2", LOG).day, stamp_of("1/2", LOG).run) == (1, 2)
    assert stamp_of("2026-05-11 09:00", LOG).day == 2
    assert stamp_of("whenever", LOG).day is None


@pytest.mark.parametrize(
    ("machine", "asked", "said"),
    [
        (datetime(2026, 5, 9, 9, 43), None, ""),
        (datetime(2026, 6, 1), None, "as of Sat 09:47"),
        (datetime(2026, 5, 9, 9, 43), datetime(2026, 5, 11, 12, 58), "as of Mon 12:58"),
    ],
)
def test_as_of_is_said_wherever_it_is_not_simply_now(machine: datetime, asked: datetime | None, said: str) -> None:
    assert words.as_of(as_of(LOG, machine, asked)) == said
