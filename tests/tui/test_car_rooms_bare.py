"""The car's pages where little or nothing is known: they open, say what to do, and take no harm from any key."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.small import EVENT, FILES, small_event
from tests.tui.pilot import driving

ROOMS = ("bar", "gears", "tyres", "sheet", "car")


def bare(tmp_path: Path) -> None:
    """An event of no entries of mine, no car, no tyres."""
    nobody = EVENT[: EVENT.index("[mine]")] + EVENT[EVENT.index("[forecast]") :]
    kept = ("entrants.csv", "times.csv")
    small_event(tmp_path / "event", {**dict.fromkeys(set(FILES) - set(kept)), "event.toml": nobody})


@pytest.mark.parametrize(
    ("room", "words"),
    [
        ("bar", "no car file is named for your entry"), ("gears", "no gear can be computed yet"),
        ("tyres", "No tyres are known on this car yet"), ("sheet", "Nothing is known to be set on this car"),
        ("car", "No car file for your entry yet"),
    ],
)  # fmt: skip
async def test_nothing_known(tmp_path: Path, room: str, words: str) -> None:
    bare(tmp_path)
    async with driving(tmp_path) as hand:
        await hand.app.go(room)
        await hand.settle()
        assert words in hand.text
        for key in ("down", "up", "pagedown", "enter", "enter"):
            await hand.press(key)
        assert room == hand.page.NAME


@pytest.mark.parametrize(("room", "key"), [("bar", "enter"), ("tyres", "m"), ("sheet", "enter")])
async def test_nothing_is_logged_for_nobody(tmp_path: Path, room: str, key: str) -> None:
    bare(tmp_path)
    async with driving(tmp_path) as hand:
        await hand.app.go(room)
        await hand.press(key)
        assert hand.told == "! whose car? type your numbers on the event's page, @"


@pytest.mark.parametrize("room", ROOMS)
async def test_every_table_unreadable(tmp_path: Path, room: str) -> None:
    async with driving(tmp_path) as hand:
        for name in ("tyres.csv", "fitted.csv", "tread.csv", "changes.csv", "worklist.csv"):
            (hand.folder / name).write_text("rubbish\n1,2,3\n", "utf-8")
        (hand.folder / "cars" / "saloon.toml").write_text("name = \n[front\n", "utf-8")
        hand.page.desk.open_session.poll()
        await hand.app.go(room)
        await hand.settle()
        for key in ("down", "up", "enter", "enter", "1", "2", "enter"):
            await hand.press(key)
        assert room == hand.page.NAME
        assert (hand.folder / "changes.csv").read_text("utf-8") == "rubbish\n1,2,3\n"


@pytest.mark.parametrize("room", ROOMS)
async def test_keys_while_the_event_is_opening(tmp_path: Path, room: str) -> None:
    """The page is put up before anything is read."""
    from paddock.tui.rooms import build, room_of

    async with driving(tmp_path) as hand:
        session, hand.page.desk.session = hand.page.desk.session, None
        await hand.app.push_screen(build(room_of(room), hand.page.desk))
        await hand.dealt_with()
        for key in ("a", "m", "o", "j", "down", "enter"):
            if room == hand.page.NAME:
                await hand.press(key)
        hand.page.desk.session = session
        hand.page.opened()
        await hand.settle()
        assert room == hand.page.NAME
