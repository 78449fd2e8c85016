"""Posted results brought in from the keys: file, paste, columns, doubts, undo."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual import events

from paddock.errors import UsageError
from paddock.tui import bringing
from tests.tui.pilot import Hand, driving

HEAD = "No;Driver;Run 1;Run 2;Run 3;Run 4;Run 5\n"
MINE = "7;Ilka Norrby;46.731;46.402;47.515;46.098+2;45.999\n"
RIVAL = "9;;46.69;46.415;46.31;46.52+1;45.555\n"


def posted(tmp_path: Path, text: str = HEAD + MINE + RIVAL, name: str = "posted.csv") -> Path:
    """A file above the event."""
    path = tmp_path / name
    path.write_text(text)
    return path


def words(hand: Hand) -> str:
    """The screen without its line breaks."""
    return " ".join(hand.text.split())


async def _open(hand: Hand) -> None:
    await hand.press("ampersand")
    await hand.settle()


async def _enter(hand: Hand) -> None:
    await hand.press("enter")
    await hand.settle()


async def test_a_file_is_shown_first_brought_in_with_one_key_and_undone_with_one(tmp_path: Path) -> None:
    posted(tmp_path)
    async with driving(tmp_path) as hand:
        before = hand.file("times.csv")
        await _open(hand)
        assert "posted.csv" in hand.text
        await _enter(hand)
        assert "number = No, name = Driver, run1 = Run 1" in words(hand)
        assert "posted 46.098+2, logged 46.098+1" in words(hand)
        assert hand.file("times.csv") == before
        await _enter(hand)
        assert hand.told == "saved; one z takes all of it back"
        assert "ASH: " in hand.text
        assert "2,5,7,45.999" in hand.file("times.csv")
        await hand.press("z")
        assert hand.file("times.csv") == before
        assert "posted.csv" in hand.text


async def test_a_remembered_source_takes_three_keys(tmp_path: Path) -> None:
    posted(tmp_path)
    async with driving(tmp_path) as hand:
        await _open(hand)
        await _enter(hand)
        await _enter(hand)
        await hand.press("h")
        await hand.settle()
        posted(tmp_path, "x;y\n1;2\n", "newer.csv")
        posted(tmp_path, HEAD + MINE + RIVAL.replace("45.555", "45.111"))
        hand.keys = 0
        await _open(hand)
        assert "used last" in hand.text.splitlines()[2]
        await _enter(hand)
        assert "as confirmed before" in words(hand)
        await _enter(hand)
        assert "2,5,9,45.111" in hand.file("times.csv")
        assert hand.keys == 3


async def test_minutes_left_to_protest_are_said(tmp_path: Path) -> None:
    from datetime import datetime

    posted(tmp_path)
    async with driving(tmp_path, now=datetime(2026, 6, 14, 12, 53)) as hand:
        await _open(hand)
        await _enter(hand)
        assert "min left to protest" in words(hand)


async def test_a_pasted_table_is_taken_whole(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await _open(hand)
        hand.page.entry.post_message(events.Paste((HEAD + MINE).replace(";", "\t")))
        await hand.settle()
        assert "to bring in: 1 new, 1 changed" in words(hand)
        assert "7 run 4: 46.098+1 → 46.098+2" in words(hand)
        assert hand.page.entry.value == ""


async def test_one_pasted_line_is_a_path(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await _open(hand)
        hand.page.entry.post_message(events.Paste("../posted.csv"))
        await hand.settle()
        assert hand.page.entry.value == "../posted.csv"


async def test_the_list_follows_a_typed_path(tmp_path: Path) -> None:
    posted(tmp_path)
    (tmp_path / "saved").mkdir()
    posted(tmp_path / "saved", name="sunday.html")
    async with driving(tmp_path) as hand:
        await _open(hand)
        await hand.type("a../sa")
        assert "../saved/" in hand.text
        await _enter(hand)
        assert hand.page.entry.value == "../saved/"
        assert "sunday.html" in hand.text
        assert "posted.csv" not in hand.text


async def test_a_typed_path_is_read_and_one_that_is_not_there_said(tmp_path: Path) -> None:
    posted(tmp_path)
    async with driving(tmp_path) as hand:
        await _open(hand)
        await hand.type("anowhere/at/all.csv")
        await _enter(hand)
        assert "all.csv is not there" in hand.told
        await hand.type(f"a{tmp_path}/posted.csv")
        await _enter(hand)
        assert "table 1 of 1" in hand.text


async def test_the_columns_can_be_changed(tmp_path: Path) -> None:
    posted(tmp_path)
    async with driving(tmp_path) as hand:
        await _open(hand)
        await _enter(hand)
        await hand.press("m")
        assert hand.page.entry.value.startswith("number=No,name=Driver,run1=Run 1")
        for _ in range(len(hand.page.entry.value)):
            await hand.press("backspace")
        await hand.type("number=No,run5=Run 5")
        await _enter(hand)
        assert "columns as given" in words(hand)
        assert "run 5" in hand.text
        assert "run 4" not in hand.text
        await hand.press("m")
        await hand.type(",run9=Nowhere")
        await _enter(hand)
        assert "no column 'Nowhere'" in hand.told


async def test_another_table_of_the_source(tmp_path: Path) -> None:
    page = "<html><body><h2>Raw</h2><table>{}</table><h2>Other</h2><table>{}</table></body></html>"
    row = "<tr><td>{}</td><td>{}</td></tr>"
    first = row.format("No", "Run 5") + row.format("9", "45.555") + row.format("7", "45.999")
    second = row.format("No", "Run 5") + row.format("9", "9.444") + row.format("24", "9.333")
    posted(tmp_path, page.format(first, second), "both.html")
    async with driving(tmp_path) as hand:
        await _open(hand)
        await _enter(hand)
        seen = words(hand)
        assert "of 2" in seen
        await hand.press("o")
        await hand.settle()
        assert words(hand) != seen
        assert ("table 2 of 2" in words(hand)) != ("table 2 of 2" in seen)


async def test_a_doubtful_table_is_not_taken_until_the_day_is_said(tmp_path: Path) -> None:
    other = "Results of 2025-05-10\n\n" + HEAD + MINE + RIVAL
    posted(tmp_path, other)
    async with driving(tmp_path) as hand:
        before = hand.file("times.csv")
        await _open(hand)
        await _enter(hand)
        await _enter(hand)
        assert hand.file("times.csv") == before
        assert "say of which day with j" in words(hand)
        await hand.press("j")
        await hand.settle()
        await _enter(hand)
        assert "2,5,7,45.999" in hand.file("times.csv")


async def test_what_holds_no_table_is_said(tmp_path: Path) -> None:
    posted(tmp_path, "nothing here\n")
    async with driving(tmp_path) as hand:
        await _open(hand)
        await _enter(hand)
        assert hand.told.startswith("! no table was found")
        assert "posted.csv" in hand.text


async def test_columns_that_can_not_be_told_are_listed_to_be_named(tmp_path: Path) -> None:
    posted(tmp_path, "red;green\nblue;grey\nround;square\n")
    async with driving(tmp_path) as hand:
        await _open(hand)
        await _enter(hand)
        assert "press m and write" in words(hand)
        assert "its columns" in hand.text


async def test_nothing_near_says_what_to_do(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await _open(hand)
        assert "paste the copied table into the line" in words(hand)


async def test_without_a_clipboard_it_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def none() -> bytes:
        raise UsageError("this system gives no way to read its clipboard")

    monkeypatch.setattr("paddock.store.machine.read_clipboard", none)
    async with driving(tmp_path) as hand:
        await _open(hand)
        await hand.press("r")
        await hand.settle()
        assert "no way to read its clipboard" in hand.told
    monkeypatch.setattr("paddock.store.machine.read_clipboard", lambda: (HEAD + MINE).encode())
    assert len(bringing.clipboard()) == 1


async def test_a_table_pasted_on_the_standings_is_shown_on_its_own_page(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await hand.press("s")
        hand.page.entry.post_message(events.Paste((HEAD + RIVAL).replace(";", "\t")))
        await hand.settle()
        assert hand.page.NAME == "import"
        assert "run1 = Run 1" in words(hand)
        await _enter(hand)
        assert "brought in" in hand.text
        assert "2,1,9,46.690" in hand.file("times.csv") or "1,1,9,46.690" in hand.file("times.csv")
        await hand.press("escape", "ampersand")
        await hand.settle()
        assert "a types a path" in words(hand), "it is brought in once"
