"""``paddock chances`` from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from paddock.__main__ import main

HOME = Path(__file__).parents[2] / "example_event"
KEYS = [
    "p_lead", "p_lead_if_banked", "p_lead_if_pushed", "p_range", "brier_own_record", "n_record", "assumptions",
]  # fmt: skip


def _json(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, dict[str, object]]:
    assert main(["chances", str(HOME), *words, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert isinstance(found, dict)
    return found


def test_the_contracts_keys(capsys: pytest.CaptureFixture[str]) -> None:
    found = _json(capsys, "--number", "58")
    assert list(found) == ["format", "class", "index", "as_of", "faults_left_out", "rows_later"]
    for table in (found["class"], found["index"]):
        assert list(table) == KEYS
        assert all(0.0 <= table[key] <= 1.0 for key in KEYS[:3])  # type: ignore[operator]
        assert table["assumptions"]
        low, high = table["p_range"]  # type: ignore[misc]
        assert 0.0 <= low <= table["p_lead"] <= high <= 1.0  # type: ignore[operator]


def test_runs_left_are_taken_as_told(capsys: pytest.CaptureFixture[str]) -> None:
    none, three = (
        _json(capsys, "--number", "58", "--runs-left", "0"),
        _json(capsys, "--number", "58", "--runs-left", "3"),
    )
    assert none["class"]["p_lead"] == none["class"]["p_lead_if_pushed"] == 0.0
    assert three["class"]["p_lead"] > 0.0  # type: ignore[operator]


def test_readable(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["chances", str(HOME), "--number", "58"]) == 0
    text = capsys.readouterr().out
    for part in (
        "the chance to lead, 1 run left",
        "as driven ",
        "as my pace may be ",
        "a safe run or a push next: no evidence",
        "class ASH: 23 is ",
        "by pace alone",
        "luck",
        "index: ",
    ):
        assert part in text


@pytest.mark.parametrize("words", [("--number", "999"), ("--number", "58", "--runs-left", "-1"), ("--runs-left", "1")])
def test_wrong_use(words: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["chances", str(HOME), *words]) == 2
    assert capsys.readouterr().out == ""
