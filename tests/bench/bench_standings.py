"""All standings against other engines giving the same columns, in one run.

``python -m tests.bench.bench_standings [RUNS ...]`` (default 300 3000 100000 1000000). Warm; each from the tables it holds:
the program from the rows of an open event, of more runs than an event has from columns. Medians.
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

from paddock.engine.scoring import plain
from paddock.engine.scoring.standings import ENTRANTS, TIMES, score_frame, table_frame
from paddock.model.event import Event
from paddock.model.rows import EntrantRow, TimeRow
from paddock.model.settings import Settings
from paddock.session.loading import FEW_RUNS, standings_of
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
    """Class, index and raw tables, as the scorer in columns makes them."""

    def work() -> list[pl.DataFrame]:
        scores = score_frame(times, entrants, of, (1, 2))
        return [
            table_frame(scores, "raw", of.rules, by_class=True),
            table_frame(scores, "index", of.rules, by_class=False),
            table_frame(scores, "raw", of.rules, by_class=False),
        ]

    return work


def event_of(times: pl.DataFrame, entrants: pl.DataFrame, of: Settings) -> Event:
    """The same runs as the rows of an open event, in the same order."""
    people = tuple(
        EntrantRow(number=number, driver=driver, class_=code)
        for number, driver, code in entrants.select("number", "driver", "class").rows()
    )
    runs = tuple(
        TimeRow(
            day=day, run=run, number=people[at].number, time_ms=ms, cones=cones or None, status="dnf" if void else None
        )
        for at, day, run, ms, cones, void in times.select("e", "day", "run", "time_ms", "cones", "void").rows()
    )
    return Event("field", of, {"entrants.csv": people, "times.csv": runs})


def answered(times: pl.DataFrame, entrants: pl.DataFrame, of: Settings) -> Callable[[], object]:
    """As the program answers at this size: from the rows of an event, or, of more than an event has, in columns."""
    if times.height > FEW_RUNS:
        return ours(times, entrants, of)
    event = event_of(times, entrants, of)
    return lambda: standings_of(event)


def milliseconds(work: Callable[[], Any], rounds: int) -> float:
    """Median of ``rounds`` after one to warm up."""
    work()
    taken = []
    for _ in range(rounds):
        start = perf_counter()
        work()
        taken.append((perf_counter() - start) * 1000)
    return median(taken)


def _by_rows(times: pl.DataFrame, entrants: pl.DataFrame, of: Settings) -> list[tuple[object, ...]]:
    """The plain scorer's tables in the columns of the peers, by number."""
    found = plain.standings(event_of(times, entrants, of))
    index, raw = ({row.number: row for row in table.rows} for table in found.tables[-2:])
    in_class = {row.number: row for table in found.tables[:-2] for row in table.rows}
    return [
        (number, row.score_ms, index[number].score_ms, row.rank, index[number].rank, raw[number].rank,
         row.gap_to_leader_ms, row.gap_to_next_ms)
        for number, row in ((number, in_class[number]) for number in entrants["number"])
    ]  # fmt: skip


def same(times: pl.DataFrame, entrants: pl.DataFrame, of: Settings) -> bool:
    """Both scorers and every engine give the same figures."""
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
        _by_rows(times, entrants, of),
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
            answered(times, entrants, of), peers.duck(times, entrants), peers.pandas(times, entrants),
            peers.sqlite(times, entrants), peers.plain(times, entrants),
        )  # fmt: skip
        agree = same(times, entrants, of) if size <= 100_000 else None
        figures = " ".join(f"{milliseconds(work, rounds):9.2f}" for work in engines)
        print(f"{size:9} {'-' if agree is None else agree!s:>5} {figures}", flush=True)


if __name__ == "__main__":
    main([int(word) for word in sys.argv[1:]] or [300, 3_000, 100_000, 1_000_000])
