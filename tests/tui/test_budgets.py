"""The budgets in keystrokes, counted."""

from __future__ import annotations

from pathlib import Path

from tests.tui.pilot import driving


async def test_a_clean_run_takes_at_most_twelve_keys(tmp_path: Path) -> None:
    """The longest balance there is, the time, and the key that accepts it."""
    async with driving(tmp_path) as hand:
        await hand.type("u2u1o145912")
        await hand.press("enter")
        assert "2,5,7,45.912" in hand.file("times.csv")
        assert ",no,,,,-2,-1,1" in hand.file("runs.csv")
        assert hand.keys <= 12


async def test_four_hot_pressures_take_at_most_sixteen_keys(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("p345350410415")
        await hand.press("enter")
        await hand.settle()
        assert hand.told.startswith("saved: 4 readings")
        assert hand.keys <= 16


async def test_four_pressures_stepped_take_at_most_sixteen_keys(tmp_path: Path) -> None:
    """Each corner two gauge steps off what was expected."""
    async with driving(tmp_path) as hand:
        await hand.press("p", *(["plus", "plus", "enter"] * 4))
        await hand.settle()
        assert hand.page.NAME == "home"
        assert hand.keys <= 16


async def test_the_answer_needs_no_key_at_all(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        assert hand.keys == 0
        assert "leads" in hand.text
        assert hand.page.query_one("#home").max_scroll_y == 0


async def test_a_rivals_run_takes_its_line_and_two_keys(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("s31 45500 1")
        await hand.press("enter")
        assert hand.keys == len("31 45500 1") + 2
        assert "of 31" in hand.told


async def test_a_letter_typed_lays_nothing_out_anew(tmp_path: Path) -> None:
    """Only the words under the line may grow a row: once for a run, not once for a letter."""
    async with driving(tmp_path) as hand:
        laid: list[object] = []
        hand.page.screen_layout_refresh_signal.subscribe(hand.page, laid.append)
        await hand.type("u1 0 o1 55487")
        assert len(laid) <= 2
