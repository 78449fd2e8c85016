"""The whole of the next-pressure answer, and what-ifs about heat, from the keys."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from paddock.engine.clock import as_of
from paddock.engine.pressure.moment import moment_of
from tests.tui.pilot import driving


async def test_every_reason_is_on_the_second_page(tmp_path: Path) -> None:
    async with driving(tmp_path, (80, 40)) as hand:
        await hand.press("v")
        await hand.settle()
        assert "Front 35.5/34.5 -> " in hand.text
        assert "roll-over mark" in hand.text
        assert "standing water" in hand.text
        assert "answered by: heat drift only" in hand.text
        assert "sidewall stand above this" in hand.text.replace("\n  ", " ")


async def test_set_as_said_in_one_key_and_undone(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        before = hand.file("pressures.csv")
        await hand.press("v")
        await hand.settle()
        await hand.press("a")
        assert hand.told.startswith("saved: set LF 31.3 RF 31.3 LR 38.3 RR 38.3"), "due on the line: still warm then"
        row = hand.file("pressures.csv").splitlines()[-1].split(",")
        assert row[:5] == ["2", "4", "7", "set", "12:53"]
        assert [round(float(cell), 1) for cell in row[5:9]] == [31.3, 31.3, 38.3, 38.3]
        await hand.press("z")
        assert hand.file("pressures.csv") == before


async def test_done_once_there_is_nothing_left_to_set(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("v")
        await hand.settle()
        assert "a set as said" in hand.text.splitlines()[-1]
        await hand.press("a")
        rows = hand.file("pressures.csv")
        assert "Set as advised; nothing to do." in hand.text
        assert "set as said" not in hand.text
        await hand.press("a")
        assert "nothing to set" in hand.told
        assert hand.file("pressures.csv") == rows


async def test_home_the_why_page_the_heat_page_and_the_gauge_page_say_one_thing(tmp_path: Path) -> None:
    async with driving(tmp_path, (100, 40)) as hand:
        desk = hand.page.desk
        moment = moment_of(desk.event, "7", as_of(desk.event, desk.now()))
        figures = {f"{psi:.1f}" for psi in moment.moves.values()}
        assert figures
        for key in ("h", "v", "asterisk", "p"):
            await hand.press(key)
            await hand.settle()
            assert all(figure in hand.text for figure in figures), key


async def test_an_old_reading_is_said_so(tmp_path: Path) -> None:
    async with driving(tmp_path, now=datetime(2026, 6, 14, 14, 0)) as hand:
        await hand.press("v")
        await hand.settle()
        assert "Read 67 min ago: the tyres have cooled, read the four corners again" in " ".join(hand.text.split())


async def test_a_what_if_is_answered_and_taken_back(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("asterisk")
        await hand.settle()
        assert "set now: LF" in hand.text
        assert "parked at 26 °C these read" in hand.text
        await hand.type("34 44 a8 w20")
        await hand.press("enter")
        assert "what if: air 8 °C, waiting 20 min, wanted 34.0/44.0" in hand.text
        await hand.type("8c 1600m")
        await hand.press("enter")
        assert "parked at 1600 m at 8 °C" in hand.text
        assert "Set cold for a first run at 8 C" in hand.text
        await hand.press("enter")
        assert "─ now ─" in hand.text


async def test_a_what_if_in_doubt_keeps_the_line(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("asterisk")
        await hand.settle()
        await hand.type("8")
        await hand.press("enter")
        assert hand.told.startswith("!")
        assert hand.page.entry.value == "8"


async def test_too_few_readings_are_said_so(tmp_path: Path) -> None:
    async with driving(tmp_path, (80, 40)) as hand:
        (hand.folder / "pressures.csv").write_text("day,run,number,moment,at,lf_psi,rf_psi,lr_psi,rr_psi\n")
        hand.page.desk.open_session.poll()
        await hand.press("asterisk")
        await hand.settle()
        assert "too few readings" in hand.text
        assert "No curve yet" in hand.text
        await hand.press("v")
        await hand.settle()
        assert "Read. Nothing read since run 4: read the four corners." in hand.text
