"""A merge or a new folder killed at any moment: no value is lost, nothing half made stands, once more finishes it."""

from __future__ import annotations

import contextlib
import shutil
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from paddock.folders.merging import merge_folders
from paddock.folders.starting import carry_on, copy_example, new_event
from paddock.session import Session
from paddock.session.loading import check, load
from paddock.store import disk
from tests.session.failing import Dead, failing_disk, killed_at
from tests.store.folders import EVENT, TIMES, every_byte, small_folder

MOST = 200
SPOILT = b"\x00 and what only this device has"


def files(folder: Path) -> dict[str, bytes | None]:
    return {name: data for name, data in every_byte(folder).items() if not name.startswith(".paddock")}


def said(folder: Path) -> str:
    """All a folder says, whichever file says it."""
    return "\n".join(data.decode("latin-1") for data in files(folder).values() if data)


def pair(place: Path) -> tuple[Path, Path]:
    """Copies that differ in a cell each side wins, a key, a file that can't be joined and one too many."""
    a, b = small_folder(place / "a"), small_folder(place / "b")
    (a / "times.csv").write_text(TIMES.replace("46.512", "46.401").replace("47.250", "47.950"))
    (b / "times.csv").write_text(TIMES.replace("46.512", "46.902") + "2,1,31,46.100,,,,10:01,\n")
    (a / "event.toml").write_text(EVENT.replace("cone_s = 2.0", "cone_s = 1.5"))
    (a / "entrants.csv").write_bytes((a / "entrants.csv").read_bytes().replace(b"Ada Nowhere", b"Ada Elsewhere"))
    (a / "notes.csv").write_bytes(SPOILT)
    (a / "plan.txt").write_text("short")
    (b / "plan.txt").write_text("the longer plan")
    (b / "pictures").mkdir()
    (b / "pictures" / "grid.bin").write_bytes(bytes(range(256)))
    return a, b


WORDS = ("46.401", "46.902", "47.950", "47.250", "46.100", "1.5", "2.0", "Elsewhere", "Nowhere", "short", "the longer plan", SPOILT.decode())  # fmt: skip


def test_a_merge_killed_before_every_step_loses_no_value_and_goes_on(quick_path: Path) -> None:
    a, b = pair(quick_path)
    whole = quick_path / "whole"
    shutil.copytree(a, whole)
    merge_folders(whole, b)
    for at in range(1, MOST):
        one = quick_path / f"a{at}"
        shutil.copytree(a, one)
        try:
            with failing_disk(killed_at(at)):
                merge_folders(one, b)
        except Dead:
            left = said(one) + said(b)
            replaced = [file for file, data in files(a).items() if data is not None and files(one)[file] != data]
            assert not [word for word in WORDS if word not in left], at
            if replaced:
                assert "event.toml,,rules.cone_s,2.0,1.5" in (one / "merge-conflicts.csv").read_text()
                assert "46.902,46.401" in (one / "merge-conflicts.csv").read_text()
                assert files(one) == files(whole) or any("broken off" in item.message for item in check(one))
            merge_folders(one, b)
            assert files(one) == files(whole), at
            assert not any("broken off" in item.message for item in check(one))
            continue
        break
    assert at > 40


def test_a_merge_into_a_new_folder_is_there_whole_or_not_at_all(quick_path: Path) -> None:
    a, b = pair(quick_path)
    merge_folders(a, b, quick_path / "whole")
    for at in range(1, MOST):
        place = quick_path / f"c{at}"
        place.mkdir()
        try:
            with failing_disk(killed_at(at)):
                merge_folders(a, b, place / "joined")
        except Dead:
            if (place / "joined").exists():
                assert files(place / "joined") == files(quick_path / "whole")
            merge_folders(a, b, place / "joined")
        else:
            break
        assert files(place / "joined") == files(quick_path / "whole")
        assert [item.name for item in place.iterdir()] == ["joined"]
    assert at > 20


def test_a_large_file_is_copied_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    a, b = pair(tmp_path)
    monkeypatch.setattr("paddock.store.merge._SMALL", 200)
    (a / "film.bin").write_bytes(b"a" * 300)
    (b / "film.bin").write_bytes(b"b" * 400)
    found = merge_folders(a, b)
    assert (a / "film.bin").read_bytes() == b"b" * 400
    (name,) = [name for file, name in found.beside if file == "film.bin"]
    assert (a / name).read_bytes() == b"a" * 300


DAYS = [date(2026, 7, 11)]


def _new(place: Path) -> None:
    new_event(place / "next", "next", DAYS, ["31"])


def _carried(place: Path) -> None:
    from paddock.engine.pressure.plan import SitePlace

    old = place.parent / "old"
    carry_on(old, load(old), place / "next", "next", DAYS, SitePlace(None, None, None), None)


def _example(place: Path) -> None:
    copy_example(place / "next")


def _saved_elsewhere(place: Path) -> None:
    assert Session.open(place.parent / "old").save_to(place / "next").ok


MAKERS = {"new": _new, "new --from": _carried, "example": _example, "saved elsewhere": _saved_elsewhere}


@pytest.mark.parametrize(
    ("maker", "there"),
    [("new", False), ("new", True), ("new --from", False), ("example", False), ("saved elsewhere", True)],
    ids=lambda given: given if isinstance(given, str) else ("an empty folder" if given else "no folder"),
)
def test_a_new_folder_is_there_whole_or_not_at_all(quick_path: Path, maker: str, there: bool) -> None:
    make = MAKERS[maker]
    small_folder(quick_path / "old")
    (quick_path / "count").mkdir()
    with failing_disk(lambda _name, _count: None) as counted:
        make(quick_path / "count")
    for at in range(1, counted.count + 3):
        if 5 < at < counted.count - 8 and at % 13:
            continue
        place = quick_path / f"p{at}"
        place.mkdir()
        if there:
            (place / "next").mkdir()
        with failing_disk(killed_at(at)), contextlib.suppress(Dead):
            make(place)
        if not (place / "next" / "event.toml").exists():
            make(place)
        assert not [item for item in check(place / "next") if item.level == "fault"]
        load(place / "next")
        assert [item.name for item in place.iterdir()] == ["next"]
        assert not [item for item in files(place / "next") if item.startswith(".")]


def test_what_the_user_put_into_a_folder_is_never_taken_away(tmp_path: Path) -> None:
    from paddock.errors import FolderError

    place = tmp_path / "next"
    place.mkdir()
    (place / ".1.paddock-new").mkdir()
    (place / "letter.txt").write_text("x")
    with pytest.raises(FolderError, match="not empty"):
        new_event(place, "next", DAYS, [])
    assert (place / "letter.txt").read_text() == "x"


CHILD = """
import sys
from pathlib import Path
from paddock.folders.merging import merge_folders
print("ready", flush=True)
merge_folders(Path(sys.argv[1]), Path(sys.argv[2]))
print("done", flush=True)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="killed by signal 9")
@pytest.mark.parametrize("after_ms", [0, 20, 60])
def test_a_merge_of_a_process_of_its_own_killed(tmp_path: Path, after_ms: int) -> None:
    a, b = pair(tmp_path)
    child = subprocess.Popen([sys.executable, "-c", CHILD, str(a), str(b)], stdout=subprocess.PIPE, cwd=Path.cwd())
    assert child.stdout is not None
    child.stdout.readline()
    try:
        child.wait(after_ms / 1000)
    except subprocess.TimeoutExpired:
        child.kill()
    child.stdout.close()
    child.wait()
    left = said(a) + said(b)
    assert not [word for word in WORDS if word not in left]
    merge_folders(a, b)
    assert {"46.902", "47.950"} <= set((a / "times.csv").read_text().replace("\n", ",").split(","))
    assert disk.strays(a) == []
