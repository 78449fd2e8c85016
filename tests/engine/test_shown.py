"""The answers shown in the docs are the ones the program gives."""

from __future__ import annotations

import pytest

from tests.engine.example_log import ARGUED, answers, example
from tests.engine.shown import BLOCKS, PAGE, block_of


@pytest.mark.parametrize("name", sorted(BLOCKS))
def test_the_page_shows_what_the_program_answers(name: str) -> None:
    shown = block_of(PAGE.read_text(encoding="utf-8"), name)
    assert shown == BLOCKS[name]().strip(), "renew it: python -m tests.engine.shown"


def test_every_run_of_the_example_is_argued() -> None:
    event = example()
    asked = {(number, log.day, log.run) for number in event.settings.mine.numbers for log, _ in answers(event, number)}
    assert asked == set(ARGUED)
