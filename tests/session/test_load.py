"""A folder loaded: what reading and what checking find comes together, and nothing is written."""

from __future__ import annotations

from pathlib import Path

import pytest

from paddock.errors import FolderError
from paddock.session import load
from tests.store.broken import BROKEN, CROSS_FILE
from tests.store.folders import every_byte, small_folder


def test_a_sound_folder_has_no_problems(tmp_path: Path) -> None:
    event = load(small_folder(tmp_path / "event"))
    assert event.problems == ()
    assert (event.name, len(event.entrants), len(event.times)) == ("event", 2, 3)
    assert event.checklists == {"inspection": ("wheel nuts", "helmet")}
    assert list(event.cars) == ["estate"]


@pytest.mark.parametrize("name", [*BROKEN, *CROSS_FILE])
def test_a_broken_folder_loads_or_says_why(tmp_path: Path, name: str) -> None:
    path = small_folder(tmp_path / "event")
    (BROKEN | CROSS_FILE)[name](path)
    before = every_byte(path)
    try:
        said = "".join(map(str, load(path).problems))
    except FolderError as error:
        said = str(error) if str(error).startswith("event.toml:") else ""
    assert said
    assert "\n" not in said
    assert every_byte(path) == before
