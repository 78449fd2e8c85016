"""Gears from the keys: a stretch asked of one gear and the next, speeds, what is missing."""

from __future__ import annotations

from pathlib import Path

from tests.tui.pilot import driving


async def test_hold_or_shift_is_asked_of_the_gear_in_hand(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("g")
        await hand.type("60 90")
        await hand.press("enter")
        assert "Over 90 m from 60 km/h: shift to third." in hand.text
        assert "saves 0.9 tenths" in hand.text
        await hand.press("down")
        assert "hold third:" in hand.text
        await hand.press("enter")
        assert "Over 90 m" not in hand.text
        assert "The driven wheels hold 5872 N" in hand.text


async def test_a_gear_typed_first_is_taken_in_hand(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("g")
        await hand.type("3 70,5 120 0.3g")
        await hand.press("enter")
        assert "hold third" in hand.text
        assert "Over 120 m from 70.5 km/h" in hand.text


async def test_what_cant_be_asked_is_told_and_kept(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("g")
        await hand.type("60")
        await hand.press("enter")
        assert hand.told.startswith("! '60': type the speed in km/h and the metres")
        assert hand.page.entry.value == "60"
        await hand.type(" 900")
        await hand.press("enter")
        assert hand.told == "! the stretch must be 1 to 600 m long"
        for _ in range(6):
            await hand.press("backspace")
        await hand.type("200 90")
        await hand.press("enter")
        assert "gear 2 ends at 95 km/h" in hand.told


async def test_speeds_over_rpm(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("g", "o")
        await hand.settle()
        assert "5 km/h" in hand.text
        assert "thrust, N" not in hand.text
        await hand.press("o")
        assert "thrust, N" in hand.text


async def test_without_a_torque_curve_the_speeds_stand(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        path = hand.folder / "cars" / "saloon.toml"
        text = path.read_text("utf-8")
        path.write_text(text[: text.index("[engine]")] + text[text.index("[fasteners]") :], "utf-8")
        hand.page.desk.open_session.poll()
        await hand.press("g")
        await hand.settle()
        assert "94.9" in hand.text
        assert "engine.rpm:" in hand.text


async def test_a_curve_in_a_file_beside_the_car_is_read(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        path = hand.folder / "cars" / "saloon.toml"
        text = path.read_text("utf-8")
        text = text[: text.index("[engine]")] + '[engine]\ncurve = "sheet.csv"\n\n' + text[text.index("[fasteners]") :]
        path.write_text(text, "utf-8")
        (path.parent / "sheet.csv").write_text("rpm,torque_nm\n1500,190\n4000,320\n7000,222\n", "utf-8")
        hand.page.desk.open_session.poll()
        await hand.press("g")
        await hand.settle()
        assert "thrust, N" in hand.text
