"""The open event: edits saved row by row, undone and done again, over restarts."""

from __future__ import annotations

import os
import threading
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from paddock.errors import FolderError, RefusedError
from paddock.model.edit import AddRow, Batch, ChangeRow, RemoveRow, SetKey
from paddock.session import Session, load
from paddock.store import journal
from tests.store.folders import TIMES, every_byte, small_folder

RUN = {"day": 1, "run": 3, "number": "26", "time_ms": 46_101, "cones": 1, "at": "10:58"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return small_folder(tmp_path / "event")


def files(path: Path) -> dict[str, bytes]:
    """Every byte outside ``.paddock``."""
    found = every_byte(path).items()
    return {name: data for name, data in found if data is not None and not name.startswith(".paddock")}


def add(**more: Any) -> AddRow:
    return AddRow("times.csv", RUN | more)


def test_opening_and_leaving_writes_nothing(folder: Path) -> None:
    before = every_byte(folder)
    Session.open(folder).close()
    assert every_byte(folder) == before


def test_an_added_run_is_one_more_line(folder: Path) -> None:
    session = Session.open(folder)
    version = session.version
    assert session.apply(add()).ok
    assert (folder / "times.csv").read_bytes().decode() == TIMES + "1,3,26,46.101,1,,,10:58,\n"
    assert session.event.times[-1].time_ms == 46_101
    assert session.version > version
    assert session.can_undo == "add time day 1 run 3 number 26"
    assert Session.open(folder).event.times == session.event.times


def test_a_changed_cell_changes_one_line(folder: Path) -> None:
    session = Session.open(folder)
    session.apply(ChangeRow("times.csv", (1, 1, "7", None), {"cones": 2}))
    assert (folder / "times.csv").read_bytes().decode() == TIMES.replace("48.003,1", "48.003,2")
    assert session.undo() == "change time day 1 run 1 number 7"
    assert (folder / "times.csv").read_bytes().decode() == TIMES


EDITS = [
    add(),
    ChangeRow("times.csv", (1, 1, "7", None), {"cones": None, "status": "dnf"}),
    RemoveRow("times.csv", (1, 1, "26", None)),
    RemoveRow("notes.csv", ("abc",)),
    ChangeRow("notes.csv", ("abc",), {"text": 'says "late",\nagain', "run": 2}),
    ChangeRow("pressures.csv", (1, 1, "26", "after", "10:03"), {"tyre_c": 51.5, "lf_psi": 35.0}),
    AddRow("runs.csv", {"day": 1, "run": 1, "number": "26", "entry": -2, "mistake": False}),
    SetKey("event.toml", ("rules", "cone_s"), Decimal("1.5")),
    SetKey("event.toml", ("forecast", "hottest_c"), 31.0),
    SetKey("event.toml", ("runs_per_day",), None),
    SetKey("cars/van.toml", ("limits", "max_cold_psi"), 50),
    SetKey("checklist.toml", ("before grid",), ["visor"]),
    Batch("log run 3", (add(), AddRow("runs.csv", {"day": 1, "run": 3, "number": "26", "exit": 1}))),
]


@pytest.mark.parametrize("edit", EDITS, ids=lambda edit: f"{type(edit).__name__} {getattr(edit, 'file', '')}")
def test_undo_and_redo_come_back_byte_for_byte(folder: Path, edit: Any) -> None:
    before = files(folder)
    session = Session.open(folder)
    session.apply(edit)
    after = files(folder)
    session.undo()
    assert files(folder) == before
    session.redo()
    assert files(folder) == after
    again = Session.open(folder)
    assert again.event == session.event
    again.undo()
    assert again.can_undo is None
    assert files(folder) == before
    Session.open(folder).redo()
    assert files(folder) == after


def test_a_long_row_of_edits_is_undone_to_the_start(folder: Path) -> None:
    before = files(folder)
    session = Session.open(folder)
    for run in range(3, 6):
        session.apply(add(run=run))
        session.apply(ChangeRow("times.csv", (1, run, "26", None), {"cones": run}))
    session.apply(RemoveRow("times.csv", (1, 3, "26", None)))
    labels = []
    for _ in range(3):
        labels.append(session.undo())
    session = Session.open(folder)
    while session.can_undo:
        labels.append(session.undo())
    assert len(labels) == 7
    assert files(folder) == before


def test_a_new_edit_ends_redo(folder: Path) -> None:
    session = Session.open(folder)
    session.apply(add())
    session.undo()
    session.apply(add(run=4))
    assert session.can_redo is None
    assert Session.open(folder).can_redo is None
    with pytest.raises(RefusedError, match="nothing to redo"):
        session.redo()


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (add(run=2), "time day 1 run 2 number 26 is there already"),
        (add(time_ms=-1), "is no time"),
        (add(run=None), "run: is blank"),
        (add(number="99"), "time day 1 run 3 number 99: number 99 is not entered"),
        (add(day=3), "day 3"),
        (add(colour="red"), "times.csv has no column for colour"),
        (AddRow("laps.csv", {}), "laps.csv is no file of an event"),
        (ChangeRow("times.csv", (1, 9, "26", None), {"cones": 1}), "run 9 number 26 is not in times.csv"),
        (ChangeRow("times.csv", (1, 2, "26", None), {"run": 1}), "run 1 number 26 is there already"),
        (ChangeRow("times.csv", ("26",), {"run": 1}), "known by day, run, number, try_"),
        (ChangeRow("notes.csv", ("abc",), {"text": "\x00"}), "control character"),
        (RemoveRow("notes.csv", ("xyz",)), "note xyz is not in notes.csv"),
        (SetKey("event.toml", ("rules", "cone_s"), -1), "seconds from 0 to 3600 are wanted"),
        (SetKey("event.toml", ("rules", "count"), "worst"), "rules.count"),
        (SetKey("../event.toml", ("name",), "x"), "is no settings file"),
        (SetKey("cars/../../x.toml", ("name",), "x"), "is no settings file"),
        (SetKey("event.toml", (), 1), "is no settings file"),
        (Batch("both", (add(), add(run=2))), "is there already"),
    ],
)  # fmt: skip
def test_what_makes_no_sense_is_refused_and_changes_nothing(folder: Path, edit: Any, words: str) -> None:
    before = every_byte(folder)
    session = Session.open(folder)
    event = session.event
    with pytest.raises(RefusedError, match=words):
        session.apply(edit)
    assert session.event is event
    assert session.can_undo is None
    assert every_byte(folder) == before


def test_a_rerun_and_its_replacement_are_told_apart(folder: Path) -> None:
    session = Session.open(folder)
    session.apply(ChangeRow("times.csv", (1, 2, "26", None), {"status": "rerun"}))
    session.apply(add(run=2, time_ms=45_900))
    session.apply(ChangeRow("times.csv", (1, 2, "26", None), {"cones": 3}))
    assert [(row.status, row.cones) for row in session.event.times[2:]] == [("rerun", None), (None, 3)]
    session.apply(RemoveRow("times.csv", (1, 2, "26", None), was={"status": "rerun"}))
    assert [(row.status, row.cones) for row in session.event.times[2:]] == [(None, 3)]


def test_a_broken_file_is_not_written_into(folder: Path) -> None:
    broken = (folder / "times.csv").read_bytes().replace(b"number", b"nr")
    (folder / "times.csv").write_bytes(broken)
    session = Session.open(folder)
    with pytest.raises(RefusedError, match=r"times.csv has to be mended first, line 1: the column number is missing"):
        session.apply(add())
    assert (folder / "times.csv").read_bytes() == broken


def test_an_empty_optional_file_is_begun_anew(folder: Path) -> None:
    (folder / "notes.csv").write_bytes(b"\n")
    session = Session.open(folder)
    session.apply(AddRow("notes.csv", {"id": "k", "text": "x"}))
    assert (folder / "notes.csv").read_bytes() == b"id,day,run,at,topic,text,element\nk,,,,,x,\n"


def test_nothing_to_change_is_no_edit(folder: Path) -> None:
    before = every_byte(folder)
    session = Session.open(folder)
    assert session.apply(ChangeRow("times.csv", (1, 1, "7", None), {"cones": 1})).ok
    assert session.can_undo is None
    assert every_byte(folder) == before


def test_the_journal_may_be_deleted(folder: Path) -> None:
    session = Session.open(folder)
    session.apply(add())
    for path in (folder / ".paddock").iterdir():
        path.unlink()
    (folder / ".paddock").rmdir()
    assert Session.open(folder).event.times == session.event.times
    assert Session.open(folder).can_undo is None
    assert session.apply(add(run=4)).ok
    assert session.undo() == "add time day 1 run 4 number 26"
    assert session.undo() == "add time day 1 run 3 number 26"
    assert (folder / "times.csv").read_bytes().decode() == TIMES


@pytest.mark.parametrize(
    "rubbish", [b"\x00\xff\n[]\n5\n{}\n", b'{"op":"do","id":"a","steps":[{"step":"x"}]}\n', b"{" * 100_000]
)
def test_rubbish_in_the_journal_is_passed_over(folder: Path, rubbish: bytes) -> None:
    session = Session.open(folder)
    session.apply(add())
    with (folder / ".paddock" / "journal").open("ab") as out:
        out.write(rubbish)
    again = Session.open(folder)
    assert again.apply(add(run=4)).ok
    again = Session.open(folder)
    again.undo()
    again.undo()
    assert (folder / "times.csv").read_bytes().decode() == TIMES


def test_answers_are_worked_out_once_for_each_version(folder: Path) -> None:
    session = Session.open(folder)
    first = session.standings()
    assert session.standings() is first
    assert session.gap("26") is session.gap("26")
    session.apply(add(time_ms=40_000))
    assert session.standings() is not first


def test_a_folder_that_is_none(tmp_path: Path) -> None:
    with pytest.raises(FolderError):
        Session.open(tmp_path / "nowhere")
    with pytest.raises(FolderError, match=r"event.toml"):
        Session.open(tmp_path)


def test_looking_waits_for_no_disk(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    session = Session.open(folder)
    session.apply(add())
    saving, looked = threading.Event(), threading.Event()
    real = os.fsync

    def slow(handle: int) -> None:
        saving.set()
        assert looked.wait(10)
        real(handle)

    monkeypatch.setattr(os, "fsync", slow)
    thread = threading.Thread(target=session.undo)
    thread.start()
    assert saving.wait(10)
    assert len(session.event.times) == 3
    assert session.gap("26").class_ is not None
    looked.set()
    thread.join()
    assert (folder / "times.csv").read_text() == TIMES


def test_a_long_journal_is_shortened_and_still_undoes(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    session = Session.open(folder)
    for run in range(3, 9):
        session.apply(add(run=run))
    path = folder / ".paddock" / "journal"
    size = path.stat().st_size
    monkeypatch.setattr(journal, "_MOST_BYTES", size - 1)
    monkeypatch.setattr(journal, "_KEPT_BYTES", size // 3)
    session = Session.open(folder)
    assert path.stat().st_size < size * 2 // 3
    undone = 0
    while session.can_undo:
        session.undo()
        undone += 1
    assert undone == 3
    assert [row.run for row in load(folder).times] == [1, 1, 2, 3, 4, 5]


@pytest.mark.parametrize("short", [False, True])
def test_edits_that_are_one_go_back_and_forth_together_over_a_restart(folder: Path, short: bool) -> None:
    before = files(folder)
    session = Session.open(folder)
    session.apply(SetKey("event.toml", ("site",), "elsewhere"))
    alone = files(folder)
    session.apply(add(cones=0))
    session.apply(ChangeRow("times.csv", (1, 3, "26", None), {"cones": 1}), joins=True)
    session.apply(ChangeRow("times.csv", (1, 3, "26", None), {"cones": 2}), joins=True)
    joined = files(folder)
    if short:
        journal.Journal(folder).shorten()
    session = Session.open(folder)
    assert session.undo() == "change time day 1 run 3 number 26"
    assert files(folder) == alone
    session = Session.open(folder)
    assert session.redo() == "change time day 1 run 3 number 26"
    assert files(folder) == joined
    session.undo()
    session.undo()
    assert files(folder) == before
    with pytest.raises(RefusedError, match="nothing to undo"):
        session.undo()
