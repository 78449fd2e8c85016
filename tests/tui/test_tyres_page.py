"""Depths and moves logged from the keys."""

from __future__ import annotations

import re
from pathlib import Path

from tests.small import TREAD, small_event
from tests.tui.pilot import driving

WORN = re.sub(r"(?<=,S\d,).*", "2.9,2.9,2.7", TREAD.split("1,S1")[0]) + re.sub(
    r"(?<=1,S\d,).*", "2.6,2.6,2.4", "1,S1" + TREAD.split("1,S1")[1]
)
"""Four tyres near their end: nothing helps but new ones."""


async def test_depths_are_typed_corner_after_corner(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("t")
        await hand.settle()
        await hand.type("4.2 44 3,0")
        await hand.press("enter")
        assert hand.told == "saved: S1 4.2/4.4/3.0 after the runs of day 2"
        await hand.type("4.1 - 2.6")
        await hand.press("enter")
        assert hand.file("tread.csv").splitlines()[-2:] == ["2,S1,4.2,4.4,3", "2,S2,4.1,,2.6"]
        assert "lr > " in hand.text
        assert "4.2/4.4/3.0" in hand.text
        await hand.press("z", "z")
        assert "2,S1" not in hand.file("tread.csv")


async def test_a_reading_before_the_first_run_is_of_the_start(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        for name in ("times.csv", "runs.csv", "tread.csv"):
            path = hand.folder / name
            path.write_text(path.read_text("utf-8").splitlines()[0] + "\n", "utf-8")
        hand.page.desk.open_session.poll()
        await hand.press("t")
        await hand.type("6 6 6")
        await hand.press("enter")
        assert hand.file("tread.csv").splitlines()[-1] == "0,S1,6,6,6"
        assert "before the first run" in hand.told


async def test_a_depth_that_grew_is_asked_about_and_kept(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("t")
        await hand.type("4.2 4.4 5.5")
        await hand.press("enter")
        assert hand.told.endswith("outer deeper than before: measure again?".rstrip("?"))
        assert hand.file("tread.csv").splitlines()[-1] == "2,S1,4.2,4.4,5.5"


async def test_what_is_no_reading_stays_in_the_line(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        before = hand.file("tread.csv")
        await hand.press("t")
        await hand.type("4.2 4.4")
        await hand.press("enter")
        assert hand.told.startswith("! '4.2 4.4': type three depths in mm")
        assert hand.page.entry.value == "4.2 4.4"
        await hand.type(" 33.3")
        await hand.press("enter")
        assert "33.3 mm can't be a tread depth" in hand.told
        assert hand.file("tread.csv") == before


async def test_a_file_in_thirty_seconds_of_an_inch_is_typed_in_them(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        (hand.folder / "tread.csv").write_text("day,tyre,inner_32nds,middle_32nds,outer_32nds\n0,S1,6,6,5\n", "utf-8")
        hand.page.desk.open_session.poll()
        await hand.press("t")
        await hand.settle()
        await hand.type("5 5.5 4")
        await hand.press("enter")
        assert hand.file("tread.csv").splitlines()[-1] == "2,S1,5,5.5,4"
        assert "S1 5.0/5.5/4.0 after" in hand.told


async def test_front_and_rear_change_places_after_one_more_enter(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        before = hand.file("fitted.csv")
        await hand.press("t")
        await hand.type("mfront rear")
        await hand.press("enter")
        assert "From run 5 of day 2: S3 to lf, S4 to rf, S1 to lr, S2 to rr." in hand.text
        assert "never on a jack alone" in hand.text
        assert hand.file("fitted.csv") == before
        await hand.press("enter")
        assert hand.file("fitted.csv").splitlines()[-4:] == ["2,5,7,lf,S3,", "2,5,7,rf,S4,", "2,5,7,lr,S1,", "2,5,7,rr,S2,"]  # fmt: skip
        assert "lf S3" in hand.text
        await hand.press("k")
        await hand.settle()
        assert "wheel nuts" in hand.text
        await hand.press("z")
        assert hand.file("fitted.csv") == before


async def test_backspace_leaves_the_move(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        before = hand.file("fitted.csv")
        await hand.press("t")
        await hand.type("mturn front")
        await hand.press("enter")
        assert "S1 turned over, S2 turned over" in hand.text
        await hand.press("backspace")
        assert "From run" not in hand.text
        assert hand.file("fitted.csv") == before


async def test_a_new_tyre_on_the_corner_in_hand(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("t", "down")
        await hand.type("mN7")
        await hand.press("enter")
        assert "N7 isn't in tyres.csv yet: it is added" in hand.text
        await hand.press("enter")
        assert hand.file("fitted.csv").splitlines()[-1] == "2,5,7,rf,N7,"
        assert hand.file("tyres.csv").splitlines()[-1].startswith("N7,")
        assert "S2" in hand.text, "still mine, off the car"
        assert "no depth yet: type inner middle outer" in hand.text


async def test_a_directional_tyre_across_is_asked_about(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("e", "t")
        await hand.type("msides rear")
        await hand.press("enter")
        assert "C4 is directional: it runs backwards" in hand.text


async def test_nonsense_is_told_and_kept(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("t")
        await hand.type("mup and down now")
        await hand.press("enter")
        assert "four tyres" not in hand.told or hand.told.startswith("!")
        await hand.press("backspace")
        await hand.type("mS1")
        await hand.press("enter")
        assert "that changes nothing" in hand.told


async def test_no_tyres_yet(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        for name in ("tyres.csv", "fitted.csv", "tread.csv"):
            (hand.folder / name).unlink()
        hand.page.desk.open_session.poll()
        await hand.press("t")
        await hand.settle()
        assert "No tyres are known on this car yet" in hand.text
        await hand.type("mF1 F2 C1 C2")
        await hand.press("enter", "enter")
        assert hand.file("fitted.csv").splitlines()[-4:] == ["2,5,7,lf,F1,", "2,5,7,rf,F2,", "2,5,7,lr,C1,", "2,5,7,rr,C2,"]  # fmt: skip
        assert len(hand.file("tyres.csv").splitlines()) == 5
        await hand.type("8 8 8")
        await hand.press("enter")
        assert hand.told.startswith("saved: F1")


async def test_earlier_events_beside_the_folder_count(tmp_path: Path) -> None:
    small_event(tmp_path / "event", {"tread.csv": WORN})
    async with driving(tmp_path) as hand:
        (tmp_path / "season.toml").write_text('[[events]]\nname = "Autumn"\ndays = [2026-07-18, 2026-07-19]\n', "utf-8")
        await hand.press("t")
        await hand.settle()
        assert "Autumn" in hand.text


async def test_depths_are_stepped_by_taps(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("t")
        await hand.settle()
        await hand.app.run_tap("bump('outer', -1)")
        await hand.app.run_tap("bump('outer', -1)")
        assert "outer  - 3.2 +" in hand.text
        await hand.app.run_tap("take")
        assert hand.file("tread.csv").splitlines()[-1] == "2,S1,4.7,4.8,3.2"
        assert "log it" not in hand.text, "the next tyre is in hand, nothing stepped"
        await hand.press("enter")
        assert hand.told == "type three depths, or tap - and + under the table"


async def test_a_move_is_logged_by_a_tap(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("t")
        await hand.type("msides front")
        await hand.press("enter")
        assert "log it" in hand.text
        await hand.app.run_tap("take")
        assert hand.file("fitted.csv").splitlines()[-2:] == ["2,5,7,lf,S2,", "2,5,7,rf,S1,"]


async def test_an_open_page_sees_the_season_written_beside_it(tmp_path: Path) -> None:
    small_event(tmp_path / "event", {"tread.csv": WORN})
    async with driving(tmp_path) as hand:
        await hand.press("t")
        await hand.settle()
        assert "book it in season.toml" in " ".join(hand.text.split())
        (tmp_path / "season.toml").write_text('[[events]]\nname = "Autumn"\ndays = [2026-07-18, 2026-07-19]\n', "utf-8")
        hand.page.tick()
        await hand.settle()
        assert "book it in season.toml" not in " ".join(hand.text.split())
