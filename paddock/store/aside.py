"""A new folder built beside its place and put there in one step: whole or not at all."""

from __future__ import annotations

import contextlib
import os
import shutil
import sys
import time
from collections.abc import Iterator
from pathlib import Path

from paddock.store import disk
from paddock.store.disk import TEMP_MARK, belongs

_LAST = "event.toml"
_DAY_S = 86_400


class InTheWayError(Exception):
    """Something stands where the folder is to be. Never leaves the store."""


def ready(folder: Path) -> None:
    """Takes away what killed runs left half built for ``folder``. Raises InTheWayError where something else stands
    there, OSError."""
    for draft in _drafts(folder.parent) if folder.parent.is_dir() else ():
        shutil.rmtree(draft, ignore_errors=True)
    if not folder.exists() and not folder.is_symlink():
        return
    if not folder.is_dir():
        raise InTheWayError
    drafts, others = _drafts(folder), [path for path in folder.iterdir() if not path.name.endswith(TEMP_MARK)]
    half = bool(drafts) and all(path.name == "cars" or belongs(path.name) for path in others)
    if others and (not half or (folder / _LAST).exists()):
        raise InTheWayError
    for path in (*others, *drafts):  # the drafts last: they tell whose the others are
        shutil.rmtree(path) if path.is_dir() and not path.is_symlink() else path.unlink()


@contextlib.contextmanager
def built(folder: Path) -> Iterator[Path]:
    """An empty folder to fill; when the block ends it stands at ``folder``, and is on the disk. Where the block raises
    nothing stands there.

    An empty folder that is there stays the same one, for somebody may be in it: the files are moved in, ``event.toml``
    last. Raises InTheWayError, OSError.
    """
    ready(folder)
    there = folder.exists()
    home = folder if there else folder.parent
    home.mkdir(parents=True, exist_ok=True)
    draft = home / f".{os.getpid()}{TEMP_MARK}"
    shutil.rmtree(draft, ignore_errors=True)
    os.mkdir(draft)
    try:
        yield draft
        _synced(draft)
        if not there:
            os.replace(draft, folder)
        else:
            for path in sorted(draft.iterdir(), key=lambda path: path.name == _LAST):
                os.replace(path, folder / path.name)
            os.rmdir(draft)
    except BaseException:
        shutil.rmtree(draft, ignore_errors=True)
        raise
    disk.sync_folder(home)


def _synced(folder: Path) -> None:
    """Every file and name in it made durable."""
    for place, _, names in os.walk(folder, topdown=False):
        for name in names:
            handle = os.open(Path(place, name), os.O_RDWR | getattr(os, "O_BINARY", 0))
            try:
                os.fsync(handle)
            finally:
                os.close(handle)
        disk.sync_folder(Path(place))


def _drafts(place: Path) -> list[Path]:
    """Half-built folders there whose program is gone."""
    return [path for path in place.glob(f".*{TEMP_MARK}") if path.is_dir() and left(path)]


def left(draft: Path) -> bool:
    """A half-written file or folder, by its name, whose program is gone."""
    pid = draft.name.removesuffix(TEMP_MARK).rpartition(".")[2]
    if not pid.isdecimal() or draft.is_symlink():
        return False
    if int(pid) == os.getpid():  # a number given out again
        return True
    if sys.platform == "win32":  # asking after a process would end it
        return time.time() - draft.stat().st_mtime > _DAY_S
    return not alive(int(pid))


def alive(pid: int) -> bool:
    """Whether a process of this number runs here."""
    try:
        os.kill(pid, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except OSError:
        return True
    return True
