"""The process itself: what is printed arrives whole, the exit code is right, and no more is loaded than is asked."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


def started(*words: str, options: tuple[str, ...] = ()) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, *options, "-m", "paddock", *words], capture_output=True, text=True, cwd=ROOT)


@pytest.mark.parametrize(
    ("words", "code", "begins"),
    [
        (("standings", "example_event", "--json"), 0, '{"format": 1, "tables": ['),
        (("gap", "example_event", "--number", "999"), 2, "paddock: number 999 is not entered"),
        (("gap", "nowhere", "--number", "58"), 3, "paddock: nowhere: there is no such folder"),
        (("gap", "--help"), 0, "usage: paddock gap"),
    ],
)
def test_all_of_it_is_printed_before_the_process_ends(words: tuple[str, ...], code: int, begins: str) -> None:
    done = started(*words)
    assert done.returncode == code, done.stderr
    said = done.stderr if code else done.stdout
    assert said.startswith(begins)
    assert said.endswith("\n")


def test_a_gap_in_json_loads_nothing_that_writes_pages() -> None:
    done = started("gap", "example_event", "--number", "58", "--json", options=("-X", "importtime"))
    loaded = {line.rpartition("|")[2].strip() for line in done.stderr.splitlines()}
    assert {"pydantic", "paddock.engine.scoring.gap"} <= loaded
    asked = {
        "ssl", "http.client", "subprocess", "rich",
        "paddock.pages", "paddock.render", "paddock.model.season", "paddock.model.edit", "paddock.engine.car.balance",
        "paddock.engine.pressure.timeline",
    }  # fmt: skip
    assert asked & loaded == set()


def test_the_version_needs_no_model() -> None:
    done = started("version", options=("-X", "importtime"))
    assert done.stdout.startswith("paddock ")
    assert "pydantic" not in done.stderr
