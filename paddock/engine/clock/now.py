"""Which moment an answer is for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Literal

from paddock.engine.clock.stamps import minutes
from paddock.model.event import Event
from paddock.model.rows import PressureRow, RunRow, TimeRow

MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class AsOf:
    """A moment on the event's wall clock.

    ``day``: the event's day in hand, from 1: that of the date, on a date between or before the days the next to
    come, after them the last. ``source``: ``asked`` for, the machine's ``clock`` on one of the event's days, or the
    event's own ``rows``. ``clocked`` False: only the date is known. ``later``: rows of times, runs and pressures
    that bear a time after it and are seen all the same; each counts as now.
    """

    time: datetime
    day: int
    source: Literal["asked", "clock", "rows"]
    clocked: bool = True
    later: int = 0

    @property
    def minute(self) -> float:
        """Minutes since midnight."""
        return self.time.hour * 60 + self.time.minute + self.time.second / 60

    @property
    def iso(self) -> str:
        """``2026-10-11T12:58``, with seconds where it has them; the date alone where no clock is known."""
        if not self.clocked:
            return self.time.date().isoformat()
        return self.time.isoformat(timespec="seconds" if self.time.second else "minutes")

    def age_min(self, day: int, at: str | None) -> float | None:
        """Minutes from a row's day and clock to this moment of the same day, 0 where it is later.

        None: the row has no clock, or is of another day.
        """
        minute = minutes(at)
        return None if minute is None or day != self.day else max(0.0, self.minute - minute)


def dated(event: Event) -> list[datetime]:
    """When the rows of times, runs and pressures that have a day and a clock were."""
    days = event.settings.days
    return [
        datetime.combine(days[row.day - 1], time.fromisoformat(row.at))
        for row in _logged(event)
        if row.at is not None and row.day <= len(days)
    ]


def _logged(event: Event) -> Iterator[TimeRow | RunRow | PressureRow]:
    yield from event.times
    yield from event.of(RunRow)
    yield from event.of(PressureRow)


def day_of(event: Event, moment: datetime) -> int:
    """The event's day of a date; else the next to come; after the last, the last; 1 where there are none."""
    days = event.settings.days
    return next((place for place, day in enumerate(days, 1) if day >= moment.date()), max(1, len(days)))


def as_of(event: Event, machine: datetime, asked: datetime | None = None) -> AsOf:
    """The moment that answers are for.

    ``asked``: that. Else ``machine`` where its date is one of the event's days. Else a minute after the latest row
    of times, runs and pressures that has a clock; where a day of the event is still to come and nothing of it is
    logged, the beginning of that day. Rows are never hidden here: see ``cut``.
    """
    days = event.settings.days
    if asked is not None:
        return AsOf(asked, day_of(event, asked), "asked")
    machine = machine.replace(tzinfo=None, microsecond=0)
    clocks = dated(event)
    if machine.date() in days:
        return AsOf(machine, day_of(event, machine), "clock", later=sum(at > machine for at in clocks))
    if not days:
        return AsOf(machine, 1, "clock", clocked=False)
    last = max((row.day for row in _logged(event)), default=0)
    coming = day_of(event, machine) if machine.date() < days[-1] else 0
    day = min(max(last, coming, 1), len(days))
    of_day = [at for at in clocks if at.date() == days[day - 1]]
    if of_day:
        return AsOf(max(of_day) + MINUTE, day, "rows")
    return AsOf(datetime.combine(days[day - 1], time()), day, "rows", clocked=False)
