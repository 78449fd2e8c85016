"""All standings against other engines giving the same columns, in one run.

``python -m tests.bench.bench_standings [RUNS ...]`` (default 300 3000 100000 1000000). Warm, from frames; medians.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from decimal import Decimal
from random import Random
from statistics import median
from time import perf_counter
from typing import Any

import polars as pl

from paddock.engine.scoring.standings import ENTRANTS, TIMES, score_frame, table_frame
from paddock.model.settings import Settings
from tests.bench import peers
from tests.factories import settings

CLASSES = 25


def field(runs: int, driven: bool = False) -> tuple[pl.DataFrame, pl.DataFrame, Settings]:
    """Ten runs over two days for every entrant, 25 classes, a quarter of the runs with a cone.

    Rows stand by entrant; ``driven``: by day and run, the entrants of a run in another order each time.
    """
    random = Random(runs)
    people = max(1, runs // 10)
    times = pl.DataFrame(
        {
            "e": [place // 10 for place in range(runs)],
            "day": [1 + place % 10 // 5 for place in range(runs)],
            "run": [place % 5 + 1 for place in range(runs)],
            "time_ms": [random.randint(40_000, 60_000) for _ in range(runs)],
            "cones": [random.choice((0, 0, 0, 1)) for _ in range(runs)],
            "misses": [0] * runs,
            "void": [random.random() < 0.02 for _ in range(runs)],
        },
        schema=TIMES,
    )
    entrants = pl.DataFrame(
        {
            "number": [str(place) for place in range(people)],
            "driver": [f"Driver {place}" for place in range(people)],
            "class": [f"C{place % CLASSES}" for place in range(people)],
            "class_at": [place % CLASSES for place in range(people)],
            "num": [800 + place % CLASSES * 3 for place in range(people)],
            "den": [1000] * people,
            "dsq": [False] * people,
            "withdrawn": [False] * people,
            "order": list(range(people)),
        },
        schema=ENTRANTS,
    )
    classes = [{"code": f"C{place}"} for place in range(CLASSES)]
    factors = {f"C{place}": Decimal(800 + place * 3) / 1000 for place in range(CLASSES)}
    if driven:
        times = times.sample(fraction=1.0, shuffle=True, seed=runs).sort("day", "run", maintain_order=True)
    return times, entrants, settings(classes=classes, index={"factors": factors})


def ours(times: pl.DataFrame, entrants: pl.DataFrame, of: Settings) -> Callable[[], list[pl.DataFrame]]:
    """Class, index and raw tables."""

    def work() -> list[pl.DataFrame]:
        scores = score_frame(times, entrants, of, (1, 2))
        return [
            table_frame(scores, "raw", of.rules, by_class=True),
            table_frame(scores, "index", of.rules, by_class=False),
            table_frame(scores, "raw", of.rules, by_class=False),
        ]

    return work


def milliseconds(work: Callable[[], Any], rounds: int) -> float:
    """Median of ``rounds`` after one to warm up."""
    work()
    taken = []
    for _ in range(rounds):
        start = perf_counter()
        work()
        taken.append((perf_counter() - start) * 1000)
    return median(taken)


def same(times: pl.DataFrame, entrants: pl.DataFrame, of: Settings) -> bool:
    """Every engine gives the same figures."""
    by_class, by_index, by_raw = ours(times, entrants, of)()
    joined = (
        by_class.rename(
            {"rank": "class_rank", "score_ms": "total", "gap_to_leader_ms": "to_first", "gap_to_next_ms": "to_next"}
        )
        .join(by_index.select("number", index_rank="rank", indexed="score_ms"), on="number")
        .join(by_raw.select("number", raw_rank="rank"), on="number")
        .join(entrants.select("number", "order"), on="number")
        .sort("order")
        .select(peers.COLUMNS)
    )
    want = [tuple(row) for row in joined.rows()]
    found = [
        peers.plain(times, entrants)(),
        [tuple(row) for row in peers.sqlite(times, entrants)()],
        pl.from_arrow(peers.duck(times, entrants)()).rows(),  # type: ignore[union-attr]
        [
            tuple(None if value != value else (value if isinstance(value, str) else int(value)) for value in row)
            for row in peers.pandas(times, entrants)().itertuples(index=False)
        ],
    ]
    return all([tuple(row) for row in rows] == want for rows in found)


def main(sizes: list[int]) -> None:
    """Print a table in milliseconds."""
    print(f"{'runs':>9} {'same':>5} {'paddock':>9} {'DuckDB':>9} {'pandas':>9} {'SQLite':>9} {'Python':>9}  ms, median")
    for size in sizes:
        times, entrants, of = field(size)
        rounds = 40 if size <= 10_000 else 5
        engines = (
            ours(times, entrants, of), peers.duck(times, entrants), peers.pandas(times, entrants),
            peers.sqlite(times, entrants), peers.plain(times, entrants),
        )  # fmt: skip
        agree = same(times, entrants, of) if size <= 100_000 else None
        figures = " ".join(f"{milliseconds(work, rounds):9.2f}" for work in engines)
        print(f"{size:9} {'-' if agree is None else agree!s:>5} {figures}", flush=True)


if __name__ == "__main__":
    main([int(word) for word in sys.argv[1:]] or [300, 3_000, 100_000, 1_000_000])
