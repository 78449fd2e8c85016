"""Four readings, typed or stepped."""

from __future__ import annotations

from pathlib import Path

from paddock.store.personal import Personal
from tests.tui.pilot import driving


async def test_four_on_one_line(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("p345350410415")
        assert "off +2.5" in hand.text
        await hand.press("enter")
        await hand.settle()
        assert hand.page.NAME == "home"
        assert hand.told == "saved: 4 readings set run 4"
        assert "2,4,7,set,13:08:00,34.5,35,41.5,41" in hand.file("pressures.csv")


async def test_stepped_from_what_is_expected(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("p", "minus", "minus", "enter", "plus", "enter", "enter", "enter")
        await hand.settle()
        assert hand.page.NAME == "home"
        row = hand.file("pressures.csv").splitlines()[-1].split(",")
        assert row[:5] == ["2", "4", "7", "set", "13:08:00"]
        assert [row[5], row[6], row[7], row[8]] == ["31", "32.5", "40", "40"]


async def test_each_reading_is_saved_as_it_is_accepted(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("p")
        await hand.type("345")
        await hand.press("enter")
        row = hand.file("pressures.csv").splitlines()[-1].split(",")
        assert row[5:9] == ["34.5", "", "", ""]
        await hand.type("350")
        await hand.press("enter")
        row = hand.file("pressures.csv").splitlines()[-1].split(",")
        assert row[5:9] == ["34.5", "35", "", ""]


async def test_the_walk_round_the_car_is_ones_own(tmp_path: Path) -> None:
    async with driving(tmp_path, personal=Personal(walk=("rr", "rf", "lf", "lr"))) as hand:
        await hand.type("p41 35 34 42")
        await hand.press("enter")
        await hand.settle()
        row = hand.file("pressures.csv").splitlines()[-1].split(",")
        assert row[5:9] == ["34", "35", "42", "41"]


async def test_over_the_cold_maximum_it_warns_and_says_why(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("p34 35 52 52 t40")
        assert "cold maximum" in hand.text
        assert "parked at" in hand.text
        assert "maker" in hand.text


async def test_a_reading_in_doubt_keeps_the_line(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        before = hand.file("pressures.csv")
        await hand.type("p3450 35")
        await hand.press("enter")
        assert hand.told.startswith("! 3450")
        assert hand.page.entry.value == "3450 35"
        assert hand.file("pressures.csv") == before


async def test_the_moment_can_be_chosen(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("p", "m")
        assert "cold, before anything" in hand.text
        await hand.type("30 30 30 30 b")
        await hand.press("enter")
        await hand.settle()
        assert ",before," in hand.file("pressures.csv").splitlines()[-1]


async def test_a_tap_steps_and_accepts(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("p")
        await hand.app.run_tap("bump('rf',1)")
        await hand.app.run_tap("take('rf')")
        row = hand.file("pressures.csv").splitlines()[-1].split(",")
        assert row[5:9] == ["", "32.5", "", ""]


async def test_the_tread_is_logged_by_corner_or_axle(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("pjf past rr 41 45 52 on")
        await hand.press("enter")
        assert "saved: tread after run 4: LF, RF, RR" in hand.told
        assert "2,4,7,lf," in hand.file("treadtemps.csv")
        assert "2,4,7,rr,41,45,52,on" in hand.file("treadtemps.csv")
        await hand.press("j")
        await hand.type("lf 41 45")
        await hand.press("enter")
        assert "three temperatures" in hand.told


async def test_one_undo_takes_back_the_four_of_a_visit(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        before = hand.file("pressures.csv")
        await hand.press("p", *["enter"] * 4)
        await hand.settle()
        assert hand.told == "saved: 4 readings set run 4"
        taken = hand.file("pressures.csv")
        await hand.press("z")
        assert hand.told == "undone: 4 readings set run 4"
        assert hand.file("pressures.csv") == before
        await hand.press("y")
        assert hand.told == "done again: 4 readings set run 4"
        assert hand.file("pressures.csv") == taken


async def test_undone_on_the_page_the_readings_begin_anew(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        before = hand.file("pressures.csv")
        await hand.press("p", "enter", "enter", "z")
        assert hand.file("pressures.csv") == before
        await hand.type("345")
        await hand.press("enter")
        row = hand.file("pressures.csv").splitlines()[-1].split(",")
        assert row[5:9] == ["34.5", "", "", ""]
        await hand.press("z")
        assert hand.file("pressures.csv") == before


async def test_what_was_entered_before_the_visit_stays_with_one_undo(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.type("46512")
        await hand.press("enter", "p", "enter", "enter", "z")
        assert ",46.512," in hand.file("times.csv").splitlines()[-1]
