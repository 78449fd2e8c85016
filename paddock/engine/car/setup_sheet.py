"""The set-up sheet: what is on the car now, beside how it came and what it was on its fastest run of each day."""

from __future__ import annotations

import re
from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from paddock.engine.clock import minutes
from paddock.engine.pressure.readings import CarLog, car_log, runs_before
from paddock.model.event import Event
from paddock.model.rows import SetupChange, TimeRow
from paddock.model.units import from_psi, plain_number

NOW = (10**6, 10**6)
CORNERS_OF = {"front": ("lf", "rf"), "rear": ("lr", "rr")}


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting. ``changed``: not as it rolled off the trailer; ``test``: the change is still undecided."""

    key: str
    value: str
    changed: bool = False
    test: bool = False


@dataclass(frozen=True, slots=True)
class Fastest:
    """My fastest run of a day by raw time; re-runs, practice and void runs don't count. Days are other courses."""

    day: int
    run: int
    number: str
    raw_ms: int


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One setting. None: not recorded. ``at_fastest``: value per entry of ``Sheet.fastest``, in its order.

    ``history``: the values it had, oldest first. ``change``: the change in force. ``undone``: it was changed and put
    back. ``to_revert``: decided to go back, and not yet done.
    """

    key: str
    start: str | None
    now: str | None
    at_fastest: tuple[str | None, ...]
    history: tuple[str, ...] = ()
    change: SetupChange | None = None
    undone: bool = False
    to_revert: bool = False

    @property
    def differs(self) -> bool:
        """Not as on the fastest run of the latest day."""
        return bool(self.at_fastest) and self.at_fastest[-1] != self.now


@dataclass(frozen=True, slots=True)
class SetupSheet:
    """``car``: the car file's name, the number where none is named."""

    car: str
    fastest: tuple[Fastest, ...]
    lines: tuple[SheetLine, ...]


def _moment(row: SetupChange) -> tuple[int, int]:
    return (row.day if row.day is not None else 0, row.run if row.run is not None else 0)


def pressure_axle(key: str) -> str | None:
    """The axle whose tyre pressure a setting names (``rear_pressure``, ``front tyre psi``); None: no pressure."""
    words = set(re.split(r"[^a-z]+", key.lower()))
    axles = [axle for axle in CORNERS_OF if axle in words]
    return axles[0] if len(axles) == 1 and words & {"pressure", "pressures", "psi", "bar_pressure"} else None


_PLACES = {"psi": 2, "kpa": 0, "bar": 2}


@dataclass(frozen=True, slots=True)
class _Point:
    """A run of ``number`` on the line of time of its car. ``place``: the car's runs before it, whoever drove."""

    number: str
    moment: tuple[int, int]
    place: int
    log: CarLog

    def has(self, row: SetupChange) -> bool:
        """A change is on: of this driver by its run, of a co-driver by the car's line of time."""
        if row.number in {None, self.number}:
            return _moment(row) <= self.moment
        return self.begins(row) <= self.place

    def begins(self, row: SetupChange) -> int:
        """The car's runs before a change was on: those before its run, or before its clock where they are fewer."""
        if row.day is None:
            return 0
        filed, clock = runs_before(self.log.items, row.day, row.run, row.number or self.number), minutes(row.at)
        if clock is None:
            return filed
        return min(filed, sum((item.day, item.minute) < (row.day, clock) for item in self.log.runs))


def _point(log: CarLog, number: str, day: int, run: int) -> _Point:
    """A run, its last try; one that was not driven stands before the next that was."""
    tries = [item.runs_before for item in log.runs if (item.day, item.run, item.number) == (day, run, number)]
    place = tries[-1] if tries else runs_before(log.items, day, run, number)
    return _Point(number, (day, run), place, log)


def _last_set(event: Event, axle: str, at: _Point) -> tuple[int, str] | None:
    """The car's runs before it, and the reading in the event's unit, of the last ``set`` before a run; None: none was
    logged."""
    found, unit = None, event.settings.pressure_unit or "psi"
    for item in at.log.readings:
        psi = [getattr(item.row, f"{corner}_psi") for corner in CORNERS_OF[axle]]
        known = [value for value in psi if value is not None]
        if item.moment == "set" and known and item.timed.runs_before <= at.place:
            same = dict.fromkeys(plain_number(from_psi(value, unit), _PLACES[unit]) for value in known)
            found = (item.timed.runs_before, f"{'/'.join(same)} {'cold' if item.rested else 'hot'}")
    return found


ChangeState = Literal["open", "keep", "revert", "taken back", "takes back"]


def state_of_change(decision: Literal["keep", "revert"] | None, undoes: str | None, undone: bool) -> ChangeState:
    """What became of a change. One that was undone is ``taken back``, whatever was decided on it; the row that undoes
    it ``takes back``."""
    return "takes back" if undoes else "taken back" if undone else decision or "open"


def states_of(changes: Iterable[SetupChange]) -> Mapping[str, ChangeState]:
    """What became of each change, by id."""
    rows = tuple(changes)
    undone = {row.undoes for row in rows if row.undoes}
    return {row.id: state_of_change(row.decision, row.undoes, row.id in undone) for row in rows}


def changes_of(event: Event, number: str) -> tuple[SetupChange, ...]:
    """Changes of the car of ``number`` in order of day, first run with it, clock, file."""
    mine = set(event.numbers_of_car(number))
    rows = [row for row in event.of(SetupChange) if row.number is None or row.number in mine]
    return tuple(sorted(rows, key=lambda row: (*_moment(row), row.at or "")))


def _key(row: SetupChange) -> str:
    return row.setting or row.item or row.id


def _start(event: Event, number: str, changes: Iterable[SetupChange]) -> dict[str, str]:
    """As it rolled off the trailer; a key the car file lacks begins as its first change found it."""
    car = event.car_of(number)
    setup = car.setup if car else {}
    said = {True: "yes", False: "no"}
    start = {key: said[value] if isinstance(value, bool) else str(value) for key, value in setup.items()}
    for row in changes:
        if row.before is not None:
            start.setdefault(_key(row), row.before)
    return start


def _after(row: SetupChange, changes: Iterable[SetupChange]) -> str | None:
    """The value a change leaves; a blank ``after`` of a return is what the undone change found."""
    if row.after is not None or row.undoes is None:
        return row.after
    return next((other.before for other in changes if other.id == row.undoes), None)


def setup_at(event: Event, number: str, day: int, run: int) -> Mapping[str, str]:
    """Every setting known on a run: a change is in force from its ``run`` on."""
    changes = changes_of(event, number)
    return _known_at(event, _start(event, number, changes), changes, _point(car_log(event, number), number, day, run))


def _known_at(event: Event, start: Mapping[str, str], changes: Iterable[SetupChange], at: _Point) -> dict[str, str]:
    rows = tuple(changes)
    on = {row.id for row in rows if at.has(row)}
    found = _with_changes(start, rows, on)
    return found | _pressures_at(event, found, [row for row in rows if row.id in on], at)


def _with_changes(start: Mapping[str, str], changes: Iterable[SetupChange], on: Container[str]) -> dict[str, str]:
    found, rows = dict(start), tuple(changes)
    for row in rows:
        value = _after(row, rows)
        if row.id in on and value is not None:
            found[_key(row)] = value
    return found


def open_changes(event: Event, number: str) -> tuple[SetupChange, ...]:
    """Changes to the car not yet kept, reverted or taken back."""
    rows = changes_of(event, number)
    states = states_of(rows)
    return tuple(row for row in rows if states[row.id] == "open")


def setup_in_force(event: Event, number: str) -> tuple[Setting, ...]:
    """Every setting known, as set and not as read on a gauge; the changed ones first, then in the car file's order."""
    rows = [row for row in changes_of(event, number) if row.setting]
    start = _start(event, number, rows)
    now = _with_changes(start, rows, {row.id for row in rows})
    on_test = {row.setting for row in open_changes(event, number)}
    found = [Setting(key, value, value != start.get(key), key in on_test) for key, value in now.items()]
    return tuple(sorted(found, key=lambda item: not item.changed))


def _pressures_at(event: Event, known: Mapping[str, str], changes: Iterable[SetupChange], at: _Point) -> dict[str, str]:
    """Pressures are known from the readings: the last ``set``, unless a change was written down for a later run."""
    found = {}
    for key in known:
        axle = pressure_axle(key)
        held = _last_set(event, axle, at) if axle else None
        moved = max((at.begins(row) for row in changes if _key(row) == key), default=0)
        if held is not None and held[0] >= moved:
            found[key] = held[1]
    return found


def _fastest(event: Event, number: str) -> tuple[Fastest, ...]:
    best: dict[int, Fastest] = {}
    for row in event.times_of(number):
        if row.time_ms is not None and row.status is None and not _void(row, event):
            held = best.get(row.day)
            if held is None or row.time_ms < held.raw_ms:
                best[row.day] = Fastest(row.day, row.run, number, row.time_ms)
    return tuple(best[day] for day in sorted(best))


def _void(row: TimeRow, event: Event) -> bool:
    rules, misses = event.settings.rules, row.misses or 0
    return bool(misses) and (rules.miss_ms is None or bool(rules.miss_limit and misses > rules.miss_limit))


def _line(
    key: str, start: Mapping[str, str], moments: Iterable[Mapping[str, str]], now: Mapping[str, str],
    changes: Iterable[SetupChange],
) -> SheetLine:  # fmt: skip
    of_key = [row for row in changes if _key(row) == key]
    undone = {row.undoes for row in of_key if row.undoes}
    values = [_after(row, of_key) for row in of_key]
    last = of_key[-1] if of_key else None
    in_force = last if last is not None and last.undoes is None and last.id not in undone else None
    return SheetLine(
        key=key,
        start=start.get(key),
        now=now.get(key),
        at_fastest=tuple(moment.get(key) for moment in moments),
        history=tuple(value for value in (start.get(key), *values) if value is not None),
        change=in_force,
        undone=bool(undone),
        to_revert=in_force is not None and in_force.decision == "revert",
    )


def sheet(event: Event, number: str) -> SetupSheet:
    """The sheet of the car of ``number``: settings in the car file's order, then those only changes name."""
    changes = changes_of(event, number)
    start, log, fastest = _start(event, number, changes), car_log(event, number), _fastest(event, number)
    now, *moments = [
        _known_at(event, start, changes, _point(log, number, *moment))
        for moment in (NOW, *((item.day, item.run) for item in fastest))
    ]
    lines = tuple(_line(key, start, moments, now, changes) for key in now)
    return SetupSheet(event.car_name_of(number) or number, fastest, lines)
