"""The chance to lead, on the screen and with other runs left."""

from __future__ import annotations

import re
from pathlib import Path

from paddock.pages.chances import share
from tests.tui.pilot import driving


async def test_class_and_index_with_what_they_rest_on(tmp_path: Path) -> None:
    async with driving(tmp_path, (80, 44)) as hand:
        await hand.press("percent_sign")
        await hand.settle()
        text = " ".join(hand.text.split())
        assert re.search(r"as driven (under )?\d+ % (under )?\d+ %", text)
        assert "a safe run or a push next: no evidence" in text
        assert re.search(r"9 is 0\.117 ahead: by pace alone you would be 0\.\d+ \w+; luck and cones \w+ you 0\.", text)
        assert re.search(r"twice the cones (under )?\d+ % (under )?\d+ %", text)
        assert text.count("the course goes on moving as it has") == 1


async def test_with_other_runs_left_and_back(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("percent_sign")
        await hand.settle()
        await hand.type("3")
        await hand.press("enter")
        assert "3 runs left" in hand.text
        assert re.search(r"as driven +\d+ %", hand.text)
        await hand.press("enter")
        assert "1 run left" in hand.text
        await hand.type("3x")
        await hand.press("enter")
        assert hand.told.startswith("!")
        assert hand.page.entry.value == "3x"


async def test_for_the_other_entry(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("percent_sign")
        await hand.settle()
        before = hand.text
        await hand.press("e")
        assert "24" in hand.text.splitlines()[1]
        assert hand.text != before


async def test_without_a_pace_it_says_why(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        (hand.folder / "times.csv").write_text("day,run,number,time\n1,1,7,46.1\n")
        hand.page.desk.open_session.poll()
        await hand.press("percent_sign")
        await hand.settle()
        assert "can't tell" in hand.text


def test_a_chance_is_never_rounded_to_certainty() -> None:
    assert [share(value) for value in (None, 0.0, 0.004, 0.394, 0.999, 1.0)] == [
        "-", "0 %", "under 1 %", "39 %", "over 99 %", "100 %",
    ]  # fmt: skip
