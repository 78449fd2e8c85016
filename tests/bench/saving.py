"""Saving beside the raw steps of the disk, and how it grows with the event."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack
from functools import partial
from pathlib import Path
from statistics import median
from time import perf_counter, process_time

from paddock.model.edit import AddRow
from paddock.session import Session, load
from paddock.session.loading import standings_of
from paddock.store import disk
from paddock.store.glance import glance
from tests.bench.report import Figure
from tests.store.folders import large_folder


def in_turn(
    work: dict[str, Callable[[], object]], rounds: int, clock: Callable[[], float] = perf_counter
) -> dict[str, float]:
    """Median milliseconds of each, the rounds in turn, after one of each to warm up."""
    taken: dict[str, list[float]] = {name: [] for name in work}
    for _ in range(rounds + 1):
        for name, task in work.items():
            start = clock()
            task()
            taken[name].append((clock() - start) * 1000)
    return {name: median(found[1:]) for name, found in taken.items()}


def raw_save(target: Path, data: bytes) -> None:
    """The floor of a save: write, fsync, rename, fsync of the directory."""
    temp = target.with_name("floor.tmp")
    handle = os.open(temp, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o666)
    os.write(handle, data)
    os.fsync(handle)
    os.close(handle)
    os.rename(temp, target)
    handle = os.open(target.parent, os.O_RDONLY)
    os.fsync(handle)
    os.close(handle)


def raw_journal(target: Path, data: bytes) -> None:
    """The floor of the journal: append and fsync."""
    handle = os.open(target, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o666)
    os.write(handle, data)
    os.fsync(handle)
    os.close(handle)


def _place() -> tempfile.TemporaryDirectory[str]:
    return tempfile.TemporaryDirectory(dir=os.environ.get("BENCH_DIR"))


def _run(at: int) -> AddRow:
    return AddRow("times.csv", {"day": 2, "run": 99, "number": f"{at + 1}", "time_ms": 45_000 + at, "cones": 1})


def _entering(path: Path) -> dict[str, Callable[[], object]]:
    """Accept a run and have every table and what to find; take it back; the raw steps of the same."""
    session = Session.open(path)
    target, data = path / "floor.csv", (path / "times.csv").read_bytes()
    turn = iter(range(10_000))

    def accept() -> None:
        session.apply(_run(next(turn) % 250))
        session.standings()
        session.gap("7")

    def raw() -> None:
        raw_journal(path / "floor.log", b"x" * 300)
        raw_save(target, data)

    return {
        "raw": raw,
        "accept": accept,
        "undo": session.undo,
    }


def saves(entrants: int, runs: int, rounds: int) -> Iterator[Figure]:
    """A durable save of ready bytes, an accepted run, an undo."""
    with _place() as place:
        path = large_folder(Path(place) / "event", entrants, runs)
        entering = _entering(path)
        found, computing = in_turn(entering, rounds), in_turn(entering, rounds, process_time)
        target, data = path / "floor.csv", (path / "times.csv").read_bytes()
        ready = in_turn(
            {
                "raw": lambda: raw_save(target, data),
                "saved": lambda: disk.replace(target, data, lambda: disk.read(target) == data),
            },
            rounds,
        )
        reading = in_turn({"load": lambda: load(path), "glance": lambda: glance(path)}, max(3, rounds // 3))
    rows = f"{entrants * runs:,} rows"
    yield Figure(f"durable save of {rows}, ready bytes", ready["saved"], "ms", ready["raw"], "raw steps", 2.0, "ratio")
    what = f"a run accepted at {entrants} x {runs}: saved, tables fresh"
    yield Figure(what, found["accept"], "ms", found["raw"], "raw steps", 10, "beyond")
    yield Figure("  of it processor time", computing["accept"], "ms", computing["raw"], "raw steps")
    yield Figure("an undo, saved", found["undo"], "ms", found["raw"], "raw steps", 5, "beyond")
    yield Figure(f"reading a folder of {rows}, checked", reading["load"], "ms", bar=60)
    yield Figure("  at a glance, for the first paint", reading["glance"])


_GROWING = {"read": "folder read, checked", "score": "all tables", "accept": "run accepted, tables fresh"}
_MOST = {"read": 12.0}
"""Times as long that ten times the runs may take."""


def growth(sizes: Sequence[int], rounds: int, clock: Callable[[], float] = perf_counter) -> Iterator[Figure]:
    """The same with more runs, the sizes in turn; beside each the figure of the size before."""
    with ExitStack() as places:
        paths = {
            runs: large_folder(Path(places.enter_context(_place())) / "event", max(1, runs // 10), 10) for runs in sizes
        }
        work: dict[str, dict[int, Callable[[], object]]] = {
            "read": {runs: partial(load, path) for runs, path in paths.items()},
            "score": {runs: partial(standings_of, load(path)) for runs, path in paths.items()},
            "accept": {runs: _entering(path)["accept"] for runs, path in paths.items()},
        }
        for name, by_size in work.items():
            found = in_turn({f"{runs}": task for runs, task in by_size.items()}, rounds, clock)
            before: float | None = None
            for runs in sizes:
                value, most = found[f"{runs}"], _MOST.get(name) if runs > 3_000 else None
                peer = "" if before is None else "with a tenth of them"
                yield Figure(f"{runs:,} runs: {_GROWING[name]}", value, "ms", before, peer, most, "ratio")
                before = value
