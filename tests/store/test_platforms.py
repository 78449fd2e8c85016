"""What other systems do otherwise, faked here: a file held by another program, names, locks, own folders, signals."""

from __future__ import annotations

import errno
import ntpath
import os
import sys
from pathlib import Path, PureWindowsPath

import pytest

from paddock.store import aside, disk
from paddock.store.disk import portable


@pytest.fixture
def windows(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """As if on Windows; the pauses between tries are counted, not waited."""
    pauses: list[float] = []
    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.setattr(disk.time, "sleep", pauses.append)  # type: ignore[attr-defined]
    return pauses


def held(monkeypatch: pytest.MonkeyPatch, times: int) -> None:
    """``os.replace`` refused so many times: WinError 5, as another program that holds the file makes it."""
    whole, left = os.replace, [times]

    def replace(source: Path, target: Path) -> None:
        if left[0]:
            left[0] -= 1
            raise PermissionError(errno.EACCES, "Access is denied")
        whole(source, target)

    monkeypatch.setattr(os, "replace", replace)


def test_a_file_held_for_a_moment_is_written_in_the_end(
    tmp_path: Path, windows: list[float], monkeypatch: pytest.MonkeyPatch
) -> None:
    held(monkeypatch, 5)
    disk.replace(tmp_path / "a.csv", b"one")
    assert (tmp_path / "a.csv").read_bytes() == b"one"
    assert len(windows) == 5
    assert sum(windows) < 2.5


def test_a_file_held_for_good_keeps_what_it_was_and_nothing_is_left_beside_it(
    tmp_path: Path, windows: list[float], monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a.csv").write_bytes(b"old")
    held(monkeypatch, 10**6)
    with pytest.raises(OSError, match="denied"):
        disk.replace(tmp_path / "a.csv", b"new")
    assert 1.5 <= sum(windows) <= 2.5
    assert [path.name for path in tmp_path.iterdir()] == ["a.csv"]
    assert (tmp_path / "a.csv").read_bytes() == b"old"


def test_elsewhere_a_refusal_is_told_at_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(disk.time, "sleep", lambda _: pytest.fail("waited"))  # type: ignore[attr-defined]
    held(monkeypatch, 1)
    with pytest.raises(PermissionError):
        disk.replace(tmp_path / "a.csv", b"new")


def test_folders_are_not_opened_there(tmp_path: Path, windows: list[float]) -> None:
    disk.sync_folder(tmp_path / "not there")


def test_a_process_is_not_asked_after_there(
    tmp_path: Path, windows: list[float], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "kill", lambda *_: pytest.fail("a signal 0 ends a process on Windows"))
    young = tmp_path / ".99999999.paddock-new"
    young.mkdir()
    assert not aside.left(young)
    os.utime(young, (0, 0))
    assert aside.left(young)


def test_without_unix_calls_a_file_is_written_all_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("fchmod", "O_NOFOLLOW", "O_DIRECTORY", "O_NONBLOCK"):
        monkeypatch.delattr(os, name, raising=False)
    disk.replace(tmp_path / "a.csv", b"one")
    assert disk.read(tmp_path / "a.csv") == b"one"


def reserved(name: str) -> bool:
    """Python's own word on it; from 3.13 on it stands in ``ntpath``."""
    asked = getattr(ntpath, "isreserved", None)
    return bool(asked(name)) if asked else PureWindowsPath(name).is_reserved()


@pytest.mark.parametrize(
    ("name", "stands"),
    [
        ("cars/estate.toml", True), ("cars/a:b.toml", False), ("cars/CON.toml", False), ("cars/aux.toml", False),
        ("cars/lpt1.toml", False), ("cars/console.toml", True), ("cars/x ", False), ("cars/x.", False),
        ("cars\\estate.toml", False), ("C:/event.toml", False), ("cars/a?.toml", False), ("cars/Kombi für zwei.toml", True),
    ],
)  # fmt: skip
def test_names_that_can_stand_everywhere(name: str, stands: bool) -> None:
    """Reserved names and signs: Microsoft, "Naming Files, Paths, and Namespaces" (from memory)."""
    assert portable(name) == stands
    assert not stands or not reserved(name)


@pytest.mark.parametrize("name", ["NUL", "cars/con.toml", "prn.csv"])
def test_what_python_calls_reserved_there_is_not_portable(name: str) -> None:
    assert reserved(name)
    assert not portable(name)
