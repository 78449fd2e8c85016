"""The set-up sheet: what stands out, why, and a line changed."""

from __future__ import annotations

from pathlib import Path

from tests.tui.pilot import driving


async def test_now_how_it_came_and_when_fastest(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("comma")
        await hand.settle()
        assert "rear bar 2-1 2-2 2-1 2-1 changed" in " ".join(hand.text.split())
        assert "rear pressure, psi 40.5 hot 40 40.5 hot 40.5 hot" in " ".join(hand.text.split())
        assert "day 1 run 4: 2-2 to 2-1, test, loose in the middle" in hand.text


async def test_a_line_is_changed_with_what_to_look_at_again(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        before = hand.file("changes.csv"), hand.file("worklist.csv")
        await hand.press("comma")
        await hand.settle()
        await hand.type("3-3")
        await hand.press("enter", "enter", "enter")
        row = hand.file("changes.csv").splitlines()[-1].split(",", 1)[1]
        assert row == "2,5,13:08:00,7,test,rear_bar,rear bar,2-1,3-3,,,,"
        assert "rear end links" in hand.file("worklist.csv")
        assert "not as fastest" in hand.text
        await hand.press("z")
        assert (hand.file("changes.csv"), hand.file("worklist.csv")) == before


async def test_enter_asks_for_the_new_value(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("comma", "down", "enter")
        assert "front toe to > " in hand.text
        await hand.type("2 mm out")
        await hand.press("enter")
        await hand.type("slow to turn")
        await hand.press("enter")
        await hand.type("corr")
        await hand.press("enter")
        assert ",correction,front_toe,front toe,1 mm out,2 mm out,slow to turn," in hand.file("changes.csv")


async def test_nothing_known(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        (hand.folder / "cars" / "saloon.toml").unlink()
        (hand.folder / "changes.csv").unlink()
        hand.page.desk.open_session.poll()
        await hand.press("comma")
        await hand.settle()
        assert "Nothing is known to be set on this car" in hand.text
        await hand.press("enter")
        assert hand.told == "no line is in hand"


async def test_the_tyres_stand_there_as_on_home(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        said = next(line for line in hand.text.splitlines() if "set now" in line or "hold" in line or "nothing" in line)
        await hand.press("comma")
        await hand.settle()
        assert f"tyres, psi: {said.strip()}"[:60] in " ".join(hand.text.split())
