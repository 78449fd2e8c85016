"""Many rows in one edit: the same files, undo and refusals as one row at a time, in one pass."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paddock.errors import RefusedError
from paddock.model.edit import AddRow, Batch, ChangeRow
from paddock.session import Session
from paddock.store.csvfile import CsvFile
from tests.store.folders import TIMES, every_byte, small_folder


def files(folder: Path) -> dict[str, bytes | None]:
    return {name: data for name, data in every_byte(folder).items() if not name.startswith(".paddock")}


def new(number: int, run: int = 1, **more: Any) -> AddRow:
    return AddRow("times.csv", {"day": 2, "run": run, "number": str(number), "time_ms": 46_000 + number, **more})


def later(*key: Any, **cells: Any) -> ChangeRow:
    return ChangeRow("times.csv", (*key, None), cells)


def one_by_one(folder: Path, edits: Sequence[AddRow | ChangeRow]) -> None:
    session = Session.open(folder)
    for edit in edits:
        session.apply(edit)
    session.close()


@pytest.fixture
def entered(tmp_path: Path) -> tuple[Path, Path]:
    """Two folders with twelve more entrants."""
    made = small_folder(tmp_path / "a"), small_folder(tmp_path / "b")
    for folder in made:
        with (folder / "entrants.csv").open("a") as file:
            file.writelines(f"{number},,,,,,,,\n" for number in range(100, 112))
    return made


MANY = [*(new(number) for number in range(100, 112)), later(1, 1, "26", cones=1), later(1, 1, "7", cones=0, misses=1)]


@pytest.mark.parametrize(
    "text",
    [
        TIMES,
        TIMES.rstrip("\n"),
        TIMES.replace("\n", "\r\n"),
        "day,run,number,time\n1,1,26,47.250\n1,1,7,48.003\n",
        "day,run,number\n",
    ],
)
def test_as_one_by_one_and_back(entered: tuple[Path, Path], text: str) -> None:
    a, b = entered
    edits = MANY if "26" in text else MANY[:-2]
    for folder in entered:
        (folder / "times.csv").write_bytes(text.encode())
    before = files(a)
    session = Session.open(a)
    assert session.apply(Batch("import", tuple(edits))).ok
    one_by_one(b, edits)
    after = files(a)
    assert after == files(b)
    assert session.undo() == "import"
    assert files(a) == before
    assert session.redo() == "import"
    assert files(a) == after


def test_a_row_twice_is_refused_and_nothing_is_changed(entered: tuple[Path, Path]) -> None:
    a, _ = entered
    before = files(a)
    session = Session.open(a)
    with pytest.raises(RefusedError, match="is there already"):
        session.apply(Batch("import", (*MANY, new(105, cones=2))))
    with pytest.raises(RefusedError, match="is there already"):
        session.apply(Batch("import", (*MANY, AddRow("times.csv", {"day": 1, "run": 1, "number": "26", "time_ms": 1}))))
    with pytest.raises(RefusedError, match=r"is not in times\.csv"):
        session.apply(Batch("import", (*MANY, later(2, 5, "26", cones=1))))
    assert files(a) == before


def test_a_row_added_and_changed_in_one_edit(entered: tuple[Path, Path]) -> None:
    a, b = entered
    edits = [*MANY, later(2, 1, "105", cones=3), later(1, 1, "26", misses=2), new(107, status="rerun")]
    Session.open(a).apply(Batch("import", tuple(edits)))
    one_by_one(b, edits)
    assert files(a) == files(b)


def test_a_run_made_a_rerun_and_its_replacement_in_one_edit(entered: tuple[Path, Path]) -> None:
    a, b = entered
    again = AddRow("times.csv", {"day": 1, "run": 1, "number": "26", "time_ms": 45_000})
    edits = [*MANY[:12], later(1, 1, "26", status="rerun"), again]
    Session.open(a).apply(Batch("import", tuple(edits)))
    one_by_one(b, edits)
    assert files(a) == files(b)


def test_undo_stops_where_other_hands_changed_a_row(entered: tuple[Path, Path]) -> None:
    a, _ = entered
    session = Session.open(a)
    session.apply(Batch("import", tuple(MANY[:12])))
    text = (a / "times.csv").read_text().replace("46.104", "46.999")
    (a / "times.csv").write_text(text)
    session.poll()
    with pytest.raises(RefusedError, match="changed since by other hands"):
        session.undo()
    assert (a / "times.csv").read_text() == text


def test_redo_stops_where_other_hands_entered_the_row(entered: tuple[Path, Path]) -> None:
    a, _ = entered
    session = Session.open(a)
    session.apply(Batch("import", tuple(MANY[:12])))
    session.undo()
    text = TIMES.replace("1,1,7,48.003,1,,,10:02,", "2,1,104,40.000,,,,,")
    (a / "times.csv").write_text(text)
    session.poll()
    with pytest.raises(RefusedError, match="is there by now"):
        session.redo()
    assert (a / "times.csv").read_text() == text


def test_undo_after_other_hands_took_a_row_out(entered: tuple[Path, Path]) -> None:
    a, _ = entered
    session = Session.open(a)
    session.apply(Batch("import", tuple(MANY[:12])))
    text = (a / "times.csv").read_text()
    (a / "times.csv").write_text(text.replace("2,1,104,46.104,,,,,\n", "").replace("1,1,7,48.003", "1,1,7,48.004"))
    session.poll()
    session.undo()
    assert (a / "times.csv").read_text() == TIMES.replace("48.003", "48.004")


ROW = st.tuples(st.integers(1, 2), st.integers(1, 3), st.sampled_from(["26", "7"]), st.sampled_from([None, "rerun"]))


@settings(max_examples=40, deadline=None)
@given(st.lists(ROW, min_size=8, max_size=14))
def test_any_rows_as_one_by_one(tmp_path_factory: pytest.TempPathFactory, rows: list[Any]) -> None:
    place = tmp_path_factory.mktemp("many")
    a, b = small_folder(place / "a"), small_folder(place / "b")
    edits = [
        AddRow("times.csv", {"day": day, "run": run, "number": number, "time_ms": 46_000, "status": status})
        for day, run, number, status in rows
    ]
    outcome = []
    for folder, batches in ((a, [Batch("all", tuple(edits))]), (b, [Batch("one", tuple(edits[:7])), *edits[7:]])):
        session = Session.open(folder)
        try:
            for batch in batches:
                session.apply(batch)
            outcome.append("done")
        except RefusedError as error:
            outcome.append(str(error))
        session.close()
    assert outcome[0] == outcome[1]
    if outcome[0] == "done":
        assert files(a) == files(b)


def test_records_in_one_pass_keep_their_lines() -> None:
    doc = CsvFile.parse("notes.csv", b'id,text\na,"two\nlines"\nb,x\nc,y\n')
    made = doc.with_records({0: "a,one\n", 1: None}, ["d,z\n"])
    assert made.data == b"id,text\na,one\nc,y\nd,z\n"
    assert [row.line for row in made.rows] == [2, 3, 4]
    assert [row.line for row in CsvFile.parse("notes.csv", made.data).rows] == [2, 3, 4]
