"""A season's tracks to element times: ``python -m tests.bench.bench_where [--runs 1000 --hz 25 --rounds 5]``.

The bar: 1,000 runs at 25 Hz in under 2 s, from frames in hand to the table of passes: shifted onto the line, every gate
found. Prints seconds on the clock and of the processor, medians.
"""

from __future__ import annotations

import argparse
import time
from statistics import median

import numpy as np
import polars as pl

from paddock.engine.where.line import line_of
from paddock.engine.where.passes import gate_times
from tests.receivers import Course, Receiver

LIMIT_S = 2.0


def season(runs: int, hz: float) -> tuple[pl.DataFrame, Course, pl.DataFrame]:
    """(fixes of all runs, the course, those of the run that is the line): twenty runs drawn, then repeated."""
    course, rng = Course(), np.random.default_rng(1)
    drawn = [pl.DataFrame(course.run(rng).recorded(Receiver("", hz), rng)) for _ in range(min(20, runs))]
    parts = (drawn[at % len(drawn)].with_columns(run=pl.lit(at, pl.Int64)) for at in range(runs))
    return pl.concat(list(parts)), course, drawn[0]


def measure(runs: int, hz: float, rounds: int) -> tuple[int, float, float]:
    """(fixes, seconds on the clock, seconds of the processor)."""
    fixes, course, first = season(runs, hz)
    line = line_of(first["x_m"].to_numpy(), first["y_m"].to_numpy(), course.points())
    gate_times(fixes.filter(pl.col("run") == 0), line)
    clocks, works = [], []
    for _ in range(rounds):
        clock, work = time.perf_counter(), time.process_time()
        passes, _ = gate_times(fixes, line)
        clocks.append(time.perf_counter() - clock)
        works.append(time.process_time() - work)
        assert passes.height == runs * len(course.marks)
    return fixes.height, median(clocks), median(works)


def main() -> None:
    """The command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=1000)
    parser.add_argument("--hz", type=float, default=25.0)
    parser.add_argument("--rounds", type=int, default=5)
    args = parser.parse_args()
    fixes, clock, work = measure(args.runs, args.hz, args.rounds)
    print(
        f"{args.runs} runs, {fixes:,} fixes: {clock:.2f} s on the clock, {work:.2f} s of the processor (bar {LIMIT_S:g} s)"
    )


if __name__ == "__main__":
    main()
