"""Times every table of the car rooms against 5 ms: ``python -m tests.bench.bench_car``."""

from __future__ import annotations

import time
from collections.abc import Callable
from statistics import median

from paddock.engine.car.balance import load_transfer, roll_share_curve, share_per_pair
from paddock.engine.car.bars import pairs_table
from paddock.engine.car.compensation import give_back
from paddock.engine.car.gears import gear_table, thrust_curves
from paddock.engine.car.hold_or_shift import hold_or_shift
from tests.cars import coupe, saloon

LIMIT_MS = 5.0


def milliseconds(task: Callable[[], object], repeats: int = 60) -> tuple[float, float]:
    """Median on the clock and of the processor (the same on an idle machine) of ``repeats``."""
    clock, processor = [], []
    for _ in range(repeats):
        start, used = time.perf_counter(), time.process_time()
        task()
        clock.append((time.perf_counter() - start) * 1000)
        processor.append((time.process_time() - used) * 1000)
    return median(clock), median(processor)


def tasks() -> dict[str, Callable[[], object]]:
    """What is timed: each table as a screen asks for it, from the car as read."""
    car, other = saloon(), coupe()
    seven = saloon(rear__bar__arms_mm=[250, 240, 230, 220, 210, 200, 190])
    table, line = pairs_table(car, "rear"), gear_table(car).line
    assert table is not None
    assert line is not None
    return {
        "bar, 16 pairs": lambda: pairs_table(car, "rear"),
        "bar, 49 pairs": lambda: pairs_table(seven, "rear"),
        "front share per pair": lambda: share_per_pair(car, table),
        "load transfer": lambda: load_transfer(car),
        "share over cornering, plot": lambda: roll_share_curve(car),
        "give back": lambda: give_back(car, rear=(1, 1)),
        "gears, 4": lambda: gear_table(car),
        "gears, 5": lambda: gear_table(other),
        "thrust, plot": lambda: thrust_curves(line),
        "hold or shift": lambda: hold_or_shift(car, 2, 60, 80),
    }


def main() -> None:
    """Print one line per table."""
    for name, task in tasks().items():
        clock, processor = milliseconds(task)
        verdict = "" if clock <= LIMIT_MS else "  over 5 ms"
        print(f"{name}: median {clock:.2f} ms, processor {processor:.2f} ms{verdict}")


if __name__ == "__main__":
    main()
