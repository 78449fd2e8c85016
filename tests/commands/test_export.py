"""``paddock export`` from the command line."""

from __future__ import annotations

import hashlib
import json
import zipfile
from pathlib import Path

import pytest

from paddock.__main__ import main
from tests.seasonfiles import write_event


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write_event(tmp_path / "day", {"26": ("46.512", "45.9+1"), "7": ("47.0",)})


def test_json_names_the_zip_its_files_and_its_sum(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["export", f"{folder}", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert set(data) == {"format", "file", "files", "sha256"}
    assert Path(data["file"]) == folder.parent / "day.zip"
    assert data["files"] == ["entrants.csv", "event.toml", "times.csv"]
    assert data["sha256"] == hashlib.sha256((folder.parent / "day.zip").read_bytes()).hexdigest()


def test_the_folder_itself_is_not_touched(folder: Path, tmp_path: Path) -> None:
    before = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in folder.rglob("*")}
    assert main(["export", f"{folder}", "-o", f"{tmp_path / 'x.zip'}", "--parquet", f"{tmp_path / 'p'}"]) == 0
    assert {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in folder.rglob("*")} == before


def test_the_answer_in_words_says_what_is_in_it(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "link.csv").symlink_to(folder / "times.csv")
    assert main(["export", f"{folder}", "--xlsx", f"{folder.parent / 't.xlsx'}"]) == 0
    out = capsys.readouterr().out
    assert "times.csv" in out
    assert "sha256 " in out
    assert "left out, no plain file: link.csv" in out
    assert "written: " in out


def test_read_back_gives_the_same_standings(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["standings", f"{folder}", "--json"])
    first = capsys.readouterr().out
    main(["export", f"{folder}", "-o", f"{tmp_path / 'x.zip'}"])
    assert main(["export", "--unpack", f"{tmp_path / 'x.zip'}", "-o", f"{tmp_path / 'back'}"]) == 0
    capsys.readouterr()
    main(["standings", f"{tmp_path / 'back'}", "--json"])
    assert capsys.readouterr().out == first


def test_unpack_without_a_place_goes_beside_the_zip(folder: Path, tmp_path: Path) -> None:
    main(["export", f"{folder}", "-o", f"{tmp_path / 'copy.zip'}"])
    assert main(["export", "--unpack", f"{tmp_path / 'copy.zip'}"]) == 0
    assert (tmp_path / "copy" / "times.csv").read_bytes() == (folder / "times.csv").read_bytes()


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["export", "{tmp}/nowhere"], 3),
        (["export", "{folder}", "-o", "{folder}/x.zip"], 2),
        (["export", "{folder}", "-o", "{tmp}/no/such/place.zip"], 3),
        (["export", "--unpack", "{folder}/times.csv", "-o", "{tmp}/new"], 3),
        (["export", "--unpack", "{tmp}/none.zip", "-o", "{tmp}/new"], 3),
        (["export", "--unpack", "{tmp}/none.zip", "--xlsx", "{tmp}/x.xlsx"], 2),
        (["export"], 2),
    ],
)
def test_errors_are_one_line_with_their_code(
    words: list[str], code: int, folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([word.format(folder=folder, tmp=tmp_path) for word in words]) == code
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1


def test_a_hostile_zip_is_refused_in_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with zipfile.ZipFile(tmp_path / "bad.zip", "w") as out:
        out.writestr("manifest.json", '{"files": []}')
        out.writestr("../../escape.csv", "x")
    assert main(["export", "--unpack", f"{tmp_path / 'bad.zip'}", "-o", f"{tmp_path / 'new'}"]) == 3
    assert "would land outside" in capsys.readouterr().err
    assert not (tmp_path / "new").exists()


def test_without_polars_the_zip_still_comes_and_tables_are_refused(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from paddock.store import machine

    monkeypatch.setenv("PADDOCK_PLAIN", "1")
    machine.why_not_polars.cache_clear()
    try:
        assert main(["export", f"{folder}", "-o", f"{tmp_path / 'x.zip'}"]) == 0
        assert main(["export", f"{folder}", "-o", f"{tmp_path / 'y.zip'}", "--parquet", f"{tmp_path / 'p'}"]) == 2
    finally:
        machine.why_not_polars.cache_clear()
    assert "needs polars" in capsys.readouterr().err
    assert not (tmp_path / "y.zip").exists()
