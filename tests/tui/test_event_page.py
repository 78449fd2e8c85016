"""The event typed on its own page: values, rules with what they do, classes, index, gauges; taken from elsewhere."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual import events

from paddock.tui.app import PaddockApp
from paddock.tui.widgets.grid import Grid
from tests.small import EVENT, NOW
from tests.small import small_event as whole_event
from tests.tui.pilot import Hand, driving


async def at(hand: Hand, words: str) -> None:
    """The event's page, a value in hand by its name."""
    await hand.press("@", "slash")
    await hand.type(words)
    await hand.press("enter")
    await hand.settle()


async def put(hand: Hand, text: str) -> None:
    """Open the value in hand, empty the line, type, Enter."""
    await hand.press("enter")
    hand.page.clear()
    await hand.type(text)
    await hand.press("enter")
    await hand.settle()


async def test_a_value_is_typed_refused_with_its_reason_and_taken_back(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await at(hand, "days")
        await put(hand, "2026-06-13 +9 nonsense")
        assert "is no date" in hand.told
        assert hand.page.entry.value == "2026-06-13 +9 nonsense"
        hand.page.clear()
        await hand.type("2026-06-13 +2")
        await hand.press("enter")
        assert hand.told == "saved: days = 2026-06-13 +2"
        assert "days = [2026-06-13, 2026-06-14, 2026-06-15]" in hand.file("event.toml")
        await hand.press("z")
        assert hand.file("event.toml") == EVENT
        await at(hand, "altitude")
        await put(hand, "20000")
        assert "9000" in hand.told
        assert hand.page.entry.value == "20000"
        hand.page.clear()
        await hand.type("2100ft")
        await hand.press("enter")
        assert "altitude_m = 640" in hand.file("event.toml")


async def test_a_rule_says_what_follows_and_how_the_standings_would_move(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await at(hand, "counts")
        assert "sum  all runs of the day are added: A 162.000, B 161.700: B leads" in hand.text
        await put(hand, "sum")
        assert "This changes the standings" in hand.text
        assert hand.file("event.toml") == EVENT
        await hand.type("no")
        await hand.press("enter")
        assert hand.told == "left as it was"
        assert hand.file("event.toml") == EVENT
        await put(hand, "sum")
        await hand.press("enter")
        assert hand.told == "saved: rules.count = sum"
        assert hand.file("event.toml") == EVENT.replace('count = "best"', 'count = "sum"')
        await hand.press("z")
        assert hand.file("event.toml") == EVENT


async def test_a_rule_that_moves_nobody_is_saved_at_once(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await at(hand, "protest")
        await put(hand, "45")
        assert hand.told == "saved: rules.protest_min = 45"


async def test_a_class_is_made_named_ranked_and_taken_out(tmp_path: Path) -> None:
    async with driving(tmp_path, source=whole_event(tmp_path / "own", {"times.csv": "day,run,number,time\n"})) as hand:
        await at(hand, "classes")
        await put(hand, "FIR index 0.79 Vans and lorries")
        text = hand.file("event.toml")
        assert 'code = "FIR"\nname = "Vans and lorries"\nscored_by = "index"\n' in text
        assert "FIR = 0.79" in text
        await at(hand, "class:fir")
        await put(hand, "0.795")
        assert "FIR = 0.795" in hand.file("event.toml")
        await put(hand, "-")
        assert "Vans" not in hand.file("event.toml")
        await hand.press("z", "z", "z")
        assert hand.file("event.toml") == EVENT


async def test_a_pasted_table_is_shown_then_taken_in_as_one(tmp_path: Path) -> None:
    table = "Class\tDescription\tFactor\nASH\tSaloons\t0.805\nFIR\tVans\t0.790\nno code\t\tx\n"
    async with driving(tmp_path, source=whole_event(tmp_path / "own", {"times.csv": "day,run,number,time\n"})) as hand:
        await hand.press("@")
        hand.page.entry.post_message(events.Paste(table))
        await hand.settle()
        assert "2 codes; 1 row not read" in hand.text
        assert hand.file("event.toml") == EVENT
        await hand.press("enter")
        hand.page.clear()
        await hand.type("table of 2027")
        await hand.press("enter")
        text = hand.file("event.toml")
        assert "ASH = 0.805" in text
        assert "FIR = 0.790" in text
        assert 'edition = "table of 2027"' in text
        assert 'name = "Vans"' in text
        await hand.press("z")
        assert hand.file("event.toml") == EVENT


async def test_classes_and_rules_come_from_an_earlier_event(tmp_path: Path) -> None:
    whole_event(tmp_path / "earlier")
    bare = 'format = 1 # mine\nname = "New"\ndays = [2026-07-11]\nown = 3\n[[classes]]\ncode = "OPEN"\n[mine]\nnumbers = ["7"]\n'
    source = whole_event(tmp_path / "own", {"event.toml": bare, "times.csv": "day,run,number,time\n"})
    async with driving(tmp_path, source=source) as hand:
        await hand.press("@", "a")
        assert "earlier" in hand.page.entry.placeholder
        await hand.type("earlier")
        await hand.press("enter", "enter")
        await hand.settle()
        settings = hand.app.desk.event.settings  # type: ignore[union-attr]
        assert [item.code for item in settings.classes] == ["ASH", "OAK", "ELM"]
        assert settings.index.edition == "2026 table of the club"
        assert settings.rules.protest_min == 30
        text = hand.file("event.toml")
        assert "own = 3" in text
        assert "# mine" in text
        await hand.press("z")
        assert hand.file("event.toml") == bare


async def test_gauges_cars_and_numbers(tmp_path: Path) -> None:
    async with driving(tmp_path, (40, 20)) as hand:
        await at(hand, "hottest air tod")
        assert "hottest air … > Enter" in hand.text
        await at(hand, "classes")
        await put(hand, "FIR index")
        await hand.press("j")
        assert "? FIR" in " ".join(hand.text.split())
        assert hand.page.query_one(Grid).picked == "class:FIR"
        await hand.type("0.79")
        await hand.press("enter")
        assert "FIR = 0.79" in hand.file("event.toml")
        await at(hand, "gauges")
        await put(hand, "dial 0.5 0.3 1,5")
        assert 'id = "dial"\nstep_psi = 0.5\nrepeat_psi = 0.3\noffset_psi = 1.5' in hand.file("event.toml")
        await at(hand, "numbers")
        await put(hand, "7 24 31")
        assert 'numbers = ["7", "24", "31"]' in hand.file("event.toml")
        assert "\n31," in hand.file("entrants.csv")
        await at(hand, "car of 31")
        await put(hand, "Saloon")
        assert '31 = "saloon"' in hand.file("event.toml")
        await put(hand, "old wagon")
        assert 'name = "old wagon"' in hand.file("cars/old-wagon.toml")


async def test_from_nothing_to_a_first_run_in_few_keys(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Name, days, runs a day, number, and the first run: under 60 keys; the folder is named after the event."""
    monkeypatch.chdir(tmp_path)
    app = PaddockApp(None, now=lambda: NOW)
    async with app.run_test(size=(40, 20)) as pilot:
        hand = Hand(app, pilot, tmp_path / "field_day")
        await hand.settle()
        await hand.press("a")
        await hand.type("Field day")
        await hand.press("enter", "enter", "enter")
        await hand.type("58")
        await hand.press("enter")
        await hand.settle()
        await hand.open()
        assert hand.told == "made: the event's files are in the folder field_day"
        await hand.type("u1 0 0 46512")
        await hand.press("enter")
        assert "1,1,58,46.512" in hand.file("times.csv")
        assert "runs_per_day = 4" in hand.file("event.toml")
        assert hand.keys <= 40


async def test_each_value_says_what_is_wrong_and_keeps_what_was_typed(tmp_path: Path) -> None:
    """Nonsense on every line of the event's page and of the car's: refused with a sentence, still there, nothing saved."""
    async with driving(tmp_path) as hand:
        files = {path: path.read_bytes() for path in hand.folder.rglob("*.toml")}
        named = {"name", "site", "index.edition", "car:7", "car:24", "class:ASH", "class:OAK", "class:ELM"}
        for key, by, takes_any_words in (("@", 1, named), ("semicolon", 6, {"name", "setup.rear_toe"})):
            await hand.press(key)
            await hand.settle()
            page = hand.page
            grid, taken = page.query_one(Grid), set()
            for _ in range(0, grid.row_count, by):
                page.put("?? 9e9x §")
                page.action_enter()
                if page.words.said.startswith("saved"):
                    taken.add(grid.picked)
                    page.action_undo()
                else:
                    assert page.words.loud, grid.picked
                    assert page.entry.value == "?? 9e9x §", grid.picked
                    page.clear()
                grid.move(by)
            assert taken == takes_any_words
        assert files == {path: path.read_bytes() for path in hand.folder.rglob("*.toml")}
