"""A day closed from the keys: questions, plan, the page, the zips, the next event."""

from __future__ import annotations

import threading
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from paddock.errors import FolderError
from paddock.session.loading import load
from paddock.tui.screens.after import AfterPage
from tests.tui.pilot import Hand, driving


async def _open(hand: Hand) -> None:
    await hand.press("right_parenthesis")
    await hand.settle()


def words(hand: Hand) -> str:
    """The screen without its line breaks."""
    return " ".join(hand.text.split())


def notes(hand: Hand) -> list[str]:
    """The notes added, without their ids."""
    return [row.partition(",")[2] for row in hand.file("notes.csv").splitlines()[6:]]


async def _answer(hand: Hand, *texts: str) -> None:
    for text in texts:
        await hand.type(text)
        await hand.press("enter")


async def test_the_questions_left_are_asked_one_after_another(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await _open(hand)
        await hand.press("a")
        await _answer(hand, "run 5", "", "brake later")
        assert "changes >" in hand.text
        assert "Which change is kept, which goes back, which is still open?" in hand.text
        assert notes(hand) == ["2,,,debrief fastest,run 5", "2,,,debrief mistake,brake later"]
        await hand.press("backspace", "z")
        assert notes(hand) == ["2,,,debrief fastest,run 5"]
        await hand.press("a")
        assert "slowest >" in hand.text


async def test_an_answer_is_given_anew_in_its_place(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await _open(hand)
        await hand.press("enter")
        await _answer(hand, "run 5")
        await hand.press("enter")
        assert hand.page.entry.value == "run 5"
        await _answer(hand, " and 4")
        assert notes(hand) == ["2,,,debrief fastest,run 5 and 4"]
        await _answer(hand, "4 alone")
        assert notes(hand) == ["2,,,debrief fastest,4 alone"]


async def test_the_plan_proposed_is_taken_and_answers_its_question(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await _open(hand)
        assert "proposed: saloon: rear tyre pressure 40 against 39, old-new-new-old" in words(hand)
        await hand.press("m", "enter")
        await _answer(hand, "half a second")
        text = '"test: saloon: rear tyre pressure 40 against 39, old-new-new-old; expect: half a second"'
        assert notes(hand) == [f"2,,,plan,{text}", f"2,,,debrief next,{text}"]
        assert "x plan" in hand.text
        await hand.press("m")
        await _answer(hand, "rear bar", "calmer")
        assert notes(hand) == [
            "2,,,plan,test: rear bar; expect: calmer",
            "2,,,debrief next,test: rear bar; expect: calmer",
        ]
        await hand.press("z", "z")
        assert notes(hand) == []


async def test_the_page_is_written_beside_the_folder(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await _open(hand)
        await hand.press("o")
        await hand.settle()
        assert hand.told.startswith(f"done: {tmp_path}"[:20])
        page = (tmp_path / "event-debrief.html").read_text("utf-8")
        assert "rival A" in page
        assert "Piet" not in page
        assert (tmp_path / "event-debrief.txt").is_file()
        assert "x debrief" in hand.text
        await hand.press("j", "o")
        await hand.settle()
        assert "Piet Anselm Rook" in (tmp_path / "event-debrief.html").read_text("utf-8")


async def test_what_was_written_before_is_seen(tmp_path: Path) -> None:
    (tmp_path / "event.zip").write_bytes(b"")
    async with driving(tmp_path) as hand:
        await _open(hand)
        assert "x to keep" in hand.text
        assert ". to share" in hand.text


async def test_two_zips_one_without_names(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        (hand.folder / "posted.html").write_text("Piet Anselm Rook 46.1")
        await _open(hand)
        await hand.press("u")
        await hand.settle()
        assert "left out: posted.html" in hand.text
        await hand.press("r")
        await hand.settle()
        assert "19 files" in words(hand)
    shared, whole = zipfile.ZipFile(tmp_path / "event-shared.zip"), zipfile.ZipFile(tmp_path / "event.zip")
    assert not [name for name in shared.namelist() if b"Rook" in shared.read(name)]
    assert b"9,rival A,saloon,ASH" in shared.read("entrants.csv")
    assert b"7,Ilka Norrby" in shared.read("entrants.csv")
    assert b"9 has new tyres on" not in shared.read("notes.csv")
    assert b"9,Piet Anselm Rook" in whole.read("entrants.csv")


async def test_a_name_in_a_comment_holds_the_zip_back(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        with (hand.folder / "event.toml").open("a") as out:
            out.write("# ask piet anselm rook\n")
        await _open(hand)
        await hand.press("u")
        await hand.settle()
        assert hand.told == "! a rival's name still stands in event.toml, in a comment or a faulty line: take it out"
        assert not (tmp_path / "event-shared.zip").exists()


async def test_no_zip_while_something_is_unsaved(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    async with driving(tmp_path) as hand:
        await _open(hand)
        monkeypatch.setattr(type(hand.page.desk.open_session), "unsaved", ("an edit",))
        for key in ("u", "r", "d"):
            await hand.press(key)
            assert "not saved yet" in hand.told


async def test_a_place_that_cant_be_written_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise FolderError("no room on the disk")

    monkeypatch.setattr("paddock.store.archive.write_whole", full)
    async with driving(tmp_path) as hand:
        await _open(hand)
        for key in ("o", "r"):
            await hand.press(key)
            await hand.settle()
            assert hand.told == "! no room on the disk"


async def test_the_next_event_is_made_and_opened(tmp_path: Path) -> None:
    async with driving(tmp_path, (80, 40)) as hand:
        await _open(hand)
        await hand.press("d")
        await _answer(hand, "august", "By the lake", "2026-08-01 2026-08-02")
        assert hand.page.entry.placeholder.endswith(", the old one")
        await _answer(hand, "Lake")
        assert hand.page.entry.placeholder == "- not known; Enter takes 240, the old site's"
        await _answer(hand, "20", "12", "30")
        assert (
            hand.told
            == "! the coldest air (30) is above the hottest (12); Backspace goes back to it; mend the line, Escape empties it"
        )
        assert "altitude m: 20" in hand.text
        await hand.press("backspace", "backspace")
        await _answer(hand, "11")
        await hand.settle()
        assert "is ready; Enter goes there" in words(hand)
        assert "8 tyres with their runs and tread, as fitted" in words(hand)
        settings = load(tmp_path / "august").settings
        assert (settings.name, settings.site, settings.altitude_m) == ("By the lake", "Lake", 20)
        assert (settings.forecast.coldest_c, settings.forecast.hottest_c) == (11, 12)
        assert settings.index.factors
        await hand.press("enter")
        await hand.open()
        assert "By the lake" in hand.text


async def test_an_index_table_of_another_year_is_asked_about(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await _open(hand)
        await hand.press("d")
        await _answer(hand, "next_year", "", "2027-05-01", "", "", "", "")
        assert "does it still hold?" in hand.told
        await _answer(hand, "maybe")
        assert hand.told.startswith("!")
        for _ in "maybe":
            await hand.press("backspace")
        await _answer(hand, "no")
        await hand.settle()
        event = load(tmp_path / "next_year")
        assert event.settings.index.factors == {}
        assert event.settings.name == "next year"
        assert event.settings.altitude_m == 240


async def test_a_folder_that_is_there_is_refused_at_once(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await _open(hand)
        await hand.press("d")
        await _answer(hand, "event")
        assert hand.told == "! event is there already: choose another name; mend the line, Escape empties it"
        assert hand.page.entry.value == "event"


async def test_breaking_the_asking_off_makes_nothing(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        await _open(hand)
        await hand.press("d")
        await _answer(hand, "next_year", "", "2027-05-01", "", "", "", "")
        assert "still holds >" in hand.text
        await hand.press("backspace")
        assert hand.page.writing is False
        await hand.press("m")
        await _answer(hand, "rear bar", "calmer")
        assert notes(hand)[0] == "2,,,plan,test: rear bar; expect: calmer"
        assert not (tmp_path / "next_year").exists()


async def test_one_thing_is_done_at_a_time_and_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The page waits for a word; meanwhile a second wish is put off, and the part being written is named."""
    go_on = threading.Event()

    def write(event: object, folder: Path, target: Path, named: bool, told: Callable[[str], None]) -> tuple[Path, Path]:
        told("pressures")
        assert go_on.wait(20)
        return target, target.with_suffix(".txt")

    monkeypatch.setattr("paddock.render.debrief.write_debrief", write)
    async with driving(tmp_path) as hand:
        await _open(hand)
        await hand.press("o")
        page = hand.page
        assert isinstance(page, AfterPage)
        for _ in range(500):
            await hand.dealt_with()
            if "pressures" in page.busy:
                break
        assert "the debrief: pressures …" in hand.text
        await hand.press("r")
        assert hand.told == "one moment: the debrief: pressures is still being done"
        go_on.set()
        await hand.settle()
        assert hand.told.startswith("done: ")
        assert "pressures …" not in hand.text
        assert not (tmp_path / "event.zip").exists()
