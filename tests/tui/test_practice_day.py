"""A day on which runs are logged and nobody else's: no nagging about rivals, and the car's answers all the same."""

from __future__ import annotations

from pathlib import Path

from paddock import answer
from tests.small import EVENT, NOW, small_event
from tests.tui.pilot import Hand, driving

ALONE = EVENT.replace("runs_per_day = 5", "runs_per_day = 2\npractice_days = [1, 2]")
HEADS = {
    "times.csv": "day,run,number,time,cones,misses,status,at,try\n",
    "runs.csv": "day,run,number,at,mistake,unsafe,lost_s,lost_where,entry,mid,exit,slalom,surface,note\n",
    "pressures.csv": "day,run,number,moment,at,lf_psi,rf_psi,lr_psi,rr_psi,tyre_c,air_c\n",
}


async def run(hand: Hand, text: str, readings: str) -> None:
    await hand.press("h")
    await hand.type(text)
    await hand.press("enter")
    await hand.press("p")
    await hand.type(readings)
    await hand.press("enter")


async def test_a_day_of_practice_from_home_to_the_tyres(tmp_path: Path) -> None:
    small_event(tmp_path / "event", {**HEADS, "event.toml": ALONE, "splits.csv": None})
    async with driving(tmp_path, now=NOW) as hand:
        for text, readings in (
            ("u1 48000", "340340405405"),
            ("0 46500 +1", "345345410410"),
            ("0 46000", "350350415415"),
        ):
            await run(hand, text, readings)
        await hand.press("h")
        assert hand.file("times.csv").splitlines()[1:] == [
            "2,1,7,48.000,,,,13:08:00,", "2,2,7,46.500,1,,,13:08:00,", "2,3,7,46.000,,,,13:08:00,",
        ]  # fmt: skip
        assert "run 4" in hand.text, "more than the event's two runs a day: practice is not counted against them"
        assert "day 2 is practice: nothing counts" in hand.text
        assert "-2.500" in " ".join(hand.text.replace("−", "-").split()), "compared with my own run before"
        for nag in ("no rival's run", "times in", "waiting", "yet to run", "fault"):
            assert nag not in hand.text
        assert "set now" in hand.text
        await hand.press("v")
        assert "what to set next" in hand.text
        await hand.press("s")
        assert "Practice on day 1 and 2: no results of others are waited for" in " ".join(hand.text.split())
        await hand.press("percent_sign")
        await hand.settle()
        assert "Practice on day 1 and 2" in hand.text
        assert "can't tell" not in hand.text
        await hand.press("t")
        assert "55 (3)" in hand.text, "52 runs before and three of practice"
        await hand.press("full_stop")
        await hand.settle()
        assert "Who was faster" not in hand.text
    found = answer("gap", tmp_path / "event", "--number", "7", "--day", "2")
    assert found["class"]["why"] == "day 2 is practice: nothing counts"
    assert found["class"]["waiting"] == []
    tables = answer("standings", tmp_path / "event")["tables"]
    assert all(row["score_ms"] is None for table in tables for row in table["rows"])  # type: ignore[attr-defined]
    assert answer("next", tmp_path / "event", "--number", "7", "--at", "2026-06-14T13:10")["action"] in ("set", "hold")


async def test_practice_before_a_day_that_counts_keeps_a_row_of_its_own(tmp_path: Path) -> None:
    small_event(tmp_path / "event", {**HEADS, "splits.csv": None})
    async with driving(tmp_path, now=NOW) as hand:
        for text in ("50000 practice", "49000 practice", "48000"):
            await hand.type(text)
            await hand.press("enter")
            assert "replaces" not in hand.told
        assert hand.file("times.csv").splitlines()[1:] == [
            "2,1,7,50.000,,,practice,13:08:00,1", "2,1,7,49.000,,,practice,13:08:00,2", "2,1,7,48.000,,,,13:08:00,",
        ]  # fmt: skip
        assert "run 2" in hand.text


async def test_the_practice_days_are_said_on_the_events_page(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("at", "slash")
        await hand.type("practice")
        await hand.press("enter")
        await hand.type("0")
        await hand.press("enter")
        assert hand.told.startswith("! event.toml: practice_days")
        await hand.press("escape")
        await hand.type("2")
        await hand.press("enter")
        assert "standings" in hand.text.lower()
        await hand.press("enter")
        assert "practice_days = [2]" in hand.file("event.toml")
        await hand.press("z")
        assert "practice_days" not in hand.file("event.toml")
