"""``paddock merge`` from the doorway."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from paddock.__main__ import main
from tests.store.folders import TIMES, every_byte, small_folder


@pytest.fixture
def pair(tmp_path: Path) -> tuple[Path, Path]:
    a, b = small_folder(tmp_path / "a"), small_folder(tmp_path / "b")
    (b / "times.csv").write_text(TIMES.replace("46.512", "46.612") + "2,1,26,46.100,,,,10:01,\n")
    return a, b


def test_the_answer_in_json(capsys: pytest.CaptureFixture[str], pair: tuple[Path, Path]) -> None:
    a, b = pair
    before = every_byte(b)
    assert main(["merge", str(a), str(b), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found == {
        "format": 1,
        "added": 1,
        "updated": 1,
        "conflicts": [
            {"file": "times.csv", "row": "day 1 run 2 number 26", "column": "time", "a": "46.512", "b": "46.612"}
        ],
    }
    assert every_byte(b) == before
    assert main(["merge", str(a), str(b), "--json"]) == 0
    again = json.loads(capsys.readouterr().out)
    assert (again["added"], again["updated"], len(again["conflicts"])) == (0, 0, 0)


def test_into_a_third_folder_leaves_both_alone(
    capsys: pytest.CaptureFixture[str], pair: tuple[Path, Path], tmp_path: Path
) -> None:
    a, b = pair
    before = every_byte(a), every_byte(b)
    assert main(["merge", str(a), str(b), "--into", str(tmp_path / "c")]) == 0
    out = capsys.readouterr().out
    assert "times.csv day 1 run 2 number 26 time: 46.612 is kept, 46.512 is the other" in out
    assert (every_byte(a), every_byte(b)) == before
    assert main(["check", str(tmp_path / "c"), "--json"]) == 0
    faults = [item for item in json.loads(capsys.readouterr().out)["problems"] if item["level"] == "fault"]
    assert faults == []


def test_a_second_copy_is_offered_and_taken_in(capsys: pytest.CaptureFixture[str], pair: tuple[Path, Path]) -> None:
    a, b = pair
    (a / "times (conflict).csv").write_text(TIMES + "1,3,7,47.000,,,,,\n")
    assert main(["merge", str(a), str(b)]) == 0
    assert "looks like a second copy of times.csv: 1 place to bring in with --copies" in capsys.readouterr().out
    assert main(["merge", str(a), str(a), "--copies", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["added"] == 1
    assert "1,3,7,47.000" in (a / "times.csv").read_text()


def test_as_many_conflicts_are_counted_as_are_listed(
    capsys: pytest.CaptureFixture[str], pair: tuple[Path, Path]
) -> None:
    a, b = pair
    (a / "cars" / "estate.toml").write_bytes(b"\xff\xfe")
    assert main(["merge", str(a), str(b)]) == 0
    out = capsys.readouterr().out
    assert "\n2 conflicts, 1 of them listed in merge-conflicts.csv:\n" in out
    assert len([line for line in out.splitlines() if line.startswith("  ")]) == 2


def test_what_can_not_be_joined_is_told(capsys: pytest.CaptureFixture[str], pair: tuple[Path, Path]) -> None:
    a, b = pair
    (a / "times.csv").write_bytes(b"\x00\x01")
    assert main(["merge", str(a), str(b)]) == 0
    out = capsys.readouterr().out
    assert "1 conflict:\n  times.csv could not be joined whole: the other content stands in times.csv.kept-" in out


@pytest.mark.parametrize(
    ("words", "code", "why"), [(("a", "a"), 2, "one and the same"), (("a", "x"), 3, "no such folder")]
)
def test_what_is_refused(
    capsys: pytest.CaptureFixture[str], pair: tuple[Path, Path], words: tuple[str, str], code: int, why: str
) -> None:
    place = pair[0].parent
    assert main(["merge", *(str(place / word) for word in words)]) == code
    assert why in capsys.readouterr().err
