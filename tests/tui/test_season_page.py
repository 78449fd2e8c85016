"""The season on the screen: points, what is open, my runs, changes and tyres; broken folders; no season.toml."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from tests.seasonfiles import write_event
from tests.tui.pilot import Hand, driving
from tests.tui.test_screens import SIZES, compare

RULES = """
name = "2026"
currency = "euro"
[points]
by_place = [10, 8, 6]
[drops]
worst = 2
[[events]]
folder = "01-spring"
fee = 50
[[events]]
name = "Autumn"
days = [2026-10-03]
fee = "62.50"
closes = 2026-09-20
"""
CHANGES = "id,day,run,number,key,before,after,decision\nc1,1,2,26,rear bar,3,2,keep\n"
NOW = datetime(2026, 6, 1, 12, 0)


@pytest.fixture
def year(tmp_path: Path) -> Path:
    """Two events beside the open one, and a season."""
    home = tmp_path / "year"
    write_event(home / "01-spring", {"26": ("46.0", "45.0"), "7": ("45.5",), "8": ("47.0",)}, "Spring", "2026-04-01",
                changes=CHANGES)  # fmt: skip
    write_event(home / "02-may", {"26": ("46.0+1",), "7": ("45.5",)}, "May", "2026-05-01")
    write_event(home / "event", {"26": ("44.0",), "8": ("45.0",)}, "June", "2026-06-01")
    (home / "season.toml").write_text(RULES)
    return home


async def _open(hand: Hand) -> None:
    await hand.press("less_than_sign")
    await hand.settle()


def words(hand: Hand) -> str:
    """The screen without its line breaks."""
    return " ".join(hand.text.split())


async def test_points_with_mine_and_what_was_dropped(year: Path) -> None:
    """Class PINE by hand: 26 has 10 + 8 + 10, the best 2 of 4 count; 7 has 8 + 10, 8 has 6 + 8."""
    async with driving(year, now=NOW) as hand:
        await _open(hand)
        assert "2026: 3 events read, 3 with results, 1 booked to come" in hand.text
        assert "PINE: Driver 26 1st of 3 with 20 points, 2 ahead of Driver 7" in hand.text
        assert "the best 2 count, dropped 8 (May)" in words(hand)
        assert "PINE: the best 2 count" in hand.text
        assert ">  1  Driver 26      26      20  2 of 3" in hand.text
        assert "   2  Driver 7        7      18  2 of 2" in hand.text
        assert "May 2 48.000 (8 dropped)" in words(hand)


async def test_what_each_event_left_could_change_and_its_fee(year: Path) -> None:
    """7's best two with a win more are 10 + 10: as many as mine, so only a tie is left. A win of mine drops a 10."""
    async with driving(year, now=NOW) as hand:
        await _open(hand)
        await hand.press("right")
        text = words(hand)
        assert "Driver 26, PINE: place 1 is settled, save for a tie" in text
        assert "Autumn: a win gives 10 and adds 0; up to 10 points would be dropped" in text
        assert "Spring" not in text
        assert "01-spring 2026-04-01 run 50 euro" in text
        assert "2026-10-03 to come 62.5 euro closes 2026-09-20, in 111 days" in text
        assert "Fees: 50 euro for events run, 62.5 euro to come" in text


async def test_all_my_runs_are_found_by_words(year: Path) -> None:
    async with driving(year, now=NOW) as hand:
        await _open(hand)
        await hand.press("right", "right", "right")
        assert "My runs: 4, with a time 4: 3 clean, 1 with penalties. Changes: 1, kept 1, taken back 0." in words(hand)
        rows = [item for item in hand.text.splitlines() if item.startswith("2026-")]
        assert [item.split()[0] for item in rows] == ["2026-06-01", "2026-05-01", "2026-04-01", "2026-04-01"]
        await hand.press("slash")
        await hand.type("spring 45")
        assert len([item for item in hand.text.splitlines() if item.startswith("2026-")]) == 1
        await hand.press("enter")
        assert "1 with spring 45; Enter shows all again" in hand.text
        await hand.press("enter")
        assert len([item for item in hand.text.splitlines() if item.startswith("2026-")]) == 4


async def test_a_search_without_a_row_lets_go(year: Path) -> None:
    async with driving(year, now=NOW) as hand:
        await _open(hand)
        await hand.type("99")
        assert "Enter looks for it in my runs" in hand.told
        await hand.press("enter")
        assert "2026-06-01" in hand.text
        await hand.type("99")
        assert "nothing here has 99" in hand.text
        await hand.press("backspace", "backspace")
        assert "2026-06-01" in hand.text


async def test_what_the_year_taught_is_worked_out_when_it_is_looked_at(year: Path) -> None:
    async with driving(year, (80, 60), now=NOW) as hand:
        await _open(hand)
        await hand.press("right", "right")
        await hand.settle()
        text = words(hand)
        assert "2026: 3 events, 4 runs of mine with a time" in text
        assert "faults and mistakes" in text
        assert "1 cone, 0 gates and 0 void runs at 3 events: cones and gates cost 2.000 s of score" in text
        await hand.press("h")
        await hand.type("43000 +1")
        await hand.press("enter")
        await _open(hand)
        await hand.press("right", "right")
        await hand.settle()
        assert "2 cones, 0 gates" in words(hand)


async def test_changes_and_tyres_over_the_events(year: Path) -> None:
    async with driving(year, now=NOW) as hand:
        await _open(hand)
        await hand.press("right", "right", "right", "right")
        assert "rear bar" in hand.text
        await hand.press("right")
        assert "no tyre in these events yet" in hand.text
        await hand.press("right")
        assert "PINE: Driver 26 1st of 3 with 20 points, 2 ahead of Driver 7" in hand.text
        assert "the best 2 count, dropped 8 (May)" in words(hand)
        assert "PINE: the best 2 count" in hand.text


async def test_a_broken_folder_is_named_everywhere(year: Path) -> None:
    (year / "02-may" / "event.toml").write_bytes(b"\x00\x01 nonsense")
    async with driving(year, now=NOW) as hand:
        await _open(hand)
        assert "! 02-may: left out of the season: event.toml:" in hand.text
        assert "2026: 2 events read" in hand.text
        await hand.press("right", "right", "right")
        assert "! 1 left out: see points" in hand.text


async def test_without_season_toml_it_leads_to_the_booking_page(year: Path) -> None:
    (year / "season.toml").unlink()
    async with driving(year, now=NOW) as hand:
        await _open(hand)
        assert "There is no season.toml beside the events" in words(hand)
        assert '" books an event and writes the file.' in words(hand)
        assert "by_place =" not in hand.text
        assert "PINE" not in hand.text
        await hand.press("right", "right", "right")
        assert "My runs: 4" in hand.text
        await hand.press("quotation_mark")
        await hand.settle()
        assert hand.page.NAME == "booked"


async def test_what_is_typed_meanwhile_counts(year: Path) -> None:
    """The open event stands as it is on the screen, not as it was read."""
    async with driving(year, now=NOW) as hand:
        await _open(hand)
        await hand.press("h")
        await hand.type("40000")
        await hand.press("enter")
        await _open(hand)
        assert "June 1 40.000" in words(hand)
        await hand.press("z")
        await hand.settle()
        assert "June 1 44.000" in words(hand)


async def test_a_page_in_a_directory_that_is_an_event_says_so(year: Path) -> None:
    (year / "event.toml").write_text('name = "not here"\n')
    async with driving(year, now=NOW) as hand:
        await _open(hand)
        assert "is one event" in words(hand)
        await hand.press("right", "down", "enter")
        assert "is one event" in words(hand)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
async def test_a_whole_season(year: Path, size: tuple[int, int]) -> None:
    (year / "04-broken").mkdir()
    (year / "04-broken" / "event.toml").write_bytes(b"\x00")
    async with driving(year, size, now=NOW) as hand:
        await _open(hand)
        for leaf in ("points", "to-come", "year", "runs"):
            await hand.settle()
            compare(f"season-{leaf}-{size[0]}x{size[1]}", hand.text)
            await hand.press("right")
