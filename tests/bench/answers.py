"""The answers of the engine, from an event already read."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime
from time import process_time

from paddock.engine.clock import as_of
from paddock.engine.pressure.heat_fit import fit_axle
from paddock.engine.pressure.moment import moment_of
from paddock.model.event import Event
from paddock.model.rows import PressureRow
from paddock.session.loading import load
from tests.bench import bench_car, bench_effect
from tests.bench.report import Figure
from tests.bench.saving import in_turn
from tests.bench.watched import ROOT
from tests.engine.test_heat import made

_Task = Callable[[], object]


def _pressures() -> dict[str, tuple[_Task, float | None]]:
    event = load(ROOT / "example_event")
    points = [point for seed in range(50) for point in made(22.0, 11.0, 1.0, 9, seed)]
    found: dict[str, tuple[_Task, float | None]] = {
        f"next, example, {number}": (
            (lambda number=number: moment_of(event, number, as_of(event, datetime(2040, 1, 1)))),
            5.0,
        )  # type: ignore[misc]
        for number in event.settings.mine.numbers
    }
    found["next, example, 58, its readings new"] = (lambda: _anew(event, "58"), None)
    return found | {
        f"heat fit of {len(points)} readings": (
            lambda: [fit_axle("front", points), fit_axle("rear", points)],
            20.0,
        )
    }


def _anew(event: Event, number: str) -> object:
    """The answer where every reading is another row: the heat is fitted again, as after a reading that was just saved."""
    rows = tuple(row.model_copy() for row in event.of(PressureRow))
    told = replace(event, tables={**event.tables, PressureRow.FILE: rows})
    return moment_of(told, number, as_of(told, datetime(2040, 1, 1)))


def _effects() -> dict[str, tuple[_Task, float | None]]:
    bars = (("verdict, 300 entrants x 10", 80.0), ("verdict, 50 entrants", 25.0), ("chances", 100.0))
    return {
        name: (task, next((bar for start, bar in bars if name.startswith(start)), None))
        for name, task in bench_effect.tasks().items()
    }


def _car() -> dict[str, tuple[_Task, float | None]]:
    return {name: (task, bench_car.LIMIT_MS) for name, task in bench_car.tasks().items()}


def figures(rounds: int) -> Iterator[Figure]:
    """Each answer against its bar, in processor time: on an idle machine that of the clock."""
    for tasks in (_pressures(), _effects(), _car()):
        found = in_turn({name: task for name, (task, _) in tasks.items()}, rounds, process_time)
        for name, (_, bar) in tasks.items():
            yield Figure(name, found[name], bar=bar)
