"""Home in the ten minutes: the gauge before the typing, the weather in a line, the chance to lead, a bell."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from paddock.tui.app import PaddockApp
from tests.small import EVENT, small_event
from tests.tui.pilot import driving


async def test_readings_weather_and_the_run_are_typed_on_home(tmp_path: Path) -> None:
    """Gauge first: four readings, then the run they were read after; the weather in a line; each taken back."""
    async with driving(tmp_path) as hand:
        before = hand.file("pressures.csv"), hand.file("weather.csv")
        await hand.type("335 340 305 300")
        assert hand.told == "Enter keeps LF 33.5 RF 34.0 RR 30.5 LR 30.0: after run 5, not typed yet"
        await hand.press("enter")
        assert hand.told == "saved: 4 readings of 7 after run 5"
        row = hand.file("pressures.csv").splitlines()[-1].split(",")
        assert row[:4] == ["2", "5", "7", "after"]
        assert "run 5, read >" in hand.text
        assert "after run 5" in hand.text
        await hand.type("28 air 41 track damp")
        assert hand.told == "Enter logs the weather"
        await hand.press("enter")
        assert "2,13:08,28,41,,,damp" in hand.file("weather.csv")
        assert "damp, air 28 °C, ground 41 °C" in hand.text
        await hand.type("u1 0 0 45912 l0.3@5")
        await hand.press("enter")
        assert "2,5,7,45.912" in hand.file("times.csv")
        assert "u1 0 0  lost 0.3 at 5" in hand.text
        assert "read >" not in hand.text
        await hand.press("z", "z", "z")
        assert (hand.file("pressures.csv"), hand.file("weather.csv")) == before
        await hand.type("28 air 99 track")
        await hand.press("enter")
        assert hand.told == "! 99 track is no temperature of the ground"
        assert hand.page.entry.value == "28 air 99 track"


async def test_the_chance_to_lead_stands_on_home_while_a_run_is_left(tmp_path: Path) -> None:
    async with driving(tmp_path, lead_after_s=0) as hand:
        await hand.settle()
        assert re.search(r" {4}\d+ % to lead   9 leads by 0.117", hand.text)
        assert re.search(r" {4}\d+ % to lead   24 leads by 0.317", hand.text)
        assert "clean 46.284 leads\n" in hand.text
        await hand.type("u1 0 0 45912")
        await hand.press("enter")
        await hand.settle()
        assert "to lead" not in hand.text


async def test_to_lead_nobody_is_no_chance(tmp_path: Path) -> None:
    """Only I have a score: a hundred in a hundred would say nothing."""
    folder = small_event(tmp_path / "event")
    for file, place in (("times.csv", 2), ("entrants.csv", 0)):
        head, *rows = (folder / file).read_text().splitlines(keepends=True)
        (folder / file).write_text("".join([head, *(row for row in rows if row.split(",")[place] == "7")]))
    async with driving(tmp_path, lead_after_s=0) as hand:
        await hand.settle()
        assert "nobody else has a score yet" in hand.text
        assert "to lead" not in hand.text


async def test_left_open_over_night_it_writes_into_the_new_day(tmp_path: Path) -> None:
    clock = [datetime(2026, 6, 13, 17, 0)]
    async with driving(tmp_path, clock=lambda: clock[0]) as hand:
        assert "day 1" in hand.text
        clock[0] = datetime(2026, 6, 14, 8, 0)
        await hand.app.pass_time()
        await hand.press("s", "h")
        assert "day 2" in hand.text.splitlines()[0]
        await hand.type("re")
        await hand.press("enter")
        assert hand.file("times.csv").splitlines()[-1].startswith("2,")


async def test_a_bell_rings_once_before_my_run_and_only_on_request(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By the running order, on the screens' own clock; any page in front says which run."""
    clock, rung = [datetime(2026, 6, 14, 10, 0)], []
    monkeypatch.setattr(PaddockApp, "bell", lambda _app: rung.append(clock[0]))
    files = {
        "times.csv": "day,run,number,time,at\n2,1,9,46.1,09:59:30\n",
        "grid.csv": "day,number,group,order\n2,9,A,1\n2,24,A,2\n2,7,A,3\n",
        "event.toml": EVENT.replace("interval_s = 60", "interval_s = 600"),
    }
    folder = small_event(tmp_path / "own", files)
    async with driving(tmp_path, source=folder, clock=lambda: clock[0]) as hand:
        assert "run 1 of 5 in about 20 min" in hand.text

        async def later(minutes: int) -> None:
            clock[0] += timedelta(minutes=minutes)
            await hand.app.pass_time()
            await hand.dealt_with()

        await later(9)
        assert rung == []
        await hand.press("j")
        await hand.type("3x")
        await hand.press("enter")
        assert hand.told.startswith("! 3x: whole minutes")
        assert hand.page.entry.value == "3x"
        await hand.press("backspace", "enter")
        assert hand.told == "a bell 3 min before each run of yours"
        assert "bell 3 min" in hand.text
        await hand.press("s")
        await hand.settle()
        hand.page.tell("saved: run 1")
        await later(0)
        assert re.fullmatch(r"bell: run 1 of 24 .*; saved: run 1", hand.told)
        await later(5)
        assert len(rung) == 1
        await later(3)
        assert len(rung) == 2
        assert hand.told == "bell: run 1 of 7 in about 2 min"
        await later(1)
        assert len(rung) == 2
        await hand.press("h", "j", "0", "enter")
        assert hand.told == "no bell"
        assert "bell 3 min" not in hand.text
