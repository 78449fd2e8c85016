"""An event as it was at a time: the rows up to it, nothing later.

A row with a clock stands at it. One without stands at its run: at the clock that the same entry's run has in another
file, else at the latest clock of anybody's run of that number, else where the run before it stands. A row without a
run stands at the beginning of its day, one without a day before the event. Times are those of starts, as logged.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta

from paddock.engine.clock.stamps import minutes, stamp_of
from paddock.model.event import Event
from paddock.model.rows import PressureRow, Row, RunRow, TimeRow, WorkRow


def _clocks(event: Event) -> tuple[dict[tuple[int, int, str], float], dict[tuple[int, int], float]]:
    """Minutes of each entry's run from any file, and the latest of anybody's run of that number."""
    own: dict[tuple[int, int, str], float] = {}
    anybody: dict[tuple[int, int], float] = {}
    ran: list[TimeRow | RunRow] = [*event.times, *event.of(RunRow)]
    for row in ran:
        if (minute := minutes(row.at)) is not None:
            own.setdefault((row.day, row.run, row.number), minute)
            anybody[row.day, row.run] = max(minute, anybody.get((row.day, row.run), 0.0))
    for reading in sorted(event.of(PressureRow), key=lambda row: row.moment != "after"):
        if reading.run is not None and (minute := minutes(reading.at)) is not None:
            own.setdefault((reading.day, reading.run, reading.number), minute)
    return own, anybody


def stands_at(event: Event) -> Callable[[Row], datetime | None]:
    """A function from a row to when it was; None: before the event, or not to be told."""
    days = event.settings.days
    own, anybody = _clocks(event)

    def of_run(day: int, run: int, number: str) -> float:
        if (day, run, number) in own:
            return own[day, run, number]
        earlier = (minute for (its_day, its_run), minute in anybody.items() if its_day == day and its_run <= run)
        return anybody.get((day, run), max(earlier, default=0.0))

    def placed(day: int | None, run: int | None, minute: float | None, number: str) -> datetime | None:
        if not day or day > len(days):
            return None
        if minute is None:
            minute = of_run(day, run, number) if run else 0.0
        return datetime.combine(days[day - 1], datetime.min.time()) + timedelta(seconds=round(minute * 60))

    def at(row: Row) -> datetime | None:
        if isinstance(row, WorkRow):
            opened = stamp_of(row.opened, event)
            return placed(opened.day, opened.run, opened.minute, "")
        day, run, clock, number = (getattr(row, name, None) for name in ("day", "run", "at", "number"))
        return placed(day, run, minutes(clock), number or "")

    return at


def cut(event: Event, at: datetime) -> Event:
    """The event as it was at ``at``: rows that stand later are gone, work done later is open again.

    Settings, cars, entrants, the running order and the tyres owned are as they are now: nobody wrote down since when.
    ``problems`` stay. An event without days comes back whole.
    """
    if not event.settings.days:
        return event
    stands = stands_at(event)

    def seen(row: Row) -> bool:
        moment = stands(row)
        return moment is None or moment <= at

    def then(row: Row) -> Row:
        if not isinstance(row, WorkRow) or not row.is_done:
            return row
        done = stamp_of(row.done, event)
        moment = stands(row.model_copy(update={"opened": row.done})) if done.day else None
        return row if moment is None or moment <= at else row.model_copy(update={"done": None})

    kept = {
        file: rows if file == "grid.csv" else tuple(then(row) for row in rows if seen(row))
        for file, rows in event.tables.items()
    }
    return replace(event, tables=kept)
