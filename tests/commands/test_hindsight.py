"""``paddock hindsight`` from the command line."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from paddock.__main__ import main

HOME = Path(__file__).parents[2] / "example_event"


def test_the_contracts_keys_and_the_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shutil.copytree(HOME, tmp_path / "a", ignore=shutil.ignore_patterns(".paddock", "tracks"))
    assert main(["hindsight", str(tmp_path), "--json"]) == 0
    kinds = json.loads(capsys.readouterr().out)["kinds"]
    assert {"kind", "n", "median_error", "inside80", "brier", "brier_base"} <= set(kinds[0])
    figures = {item["kind"]: item for item in kinds}
    assert 0 <= figures["my next run"]["inside80"] <= 1
    assert figures["my next run"]["brier"] is None
    assert 0 <= figures["lead class"]["brier"] <= 1
    assert figures["lead class"]["median_error"] is None


def test_no_event_is_no_answer(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["hindsight", str(tmp_path / "none")]) == 3
    assert capsys.readouterr().err.startswith("paddock: ")
