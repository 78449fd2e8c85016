"""Reading a zip back: nothing is trusted, everything is compared with the manifest, all or nothing."""

from __future__ import annotations

import hashlib
import json
import stat
import zipfile
import zlib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from paddock.errors import FolderError, UsageError
from paddock.store.archive import MANIFEST, MAX_FILES, MAX_TOTAL, SUMS, Member
from paddock.store.aside import InTheWayError, built
from paddock.store.places import folded, portable

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
    infos = [info for info in archive.infolist() if not (info.is_dir() and info.file_size == 0)]
    if len(archive.infolist()) > MAX_FILES:
        raise FolderError(f"refused: {len(archive.infolist())} files in the zip, {MAX_FILES} at most are taken")
    for info in archive.infolist():
        _plain(info)
    total = sum(info.file_size for info in infos)
    if total > MAX_TOTAL:
        raise FolderError(f"refused: {total} bytes unpacked, {MAX_TOTAL} at most are taken")
    _apart(infos)
    _no_doubles(info.orig_filename for info in infos)
    return {info.orig_filename: info for info in infos}


def _plain(info: zipfile.ZipInfo) -> None:
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
