"""The zip: what is in it, that it reads back, that nothing hostile does."""

from __future__ import annotations

import hashlib
import json
import shutil
import stat
import subprocess
import zipfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from paddock.errors import FolderError, UsageError
from paddock.store import archive
from paddock.store import archive as reader
from paddock.store.archive import MANIFEST, SUMS, pack, unpack


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    home = tmp_path / "day"
    (home / "cars").mkdir(parents=True)
    (home / ".paddock").mkdir()
    (home / ".paddock" / "journal").write_text("undo")
    (home / "event.toml").write_bytes(b'name = "caf\xc3\xa9"\r\n')
    (home / "times.csv").write_text("day,run\n1,1\n")
    (home / "cars" / "estate.toml").write_text("")
    return home


def _zip(path: Path, files: dict[str, bytes], manifest: bool = True, **attributes: int) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as out:
        if manifest:
            sums = [
                {"path": name, "bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
                for name, data in files.items()
            ]
            out.writestr(MANIFEST, json.dumps({"files": sums}))
        for name, data in files.items():
            info = zipfile.ZipInfo(name)
            info.filename = info.orig_filename = name
            for key, value in attributes.items():
                setattr(info, key, value)
            out.writestr(info, data)
    return path


def _refused(source: Path, tmp_path: Path, why: str) -> None:
    before = set(tmp_path.rglob("*"))
    with pytest.raises(FolderError, match=why):
        unpack(source, tmp_path / "new")
    assert set(tmp_path.rglob("*")) == before


def test_packs_all_but_dotted_names_and_says_each_sum(folder: Path, tmp_path: Path) -> None:
    packed = pack(folder, tmp_path / "day.zip")
    assert [item.path for item in packed.members] == ["cars/estate.toml", "event.toml", "times.csv"]
    assert packed.sha256 == hashlib.sha256((tmp_path / "day.zip").read_bytes()).hexdigest()
    with zipfile.ZipFile(tmp_path / "day.zip") as out:
        assert out.testzip() is None
        assert out.namelist() == [MANIFEST, SUMS, "cars/estate.toml", "event.toml", "times.csv"]
        assert out.read("event.toml") == (folder / "event.toml").read_bytes()
        named = {item["path"]: item for item in json.loads(out.read(MANIFEST))["files"]}
    assert named["times.csv"]["sha256"] == hashlib.sha256(b"day,run\n1,1\n").hexdigest()
    assert named["times.csv"]["bytes"] == 12


def test_the_same_folder_gives_the_same_bytes(folder: Path, tmp_path: Path) -> None:
    first = pack(folder, tmp_path / "a.zip")
    copy = shutil.copytree(folder, tmp_path / "else" / "day")
    assert pack(copy, tmp_path / "b.zip").sha256 == first.sha256


def test_reads_back_byte_for_byte_and_packs_the_same_again(folder: Path, tmp_path: Path) -> None:
    packed = pack(folder, tmp_path / "day.zip")
    assert unpack(tmp_path / "day.zip", tmp_path / "back" / "day") == packed.members
    assert pack(tmp_path / "back" / "day", tmp_path / "again.zip").sha256 == packed.sha256


def test_an_empty_folder_may_take_it_and_a_full_one_may_not(folder: Path, tmp_path: Path) -> None:
    pack(folder, tmp_path / "day.zip")
    (tmp_path / "empty").mkdir()
    unpack(tmp_path / "day.zip", tmp_path / "empty")
    with pytest.raises(UsageError, match="is there already"):
        unpack(tmp_path / "day.zip", folder)


@pytest.mark.skipif(not shutil.which("unzip"), reason="unzip is not installed")
def test_unzip_and_sha256sum_find_no_fault(folder: Path, tmp_path: Path) -> None:
    pack(folder, tmp_path / "day.zip")
    subprocess.run(["unzip", "-tq", "day.zip"], cwd=tmp_path, check=True, capture_output=True)
    subprocess.run(["unzip", "-q", "day.zip", "-d", "out"], cwd=tmp_path, check=True, capture_output=True)
    checked = subprocess.run(["sha256sum", "-c", SUMS], cwd=tmp_path / "out", check=True, capture_output=True)
    assert checked.stdout.count(b"OK") == 3


def test_links_are_left_out_and_named(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "secret").write_text("private")
    (folder / "peek.csv").symlink_to(tmp_path / "secret")
    (folder / "elsewhere").symlink_to(tmp_path)
    packed = pack(folder, tmp_path / "day.zip")
    assert packed.left_out == ("elsewhere", "peek.csv")
    assert b"private" not in b"".join(zipfile.ZipFile(tmp_path / "day.zip").read(item.path) for item in packed.members)


def test_a_zip_is_never_written_into_the_folder(folder: Path) -> None:
    with pytest.raises(UsageError, match="inside the folder"):
        pack(folder, folder / "cars" / "day.zip")


def test_a_failed_write_leaves_the_old_zip_whole(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = pack(folder, tmp_path / "day.zip")
    (folder / "times.csv").write_text("changed")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(archive.os, "fsync", full)  # type: ignore[attr-defined]
    with pytest.raises(FolderError, match="No space left"):
        pack(folder, tmp_path / "day.zip")
    assert hashlib.sha256((tmp_path / "day.zip").read_bytes()).hexdigest() == first.sha256
    assert sorted(item.name for item in tmp_path.iterdir()) == ["day", "day.zip"]


@pytest.mark.parametrize(("changes", "refused"), [(1, False), (99, True)])
def test_what_changes_while_it_is_read_is_read_again(
    changes: int, refused: bool, folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two files that belong together: the second is written after the first was read."""
    read, done = Path.read_bytes, []

    def busy(path: Path) -> bytes:
        data = read(path)
        if path.name == "event.toml" and len(done) < changes:
            done.append(path)
            (folder / "event.toml").write_text("x" * (20 + len(done)))
        return data

    monkeypatch.setattr(Path, "read_bytes", busy)
    if refused:
        with pytest.raises(FolderError, match="keeps changing"):
            pack(folder, tmp_path / "day.zip")
        return
    pack(folder, tmp_path / "day.zip")
    monkeypatch.undo()
    assert zipfile.ZipFile(tmp_path / "day.zip").read("event.toml") == (folder / "event.toml").read_bytes()


def test_a_missing_folder_is_said(tmp_path: Path) -> None:
    with pytest.raises(FolderError, match="can't be read"):
        pack(tmp_path / "none", tmp_path / "none.zip")


def test_a_name_other_systems_cannot_hold_is_refused_when_packing(folder: Path, tmp_path: Path) -> None:
    (folder / "what?.csv").write_text("")
    with pytest.raises(FolderError, match="rename it"):
        pack(folder, tmp_path / "day.zip")


def test_films_are_refused_by_name(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(archive, "MAX_TOTAL", 50)
    (folder / "film.bin").write_bytes(b"x" * 51)
    with pytest.raises(FolderError, match=r"film\.bin"):
        pack(folder, tmp_path / "day.zip")


ESCAPES = [
    "../up.csv", "a/../../up.csv", "/etc/passwd", "C:/x.csv", "c:x.csv", "..\\up.csv", "a\\b.csv", "./x.csv",
    "a//b.csv",
    "con", "NUL.csv", "com1.txt", "x.csv.", "x.csv ", "a\nb.csv", "a\x1b[2J.csv", "x\u202evsc.exe", ".paddock/journal",
    "..", "a:stream",
]  # fmt: skip


@pytest.mark.parametrize("name", ESCAPES)
def test_names_that_land_elsewhere_are_refused(name: str, tmp_path: Path) -> None:
    _refused(_zip(tmp_path / "x.zip", {name: b"x"}), tmp_path, "would land outside")


@pytest.mark.parametrize("kind", [stat.S_IFLNK, stat.S_IFIFO, stat.S_IFBLK, stat.S_IFSOCK])
def test_links_and_devices_are_refused(kind: int, tmp_path: Path) -> None:
    source = _zip(tmp_path / "x.zip", {"a.csv": b"/etc/passwd"}, external_attr=(kind | 0o777) << 16)
    _refused(source, tmp_path, "is a link")


@pytest.mark.parametrize("pair", [("a.csv", "A.csv"), ("caf\u00e9", "cafe\u0301"), ("a", "a/b"), ("a.csv", "a.csv")])
def test_names_that_are_one_file_are_refused(pair: tuple[str, str], tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "x.zip", "w") as out:
        out.writestr(MANIFEST, "{}")
        out.writestr(pair[0], b"1")
        if pair[0] == pair[1]:
            with pytest.warns(UserWarning, match="Duplicate"):
                out.writestr(pair[1], b"2")
        else:
            out.writestr(pair[1], b"2")
    _refused(tmp_path / "x.zip", tmp_path, "one file on some systems|is a file")


def test_a_bomb_by_its_own_word_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reader, "MAX_TOTAL", 1_000_000)
    _refused(_zip(tmp_path / "x.zip", {"a.csv": bytes(1_000_001)}), tmp_path, "at most are taken")


def test_a_bomb_that_lies_about_its_size_is_refused(tmp_path: Path) -> None:
    data = bytes(5_000_000)
    source = _zip(tmp_path / "x.zip", {"a.csv": data})
    raw = source.read_bytes().replace(len(data).to_bytes(4, "little"), (10).to_bytes(4, "little"))
    source.write_bytes(raw)
    _refused(source, tmp_path, "not what the manifest says|can't be read back")


def test_too_many_files_are_refused(tmp_path: Path) -> None:
    files = {f"{count}.csv": b"" for count in range(archive.MAX_FILES + 1)}
    _refused(_zip(tmp_path / "x.zip", files, manifest=False), tmp_path, "files in the zip")


def test_members_that_share_bytes_are_refused(tmp_path: Path) -> None:
    source = _zip(tmp_path / "x.zip", {"aa.csv": b"1" * 900, "bb.csv": b"2" * 900})
    raw = bytearray(source.read_bytes())
    first = raw.find(b"PK\x01\x02")
    entries = [at for at in range(first, len(raw) - 4) if raw[at : at + 4] == b"PK\x01\x02"]
    raw[entries[2] + 42 : entries[2] + 46] = raw[entries[1] + 42 : entries[1] + 46]
    source.write_bytes(bytes(raw))
    _refused(source, tmp_path, "overlaps")


def test_an_encrypted_member_is_refused(tmp_path: Path) -> None:
    source = _zip(tmp_path / "x.zip", {"a.csv": b"x"})
    raw = bytearray(source.read_bytes())
    raw[raw.rfind(b"PK\x01\x02") + 8] |= 1
    source.write_bytes(bytes(raw))
    _refused(source, tmp_path, "encrypted")


@pytest.mark.parametrize(
    ("manifest", "why"),
    [
        ({"files": []}, "not in the manifest"),
        ({"files": [{"path": "a.csv", "bytes": 1, "sha256": "0" * 64}]}, "not what the manifest says"),
        ({"files": [{"path": "a.csv", "bytes": 2, "sha256": hashlib.sha256(b"x").hexdigest()}]}, "not what"),
        ({"files": [{"path": p, "bytes": 1, "sha256": "0"} for p in ("a.csv", "b.csv")]}, "'b.csv' is missing"),
        ({"files": [{"path": 7, "bytes": 1, "sha256": ""}]}, "can't be understood"),
        ({"file": []}, "can't be understood"),
        ([], "can't be understood"),
    ],
)
def test_a_manifest_that_does_not_fit_is_refused(manifest: object, why: str, tmp_path: Path) -> None:
    source = _zip(tmp_path / "x.zip", {MANIFEST: json.dumps(manifest).encode(), "a.csv": b"x"}, manifest=False)
    _refused(source, tmp_path, why)


def test_a_zip_without_a_manifest_is_refused(tmp_path: Path) -> None:
    _refused(_zip(tmp_path / "x.zip", {"a.csv": b"x"}, manifest=False), tmp_path, "no manifest")


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(at=st.floats(0, 1, exclude_max=True), byte=st.integers(0, 255), cut=st.booleans())
def test_a_damaged_zip_is_refused_or_gives_the_same_files(
    folder: Path, tmp_path: Path, at: float, byte: int, cut: bool
) -> None:
    whole = (tmp_path / "day.zip").read_bytes() if (tmp_path / "day.zip").exists() else b""
    if not whole:
        pack(folder, tmp_path / "day.zip")
        whole = (tmp_path / "day.zip").read_bytes()
    spot = int(at * len(whole))
    broken = whole[:spot] if cut else whole[:spot] + bytes([byte]) + whole[spot + 1 :]
    (tmp_path / "broken.zip").write_bytes(broken)
    try:
        members = unpack(tmp_path / "broken.zip", tmp_path / "back")
    except FolderError:
        assert not (tmp_path / "back").exists()
        return
    for item in members:
        assert hashlib.sha256((tmp_path / "back" / item.path).read_bytes()).hexdigest() == item.sha256
        assert (folder / item.path).read_bytes() == (tmp_path / "back" / item.path).read_bytes()
    shutil.rmtree(tmp_path / "back")
