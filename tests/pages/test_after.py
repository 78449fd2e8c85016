"""The day closed, in values: the edits that keep answers and the plan, and what may be typed about a place."""

from __future__ import annotations

from pathlib import Path

import pytest

from paddock.actions.notes import plan_edit
from paddock.engine.work.due import QUESTIONS, questions_left
from paddock.entry import event
from paddock.pages.after import ASKED
from tests import factories


def test_the_plan_answers_its_question_and_the_others_are_asked() -> None:
    event = factories.event([factories.entrant("26")], [])
    assert [item.topic for item in ASKED] == [item.topic for item in QUESTIONS[:-1]]
    batch = plan_edit(event, "rear bar", "", 1)
    assert [edit.cells["topic"] for edit in batch.edits] == ["plan", "debrief next"]  # type: ignore[union-attr]
    assert [edit.cells["text"] for edit in batch.edits] == ["test: rear bar"] * 2  # type: ignore[union-attr]
    assert len(questions_left(event)) == len(QUESTIONS)


@pytest.mark.parametrize("text", ["x", "9001", "-501", "nan", "inf"])
def test_an_altitude_that_cant_be(text: str) -> None:
    with pytest.raises(ValueError, match="altitude"):
        event.read_altitude(text)


def test_altitudes_and_airs_as_typed() -> None:
    assert [event.read_altitude(text) for text in ("20", "1,5", "-", "?", "-500")] == [20, 1.5, None, None, -500]
    assert [event.read_air(text) for text in ("-50", "60", "-")] == [-50, 60, None]
    with pytest.raises(ValueError, match="air temperature"):
        event.read_air("61")


def test_a_folder_is_beside_this_one_unless_a_path_is_written(tmp_path: Path) -> None:
    assert event.folder_of("july", tmp_path / "may") == tmp_path.resolve() / "july"
    assert event.folder_of(f"{tmp_path}/x/july", tmp_path / "may") == tmp_path / "x" / "july"


def test_the_hottest_air_is_not_below_the_coldest() -> None:
    assert [event.read_hottest(text, 12.0) for text in ("12", "30", "-")] == [12, 30, None]
    assert event.read_hottest("5", None) == 5
    with pytest.raises(ValueError, match="below the coldest"):
        event.read_hottest("11.9", 12.0)
