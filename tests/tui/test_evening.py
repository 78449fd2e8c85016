"""The first evening and morning: made on the screens alone, by keys in a narrow window and by touch, to one folder."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from paddock.engine.scoring.plain import standings
from paddock.session import load
from tests.tui.evening import DOC, EVENING, MORNING, document, drive

RESULT = {
    "ASH": [("58", 50711), ("31", 52100), ("12", 52318)],
    "OAK": [("32", 52800), ("33", 53020)],
    "ELM": [("34", 45630)],
}
"""Worked out by hand from the moves: 51.800 with a cone of a second; 50.700 x 0.9 in the class on index."""


def _files(folder: Path) -> dict[str, str]:
    """What the folder says, without what is drawn by lot or stamped to the second."""
    found = {path.name: path.read_text("utf-8") for path in folder.glob("**/*.*") if ".paddock" not in path.parts}
    return {
        name: re.sub(r'id = "\w+"|^\w{8}(?=[,-])|change \w{8}|\d\d:\d\d:\d\d', "", text, flags=re.M)
        for name, text in found.items()
    }


async def test_an_event_and_two_cars_from_nothing_by_keys_and_by_touch(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    keys, folder = await drive(tmp_path / "keys", (40, 20), touch=False)
    taps, tapped = await drive(tmp_path / "touch", (80, 24), touch=True)
    event = load(folder)
    assert [problem.message for problem in event.problems] == []
    assert (len(event.entrants), len(event.settings.classes), sorted(event.cars)) == (12, 3, ["coupe", "estate"])
    tables = {table.name: table for table in standings(event).tables}
    for name, wanted in RESULT.items():
        assert [(row.number, row.score_ms) for row in tables[name].rows if row.score_ms is not None] == wanted
    assert _files(tapped) == _files(folder)
    assert sum(keys[: len(EVENING)]) <= 225
    assert sum(keys) <= 491
    assert sum(taps) <= 548
    assert len(keys) == len(taps) == len(EVENING) + len(MORNING)
    assert DOC.read_text("utf-8") == document([keys, keys, taps]), "python -m tests.tui.evening writes it anew"
