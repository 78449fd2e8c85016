"""Runs and pressure rows of one car in the order they happened, whoever drove.

Rows may lack a clock time; then the order of runs and moments (cold, before, set, the run, after, set) stands in,
and a ``set`` row counts as after its run only where it follows that run's ``after`` row in the file.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from paddock.engine.clock import minutes
from paddock.model.event import Event
from paddock.model.rows import PressureRow, RunRow, TimeRow

__all__ = ["CarRun", "Timed", "timeline"]

_COLD, _BEFORE, _RUN, _AFTER, _SET_AFTER = range(5)


@dataclass(frozen=True, slots=True)
class CarRun:
    """A run of the car: my log of it, its timed row, either may be missing. ``time.status`` is never ``dns``."""

    day: int
    run: int
    number: str
    log: RunRow | None = None
    time: TimeRow | None = None

    @property
    def at(self) -> str | None:
        """Clock time of the start as timed, else as logged."""
        return (self.time.at if self.time else None) or (self.log.at if self.log else None)


@dataclass(frozen=True, slots=True)
class Timed:
    """One thing on the line of time. ``minute`` may be borrowed from a neighbour: only its order is sure.

    ``clock``: the row's own clock in minutes, None where it has none. ``runs_before``: the car's runs before it, in
    all; ``runs_today``: those of its day.
    """

    what: CarRun | PressureRow
    day: int
    run: int
    number: str
    rank: int
    index: int
    clock: float | None
    minute: float = 0.0
    runs_before: int = 0
    runs_today: int = 0


def car_runs(event: Event, numbers: Sequence[str]) -> list[CarRun]:
    """All runs of these entries that were started, re-runs and practice too."""
    logs = {(row.day, row.run, row.number): row for row in event.of(RunRow) if row.number in numbers}
    found: list[CarRun] = []
    seen: set[tuple[int, int, str]] = set()
    for row in event.times:
        if row.number not in numbers:
            continue
        key = (row.day, row.run, row.number)
        if row.status == "dns":
            seen.add(key)
        elif row.time_ms is not None or row.status is not None or key in logs:
            found.append(CarRun(*key, log=logs.get(key), time=row))
            seen.add(key)
    return found + [CarRun(*key, log=row) for key, row in logs.items() if key not in seen]


def _rank(row: PressureRow, after_seen: bool) -> int:
    if row.moment == "set":
        return _SET_AFTER if after_seen else _BEFORE
    return {"cold": _COLD, "before": _BEFORE, "after": _AFTER}[row.moment]


def _pressure_items(rows: Iterable[PressureRow]) -> list[Timed]:
    after_seen: set[tuple[int, int | None, str]] = set()
    runs: dict[tuple[int, str], int] = {}
    found = []
    for index, row in enumerate(rows):
        key = (row.day, row.run, row.number)
        run = row.run or (0 if row.moment == "cold" else runs.get((row.day, row.number), 0))
        runs[row.day, row.number] = run
        found.append(
            Timed(row, row.day, run, row.number, _rank(row, key in after_seen), index, minutes(row.at)),
        )
        if row.moment == "after":
            after_seen.add(key)
    return found


def _held(run: Timed, others: Iterable[Timed]) -> Timed:
    """A run's clock kept between its own before and after rows: a log is often typed late."""
    if run.clock is None:
        return run
    same = [item for item in others if (item.day, item.run, item.number) == (run.day, run.run, run.number)]
    low = max((item.clock for item in same if item.rank < _RUN and item.clock is not None), default=run.clock)
    high = min((item.clock for item in same if item.rank == _AFTER and item.clock is not None), default=run.clock)
    return replace(run, clock=min(max(run.clock, low), high) if low <= high else run.clock)


def _filled(items: list[Timed]) -> list[Timed]:
    """``minute`` set for every item of one entry's day: its clock, else its neighbour's."""
    items = sorted(items, key=lambda item: (item.run, item.rank, item.index))
    known = next((item.clock for item in items if item.clock is not None), 0.0)
    filled = []
    for item in items:
        known = item.clock if item.clock is not None else known
        filled.append(replace(item, minute=known))
    return filled


def _counted(items: list[Timed]) -> tuple[Timed, ...]:
    total, today, day, counted = 0, 0, 0, []
    for item in items:
        today = today if item.day == day else 0
        day = item.day
        counted.append(replace(item, runs_before=total, runs_today=today))
        if isinstance(item.what, CarRun):
            total, today = total + 1, today + 1
    return tuple(counted)


def timeline(event: Event, number: str) -> tuple[Timed, ...]:
    """Runs and pressure rows of the car that ``number`` drives, in order."""
    numbers = event.numbers_of_car(number)
    readings = _pressure_items(row for row in event.of(PressureRow) if row.number in numbers)
    by_run: dict[tuple[int, int, str], list[Timed]] = {}
    for item in readings:
        by_run.setdefault((item.day, item.run, item.number), []).append(item)
    runs = [
        _held(
            Timed(run, run.day, run.run, run.number, _RUN, index, minutes(run.at)),
            by_run.get((run.day, run.run, run.number), ()),
        )
        for index, run in enumerate(car_runs(event, numbers))
    ]
    groups: dict[tuple[int, str], list[Timed]] = {}
    for item in (*readings, *runs):
        groups.setdefault((item.day, item.number), []).append(item)
    filled = [item for group in groups.values() for item in _filled(group)]
    first = {key: place for place, key in enumerate(by_run)}
    place = {number: place for place, number in enumerate(numbers)}
    filled.sort(
        key=lambda item: (
            item.day, item.minute, item.run,
            first.get((item.day, item.run, item.number), len(first)), place[item.number], item.rank, item.index,
        )
    )  # fmt: skip
    return _counted(filled)
