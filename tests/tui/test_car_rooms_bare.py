"""The car's pages where little or nothing is known: they open, say what to do, and take no harm from any key."""

from __future__ import annotations

from pathlib import Path

from paddock.tui.rooms import build, room_of
from tests.small import EVENT, FILES, small_event
from tests.tui.pilot import driving

ROOMS = ("bar", "gears", "tyres", "sheet", "car")


def bare(tmp_path: Path) -> None:
    """An event of no entries of mine, no car, no tyres."""
    nobody = EVENT[: EVENT.index("[mine]")] + EVENT[EVENT.index("[forecast]") :]
    kept = ("entrants.csv", "times.csv")
    small_event(tmp_path / "event", {**dict.fromkeys(set(FILES) - set(kept)), "event.toml": nobody})


NOTHING = {
    "bar": "no car file is named for your entry", "gears": "no gear can be computed yet",
    "tyres": "No tyres are known on this car yet", "sheet": "Nothing is known to be set on this car",
    "car": "No car file for your entry yet",
}  # fmt: skip
LOGS = {"bar": "enter", "tyres": "m", "sheet": "enter"}


async def test_nothing_known_and_nothing_logged_for_nobody(tmp_path: Path) -> None:
    bare(tmp_path)
    async with driving(tmp_path) as hand:
        for room in ROOMS:
            await hand.app.go(room)
            await hand.settle()
            assert NOTHING[room] in hand.text
            if room in LOGS:
                await hand.press(LOGS[room])
                assert hand.told == "! whose car? type your numbers on the event's page, @"
            for key in ("down", "up", "pagedown", "enter", "enter"):
                await hand.press(key)
            assert room == hand.page.NAME


async def test_every_table_unreadable(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        for name in ("tyres.csv", "fitted.csv", "tread.csv", "changes.csv", "worklist.csv"):
            (hand.folder / name).write_text("rubbish\n1,2,3\n", "utf-8")
        (hand.folder / "cars" / "saloon.toml").write_text("name = \n[front\n", "utf-8")
        hand.page.desk.open_session.poll()
        for room in ROOMS:
            await hand.app.go(room)
            await hand.settle()
            assert room == hand.page.NAME
            for key in ("down", "up", "enter", "enter", "1", "2", "enter"):
                await hand.press(key)
            assert room == hand.page.NAME
            await hand.press("ctrl+g", "escape", "ctrl+g")
            hand.page.clear()
            assert (hand.folder / "changes.csv").read_text("utf-8") == "rubbish\n1,2,3\n"


async def test_keys_while_the_event_is_opening(tmp_path: Path) -> None:
    """The page is put up before anything is read."""
    async with driving(tmp_path) as hand:
        desk = hand.page.desk
        session = desk.session
        for room in ROOMS:
            desk.session = None
            page = build(room_of(room), desk)
            await hand.app.push_screen(page)
            await hand.dealt_with()
            for key in ("a", "m", "o", "j", "down", "enter"):
                if room == hand.page.NAME:
                    await hand.press(key)
            desk.session = session
            hand.page.opened()
            await hand.settle()
            assert room == hand.page.NAME
            await hand.app.pop_screen()
