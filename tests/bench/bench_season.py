"""A season of 40 events as ``paddock season`` answers it: ``python -m tests.bench.bench_season [--entrants 60 --runs 6]``.

The bar: 2 s for 40 events, reading everything from the disk. Prints seconds on the clock and of the processor.
"""

from __future__ import annotations

import argparse
import random
import tempfile
import time
from datetime import date
from pathlib import Path

from paddock.commands.season import data
from paddock.folders.seasons import open_season
from paddock.pages.season import whole
from paddock.render.lines import text
from paddock.store.folder import no_collecting
from tests.seasonfiles import write_event

LIMIT_S = 2.0


def write_season(directory: Path, events: int, entrants: int, runs: int) -> None:
    """Event folders with times drawn by a fixed seed."""
    rng = random.Random(11)
    for at in range(events):
        times = {
            f"{number}": tuple(f"{45 + rng.random() * 8:.3f}{rng.choice(['', '', '', '+1'])}" for _ in range(runs))
            for number in range(1, entrants + 1)
        }
        write_event(directory / f"{at:03d}", times, f"Round {at + 1}", f"2026-{at // 28 + 1:02d}-{at % 28 + 1:02d}")
    (directory / "season.toml").write_text(
        '[points]\nrule = "ratio"\ntables = ["class", "index"]\n[drops]\nworst = 4\n'
    )


def answer(directory: Path) -> tuple[float, float]:
    """Seconds to read a season and to write all of its answer: on the clock, of the processor."""
    start, used = time.perf_counter(), time.process_time()
    with no_collecting():
        view = open_season(directory)
        data(view)
        text(whole(view, date(2026, 6, 1)), 80)
    return time.perf_counter() - start, time.process_time() - used


def main() -> None:
    """The command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    for name, default in (("events", 40), ("entrants", 60), ("runs", 6)):
        parser.add_argument(f"--{name}", type=int, default=default)
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as home:
        write_season(Path(home) / "year", args.events, args.entrants, args.runs)
        found = min(answer(Path(home) / "year") for _ in range(3))
    rows = args.events * args.entrants * args.runs
    print(f"{args.events} events, {rows:,} runs: {found[0]:.2f} s on the clock, {found[1]:.2f} s of the processor")
    print(f"bar {LIMIT_S} s: {'kept' if found[1] <= LIMIT_S else 'broken'}")


if __name__ == "__main__":
    main()
