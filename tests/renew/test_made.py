"""What the docs show of the program is what the program says."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.renew.blocks import BLOCKS
from tests.renew.pages import PAGES, alike, renewed


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_a_page_shows_what_the_program_answers(page: Path) -> None:
    assert page.read_text(encoding="utf-8") == renewed(page), "python -m tests.renew docs"


def test_every_part_the_program_makes_is_on_a_page() -> None:
    pages = "".join(page.read_text(encoding="utf-8") for page in PAGES)
    assert [name for name in BLOCKS if f"<!-- {name}: made by the program -->" not in pages] == []


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [("0.35 s, 38 %", "0.36 s, 39 %", True), ("18-58 %", "17-58 %", True), ("0.35 s", "0.37 s", False),
     ("0.35 s", "0.351 s", False), ("38 % of 12", "38 % of 13", False), ("leans", "can't tell", False)],
)  # fmt: skip
def test_another_processor_may_move_the_last_digit_and_no_more(one: str, other: str, same: bool) -> None:
    assert alike(one, other) is same
