"""Days of twelve kinds with the truth known, as events: what the field study and its tests judge the judge by."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass

from paddock.model.event import Event
from paddock.model.rows import EntrantRow, GridRow, RunRow, SetupChange, TimeRow
from paddock.model.settings import Settings

PACE_S, SCATTER_S, SPOILT, LOSS_S = 45.0, 0.35, 0.08, 1.2
DRIVES, TYRES = ("front", "rear"), ("street", "sport")


@dataclass(frozen=True)
class Kind:
    """One kind of day. ``controls`` and ``runs``: one of them is drawn for each day; ``course``: one of its shapes.

    ``effect_s``: sd of the effects, also what the program is told such changes usually do (0.2: ``rear_bar``, 0.5:
    ``tyres``); ``turns``: old-new-new-old instead of old, then new; ``scatter_s``: of a run, a driver's own about it;
    ``apart_s``: sd of the others' paces about mine.
    """

    name: str
    controls: tuple[int, ...] = (8,)
    runs: tuple[int, ...] = (4,)
    course: tuple[str, ...] = ("drying",)
    groups: int = 1
    cars: bool = False
    missing: float = 0.0
    silent: bool = False
    own_learning_s: float | None = None
    tails: bool = False
    correlated: float = 0.0
    overnight: bool = False
    events: int = 1
    effect_s: float = 0.2
    turns: bool = False
    scatter_s: float = SCATTER_S
    apart_s: float = 1.5


KINDS = (
    Kind("3 to 40 controls", controls=(3, 5, 8, 20, 40)),
    Kind("4 to 8 runs", runs=(4, 5, 6, 8)),
    Kind("drying, rubbering, stepping, wandering course", course=("drying", "rubbering", "stepping", "wandering")),
    Kind("three run groups", controls=(24,), groups=3),
    Kind("four kinds of car", controls=(24,), cars=True),
    Kind("15 % of the others' runs missing", missing=0.15),
    Kind("my log is silent", silent=True),
    Kind("my own learning is 1.5 s", controls=(12,), own_learning_s=-1.5),
    Kind("heavy tails", tails=True),
    Kind("runs hang together", correlated=0.5),
    Kind("made overnight", controls=(16,), cars=True, overnight=True),
    Kind("several events", events=3),
)
BOLD = (
    Kind("old-new-new-old, effects of 0.5 s", controls=(20,), effect_s=0.5, turns=True, scatter_s=0.3),
    Kind("the same, eight runs", controls=(20,), runs=(8,), effect_s=0.5, turns=True, scatter_s=0.3),
)


def _course(rng: random.Random, shape: str, runs: int) -> list[float]:
    if shape == "drying":
        return [-0.4 * run for run in range(runs)]
    if shape == "rubbering":
        return [math.exp(-run / 1.5) for run in range(runs)]
    if shape == "stepping":
        at, step = rng.randrange(1, runs), rng.gauss(0.0, 1.2)
        return [step * (run >= at) for run in range(runs)]
    found = [0.0]
    for _ in range(runs - 1):
        found.append(found[-1] + rng.gauss(0.0, 0.5))
    return found


def _walk(rng: random.Random, runs: int, sd: float) -> list[float]:
    found = [0.0]
    for _ in range(runs - 1):
        found.append(found[-1] + rng.gauss(0.0, sd))
    return found


def _errors(rng: random.Random, kind: Kind, runs: int) -> list[float]:
    sd = kind.scatter_s * math.exp(rng.gauss(0.0, 0.25))
    if kind.tails:
        return [0.75 * sd * rng.gauss(0.0, 1.0) / math.sqrt(rng.gammavariate(1.5, 1 / 1.5)) for _ in range(runs)]
    found: list[float] = []
    for _ in range(runs):
        fresh = rng.gauss(0.0, 1.0)
        rho = kind.correlated if found else 0.0
        found.append(rho * (found[-1] if found else 0.0) + math.sqrt(1 - rho * rho) * fresh)
    return [sd * value for value in found]


@dataclass(frozen=True)
class Day:
    """``effect_s``: the truth at 45 s; ``event`` has the one change ``c``."""

    event: Event
    effect_s: float


@dataclass(frozen=True)
class _Shape:
    """What everybody meets: course by day, by group's own walk, and each kind of car's share of it."""

    days: Sequence[Sequence[float]]
    groups: Sequence[Sequence[Sequence[float]]]
    shares: dict[tuple[str, str], float]
    nights: dict[tuple[str, str], float]


def draw(kind: Kind, rng: random.Random, effect_s: float) -> Day:
    """One day (two where the change was made overnight)."""
    runs, controls = rng.choice(kind.runs), rng.choice(kind.controls)
    day_count = 2 if kind.overnight else 1
    cars = [(drive, tyre) for drive in DRIVES for tyre in TYRES] if kind.cars else [(DRIVES[0], TYRES[0])]
    shift = [0.0, rng.gauss(0.0, 2.0)]
    shape = rng.choice(kind.course)
    met = _Shape(
        [[value + shift[day] for value in _course(rng, shape, runs)] for day in range(day_count)],
        [[_walk(rng, runs, 0.25 if kind.groups > 1 else 0.0) for _ in range(kind.groups)] for _ in range(day_count)],
        {car: 1.0 + rng.gauss(0.0, 0.2 if kind.cars else 0.0) for car in cars},
        {car: rng.gauss(0.0, 0.25) for car in cars},
    )
    people, grid, times, log = [], [], [], []
    for number in ["31", *(str(100 + i) for i in range(controls))]:
        me, car, group = number == "31", rng.choice(cars), rng.randrange(kind.groups)
        people.append(EntrantRow(number=number, drive=car[0], tyre_kind=car[1]))  # type: ignore[arg-type]
        pace, share = rng.gauss(PACE_S, 0.0 if me else kind.apart_s), met.shares[car] + rng.gauss(0.0, 0.1)
        for day in range(day_count):
            learning = rng.gauss(-0.3, 0.3)
            if me and kind.own_learning_s is not None:
                learning = kind.own_learning_s
            night = (met.nights[car] + rng.gauss(0.0, 0.25)) if day else 0.0
            errors = _errors(rng, kind, runs)
            for run in range(runs):
                on = day == 1 if kind.overnight else (run % 4 in (1, 2) if kind.turns else run >= runs // 2)
                wrong = rng.random() < SPOILT
                lost = rng.expovariate(1.0 / LOSS_S) if wrong else 0.0
                course = met.days[day][run] + met.groups[day][group][run]
                learnt = learning * (1.0 - math.exp(-run / 1.8))
                t = pace + share * course + learnt + night + errors[run] + lost + (effect_s if me and on else 0.0)
                if me:
                    log.append(RunRow(day=day + 1, run=run + 1, number=number, mistake=wrong))
                elif rng.random() < kind.missing:
                    continue
                times.append(TimeRow(day=day + 1, run=run + 1, number=number, time_ms=round(1000 * t)))
            if kind.groups > 1:
                grid.append(GridRow(day=day + 1, number=number, group="ABC"[group]))
    tables = {
        "entrants.csv": tuple(people), "times.csv": tuple(times), "grid.csv": tuple(grid),
        "runs.csv": () if kind.silent else tuple(log), "changes.csv": _changes(kind, runs),
    }  # fmt: skip
    return Day(Event("study", SETTINGS, tables), effect_s)


SETTINGS = Settings.model_validate({"runs_per_day": 8, "mine": {"numbers": ["31"]}})


def _changes(kind: Kind, runs: int) -> tuple[SetupChange, ...]:
    key = "tyres" if kind.effect_s > 0.4 else "rear_bar"
    first = SetupChange(id="c", day=2 if kind.overnight else 1, number="31", setting=key, item="it",
                      run=1 if kind.overnight else 2 if kind.turns else runs // 2 + 1)  # fmt: skip
    if not kind.turns:
        return (first,)
    turns = [run for run in range(3, runs + 1) if (run % 4 in (2, 3)) != ((run - 1) % 4 in (2, 3))]
    return (first, *(SetupChange(id=f"u{run}", day=1, run=run, number="31", setting=key, item="it", undoes="c")
                     for run in turns))  # fmt: skip


CHANCE_SETTINGS = Settings.model_validate(
    {"runs_per_day": 4, "mine": {"numbers": ["31"]}, "classes": [{"code": "ASH"}]}
)


def draw_race(rng: random.Random) -> Event:
    """A day of one class, drivers close, with cones and void runs: what the chances are judged by."""
    kind = Kind("race", controls=(5,), course=("drying", "rubbering", "wandering"), apart_s=0.5)
    day = draw(kind, rng, 0.0).event
    cones = {row.number: rng.gammavariate(1.5, 0.5 / 1.5) for row in day.entrants}
    times = [
        row.model_copy(update={
            "cones": _poisson(rng, cones[row.number]), "status": "dnf" if rng.random() < 0.03 else None,
        })
        for row in day.times
    ]  # fmt: skip
    people = tuple(row.model_copy(update={"class_": "ASH"}) for row in day.entrants)
    tables = {**day.tables, "entrants.csv": people, "times.csv": tuple(times), "changes.csv": ()}
    return Event("race", CHANCE_SETTINGS, tables)


def _poisson(rng: random.Random, rate: float) -> int:
    count, left, share = 0, math.exp(-rate), rng.random()
    while share > left:
        share *= rng.random()
        count += 1
    return count
