"""``paddock debrief`` from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from paddock.__main__ import main
from paddock.commands import debrief
from tests.seasonfiles import write_event


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write_event(tmp_path / "day", {"26": ("46.512", "45.9+1"), "7": ("47.0", "46.9")}, "Spring")


def test_the_page_and_the_text_stand_beside_the_folder(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["debrief", f"{folder}", "--json"]) == 0
    out, err = capsys.readouterr()
    wrote = {"format": 1, "file": f"{folder.parent / 'day-debrief.html'}", "faults_left_out": 0, "rows_later": 0}
    assert json.loads(out) == wrote
    assert err == ""
    assert "Spring" in (folder.parent / "day-debrief.html").read_text("utf-8")
    assert (folder.parent / "day-debrief.txt").read_text("utf-8").startswith("Spring\n")


def test_where_it_is_asked_to_and_nothing_in_the_folder(folder: Path, tmp_path: Path) -> None:
    before = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in folder.rglob("*")}
    assert main(["debrief", f"{folder}", "-o", f"{tmp_path / 'x.html'}", "--names"]) == 0
    assert "7 Driver 7" in (tmp_path / "x.html").read_text("utf-8")
    assert {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in folder.rglob("*")} == before


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["{tmp}/none"], 3),
        (["{folder}", "-o", "{tmp}/x.pdf"], 2),
        (["{folder}", "-o", "{folder}/x.html"], 2),
        (["{folder}", "-o", "{tmp}/no/such/x.html"], 3),
    ],
)
def test_errors_are_one_line(
    words: list[str], code: int, folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["debrief", *(word.format(folder=folder, tmp=tmp_path) for word in words)]) == code
    out, err = capsys.readouterr()
    assert (out, err.count("\n")) == ("", 1)


def test_progress_only_on_a_terminal(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    debrief._progress()("results")
    assert capsys.readouterr().err == ""
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    told = debrief._progress()
    told("results")
    told("")
    assert capsys.readouterr().err == "\r\x1b[Kdebrief: results\r\x1b[K"
