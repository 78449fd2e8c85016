"""An archive of seasons: taken in by content, added up part by part, whoever does the work."""

from __future__ import annotations

import os
import shutil
import signal
from collections.abc import Callable
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from pathlib import Path
from typing import Any

import duckdb
import polars as pl
import pytest

from paddock import answer
from paddock.errors import FolderError, UsageError
from paddock.folders.archiving import Share, local_workers, parts_of, season_tables, take
from paddock.model.season import Season
from paddock.store.archive import pack
from tests.seasonfiles import write_event

RULES = Season.model_validate({"points": {"by_place": [10, 8, 6, 5], "rest": 1, "started": 0}})


def _years(home: Path, years: int = 3) -> Path:
    """Directories of three events each; number 26 improves from year to year, 7 doesn't finish the last."""
    for year in range(2024, 2024 + years):
        for event in range(3):
            times = {
                "26": (f"6{event}.{year - 2000}0", "59.900"), "45": ("60.100+1", "60.250"), "7": ("61.000", "60.100"),
                "12": ("59.900" if event == 1 else "62.000", "DNF"),
            }  # fmt: skip
            write_event(home / f"{year}" / f"event{event}", times, f"Event {event}", f"{year}-0{event + 4}-09")
    return home


@pytest.fixture(scope="module")
def archive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three seasons of three events."""
    home = _years(tmp_path_factory.mktemp("years"))
    made = home / "archive"
    states = [item.state for item in take(made, sorted(home.glob("20*")))]
    assert states == ["new"] * 9
    return made


def test_the_same_zip_twice_changes_nothing_and_other_results_are_told(tmp_path: Path) -> None:
    event = write_event(tmp_path / "event", {"26": ("60.000",), "45": ("61.000",)})
    first = pack(event, tmp_path / "first.zip").file
    archive = tmp_path / "archive"
    assert [item.state for item in take(archive, [first])] == ["new"]
    before = {path: path.read_bytes() for path in archive.rglob("*.parquet")}
    copy = Path(shutil.copy(first, tmp_path / "copy of first.zip"))
    assert [item.state for item in take(archive, [copy, first, event])] == ["held"] * 3
    (event / "times.csv").write_text((event / "times.csv").read_text().replace("60.000", "62.000"))
    assert [item.state for item in take(archive, [event])] == ["other"]
    assert {path: path.read_bytes() for path in archive.rglob("*.parquet")} == before
    assert [item.state for item in take(archive, [event], replace=True)] == ["replaced"]
    (file,) = archive.rglob("*.parquet")
    assert pl.read_parquet(file).filter(pl.col("class") == "PINE").sort("place")["driver"].to_list() == [
        "Driver 45", "Driver 26",
    ]  # fmt: skip


def test_an_event_without_results_is_said_and_left_out(tmp_path: Path) -> None:
    empty = write_event(tmp_path / "event", {"26": ()})
    assert [item.state for item in take(tmp_path / "archive", [empty])] == ["empty"]
    assert not (tmp_path / "archive").exists()


def test_the_tables_are_those_of_sql_over_the_same_files(archive: Path) -> None:
    """DuckDB 1.x reads the hive key from the folder's name and ranks by its own window functions."""
    found = season_tables(parts_of(archive), RULES).table.filter(pl.col("class") == "PINE")
    sql = f"""
        with placed as (
            select season, class, driver, score_ms,
                   rank() over (partition by season, event, class order by score_ms nulls last) as place
            from read_parquet('{archive}/*/*.parquet', hive_partitioning = true) where class = 'PINE'),
        summed as (
            select season, driver, sum(case when score_ms is null then 0 when place > 4 then 1
                                            else [10, 8, 6, 5][place] end) as points
            from placed group by season, driver)
        select season::varchar, rank() over (partition by season order by points desc), driver, points::double
        from summed order by 1, 2, 3"""
    assert found.select("season", "rank", "driver", "points").rows() == duckdb.sql(sql).fetchall()
    assert found.height == 12


def test_a_season_of_the_archive_is_what_the_season_itself_says(archive: Path) -> None:
    one: Any = answer("season", archive.parent / "2025")
    whole: Any = answer("archive", archive)
    (points,) = (table for table in one["points"] if table["name"] == "PINE")
    (many,) = (item for item in whole["seasons"] if item["season"] == "2025")
    (table,) = (table for table in many["tables"] if table["name"] == "PINE")
    assert [(row["rank"], row["driver"], row["points"]) for row in table["rows"]] == [
        (row["rank"], row["driver"], row["points"]) for row in points["rows"]
    ]


class _Killed(Executor):
    """Another executor, a process of which is killed once two parts were sent."""

    def __init__(self, pool: Executor) -> None:
        self._pool, self._parts = pool, 0
        self._pid = pool.submit(os.getpid).result()

    def submit(self, fn: Callable[..., Any], /, *args: Any, **more: Any) -> Future[Any]:
        self._parts += 1
        if self._parts == 2:
            os.kill(self._pid, signal.SIGKILL)
        return self._pool.submit(fn, *args, **more)


def test_whoever_counts_and_whoever_is_killed_the_table_is_the_same(archive: Path) -> None:
    parts = parts_of(archive)
    alone = season_tables(parts, RULES)
    assert not alone.problems
    with ThreadPoolExecutor(2) as threads:
        assert season_tables(parts, RULES, threads).table.equals(alone.table)
    with local_workers(2) as pool:
        left = season_tables(parts, RULES, _Killed(pool))
    assert left.table.equals(alone.table)
    assert [problem.message for problem in left.problems if "counted here" in problem.message]


def test_worker_processes_answer_the_same(archive: Path) -> None:
    assert answer("archive", archive, "--workers", 1) == answer("archive", archive)


def test_what_stands_twice_is_told_and_counted_once(archive: Path, tmp_path: Path) -> None:
    parts = parts_of(archive)
    with pytest.raises(UsageError, match="season 2024 stands twice"):
        season_tables([*parts, parts[0]], RULES)
    copied = Path(shutil.copytree(archive, tmp_path / "archive"))
    file = sorted((copied / "season=2025").glob("*.parquet"))[0]
    shutil.copy(file, file.with_name(f"{file.stem} (1).parquet"))
    found = season_tables(parts_of(copied), RULES)
    assert found.table.equals(season_tables(parts, RULES).table)
    (told,) = found.problems
    assert told.file == "season=2025"
    assert "stands in two files: counted once" in told.message


def test_a_season_that_cannot_be_read_is_named_and_the_rest_counted(archive: Path, tmp_path: Path) -> None:
    copied = Path(shutil.copytree(archive, tmp_path / "archive"))
    (copied / "season=2024" / "half.parquet").write_bytes(b"PAR1 half a file")
    (copied / "season=2031").mkdir()
    pl.DataFrame({"event": ["a"]}).write_parquet(copied / "season=2031" / "0.parquet")
    found = season_tables(parts_of(copied), RULES)
    assert found.table["season"].unique().sort().to_list() == ["2025", "2026"]
    assert [problem.file for problem in found.problems] == ["season=2024", "season=2031"]
    with pytest.raises(FolderError, match="no season in it"):
        parts_of(tmp_path)


def test_bare_runs_are_added_up_too(tmp_path: Path) -> None:
    (tmp_path / "season=2030").mkdir()
    runs = {"event": ["a", "a"], "class": ["OAK"] * 2, "driver": ["A", "B"], "raw_ms": [50000, 49000], "cones": [0, 1],
            "void": [False] * 2}  # fmt: skip
    pl.DataFrame(runs).write_parquet(tmp_path / "season=2030" / "0.parquet")
    found = season_tables([Share("2030", (f"{tmp_path}/season=2030/0.parquet",))], RULES)
    assert found.table.select("rank", "driver").rows() == [(1, "A"), (2, "B")]


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("--workers", "0"), "1 to 64"),
        (("--replace",), "goes with --take"),
        (("--workers", "2", "--cluster", "x"), "give one"),
    ],
)
def test_what_does_not_go_together_is_said(archive: Path, more: tuple[str, ...], said: str) -> None:
    with pytest.raises(UsageError, match=said):
        answer("archive", archive, *more)
