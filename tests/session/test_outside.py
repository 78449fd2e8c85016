"""What other hands changed while the event was open, row by row, and the edits that undo it."""

from __future__ import annotations

import shutil
from decimal import Decimal
from pathlib import Path

import pytest

from paddock.actions.outside import as_before, other_value, rows_by_words, still_kept
from paddock.folders.merging import half_synced, merge_folders, open_conflicts, open_copies
from paddock.model.edit import ChangeRow
from paddock.session import Session
from paddock.store.merge import look_at
from tests.store.folders import small_folder


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return small_folder(tmp_path / "here" / "event")


def rewrite(folder: Path, old: str, new: str, file: str = "times.csv") -> None:
    """An editor at work."""
    text = (folder / file).read_text("utf-8")
    assert old in text
    (folder / file).write_bytes(text.replace(old, new).encode())


def both(session: Session) -> list[tuple[str, object, object]]:
    """Place, before and now of each change, times in milliseconds."""

    def said(one: object) -> object:
        return getattr(one, "time_ms", one)

    return [(f"{item.file} {item.key}", said(item.before), said(item.after)) for item in session.outside]


def test_changed_added_and_taken_out_rows_are_known_and_go_back(folder: Path) -> None:
    session = Session.open(folder)
    whole = (folder / "times.csv").read_bytes()
    rewrite(folder, "1,1,7,48.003,1", "1,2,7,46.100,,,,,\n1,1,7,49.003,1")
    rewrite(folder, "cone_s = 2.0 ", "cone_s = 1.5 ", "event.toml")
    assert session.poll()
    assert sorted(both(session)) == [
        ("event.toml ('rules', 'cone_s')", Decimal("2.0"), Decimal("1.5")),
        ("times.csv (1, 1, '7', None)", 48_003, 49_003),
        ("times.csv (1, 2, '7', None)", None, 46_100),
    ]  # fmt: skip
    assert session.apply(as_before(session.outside, "as before")).ok
    assert (folder / "times.csv").read_bytes() == whole
    assert session.event.settings.rules.cone_ms == 2000
    assert session.outside == ()
    assert session.undo() == "as before"
    assert len(session.outside) == 3


def test_a_file_in_halves_for_a_moment_is_no_change(folder: Path) -> None:
    """An editor that leaves the file empty, or spoilt, between two looks; my own entries are nobody else's."""
    session = Session.open(folder)
    path = folder / "times.csv"
    whole = path.read_bytes()
    assert session.apply(ChangeRow("times.csv", (1, 1, "7", None), {"cones": 2})).ok
    mine = path.read_bytes()
    assert mine != whole
    for data in (b"", b"\x00\x01", mine.replace(b",", b" , "), mine):
        path.write_bytes(data)
        session.poll()
    assert session.outside == ()


def test_what_was_looked_at_is_told_no_more(folder: Path) -> None:
    session = Session.open(folder)
    rewrite(folder, "48.003,1", "49.003,1")
    session.poll()
    session.let_be(*session.outside)
    assert session.outside == ()
    rewrite(folder, "49.003,1", "50.003,1")
    session.poll()
    assert [item.before.time_ms for item in session.outside] == [49_003]


@pytest.mark.parametrize(
    ("file", "old", "new", "row", "column"),
    [
        ("times.csv", "48.003,1", "48.003,2", "day 1 run 1 number 7", "cones"),
        ("times.csv", "48.003,1", "48,503,1", "day 1 run 1 number 7", "time"),
        ("event.toml", "cone_s = 2.0", "cone_s = 2.5", "", "rules.cone_s"),
        ("event.toml", 'scored_by = "index"', 'scored_by = "raw"', "", "classes.OAK.scored_by"),
    ],
)  # fmt: skip
def test_the_value_a_merge_did_not_keep_is_one_edit_away(
    folder: Path, tmp_path: Path, file: str, old: str, new: str, row: str, column: str
) -> None:
    """Taken, the file says it, the conflict is open no more, and merging the old copy again keeps the choice."""
    other = tmp_path / "tablet"
    shutil.copytree(folder, other)
    rewrite(other, old, f'"{new[:6]}"{new[6:]}' if new.startswith("48,") else new, file)
    merge_folders(folder, other)
    session = Session.open(folder)
    (line,) = open_conflicts(folder)
    assert (line[0], line[1], line[2]) == (file, row, column)
    rows = rows_by_words(session.event, [line])
    assert still_kept(line, rows, session.value_at)
    edit = other_value(line, rows, session.value_at)
    assert edit is not None
    before = (folder / file).read_bytes()
    assert session.apply(edit).ok
    assert (folder / file).read_bytes() != before
    assert not still_kept(line, rows_by_words(session.event, [line]), session.value_at)
    chosen = (folder / file).read_bytes()
    merge_folders(folder, other)
    assert (folder / file).read_bytes() == chosen
    look_at(folder, (*line[:3], line[4], line[3]))
    assert open_conflicts(folder) == ()
    session.poll()
    session.undo()
    assert (folder / file).read_bytes() == before


def test_a_copy_beside_counts_what_it_says_more(folder: Path) -> None:
    """The same id in a folder beside; joined, with a conflict listed, it says nothing more."""
    rewrite(folder, "format = 1", 'format = 1\nid = "samesame"', "event.toml")
    other, another = folder.parent / "copy", folder.parent / "another"
    shutil.copytree(folder, other)
    shutil.copytree(folder, another)
    rewrite(another, "samesame", "anothera", "event.toml")
    assert open_copies(folder) == ()
    rewrite(other, "48.003,1", "47.003,1")
    rewrite(another, "48.003,1", "47.003,1")
    (copy,) = open_copies(folder)
    assert (copy.path.name, copy.news) == ("copy", 1)
    (told,) = half_synced(folder)
    assert (told.file, told.level) == ("copy", "warning")
    assert told.message == (
        "a second copy of this event with 1 thing more to say: paddock merge event copy takes them in"
    )
    merge_folders(folder, other)
    assert open_copies(folder) == ()
    rewrite(other, "47.003,1", "47.003,3")
    (copy,) = open_copies(folder)
    look_at(folder, copy.line)
    assert open_copies(folder) == ()
