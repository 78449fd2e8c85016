"""Files, pages and pastes to grids; what is refused, and quickly."""

from __future__ import annotations

import csv
import io
import time
from pathlib import Path

import openpyxl
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.errors import FolderError, PaddockError, UsageError
from paddock.store.sources import LIMIT_BYTES, decode_source, read_bytes, read_source, read_stream

TABLE = [["No.", "Driver", "Run 1", "Run 2"], ["26", "Jürgen Fink", "46,512", "46,9+1"], ["83", "Zoë, R.", "47,1", ""]]
ROWS = tuple(map(tuple, TABLE))


def text_of(delimiter: str, ending: str = "\r\n") -> str:
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=delimiter, lineterminator=ending).writerows(TABLE)
    return out.getvalue()


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_any_csv(delimiter: str, encoding: str, ending: str) -> None:
    (grid,) = read_bytes(text_of(delimiter, ending).encode(encoding), "a file")
    assert grid.rows == ROWS
    assert grid.lines == (1, 2, 3)


def test_a_file_and_a_stream(tmp_path: Path) -> None:
    path = tmp_path / "results.csv"
    path.write_text(text_of(";"), encoding="utf-8")
    assert read_source(path)[0].rows == ROWS
    assert read_stream(io.BytesIO(text_of(";").encode()))[0].rows == ROWS


# What general tools write, read back.
def test_pandas_csv() -> None:
    frame = pd.DataFrame({"No": [26, 83], "Run 1": [46.512, 47.1], "Cones": [1.0, None]})
    (grid,) = read_source(frame.to_csv(index=False))
    assert grid.rows == (("No", "Run 1", "Cones"), ("26", "46.512", "1.0"), ("83", "47.1", ""))
    (german,) = read_source(frame.to_csv(index=False, sep=";", decimal=","))
    assert german.rows[1] == ("26", "46,512", "1,0")


def test_pandas_html() -> None:
    frame = pd.DataFrame(TABLE[1:], columns=TABLE[0])
    (grid,) = read_source(frame.to_html(index=False))
    assert grid.rows == ROWS
    (indexed,) = read_source(f"<h3>Day 1</h3>{frame.to_html()}")
    assert indexed.name == "Day 1"
    assert indexed.rows[1] == ("0", *ROWS[1])
    pivot = frame.melt(["No.", "Driver"], var_name="run").pivot_table(
        index=["No.", "Driver"], columns="run", values="value", aggfunc="first"
    )
    assert read_source(pivot.to_html())[0].rows[2][0] == "26"


def test_a_spreadsheet_written_by_openpyxl_then_saved_as_csv(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (["No", "Run 1"], [26, 46.512], [83, 47.1]):
        sheet.append(row)
    book.save(tmp_path / "a.xlsx")
    read = openpyxl.load_workbook(tmp_path / "a.xlsx").active
    assert read is not None
    out = io.StringIO(newline="")
    csv.writer(out).writerows(read.values)
    assert read_source(out.getvalue())[0].rows == (("No", "Run 1"), ("26", "46.512"), ("83", "47.1"))
    with pytest.raises(UsageError, match="save the sheet as CSV"):
        read_source(tmp_path / "a.xlsx")


def test_an_office_export_quotes_all_text_and_has_a_separator_line() -> None:
    """The manner of an office program's export: all text quoted, semicolons, decimal commas, an empty last column."""
    text = '"Ergebnisse";;;\r\n;;;\r\n"Startnr.";"Name";"1. Lauf";\r\n26;"Fink; Jürgen";46,512;\r\n83;"Zoë";47,1;\r\n'
    (grid,) = read_bytes(text.encode("cp1252"), "a file")
    assert grid.name == "Ergebnisse"
    assert grid.rows[1] == ("26", "Fink; Jürgen", "46,512", "")
    assert grid.lines == (3, 4, 5)


def test_columns_of_spaces_keep_their_blanks() -> None:
    (grid,) = read_source(
        "No   Driver        Run 1    Run 2\n26   Jay Birch     46.512   46.9\n83   Corin Pine             47.1+1\n"
    )
    assert grid.rows[2] == ("83", "Corin Pine", "", "47.1+1")


def test_a_place_one_blank_beside_a_number_is_a_column_of_its_own() -> None:
    (grid,) = read_source("Pos. No.  Name        Run 1\n  1  26   Jay Birch   46.5\n 12  83   Corin Pine  47.1\n")
    assert grid.rows == (
        ("Pos.", "No.", "Name", "Run 1"),
        ("1", "26", "Jay Birch", "46.5"),
        ("12", "83", "Corin Pine", "47.1"),
    )


def test_tables_of_a_text_are_parted_where_a_header_stands() -> None:
    text = "PINE\n\nNo;Run 1\n26;46,5\n\nOAK\n\n4;48,1\n\nPoints\nNo;Points\n26;9\n"
    first, second = read_source(text)
    assert first.name == "PINE"
    assert [row[0] for row in first.rows] == ["No", "26", "OAK", "4"]
    assert second.name == "Points"


PAGE = """<!doctype html><html><head><title>Results 2026</title><style>td{}</style>
<script>var x="<table>";</script></head>
<body><ul><li><a href=x>Home</a></ul><table><tr><td>Home<td>News</table>
<h2>Day 1</h2><table><caption>Class PINE</caption>
<thead><tr><th rowspan=2>No<th colspan=2>Run 1</tr><tr><th>Time<th>Cones</tr></thead>
<tr><td>26<td><b>46</b>.512<br><i>best</i><td>1</tr>
<tr><td>83<script>alert(1)</script><td>47.1<td><select><option>9</select></tr></table>
<h3>Day 2</h3><table><tr><th>No<th>Run 1</tr><tr><td>4<td>48.1</table></body></html>"""


def test_a_page() -> None:
    first, second = read_source(PAGE)
    assert (first.name, first.title) == ("Class PINE", "Results 2026")
    assert first.rows == (
        ("No", "Run 1", "Run 1"),
        ("No", "Time", "Cones"),
        ("26", "46.512 best", "1"),
        ("83", "47.1", ""),
    )
    assert first.lines == (1, 2, 3, 4)
    assert (second.name, second.rows[1]) == ("Day 2", ("4", "48.1"))


def test_a_table_inside_a_table_speaks_for_itself() -> None:
    text = "<table><tr><td>menu<td><table><tr><th>No<th>Run 1<tr><td>26<td>46.5<tr><td>83<td>47.1</table></table>"
    (grid,) = read_source(text)
    assert grid.rows == (("No", "Run 1"), ("26", "46.5"), ("83", "47.1"))


def test_a_table_inside_a_cell_adds_nothing_to_it() -> None:
    inner = "<table><tr><td>Split<td>12.1</table>"
    text = f"<table><tr><th>No<th>Run 1<tr><td>26<td>46.5{inner}<tr><td>83<td>47.1</table>"
    assert read_source(text)[0].rows[1] == ("26", "46.5")


def test_a_page_in_its_own_encoding() -> None:
    page = '<meta charset="windows-1250"><table><tr><th>Nr<th>Imię<tr><td>26<td>Łoś<tr><td>4<td>Żuk</table>'
    assert read_bytes(page.encode("cp1250"), "a page")[0].rows[1] == ("26", "Łoś")
    declared = '<?xml version="1.0" encoding="utf-8"?><html><table><tr><td>a<td>b<tr><td>c<td>d</table></html>'
    assert read_bytes(declared.encode(), "a page")[0].rows == (("a", "b"), ("c", "d"))


def test_text_set_with_spaces_in_a_page() -> None:
    (grid,) = read_source("<html><body><pre>No   Run 1\n26   46.5\n83   47.1\n</pre></body></html>")
    assert grid.rows == (("No", "Run 1"), ("26", "46.5"), ("83", "47.1"))


def test_a_cell_that_spans_a_million_does_not_fill_the_memory() -> None:
    text = '<table><tr><td colspan="1000000">x<td rowspan="99999999">y</tr><tr><td>1<td>2<tr><td>3<td>4</table>'
    assert read_source(text)[0].width <= 202


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "is empty"),
        (b"   \r\n", "is empty"),
        (b"PK\x03\x04rest", "spreadsheet or zip"),
        (b"%PDF-1.7 ...", "a PDF"),
        (b"\x00\x01\x02\x03binary\x00\xff", "binary"),
        (b"a,b\n1,\x07\n", "binary"),
        (b"one line of words", "no table was found"),
        (b"<html><body><ul><li>Home<li>News</ul></body></html>", "no table was found"),
        (b"<html><table><tr><td>Home</td></tr><tr><td>News</td></tr></table></html>", "no table was found"),
    ],
)
def test_what_holds_no_table_is_refused_in_a_sentence(data: bytes, why: str) -> None:
    with pytest.raises(UsageError, match=why):
        read_bytes(data, "results.csv")


def test_400_mb_by_mistake_is_refused_at_once(tmp_path: Path) -> None:
    path = tmp_path / "video.csv"
    with path.open("wb") as file:
        file.truncate(400_000_000)
    start = time.perf_counter()
    with pytest.raises(UsageError, match=r"video\.csv has 400 MB and can't be a table of results"):
        read_source(path)
    assert time.perf_counter() - start < 0.1
    with pytest.raises(UsageError, match="can't be a table"):
        read_stream(io.BytesIO(b"x" * (LIMIT_BYTES + 1)))


def test_what_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="is not there"):
        read_source(tmp_path / "nothing.csv")
    with pytest.raises(UsageError, match="is a folder"):
        read_source(tmp_path)


@pytest.mark.parametrize(
    ("text", "row"),
    [
        ("46,5;47,1;48,2\n46,6;47,2;48,3\n", ("46,5", "47,1", "48,2")),
        ("26   46,5   47,1\n83   46,6   47,2\n", ("26", "46,5", "47,1")),
        ("26|46,5|47,1\n83|46,6|47,2\n", ("26", "46,5", "47,1")),
        ("26,46512,47000\n83,46600,47200\n", ("26", "46512", "47000")),
        ("26;46,5\n" * 9 + "course 0,7\n", ("26", "46,5")),
    ],
)
def test_a_decimal_comma_parts_no_cells(text: str, row: tuple[str, ...]) -> None:
    assert read_source(text)[0].rows[0] == row


def test_an_open_quote_swallows_nothing() -> None:
    text = 'No,Driver,Run 1\n26,"Jay Birch,46.5\n' + "".join(f"{n},x,47.{n}\n" for n in range(40, 60))
    (grid,) = read_source(text)
    assert len(grid.rows) == 22


def test_cells_longer_than_any_are_kept_for_the_reader_to_refuse() -> None:
    text = "No,Driver,Run 1\n26," + "x" * 200_000 + ",46.5\n83,y,47.1\n"
    assert len(read_source(text)[0].rows[1][1]) == 200_000


@given(st.binary(max_size=300))
def test_no_bytes_break_the_reader(data: bytes) -> None:
    try:
        grids = read_bytes(data, "a file")
    except PaddockError:
        return
    assert all(len(row) == grid.width for grid in grids for row in grid.rows)


@given(st.text(alphabet="<>/tabletrd 1.,\n\t;\"'x", max_size=200))
def test_no_text_breaks_the_reader(text: str) -> None:
    try:
        grids = read_source(text)
    except UsageError:
        return
    assert all(len(grid.lines) == len(grid.rows) for grid in grids)


@given(
    st.lists(
        st.lists(st.text("abcÄÖ 123.,;\"'", min_size=1).map(str.strip).filter(bool), min_size=3, max_size=3),
        min_size=2, max_size=8,
    )
)  # fmt: skip
def test_any_table_written_as_csv_is_read_again(rows: list[list[str]]) -> None:
    out = io.StringIO(newline="")
    csv.writer(out, delimiter="\t").writerows(rows)
    assert [list(row) for grid in read_source(out.getvalue()) for row in grid.rows] == [
        [" ".join(cell.split()) for cell in row] for row in rows
    ]


def test_foreign_bytes_that_are_no_utf8() -> None:
    assert decode_source("Jürgen".encode("cp1252"), "x") == "Jürgen"


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.csv"
    path.write_text("a,b\n1,2\n")

    def refuse(*_args: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(FolderError, match=r"a\.csv can't be read: Permission denied"):
        read_source(path)
