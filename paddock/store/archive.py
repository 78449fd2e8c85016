"""A folder as one zip with a manifest and checksums; the same folder always gives the same bytes."""

from __future__ import annotations

import glob
import hashlib
import io
import json
import os
import stat
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import paddock
from paddock.errors import FolderError, UsageError
from paddock.store import disk
from paddock.store.aside import left
from paddock.store.places import folded, portable

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
