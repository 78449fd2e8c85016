"""Broken folders: problems, never a traceback, never a changed byte, and the good rows stay."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from paddock.errors import FolderError, Problem
from paddock.model.edit import AddRow, Batch
from paddock.session.opened import Session
from paddock.store import folder
from paddock.store.glance import glance
from tests.store.broken import BROKEN, CROSS_FILE
from tests.store.folders import every_byte, small_folder


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_folder_gives_problems_and_keeps_its_bytes(tmp_path: Path, name: str) -> None:
    path = small_folder(tmp_path / "event")
    BROKEN[name](path)
    before = every_byte(path)
    raw = folder.read(path)
    assert [problem for problem in raw.problems if problem.level == "fault"]
    for problem in raw.problems:
        assert "\n" not in str(problem)
        assert len(problem.message) < 400
        assert problem.file in before or problem.message.startswith("is missing")
    glance(path)
    assert every_byte(path) == before


@pytest.mark.parametrize("name", CROSS_FILE)
def test_faults_between_files_are_not_the_readers(tmp_path: Path, name: str) -> None:
    path = small_folder(tmp_path / "event")
    CROSS_FILE[name](path)
    assert folder.read(path).problems == ()


def test_there_are_at_least_forty_ways() -> None:
    assert len(BROKEN) + len(CROSS_FILE) >= 40


def _only(path: Path, name: str) -> Problem:
    small_folder(path)
    BROKEN[name](path)
    (problem,) = folder.read(path).problems
    return problem


@pytest.mark.parametrize(
    ("name", "said"),
    [
        (
            "times UTF-16",
            "times.csv:0: fault: is UTF-16 text: save it again as UTF-8 "
            '(in the editor\'s "save as", encoding UTF-8)',
        ),
        (
            "not a time",
            "times.csv:5: fault: time: 'fast' is no time: write seconds with at most three decimals, like 46.512",
        ),
        ("run blank", "times.csv:5: fault: run: is blank: write it"),
        ("header without number", "times.csv:1: fault: the column number is missing: the header needs it"),
        ("TOML value blank", "event.toml:5: fault: invalid value in 'runs_per_day =': a value is missing"),
        ("TOML key twice", "event.toml:6: fault: cannot overwrite a value in 'runs_per_day = 6': each key once only"),
        ("class scored by luck", "event.toml:13: fault: classes.1.scored_by: 'luck': write \"raw\" or \"index\""),
        ("index zero", "event.toml:20: fault: index.LIME: 0 is no factor: a number over 0 is wanted"),
        (
            "my numbers as numbers",
            "event.toml:24: fault: mine.numbers.1: 26 can't be meant: text in double quotes is wanted",
        ),
        ("times a directory", "times.csv:0: fault: is a folder, a file is wanted: move it away"),
        (
            "one NUL in a cell",
            "times.csv:2: fault: holds a control character (byte 00) and is no text: mend or replace it",
        ),
        ("car drive unknown", "cars/estate.toml:2: fault: drive: 'both': write \"front\", \"rear\" or \"all\""),
    ],
)  # fmt: skip
def test_what_is_said(tmp_path: Path, name: str, said: str) -> None:
    assert str(_only(tmp_path / "event", name)) == said.replace("'luck'", '"luck"').replace("'both'", '"both"')


def test_the_good_rows_of_a_bad_file_stay(tmp_path: Path) -> None:
    path = small_folder(tmp_path / "event")
    BROKEN["open quote in the middle"](path)
    BROKEN["last row cut"](path)
    raw = folder.read(path)
    assert [row.number for row in raw.tables["entrants.csv"]] == ["7"]  # type: ignore[attr-defined]
    assert [row.line for row in raw.tables["times.csv"]] == [2, 3]
    assert sorted((problem.file, problem.line) for problem in raw.problems) == [("entrants.csv", 2), ("times.csv", 4)]


@pytest.mark.parametrize("end", ["", "\n", "\n1,3,26,46.100,,,,11:02,\n"])
def test_a_line_of_nulls_costs_no_other_row(tmp_path: Path, end: str) -> None:
    path = small_folder(tmp_path / "event")
    table = path / "times.csv"
    spoilt = table.read_bytes() + b"\0" * 512 + end.encode()
    table.write_bytes(spoilt)
    raw = folder.read(path)
    rows = [2, 3, 4, 6] if "," in end else [2, 3, 4]
    assert [row.line for row in raw.tables["times.csv"]] == rows
    (problem,) = raw.problems
    assert (problem.line, problem.level) == (5, "fault")
    assert problem.message.endswith("take the line out")
    session = Session.open(path)
    try:
        cells = {"day": 1, "run": 2, "number": "7", "time_ms": 47_900}
        assert session.apply(Batch("a time", (AddRow("times.csv", cells),))).ok
        kept = table.read_bytes()
        assert kept == spoilt + (b"" if end else b"\n") + b"1,2,7,47.900,,,,,\n"
        session.undo()
        assert table.read_bytes() == spoilt
    finally:
        session.close()


def test_a_bad_key_costs_no_other(tmp_path: Path) -> None:
    path = small_folder(tmp_path / "event")
    for name in ("class scored by luck", "cone negative", "index zero", "days as text"):
        BROKEN[name](path)
    raw = folder.read(path)
    assert raw.settings is not None
    assert [item.code for item in raw.settings.classes] == ["LIME", "OAK"]
    assert list(raw.settings.index.factors) == ["OAK"]
    assert raw.settings.rules.cone_ms == 2000
    assert raw.settings.runs_per_day == 5
    assert [problem.line for problem in sorted(raw.problems)] == [4, 8, 13, 20]


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_a_file_that_may_not_be_read(tmp_path: Path) -> None:
    path = small_folder(tmp_path / "event")
    (path / "notes.csv").chmod(0)
    (problem,) = folder.read(path).problems
    assert "permissions" in problem.message


def test_no_folder(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    for path, words in ((tmp_path / "nowhere", "no such folder"), (tmp_path / "file", "is no folder")):
        with pytest.raises(FolderError, match=words):
            folder.read(path)
