"""``event.toml`` against itself and the other files."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from decimal import Decimal
from itertools import pairwise

from paddock.errors import Level, Problem
from paddock.model.car import Car
from paddock.model.rows import EntrantRow
from paddock.model.settings import Settings

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


def _mine(settings: Settings, line_of: LineOf, numbers: set[str], cars: Mapping[str, Car]) -> Iterator[Problem]:
    for number in settings.mine.numbers:
        if number not in numbers:
            words = f"my number {number} isn't in entrants.csv: add it there"
            yield _say(line_of, ("mine", "numbers"), words, "warning")
    for number, car in settings.mine.cars.items():
        if car not in cars:
            yield _say(line_of, ("mine", "cars"), f"no usable cars/{car}.toml for number {number}", "warning")


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


def settings_problems(settings: Settings, line_of: LineOf, numbers: set[str], cars: Mapping[str, Car]) -> list[Problem]:
    """What ``event.toml`` leaves open or says twice."""
    return [
        *_days(settings, line_of),
        *_classes(settings, line_of),
        *_mine(settings, line_of, numbers, cars),
        *_numbers(settings, line_of),
        *_forecast(settings, line_of),
    ]


def index_problems(entrants: Iterable[EntrantRow], settings: Settings, line_of: LineOf) -> list[Problem]:
    """Classes whose entrants need an index that the table hasn't got."""
    factors = settings.index.factors
    by_index = {item.code for item in settings.classes if item.scored_by == "index"}
    wanted = {item.class_ for item in entrants if item.index is None and item.class_ is not None}
    return [
        _say(line_of, ("index",), f"[index] has no {code}, so its entrants get no index time: add {code} = 0.000")
        for code in sorted(wanted)
        if code not in factors and (factors or code in by_index)
    ]
