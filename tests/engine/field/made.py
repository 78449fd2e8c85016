"""Events with a judged change, made in a line."""

from __future__ import annotations

import random
from typing import Any

from paddock.model.event import Event
from paddock.model.rows import EntrantRow, GridRow, Row, RunRow, SetupChange, TimeRow
from tests.factories import entrant, event, runs, settings


def change(change_id: str = "c1", run: int | None = 3, day: int | None = 1, **more: Any) -> SetupChange:
    """A rear bar change of car 26 before run 3 of day 1."""
    cells: dict[str, Any] = {"number": "26", "setting": "rear_bar", "item": "rear bar", "before": "2", "after": "3"}
    return SetupChange(id=change_id, day=day, run=run, **(cells | more))


def mistake(run: int, number: str = "26", day: int = 1) -> RunRow:
    """A run its driver marked."""
    return RunRow(day=day, run=run, number=number, mistake=True)


def in_group(number: str, group: str | None, day: int = 1) -> GridRow:
    """Where an entry runs."""
    return GridRow(day=day, number=number, group=group)


def of(
    my_runs: list[str], others: dict[str, list[str]], *rows: Row, entrants: dict[str, dict[str, Any]] | None = None,
    more: list[TimeRow] | None = None, **config: Any,
) -> Event:  # fmt: skip
    """Car 26 with ``my_runs``, every other with its written runs of day 1; ``more`` times for other days."""
    extra = entrants or {}
    people: list[EntrantRow] = [entrant(number, **extra.get(number, {})) for number in ("26", *others)]
    times = runs("26", 1, *my_runs)
    for number, written in others.items():
        times += runs(number, 1, *written)
    return event(people, times + (more or []), settings(**config), *rows)


def drawn(
    seed: int, controls: int = 8, run_count: int = 4, effect_s: float = 0.0, drying_s: float = 0.3, odd: float = 0.12
) -> Event:
    """A simulated day: car 26 with ``effect_s`` from run 3 on, everybody faster by ``drying_s`` a run.

    Run sd 0.35 s; a share ``odd`` of everybody's runs is spoilt by an exponential loss of mean 1.5 s.
    """
    rng = random.Random(seed)

    def day(pace: float, effect: float) -> list[str]:
        made = []
        for run in range(run_count):
            lost = rng.expovariate(1 / 1.5) if rng.random() < odd else 0.0
            helped = effect if run >= run_count // 2 else 0.0
            made.append(f"{pace - drying_s * run + helped + rng.gauss(0, 0.35) + lost:.3f}")
        return made

    others = {str(100 + i): day(45.0 + rng.gauss(0, 1.5), 0.0) for i in range(controls)}
    return of(day(45.0, effect_s), others, change(run=run_count // 2 + 1), runs_per_day=run_count)
