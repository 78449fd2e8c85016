"""An editor that takes no lock and saves what it read earlier: what can be put together is, the rest is said."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from paddock.model.edit import AddRow, ChangeRow
from paddock.session import Session, load
from paddock.store import disk, keeper
from tests.store.folders import TIMES, small_folder

NOTE = AddRow("notes.csv", {"id": "n1", "day": 1, "topic": "line", "text": "later apex"})
ADD = AddRow("times.csv", {"day": 1, "run": 3, "number": "26", "time_ms": 46_101})
OTHER = AddRow("times.csv", {"day": 1, "run": 4, "number": "26", "time_ms": 46_001})


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return small_folder(tmp_path / "event")


@pytest.mark.parametrize("spoilt", [b"", b"\x00\x01", b'id,day,topic,text\nabc,1,line,"late', b"id,id\n"])
def test_a_file_caught_half_written_is_waited_for(folder: Path, spoilt: bytes) -> None:
    session = Session.open(folder)
    file = folder / "notes.csv"
    whole = file.read_bytes() + b"def,1,line,theirs\n"
    file.write_bytes(spoilt)
    waits: list[float] = []

    def wait(seconds: float) -> None:
        waits.append(seconds)
        if len(waits) == 3:
            file.write_bytes(whole)

    session._keeper.wait = wait
    assert session.apply(NOTE).ok
    assert session.conflicts == ()
    assert [row.id for row in load(folder).tables["notes.csv"]] == ["abc", "def", "n1"]  # type: ignore[attr-defined]
    assert len(waits) == 3


def test_it_is_not_waited_for_without_end(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(keeper, "_PAUSE_S", 0.05)
    session = Session.open(folder)
    (folder / "notes.csv").write_bytes(b"\x00\x01")
    waits: list[float] = []
    session._keeper.wait = waits.append
    assert not session.apply(NOTE).ok
    assert 0.5 <= sum(waits) <= 2.0
    assert session.conflicts[0].differences[-1].mine == "later apex"


def test_an_unsaved_entry_outlives_a_file_caught_half_written(folder: Path) -> None:
    session = Session.open(folder)
    file = folder / "notes.csv"
    whole = file.read_bytes()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(disk, "_write_new", _full)
        assert not session.apply(NOTE).ok
    file.write_bytes(b"")
    session._keeper.wait = lambda _seconds: file.write_bytes(whole)
    session.poll()
    assert session.unsaved == ()
    assert session.conflicts == ()
    assert [row.id for row in load(folder).tables["notes.csv"]] == ["abc", "n1"]  # type: ignore[attr-defined]


def _full(*_args: object) -> None:
    raise OSError(28, "No space left on device")


@pytest.mark.parametrize("seen_by", ["looking", "saving"])
def test_an_entry_that_an_editor_saved_over_is_said(folder: Path, seen_by: str) -> None:
    session = Session.open(folder)
    assert session.apply(ADD).ok
    (folder / "times.csv").write_text(TIMES.replace("47.250", "47.251"))
    if seen_by == "looking":
        assert session.poll()
    else:
        saved = session.apply(OTHER)
        assert saved.ok
        assert "another program saved times.csv without it" in saved.message
    (gone,) = session.conflicts
    assert gone.reason == "another program saved times.csv without it"
    assert [(item.column, item.mine) for item in gone.differences if item.column == "time"] == [("time", "46.101")]
    with (folder / ".paddock" / "conflicts.csv").open(newline="") as lines:
        assert "46.101" in [row["mine"] for row in csv.DictReader(lines)]
    session.poll()
    assert len(session.conflicts) == 1


def test_a_change_an_editor_saved_over_is_said_and_one_i_took_back_is_not(folder: Path) -> None:
    session = Session.open(folder)
    assert session.apply(ChangeRow("times.csv", (1, 1, "7", None), {"cones": 3})).ok
    (folder / "times.csv").write_text(TIMES)
    session.poll()
    assert [item.entry.label for item in session.conflicts] == ["change time day 1 run 1 number 7"]
    assert session.apply(ADD).ok
    session.undo()
    (folder / "times.csv").write_text(TIMES.replace("47.250", "47.251"))
    session.poll()
    assert len(session.conflicts) == 1


def test_what_others_add_or_change_beside_mine_says_nothing(folder: Path) -> None:
    session = Session.open(folder)
    assert session.apply(ADD).ok
    text = (folder / "times.csv").read_text()
    (folder / "times.csv").write_text(text.replace("47.250", "47.251") + "1,3,7,47.9,,,,,\n")
    session.poll()
    (folder / "times.csv").write_text(text.replace("46.101", "46.111"))
    session.poll()
    assert session.conflicts == ()


def test_an_editor_that_writes_between_the_last_look_and_the_replace(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = Session.open(folder)
    real, left = disk._swap, [1]

    def late(temp: Path, target: Path) -> None:
        if target.name == "times.csv" and left:
            left.pop()
            target.write_text(TIMES.replace("47.250", "47.251"))
        real(temp, target)

    monkeypatch.setattr(disk, "_swap", late)
    saved = session.apply(ADD)
    assert saved.ok
    assert [row.time_ms for row in load(folder).times] == [47_251, 48_003, 46_512, 46_101]
    assert session.event.times == load(folder).times
    session.undo()
    assert [row.time_ms for row in load(folder).times] == [47_251, 48_003, 46_512]
