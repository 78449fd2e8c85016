"""What came from outside while the event is open: told on home, listed, taken back, left as it is."""

from __future__ import annotations

import shutil
from pathlib import Path

from paddock.folders.merging import merge_folders
from paddock.model.edit import ChangeRow
from paddock.tui.palette import Actions
from tests.small import small_event
from tests.tui.pilot import Hand, driving

ID = 'format = 1\nid = "twoscopies"\n'


def copy_of(hand: Hand, name: str, **changed: tuple[str, str]) -> Path:
    """The event in a folder beside it, with texts of its files replaced."""
    other = hand.folder.parent / name
    shutil.copytree(hand.folder, other, ignore=shutil.ignore_patterns(".paddock"))
    for file, (old, new) in changed.items():
        path = other / f"{file}.csv"
        text = path.read_text("utf-8")
        assert old in text
        path.write_text(text.replace(old, new), "utf-8")
    return other


async def seen(hand: Hand) -> None:
    """The program looks up, as it does every two seconds."""
    await hand.app.pass_time()
    await hand.settle()


async def test_a_merge_into_the_open_event_is_told_and_its_other_value_taken(tmp_path: Path) -> None:
    """The slower of two times is kept by the merge: home says so, Enter takes the faster, z gives it back."""
    async with driving(tmp_path) as hand:
        other = copy_of(hand, "tablet", times=("2,4,9,46.520", "2,4,9,46.999"))
        merge_folders(hand.folder, other)
        await seen(hand)
        assert hand.told == "! from outside: in conflict: day 2 run 4 number 9 time, 46.520 → 46.999; ' shows it"
        assert "! from outside: 1 in conflict: ' shows it" in hand.text
        assert "saved, 1 from outside" in hand.text
        await hand.press("exclamation_mark")
        await hand.settle()
        assert "in conflict: day 2 run 4 number 9 time, 46.520 → 46.999" in hand.text
        first = str((await anext(Actions(hand.page).discover())).text)
        assert first.startswith("from outside: ")
        assert first.endswith("(') 1 in conflict")
        await hand.press("apostrophe")
        await hand.settle()
        assert "in conflict day 2 run 4 number 9 time 46.999   46.520" in hand.text
        assert "Enter takes the other. j leaves it" in hand.text
        await hand.press("enter")
        assert "2,4,9,46.520" in hand.file("times.csv")
        assert "Nothing came from outside" in hand.text
        await hand.press("z")
        assert "2,4,9,46.999" in hand.file("times.csv")
        assert "in conflict" in hand.text
        await hand.press("j")
        assert hand.told == "left as it is: day 2 run 4 number 9 time"
        await hand.press("h")
        await hand.settle()
        assert "from outside" not in hand.text
        merge_folders(hand.folder, other)
        await seen(hand)
        assert "from outside" not in hand.text
        faster = copy_of(hand, "phone", times=("2,4,9,46.999", "2,4,9,46.100"))
        merge_folders(hand.folder, faster)
        await hand.press("apostrophe")
        await seen(hand)
        assert "46.100   46.999" in hand.text
        await hand.press("enter")
        assert "2,4,9,46.999" in hand.file("times.csv")
        merge_folders(hand.folder, faster)
        await seen(hand)
        assert "46.100" not in hand.text
        assert "2,4,9,46.999" in hand.file("times.csv")


async def test_what_another_program_changed_is_told_once_and_taken_back(tmp_path: Path) -> None:
    """A changed value waits to be looked at; rows that only came in are told in passing. Both can be taken back."""
    async with driving(tmp_path) as hand:
        path, text = hand.folder / "times.csv", hand.file("times.csv")
        path.write_text(text.replace("2,4,9,46.520", "2,4,9,47.000") + "2,5,9,46.400,,,,\n", "utf-8")
        await seen(hand)
        assert hand.told == "! from outside: 1 changed; came in: 1 row of times.csv; ' shows it"
        assert "! from outside: 1 changed: ' shows it" in hand.text
        await hand.press("apostrophe")
        await hand.settle()
        assert "changed day 2 run 4 number 9 time 47.000 46.520" in " ".join(hand.text.split())
        assert "Enter puts back what it was" in hand.text
        await hand.press("enter")
        assert "2,4,9,46.520" in hand.file("times.csv")
        assert "Enter takes 1 row out again" in " ".join(hand.text.split())
        await hand.press("enter")
        assert hand.file("times.csv") == text
        await hand.press("z", "z")
        assert "2,5,9,46.400" in hand.file("times.csv")
        assert "2,4,9,47.000" in hand.file("times.csv")
        await hand.press("a")
        assert hand.told == "all left as it is"
        path.write_text(text, "utf-8")
        await hand.press("h")
        await seen(hand)
        assert "! from outside: 2 put aside: ' shows it" in hand.text


async def test_my_entry_and_the_other_hands_stand_side_by_side(tmp_path: Path) -> None:
    async with driving(tmp_path) as hand:
        text = hand.file("times.csv")
        (hand.folder / "times.csv").write_text(text.replace("2,4,9,46.520", "2,4,9,46.999"))
        edit = ChangeRow("times.csv", (2, 4, "9", None), {"time_ms": 48_000})
        assert not hand.page.desk.open_session.apply(edit).ok
        await hand.press("apostrophe")
        await hand.settle()
        assert "put aside time day 2 run 4 number 9 time 46.999   48.000" in hand.text
        assert "Theirs stands in the file; Enter puts yours in." in " ".join(hand.text.split())
        await hand.press("enter")
        assert "2,4,9,48.000" in hand.file("times.csv")
        assert "Nothing came from outside" in hand.text


async def test_a_second_copy_of_the_event_is_told_once_and_joined(tmp_path: Path) -> None:
    """The folder beside with the same id and more to say; a file a sync program doubled."""
    folder = small_event(tmp_path / "event")
    event = folder / "event.toml"
    event.write_text(ID + event.read_text("utf-8").removeprefix("format = 1\n"), "utf-8")
    copy = tmp_path / "event-from-tablet"
    shutil.copytree(folder, copy)
    times = copy / "times.csv"
    times.write_text(times.read_text("utf-8") + "2,5,9,46.400,,,,\n", "utf-8")
    shutil.copytree(folder, tmp_path / "same-again")
    (folder / "notes (conflict).csv").write_text("id,day,text\nq2q2q2q2,2,a cone moved\n", "utf-8")
    async with driving(tmp_path) as hand:
        await hand.settle()
        assert "! from outside: 2 in a second copy: ' shows it" in hand.text
        await hand.press("apostrophe")
        await hand.settle()
        assert "same-again" not in hand.text
        assert "another copy of notes.csv and says 1 thing more" in " ".join(hand.text.split())
        await hand.press("m")
        await hand.settle()
        assert "a cone moved" in hand.file("notes.csv")
        assert hand.told == "joined: 1 added, 0 changed, 0 conflicts"
        assert "event-from-tablet" in hand.text
        assert "2,5,9,46.400" not in hand.file("times.csv")
        await hand.press("j", "h")
        await hand.settle()
        assert "from outside" not in hand.text
    async with driving(tmp_path) as hand:
        await hand.settle()
        assert "from outside" not in hand.text
