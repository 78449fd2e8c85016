"""The parts of the benchmark, by name, each giving its figures."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter

from tests.bench import answers, browser, comparing, saving, starting, whole
from tests.bench.report import Figure
from tests.bench.watched import ROOT


@dataclass(frozen=True, slots=True)
class Size:
    """Rounds, sizes, and the clock of tables and growth."""

    starts: int = 9
    keys: int = 10
    rest_s: float = 30.0
    rounds: int = 25
    entrants: int = 300
    runs: int = 10
    tables: tuple[int, ...] = (300, 3_000, 100_000, 1_000_000)
    growth: tuple[int, ...] = (300, 3_000, 30_000)
    events: int = 40
    clock: Callable[[], float] = perf_counter

    @classmethod
    def quick(cls) -> Size:
        """Small enough to see in half a minute that all of it runs."""
        return cls(2, 2, 2.0, 3, 40, 10, (300, 3_000), (300, 3_000), 4)


@contextmanager
def _example() -> Iterator[tuple[Path, Path]]:
    """A copy of the example, and a place for settings and state."""
    with tempfile.TemporaryDirectory() as place:
        without = shutil.ignore_patterns(".paddock")
        yield Path(shutil.copytree(ROOT / "example_event", Path(place) / "event", ignore=without)), Path(place)


def _start(size: Size) -> Iterator[Figure]:
    with _example() as (folder, home):
        yield from starting.starts(folder, home, size.starts)
        yield from starting.keys_and_rest(folder, home, size.keys, size.rest_s)


def _save(size: Size) -> Iterator[Figure]:
    floor = 0.0
    for figure in saving.saves(size.entrants, size.runs, size.rounds):
        floor = figure.beside or floor if figure.what.startswith("a run accepted") else floor
        yield figure
    yield from starting.of_many_runs(size.entrants, size.runs, max(3, size.rounds // 2), floor)


def _tables(size: Size) -> Iterator[Figure]:
    for runs in size.tables:
        for driven in (False, True):
            yield from comparing.compared(
                runs, driven, size.rounds if runs <= 10_000 else min(5, size.rounds), size.clock
            )


def _answers(size: Size) -> Iterator[Figure]:
    yield from answers.figures(size.rounds)


def _commands(size: Size) -> Iterator[Figure]:
    with _example() as (folder, home):
        yield from whole.figures(folder, home, min(7, size.rounds), size)


def _growth(size: Size) -> Iterator[Figure]:
    yield from saving.growth(size.growth, min(7, size.rounds), size.clock)


def _browser(size: Size) -> Iterator[Figure]:
    with _example() as (folder, home):
        yield from browser.figures(folder, home, size.starts)


PARTS: dict[str, Callable[[Size], Iterator[Figure]]] = {
    "start": _start,
    "save": _save,
    "tables": _tables,
    "answers": _answers,
    "commands": _commands,
    "growth": _growth,
    "browser": _browser,
}
