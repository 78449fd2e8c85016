"""Clock times and the moments people write into cells; the running order, and which run is next."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Any, Literal, TypeVar

from paddock.engine.scoring.tables import days_run
from paddock.model.event import Event
from paddock.model.kept import KeptRows
from paddock.model.rows import GridRow, PressureRow, Row, RunRow, TimeRow, WorkRow

# clock times and the moments people write into cells


_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
_DAY_RUN = re.compile(
    r"(?:day|d)?\s*(\d{1,2})(?:(?:\s*[,/.-]\s*|\s+|\s*,?\s*(?:run|r)\s*)(\d{1,2})(?![\d:]))?", re.IGNORECASE
)
_CLOCK = re.compile(r"\b(\d{1,2}:\d{2})\b")


def minutes(at: str | None) -> float | None:
    """Minutes since midnight of ``HH:MM[:SS]``; None where there is no clock time."""
    if at is None:
        return None
    hours, mins, *rest = at.split(":")
    return int(hours) * 60 + int(mins) + (int(rest[0]) / 60 if rest else 0.0)


def hh_mm(minute: float) -> str:
    """``HH:MM`` of minutes since midnight."""
    return f"{int(minute) // 60:02d}:{int(minute) % 60:02d}"


_EVE = "00:00:"


def of_the_eve(at: str | None) -> bool:
    """Whether a row's clock is that of an entry made before its day: the day's first minute."""
    return at is not None and f"{at}:".startswith(_EVE)


def entry_clock(event: Event, day: int, now: datetime) -> str:
    """``HH:MM:SS`` that an entry of ``day`` made ``now`` bears; before the day its first minute, in order of entry."""
    days = event.settings.days
    if not 0 < day <= len(days) or now.date() >= days[day - 1]:
        return now.strftime("%H:%M:%S")
    before = sum(1 for row in event.of(PressureRow) if row.day == day and of_the_eve(row.at))
    return f"{_EVE}{min(before, 59):02}"


@dataclass(frozen=True, slots=True)
class Stamp:
    """When something was opened or done, as far as it says so; day 0: before the event; None: it doesn't say."""

    day: int | None = None
    run: int | None = None
    minute: float | None = None


def stamp_of(text: str | None, event: Event) -> Stamp:
    """``day 1 09:10``, ``day 1 run 2``, ``1/2``, ``2026-05-09 09:10``; anything else says nothing."""
    text, days = (text or "").strip(), event.settings.days
    clock, dated = _CLOCK.search(text), _DATE.search(text)
    minute = minutes(clock[1]) if clock else None
    if dated is not None and days:
        return Stamp(sum(1 for day in days if day.isoformat() <= dated[0]), None, minute)
    if text.isdigit() or (clock is not None and clock.start() == 0):
        return Stamp(None, None, minute)
    found = _DAY_RUN.match(text)
    return Stamp(int(found[1]), int(found[2]) if found[2] else None, minute) if found else Stamp()


# an event as it was at a time: the rows up to it, nothing later


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


# the order of rows whose clocks disagree with the order they were entered in


T = TypeVar("T")
Place = tuple[float, ...]
"""Where the log puts a row within a day: its run, then its moment; the same place: the entry alone tells."""


def settled(rows: Sequence[tuple[Place, float | None]]) -> list[float | None]:
    """Minutes of one day's rows, given as entered, that no row entered before it and at or before its place exceeds.

    A row without a clock (None) comes back without one and holds nobody up. A minute that comes back as it was given
    is believed; a greater one means that the row is later than its clock says.
    """
    latest: dict[Place, float] = {}
    found: list[float | None] = []
    for place, minute in rows:
        if minute is not None:
            minute = max([minute, *(known for its, known in latest.items() if its <= place)])
            latest[place] = max(minute, latest.get(place, minute))
        found.append(minute)
    return found


def newest(rows: Sequence[T], minute: Callable[[T], float | None]) -> list[T]:
    """Rows of one day in which nothing but a clock tells the order, the newest last; those without a clock first."""
    at = settled([((), minute(row)) for row in rows])
    places = sorted(range(len(rows)), key=lambda place: (-1.0 if (known := at[place]) is None else known, place))
    return [rows[place] for place in places]


# which moment an answer is for


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


def _clocked(rows: KeptRows[TimeRow | RunRow | PressureRow], days: tuple[date, ...]) -> list[datetime]:
    """When the rows that have a day and a clock were, in order of time."""
    return sorted(
        datetime.combine(days[row.day - 1], time.fromisoformat(row.at))
        for row in rows
        if row.at is not None and row.day <= len(days)
    )


def _last_day(rows: KeptRows[TimeRow | RunRow | PressureRow]) -> int:
    return max(row.day for row in rows)


def _logged(event: Event) -> list[KeptRows[Any]]:
    """Times, runs and pressures by number: an entry leaves most of them as they were."""
    return [own for model in (TimeRow, RunRow, PressureRow) for own in event.of(model).by_number.values()]


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
    logged = _logged(event)
    clocks = [own.once(_clocked, days) for own in logged]
    if machine.date() in days:
        later = sum(len(own) - bisect_right(own, machine) for own in clocks if own and own[-1] > machine)
        return AsOf(machine, day_of(event, machine), "clock", later=later)
    if not days:
        return AsOf(machine, 1, "clock", clocked=False)
    last = max((own.once(_last_day) for own in logged), default=0)
    coming = day_of(event, machine) if machine.date() < days[-1] else 0
    day = min(max(last, coming, 1), len(days))
    before = datetime.combine(days[day - 1], time.max)
    of_day = [
        own[at - 1] for own in clocks if (at := bisect_right(own, before)) and own[at - 1].date() == days[day - 1]
    ]
    if of_day:
        return AsOf(max(of_day) + MINUTE, day, "rows")
    return AsOf(datetime.combine(days[day - 1], time()), day, "rows", clocked=False)


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
        row.run for row in event.times_of(number)
        if row.day == day and row.status not in not_run
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
            row.run for row in event.times
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

    None: no place in the order, nobody of the group has a clock, it is gone by, or another round of a group that is not
    listed whole lies between: how many start in it is not known.
    """
    grid = [row for row in event.of(GridRow) if row.day == day]
    mine = next((row for row in grid if row.number == number), None)
    if mine is None or mine.order is None:
        return None
    group = sorted((row for row in grid if row.group == mine.group and row.order is not None), key=_order)
    place = {row.number: at for at, row in enumerate(group)}
    newest_of = (event.times_of(entry).once(_newest_on, day) for entry in place)
    clocked = [row for row in newest_of if row is not None]
    if not clocked:
        return None
    newest = max(clocked, key=lambda row: (minutes(row.at) or 0.0, row.run, place[row.number]))
    rounds = run - newest.run
    if _listed_whole(group, event.settings.mine.numbers):
        steps = rounds * len(group) + place[number] - place[newest.number]
    else:
        steps = _order(mine) - _order(group[place[newest.number]]) if rounds == 0 else 0
    return (steps, minutes(newest.at) or 0.0) if steps > 0 else None


def _listed_whole(group: Sequence[GridRow], mine: Sequence[str]) -> bool:
    """Whether these are the group, and not a few places out of it: a rival is among them, and more places are held than
    are open up to the last one (a car taken out leaves one open)."""
    return any(row.number not in mine for row in group) and 2 * len(group) > _order(group[-1])


def _newest_on(rows: KeptRows[TimeRow], day: int) -> TimeRow | None:
    clocked = (row for row in rows if row.day == day and row.at)
    return max(clocked, key=lambda row: (minutes(row.at) or 0.0, row.run), default=None)


def _order(row: GridRow) -> int:
    return row.order or 0


def next_start(event: Event, number: str, day: int, run: int) -> float | None:
    """The minute of the day at which that run should begin; None: it can't be told."""
    ahead, interval = starts_ahead(event, number, day, run), event.settings.grid.interval_s
    return None if ahead is None or interval is None else ahead[1] + ahead[0] * interval / 60
