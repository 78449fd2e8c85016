"""What stands where a file belongs, and how much of it: refused in a sentence, before it is read, and nothing waits."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from paddock.errors import FolderError, RefusedError
from paddock.model.edit import AddRow
from paddock.session import Session
from paddock.session.loading import check, load_car
from paddock.store import disk
from paddock.store.disk import AstrayError, most_bytes
from paddock.store.folder import parse
from paddock.store.glance import glance
from paddock.store.tables_out import season_file
from tests.store.folders import EVENT, small_folder

Odd = Callable[[Path], object]


def sparse(path: Path) -> None:
    with path.open("wb") as out:
        out.truncate(200_000_000)


ODD: dict[str, tuple[Odd, str]] = {
    "pipe": (os.mkfifo, "pipe or a device"),
    "folder": (Path.mkdir, "is a folder"),
    "device": (lambda path: path.symlink_to("/dev/zero"), "outside the folder"),
    "huge": (sparse, "200.0 MB and is not read"),
}


@pytest.mark.parametrize("odd", sorted(ODD))
@pytest.mark.parametrize("file", ["times.csv", "notes.csv", "checklist.toml", "cars/estate.toml", "cars/other.toml"])
def test_what_is_no_file_is_named_and_nothing_waits_for_it(tmp_path: Path, file: str, odd: str) -> None:
    folder = small_folder(tmp_path / "event")
    (folder / file).unlink(missing_ok=True)
    ODD[odd][0](folder / file)
    assert any(item.file == file and ODD[odd][1] in item.message for item in check(folder))
    assert glance(folder).name
    Session.open(folder).close()


@pytest.mark.parametrize("odd", sorted(ODD))
def test_nor_beside_the_event(tmp_path: Path, odd: str) -> None:
    ODD[odd][0](tmp_path / "season.toml")
    assert ODD[odd][1] in season_file(tmp_path)[1][0].message
    if odd != "device":
        ODD[odd][0](tmp_path / "car.toml")
        with pytest.raises(FolderError):
            load_car(tmp_path / "car.toml")


def test_the_size_is_asked_before_anything_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    sparse(tmp_path / "huge")
    monkeypatch.setattr(os, "fdopen", None)
    with pytest.raises(AstrayError, match=r"8 MB is the most"):
        disk.read(tmp_path / "huge", most_bytes("times.csv"))


def test_nothing_is_saved_that_would_not_be_read_again(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "event")
    session = Session.open(folder)
    with pytest.raises(RefusedError, match="MB"):
        _many_notes(session)
    assert check(folder) == ()


def _many_notes(session: Session) -> None:
    for number in range(200):
        session.apply(AddRow("notes.csv", {"id": f"n{number}", "text": "x" * 99_000}))


@pytest.mark.parametrize("letters", [100_001, 131_073, 400_000])
def test_a_text_of_any_length(tmp_path: Path, letters: int) -> None:
    folder = small_folder(tmp_path / "event")
    session = Session.open(folder)
    with pytest.raises(RefusedError, match="longer than"):
        session.apply(AddRow("notes.csv", {"id": "a", "text": "x" * letters}))
    (folder / "notes.csv").write_text(f"id,text\na,{'x' * letters}\n")
    check(folder)
    (folder / "notes.csv").write_text("x" * letters + "\n")
    assert check(folder)


def test_a_key_of_thousands_of_parts_is_a_fault() -> None:
    doc = parse("event.toml", (EVENT + ".".join(["a"] * 50_000) + " = 1\n").encode())
    assert "100 parts" in doc.problems[0].message
    assert doc.problems[0].line == EVENT.count("\n") + 1


def test_hundreds_of_bad_tables_are_each_named_on_their_line() -> None:
    text = (
        'name = "x"\n'
        + "".join(f"[[classes]]\ncode = {n}\n" for n in range(900))
        + '[[classes]]\ncode = "OAK"\nscored_by = "raw"\n'
    )
    doc = parse("event.toml", text.encode())
    assert len(doc.problems) >= 900
    assert sorted({item.line for item in doc.problems})[:3] == [3, 5, 7]
    assert [item.code for item in doc.model.classes] == ["OAK"]  # type: ignore[union-attr]
