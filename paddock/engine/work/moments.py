"""When work was opened and when it is due, from what a person writes in those cells."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from paddock.engine.tyres.counts import CarRun, car_key, runs_from
from paddock.model.event import Event
from paddock.model.rows import FittedRow, SetupChange, WorkRow

_DAY = re.compile(r"\b(?:day|d)\s*(\d{1,3})\b")
_RUN = re.compile(r"\b(?:run|r)\s*(\d{1,3})\b")
_RUNS = re.compile(r"(\d{1,3})\s*(?:more\s+)?runs?\b")
_CLOCK = re.compile(r"\b(\d{1,2}):(\d{2})\b")
_DATE = re.compile(r"\b\d{4}-\d{2}-\d{2}\b")


@dataclass(frozen=True, slots=True)
class WorkMoment:
    """``run``: the first run after it, that of ``number`` where one is known; None where a clock time says it.

    ``day`` 0: before the event.
    """

    day: int = 0
    run: int | None = None
    at: str | None = None
    number: str | None = None


@dataclass(frozen=True, slots=True)
class When:
    """When work is due: whether now, and in words. ``rank``: 0 now, 1 next run, 2 counted runs, 3 event, 4 open."""

    now: bool
    words: str
    rank: int


def _number(pattern: re.Pattern[str], text: str) -> int | None:
    found = pattern.search(text)
    return int(found[1]) if found else None


def _day_of(text: str, event: Event) -> int | None:
    day, written = _number(_DAY, text), _DATE.search(text)
    if day is None and written and _iso(written[0]) in event.settings.days:
        return event.settings.days.index(_iso(written[0]) or date.min) + 1
    return day


def _iso(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def opened_at(row: WorkRow, event: Event) -> WorkMoment:
    """``day 1 run 4``, ``day 1 10:08``, a date; blank or anything else: before the event.

    Work that a change or a change of tyres made is opened by its number, and at the change's clock.
    """
    text = (row.opened or "").lower()
    clock = _CLOCK.search(text)
    day = _day_of(text, event)
    if day is None:
        return WorkMoment()
    run, at = _number(_RUN, text), f"{int(clock[1]):02d}:{clock[2]}" if clock else None
    change = change_of(row, event)
    if change is not None and run is not None and (change.day, change.run) == (day, run):
        return WorkMoment(day, run, at or (change.at or "")[:5] or None, change.number)
    return WorkMoment(day, run, at, _fitted_by(row, event))


def change_of(row: WorkRow, event: Event) -> SetupChange | None:
    """The change that made this work: the one its id begins with, or its reason names; None: none."""
    said = set(re.findall(r"[\w-]+", row.reason or ""))
    return next((item for item in event.of(SetupChange) if item.id in said or row.id.startswith(f"{item.id}-")), None)


def _fitted_by(row: WorkRow, event: Event) -> str | None:
    made = re.fullmatch(r"fit-(.+)-(\d+)-(\d+)-\w+", row.id)
    if made is None:
        return None
    moment = (made[1], int(made[2]), int(made[3]))
    return next((item.number for item in event.of(FittedRow)
                 if (car_key(event, item.number), item.day, item.run or 0) == moment), None)  # fmt: skip


def runs_since(moment: WorkMoment, runs: Sequence[CarRun]) -> tuple[CarRun, ...]:
    """The car's runs from a moment on."""
    return runs_from(runs, moment.day, moment.run, moment.at or "", moment.number)


def _at_run(day: int, number: int, runs: Sequence[CarRun], before: bool) -> When:
    latest = max(((run.day, run.run) for run in runs), default=(0, 0))
    if before and number == 1:
        return When(day <= max(latest[0] + 1, 1), f"before run 1 of day {day}", 0)
    reached = latest >= (day, number - before)
    return When(reached, f"{'before' if before else 'after'} run {number}", 1)


def _event_over(event: Event, runs: Sequence[CarRun], numbers: Sequence[str]) -> bool:
    """No number of the car that is still in has a run of the last day left."""
    days = len(event.settings.days)
    per_day = event.settings.runs_on(days) or 0
    entered = {row.number: row.status for row in event.entrants}
    ran = {run.number for run in runs}
    racing = {number for number in ran | (set(numbers) & set(entered)) if not entered.get(number)}
    done = {run.number for run in runs if run.day == days and run.run >= per_day}
    return bool(per_day and runs) and racing <= done


def _on(day: date, event: Event, runs: Sequence[CarRun]) -> When:
    latest = max((run.day for run in runs), default=0)
    reached = 0 < latest <= len(event.settings.days) and event.settings.days[latest - 1] >= day
    return When(reached, f"on {day.isoformat()}", 2)


def when_due(row: WorkRow, event: Event, runs: Sequence[CarRun], numbers: Sequence[str] = ()) -> When:
    """``next run``, ``after run 4``, ``before run 4``, ``in 12 runs``, ``after the event``, a date; ``now``.

    ``order now`` is shown as it is. ``runs``: those of the car, ``numbers``: who drives it.
    A due that can't be read is shown as it is written, as open work.
    """
    text, opened = (row.due or "").lower(), opened_at(row, event)
    since = runs_since(opened, runs)
    written, number, count = _DATE.search(text), _number(_RUN, text), _number(_RUNS, text)
    if written and (day := _iso(written[0])) is not None:
        return _on(day, event, runs)
    if number is not None and "runs" not in text:
        return _at_run(_number(_DAY, text) or max(opened.day, 1), number, runs, "before" in text)
    if count is not None:
        left = count - len(since)
        return When(left <= 0, "now" if left <= 0 else f"in {left} run{'' if left == 1 else 's'}", 2)
    if "event" in text:
        over = _event_over(event, runs, numbers)
        return When(over, "now the event is over" if over else "after the event", 3)
    if text.strip() == "order now":
        return When(True, "order now", 0)
    if "before" in text or "now" in text.split():
        return When(True, "before the next run", 0)
    if "run" in text:
        return When(bool(since), "before the next run" if since else "after the next run", 1)
    return When(False, row.due or "open", 4)
