"""How well element times come off simulated receivers: ``python docs/studies/where_study.py [DAYS]`` prints the table.

Seeded; six runs a day over the made-up course of ``tests/receivers.py``, each later run against the first.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import polars as pl

sys.path.insert(0, str(Path(__file__).parents[2]))

from paddock.model.track import Track

from paddock.engine.where.passes import gate_times
from paddock.engine.where.placed import Placed, place
from paddock.model.rows import CourseRow
from tests.receivers import KINDS, PLANE, RECEIVERS, Course, Receiver
from tests.track_files import degrees

RUNS = 6
SCHEMA = ["t_s", "lat", "lon", "speed_mps"]


def day(course: Course, receiver: Receiver, seed: int) -> tuple[list[np.ndarray], list[np.ndarray], list[np.ndarray]]:  # type: ignore[type-arg]
    """(errors of deltas, their half-widths as printed, errors without the shift), one row a run after the first."""
    rng = np.random.default_rng(seed)
    rows = [CourseRow(day=1, element=at, lat=PLANE.degrees(x, y)[0], lon=PLANE.degrees(x, y)[1])
            for at, x, y in course.points()]  # fmt: skip
    first: Placed | None = None
    passes = []
    for _ in range(RUNS):
        run = course.run(rng)
        fixes = pl.DataFrame(
            degrees(run.recorded(receiver, rng)), schema=["t_s", "lat", "lon", "speed_mps"], orient="row"
        )
        track = Track("t", fixes.with_columns(pl.col("speed_mps").fill_nan(None)), False, 0)
        placed = place(track, rows, run.passes_s[-1], receiver.phone, first)
        first = first or placed
        at = np.array([0.0, *(mark.at_s for mark in placed.marks), run.passes_s[-1]])
        half = np.array([0.0, *(mark.error_s for mark in placed.marks), 0.0])
        bare = gate_times(placed.path.with_columns(run=pl.lit(0, pl.Int64)), first.line, register=False)[0]
        raw = np.array([0.0, *bare.filter(pl.col("element").is_in(range(1, len(KINDS) - 1)))["t_s"], run.passes_s[-1]])
        passes.append(
            (np.diff(at) - np.diff(run.passes_s), np.hypot(half[1:], half[:-1]), np.diff(raw) - np.diff(run.passes_s))
        )
    least = 0.150 if receiver.phone else 0.050
    errors = [error - passes[0][0] for error, _, _ in passes[1:]]
    said = [np.maximum(np.hypot(half, passes[0][1]), least) for _, half, _ in passes[1:]]
    return errors, said, [raw - passes[0][2] for _, _, raw in passes[1:]]


def main(days: int) -> None:
    """One line a receiver, then by element."""
    course = Course()
    print("| receiver | sd of a delta, not shifted | shifted | 80 % of errors under | ± printed, mean | inside ± |")
    print("|---|---|---|---|---|---|")
    by_element = []
    for receiver in RECEIVERS:
        parts = [day(course, receiver, seed) for seed in range(days)]
        errors, said, raw = (np.concatenate([np.array(part[at]) for part in parts]) for at in range(3))
        inside = np.abs(errors) < said
        print(f"| {receiver.name} | {np.sqrt(np.mean(raw**2)):.3f} s | {np.sqrt(np.mean(errors**2)):.3f} s ", end="")
        print(f"| {np.quantile(np.abs(errors), 0.8):.3f} s | {said.mean():.3f} s | {100 * inside.mean():.0f} % |")
        by_element.append((receiver.name, np.sqrt(np.mean(errors**2, axis=0)), inside.mean(axis=0)))
    print("\n| receiver | " + " | ".join(f"{kind} {at}" for at, kind in enumerate(KINDS) if at) + " |")
    print("|---" * len(KINDS) + "|")
    for name, sd, share in by_element:
        print(f"| {name} | " + " | ".join(f"{s:.3f} s, {100 * p:.0f} %" for s, p in zip(sd, share, strict=True)) + " |")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 40)
