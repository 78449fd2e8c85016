"""A folder that a syncing program has brought only half, or brought twice: what is said, and that nothing is lost."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from paddock import answer
from paddock.folders.merging import merge_folders
from tests.seasonfiles import write_event


@pytest.fixture
def event(tmp_path: Path) -> Path:
    return write_event(tmp_path / "event", {"26": ("60.000", "59.900"), "45": ("61.000+1",)})


def _said(folder: Path) -> str:
    found: Any = answer("check", folder)
    return "\n".join(f"{problem['file']}: {problem['message']}" for problem in found["problems"])


def test_a_file_on_its_way_is_waited_for(event: Path) -> None:
    assert _said(event) == ""
    (event / "times.csv").rename(event / ".times.csv.Xy12.part")
    assert ".times.csv.Xy12.part looks like a part of it on its way" in _said(event)
    (event / ".times.csv.Xy12.part").rename(event / "times.csv")
    assert _said(event) == ""


@pytest.mark.parametrize(("kept", "said"), [(0, "is empty"), (-4, "ends in the middle")])
def test_a_file_that_came_in_part_is_said_with_what_to_wait_for(event: Path, kept: int, said: str) -> None:
    file = event / "times.csv"
    file.write_bytes(file.read_bytes()[: kept or 0])
    found = _said(event)
    assert said in found
    assert "if the folder is being synced, wait for the rest" in found


def test_a_second_copy_is_counted_and_taken_in(event: Path) -> None:
    copy = event / "times (conflicted copy 2026-05-09).csv"
    copy.write_text((event / "times.csv").read_text() + "1,2,45,60.500,0,,\n")
    assert "a second copy of times.csv with 1 thing more to say: paddock merge event event --copies" in _said(event)
    merge_folders(event, event, copies=True)
    assert "1,2,45,60.500" in (event / "times.csv").read_text()
    assert _said(event) == ""
