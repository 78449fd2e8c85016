"""The proofs of scale at a size a test can afford."""

from __future__ import annotations

from pathlib import Path

import duckdb
import polars as pl

from tests.bench import bench_scale, bench_season
from tests.bench.bench_scale import Size


def test_no_run_is_lost_on_the_way_to_the_season_tables(tmp_path: Path) -> None:
    size = Size(seasons=3, events=6, entrants=20, runs=4)
    figures = dict(bench_scale.measure(size, tmp_path))
    assert set(figures) == {"write, s", "tables, s", "on disk, MiB", "memory at most, MiB"}
    counted = duckdb.sql(
        f"select season, count(*) from read_parquet('{tmp_path}/runs/**/*.parquet', hive_partitioning=true) group by 1"
    )
    assert sorted(int(rows) for _, rows in counted.fetchall()) == [480, 480, 480]
    found = pl.read_parquet(tmp_path / "tables.parquet")
    assert found["runs"].sum() == size.rows
    assert found.height == 3 * 20
    assert found["rank"].min() == 1
    assert found["points"].max() <= 100.0  # type: ignore[operator]


def test_the_same_size_gives_the_same_runs() -> None:
    size = Size(1, 2, 5, 3)
    assert bench_scale.season_frame(size, 1).equals(bench_scale.season_frame(size, 1))
    assert not bench_scale.season_frame(size, 1).equals(bench_scale.season_frame(size, 2))


def test_a_season_of_files_is_answered(tmp_path: Path) -> None:
    bench_season.write_season(tmp_path / "year", 4, 8, 3)
    seconds, used = bench_season.answer(tmp_path / "year")
    assert 0 < used < 30
    assert seconds > 0
