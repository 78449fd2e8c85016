"""Entrants typed, corrected, pasted; a class made on the spot; the entrants of an earlier event."""

from __future__ import annotations

from pathlib import Path

from textual import events

from tests.small import small_event
from tests.tui.pilot import Hand, driving

LIST = "No\tName\tClass\tVehicle\tGroup\n7\tAnn Other\tASH\tsaloon\t1\n31\tRo Vane\tFIR\tvan\t2\n32\tUm Brae\tOAK\tcoupe\t2\nx\tNo Body\tOAK\t\t1\n"


async def line(hand: Hand, text: str) -> None:
    await hand.type(text)
    await hand.press("enter")


async def test_one_is_typed_its_class_made_and_corrected_in_one_key(tmp_path: Path) -> None:
    async with driving(tmp_path, (40, 20)) as hand:
        before = hand.file("entrants.csv"), hand.file("event.toml")
        await hand.press("_")
        await line(hand, "61 oak Kim Dale")
        assert "61,Kim Dale,,OAK" in hand.file("entrants.csv")
        await line(hand, "62 FIR Lu Moor")
        assert "FIR is no class here: Enter again makes it" in hand.told
        assert hand.page.entry.value == "62 FIR Lu Moor"
        await hand.press("enter")
        assert 'code = "FIR"' in hand.file("event.toml")
        assert "62,Lu Moor,,FIR" in hand.file("entrants.csv")
        await hand.press("left")
        assert "62,Lu Moor,,ELM" in hand.file("entrants.csv")
        assert hand.told == "saved: 62 in ELM"
        await line(hand, "-")
        assert "62," not in hand.file("entrants.csv")
        await line(hand, "7")
        assert hand.told == "! nothing to change" or "saved" in hand.told
        await line(hand, "-")
        assert "has runs: it stays" in hand.told
        hand.page.clear()
        await hand.press(*"zzzzz")
        assert (hand.file("entrants.csv"), hand.file("event.toml")) == before


async def test_one_is_found_and_both_ends_are_a_key_away(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("_", "end")
        grid = hand.page.grid  # type: ignore[attr-defined]
        ids = [row.split(",")[0] for row in hand.file("entrants.csv").splitlines()[1:]]
        assert grid.picked == max(ids, key=int)
        await hand.press("home")
        assert grid.picked == min(ids, key=int)
        await line(hand, "/24")
        assert grid.picked == "24"
        await line(hand, "/oak")
        first = grid.picked
        await line(hand, "/oak")
        assert grid.picked != first
        assert all(f"{number}," in hand.file("entrants.csv") for number in (first, grid.picked))
        await line(hand, "/nobody")
        assert hand.told == "! no entrant has 'nobody' in the row"


async def test_a_row_that_is_out_is_mended_by_typing_it(tmp_path: Path) -> None:
    path = small_event(tmp_path / "event") / "entrants.csv"
    text = path.read_text("utf-8")
    path.write_text(text.replace("ASH", "ASHE", 1), "utf-8")
    number = next(row for row in text.splitlines() if "ASH" in row).split(",")[0]
    async with driving(tmp_path) as hand:
        await hand.press("_")
        await line(hand, f"{number} ASH")
        assert hand.told == f"saved: entrant {number}"
        assert hand.file("entrants.csv") == text


async def test_a_pasted_list_is_shown_and_taken_in_as_one(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        before = hand.file("entrants.csv"), hand.file("event.toml")
        await hand.press("_")
        hand.page.entry.post_message(events.Paste(LIST))
        await hand.settle()
        assert "3 entrants; new classes: FIR" in hand.text
        assert "1 row not read: line 5: 'x' is no car number" in hand.text
        assert hand.file("entrants.csv") == before[0]
        await hand.press("enter")
        assert "31,Ro Vane,van,FIR" in hand.file("entrants.csv")
        assert 'code = "FIR"' in hand.file("event.toml")
        assert "1,31,2" in hand.file("grid.csv") or "2,31,2" in hand.file("grid.csv")
        await hand.press("z")
        assert (hand.file("entrants.csv"), hand.file("event.toml")) == before


async def test_the_place_in_the_running_order_is_asked(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("_", "j")
        await line(hand, "2")
        await line(hand, "five")
        assert "whole number" in hand.told
        hand.page.clear()
        await line(hand, "5")
        await line(hand, "3")
        number = hand.page.grid.picked  # type: ignore[attr-defined]
        assert f"2,{number},2,5,3" in hand.file("grid.csv")


async def test_entrants_and_their_classes_come_from_an_earlier_event(tmp_path: Path) -> None:
    small_event(tmp_path / "earlier")
    bare = 'format = 1\nname = "New"\ndays = [2026-07-11]\n[[classes]]\ncode = "OPEN"\n[mine]\nnumbers = ["7"]\n'
    source = small_event(
        tmp_path / "own",
        {"event.toml": bare, "entrants.csv": "number,driver,class\n", "times.csv": "day,run,number,time\n"},
    )
    async with driving(tmp_path, source=source) as hand:
        await hand.press("_", "a")
        await line(hand, "earlier")
        settings = hand.app.desk.event.settings  # type: ignore[union-attr]
        assert {item.code for item in settings.classes} == {"ASH", "OAK", "ELM"}
        assert settings.index.factors["ELM"]
        assert len(hand.app.desk.event.entrants) == 12  # type: ignore[union-attr]
        assert hand.told == "saved: 12 entrants of Two days on the fairground"


async def test_a_list_beside_the_event_is_taken_with_its_cars_and_not_the_events_own_of_the_same_name(
    tmp_path: Path,
) -> None:
    async with driving(tmp_path) as hand:
        beside = hand.app.desk.folder.parent / "entrants.csv"  # type: ignore[union-attr]
        beside.write_text("number,class,driver,car,home\n71,ASH,Lo Ferris,hatch,Quay\n", encoding="utf-8")
        await hand.press("_", "a")
        await line(hand, "entrants.csv")
        assert "1 entrant" in hand.text
        assert "not used: home" in hand.text
        assert "also car" in hand.text
        await hand.press("enter")
        assert "71,Lo Ferris,hatch,ASH" in hand.file("entrants.csv")
