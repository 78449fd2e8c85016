"""CSV files: read in every manner, kept byte for byte, edited one record at a time."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.model.rows import PressureRow, TimeRow
from paddock.store.csvfile import CsvFile
from paddock.store.layout import cells_of, render, split

DELIMITERS = st.sampled_from([",", ";", "\t"])
ENDINGS = st.sampled_from(["\n", "\r\n", "\r"])
LETTERS = st.sampled_from("abZ09éß€😀\u0085\u2028\u00a0\ufeff'\"#[]=+-@.,;")
CELL = st.one_of(
    st.sampled_from(["", " ", "26", "46,512", "46.512", '5" rim', 'say ""no""', "a;b", "two\nlines", "two\r\nlines"]),
    st.text(LETTERS, max_size=8),
)  # fmt: skip


@st.composite
def csv_text(draw: st.DrawFn) -> str:
    """A times.csv as anybody's program may have written it."""
    sign = draw(DELIMITERS)
    header = draw(st.permutations(["day", "run", "Number ", "time", "cones", "status", "my own", "note"]))
    lines = [sign.join(header) + draw(ENDINGS)]
    for _ in range(draw(st.integers(0, 6))):
        if draw(st.integers(0, 5)) == 0:
            lines.append(draw(st.sampled_from(["\n", "\r\n", "  \n", sign * 3 + "\n"])))
            continue
        cells = draw(st.lists(CELL, min_size=1, max_size=10))
        quoted = [f'"{c}"' if draw(st.booleans()) else c for c in (cell.replace('"', '""') for cell in cells)]
        lines.append(sign.join(quoted) + draw(ENDINGS))
    text = "".join(lines)
    return draw(st.sampled_from(["", "\ufeff"])) + (text.rstrip("\r\n") if draw(st.booleans()) else text)


@given(csv_text())
def test_what_is_not_edited_comes_back_byte_for_byte(text: str) -> None:
    table = CsvFile.parse("times.csv", text.encode())
    assert table.data == text.encode()
    assert table.starts[-1] == text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").count("\n") + (
        1 if text.endswith(("\n", "\r")) else 2
    )


GOOD = st.lists(
    st.tuples(st.integers(1, 2), st.integers(1, 9), st.sampled_from(["26", "7", "007"]), st.integers(0, 99_999)),
    unique_by=lambda item: item[:3], min_size=1, max_size=8,
)  # fmt: skip


def written(rows: list[tuple[int, int, str, int]], sign: str, ending: str, comma: bool, bom: str) -> bytes:
    """Times as a program with these habits writes them, with a column of its own between."""
    lines = [sign.join(("day", "run", "mine", "number", "TIME"))]
    for day, run, number, ms in rows:
        time = f"{ms // 1000}{',' if comma else '.'}{ms % 1000:03d}"
        lines.append(render([str(day), str(run), "a" + sign + "b", number, time], sign, ""))
    return (bom + ending.join(lines) + ending).encode()


@given(GOOD, DELIMITERS, ENDINGS, st.booleans(), st.sampled_from(["", "\ufeff"]), st.data())
def test_a_changed_row_changes_only_its_own_line(
    rows: list[tuple[int, int, str, int]], sign: str, ending: str, comma: bool, bom: str, data: st.DataObject
) -> None:
    before = written(rows, sign, ending, comma, bom)
    table = CsvFile.parse("times.csv", before)
    assert [(row.day, row.run, row.number, row.time_ms) for row in table.rows if isinstance(row, TimeRow)] == rows
    at = data.draw(st.integers(0, len(rows) - 1))
    cells = table.cells_with(table.records[at].cells, {"time_ms": 12_345})
    after = table.with_record(at, table.render(cells))
    expected = [*rows[:at], (*rows[at][:3], 12_345), *rows[at + 1 :]]
    assert after.data == written(expected, sign, ending, comma, bom)
    assert after == CsvFile.parse("times.csv", after.data)
    assert after.with_record(at, None).data == written([*rows[:at], *rows[at + 1 :]], sign, ending, comma, bom)


@given(st.lists(st.text(LETTERS | st.sampled_from("\t\n "), max_size=6), min_size=1, max_size=5), DELIMITERS)
def test_a_rendered_record_reads_as_itself(cells: list[str], sign: str) -> None:
    raw = render(cells, sign, "\n")
    assert cells_of(raw, sign) == cells
    assert [item.raw for item in split(raw, sign)] == [raw]


def _parse(text: str, file: str = "times.csv") -> CsvFile:
    return CsvFile.parse(file, text.encode())


def _edited(table: CsvFile, at: int, **values: Any) -> CsvFile:
    return table.with_record(at, table.render(table.cells_with(table.records[at].cells, values)))


def test_units_come_from_the_header_and_go_back_into_it() -> None:
    text = "day,run,number,moment,lf_kpa,rf_bar,lr_psi,tyre_f\n1,1,26,after,234.4,2.5,40,122\n"
    table = _parse(text, "pressures.csv")
    (row,) = table.rows
    assert isinstance(row, PressureRow)
    assert row.lf_psi == pytest.approx(33.997, abs=1e-3)  # 1 psi = 6.894757 kPa: NIST SP 811 (2008), appendix B
    assert row.rf_psi == pytest.approx(36.259, abs=1e-3)
    assert (row.lr_psi, row.tyre_c) == (40.0, pytest.approx(50.0))
    again = _edited(table, 0, lf_psi=34.0, tyre_c=55.0)
    assert again.data.decode().splitlines()[1] == "1,1,26,after,234.4,2.5,40,131"


def test_a_new_column_is_appended_to_every_row() -> None:
    table = _parse('day;run;number\r\n1;1;26\r\n\r\n1;2;"26"\r\n1;3\r\n1;4;26;too;many\r\n')
    wide = table.with_column("status")
    assert wide.data.decode() == 'day;run;number;status\r\n1;1;26;\r\n\r\n1;2;"26";\r\n1;3;\r\n1;4;26;;too;many\r\n'
    assert [row.line for row in wide.rows] == [2, 4]
    assert [problem.line for problem in wide.problems] == [5, 6]
    narrow = _parse("day,run,number\n1,1,26\n1,2,26").with_column("cones")
    assert narrow.without_column("cones").data == b"day,run,number\n1,1,26\n1,2,26"
    kept = _edited(narrow, 0, cones=1)
    assert kept.without_column("cones") is kept


@given(csv_text(), st.integers(1, 4))
def test_columns_put_in_and_taken_out_again_leave_every_byte(text: str, many: int) -> None:
    """Also beside rows with more cells than the header."""
    table = CsvFile.parse("times.csv", text.encode())
    headers = [f"new {at}" for at in range(many)]
    wide = table
    for header in headers:
        wide = wide.with_column(header)
    assert [record.cells[len(wide.layout.headers) :] for record in wide.records] == [
        record.cells[len(table.layout.headers) :] for record in table.records
    ]
    for header in reversed(headers):
        wide = wide.without_column(header)
    assert wide.data == table.data


def test_lines_are_counted_anew_after_a_longer_cell() -> None:
    table = _parse("id,text\na,x\nb,y\nc,z\n", "notes.csv")
    longer = _edited(table, 0, text="two\nlines")
    assert [row.line for row in longer.rows] == [2, 4, 5]
    assert [row.line for row in longer.with_record(0, None).rows] == [2, 3]
    assert longer == _parse('id,text\na,"two\nlines"\nb,y\nc,z\n', "notes.csv")


def test_decimal_commas_follow_the_file() -> None:
    assert not _parse("day,run,number,time\n1,1,26,46.5\n").comma
    assert _parse("day;run;number;time\n").comma
    assert not _parse("day;run;number;time\n1;1;26;46.5\n").comma
    quoted = _parse('day,run,number,time\n1,1,26,"46,5"\n')
    assert quoted.comma
    assert _edited(quoted, 0, time_ms=47_123).data.decode().endswith('1,1,26,"47,123"\n')


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"time_ms": -5}, "time: '-0.005' is no time"),
        ({"cones": -1}, "cones: '-1' is out of range"),
        ({"status": "lost"}, "status: 'lost' is not known here"),
        ({"at": "25:00"}, "at: '25:00' is no clock time"),
        ({"time_ms": "fast"}, "time: "),
    ],
)
def test_what_can_not_stand_in_a_column_is_refused(values: dict[str, Any], words: str) -> None:
    table = CsvFile.fresh("times.csv")
    with pytest.raises(ValueError, match=words):
        table.cells_with([], values)


def test_control_characters_are_refused() -> None:
    with pytest.raises(ValueError, match="control character"):
        CsvFile.fresh("notes.csv").cells_with([], {"text": "late\x1b[31m"})


def test_new_rows_stay_clear_of_a_torn_end() -> None:
    torn = _parse("day,run,number,time\n1,1,26,47.250\n1,2,26,46")
    assert torn.cut is None  # as many cells as the header: the newline alone is missing
    torn = _parse("day,run,number,time\n1,1,26,47.250\n1,2,3")
    raw = "1,3,26,46.9\n"
    assert torn.with_record(torn.end_for(raw), raw, insert=True).data.decode() == (
        "day,run,number,time\n1,1,26,47.250\n1,3,26,46.9\n1,2,3"
    )
