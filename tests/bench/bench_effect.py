"""Times a verdict at 300 entrants x 10 runs and the chances there: ``python -m tests.bench.bench_effect``.

The bars: a verdict in 15 ms; what 100,000 simulated finishes would answer in 100 ms (the closed form is timed, from
everybody's paces and scores to both tables, and the sum of one table alone).
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from statistics import median

from paddock.engine.chances import chances, lead_chance
from paddock.engine.course import course_evolution
from paddock.engine.effect import judge, season_changes
from paddock.engine.pacing import paces
from paddock.engine.runs_left import field_of
from paddock.model.event import Event
from tests.engine.effect.made import drawn


def milliseconds(task: Callable[[], object], repeats: int = 15) -> tuple[float, float]:
    """Median of ``repeats``: by the wall clock, and of this process' own time (what a busy machine can't lengthen)."""
    wall, own = [], []
    for _ in range(repeats):
        start, used = time.perf_counter(), time.process_time()
        task()
        wall.append((time.perf_counter() - start) * 1000)
        own.append((time.process_time() - used) * 1000)
    return median(wall), median(own)


def _with_runs_left(event: Event) -> Event:
    return replace(event, settings=event.settings.model_copy(update={"runs_per_day": 12}))


def tasks() -> dict[str, Callable[[], object]]:
    """What is timed."""
    long_day: Event = _with_runs_left(drawn(1, controls=299, run_count=10))
    short_day: Event = drawn(1, controls=299, run_count=5)
    table = field_of(long_day, "31", None, paces(long_day)).class_table
    assert table is not None
    rivals = [(number, item) for number, item in table.finish.items() if number != "31"]
    season = [drawn(seed, controls=80, run_count=5) for seed in range(20)]
    return {
        "verdict, 300 entrants x 10 runs (two-way fit)": lambda: judge(long_day, "c1"),
        "verdict, 300 entrants x 5 runs (difference)": lambda: judge(short_day, "c1"),
        "course of the day, 300 x 10": lambda: course_evolution(long_day, 1),
        "chances, class and index with sensitivity, 300 x 10": lambda: chances(long_day, "31"),
        "chance to lead one table of 300, closed form": lambda: lead_chance(table.finish["31"], rivals),
        "a season's changes pooled, 20 events x 81 x 5": lambda: season_changes(season),
    }


def main() -> None:
    """Print one line per task."""
    for name, task in tasks().items():
        wall, own = milliseconds(task)
        print(f"{name}: median {wall:.1f} ms, of it computing {own:.1f} ms")


if __name__ == "__main__":
    main()
