"""How long the answer and the fit take: ``python -m tests.bench.bench_air``. Prints medians and lowest, ms."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from paddock.engine.clock import as_of
from paddock.engine.pressure.heat import heat_of
from paddock.engine.pressure.heat_fit import fit_axle
from paddock.engine.pressure.moment import moment_of
from paddock.session.loading import load
from tests.engine.test_heat import made

EXAMPLE = Path(__file__).parents[2] / "example_event"


def timed(name: str, work: Callable[[], object], turns: int = 40) -> None:
    """Processor time, so that other work on the machine counts less."""
    work()
    taken = []
    for _ in range(turns):
        start = time.process_time()
        work()
        taken.append((time.process_time() - start) * 1000)
    taken.sort()
    print(f"{name:<46} median {taken[turns // 2]:6.2f}  lowest {taken[0]:6.2f}")


def main() -> None:
    """The budgets: next on the example 5 ms after loading, the fit on 500 readings 20 ms."""
    event = load(EXAMPLE)
    points = [point for seed in range(50) for point in made(22.0, 11.0, 1.0, 9, seed)]
    timed("a bare loop of 1,000,000, for scale", lambda: all(True for _ in range(1_000_000)), 10)
    for number in event.settings.mine.numbers:
        timed(
            f"next, example event, {number}",
            lambda number=number: moment_of(event, number, as_of(event, datetime(2040, 1, 1))),
        )  # type: ignore[misc]
    timed("heat of the example with ranges, 58", lambda: heat_of(event, "58"))
    timed(f"fit of both axles on {len(points)} readings", lambda: [fit_axle("front", points), fit_axle("rear", points)])


if __name__ == "__main__":
    main()
