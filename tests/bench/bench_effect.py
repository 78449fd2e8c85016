"""Times a verdict at 300 entrants x 10 runs and the chances there: ``python -m tests.bench.bench_effect``.

The bars, warm: a verdict in 80 ms, chances in 100 ms, a verdict at 50 entrants in 25 ms.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from statistics import median

from paddock.engine.field.chances import chances
from paddock.engine.field.course import course_evolution
from paddock.engine.field.season import season_changes
from paddock.engine.field.verdict import judge
from paddock.model.event import Event
from tests.engine.field.made import drawn


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
    short_day: Event = drawn(1, controls=49, run_count=4)
    season = [drawn(seed, controls=80, run_count=5) for seed in range(5)]
    return {
        "verdict, 300 entrants x 10 runs": lambda: judge(long_day, "c1"),
        "verdict, 50 entrants x 4 runs": lambda: judge(short_day, "c1"),
        "course of the day, 300 x 10": lambda: course_evolution(long_day, 1),
        "chances, class and index with sensitivity, 300 x 10": lambda: chances(long_day, "26"),
        "a season's changes pooled, 5 events x 81 x 5": lambda: season_changes(season),
    }


def main() -> None:
    """Print one line per task."""
    for name, task in tasks().items():
        wall, own = milliseconds(task)
        print(f"{name}: median {wall:.1f} ms, of it computing {own:.1f} ms")


if __name__ == "__main__":
    main()
