"""The day closed, in values: the edits that keep answers and the plan, and what may be typed about a place."""

from __future__ import annotations

from pathlib import Path

import pytest

from paddock.actions.notes import plan_edit
from paddock.engine.check.figures import index_problems
from paddock.engine.pressure.corners import because
from paddock.engine.work.due import QUESTIONS, questions_left
from paddock.entry import event
from paddock.pages.after import ASKED
from paddock.pages.event import event_lines
from paddock.pages.reasons import say
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


def test_the_coldest_air_is_not_above_the_hottest() -> None:
    assert [event.read_coldest(text, 12.0) for text in ("12", "3", "-")] == [12, 3, None]
    assert event.read_coldest("30", None) == 30
    with pytest.raises(ValueError, match="above the hottest"):
        event.read_coldest("12.1", 12.0)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("23 street Eli Gray", event.EntrantLine("23", "street", "Eli Gray")),
        ("23 Eli Gray street", event.EntrantLine("23", "street", "Eli Gray", class_last=True)),
        ("23 Kim Dale ash", event.EntrantLine("23", "ASH", "Kim Dale", class_last=True)),
        ("23 Kim Ash", event.EntrantLine("23", None, "Kim Ash")),
        ("23 ASH Kim street", event.EntrantLine("23", "ASH", "Kim street")),
    ],
)
def test_the_class_of_an_entrant_stands_before_the_name_or_last(text: str, line: event.EntrantLine) -> None:
    assert event.read_entrant(text, ["ASH", "street"]) == line


@pytest.mark.parametrize("text", ["58 ASH Cy Orr 0.81", "58 ASH 0,81 Cy Orr", "58 Cy Orr .81"])
def test_a_factor_is_no_part_of_a_name(text: str) -> None:
    with pytest.raises(ValueError, match=r"index factor: those go with a class, on @"):
        event.read_entrant(text, ["ASH"])


def test_a_class_whose_entrants_want_a_factor_is_the_one_marked() -> None:
    """OAK's entrant gets no index time beside ASH, which has a factor; ELM has nobody who wants one."""
    made = factories.settings(
        classes=[{"code": code} for code in ("ASH", "OAK", "ELM")], index={"factors": {"ASH": "0.9"}}
    )
    whole = factories.event([factories.entrant("26", "ASH"), factories.entrant("9", "OAK")], [], made)
    lines = {line.id: line for line in event_lines(whole) if line.id.startswith("class:")}
    assert [line.item for line in lines.values() if line.wrong or line.missing] == ["OAK"]
    assert "type it here, like 0.812" in lines["class:OAK"].wrong
    (problem,) = index_problems(whole.entrants, made, lambda *_: 3)
    assert "on @ take class OAK" in problem.message
    assert "0.000" not in problem.message


def test_a_question_ends_with_one_stop() -> None:
    assert say(because("doubt", text="Was the clock set back?")) == "Was the clock set back?"
    assert say(because("doubt", text="no corner was read")) == "no corner was read."
