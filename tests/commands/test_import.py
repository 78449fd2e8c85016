"""``paddock import`` from the doorway: what is written, what is only shown, what is refused."""

from __future__ import annotations

import io
import json
import sys
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from paddock.__main__ import main
from paddock.commands import import_
from paddock.session import Session, load
from tests.store.folders import EVENT, every_byte, small_folder

RESULTS = "No;Driver;Run 1;Run 2;Run 3\n26;Ada Nowhere;47,25;46,512+1;46,1\n7;Otter Brook;48,003+1;dnf;\n99;New One;50,1;51,0;49,9\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    found = small_folder(tmp_path / "event")
    (found / "event.toml").write_text(EVENT.replace("[rules]", "[rules]\nprotest_min = 30"))
    return found


@pytest.fixture(autouse=True)
def _morning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(import_, "now", lambda: datetime(2026, 5, 9, 10, 45))


@pytest.fixture
def results(tmp_path: Path) -> Path:
    path = tmp_path / "results.csv"
    path.write_text(RESULTS)
    return path


def asked(capsys: pytest.CaptureFixture[str], *words: str) -> Any:
    """The JSON of a command that answers."""
    code = main(["import", *words, "--json"])
    out, err = capsys.readouterr()
    assert (code, err) == (0, "")
    return json.loads(out)


def refused(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    """The one line of a command that refuses."""
    code = main(["import", *words])
    out, err = capsys.readouterr()
    assert (code, out) == (2, "")
    assert err.startswith("paddock: ")
    assert err.count("\n") == 1
    return err


def files(folder: Path) -> dict[str, bytes | None]:
    return {name: data for name, data in every_byte(folder).items() if not name.startswith(".paddock")}


def test_without_yes_in_a_pipe_nothing_is_written_and_the_answer_shows_what_would_be(
    capsys: pytest.CaptureFixture[str], folder: Path, results: Path
) -> None:
    before = every_byte(folder)
    found = asked(capsys, str(folder), str(results))
    assert list(found) == ["format", "mapping", "not_used", "added", "updated", "unchanged", "unread", "differences"]
    assert found["mapping"] == {"number": "No", "name": "Driver", "run1": "Run 1", "run2": "Run 2", "run3": "Run 3"}
    assert (found["added"], found["updated"], found["unchanged"], found["unread"]) == (5, 1, 2, [])
    assert found["differences"] == [{"run": 2, "posted": "46.512+1", "logged": "46.512", "minutes_left": 16}]
    assert every_byte(folder) == before


def test_yes_writes_once_more_changes_nothing_and_undo_takes_it_all_back(
    capsys: pytest.CaptureFixture[str], folder: Path, results: Path
) -> None:
    before = files(folder)
    first = asked(capsys, str(folder), str(results), "--yes")
    assert (first["added"], first["updated"]) == (5, 1)
    after = files(folder)
    again = asked(capsys, str(folder), str(results), "--yes")
    assert (again["added"], again["updated"], again["unchanged"]) == (0, 0, 8)
    assert again["differences"] == first["differences"]
    assert files(folder) == after
    of = load(folder)
    assert of.problems == ()
    assert {(row.run, row.time_ms, row.cones, row.status) for row in of.times if row.number == "7"} == {
        (1, 48_003, 1, None), (2, None, None, "dnf"),
    }  # fmt: skip
    assert of.entrant("99") is not None
    session = Session.open(folder)
    assert session.undo() == "import of 6 runs for day 1"
    session.close()
    assert files(folder) == before


def test_a_correction_updates_the_row(capsys: pytest.CaptureFixture[str], folder: Path, results: Path) -> None:
    asked(capsys, str(folder), str(results), "--yes")
    results.write_text(RESULTS.replace("50,1", "50,1+2"))
    found = asked(capsys, str(folder), str(results), "--yes")
    assert (found["added"], found["updated"]) == (0, 1)
    assert [row.cones for row in load(folder).times if (row.number, row.run) == ("99", 1)] == [2]


def test_a_row_that_is_out_for_its_class_gets_the_tables_and_its_runs_with_it(
    capsys: pytest.CaptureFixture[str], folder: Path, results: Path
) -> None:
    entrants = folder / "entrants.csv"
    entrants.write_text(entrants.read_text().replace("Estate,LIME", "Estate,LIMA"))
    before = files(folder)
    results.write_text("No;Driver;Class;Run 1;Run 2\n26;Ada Nowhere;;47,25;46,512+1\n7;Otter Brook;LIME;48,003;\n")
    seen = asked(capsys, str(folder), str(results))
    out = "number 26: its row in entrants.csv is out, class LIMA is none of this event's"
    assert seen["unread"] == [{"line": 2, "why": f"{out} and the table names none: mend that first"}]
    assert main(["import", str(folder), str(results)]) == 0
    printed = capsys.readouterr().out
    assert "number 7 is in OAK here and in LIME in the table: it stays" in printed
    results.write_text(results.read_text().replace("Nowhere;;", "Nowhere;LIME;"))
    seen = asked(capsys, str(folder), str(results))
    assert seen["unread"] == [{"line": 2, "why": f"{out}: it gets LIME of the table, and its runs with it"}]
    assert main(["import", str(folder), str(results), "--yes"]) == 0
    printed = capsys.readouterr().out
    assert "run 2: posted 46.512+1, logged 46.512" in printed
    assert "brought in: 0 new, 2 changed, 1 as they were" in printed
    of = load(folder)
    assert of.problems == ()
    assert of.entrants[0].class_ == "LIME"
    session = Session.open(folder)
    session.undo()
    session.close()
    assert files(folder) == before


def test_a_table_of_only_such_a_row_is_brought_in(
    capsys: pytest.CaptureFixture[str], folder: Path, results: Path
) -> None:
    entrants = folder / "entrants.csv"
    entrants.write_text(entrants.read_text().replace("Estate,LIME", "Estate,LIMA"))
    results.write_text("No;Class;Run 1\n26;LIME;47,25\n")
    assert asked(capsys, str(folder), str(results), "--yes")["unread"] == []
    assert load(folder).problems == ()


def test_on_a_terminal_it_asks(
    capsys: pytest.CaptureFixture[str], folder: Path, results: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = files(folder)
    for answer, wrote in (("\n", False), ("n\n", False), ("y\n", True)):
        monkeypatch.setattr(sys, "stdin", io.StringIO(answer))
        monkeypatch.setattr(sys.stdin, "isatty", lambda: True)
        monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
        assert main(["import", str(folder), str(results)]) == 0
        out, err = capsys.readouterr()
        assert "Write this to" in err
        assert ("brought in: 5 new, 1 changed" in out) is wrote
        assert ("undo" in out) is wrote
        assert (files(folder) != before) is wrote


def test_the_readable_answer(capsys: pytest.CaptureFixture[str], folder: Path, results: Path) -> None:
    results.write_text(RESULTS + "8;Bad;x;;\n")
    assert main(["import", str(folder), str(results)]) == 0
    out = capsys.readouterr().out
    assert "run 2: posted 46.512+1, logged 46.512; 16 min left to protest" in out
    assert "line 5: number 8, run 1: 'x' is neither" in out
    assert "new entrants, to complete in entrants.csv: 99" in out
    assert "nothing is written yet" in out
    assert "\n26 run 2: 46.512 → 46.512+1\n" in out
    parts = ("to bring in: ", "nothing is written yet", "my runs posted otherwise", "runs that change", "first rows")
    assert [out.find(part) for part in parts] == sorted(out.find(part) for part in parts)


def test_standard_input_and_pasted_pages(
    capsys: pytest.CaptureFixture[str], folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = "<table><tr><th>No<th>Run 3<tr><td>26<td>46.1<tr><td>7<td>47.9</table>"
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(page.encode())))
    assert asked(capsys, str(folder), "-", "--yes")["added"] == 2


def test_the_clipboard(
    capsys: pytest.CaptureFixture[str], folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = tmp_path / "bin"
    place.mkdir()
    monkeypatch.setenv("PATH", str(place))
    assert "no way to read its clipboard" in refused(capsys, str(folder), "clipboard")
    reader = place / "wl-paste"
    reader.write_text("#!/bin/sh\nprintf 'No\\tRun 3\\n26\\t46.1\\n7\\t47.9\\n'\n")
    reader.chmod(0o755)
    assert asked(capsys, str(folder), "clipboard")["added"] == 2
    reader.write_text("#!/bin/sh\nexit 1\n")
    assert "the clipboard is empty" in refused(capsys, str(folder), "clipboard")


def test_table_and_day(capsys: pytest.CaptureFixture[str], folder: Path, tmp_path: Path) -> None:
    path = tmp_path / "page.html"
    path.write_text(
        "<h2>Day 1</h2><table><tr><th>No<th>Run 3<tr><td>26<td>46.1<tr><td>7<td>47.9</table>"
        "<h2>Day 2</h2><table><tr><th>No<th>Run 1<tr><td>26<td>45.1<tr><td>7<td>46.9<tr><td>99<td>47.0</table>"
    )
    asked(capsys, str(folder), str(path), "--table", "2", "--day", "2", "--yes")
    assert {(row.day, row.run, row.number) for row in load(folder).times if row.day == 2} == {
        (2, 1, "26"), (2, 1, "7"), (2, 1, "99"),
    }  # fmt: skip
    assert "there is no table 3: the source has 1 Day 1; 2 Day 2" in refused(
        capsys, str(folder), str(path), "--table", "3"
    )
    assert "day 3 is outside the event" in refused(capsys, str(folder), str(path), "--day", "3")


def test_a_map_given_once_is_remembered_and_may_be_lost(
    capsys: pytest.CaptureFixture[str], folder: Path, tmp_path: Path
) -> None:
    path = tmp_path / "odd.csv"
    path.write_text("Ref,Who,Zeta,Eta\n26,Ada,x46.1,46.1\n7,Otter,x,47.9\n")
    told = asked(capsys, str(folder), str(path), "--map", "number=Ref,run3=Eta", "--yes")
    assert told["mapping"] == {"number": "Ref", "name": "Who", "run3": "Eta"}
    assert asked(capsys, str(folder), str(path))["mapping"] == told["mapping"]
    (folder / ".paddock" / "import.json").write_text("{broken")
    assert asked(capsys, str(folder), str(path), "--map", "number=Ref,run3=Eta")["unchanged"] == 2


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("<html><ul><li><a href=x>Home</a><li>News</ul></html>", "no table was found"),
        ("<table><tr><td>Home<td>News<tr><td>About<td>Contact</table>", "which columns hold the numbers and the times"),
        ("Results 2025\n\nNo;Run 3\n26;46,1\n7;47,9\n", "says 2025, and this event is in 2026"),
        ("No;Driver;Run 3\n26;Old Rook;46,1\n7;Ann Gull;47,9\n", "numbers are other drivers here"),
        (
            "No;Driver;Run 3\n26;Ada Nowhere;46,1\n26;Ann Gull;47,9\n7;Otter Brook;48,0\n",
            "number 26 stands for Ada Nowhere",
        ),
        ("No;Time\n26;46,1\n7;47,9\n", "does not say of which run"),
        ("No;Driver;Run 3\n98;<script>alert(1)</script>;46,1\n97;<b>x</b>;47,9\n", "holds code of a page"),
        (f"No;Driver;Run 3\n98;{'x' * 10_000};46,1\n", "the name has 10,000 characters"),
        ("\x00\x01\x02\x03", "binary"),
        ("", "is empty"),
    ],
)
def test_bad_input_gets_a_sentence_and_changes_nothing(
    capsys: pytest.CaptureFixture[str], folder: Path, tmp_path: Path, text: str, why: str
) -> None:
    path = tmp_path / "bad.csv"
    path.write_text(text)
    before = files(folder)
    assert why in refused(capsys, str(folder), str(path), "--yes")
    assert files(folder) == before


def test_a_400_mb_file_a_missing_one_an_address(
    capsys: pytest.CaptureFixture[str], folder: Path, tmp_path: Path
) -> None:
    path = tmp_path / "video.csv"
    with path.open("wb") as file:
        file.truncate(400_000_000)
    assert "has 400 MB" in refused(capsys, str(folder), str(path))
    assert "is not there" in refused(capsys, str(folder), str(tmp_path / "nothing"))
    assert "nothing is fetched" in refused(capsys, str(folder), "https://example.org/results")


def test_what_the_user_says_stands_above_a_doubt(
    capsys: pytest.CaptureFixture[str], folder: Path, tmp_path: Path
) -> None:
    path = tmp_path / "old.csv"
    path.write_text("Results 2025\n\nNo;Driver;Run 3\n26;Ada Nowhere;46,1\n26;Ann Gull;47,9\n7;Brook;48,0\n")
    found = asked(capsys, str(folder), str(path), "--day", "1", "--map", "number=No,run3=Run 3")
    assert (found["added"], [item["line"] for item in found["unread"]]) == (1, [4, 5])


def test_a_folder_that_is_none(capsys: pytest.CaptureFixture[str], tmp_path: Path, results: Path) -> None:
    assert main(["import", str(tmp_path / "nowhere"), str(results), "--yes"]) == 3
    assert "there is no such folder" in capsys.readouterr().err


FIVE = {
    "semicolons, runs side by side, cones behind the time": (
        "Startnr.;Name;1. Lauf;2. Lauf;3. Lauf\n26;Nowhere;47,25;46,512;46,1+1\n7;Brook;48,003+1;47,7;dnf\n", ""
    ),
    "a page with a header of two rows, cones in a column": (
        "<table><tr><th rowspan=2>Car<th colspan=2>Run 3<tr><th>Time<th>Cones<tr><td>26<td>46.1<td>1<tr><td>7<td>47.9<td></table>",
        "",
    ),
    "a run to a row, seconds added": (
        "number,run,time,penalty,status\n26,3,46.1,2,\n7,3,,,DNF\n7,2,47.7,0,\n26,2,46.512,0,\n", ""
    ),
    "pasted text with names instead of numbers": (
        "Pos\tDriver\tRun 1\tRun 2\tRun 3\n1\tNOWHERE Ada\t47.250\t46.512\t46.100 (1)\n2\tOtter Brook\t48.003 (1)\t47.7\tausgeschieden\n",
        "",
    ),
    "columns nobody can guess": ("Ref,Alpha,Omega\n26,x,46.1\n7,y,47.9\n", "number=Ref,run3=Omega"),
}  # fmt: skip


@pytest.mark.parametrize("shape", FIVE)
def test_five_shapes_need_no_more_than_an_answer_after_the_first_time(
    capsys: pytest.CaptureFixture[str], folder: Path, tmp_path: Path, shape: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After the first time: the command line brought back (one key), return, ``y``."""
    text, given = FIVE[shape]
    path = tmp_path / "results.txt"
    path.write_text(text)
    first = asked(capsys, str(folder), str(path), "--yes", *(["--map", given] if given else []))
    assert first["added"] + first["updated"] > 0
    path.write_text(text.replace("46.1", "46.2").replace("46,1", "46,2"))
    monkeypatch.setattr(sys, "stdin", io.StringIO("y"))
    monkeypatch.setattr(sys.stdin, "isatty", lambda: True)
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    assert main(["import", str(folder), str(path)]) == 0
    assert "columns as confirmed before" in capsys.readouterr().out
    assert [row.time_ms for row in load(folder).times if (row.number, row.run) == ("26", 3)] == [46_200]
