"""A folder as one zip with a manifest and checksums; the same folder always gives the same bytes."""

from __future__ import annotations

import glob
import hashlib
import io
import json
import os
import stat
import zipfile
import zlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import paddock
from paddock.errors import FolderError, UsageError
from paddock.store import disk
from paddock.store.aside import InTheWayError, built, left
from paddock.store.disk import folded, portable

MANIFEST = "manifest.json"
"""Every file with its size and SHA-256."""
SUMS = "SHA256SUMS"
"""The same sums as ``sha256sum -c SHA256SUMS`` reads them."""
MAX_FILES = 5_000
MAX_TOTAL = 256 * 1024 * 1024
"""Bytes of all files together, unpacked; an event with 300 entrants is under one megabyte."""
_EPOCH = (1980, 1, 1, 0, 0, 0)
_TRIES = 5


@dataclass(frozen=True, slots=True)
class Member:
    """One file of the folder: ``path`` with forward slashes, ``size`` in bytes."""

    path: str
    size: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Packed:
    """What was written. ``left_out``: links and other things that are no plain files."""

    file: Path
    sha256: str
    members: tuple[Member, ...]
    left_out: tuple[str, ...]


def pack(folder: Path, target: Path) -> Packed:
    """Zip ``folder`` to ``target``, whole or not at all.

    Names that start with a dot (the undo journal, locks, files half written) stay out, as they may be
    lost without harm. Raises FolderError, or UsageError where ``target`` lies inside the folder.
    """
    home = outside(folder, target)
    return pack_contents(home.name, *_steady(home), target)


def outside(folder: Path, target: Path) -> Path:
    """``folder`` in full. Raises UsageError where ``target`` lies inside it."""
    home = folder.resolve()
    if target.resolve().is_relative_to(home):
        raise UsageError(f"{target} lies inside the folder it would copy: name a place outside")
    return home


def pack_contents(name: str, contents: dict[str, bytes], left_out: tuple[str, ...], target: Path) -> Packed:
    """Zip files given by path and content as the folder ``name``. Raises FolderError."""
    members = tuple(Member(path, len(data), _sum(data)) for path, data in contents.items())
    whole = _zipped(name, contents, members)
    write_whole(target, whole)
    return Packed(target, _sum(whole), members, left_out)


def write_whole(target: Path, data: bytes) -> None:
    """Write ``data`` beside ``target`` and put it in place once it is on the disk; what a killed program left of an
    earlier one goes. Raises FolderError."""
    try:
        for path in target.parent.glob(f".{glob.escape(target.name)}.*{disk.TEMP_MARK}"):
            if left(path):
                path.unlink(missing_ok=True)
        disk.replace(target, data)
    except OSError as error:
        raise FolderError(f"{target} can't be written: {error.strerror or error}") from error


def _steady(home: Path) -> tuple[dict[str, bytes], tuple[str, ...]]:
    """Contents of all files as they stood at one moment: read again while somebody writes."""
    try:
        for _ in range(_TRIES):
            before, left_out = _seen(home)
            _fits(before)
            contents = {path: (home / path).read_bytes() for path in before}
            if _seen(home) == (before, left_out):
                return contents, left_out
    except OSError as error:
        raise FolderError(f"{error.filename or home} can't be read: {error.strerror or error}") from error
    raise FolderError(f"{home.name} keeps changing while it is read: try again when nobody is saving")


def _seen(home: Path) -> tuple[dict[str, tuple[int, int, int]], tuple[str, ...]]:
    files, left_out = {}, []
    for path in sorted(_walk(home)):
        info = path.lstat()
        name = path.relative_to(home).as_posix()
        if name in {MANIFEST, SUMS}:
            continue
        if stat.S_ISREG(info.st_mode):
            files[name] = (info.st_mtime_ns, info.st_size, info.st_ino)
        else:
            left_out.append(name)
    return files, tuple(left_out)


def _fits(files: dict[str, tuple[int, int, int]]) -> None:
    """What is packed can be read back anywhere."""
    for name in files:
        if not portable(name):
            raise FolderError(f"{name!r}: rename it, this name can't stand on every system")
    if len({folded(name) for name in files}) < len(files):
        raise FolderError("two names differ by capitals or accents alone: rename one, they clash on other systems")
    if len(files) > MAX_FILES or sum(size for _, size, _ in files.values()) > MAX_TOTAL:
        largest = max(files, key=lambda name: files[name][1])
        raise FolderError(f"too much for one zip; the largest is {largest!r}: keep films and pictures elsewhere")


def _walk(folder: Path) -> Iterator[Path]:
    with os.scandir(folder) as found:
        entries = [entry for entry in found if not entry.name.startswith(".")]
    for entry in entries:
        if entry.is_dir(follow_symlinks=False):
            yield from _walk(Path(entry.path))
        else:
            yield Path(entry.path)


def _zipped(name: str, contents: dict[str, bytes], members: tuple[Member, ...]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for path, data in {MANIFEST: _manifest(name, members), SUMS: _sums(members), **contents}.items():
            info = zipfile.ZipInfo(path, _EPOCH)
            info.compress_type = zipfile.ZIP_DEFLATED
            info.external_attr = (stat.S_IFREG | 0o644) << 16
            info.create_system = 3
            archive.writestr(info, data)
    return out.getvalue()


def _manifest(name: str, members: tuple[Member, ...]) -> bytes:
    files = [{"path": item.path, "bytes": item.size, "sha256": item.sha256} for item in members]
    whole = {"format": 1, "folder": name, "written_by": f"paddock {paddock.__version__}", "files": files}
    return json.dumps(whole, indent=1, ensure_ascii=False).encode() + b"\n"


def _sums(members: tuple[Member, ...]) -> bytes:
    return "".join(f"{item.sha256}  {item.path}\n" for item in members).encode()


def _sum(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


_CHUNK = 1 << 16
_SHORT = 4 * 1024 * 1024


def unpack(source: Path, folder: Path) -> tuple[Member, ...]:
    """Put the files of ``source`` into the new ``folder`` once every one of them is proved.

    Refused with FolderError: names that would land elsewhere or mean another file on another system, links,
    encrypted or overlapping members, more than MAX_FILES or MAX_TOTAL, a member larger than it says, no
    manifest, a file too many, too few or with another sum. UsageError where ``folder`` holds something.
    """
    try:
        with zipfile.ZipFile(source) as archive:
            return _into_place(archive, folder)
    except InTheWayError:
        raise UsageError(f"{folder} is there already: name a new folder") from None
    except (OSError, zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as error:
        raise FolderError(f"{source} can't be read back: {error}") from error


def _into_place(archive: zipfile.ZipFile, folder: Path) -> tuple[Member, ...]:
    infos = _checked(archive)
    members = _promised(archive, infos)
    with built(folder) as draft:
        for member in members:
            _extract(archive, infos[member.path], member, draft)
    return members


def _checked(archive: zipfile.ZipFile) -> dict[str, zipfile.ZipInfo]:
    if len(archive.infolist()) > MAX_FILES:
        raise FolderError(f"refused: {len(archive.infolist())} files in the zip, {MAX_FILES} at most are taken")
    for info in archive.infolist():
        _plain(info)
    infos = [info for info in archive.infolist() if not (info.is_dir() and info.file_size == 0)]
    total = sum(info.file_size for info in infos)
    if total > MAX_TOTAL:
        raise FolderError(f"refused: {total} bytes unpacked, {MAX_TOTAL} at most are taken")
    _apart(infos)
    _no_doubles(info.orig_filename for info in infos)
    return {info.orig_filename: info for info in infos}


def _plain(info: zipfile.ZipInfo) -> None:
    if not info.filename:  # is_dir() looks at its last letter
        raise FolderError("refused: a file without a name")
    name = info.orig_filename.removesuffix("/") if info.is_dir() else info.orig_filename
    kind = stat.S_IFMT(info.external_attr >> 16)
    if kind not in {0, stat.S_IFDIR if info.is_dir() else stat.S_IFREG}:
        raise FolderError(f"refused: {name!r} is a link or another thing that is no file")
    if info.flag_bits & 0x1:
        raise FolderError(f"refused: {name!r} is encrypted")
    if info.compress_type not in {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}:
        raise FolderError(f"refused: {name!r} is packed in a way that is not used here")
    if not portable(name):
        raise FolderError(f"refused: the name {name!r} would land outside the folder or be misread")


def _apart(infos: list[zipfile.ZipInfo]) -> None:
    """No two members share bytes: the trick of small zips that unpack to gigabytes."""
    end = -1
    for info in sorted(infos, key=lambda item: item.header_offset):
        if info.header_offset < end:
            raise FolderError(f"refused: {info.orig_filename!r} overlaps another file of the zip")
        end = info.header_offset + 30 + len(info.orig_filename.encode()) + info.compress_size


def _no_doubles(names: Iterable[str]) -> None:
    """Names that differ only by case or by accents' spelling are one file on some systems."""
    seen: dict[str, str] = {}
    for name in names:
        if folded(name) in seen:
            raise FolderError(f"refused: {seen[folded(name)]!r} and {name!r} are one file on some systems")
        seen[folded(name)] = name
    for fold, name in seen.items():
        if any("/".join(fold.split("/")[:depth]) in seen for depth in range(1, fold.count("/") + 1)):
            raise FolderError(f"refused: {name!r} lies under a name that is a file")


def _promised(archive: zipfile.ZipFile, infos: dict[str, zipfile.ZipInfo]) -> tuple[Member, ...]:
    if MANIFEST not in infos or infos[MANIFEST].file_size > _SHORT:
        raise FolderError(f"refused: no {MANIFEST} in the zip, so nothing says what should be in it")
    try:
        members = tuple(_member(item) for item in json.loads(archive.read(infos[MANIFEST]))["files"])
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise FolderError(f"refused: {MANIFEST} can't be understood") from error
    wanted, there = {item.path for item in members}, set(infos) - {MANIFEST, SUMS}
    for name in sorted(wanted ^ there):
        raise FolderError(f"refused: {name!r} is {'missing' if name in wanted else 'not in the manifest'}")
    return members


def _member(item: Any) -> Member:
    path, size, digest = item["path"], item["bytes"], item["sha256"]
    if not (isinstance(path, str) and isinstance(size, int) and isinstance(digest, str)):
        raise TypeError("a manifest's file needs path, bytes and sha256")
    return Member(path, size, digest)


def _extract(archive: zipfile.ZipFile, info: zipfile.ZipInfo, member: Member, draft: Path) -> None:
    target = draft.joinpath(*member.path.split("/"))
    target.parent.mkdir(parents=True, exist_ok=True)
    digest, left = hashlib.sha256(), member.size
    with archive.open(info) as packed, target.open("xb") as out:
        while chunk := packed.read(_CHUNK):
            left -= len(chunk)
            if left < 0:
                break
            digest.update(chunk)
            out.write(chunk)
    if left != 0 or digest.hexdigest() != member.sha256:
        raise FolderError(f"refused: {member.path!r} is not what the manifest says")
