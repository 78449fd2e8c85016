"""Names of reasons in the engine, their sentences in the pages: each has one, none stands alone."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import paddock.engine.pressure
from paddock.engine.pressure.corners import Reason, because
from paddock.engine.pressure.moment import MOMENTS
from paddock.engine.pressure.rules import RULES
from paddock.pages.pressure import told
from paddock.pages.reasons import REASONS, RULE_WORDS, say
from tests.engine.pressure.situations import SITUATIONS, Told, now, story

ROOM = Path(paddock.engine.pressure.__file__).parent


def names() -> Iterator[str]:
    """Every name that the engine gives as a reason."""
    for path in ROOM.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "because":
                yield from (
                    item.value
                    for item in ast.walk(node.args[0])
                    if isinstance(item, ast.Constant) and isinstance(item.value, str)
                )


def test_every_reason_has_one_sentence_and_every_sentence_a_reason() -> None:
    assert set(names()) == REASONS


def test_every_rule_and_every_moment_that_answers_without_one_has_its_words() -> None:
    alone = {"event-done", "day-done", "odd-corner", "ran", "stale", "set", "hold"}
    assert {rule.name for rule in RULES} | alone == set(RULE_WORDS)
    assert alone - {"hold"} <= {kind.name for kind in MOMENTS}


@pytest.mark.parametrize("one", SITUATIONS, ids=lambda one: one.title)
def test_what_is_said_of_a_situation_is_whole(one: Told) -> None:
    """No value is left without a word, none is said as the program writes it."""
    said = told(now(story(one), at=one.at))
    whole = [said.reason, *said.cautions, *(why for _, _, why in said.passed), *(sign["says"] for sign in said.signs)]
    assert all(whole)
    assert not [text for text in whole if "None" in text or "Reason(" in text or "{" in text or "=" in text]


def test_what_holds_for_several_corners_alike_is_said_once() -> None:
    def up(corner: str) -> Reason:
        return because("held-up", corner=corner, coldest_c=-1.0, warm_c=None)

    cut = because("cut-short", first=because("no-rule"), by=(up("lf"), up("rf"), up("lr")))
    many = "left front, right front, left rear held up: parked at -1 °C they would be under their minimum"
    assert say(cut).endswith(f"cut short: {many}")
    one = "left front held up: parked at -1 °C it would be under its minimum"
    assert say(because("cut", by=(up("lf"), because("no-car-file")))).split("; ")[1] == one
