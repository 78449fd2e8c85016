"""An import of 3,000 runs read, understood, checked and saved; two folders of 3,000 runs joined.

``python -m tests.bench.bench_import [ROUNDS]`` (default 5). Medians of wall and processor time; the modules are
loaded first. Bars: 500 ms for the import, 300 ms for the merge.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from argparse import Namespace
from collections.abc import Callable
from pathlib import Path
from statistics import median
from time import perf_counter, process_time

from paddock.commands import import_, merge
from paddock.session import Session
from tests.store.folders import large_folder

ENTRANTS, RUNS = 300, 10


def posted(path: Path, shift: int = 0) -> Path:
    """A results table: a row per entrant, ten runs side by side, decimal commas, a cone in seven runs."""
    lines = ["No;Driver;" + ";".join(f"Run {run}" for run in range(1, RUNS + 1))]
    for number in range(1, ENTRANTS + 1):
        cells = [_cell(number, run, shift) for run in range(RUNS)]
        lines.append(f"{number};Driver {number};{';'.join(cells)}")
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


def _cell(number: int, run: int, shift: int) -> str:
    time = 40_000 + (number * 7919 + run * 31 + shift) % 20_000
    return f"{time / 1000:.3f}".replace(".", ",") + ("+1" if (number + run) % 7 == 0 else "")


def event_without_runs(path: Path) -> Path:
    """Three hundred entrants, ten runs a day, no times yet."""
    large_folder(path, ENTRANTS, RUNS)
    text = (path / "event.toml").read_text(encoding="utf-8")
    (path / "event.toml").write_text(text.replace("runs_per_day = 5", "runs_per_day = 10"), encoding="utf-8")
    (path / "times.csv").write_text("day,run,number,time,cones,misses,status,at,try\n", encoding="utf-8")
    return path


def bring_in(folder: Path, source: Path) -> int:
    """The command as it is typed, writing; how many runs were added or changed."""
    args = Namespace(folder=folder, source=str(source), map=None, table=None, day=1, yes=True, json=False)
    data = import_.run(args).data
    return int(data["added"]) + int(data["updated"])


def timed(rounds: int, prepare: Callable[[Path], Callable[[], object]]) -> tuple[float, float]:
    """Median wall and processor milliseconds of what ``prepare`` gives back, each round in a folder of its own."""
    walls, works = [], []
    for _ in range(rounds + 1):
        place = Path(tempfile.mkdtemp())
        work = prepare(place)
        wall, cpu = perf_counter(), process_time()
        work()
        walls.append((perf_counter() - wall) * 1000)
        works.append((process_time() - cpu) * 1000)
        shutil.rmtree(place)
    return median(walls[1:]), median(works[1:])


def first_import(place: Path) -> Callable[[], object]:
    """3,000 new runs."""
    folder, source = event_without_runs(place / "event"), posted(place / "posted.csv")
    return lambda: bring_in(folder, source)


def page_import(place: Path) -> Callable[[], object]:
    """The same as a saved page."""
    folder, source = event_without_runs(place / "event"), posted(place / "posted.csv")
    rows = [line.split(";") for line in source.read_text(encoding="utf-8").splitlines()]
    body = "\n".join(
        "<tr>" + "".join(f'<td class="result cell"><span>{c}</span></td>' for c in row) + "</tr>" for row in rows
    )
    page = place / "posted.html"
    page.write_text(f"<html><body><table>{body}</table></body></html>", encoding="utf-8")
    return lambda: bring_in(folder, page)


def correction(place: Path) -> Callable[[], object]:
    """The same 3,000 runs again, one in three with another time."""
    folder = event_without_runs(place / "event")
    bring_in(folder, posted(place / "first.csv"))
    text = (place / "first.csv").read_text(encoding="utf-8").splitlines()
    changed = [line if at % 3 else line.replace(",1", ",2") for at, line in enumerate(text)]
    source = place / "second.csv"
    source.write_text("\n".join(changed), encoding="utf-8")
    return lambda: bring_in(folder, source)


def undo(place: Path) -> Callable[[], object]:
    """One undo of 3,000 imported runs."""
    folder = event_without_runs(place / "event")
    bring_in(folder, posted(place / "posted.csv"))
    return Session.open(folder).undo


def two_folders(place: Path) -> Callable[[], object]:
    """Two copies of 3,000 runs; each has 300 the other lacks, and 30 differ."""
    one, other = large_folder(place / "a", ENTRANTS, RUNS), large_folder(place / "b", ENTRANTS, RUNS)
    lines = (one / "times.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    (one / "times.csv").write_text("".join(lines[:1501] + lines[1801:]), encoding="utf-8")
    mine = [line.replace(",4", ",5", 1) if at % 100 == 7 else line for at, line in enumerate(lines)]
    (other / "times.csv").write_text("".join(mine[:2701]), encoding="utf-8")
    return lambda: merge.run(Namespace(a=one, b=other, into=None, copies=False))


def main(rounds: int) -> None:
    """Prints a line a case."""
    print(f"medians of {rounds}, {ENTRANTS * RUNS} runs          wall   processor")
    for name, prepare in (
        ("import, all new", first_import),
        ("import of a page", page_import),
        ("import, a third changed", correction),
        ("undo of an import", undo),
        ("merge of two folders", two_folders),
    ):
        wall, cpu = timed(rounds, prepare)
        print(f"{name:32s} {wall:6.0f} ms {cpu:6.0f} ms")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
