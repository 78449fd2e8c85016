"""Events booked, paid, changed and cancelled on the screen; season.toml keeps what else stands in it."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from tests.seasonfiles import write_event
from tests.tui.pilot import Hand, driving

NOW = datetime(2026, 6, 1, 12, 0)
SEASON = """\
# mine
name = "2026"
[[events]]
folder = "event"
fee = 50
[[events]]
name = "Autumn"  # far away
days = [2026-10-03]
own = "kept"
"""


async def answer(hand: Hand, *texts: str) -> None:
    for text in texts:
        await hand.type(text)
        await hand.press("enter")


def season(home: Path) -> str:
    return (home / "season.toml").read_text("utf-8")


async def test_the_first_event_is_booked_where_there_is_no_file_and_taken_back(tmp_path: Path) -> None:
    write_event(tmp_path / "event", {"26": ("44.0",)}, "June", "2026-06-01")
    async with driving(tmp_path, now=NOW) as hand:
        await hand.press("less_than_sign", "a")
        assert "No event is booked" in hand.text
        await hand.press("a")
        await answer(hand, "Autumn hill", "3.10.", "x")
        assert hand.told.startswith("! '3.10.x' is no date")
        assert hand.page.entry.value == "3.10.x"
        await hand.press(*["backspace"] * 6)
        await answer(hand, "2026-10-03 +1", "0")
        assert "runs a day are a whole number" in hand.told
        await hand.press("backspace")
        await answer(hand, "5", "60,5", "ja")
        assert "write yes or no" in hand.told
        await hand.press("backspace", "backspace")
        await answer(hand, "yes", "2026-11-01")
        assert "is after its first day" in hand.told
        await hand.press(*["backspace"] * 10)
        await answer(hand, "2026-09-20")
        assert hand.told == "saved: booked: Autumn hill on 2026-10-03"
        assert "6.05 a run of 10, paid" in hand.text
        assert "Fees: 60.5 paid, 0 not said to be paid" in hand.text
        await hand.press("z")
        assert not (tmp_path / "season.toml").exists()
        await hand.press("y")
        assert "Autumn hill" in season(tmp_path)


async def test_a_booking_is_changed_paid_and_cancelled_and_the_rest_of_the_file_stays(tmp_path: Path) -> None:
    write_event(tmp_path / "event", {"26": ("44.0",)}, "June", "2026-06-01")
    (tmp_path / "season.toml").write_text(SEASON)
    async with driving(tmp_path, now=NOW) as hand:
        await hand.press("quotation_mark")
        assert "Autumn, in 124 days" in hand.text
        await hand.press("enter", "enter", "enter")
        await answer(hand, "4", "70", "no", "")
        assert hand.told == "saved: Autumn: runs a day 4, fee 70, paid no"
        await hand.press("m")
        assert 'name = "Autumn"  # far away\ndays = [2026-10-03]\nown = "kept"\n' in season(tmp_path)
        assert "paid = true" in season(tmp_path)
        await hand.press("o", "enter")
        assert hand.told == "it stays booked"
        await hand.press("o")
        await answer(hand, "yes")
        assert hand.told == "saved: cancelled: Autumn"
        assert season(tmp_path).startswith('# mine\nname = "2026"\n[[events]]\nfolder = "event"\nfee = 50\n')
        assert "Autumn" not in season(tmp_path)
        await hand.press("z", "z", "z")
        assert season(tmp_path) == SEASON


async def test_other_hands_and_a_broken_file_are_told(tmp_path: Path) -> None:
    write_event(tmp_path / "event", {"26": ("44.0",)}, "June", "2026-06-01")
    (tmp_path / "season.toml").write_text(SEASON)
    async with driving(tmp_path, now=NOW) as hand:
        await hand.press("quotation_mark", "m")
        (tmp_path / "season.toml").write_text(SEASON.replace("50", "51"))
        await hand.press("z")
        assert "other hands changed season.toml since" in hand.told
        (tmp_path / "season.toml").write_text(SEASON.replace("Autumn", "Other"))
        await hand.press("m")
        assert "is not in season.toml as it was read" in hand.told
        (tmp_path / "season.toml").write_text("[[events\n")
        await hand.press("a")
        await answer(hand, "X", "2026-12-01", "", "", "", "")
        assert "season.toml has to be mended first" in hand.told
        assert season(tmp_path) == "[[events\n"
