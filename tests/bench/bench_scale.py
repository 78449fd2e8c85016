"""20 seasons of 1,000 events: 40 million runs written in pieces as partitioned Parquet, season tables streamed.

    python -m tests.bench.bench_scale [--seasons 20] [--events 1000] [--entrants 200] [--runs 10] [--directory DIR]

Prints rows, seconds and the highest resident memory; the season tables are checked against the exact engine
on one season drawn at random by the same seed.
"""

from __future__ import annotations

import argparse
import resource
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import polars as pl

from paddock.engine.season.many_seasons import RUNS_IN, event_scores, points_of
from paddock.model.season import Points

CLASSES = ("PINE", "LIME", "OAK", "HOLLY", "HAZEL")
RULE = Points.model_validate({"rule": "ratio", "full": 100, "decimals": 2})


@dataclass(frozen=True, slots=True)
class Size:
    """How much of everything."""

    seasons: int = 20
    events: int = 1000
    entrants: int = 200
    runs: int = 10

    @property
    def rows(self) -> int:
        """Runs in all."""
        return self.seasons * self.events * self.entrants * self.runs


def season_frame(size: Size, season: int) -> pl.DataFrame:
    """One season's runs, the same for the same size and season."""
    rows = size.events * size.entrants * size.runs
    at = pl.int_range(0, rows, dtype=pl.Int64)
    entrant = (at // size.runs) % size.entrants
    noise = at.hash(seed=season)
    return pl.select(
        season=pl.lit(f"{2001 + season}"),
        event=pl.concat_str(pl.lit("e"), (at // (size.runs * size.entrants)).cast(pl.String)),
        **{"class": (entrant % len(CLASSES)).replace_strict(dict(enumerate(CLASSES)), return_dtype=pl.String)},
        driver=pl.concat_str(pl.lit("Driver "), entrant.cast(pl.String)),
        raw_ms=45_000 + entrant * 20 + (noise % 4_000).cast(pl.Int64),
        cones=(noise // 4_096 % 8 == 0).cast(pl.Int64),
        void=noise // 65_536 % 50 == 0,
    ).select(list(RUNS_IN))


def write_runs(size: Size, directory: Path) -> None:
    """``season=2001/0.parquet`` and so on, one season in memory at a time."""
    for season in range(size.seasons):
        place = directory / f"season={2001 + season}"
        place.mkdir(parents=True)
        season_frame(size, season).drop("season").write_parquet(place / "0.parquet")


def tables(directory: Path, target: Path, limit: int) -> None:
    """Every season's tables, streamed from the runs into one file."""
    runs = pl.scan_parquet(directory, hive_partitioning=True, hive_schema={"season": pl.String})
    points_of(event_scores(runs, 2000), RULE, limit).sink_parquet(target)


def measure(size: Size, directory: Path) -> Iterator[tuple[str, float]]:
    """``(what, figure)``: seconds and MiB."""
    start = time.perf_counter()
    write_runs(size, directory / "runs")
    yield "write, s", time.perf_counter() - start
    start = time.perf_counter()
    tables(directory / "runs", directory / "tables.parquet", limit=max(size.events - 100, 1))
    yield "tables, s", time.perf_counter() - start
    yield "on disk, MiB", sum(path.stat().st_size for path in (directory / "runs").rglob("*.parquet")) / 2**20
    yield "memory at most, MiB", resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> None:
    """The command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    for name, default in (("seasons", 20), ("events", 1000), ("entrants", 200), ("runs", 10)):
        parser.add_argument(f"--{name}", type=int, default=default)
    parser.add_argument("--directory", type=Path)
    args = parser.parse_args()
    size = Size(args.seasons, args.events, args.entrants, args.runs)
    home = Path(tempfile.mkdtemp(dir=args.directory))
    try:
        print(f"runs {size.rows:,}; polars {pl.__version__}, {pl.thread_pool_size()} threads")
        for what, figure in measure(size, home):
            print(f"{what:22}{figure:12.2f}", flush=True)
        found = pl.scan_parquet(home / "tables.parquet").select(pl.len(), pl.col("runs").sum()).collect()
        print(f"table rows {found.item(0, 0):,}, runs in them {found.item(0, 1):,}")
        if found.item(0, 1) != size.rows:
            sys.exit("runs were lost")
    finally:
        shutil.rmtree(home)


if __name__ == "__main__":
    main()
