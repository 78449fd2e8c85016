"""Which day and which run it is, and the minutes to my next run from the running order and the newest clock times.

None where that can't be told.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from paddock.engine.clock.when import minutes
from paddock.engine.scoring.tables import days_run
from paddock.model.event import Event
from paddock.model.rows import GridRow, RunRow, TimeRow

_NOT_RUN = frozenset({"rerun", "practice"})


def day_in_hand(event: Event, today: date) -> int:
    """The event's day of ``today``; outside the event the latest day run; else 1."""
    days = event.settings.days
    if today in days:
        return days.index(today) + 1
    return max(days_run(event), default=1)


def _timed(event: Event, number: str, day: int) -> set[int]:
    """On a day of practice its runs are counted as well."""
    not_run = {"rerun"} if event.settings.is_practice(day) else _NOT_RUN
    return {
        row.run for row in event.of(TimeRow)
        if row.number == number and row.day == day and row.status not in not_run
        and (row.time_ms is not None or row.status is not None)
    }  # fmt: skip


def last_run(event: Event, number: str, day: int) -> int | None:
    """The number's latest run of the day that has a time or a word for none; None: no run yet."""
    return max(_timed(event, number, day), default=None)


def next_run(event: Event, number: str, day: int) -> int:
    """The run to come: one after the latest; a re-run, or practice on a day that counts, is no run."""
    return (last_run(event, number, day) or 0) + 1


def run_of_others(event: Event, number: str, day: int) -> int:
    """The latest run of the day that anybody but ``number`` has; 0: none has one."""
    return max(
        (
            row.run for row in event.of(TimeRow)
            if row.day == day and row.number != number and row.status not in _NOT_RUN
            and (row.time_ms is not None or row.status is not None)
        ),
        default=0,
    )  # fmt: skip


def run_for_line(event: Event, number: str, day: int, timed: bool) -> int:
    """Where a typed line belongs: a time to the next run; a balance alone to the latest run without one."""
    if timed:
        return next_run(event, number, day)
    last = last_run(event, number, day)
    logged = {row.run: row for row in event.of(RunRow) if row.number == number and row.day == day}
    if last is None or (last in logged and logged[last].entry is not None):
        return (last or 0) + 1
    return last


@dataclass(frozen=True, slots=True)
class Schedule:
    """``minutes`` None: can't be told; negative: it should be on. ``cars_ahead``: starts before mine."""

    run: int
    of: int | None
    order: int | None
    group: str | None
    work_group: str | None
    minutes: float | None
    cars_ahead: int | None


def minutes_since(clock: str, now: datetime) -> float:
    """Minutes from a clock time of today to ``now``; negative: still to come."""
    return now.hour * 60 + now.minute + now.second / 60 - (minutes(clock) or 0.0)


def schedule(event: Event, number: str, day: int, now: datetime) -> Schedule:
    """The next run of the number on the day."""
    run = next_run(event, number, day)
    of = event.settings.runs_on(day)
    grid = {row.number: row for row in event.of(GridRow) if row.day == day}
    mine = grid.get(number)
    if mine is None:
        return Schedule(run, of, None, None, None, None, None)
    ahead = starts_ahead(event, number, day, run) if of is None or run <= of else None
    start = next_start(event, number, day, run) if ahead is not None and _is_today(event, day, now) else None
    minutes = None if start is None else start - (now.hour * 60 + now.minute + now.second / 60)
    cars = max(0, ahead[0] - 1) if ahead else None
    return Schedule(run, of, mine.order, mine.group, mine.work_group, minutes, cars)


def _is_today(event: Event, day: int, now: datetime) -> bool:
    days = event.settings.days
    return day <= len(days) and days[day - 1] == now.date()


def starts_ahead(event: Event, number: str, day: int, run: int) -> tuple[int, float] | None:
    """Starts from the group's newest clocked run to that run of mine, and the minute of the day that one was at.

    None: no place in the order, nobody of the group has a clock, or it is gone by.
    """
    grid = [row for row in event.of(GridRow) if row.day == day]
    mine = next((row for row in grid if row.number == number), None)
    if mine is None or mine.order is None:
        return None
    group = sorted((row for row in grid if row.group == mine.group and row.order is not None), key=_order)
    place = {row.number: at for at, row in enumerate(group)}
    clocked = [row for row in event.times if row.day == day and row.at and row.number in place]
    if not clocked:
        return None
    newest = max(clocked, key=lambda row: (minutes(row.at) or 0.0, row.run, place[row.number]))
    steps = (run - newest.run) * len(group) + place[number] - place[newest.number]
    return (steps, minutes(newest.at) or 0.0) if steps > 0 else None


def _order(row: GridRow) -> int:
    return row.order or 0


def next_start(event: Event, number: str, day: int, run: int) -> float | None:
    """The minute of the day at which that run should begin; None: it can't be told."""
    ahead, interval = starts_ahead(event, number, day, run), event.settings.grid.interval_s
    return None if ahead is None or interval is None else ahead[1] + ahead[0] * interval / 60
