"""The grammar of keys: what a letter means on which page, held over every page and every letter."""

from __future__ import annotations

import re
import string
from datetime import datetime
from pathlib import Path

import pytest
from rich.cells import cell_len

from paddock.session import Session
from paddock.tui.app import PaddockApp
from paddock.tui.page import Page
from paddock.tui.palette import Actions
from paddock.tui.rooms import ROOMS
from paddock.tui.screens.welcome import WelcomePage
from tests.tui.keys_doc import own_bindings
from tests.tui.pilot import Hand, driving
from tests.tui.small import small_event
from tests.tui.test_keys import PAGES

ROOM_NAMES = [room.name for room in ROOMS]
WORDS = {"notes", "weather"}


def small(tmp_path: Path) -> Path:
    return small_event(tmp_path / "small")


WAYS = {
    "escape": "any.back", "ctrl+z": "any.undo", "ctrl+y": "any.redo", "ctrl+p": "app.actions", "f1": "any.help",
    "ctrl+c": "app.stop", "z": "any.undo", "y": "any.redo", "colon": "app.actions", "question_mark": "any.help",
    "h": "go.home", "q": "app.quit", "space": "any.type",
}  # fmt: skip
"""What leaves, takes back, finds an action and begins a line, on every page the same."""


def bound(page: type[Page]) -> dict[str, list[str]]:
    """Every key of a page with all that it is bound to there."""
    found: dict[str, list[str]] = {}
    for item in (*own_bindings(Page), *own_bindings(PaddockApp), *own_bindings(page)):
        if page is not WelcomePage or not (item.id or "").startswith("go."):
            for key in item.key.split(","):
                found.setdefault(key, []).append(item.id or "")
    return found


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.NAME)
def test_one_grammar_on_every_page(page: type[Page]) -> None:
    """One meaning a key; the same ways out, back and about; what begins an entry is no command."""
    keys = bound(page)
    assert {key: ids for key, ids in keys.items() if len(ids) > 1} == {}
    assert {key: keys[key][0] for key in WAYS if key in keys} == {
        key: name for key, name in WAYS.items() if page is not WelcomePage or key != "h"
    }
    assert not {*string.digits, "full_stop", "enter", "backspace"} & set(keys)
    if page.NAME in ("home", "pad"):
        assert not set("uomdr") & set(keys)
    if page.TAKES_WORDS:
        assert not [key for item in own_bindings(page) for key in item.key.split(",") if not key.startswith("ctrl+")]


async def test_the_grammar_holds_under_the_hand_on_every_page(tmp_path: Path) -> None:
    """On the empty line a bound letter is a command and all else is text; then all is text; the ways out lead home.

    In a narrow window a tap opens the list of all actions, and every binding stands in it.
    """
    async with driving(tmp_path, (40, 20), source=small(tmp_path)) as hand:
        for room in ROOM_NAMES:
            await hand.app.go(room)
            await hand.dealt_with()
            page = hand.page
            assert room == page.NAME
            commands = set(page.active_bindings)
            for letter in (*string.ascii_lowercase, "H", "0", "."):
                key = {".": "full_stop"}.get(letter, letter)
                assert page.is_text(key, letter) == (page.takes_words or key not in commands), (room, key)
            assert ": all actions" in hand.text, room
            assert await unlisted(page) == [], room
            words = page.takes_words
            await hand.press("space", "z", "colon")
            assert (hand.page, page.entry.value) == (page, " z:"), room
            keys = hand.text.rstrip().splitlines()[-1]
            assert keys.startswith("Enter take"), room
            assert not re.search(r"(?:^|  )[^\w\s^→←] \w", keys), room
            await hand.press("escape")
            assert (hand.page, page.entry.value) == (page, ""), room
            await hand.press("backspace" if words else "escape")
            assert hand.page.NAME == "home", room
        await tap(hand, ": all")
        await tap(hand, "pressures: ")
        assert hand.page.NAME == "pressures"


async def unlisted(page: Page) -> list[str]:
    """Bindings that the list of all actions leaves out."""
    listed = "\n".join([f"{hit.text}" async for hit in Actions(page).discover()])
    wanted = [*own_bindings(type(page)), *own_bindings(Page), *own_bindings(PaddockApp)]
    missing = [item.id or "" for item in wanted if f"{item.description}: {item.tooltip}" not in listed]
    return [name for name in missing if name not in ("app.actions", "any.leave_form")]


async def tap(hand: Hand, words: str) -> None:
    """A finger on the first place that says so."""
    lines = hand.text.splitlines()
    row = next(at for at, line in enumerate(lines) if words in line)
    await hand.pilot.click(offset=(cell_len(lines[row][: lines[row].index(words)]) + 2, row))
    await hand.settle()


@pytest.mark.parametrize("room", ["home", "pressures"])
async def test_once_the_line_holds_anything_all_is_text(tmp_path: Path, room: str) -> None:
    signs = "ahznq :?/,;!.*%<>&\\[]-+="
    async with driving(tmp_path, source=small(tmp_path)) as hand:
        await hand.app.go(room)
        await hand.pilot.pause()
        page = hand.page
        page.put("1")
        for sign in signs:
            await hand.type(sign) if sign == " " or sign.isalnum() else await hand.press(sign)
        assert hand.page is page
        assert page.entry.value == "1" + signs


def test_which_pages_take_words() -> None:
    assert {page.NAME for page in PAGES if page.TAKES_WORDS} == WORDS


async def test_a_note_begins_with_any_letter_and_undoes_nothing(tmp_path: Path) -> None:
    async with driving(tmp_path, source=small(tmp_path)) as hand:
        times = hand.file("times.csv")
        await hand.type("46200")
        await hand.press("enter")
        logged = hand.file("times.csv")
        assert logged != times
        await hand.press("n")
        for text in ("zone 3 bumpy", "yaw in the esses", "quick left", "!odd", "/slash", "n", "e of 4"):
            await hand.type(text)
            await hand.press("enter")
            assert text in hand.file("notes.csv")
            assert hand.file("times.csv") == logged
            assert hand.page.NAME == "notes"
        assert len(hand.file("notes.csv").splitlines()) == 8


async def test_a_note_is_searched_and_the_search_left(tmp_path: Path) -> None:
    async with driving(tmp_path, source=small(tmp_path)) as hand:
        await hand.press("n")
        for text in ("zone 3 bumpy", "grip is back"):
            await hand.type(text)
            await hand.press("enter")
        await hand.press("ctrl+s")
        await hand.type("zone")
        assert "notes: 1 with zone" in hand.text
        await hand.press("escape", "escape")
        assert "notes: 2" in hand.text
        assert hand.page.NAME == "notes"
        await hand.press("escape")
        assert hand.page.NAME == "home"


async def test_h_is_no_sky_and_a_word_of_sky_keeps_the_air(tmp_path: Path) -> None:
    async with driving(tmp_path, source=small(tmp_path)) as hand:
        assert "air 19" in hand.text
        before = hand.file("weather.csv")
        await hand.press("w", "h", "enter")
        assert hand.told.startswith("! h")
        assert hand.file("weather.csv") == before
        await hand.press("escape")
        await hand.type("hazy")
        await hand.press("enter")
        assert "hazy" in hand.file("weather.csv")
        assert "dry, air 19" in hand.text


async def test_the_name_of_a_car_is_typed(tmp_path: Path) -> None:
    folder = small(tmp_path)
    (folder / "cars" / "estate.toml").unlink()
    toml = folder / "event.toml"
    toml.write_text(toml.read_text("utf-8").replace('cars = { "58" = "estate" }\n', ""), "utf-8")
    entrants = folder / "entrants.csv"
    entrants.write_text(entrants.read_text("utf-8").replace("estate", ""), "utf-8")
    async with driving(tmp_path, source=folder) as hand:
        await hand.press("semicolon")
        assert "No car file for 58" in hand.text
        await hand.press("enter")
        await hand.type("coupe")
        assert hand.page.NAME == "car"
        await hand.press("enter")
        assert (hand.folder / "cars" / "coupe.toml").is_file()


@pytest.mark.parametrize("keys", [". 350 410 415", ".", " a 34"])
async def test_what_begins_an_entry_on_the_pressures_is_text(tmp_path: Path, keys: str) -> None:
    async with driving(tmp_path, source=small(tmp_path)) as hand:
        await hand.press("p")
        await hand.type(keys)
        assert (hand.page.NAME, hand.page.entry.value) == ("pressures", keys)


async def test_a_run_and_the_answers_of_a_form_are_tapped(tmp_path: Path) -> None:
    async with driving(tmp_path, (100, 30), source=small(tmp_path)) as hand:
        await hand.app.go("pad")
        await hand.settle()
        for words in ("[   no ]", *(f"[ {digit} ]" for digit in "46512"), "[  +  ] [ no time?", "[ wet? ]"):
            await tap(hand, words)
        assert hand.page.entry.value == "ok 46512 +1 dry"
        await tap(hand, "save the run")
        assert "1,3,58,46.512,1" in hand.file("times.csv")
        await hand.app.go("home")
        await hand.settle()
        await tap(hand, "j bell")
        await tap(hand, "Enter take  Back")
        assert "a bell 8 min before" in hand.told
        await hand.app.go("event")
        await hand.settle()
        await tap(hand, "a from a file")
        assert hand.page.in_form
        await tap(hand, "Backspace back")
        assert not hand.page.in_form


async def test_what_an_undo_took_back_stays_until_the_next_act(tmp_path: Path) -> None:
    async with driving(tmp_path, source=small(tmp_path)) as hand:
        await hand.press("n")
        await hand.type("zone 3 bumpy")
        await hand.press("enter", "ctrl+z")
        assert "undone" in hand.told
        assert "zone 3 bumpy" in hand.told
        await hand.press("down", "up")
        for _ in range(20):
            await hand.app.pass_time()
        assert "zone 3 bumpy" in hand.told
        await hand.type("k")
        assert "undone" not in hand.told


class Gate:
    """An opener that waits until it is let go."""

    def __init__(self) -> None:
        import threading

        self.go = threading.Event()

    def __call__(self, folder: Path) -> Session:
        assert self.go.wait(20)
        return Session.open(folder)


async def test_lines_typed_while_the_event_opens_stay_lines(tmp_path: Path) -> None:
    from paddock.store.personal import Personal

    folder, gate = small(tmp_path), Gate()
    app = PaddockApp(
        folder, now=lambda: datetime(2026, 5, 10, 11, 0), personal=Personal(), opener=gate, lead_after_s=None
    )
    async with app.run_test(size=(80, 24)) as pilot:
        hand = Hand(app, pilot, folder)
        await hand.type("46512")
        await hand.press("enter")
        assert hand.page.entry.value == ""
        assert "1 line waits" in hand.told
        await hand.type("r4 u1 0 o1 42570")
        await hand.press("enter")
        await hand.type("u2")
        gate.go.set()
        await hand.open()
        times = hand.file("times.csv")
        assert "1,3,58,46.512" in times
        assert "1,4,58,42.570" in times
        assert "saved: run 3: 46.512" in hand.told
        assert "saved: run 4" in hand.told
        assert hand.page.entry.value == "u2"


async def test_a_waiting_line_that_cannot_be_read_is_shown_and_the_rest_follow(tmp_path: Path) -> None:
    from paddock.store.personal import Personal

    folder, gate = small(tmp_path), Gate()
    app = PaddockApp(
        folder, now=lambda: datetime(2026, 5, 10, 11, 0), personal=Personal(), opener=gate, lead_after_s=None
    )
    async with app.run_test(size=(80, 24)) as pilot:
        hand = Hand(app, pilot, folder)
        await hand.type("46512 xx")
        await hand.press("enter")
        await hand.type("r4 42570")
        await hand.press("enter")
        gate.go.set()
        await hand.open()
        assert hand.page.entry.value == "46512 xx"
        assert "xx" in hand.told
        assert "1 line waits" in hand.told
        await hand.press("backspace", "backspace", "backspace", "enter")
        assert "1,3,58,46.512" in hand.file("times.csv")
        assert "1,4,58,42.570" in hand.file("times.csv")


async def test_a_page_with_a_line_that_waits_is_not_left_before_it_is_taken(tmp_path: Path) -> None:
    """Seen on a slow start: four readings typed, Enter, another page at once, and they were gone."""
    from paddock.store.personal import Personal

    folder, gate = small(tmp_path), Gate()
    app = PaddockApp(
        folder, now=lambda: datetime(2026, 5, 10, 11, 0), personal=Personal(), opener=gate, lead_after_s=None
    )
    async with app.run_test(size=(80, 24)) as pilot:
        hand = Hand(app, pilot, folder)
        await hand.press("n")
        await hand.type("tyres: left front grains")
        await hand.press("enter", "escape", "escape")
        assert hand.page.NAME == "notes"
        assert "a line waits here" in hand.told
        gate.go.set()
        await hand.open()
        assert "left front grains" in hand.file("notes.csv")


async def test_a_second_enter_unticks_nothing(tmp_path: Path) -> None:
    async with driving(tmp_path, source=small(tmp_path)) as hand:
        for room, file in (("work", "worklist.csv"), ("lists", "ticks.csv")):
            await hand.app.go(room)
            await hand.settle()
            await hand.press("enter")
            await hand.press("enter")
            ticked = hand.file(file)
            assert ticked.count("2026-05-10") + ticked.count("day 1 ") >= 2 or ticked.count("\n") == 3, ticked
            await hand.press("enter")
            assert hand.file(file) == ticked
            assert "Enter again" in hand.told
            await hand.press("enter")
            assert hand.file(file) != ticked


async def test_a_rivals_run_is_shown_before_enter_and_asked_for_where_it_lags(tmp_path: Path) -> None:
    async with driving(tmp_path, source=small(tmp_path)) as hand:
        before = hand.file("times.csv")
        await hand.type("s7 46100")
        assert "as run 3" in hand.told
        for _ in range(7):
            await hand.press("backspace")
        await hand.type("99 46100")
        assert "the others are on run 2: add r2 or r1" in hand.told
        await hand.press("enter")
        assert hand.file("times.csv") == before
        await hand.type(" r2")
        await hand.press("enter")
        assert "1,2,99,46.1" in hand.file("times.csv")
