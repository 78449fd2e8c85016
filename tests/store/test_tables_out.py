"""Tables for other engines: read by DuckDB and pandas; a spreadsheet in which nothing runs."""

from __future__ import annotations

import zipfile
from datetime import date
from pathlib import Path

import duckdb
import openpyxl
import pandas as pd
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.errors import UsageError
from paddock.session.loading import load
from paddock.store.tables_out import event_frames, frame, inert, write_parquet, write_partitioned, write_spreadsheet
from tests.seasonfiles import write_event

COLUMNS = {"season": str, "event": str, "run": int, "raw_ms": int, "mistake": bool, "on": date, "note": str}
ROWS = [
    {"season": "2026", "event": "spring / ü = 1", "run": 1, "raw_ms": 46_512, "mistake": None,
     "on": date(2026, 5, 9), "note": "=1+1"},
    {"season": "2026", "event": "autumn", "run": 2, "raw_ms": None, "mistake": True, "on": None, "note": None},
    {"season": "2027", "event": "autumn", "run": 1, "raw_ms": 45_000, "mistake": False,
     "on": None, "note": "a,\"b\"\n"},
]  # fmt: skip
DANGEROUS = [
    "=1+1", "=cmd|' /C calc'!A0", "+1+1", "-2+3+cmd|' /C calc'!D2", "@SUM(1)", "\t=1", "\r=1", "\n=1", "  =1", "＝1+1",
    '=HYPERLINK("http://example.invalid","x")', "=", "-", "+", "@", "--1", "\t",
]  # fmt: skip


def test_duckdb_and_pandas_read_the_partitioned_tree(tmp_path: Path) -> None:
    files = write_partitioned(frame(ROWS, COLUMNS), tmp_path / "runs", ("season", "event"))
    assert len(files) == 3
    glob = f"{tmp_path}/runs/**/*.parquet"
    found = duckdb.sql(f"from read_parquet('{glob}', hive_partitioning=true, hive_types_autocast=false) order by all")
    assert {row[found.columns.index("event")] for row in found.fetchall()} == {"spring / ü = 1", "autumn"}
    total = duckdb.sql(f"select season, sum(raw_ms) from read_parquet('{glob}', hive_partitioning=true) group by 1")
    assert sorted((str(season), int(value)) for season, value in total.fetchall()) == [("2026", 46512), ("2027", 45000)]
    table = pd.read_parquet(tmp_path / "runs")
    assert sorted(table["raw_ms"].dropna()) == [45_000, 46_512]
    assert set(table["event"].astype(str)) == {"spring / ü = 1", "autumn"}
    again = pl.scan_parquet(tmp_path / "runs", hive_partitioning=True, try_parse_hive_dates=False)
    assert again.select(pl.len()).collect().item() == 3


def test_a_second_write_takes_the_place_of_the_first(tmp_path: Path) -> None:
    write_partitioned(frame(ROWS, COLUMNS), tmp_path / "runs", ("season", "event"))
    files = write_partitioned(frame(ROWS[:1], COLUMNS), tmp_path / "runs", ("season", "event"))
    assert len(files) == 1
    assert [path.name for path in tmp_path.iterdir()] == ["runs"]


def test_no_rows_still_have_columns(tmp_path: Path) -> None:
    write_partitioned(frame([], COLUMNS), tmp_path / "runs", ("season", "event"))
    table = pd.read_parquet(tmp_path / "runs")
    assert len(table) == 0
    assert set(table.columns) == set(COLUMNS)


@pytest.mark.parametrize("place", ["keep.txt", "photos/a.parquet", "season=1/photos/a.parquet", "season=1/x.csv"])
def test_somebody_elses_folder_is_never_replaced(place: str, tmp_path: Path) -> None:
    kept = tmp_path / "runs" / place
    kept.parent.mkdir(parents=True)
    kept.write_text("mine")
    with pytest.raises(UsageError, match="holds other things"):
        write_partitioned(frame(ROWS, COLUMNS), tmp_path / "runs", ("season", "event"))
    assert kept.read_text() == "mine"


def test_plain_parquet_keeps_types_and_text(tmp_path: Path) -> None:
    files = write_parquet({"runs": frame(ROWS, COLUMNS)}, tmp_path / "out")
    found = duckdb.sql(f"select * from '{files[0]}'")
    assert [str(kind) for kind in found.types] == [
        "VARCHAR",
        "VARCHAR",
        "BIGINT",
        "BIGINT",
        "BOOLEAN",
        "DATE",
        "VARCHAR",
    ]
    assert found.fetchall()[0] == tuple(ROWS[0].values())


@pytest.mark.parametrize("text", DANGEROUS)
def test_a_cell_that_would_run_is_text(text: str, tmp_path: Path) -> None:
    assert inert(text) == f"'{text}"
    write_spreadsheet({"notes": frame([{"note": text}], {"note": str})}, tmp_path / "out.xlsx")
    cell = openpyxl.load_workbook(tmp_path / "out.xlsx")["notes"]["A2"]
    assert cell.data_type != "f"
    assert cell.hyperlink is None
    sheet = zipfile.ZipFile(tmp_path / "out.xlsx").read("xl/worksheets/sheet1.xml")
    assert b"<f>" not in sheet


@pytest.mark.parametrize("text", ["-2.5", "+3", "46,512", "", "a=b", "u2 0 o1", "7 -> 8", "'=1"])
def test_plain_cells_stay_as_they_are(text: str) -> None:
    assert inert(text) == text


@given(st.text(max_size=20))
def test_no_text_begins_like_a_formula(text: str) -> None:
    made = inert(text)
    assert made in {text, f"'{text}"}
    if made.strip()[:1] in tuple("=+-@＝＋－＠"):
        assert float(made.strip().replace(",", ".")) is not None


def test_sheets_get_names_a_spreadsheet_takes(tmp_path: Path) -> None:
    one = frame([{"a": 1}], {"a": int})
    write_spreadsheet({"a/b:c": one, "A?b*c": one, "x" * 40: one, "": one}, tmp_path / "out.xlsx")
    assert openpyxl.load_workbook(tmp_path / "out.xlsx").sheetnames == ["a b c", "A b c 2", "x" * 28, "table"]


def test_the_same_rows_give_the_same_spreadsheet(tmp_path: Path) -> None:
    for name in ("a.xlsx", "b.xlsx"):
        write_spreadsheet({"runs": frame(ROWS, COLUMNS)}, tmp_path / name, date(2026, 5, 9))
    assert (tmp_path / "a.xlsx").read_bytes() == (tmp_path / "b.xlsx").read_bytes()


def test_a_text_longer_than_a_cell_is_cut_and_says_so(tmp_path: Path) -> None:
    write_spreadsheet({"n": frame([{"note": "a" * 40_000}], {"note": str})}, tmp_path / "out.xlsx")
    value = openpyxl.load_workbook(tmp_path / "out.xlsx")["n"]["A2"].value
    assert (len(value), value[-3:]) == (32_767, "...")


def test_every_table_of_an_event_with_the_contracts_columns(tmp_path: Path) -> None:
    notes = "id,day,run,topic,text\nn1,1,1,balance,=1+1\n"
    pressures = "day,run,number,moment,lf_kpa\n1,1,26,after,200\n"
    folder = write_event(tmp_path / "e", {"26": ("46.512+1", "dnf")}, notes=notes, pressures=pressures)
    frames = event_frames(load(folder))
    assert frames["times"].select("day", "run", "number", "time_ms", "cones", "status", "try").rows() == [
        (1, 1, "26", 46_512, 1, None, None), (1, 2, "26", None, None, "dnf", None),
    ]  # fmt: skip
    assert frames["entrants"]["class"].to_list() == ["PINE"]
    assert frames["pressures"]["lf_psi"].to_list() == [pytest.approx(200 / 6.894757, abs=1e-4)]
    assert frames["notes"]["text"].to_list() == ["=1+1"]
    assert frames["changes"].columns[:7] == ["id", "day", "run", "at", "number", "kind", "key"]
