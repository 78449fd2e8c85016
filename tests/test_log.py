"""The record of ``--log``: what it holds, what it never holds, and that there is none unasked."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from paddock.__main__ import main
from paddock.model.edit import ChangeRow
from tests.store.folders import small_folder

ROOT = Path(__file__).parents[1]


@pytest.mark.parametrize("place", [0, 1, 3])
def test_the_record_says_what_was_asked_and_how_it_ended(
    place: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder, log = small_folder(tmp_path / "event"), tmp_path / "log.txt"
    words = ["gap", f"{folder}", "--number=26"]
    assert main([*words[:place], "--log", f"{log}", *words[place:]]) == 0
    assert main(["gap", f"{folder}", f"--log={log}", "--number", "99"]) == 2
    assert "one more run" in capsys.readouterr().out
    lines = log.read_text().splitlines()
    assert "Python 3." in lines[0]
    assert "words: gap" in lines[1]
    assert lines[2].endswith("ended with 0")
    assert "number 99 is not entered" in lines[-2]
    assert lines[-1].endswith("ended with 2")
    assert "Nowhere" not in log.read_text()


def test_saving_is_recorded_without_what_was_saved(tmp_path: Path) -> None:
    from paddock.log import begin, end
    from paddock.session import Session

    folder, log = small_folder(tmp_path / "event"), tmp_path / "log.txt"
    begin(log)
    session = Session.open(folder)
    session.apply(ChangeRow("entrants.csv", ("26",), {"driver": "Ida Secret"}))
    session.close()
    end(0)
    session.apply(ChangeRow("entrants.csv", ("26",), {"driver": "After"}))
    said = log.read_text()
    assert f"saved 1 in {folder}" in said
    assert said.count("saved") == 1
    assert "Secret" not in said


def test_a_record_that_cannot_be_kept_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["version", "--log", f"{tmp_path / 'none' / 'log.txt'}"]) == 3
    assert main(["version", "--log"]) == 2
    said = capsys.readouterr().err
    assert "can't be written" in said
    assert "--log wants the file" in said


def test_unasked_nothing_is_kept(tmp_path: Path) -> None:
    before = sorted(path.name for path in tmp_path.iterdir())
    subprocess.run(
        [sys.executable, "-m", "paddock", "version"],
        check=True,
        cwd=tmp_path,
        env={"PYTHONPATH": f"{ROOT}"},
        capture_output=True,
    )
    assert sorted(path.name for path in tmp_path.iterdir()) == before
