"""Commands as a user starts them, from the process's start to its end, in processor time: on an idle machine that of
the clock to a few milliseconds."""

from __future__ import annotations

import csv
import os
import resource
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

from tests.bench import bench_import
from tests.bench.bench_import import event_without_runs, posted
from tests.bench.bench_season import write_season
from tests.bench.report import Figure
from tests.bench.saving import in_turn
from tests.bench.watched import ROOT
from tests.store.folders import large_folder

if TYPE_CHECKING:
    from tests.bench.parts import Size


_QUICKEST, _TIMES_NOTHING = "gap --json", 14.0
"""An answer without a page, and how many times a Python that does nothing it may take."""


def spent() -> float:
    """Processor seconds of the processes that have ended, theirs and the system's for them."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _process(words: list[str]) -> Callable[[], object]:
    env = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    env["PYTHONPATH"] = f"{ROOT}"
    return lambda: subprocess.run([sys.executable, *words], check=True, capture_output=True, env=env)


def _paddock(*words: object) -> Callable[[], object]:
    return _process(["-m", "paddock", *(f"{word}" for word in words)])


def _first_change(folder: Path) -> str:
    with (folder / "changes.csv").open(encoding="utf-8", newline="") as lines:
        return next(csv.DictReader(lines))["id"]


def _asked(folder: Path) -> dict[str, Callable[[], object]]:
    verbs = {
        "version": ("version",),
        "check": ("check", folder),
        "standings": ("standings", folder),
        "gap": ("gap", folder, "--number", 58),
        _QUICKEST: ("gap", folder, "--number", 58, "--json"),
        "next": ("next", folder, "--number", 58),
        "effect": ("effect", folder, "--change", _first_change(folder)),
        "chances": ("chances", folder, "--number", 58),
        "bar": ("bar", next((folder / "cars").glob("*.toml"))),
        "gears": ("gears", next((folder / "cars").glob("*.toml"))),
        "tyres": ("tyres", folder),
    }
    return {name: _paddock(*words) for name, words in verbs.items()}


def _importing(home: Path, size: Size) -> Callable[[], object]:
    """Every time into a fresh folder; making it is a copy of three small files."""
    empty = event_without_runs(home / "empty")
    source, turn = posted(home / "posted.csv"), count()

    def work() -> None:
        folder = shutil.copytree(empty, home / f"into{next(turn)}")
        _paddock("import", folder, source, "--day", 1, "--yes")()

    return work


def _merging(home: Path) -> Callable[[], object]:
    one, other = large_folder(home / "a"), large_folder(home / "b")
    lines = (one / "times.csv").read_text("utf-8").splitlines(keepends=True)
    (one / "times.csv").write_text("".join(lines[:1501] + lines[1801:]), "utf-8")
    turn = count()

    def work() -> None:
        _paddock("merge", shutil.copytree(one, home / f"merge{next(turn)}"), other)()

    return work


def _worked(rounds: int) -> Iterator[Figure]:
    """The two long ones once their modules are loaded."""
    for name, prepare, bar in (
        ("import of 3,000 runs: checked, saved", bench_import.first_import, 500.0),
        ("merge of two folders of 3,000 runs", bench_import.two_folders, 300.0),
        ("undo of an import of 3,000 runs", bench_import.undo, None),
    ):
        yield Figure(name, bench_import.timed(max(3, rounds // 2), prepare)[1], bar=bar)


def figures(folder: Path, home: Path, rounds: int, size: Size) -> Iterator[Figure]:
    """Commands beside a Python that does nothing, then those with bars of their own."""
    asked = _asked(folder)
    found = in_turn({"nothing": _process(["-c", "pass"])} | asked, rounds, spent)
    for name in asked:
        bar = _TIMES_NOTHING if name == _QUICKEST else None
        yield Figure(
            f"paddock {name}, whole process", found[name], "ms", found["nothing"], "python -c pass", bar, "ratio"
        )
    yield from _worked(rounds)
    write_season(home / "year", size.events, 60, 6)
    long = {
        "import of 3,000 runs, whole process": (_importing(home, size), 400.0),
        "merge of two folders of 3,000 runs, whole process": (_merging(home), 300.0),
        "debrief of the example, whole process": (
            _paddock("debrief", folder, "--output", home / "debrief.html"),
            3000.0,
        ),
        f"season of {size.events} events, whole process": (_paddock("season", home / "year"), 2000.0),
    }
    taken = in_turn({name: task for name, (task, _) in long.items()}, max(3, rounds // 2), spent)
    for name, (_, bar) in long.items():
        yield Figure(name, taken[name], bar=bar)
