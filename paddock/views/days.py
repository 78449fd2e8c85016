"""Which day and which run it is."""

from __future__ import annotations

from datetime import date

from paddock.engine.scoring.tables import days_run
from paddock.model.event import Event
from paddock.model.rows import RunRow, TimeRow

_NOT_RUN = frozenset({"rerun", "practice"})


def day_in_hand(event: Event, today: date) -> int:
    """The event's day of ``today``; outside the event the latest day run; else 1."""
    days = event.settings.days
    if today in days:
        return days.index(today) + 1
    return max(days_run(event), default=1)


def _timed(event: Event, number: str, day: int) -> set[int]:
    return {
        row.run for row in event.of(TimeRow)
        if row.number == number and row.day == day and row.status not in _NOT_RUN
        and (row.time_ms is not None or row.status is not None)
    }  # fmt: skip


def last_run(event: Event, number: str, day: int) -> int | None:
    """The number's latest run of the day that has a time or a word for none; None: no run yet."""
    return max(_timed(event, number, day), default=None)


def next_run(event: Event, number: str, day: int) -> int:
    """The run to come: one after the latest; a re-run or practice doesn't count as run."""
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
