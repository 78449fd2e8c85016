"""Where the time went, and the course: marks typed, held against, undone; tracks brought in; wide and narrow."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.track_files import MORNING, gpx
from tests.tui.pilot import driving
from tests.where_event import recorded, runs, times_csv


@pytest.mark.parametrize("size", [(80, 24), (40, 20)])
async def test_marks_of_two_runs_say_where(tmp_path: Path, size: tuple[int, int]) -> None:
    """Runs 3 and 4 of day 2 took 47.515 and 46.098: told in tests/small.py."""
    async with driving(tmp_path, size) as hand:
        await hand.press("dollar_sign")
        await hand.settle()
        assert "has no splits. Type a run's marks" in " ".join(hand.text.split())
        for line in ("3 s 10 1 22 2 35 f 57.515", "4 s 30 1 42.1 2 54.8 f 76.098"):
            await hand.type(line)
            await hand.press("enter")
            assert hand.told.startswith("saved: marks of run"), hand.told
        text = hand.text
        assert "run 4 of day 2 (46.098)" in text
        assert all(len(line) <= size[0] for line in text.splitlines())
        await hand.press("a")
        text = " ".join(hand.text.split())
        assert "against run 3: -1.42 s" in text
        assert "gained: finish -1.22" in text
        await hand.press("left")
        assert "run 3 of day 2" in hand.text
        await hand.press("z", "z")
        assert "splits" not in [path.stem for path in hand.folder.iterdir()]


async def test_a_total_that_is_off_is_asked_about_once_more(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("dollar_sign")
        await hand.type("3 s 10 1 22 f 57.80")
        await hand.press("enter")
        assert "Enter again scales the marks" in hand.told
        assert not (hand.folder / "splits.csv").exists()
        await hand.press("enter")
        assert hand.told.startswith("saved")
        assert "2,3,7,1,11.928,,video" in hand.file("splits.csv")
        await hand.type("3 s 10 1 x")
        await hand.press("enter")
        assert "is no time of a player" in hand.told
        assert hand.page.entry.value == "3 s 10 1 x"


async def test_the_course_is_written_and_a_track_puts_marks_on_its_line(tmp_path: Path) -> None:
    driven = runs(1)
    path = tmp_path / "run.gpx"
    path.write_text(gpx(recorded(driven[0]), MORNING + 86_400))
    async with driving(tmp_path) as hand:
        text = times_csv(driven).replace("\n1,1,7,", "\n2,5,7,")
        (hand.folder / "times.csv").write_text(text)
        hand.page.desk.open_session.poll()
        await hand.press("number_sign")
        await hand.settle()
        assert "No element yet" in hand.text
        for line in ("1 slalom at the wall", "2 finish"):  # as quick as one types: no line waits for the one before
            await hand.type(line)
            await hand.press("enter")
        await hand.settle()
        assert "at the wall" in hand.text
        assert "2,2,,finish" in hand.file("course.csv")
        await hand.type("1 at 20")
        await hand.press("enter")
        await hand.settle()
        assert "no track to put a mark on" in hand.told
        assert hand.page.entry.value == "1 at 20"
        for key in ("escape", "dollar_sign", "j"):
            await hand.press(key)
            await hand.settle()
        await hand.type("5")
        await hand.press("enter")
        await hand.type(str(path))
        await hand.press("enter")
        await hand.settle()
        assert "saved: track of run 5" in hand.told, hand.told
        assert "The track of run 5 is in and waits for the course" in " ".join(hand.text.split())
        await hand.press("number_sign")
        await hand.settle()
        assert any("⠀" < sign <= "⣿" for sign in hand.text)
        await hand.type("1 at 20")
        await hand.press("enter")
        await hand.settle()
        assert hand.told.startswith("saved: mark of element 1"), hand.told
        assert "2,5,7,1,20." in hand.file("splits.csv") or "2,5,7,1,19.9" in hand.file("splits.csv")
