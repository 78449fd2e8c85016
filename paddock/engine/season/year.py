"""What a season taught: changes, pressures, heat by surface, wear by course, parts, what faults cost."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from statistics import fmean, median

from paddock.engine.clock.when import minutes
from paddock.engine.field.hindsight import tread_replayed
from paddock.engine.field.response import PressureCurve, pressure_curves
from paddock.engine.field.season import SeasonChange, season_changes
from paddock.engine.pressure.corners import AXLES
from paddock.engine.pressure.readings import Reading, car_log
from paddock.engine.scoring.plain import standings
from paddock.engine.scoring.tables import Standings, days_run
from paddock.engine.tyres.counts import CarRun, car_runs, my_cars
from paddock.engine.tyres.wear import EDGES, stretches
from paddock.engine.where.answer import where
from paddock.engine.work.rechecks import is_theirs, words_of
from paddock.errors import PaddockError
from paddock.model.event import Event
from paddock.model.rows import RunRow, SetupChange, TimeRow, WeatherRow, WorkRow

Named = Sequence[tuple[str, Event]]
"""Folder name and event, in order of date."""


@dataclass(frozen=True, slots=True)
class YearRise:
    """What a day's first run put on an axle, psi, from its cold reading; ``air_c`` of the reading after it."""

    car: str
    event: str
    day: int
    axle: str
    surface: str
    air_c: float | None
    psi: float


@dataclass(frozen=True, slots=True)
class CourseWear:
    """What one axle's worst edge wore at one event, mm a run over ``runs`` tyre runs."""

    car: str
    event: str
    axle: str
    edge: str
    mm: float
    runs: int


@dataclass(frozen=True, slots=True)
class PartRuns:
    """``since``: runs since ``done`` (words for when), or since the season's first run where that is blank.

    ``interval``: the maker's, in runs; ``due``: it is reached; ``left``: runs until then, 0 where it is due.
    """

    car: str
    part: str
    since: int
    done: str
    interval: int

    @property
    def due(self) -> bool:
        """The maker's interval is reached."""
        return self.since >= self.interval

    @property
    def left(self) -> int:
        """Runs until it is."""
        return max(0, self.interval - self.since)


@dataclass(frozen=True, slots=True)
class EventCost:
    """One number of mine at one event. ``score_ms`` and ``rank`` as they are, ``clean_*`` had no cone and no gate been
    hit; None: no score. ``mistakes_s``: what the log says runs marked so lost. ``best_parts_ms``: the best elements
    together, the bias of picking them taken off, summed over ``part_days`` with splits.
    """

    event: str
    number: str
    runs: int
    cones: int
    gates: int
    void: int
    mistakes: int
    mistakes_s: float
    score_ms: int | None
    clean_ms: int | None
    rank: int | None
    clean_rank: int | None
    best_parts_ms: int | None = None
    part_days: int = 0
    days: int = 1

    @property
    def lost_ms(self) -> int | None:
        """What cones and gates cost the score."""
        return None if self.score_ms is None or self.clean_ms is None else self.score_ms - self.clean_ms


@dataclass(frozen=True, slots=True)
class Year:
    """Everything my events together show; ``held``: tread ranges that held what was read next, of ``asked``."""

    events: int
    changes: tuple[SeasonChange, ...] = ()
    curves: tuple[tuple[str, PressureCurve], ...] = ()
    rises: tuple[YearRise, ...] = ()
    wear: tuple[CourseWear, ...] = ()
    held: int = 0
    asked: int = 0
    parts: tuple[PartRuns, ...] = ()
    costs: tuple[EventCost, ...] = ()
    editions: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


def name_of(folder: str, event: Event) -> str:
    """What the event is called."""
    return event.settings.name or folder


def year_of(named: Named, parts: Mapping[str, Mapping[str, int]]) -> Year:
    """``parts``: car to part to its interval in runs."""
    events = [event for _, event in named]
    numbers = list(dict.fromkeys(number for event in events for number in event.settings.mine.numbers))
    last = events[-1] if events else None
    curves = [
        (last.car_name_of(number) or number, curve)
        for number in numbers if last for curve in pressure_curves(events, number).values()
    ]  # fmt: skip
    asked = [item for at, event in enumerate(events) for item in tread_replayed(event, events[:at])]
    return Year(
        len(events),
        season_changes(events),
        tuple(dict.fromkeys(curves)),
        tuple(item for folder, event in named for item in rises_of(folder, event)),
        tuple(item for folder, event in named for item in wear_of(folder, event)),
        sum(item.low <= item.came <= item.high for item in asked),
        len(asked),
        tuple(item for car, of_car in parts.items() for item in parts_of(named, car, of_car)),
        tuple(item for folder, event in named for item in costs_of(folder, event)),
        editions_of(named),
    )


def editions_of(named: Named) -> dict[str, tuple[str, ...]]:
    """Edition of the index table to the events that used it."""
    found: dict[str, list[str]] = {}
    for folder, event in named:
        if event.settings.index.factors:
            found.setdefault(event.settings.index.edition or "no edition named", []).append(name_of(folder, event))
    return {edition: tuple(names) for edition, names in found.items()}


# heat


def _surface(event: Event, reading: Reading) -> str:
    """As logged of the run, else as the weather said last."""
    row = reading.row
    key = (row.day, row.run, row.number)
    log = next((item for item in event.of(RunRow) if item.key == key), None)
    if log is not None and log.surface:
        return log.surface
    now = minutes(row.at) if row.at else None
    said = [
        (minutes(item.at) or 0.0, item.surface)
        for item in event.of(WeatherRow) if item.day == row.day and item.surface
    ]  # fmt: skip
    before = [pair for pair in sorted(said) if now is None or pair[0] <= now]
    return before[-1][1] if before else "not said"


def rises_of(folder: str, event: Event) -> Iterator[YearRise]:
    """From the last reading of a rested car to the first one after a run, with nothing set between."""
    for car, numbers in my_cars(event).items():
        cold: dict[int, Reading] = {}
        done: set[int] = set()
        for reading in car_log(event, numbers[0]).readings:
            day = reading.timed.day
            if day in done:
                continue
            if reading.rested and reading.moment != "after":
                cold[day] = reading
            elif reading.moment == "set":
                cold.pop(day, None)
            elif reading.moment == "after" and day in cold:
                done.add(day)
                yield from _risen(car, name_of(folder, event), _surface(event, reading), cold[day], reading)


def _risen(car: str, name: str, surface: str, cold: Reading, hot: Reading) -> Iterator[YearRise]:
    for axle, corners in AXLES.items():
        known = [corner for corner in corners if corner in hot.read and corner in cold.read]
        both = [hot.read[corner] - cold.read[corner] for corner in known]
        if both:
            yield YearRise(car, name, hot.timed.day, axle, surface, hot.air_c, fmean(both))


def usual_rises(rises: Iterable[YearRise]) -> dict[tuple[str, str, str], tuple[float, int, tuple[float, ...]]]:
    """Car, surface and axle to the middle rise, how many, and the airs."""
    found: dict[tuple[str, str, str], list[YearRise]] = {}
    for item in rises:
        found.setdefault((item.car, item.surface, item.axle), []).append(item)
    return {
        key: (median(item.psi for item in rows), len(rows), tuple(sorted(x.air_c for x in rows if x.air_c is not None)))
        for key, rows in found.items()
    }


# tyres


def wear_of(folder: str, event: Event) -> Iterator[CourseWear]:
    """The worst edge of each axle at the event; tyres that changed places between readings are left out."""
    seen: dict[tuple[str, str], dict[str, list[tuple[float, int]]]] = {}
    for part in stretches(event):
        if part.place is not None:
            edges = seen.setdefault((part.car, part.place.axle), {})
            for edge, drop in part.drop_mm.items():
                edges.setdefault(edge, []).append((drop, part.runs))
    for (car, axle), edges in seen.items():
        rates = {edge: sum(drop for drop, _ in rows) / sum(runs for _, runs in rows) for edge, rows in edges.items()}
        worst = max((edge for edge in EDGES if edge in rates), key=lambda edge: rates[edge])
        yield CourseWear(car, name_of(folder, event), axle, worst, rates[worst], sum(runs for _, runs in edges[worst]))


# parts


_DAY = re.compile(r"\bday (\d{1,2})\b", re.IGNORECASE)
_CLOCK = re.compile(r"\b(\d{1,2}:\d{2})\b")


def parts_of(named: Named, car: str, intervals: Mapping[str, int]) -> Iterator[PartRuns]:
    """Runs of a car since each part was last seen to: a repair logged, or work on it ticked off."""
    for part, interval in intervals.items():
        since, done = 0, ""
        for folder, event in named:
            numbers = my_cars(event).get(car, ())
            runs = car_runs(event, numbers)
            moments = sorted(_seen_to(event, numbers, part))
            if moments:
                day, run, at = moments[-1]
                since, done = len([item for item in runs if _after(item, day, run, at)]), name_of(folder, event)
            else:
                since += len(runs)
        yield PartRuns(car, part, since, done, interval)


def _seen_to(event: Event, numbers: Sequence[str], part: str) -> Iterator[tuple[int, int, str]]:
    """Day, first run with it (0: not said) and clock ("" not said) of what was done to the part."""
    named = words_of(part)
    for row in event.of(SetupChange):
        mine = row.number in numbers or (row.number is None and bool(numbers))
        said = words_of(f"{row.item or ''} {(row.setting or '').replace('_', ' ')}")
        if mine and row.kind == "repair" and named <= said:
            yield row.day or 1, row.run or 0, row.at or ""
    for work in event.of(WorkRow):
        if work.is_done and numbers and is_theirs(work, event, numbers[0]) and named <= words_of(work.item):
            day, clock = _DAY.search(work.done or ""), _CLOCK.search(work.done or "")
            yield int(day[1]) if day else len(event.settings.days) or 1, 0, clock[1].zfill(5) if clock else ""


def _after(item: CarRun, day: int, run: int, at: str) -> bool:
    if item.day != day:
        return item.day > day
    if run:
        return item.run >= run
    return bool(at and item.at) and item.at[:5] >= at


# faults and mistakes


def costs_of(folder: str, event: Event) -> Iterator[EventCost]:
    """What cones, gates and mistakes cost each number of mine."""
    mine = [number for number in event.settings.mine.numbers if event.entrant(number) is not None]
    if not mine or not days_run(event):
        return
    now = standings(event)
    clean = {number: _clean(event, number) for number in mine}
    for number in mine:
        rows = [row for row in event.times if row.number == number and row.status not in ("rerun", "practice", "dns")]
        logs = [row for row in event.of(RunRow) if row.number == number and row.mistake]
        entry = event.entrant(number)
        name = entry.class_ if entry else None
        score, then = (_score(found, name, number) for found in (now, standings(clean[number])))
        best, days = _best_parts(event, number)
        if rows:
            yield EventCost(
                name_of(folder, event), number, len(rows), sum(row.cones or 0 for row in rows),
                sum(row.misses or 0 for row in rows), sum(row.status in ("dnf", "dsq") for row in rows), len(logs),
                sum(row.lost_s or 0.0 for row in logs), score[0], then[0], score[1], then[1], best, days,
                len({row.day for row in rows}),
            )  # fmt: skip


def _score(found: Standings, name: str | None, number: str) -> tuple[int | None, int | None]:
    table = found.table(name or "")
    row = table.of(number) if table is not None else None
    return (None, None) if row is None else (row.score_ms, row.rank)


def _clean(event: Event, number: str) -> Event:
    """The same runs without a cone or a gate of that number."""
    times = tuple(
        row.model_copy(update={"cones": 0, "misses": 0}) if row.number == number else row for row in event.times
    )
    return replace(event, tables={**event.tables, TimeRow.FILE: times})


def _best_parts(event: Event, number: str) -> tuple[int | None, int]:
    found = []
    for day in days_run(event):
        try:
            found.append(where(event, number, day).best_elements_unbiased_ms)
        except PaddockError:
            continue
    return (sum(found) if found else None), len(found)
