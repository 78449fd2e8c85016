"""Two who drive one car: runs count per car, and each has run numbers of their own."""

from __future__ import annotations

from dataclasses import replace

from paddock.engine.tyres.counts import CarRun, runs_from, uses
from paddock.engine.work import due
from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.rows import Row, SetupChange, TimeRow, WorkRow
from tests.engine.tyres.make import SET, fit
from tests.factories import entrant, event, runs, settings

MINE = {"numbers": ["26", "58"], "cars": {"26": "estate", "58": "estate"}}


def driven(number: str, day: int, *clocks: str) -> list[TimeRow]:
    made = runs(number, day, *["46.500"] * len(clocks))
    return [row.model_copy(update={"at": at or None}) for row, at in zip(made, clocks, strict=True)]


def shared(times: list[TimeRow], *rows: Row, status: str | None = None) -> Event:
    mate = entrant("58").model_copy(update={"status": status})
    made = event([entrant("26"), mate], times, settings(mine=MINE, runs_per_day=3), *rows)
    return replace(made, cars={"estate": Car()})


def when(of: Event, number: str = "26") -> list[str]:
    return [line.when for line in due(of, number)]


MATE = driven("58", 2, "09:00", "09:30", "10:00")
AFTER = WorkRow(id="w", item="oil", due="after the event")


def test_the_event_is_over_when_nobody_of_the_car_has_a_run_left() -> None:
    one_left = MATE + driven("26", 2, "11:00", "11:30")
    assert when(shared(one_left, AFTER)) == when(shared(one_left, AFTER), "58") == ["after the event"]
    assert when(shared(MATE + driven("26", 2, "11:00", "11:30", "12:00"), AFTER)) == ["now the event is over"]


def test_one_who_has_not_run_yet_has_runs_left_one_who_withdrew_has_none() -> None:
    mine = driven("26", 2, "11:00", "11:30", "12:00")
    assert when(shared(mine, AFTER)) == ["after the event"]
    assert when(shared(mine, AFTER, status="withdrawn")) == ["now the event is over"]


def test_a_change_before_my_run_does_not_count_the_run_of_that_number_made_before_it() -> None:
    change = SetupChange(id="c1", day=2, run=3, at="11:45:00", number="26", item="rear wheels")
    times = MATE + driven("26", 2, "11:00", "11:30")
    assert when(shared(times, change)) == ["after the next run"]
    mine = driven("26", 2, "11:00", "11:30", "12:00")
    assert when(shared(MATE + mine, change)) == ["before the next run"]
    later = driven("58", 2, "09:00", "11:50")
    assert when(shared(later + driven("26", 2, "11:00", "11:30"), change)) == ["before the next run"]


RUNS = tuple(CarRun(1, run, at, number, "") for number, run, at in
             (("26", 1, "10:00:20"), ("58", 1, "09:30"), ("58", 2, "10:05"), ("26", 2, "")))  # fmt: skip


def test_the_others_runs_count_from_the_clock_of_mine() -> None:
    def counted(*moment: object) -> list[tuple[str, int]]:
        return [(item.number, item.run) for item in runs_from(RUNS, *moment)]  # type: ignore[arg-type]

    assert counted(1, 1, "", "26") == [("26", 1), ("58", 2), ("26", 2)]
    assert counted(1, 1, "09:20", "26") == [("26", 1), ("58", 1), ("58", 2), ("26", 2)]
    assert counted(1, 1, "11:00", "26") == [("26", 1), ("58", 2), ("26", 2)]
    assert counted(1, 2, "", "26") == [("58", 2), ("26", 2)]
    assert counted(1, 1, "", "58") == [(item.number, item.run) for item in RUNS]
    assert counted(1, 2) == [("58", 2), ("26", 2)]
    assert counted(2) == []
    assert len(counted(0)) == 4


def test_tyres_put_on_before_my_run_did_not_do_the_mates_run_before_it() -> None:
    times = driven("58", 1, "09:00", "09:30") + driven("26", 1, "09:15", "09:45")
    of = shared(times, *fit(1, 1, "58", **SET), *fit(1, 2, "26", lf="E"))
    assert [(use.run.number, use.run.run) for use in uses(of) if use.tyre == "E"] == [("26", 2)]
    assert len([use for use in uses(of) if use.tyre == "A"]) == 3
