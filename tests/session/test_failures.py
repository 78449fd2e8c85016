"""Write, fsync, replace and the rest made to fail at every step in turn; a kill before every step."""

from __future__ import annotations

import errno
import shutil
from pathlib import Path
from typing import Any

import pytest

from paddock.errors import RefusedError
from paddock.model.edit import AddRow, Batch, ChangeRow, SetKey
from paddock.session import Session, load
from paddock.store.disk import strays
from tests.session.failing import Dead, error_at, error_from, failing_disk, killed_at
from tests.store.folders import TIMES, every_byte, small_folder

ADD = AddRow("times.csv", {"day": 1, "run": 3, "number": "26", "time_ms": 46_101})
BOTH = Batch("log run 3", (ADD, AddRow("runs.csv", {"day": 1, "run": 3, "number": "26", "exit": 1})))
MOST_CALLS = 60


def files(path: Path) -> dict[str, bytes]:
    """Every byte outside ``.paddock``."""
    found = every_byte(path).items()
    return {name: data for name, data in found if data is not None and not name.startswith(".paddock")}


def _calls(folder: Path, edit: Any) -> list[str]:
    """The writing calls that saving an edit makes."""
    copy = folder.with_name("counted")
    shutil.copytree(folder, copy)
    session = Session.open(copy)
    with failing_disk(lambda _name, _count: None) as disk:
        session.apply(edit)
    assert len(disk.names) < MOST_CALLS
    return disk.names


@pytest.mark.parametrize(
    ("edit", "number"),
    [
        (ADD, errno.ENOSPC),
        (ADD, errno.EIO),
        (ADD, errno.EACCES),
        (ADD, errno.EROFS),
        (BOTH, errno.ENOSPC),
        (BOTH, errno.EACCES),
    ],
    ids=lambda given: (
        errno.errorcode[given] if isinstance(given, int) else ("one file" if given is ADD else "two files")
    ),
)
@pytest.mark.parametrize("lasting", [False, True], ids=["once", "from then on"])
def test_a_failing_step_loses_nothing(tmp_path: Path, edit: Any, number: int, lasting: bool) -> None:
    first = small_folder(tmp_path / "event")
    before = files(first)
    for at in range(1, len(_calls(first, edit)) + 1):
        folder = tmp_path / f"event {at}"
        shutil.copytree(first, folder)
        session = Session.open(folder)
        with failing_disk((error_from if lasting else error_at)(at, number)):
            saved = session.apply(edit)
            assert session.event.times[-1].run == 3
            assert session.unsaved == (() if saved.ok else (edit,))
            assert "not saved" in saved.message or saved.ok
            if saved.ok:
                assert load(folder).times[-1].run == 3
        assert load(folder).problems == ()
        assert strays(folder) == []
        assert session.retry().ok
        assert session.unsaved == ()
        again = Session.open(folder)
        assert (again.event.tables, again.event.problems) == (session.event.tables, ())
        assert again.event.times[-1].run == 3
        session.undo()
        assert files(folder) == before


@pytest.mark.parametrize("edit", [ADD, BOTH], ids=["one file", "two files"])
def test_killed_before_every_step(tmp_path: Path, edit: Any) -> None:
    first = small_folder(tmp_path / "event")
    before = files(first)
    names = _calls(first, edit)
    seen = set()
    for at in range(1, len(names) + 1):
        folder = tmp_path / f"event {at}"
        shutil.copytree(first, folder)
        session = Session.open(folder)
        with failing_disk(killed_at(at)), pytest.raises(Dead):
            session.apply(edit)
        left = files(folder)
        load(folder)
        again = Session.open(folder)
        assert again.event.problems == ()
        assert strays(folder) == []
        after = files(folder)
        whole = [row.run for row in again.event.times].count(3), "runs.csv" in after
        assert whole in ((0, False), (1, edit is BOTH))
        seen.add((whole[0], left == after))
        if whole[0]:
            again.undo()
        assert files(folder) == before
    assert seen == {(0, True), (1, False), (1, True)} or seen >= {(0, True), (1, False)}


def test_what_a_killed_program_left_is_swept_away(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "event")
    before = files(folder)
    for name in (".times.csv.4711.paddock-new", "cars/.estate.toml.4711.paddock-new"):
        (folder / name).write_text("half")
    load(folder)
    assert len(strays(folder)) == 2
    Session.open(folder)
    assert files(folder) == before


@pytest.mark.parametrize("op", ["undo", "redo"])
def test_undo_and_redo_killed_before_every_step(tmp_path: Path, op: str) -> None:
    first = small_folder(tmp_path / "event")
    session = Session.open(first)
    states = [files(first)]
    session.apply(BOTH)
    states.append(files(first))
    if op == "redo":
        session.undo()
    for at in range(1, MOST_CALLS):
        folder = tmp_path / f"event {at}"
        shutil.copytree(first, folder)
        session = Session.open(folder)
        try:
            with failing_disk(killed_at(at)):
                getattr(session, op)()
        except Dead:
            again = Session.open(folder)
            assert files(folder) in states
            assert strays(folder) == []
            turn = again.undo if files(folder) == states[1] else again.redo
            turn()
            assert files(folder) in states
            continue
        break
    assert at > 10


def test_an_undo_that_can_not_be_saved_is_kept(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "event")
    session = Session.open(folder)
    session.apply(ADD)
    with failing_disk(error_from(1, errno.ENOSPC)):
        session.undo()
        assert [row.run for row in session.event.times] == [1, 1, 2]
        assert len(session.unsaved) == 1
        session.apply(ChangeRow("times.csv", (1, 1, "26", None), {"cones": 1}))
    assert session.poll() is False
    assert session.unsaved == ()
    assert (folder / "times.csv").read_bytes().decode() == TIMES.replace("47.250,", "47.250,1")


def test_many_entries_wait_for_the_disk(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "event")
    session = Session.open(folder)
    with failing_disk(error_from(1, errno.ENOSPC)):
        for run in range(3, 8):
            saved = session.apply(AddRow("times.csv", {"day": 1, "run": run, "number": "26", "time_ms": 46_000}))
            assert "no space" in saved.message
        session.undo()
        assert load(folder).times == Session.open(folder).event.times
    assert session.retry().ok
    assert [row.run for row in load(folder).times] == [1, 1, 2, 3, 4, 5, 6]
    while session.can_undo:
        session.undo()
    assert (folder / "times.csv").read_bytes().decode() == TIMES


def test_unsaved_entries_in_the_journal_are_put_in_on_the_next_opening(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "event")
    session = Session.open(folder)

    def rule(name: str, _count: int) -> None:
        if name == "replace":
            raise OSError(errno.ENOSPC, "full")

    with failing_disk(rule):
        assert not session.apply(ADD).ok
    assert Session.open(folder).event.times[-1].run == 3
    assert load(folder).times[-1].run == 3
    assert session.retry().ok
    assert [row.run for row in load(folder).times] == [1, 1, 2, 3]


def test_an_opening_that_can_not_finish_keeps_the_entry(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "event")
    session = Session.open(folder)
    with failing_disk(killed_at(_calls(folder, ADD).index("replace") + 1)), pytest.raises(Dead):
        session.apply(ADD)
    assert len(load(folder).times) == 3
    with failing_disk(error_from(1, errno.EROFS)):
        again = Session.open(folder)
        assert again.event.times[-1].run == 3
        assert len(again.unsaved) == 1
        assert again.can_undo == "add time day 1 run 3 number 26"
    again.poll()
    assert again.unsaved == ()
    assert load(folder).times[-1].run == 3
    again.undo()
    assert (folder / "times.csv").read_bytes().decode() == TIMES


def test_without_a_place_for_the_journal_the_table_is_saved_all_the_same(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "event")
    (folder / ".paddock").write_text("in the way")
    session = Session.open(folder)
    saved = session.apply(ADD)
    assert saved.ok
    assert "undo history can't be written" in saved.message
    assert load(folder).times[-1].run == 3
    session.undo()
    assert (folder / "times.csv").read_bytes().decode() == TIMES


def test_a_vanished_folder(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "event")
    session = Session.open(folder)
    folder.rename(tmp_path / "away")
    saved = session.apply(ADD)
    assert not saved.ok
    assert "gone" in saved.message
    assert not folder.exists()
    assert session.poll() is False
    assert len(session.event.times) == 4
    folder.mkdir()  # the empty place where the stick was
    assert not session.retry().ok
    assert session.poll() is False
    assert list(folder.iterdir()) == []
    folder.rmdir()
    (tmp_path / "away").rename(folder)
    session.poll()
    assert session.unsaved == ()
    assert load(folder).times[-1].run == 3


def test_saved_to_another_place(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "event")
    (folder / "cars" / "curve.csv").write_text("rpm,nm\n")
    session = Session.open(folder)
    session.apply(SetKey("cars/van.toml", ("name",), "van"))
    with failing_disk(error_from(1, errno.EROFS)):
        assert "can only be read" in session.apply(ADD).message
    with pytest.raises(RefusedError, match="not empty"):
        session.save_to(folder)
    other = tmp_path / "stick" / "event"
    with failing_disk(error_from(1, errno.ENOSPC)):
        assert not session.save_to(other).ok
    other = tmp_path / "stick 2" / "event"
    assert session.save_to(other).ok
    assert (session.unsaved, session.path) == ((), other)
    assert load(other).times[-1].run == 3
    assert (other / "cars" / "curve.csv").exists()
    assert len(load(folder).times) == 3
    session.apply(AddRow("times.csv", {"day": 1, "run": 4, "number": "26"}))
    assert load(other).times[-1].run == 4


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EIO])
def test_an_undo_on_a_full_disk_is_whole_or_not_at_all_for_the_next_program(tmp_path: Path, number: int) -> None:
    """Taking a file away needs no room, the history of it and the other file do."""
    first = small_folder(tmp_path / "event")
    before = files(first)
    Session.open(first).apply(BOTH)
    after = files(first)
    for at in range(1, MOST_CALLS):
        folder = tmp_path / f"event {at}"
        shutil.copytree(first, folder)
        session = Session.open(folder)
        with failing_disk(error_from(at, number)) as disk:
            session.undo()
        Session.open(folder)
        assert files(folder) in (before, after), at
        if disk.count < at:
            break
    assert 5 < at < MOST_CALLS - 1
