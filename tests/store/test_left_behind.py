"""What a killed program left lying: gone the next time, and nothing of a living one."""

from __future__ import annotations

import errno
import os
import shutil
from pathlib import Path

import pytest

from paddock.errors import FolderError
from paddock.folders.merging import merge_folders
from paddock.session import Session
from paddock.store import archive, disk
from tests.session.failing import Dead, error_at, failing_disk, killed_at
from tests.store.folders import small_folder

GONE = 4_194_400
"""More than the most process numbers a system gives (4,194,304 on 64-bit Linux, proc(5)), so nobody's."""


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_an_export_killed_at_any_step_leaves_nothing_the_next_does_not_take(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "event")
    out = tmp_path / "out"
    out.mkdir()
    (out / f".other.zip.{GONE}.paddock-new").write_bytes(b"another file's")
    (out / f".a.zip.{os.getppid()}.paddock-new").write_bytes(b"somebody writes")
    for at in range(1, 30):
        try:
            with failing_disk(killed_at(at)):
                archive.pack(folder, out / "a.zip")
        except Dead:
            half = out / f".a.zip.{os.getpid()}.paddock-new"
            half.write_bytes(b"half")
            os.rename(half, out / f".a.zip.{GONE}.paddock-new")
            continue
        break
    assert at > 3
    assert names(out) == {"a.zip", f".other.zip.{GONE}.paddock-new", f".a.zip.{os.getppid()}.paddock-new"}


def test_an_export_without_room_leaves_the_old_one_and_nothing_else(tmp_path: Path) -> None:
    folder, target = small_folder(tmp_path / "event"), tmp_path / "a.zip"
    target.write_bytes(b"the old one")

    def full(name: str, _count: int) -> None:
        if name == "write":
            raise OSError(28, "No space left on device")

    with failing_disk(full), pytest.raises(FolderError, match="can't be written: No space"):
        archive.pack(folder, target)
    assert target.read_bytes() == b"the old one"
    assert names(tmp_path) == {"event", "a.zip"}


def test_a_merge_killed_in_a_deep_folder_leaves_nothing_once_the_event_is_opened(tmp_path: Path) -> None:
    a, b = small_folder(tmp_path / "a"), small_folder(tmp_path / "b")
    (b / "pictures" / "day").mkdir(parents=True)
    (b / "pictures" / "day" / "grid.txt").write_text("a picture")
    for at in range(1, 30):
        one = tmp_path / f"a{at}"
        shutil.copytree(a, one)
        try:
            with failing_disk(killed_at(at)):
                merge_folders(one, b)
        except Dead:
            if (one / "pictures" / "day").is_dir() and (one / ".paddock" / "merge-begun").exists():
                (one / "pictures" / "day" / f".grid.txt.{GONE}.paddock-new").write_text("half")
            Session.open(one)
            assert list(one.rglob("*.paddock-new")) == []
            continue
        break
    assert at > 3


def test_a_file_said_not_to_be_there_while_it_is_is_not_taken_away_in_silence(tmp_path: Path) -> None:
    there, gone = tmp_path / "there.csv", tmp_path / "gone.csv"
    there.write_text("x\n")
    with failing_disk(error_at(1, errno.ENOENT)), pytest.raises(FileNotFoundError):
        disk.remove(there)
    disk.remove(gone)
    assert there.exists()
