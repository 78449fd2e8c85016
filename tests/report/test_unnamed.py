"""The zip without rivals' names: every free text, rows of one key, nothing else changed, and it reads back."""

from __future__ import annotations

import shutil
import zipfile
from pathlib import Path

import pytest

from paddock.errors import FolderError, UsageError
from paddock.folders.importing import pack_unnamed
from paddock.session.loading import check, load
from paddock.store.archive import unpack

EXAMPLE = Path(__file__).resolve().parents[2] / "example_event"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return shutil.copytree(EXAMPLE, tmp_path / "day", ignore=shutil.ignore_patterns(".paddock"))


def _shared(folder: Path) -> zipfile.ZipFile:
    packed = pack_unnamed(folder, load(folder), folder.parent / "shared.zip")
    return zipfile.ZipFile(packed.file)


def _add(folder: Path, file: str, row: str) -> None:
    with (folder / file).open("a", encoding="utf-8") as out:
        out.write(row + "\n")


def test_only_the_rivals_drivers_and_notes_about_them_differ(folder: Path) -> None:
    found = _shared(folder)
    differ = [name for name in found.namelist() if (folder / name).is_file()
              and found.read(name) != (folder / name).read_bytes()]  # fmt: skip
    assert sorted(differ) == ["entrants.csv", "notes.csv"]
    drivers = {item.number: item.driver for item in load(folder).entrants}
    rows = found.read("entrants.csv").decode().splitlines()
    assert len([row for row in rows if ",rival " in row]) == len(drivers) - 3
    assert any(row.startswith("58,Ansel Brook,") for row in rows)
    assert b"is done and was not quicker" not in found.read("notes.csv")


def test_it_reads_back_as_an_event_with_the_same_order(folder: Path) -> None:
    pack_unnamed(folder, load(folder), folder.parent / "shared.zip")
    unpack(folder.parent / "shared.zip", folder.parent / "again")
    assert len(check(folder.parent / "again")) == len(check(folder))
    assert load(folder.parent / "again").times == load(folder).times


@pytest.mark.parametrize(
    ("file", "cells", "shown"),
    [
        ("notes.csv", {"id": "n1", "topic": "driver", "text": "Bodil Jarvik says brake late"}, "rival A says brake late"),
        ("notes.csv", {"id": "n1", "topic": "Bodil Jarvik", "text": "brakes late"}, "rival A,brakes late"),
        ("runs.csv", {"day": "1", "run": "6", "number": "58", "lost_where": "behind Bodil"}, "behind rival A"),
        ("runs.csv", {"day": "1", "run": "6", "number": "58", "note": "as car 66"}, "as rival A"),
        ("worklist.csv", {"id": "w1", "item": "look at it", "reason": "bodil  jarvik asked"}, "rival A asked"),
        ("changes.csv", {"id": "c99", "day": "1", "number": "58", "key": "x", "expect": "as Ilya Orme"}, "as rival B"),
        ("weather.csv", {"day": "1", "at": "13:00", "sky": "Bodil Jarvik: rain soon"}, "rival A: rain soon"),
        ("pressures.csv", {"day": "1", "run": "1", "number": "58", "moment": "after", "at": "09:20", "lf_psi": "30",
                           "note": "read by Bodil Jarvik"}, "read by rival A"),
    ],
)  # fmt: skip
def test_names_go_from_every_free_text(folder: Path, file: str, cells: dict[str, str], shown: str) -> None:
    header = (folder / file).read_text("utf-8").splitlines()[0].split(",")
    assert set(cells) <= set(header)
    _add(folder, file, ",".join(cells.get(name, "") for name in header))
    assert shown in _shared(folder).read(file).decode()


def test_other_files_stay_out_and_are_named(folder: Path) -> None:
    (folder / "posted.html").write_text("Bodil Jarvik")
    (folder / "photos").mkdir()
    (folder / "photos" / "start.txt").write_text("x")
    (folder / ".hidden").write_text("x")
    packed = pack_unnamed(folder, load(folder), folder.parent / "shared.zip")
    assert packed.left_out == ("photos/start.txt", "posted.html", "tracks/d2r3-58.gpx")


def test_a_rival_whose_row_is_out_is_named_neither(folder: Path) -> None:
    entrants = folder / "entrants.csv"
    entrants.write_text(entrants.read_text("utf-8").replace("Bodil Jarvik,town car,ELM", "Bodil Jarvik,town car,ELN"))
    _add(folder, "notes.csv", "n1,1,,,driver,Bodil Jarvik says brake late,")
    event = load(folder)
    assert event.entrant("66") is None
    found = _shared(folder)
    assert b"Bodil" not in found.read("entrants.csv") + found.read("notes.csv")
    _add(folder, "entrants.csv", "999,Tilda Vane,van,ELM,,front,street,maybe,")
    with pytest.raises(FolderError, match=r"line \d+ of entrants\.csv can't be read"):
        pack_unnamed(folder, load(folder), folder.parent / "again.zip")


def test_what_cant_be_read_or_still_has_a_name_holds_it_back(folder: Path) -> None:
    target = folder.parent / "shared.zip"
    event = load(folder)
    with pytest.raises(UsageError):
        pack_unnamed(folder, event, folder / "shared.zip")
    _add(folder, "times.csv", "1,x,66,bodil  JARVIK")
    with pytest.raises(FolderError, match=r"still stands in times\.csv"):
        pack_unnamed(folder, load(folder), target)
    (folder / "notes.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(FolderError, match=r"notes\.csv can't be read"):
        pack_unnamed(folder, load(folder), target)
    assert not target.exists()
