"""What the checks share: a problem of a row, rows of one key twice, days out of the event."""

from __future__ import annotations

import re
from collections.abc import Callable, Container, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from difflib import get_close_matches
from functools import cached_property
from itertools import pairwise
from typing import TypeVar

from paddock.engine.car.bar_parts import parts_of
from paddock.engine.car.driveline import driveline_of
from paddock.errors import Finding, Level, Problem, doubt, fault, merged
from paddock.model.car import Car
from paddock.model.kept import kept
from paddock.model.rows import EntrantRow, Row, key_of
from paddock.model.settings import Settings
from paddock.model.thresholds import thresholds_of
from paddock.model.units import format_time

# what the checks share: a problem of a row, rows of one key twice, days out of the event


R = TypeVar("R", bound=Row)
Faults = list[tuple[Row, str]]
"""Rows that stay out of the tables, each with the words."""


def said(row: Row, message: str, level: Level = "fault") -> Problem:
    """A problem at a row."""
    return Problem(row.FILE, row.line, message, level)


def close_to(word: str, known: Iterable[str]) -> str:
    """``; did you mean X?`` where something known looks like ``word``, else nothing."""
    near = next(iter(get_close_matches(word, list(known), cutoff=0.6)), None)
    return f"; did you mean {near}?" if near else ""


def near_number(word: str, known: Iterable[str]) -> str:
    """The same for a car number: only one that is written otherwise, never another car's."""
    bare = re.sub(r"\D", "", word).lstrip("0")
    near = next((item for item in known if bare and re.sub(r"\D", "", item).lstrip("0") == bare), None)
    return f"; did you mean {near}?" if near else ""


def _spoken(row: Row) -> str:
    parts = []
    for name in row.KEY:
        value = getattr(row, name)
        if value is not None:
            parts.append(f"{name.rstrip('_')} {format_time(value) if name == 'time_ms' else value}")
    return ", ".join(parts)


def repeated(rows: Sequence[R], key: Callable[[R], Hashable | None] | None = None) -> Faults:
    """Later rows of a key already seen; ``key`` None for a row: it collides with nothing."""
    if not rows:
        return []
    known_by = key or key_of(type(rows[0]))
    keys = [known_by(row) for row in rows]
    if len(set(keys)) == len(keys):
        return []
    first: dict[Hashable, int] = {}
    faults: Faults = []
    for row, at in zip(rows, keys, strict=True):
        if at is None:
            continue
        if at in first:
            faults.append((row, f"{_spoken(row)} is on line {first[at]} already: take one of the two out"))
        else:
            first[at] = row.line
    return faults


def day_fault(row: Row, days: int) -> str | None:
    """Words for a day the event hasn't got. Day 0 is read as before the event where a file allows it."""
    day = getattr(row, "day", None)
    if day is None or not days or day <= days:
        return None
    return f"day {day} is outside the event: event.toml lists {days} day{'s' if days > 1 else ''}"


# a car file against itself: values that can't stand beside each other, whatever else is in the folder


PARKED_C = 15.0
"""A mild day's air, at which a parked car's pressures are looked at (common practice, no source)."""
CarLine = Callable[[str, tuple[str, ...]], int]


def _limits(car: Car) -> Iterator[Finding]:
    """A minimum over a maximum, a target or placard over the wheel's own limit."""
    limits = car.limits
    for end in ("front", "rear"):
        low = getattr(limits, f"{end}_min_psi")
        for name in ("max_cold_psi", "wheel_max_psi"):
            high = getattr(limits, name)
            if low is not None and high is not None and low > high:
                yield fault(f"limits.{end}_min_psi", f"{low:g} psi is over {name}, {high:g} psi: mend one of the two; "
                            "the maximum stands until then")  # fmt: skip
                break
        placard, wheel = getattr(limits, f"placard_{end}_psi"), limits.wheel_max_psi
        if placard is not None and wheel is not None and placard > wheel:
            yield fault(f"limits.placard_{end}_psi", f"{placard:g} psi is over wheel_max_psi, {wheel:g} psi: "
                        "mend one of the two")  # fmt: skip
        for surface, target in car.targets.items():
            hot = getattr(target, f"{end}_psi")
            if hot is not None and wheel is not None and hot > wheel:
                yield fault(f"targets.{surface}.{end}_psi", f"{hot:g} psi is over wheel_max_psi, {wheel:g} psi: "
                            "no target may be")  # fmt: skip


def _unsprung(car: Car) -> tuple[Finding, ...]:
    """The one thing that can't be of a chassis; the balance is asked only where it may be so."""
    carried = car.sprung_kg
    if carried is None or min(carried) > 0:
        return ()
    from paddock.engine.car.balance import chassis_of

    return chassis_of(car)[1]


def _parts(car: Car) -> tuple[Finding, ...]:
    bars = (parts_of(car, end)[1] for end in ("front", "rear") if getattr(car, end).bar is not None)
    found = merged(*bars, _unsprung(car), driveline_of(car)[1])
    return tuple(item for item in found if item.level == "fault")


def car_faults(car: Car) -> tuple[Finding, ...]:
    """Everything in ``car`` that can't be, each once; empty: nothing.

    A car without a gearbox or an engine is no fault: only what is written is judged.
    """
    advice = (fault("advice", sentence.removeprefix("[advice] ")) for sentence in thresholds_of(car)[1])
    return merged(_limits(car), _parts(car), advice)


def car_warnings(car: Car) -> tuple[Finding, ...]:
    """Targets whose tyres, parked and cooled, stand under the car's lowest pressure.

    Cooled by the rise of a first run where the file carries it, else not at all; in air of 15 C at sea level.
    """
    from paddock.engine.pressure.air import cold_for_hot

    found = []
    for surface, target in car.targets.items():
        for end in ("front", "rear"):
            hot, low = getattr(target, f"{end}_psi"), getattr(car.limits, f"{end}_min_psi")
            rise = getattr(car.first_run, f"{end}_rise_k")
            if hot is None or low is None:
                continue
            cold = cold_for_hot(hot, PARKED_C + (rise or 0.0), PARKED_C)
            if cold < low - 0.05:
                at = f" at {cold:.1f} psi ({PARKED_C:g} C)," if rise else ""
                found.append(doubt(f"targets.{surface}.{end}_psi", f"a target of {hot:g} psi parks the tyre{at} "
                                   f"under the lowest pressure, {low:g} psi: which of the two is right?"))  # fmt: skip
    return tuple(found)


def _without(car: Car, key: str) -> Car:
    """The car without a limit or a target; what the bar, gear and balance rooms leave out they leave out themselves."""
    match key.split("."):
        case ["limits", name]:
            return car.model_copy(update={"limits": car.limits.model_copy(update={name: None})})
        case ["targets", surface, name]:
            target = car.targets[surface].model_copy(update={name: None})
            return car.model_copy(update={"targets": {**car.targets, surface: target}})
    return car


@dataclass(frozen=True)
class _Judged:
    """One car file, judged once however often the folder is read: a frozen car stays as it is."""

    car: Car

    @cached_property
    def faults(self) -> tuple[Finding, ...]:
        return car_faults(self.car)

    @cached_property
    def kept(self) -> Car:
        car = self.car
        for item in self.faults:
            car = _without(car, item.key)
        return car

    @cached_property
    def found(self) -> tuple[Finding, ...]:
        return (*self.faults, *car_warnings(self.kept))


_LAST: dict[str, _Judged] = {}


def _judged(name: str, car: Car) -> _Judged:
    """Judged again only where the file has changed: this is asked after every typed entry."""
    last = _LAST.get(name)
    if last is None or last.car is not car:
        last = _LAST[name] = _Judged(car)
    return last


def checked_cars(cars: Mapping[str, Car], line_of: CarLine, warned: bool) -> tuple[dict[str, Car], list[Problem]]:
    """The cars without what can't be, and what is wrong in each of their files; ``warned``: and what is in doubt."""
    kept, problems = {}, []
    for name, car in cars.items():
        judged, file = _judged(name, car), f"cars/{name}.toml"
        kept[name] = judged.kept
        for item in judged.found if warned else judged.faults:
            line = line_of(file, tuple(item.key.split(".")))
            problems.append(Problem(file, line, f"{item.key}: {item.message}", item.level))
    return kept, problems


# ``event.toml`` against itself and the other files


FILE = "event.toml"
LineOf = Callable[[tuple[str, ...]], int]
"""The line of a key path in ``event.toml``, 0 where it isn't there."""


def _say(line_of: LineOf, path: tuple[str, ...], message: str, level: Level = "fault") -> Problem:
    return Problem(FILE, line_of(path), message, level)


def _classes(settings: Settings, line_of: LineOf) -> Iterator[Problem]:
    seen: set[str] = set()
    for item in settings.classes:
        if item.code in {"index", "raw"}:
            yield _say(line_of, ("classes",), f"a class can't be called {item.code!r}: that names a table of everybody")
        if item.code in seen:
            yield _say(line_of, ("classes",), f"class {item.code} is listed twice: take one out")
        seen.add(item.code)
    if not settings.classes:
        yield _say(line_of, (), "no classes: add [[classes]] with a code, or everybody stands in raw alone", "warning")


def _days(settings: Settings, line_of: LineOf) -> Iterator[Problem]:
    if not settings.days:
        yield _say(line_of, ("days",), "no days: write days = [2026-05-09] with the dates of the event")
    if any(later <= earlier for earlier, later in pairwise(settings.days)):
        yield _say(line_of, ("days",), "days are not in order, or one is there twice", "warning")


def _mine(
    settings: Settings, line_of: LineOf, numbers: Container[str] | None, cars: Mapping[str, Car]
) -> Iterator[Problem]:
    for number in settings.mine.numbers:
        if numbers is not None and number not in numbers:
            words = f"my number {number} isn't in entrants.csv: add it there"
            yield _say(line_of, ("mine", "numbers"), words, "warning")
    for number, car in settings.mine.cars.items():
        if car not in cars:
            words = f"no usable cars/{car}.toml for number {number}: bring it back from another copy, or type it anew"
            yield _say(line_of, ("mine", "cars"), words, "warning")


def _numbers(settings: Settings, line_of: LineOf) -> Iterator[Problem]:
    if settings.format != 1:
        yield _say(line_of, ("format",), f"format {settings.format} is not known here: 1 is", "warning")
    for code, factor in settings.index.factors.items():
        if not Decimal("0.4") <= factor <= Decimal("1.5"):
            yield _say(line_of, ("index", code), f"an index of {factor} for {code}: is that right?", "warning")
    if settings.altitude_m is not None and not -430 <= settings.altitude_m <= 4500:
        yield _say(line_of, ("altitude_m",), f"an altitude of {settings.altitude_m:g} m: is that right?", "warning")
    if settings.id is not None and not settings.id.strip():
        yield _say(line_of, ("id",), "the id is blank: take the key out, or make up letters", "warning")
    if settings.rules.cone_ms > 20_000:
        yield _say(line_of, ("rules", "cone_s"), f"{settings.rules.cone_s} s a cone: is that right?", "warning")


def _forecast(settings: Settings, line_of: LineOf) -> Iterator[Problem]:
    found = settings.forecast
    for which in ("", "next_"):
        cold, hot = getattr(found, f"{which}coldest_c"), getattr(found, f"{which}hottest_c")
        if cold is not None and hot is not None and cold > hot:
            words = f"{which}coldest_c {cold:g} is above {which}hottest_c {hot:g}: swap them"
            yield _say(line_of, ("forecast", f"{which}coldest_c"), words, "warning")


def settings_problems(
    settings: Settings, line_of: LineOf, numbers: Container[str] | None, cars: Mapping[str, Car]
) -> list[Problem]:
    """What ``event.toml`` leaves open or says twice. ``numbers``: those entered, None: they can't be told."""
    return [
        *_days(settings, line_of),
        *_classes(settings, line_of),
        *_mine(settings, line_of, numbers, cars),
        *_numbers(settings, line_of),
        *_forecast(settings, line_of),
    ]


def without_factor(entrants: Iterable[EntrantRow], settings: Settings) -> tuple[str, ...]:
    """Classes whose entrants need a factor that the index table hasn't got."""
    factors = settings.index.factors
    by_index = {item.code for item in settings.classes if item.scored_by == "index"}
    wanted = {item.class_ for item in entrants if item.index is None and item.class_ is not None}
    return tuple(code for code in sorted(wanted) if code not in factors and (factors or code in by_index))


def index_problems(entrants: Iterable[EntrantRow], settings: Settings, line_of: LineOf) -> list[Problem]:
    """What :func:`without_factor` finds."""
    return [
        _say(line_of, ("index",), f"[index] has no {code}, so its entrants get no index time: "
             f"on @ take class {code} and type its factor, like 0.812 (in the file {code} = 0.812)")
        for code in kept(entrants).once(without_factor, settings)
    ]  # fmt: skip
