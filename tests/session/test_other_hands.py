"""Other hands on the same folder: merged where they can be, both versions kept where they can't."""

from __future__ import annotations

import csv
import errno
from pathlib import Path

import filelock
import pytest

from paddock.errors import RefusedError
from paddock.model.edit import AddRow, Batch, ChangeRow, RemoveRow, SetKey
from paddock.session import Session, load
from paddock.store import keeper
from tests.session.failing import error_from, failing_disk
from tests.store.folders import EVENT, TIMES, small_folder

KEY = (1, 1, "7", None)
ADD = AddRow("times.csv", {"day": 1, "run": 3, "number": "26", "time_ms": 46_101})


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return small_folder(tmp_path / "event")


def rewrite(folder: Path, old: str, new: str, file: str = "times.csv") -> None:
    """An editor at work."""
    text = (folder / file).read_text("utf-8")
    assert old in text
    (folder / file).write_bytes(text.replace(old, new).encode())


def test_both_changes_are_in(folder: Path) -> None:
    session = Session.open(folder)
    rewrite(folder, "47.250", "47.251")
    saved = session.apply(ADD)
    assert saved.ok
    assert saved.message == "the file was changed by other hands: both are in"
    assert [row.time_ms for row in session.event.times] == [47_251, 48_003, 46_512, 46_101]
    assert load(folder).times == session.event.times


def test_other_cells_of_the_same_row_are_merged(folder: Path) -> None:
    session = Session.open(folder)
    rewrite(folder, "48.003,1,", "48.003,1,2")
    assert session.apply(ChangeRow("times.csv", KEY, {"cones": 3})).ok
    assert (session.event.times[1].cones, session.event.times[1].misses) == (3, 2)
    session.undo()
    assert (session.event.times[1].cones, session.event.times[1].misses) == (1, 2)


def test_the_same_cell_is_a_conflict_and_both_are_kept(folder: Path) -> None:
    session = Session.open(folder)
    rewrite(folder, "48.003,1", "48.003,2")
    there = (folder / "times.csv").read_bytes()
    saved = session.apply(ChangeRow("times.csv", KEY, {"cones": 3}))
    assert not saved.ok
    assert saved.message == (
        "time day 1 run 1 number 7 was changed since by other hands: theirs stays in the file, yours is put aside"
    )
    assert (folder / "times.csv").read_bytes() == there
    assert session.event.times[1].cones == 2
    (conflict,) = session.conflicts
    assert [(item.column, item.mine, item.theirs) for item in conflict.differences] == [("cones", "3", "2")]
    with (folder / ".paddock" / "conflicts.csv").open(newline="") as lines:
        (row,) = csv.DictReader(lines)
    assert row == {
        "what": "change time day 1 run 1 number 7", "file": "times.csv", "row": "time day 1 run 1 number 7",
        "column": "cones", "mine": "3", "theirs": "2",
    }  # fmt: skip
    assert session.can_undo is None
    assert session.unsaved == ()
    assert session.apply(ChangeRow("times.csv", KEY, {"cones": 3})).ok  # seen now, and meant all the same


def test_a_removed_row_is_not_removed_when_it_was_changed(folder: Path) -> None:
    session = Session.open(folder)
    rewrite(folder, "48.003,1", "48.003,2")
    assert not session.apply(RemoveRow("times.csv", KEY)).ok
    assert session.event.times[1].cones == 2


def test_a_row_that_was_removed_is_not_changed(folder: Path) -> None:
    session = Session.open(folder)
    rewrite(folder, "1,1,7,48.003,1,,,10:02,\n", "")
    saved = session.apply(ChangeRow("times.csv", KEY, {"cones": 3}))
    assert "is not there any more" in saved.message
    assert session.conflicts[0].differences[0].mine == "1"
    assert len(load(folder).times) == 2


def test_a_batch_is_all_or_nothing(folder: Path) -> None:
    session = Session.open(folder)
    rewrite(folder, "48.003,1", "48.003,2")
    before = (folder / "times.csv").read_bytes()
    saved = session.apply(Batch("both", (ADD, ChangeRow("times.csv", KEY, {"cones": 3}))))
    assert not saved.ok
    assert (folder / "times.csv").read_bytes() == before
    assert {item.mine for item in session.conflicts[0].differences} >= {"46.101", "3"}


def test_the_same_run_entered_on_both_sides(folder: Path) -> None:
    one, two = Session.open(folder), Session.open(folder)
    assert one.apply(ADD).ok
    assert two.apply(ADD).ok
    assert two.poll() is False
    assert len(two.event.times) == len(load(folder).times) == 4
    other = AddRow("times.csv", {"day": 1, "run": 4, "number": "26", "time_ms": 45_000})
    assert one.apply(other).ok
    saved = two.apply(AddRow("times.csv", {**other.cells, "time_ms": 45_500}))
    assert not saved.ok
    assert "is there by now, with other values" in saved.message
    assert two.event.times[-1].time_ms == 45_000


def test_undo_refuses_a_row_changed_since_and_says_so(folder: Path) -> None:
    session = Session.open(folder)
    session.apply(ChangeRow("times.csv", KEY, {"cones": 3}))
    session.apply(ADD)
    rewrite(folder, "46.101", "46.102")
    session.poll()
    there = (folder / "times.csv").read_bytes()
    with pytest.raises(RefusedError, match=r"can't undo “add time day 1 run 3 number 26”: .* changed since by other"):
        session.undo()
    assert (folder / "times.csv").read_bytes() == there
    assert session.can_undo == "change time day 1 run 1 number 7"
    assert Session.open(folder).can_undo == "change time day 1 run 1 number 7"
    session.undo()
    assert (folder / "times.csv").read_text() == TIMES + "1,3,26,46.102,,,,,\n"


def test_undo_of_a_change_not_seen_yet_is_refused_at_the_last_moment(folder: Path) -> None:
    session = Session.open(folder)
    session.apply(ADD)
    rewrite(folder, "46.101", "46.102")
    with pytest.raises(RefusedError, match="changed since by other hands"):
        session.undo()
    assert session.event.times[-1].time_ms == 46_102
    assert (session.can_undo, session.can_redo, session.conflicts, session.unsaved) == (None, None, (), ())


def test_undo_finds_its_row_after_the_file_was_saved_in_another_manner(folder: Path) -> None:
    session = Session.open(folder)
    session.apply(ADD)
    lines = [line.split(",")[::-1] for line in (folder / "times.csv").read_text().splitlines()]
    (folder / "times.csv").write_bytes("\r\n".join(";".join(f'"{cell}"' for cell in line) for line in lines).encode())
    assert session.poll() is False or session.event.problems == ()
    session.undo()
    assert [row.run for row in load(folder).times] == [1, 1, 2]


def test_settings(folder: Path) -> None:
    session = Session.open(folder)
    rewrite(folder, "runs_per_day = 5", "runs_per_day = 6", "event.toml")
    assert session.apply(SetKey("event.toml", ("rules", "cone_s"), 1)).ok
    assert (folder / "event.toml").read_text() == EVENT.replace("= 5", "= 6").replace("cone_s = 2.0", "cone_s = 1")
    rewrite(folder, "cone_s = 1 ", "cone_s = 3 ", "event.toml")
    saved = session.apply(SetKey("event.toml", ("rules", "cone_s"), 2))
    assert "rules.cone_s in event.toml was changed since by other hands" in saved.message
    assert session.event.settings.rules.cone_ms == 3000


def test_settings_that_break_leave_the_last_good_ones(folder: Path) -> None:
    session = Session.open(folder)
    (folder / "event.toml").write_text("[[[")
    assert session.poll() is True
    assert session.event.settings.name == "Two days at the old car park"
    assert [problem.file for problem in session.event.problems] == ["event.toml"]
    assert session.apply(ADD).ok
    (folder / "event.toml").write_text(EVENT)
    assert session.poll() is True
    assert session.event.problems == ()


def test_a_table_that_vanished_is_a_conflict(folder: Path) -> None:
    session = Session.open(folder)
    (folder / "notes.csv").unlink()
    saved = session.apply(ChangeRow("notes.csv", ("abc",), {"text": "early"}))
    assert not saved.ok
    assert not (folder / "notes.csv").exists()
    assert session.conflicts[0].differences[-1].mine == "early"


def test_a_table_broken_meanwhile_is_left_alone(folder: Path) -> None:
    session = Session.open(folder)
    (folder / "times.csv").write_bytes(b"\x00\x01")
    saved = session.apply(ADD)
    assert "has to be mended first" in saved.message
    assert (folder / "times.csv").read_bytes() == b"\x00\x01"
    assert session.conflicts[0].differences[-1].mine == "46.101"


def test_another_copy_is_writing(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(keeper, "_LOCK_WAIT_S", 0.0)
    session = Session.open(folder)
    (folder / ".paddock").mkdir()
    with filelock.FileLock(folder / ".paddock" / "lock"):
        saved = session.apply(ADD)
        assert not saved.ok
        assert "another copy of the program is writing" in saved.message
        assert session.unsaved == (ADD,)
        assert (folder / "times.csv").read_text() == TIMES
    assert session.poll() is False
    assert session.unsaved == ()
    assert load(folder).times[-1].run == 3


def test_a_file_that_changes_again_and_again(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    session = Session.open(folder)
    times = iter(range(1000))
    real = keeper.disk._write_new  # type: ignore[attr-defined]

    def restless(temp: Path, data: bytes, target: Path) -> None:
        real(temp, data, target)
        target.write_text(TIMES + f"2,1,26,45.{next(times):03d},,,,,\n")

    with monkeypatch.context() as patch:
        patch.setattr(keeper.disk, "_write_new", restless)  # type: ignore[attr-defined]
        saved = session.apply(ADD)
    assert "again and again" in saved.message
    assert session.unsaved == (ADD,)
    assert session.retry().ok
    assert [row.time_ms for row in load(folder).times][-1] == 46_101


@pytest.mark.parametrize("seen", [False, True])
def test_what_others_wrote_while_the_disk_was_full_stays(folder: Path, seen: bool) -> None:
    session = Session.open(folder)
    session.apply(AddRow("times.csv", {"day": 1, "run": 4, "number": "26"}))
    rewrite(folder, "47.250", "47.251")
    with failing_disk(error_from(1, errno.ENOSPC)):
        assert not session.apply(ADD).ok
        if seen:
            session.poll()
            assert session.event.times[0].time_ms == 47_251
    assert session.retry().ok
    assert [row.time_ms for row in load(folder).times] == [47_251, 48_003, 46_512, None, 46_101]
    assert session.event.times == load(folder).times


def test_what_others_wrote_is_shown_though_the_disk_is_full(folder: Path) -> None:
    session = Session.open(folder)
    rewrite(folder, "47.250", "47.251")
    with failing_disk(error_from(1, errno.ENOSPC)):
        assert not session.apply(ADD).ok
        session.poll()
        assert [row.time_ms for row in session.event.times] == [47_251, 48_003, 46_512, 46_101]


def test_a_new_car_file_is_seen(folder: Path) -> None:
    session = Session.open(folder)
    (folder / "cars" / "van.toml").write_text('name = "van"\n')
    assert session.poll() is True
    assert sorted(session.event.cars) == ["estate", "van"]
    (folder / "cars" / "van.toml").unlink()
    assert session.poll() is True
    assert sorted(session.event.cars) == ["estate"]
