"""A track file of the folder, known by its size and sum: too large to hold, so that undo keeps copies, not bytes.

A track's ``data`` is a short mark made of its SHA-256. A copy of a track that an edit is to put in, or took out, lies
in ``.paddock/track-<sum>``; it goes once the track is in its place, or when the journal no longer names it.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
from collections.abc import Callable, Iterable
from pathlib import Path

from paddock.errors import Problem
from paddock.store import disk
from paddock.store.places import AstrayError, kept

MOST_BYTES = 150_000_000
"""A track of one day; what is larger is a film or a whole year."""
_SUM = re.compile(r"[0-9a-f]{64}")
_CHUNK = 1 << 20


class TrackDoc:
    """A file of ``tracks/`` as the folder's files hold it."""

    problems: tuple[Problem, ...] = ()

    def __init__(self, file: str, digest: str) -> None:
        self.file = file
        self.digest = digest
        self.data = mark_of(digest)


def mark_of(digest: str) -> bytes:
    """What stands for the bytes of a track wherever files are compared."""
    return f"track:{digest}".encode()


def is_sum(text: str) -> bool:
    """A SHA-256 in hexadecimal."""
    return _SUM.fullmatch(text) is not None


def is_track(file: str) -> bool:
    """The name of a track of an event: ``tracks/<name>``."""
    return file.startswith("tracks/")


def digest_of(path: Path, told: Callable[[int], None] = lambda _: None) -> str | None:
    """The sum of a file, None where it isn't there; ``told`` hears the bytes read. Raises OSError."""
    try:
        size = os.stat(path).st_size
        if not path.is_file():
            raise AstrayError("is no plain file: move it away")
        if size > MOST_BYTES:
            raise AstrayError(f"has {size / 1e6:,.0f} MB and is not read: {MOST_BYTES / 1e6:g} MB is the most")
        found = hashlib.sha256()
        with path.open("rb") as file:
            while chunk := file.read(_CHUNK):
                found.update(chunk)
                told(len(chunk))
    except FileNotFoundError:
        return None
    return found.hexdigest()


def data_of(path: Path) -> bytes | None:
    """The mark of the track that lies at ``path``, None where there is none. Raises OSError."""
    digest = digest_of(path)
    return None if digest is None else mark_of(digest)


def keep_copy(folder: Path, source: Path, digest: str) -> None:
    """A copy for undo in ``.paddock``, once. Raises OSError."""
    place = kept(folder, f"track-{digest}")
    if not place.exists():
        place.parent.mkdir(exist_ok=True)
        disk.copy(source, place)


def put(folder: Path, path: Path, data: bytes | None, still: Callable[[], bool]) -> None:
    """The track that ``data`` marks put at ``path``, or the one there taken away; what lay there is kept for undo.

    Raises OSError, MovedError where ``still`` says no.
    """
    there = digest_of(path)
    if data is not None and there is not None and mark_of(there) == data:
        return
    if there is not None:
        keep_copy(folder, path, there)
    if data is None:
        if not still():
            raise disk.MovedError
        disk.remove(path)
        with contextlib.suppress(OSError):
            path.parent.rmdir()  # only where it is empty
        return
    if not path.parent.exists():
        path.parent.mkdir()
        disk.sync_folder(folder)
    copy = kept(folder, f"track-{data.decode().removeprefix('track:')}")
    disk.copy(copy, path, still)
    with contextlib.suppress(OSError):
        copy.unlink()


def forget_copies(folder: Path, named: Iterable[str]) -> None:
    """Copies that no step names any more go."""
    wanted = {f"track-{digest}" for digest in named}
    with contextlib.suppress(OSError):
        for path in (folder / ".paddock").glob("track-*"):
            if path.name not in wanted:
                path.unlink()
