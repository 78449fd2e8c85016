"""Times a verdict at 300 entrants x 10 runs and the chances there: ``python -m tests.bench.bench_effect``."""

from __future__ import annotations

import time
from collections.abc import Callable
from statistics import median

from paddock.engine.effect import judge
from paddock.model.event import Event
from tests.engine.effect.made import drawn


def milliseconds(task: Callable[[], object], repeats: int = 15) -> tuple[float, float]:
    """Median and least of ``repeats``."""
    taken = []
    for _ in range(repeats):
        start = time.perf_counter()
        task()
        taken.append((time.perf_counter() - start) * 1000)
    return median(taken), min(taken)


def tasks() -> dict[str, Callable[[], object]]:
    """What is timed."""
    long_day: Event = drawn(1, controls=299, run_count=10)
    short_day: Event = drawn(1, controls=299, run_count=5)
    return {
        "verdict, 300 entrants x 10 runs (two-way fit)": lambda: judge(long_day, "c1"),
        "verdict, 300 entrants x 5 runs (difference)": lambda: judge(short_day, "c1"),
    }


def main() -> None:
    """Print one line per task."""
    for name, task in tasks().items():
        middle, least = milliseconds(task)
        print(f"{name}: median {middle:.1f} ms, least {least:.1f} ms")


if __name__ == "__main__":
    main()
