"""Which tyre did which run on which corner: everything else about tyres counts these.

Runs count per car, whoever drives. Re-run and practice runs wear a tyre, a run not started doesn't.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from paddock.engine.clock import minutes
from paddock.model.event import Event
from paddock.model.rows import FittedRow, RunRow, TimeRow, TyreRow

COOL_MIN = 60.0
"""Minutes of rest after which the next run is a new heat cycle (common practice, no source)."""


@dataclass(frozen=True, slots=True, order=True)
class CarRun:
    """A run a car made. ``at`` is the clock time, blank text where it isn't recorded."""

    day: int
    run: int
    at: str
    number: str
    try_: str


@dataclass(frozen=True, slots=True)
class FittedPlace:
    """Where a tyre is on a car; ``turned``: the other way round on its rim than it came."""

    corner: str
    turned: bool = False

    @property
    def axle(self) -> str:
        """``front`` or ``rear``."""
        return "front" if self.corner[1] == "f" else "rear"


@dataclass(frozen=True, slots=True)
class Use:
    """One run of one tyre. ``car``: the car file's name, or the number where no car is named."""

    tyre: str
    car: str
    place: FittedPlace
    run: CarRun


def whole(runs: float) -> int:
    """Whole runs, rounded down; what only the last digits of a float keep under one counts as one."""
    return int(runs + 1e-9)


def count_of(runs: float, noun: str = "run") -> str:
    """``1 run``, ``12 runs``: whole ones, rounded down."""
    count = whole(runs)
    return f"{count} {noun}{'' if count == 1 else 's'}"


def is_turned(orientation: str | None) -> bool:
    """Whether the words of ``orientation`` say that the tyre was turned over on its rim."""
    words = (orientation or "").lower()
    return any(word in words for word in ("turn", "flip", "revers"))


def car_key(event: Event, number: str) -> str:
    """What names the car of a number over events."""
    return event.car_name_of(number) or number


def my_cars(event: Event) -> Mapping[str, tuple[str, ...]]:
    """My cars and the numbers that drive each, from ``[mine]`` and from the fitted tyres."""
    cars: dict[str, tuple[str, ...]] = {}
    for number in (*event.settings.mine.numbers, *(row.number for row in event.of(FittedRow))):
        key = car_key(event, number)
        cars[key] = tuple(dict.fromkeys((*cars.get(key, ()), number)))
    return MappingProxyType(cars)


def _was_run(row: TimeRow) -> bool:
    if row.status == "dns":
        return False
    return row.status is not None or any(cell is not None for cell in (row.time_ms, row.cones, row.misses, row.at))


def car_runs(event: Event, numbers: Iterable[str]) -> tuple[CarRun, ...]:
    """All runs of a car in order of day, run number and clock, logged or timed."""
    mine = set(numbers)
    clocks = {(row.day, row.run, row.number): row.at for row in event.of(RunRow) if row.number in mine}
    timed = event.times_of(*mine)
    known = {(row.day, row.run, row.number) for row in timed if row.status == "dns" or _was_run(row)}
    found = [
        CarRun(row.day, row.run, row.at or clocks.get((row.day, row.run, row.number)) or "", row.number, row.try_ or "")
        for row in timed
        if _was_run(row)
    ]
    found += [CarRun(day, run, at or "", number, "") for (day, run, number), at in clocks.items()
              if (day, run, number) not in known]  # fmt: skip
    return tuple(sorted(found))


def runs_from(
    runs: Sequence[CarRun], day: int, run: int | None = None, at: str = "", number: str | None = None
) -> tuple[CarRun, ...]:
    """The car's runs from a moment on: from ``run`` of ``number`` on, or from the clock ``at``, else the whole day.

    Another driver of the car has run numbers of their own: their runs count from ``at``, or from when ``number``
    made that run, whichever is earlier. Where no clock tells, and for ``number`` None, by run number: looked at too
    early rather than too late.
    """
    own = [item.at for item in runs if (item.day, item.run, item.number) == (day, run, number) and item.at]
    start = min((clock for clock in (at, *own) if clock), default="")

    def after(item: CarRun) -> bool:
        if item.day != day:
            return item.day > day
        clocks = bool(start and item.at)
        if run is not None and (number in (None, item.number) or not clocks):
            return item.run >= run
        size = min(len(start), len(item.at))
        return not clocks or item.at[:size] >= start[:size]

    return tuple(item for item in runs if after(item))


def _in_order(event: Event, numbers: Iterable[str]) -> list[FittedRow]:
    mine = set(numbers)
    return sorted((row for row in event.of(FittedRow) if row.number in mine), key=lambda row: (row.day, row.run or 0))


def _state(rows: Iterable[FittedRow]) -> dict[str, tuple[str, FittedPlace]]:
    """Corner to tyre after these rows; a tyre put on a second corner has left the first."""
    state: dict[str, tuple[str, FittedPlace]] = {}
    for row in rows:
        state = {corner: held for corner, held in state.items() if held[0] != row.tyre}
        state[row.corner] = (row.tyre, FittedPlace(row.corner, is_turned(row.orientation)))
    return state


def fitted_now(event: Event, numbers: Iterable[str]) -> Mapping[str, tuple[str, FittedPlace]]:
    """Corner to tyre after everything recorded."""
    return _state(_in_order(event, numbers))


def uses(event: Event) -> tuple[Use, ...]:
    """Every run of every tyre of my cars, in order."""
    found = []
    for car, numbers in my_cars(event).items():
        rows, runs = _in_order(event, numbers), car_runs(event, numbers)
        moments = {(row.day, row.run, row.number) for row in rows}
        carried = {moment: set(runs_from(runs, moment[0], moment[1], "", moment[2])) for moment in moments}
        for run in runs:
            held = _state(row for row in rows if run in carried[row.day, row.run, row.number]).values()
            found += [Use(tyre, car, place, run) for tyre, place in held]
    return tuple(found)


def runs_of(event: Event) -> Mapping[str, int]:
    """Runs of each tyre in all: before this event and in it. Blank ``runs_before`` adds nothing."""
    total = Counter({row.tyre: row.runs_before or 0 for row in event.of(TyreRow)})
    total.update(use.tyre for use in uses(event))
    return total


def heat_cycles(runs: Iterable[CarRun], cool_min: float = COOL_MIN) -> int:
    """How often the tyre was warmed from cold: a new cycle each day and after ``cool_min`` of rest.

    Runs without a clock time count to the cycle before them on the same day.
    """
    cycles, day, clock = 0, 0, None
    for run in sorted(runs, key=lambda item: (item.day, item.at or "~", item.run)):
        now = minutes(run.at or None)
        rested = now is not None and clock is not None and now - clock > cool_min
        cycles += run.day != day or rested
        day, clock = run.day, now if now is not None else (clock if run.day == day else None)
    return cycles
