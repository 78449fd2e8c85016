"""Holes tried, logged and taken back from the keys; what is missing is named."""

from __future__ import annotations

from pathlib import Path

from tests.tui.pilot import driving


async def test_the_log_says_which_holes_are_in_use(tmp_path: Path) -> None:
    """The file has 2-2, the change of day 1 moved to 2-1."""
    async with driving(tmp_path) as hand:
        await hand.press("b")
        await hand.settle()
        assert "2-1 now" in hand.text
        assert "2-2 now" not in hand.text
        assert "front takes 50.1 %" in hand.text


async def test_holes_tried_logged_and_taken_back(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        before = hand.file("changes.csv"), hand.file("worklist.csv")
        await hand.press("b", "down")
        await hand.settle()
        assert "Front share 50.1 % -> 49.3 %" in hand.text
        assert (hand.file("changes.csv"), hand.file("worklist.csv")) == before
        await hand.press("enter")
        assert hand.file("changes.csv") == before[0], "asks first"
        assert "never on" in hand.text
        assert "end-link jam nuts" in hand.text
        await hand.press("enter")
        assert hand.file("changes.csv") == before[0], "asks of which kind"
        assert "Enter takes test" in hand.text
        await hand.press("enter")
        row = hand.file("changes.csv").splitlines()[-1]
        assert row.split(",", 1)[1] == (
            "2,5,13:08:00,7,test,rear_bar,rear bar hole,2-1,2-2,,front share 50.1 % to 49.3 %,,"
        )
        assert "rear bar hole 2-1 to 2-2" in hand.file("worklist.csv")
        assert "2-2 now" in hand.text
        await hand.press("z")
        assert (hand.file("changes.csv"), hand.file("worklist.csv")) == before
        assert "2-1 now" in hand.text


async def test_a_reason_typed_before_enter_is_logged(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("b")
        await hand.type("3-3")
        await hand.press("enter", "enter")
        await hand.type("too loose")
        await hand.press("enter")
        await hand.type("c")
        await hand.press("enter")
        row = hand.file("changes.csv").splitlines()[-1]
        assert ",2-1,3-3,too loose,front share" in row
        assert ",correction,rear_bar," in row


async def test_backspace_leaves_it(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        before = hand.file("changes.csv")
        await hand.press("b", "down", "enter", "backspace")
        await hand.press("up", "enter")
        assert hand.told.startswith("these holes are in use")
        assert hand.file("changes.csv") == before


async def test_cornering_is_typed(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("b")
        await hand.type("0.6g")
        await hand.press("enter")
        assert "At 0.6 g the front takes" in hand.text
        await hand.type("9g")
        await hand.press("enter")
        assert hand.told.startswith("! '9g': type holes")
        assert hand.page.entry.value == "9g"


async def test_no_such_hole_is_told(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("b")
        await hand.type("5-5")
        await hand.press("enter")
        assert hand.told == "! the rear bar has no holes 5-5"


async def test_a_car_without_its_track_shows_the_rest(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        path = hand.folder / "cars" / "saloon.toml"
        path.write_text(path.read_text("utf-8").replace("track_mm = 1525", ""), "utf-8")
        hand.page.desk.open_session.poll()
        await hand.press("b")
        await hand.settle()
        assert "rear.track_mm: missing" in hand.text
        assert "+8.5" in hand.text
        assert "cornering, g" not in hand.text


async def test_the_bar_in_hand_is_one_that_can_be_moved(tmp_path: Path) -> None:
    """Seen on a car whose rear bar has one eye: up went to the stiffest pair in front, down nowhere."""
    async with driving(tmp_path) as hand:
        path = hand.folder / "cars" / "saloon.toml"
        text = path.read_text("utf-8").replace("arms_mm = [235.0]", "arms_mm = [235.0, 215.0]")
        text = text.replace("arms_mm = [250.0, 230.0, 210.0]", "arms_mm = [250.0]").replace(
            "left = 2\nright = 2", "left = 1\nright = 1"
        )
        path.write_text(text, "utf-8")
        (hand.folder / "changes.csv").unlink()
        hand.page.desk.open_session.poll()
        await hand.press("b", "down")
        await hand.settle()
        assert "rear  1-1 now" in hand.text
        assert "Front bar 1-1 to 1-2" in hand.text


async def test_an_entry_without_a_car_is_told_what_to_do(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        (hand.folder / "cars" / "saloon.toml").unlink()
        hand.page.desk.open_session.poll()
        await hand.press("b")
        await hand.settle()
        assert "there is no cars/saloon.toml to use" in hand.text
        await hand.press("enter")
        assert hand.told == "nothing to log yet"


async def test_the_other_car(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("b", "e")
        await hand.settle()
        assert "1-1 now" in hand.text
        assert "front 3-3" in hand.text


async def test_a_tap_on_another_row_drops_the_question(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        before = hand.file("changes.csv")
        await hand.press("b", "down", "enter")
        assert "log rear bar 2-1 to 2-2 >" in hand.text
        await hand.pilot.click("#pairs", offset=(2, 2))
        await hand.settle()
        assert "Rear bar 2-1 to 1-1:" in hand.text
        assert hand.file("changes.csv") == before
        await hand.pilot.click("#pairs", offset=(2, 2))
        await hand.settle()
        assert "log rear bar 2-1 to 1-1 >" in hand.text
        await hand.pilot.click("#pairs", offset=(2, 2))
        await hand.settle()
        assert hand.file("changes.csv") == before, "a tap too many logs nothing"
        await hand.app.run_tap("take")
        assert ",2-1,1-1," in hand.file("changes.csv")
