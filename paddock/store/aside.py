"""A new folder built beside its place and put there in one step, whole or not at all; and a new event written so."""

from __future__ import annotations

import contextlib
import os
import shutil
import sys
import time
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from importlib.resources import files
from pathlib import Path

from paddock.errors import FolderError
from paddock.model.columns import spec_of
from paddock.model.rows import EntrantRow, TimeRow
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


def template(
    name: str, days: Sequence[date], numbers: Sequence[str], own_id: str, more: Mapping[tuple[str, ...], object]
) -> str:
    """``event.toml`` of a new event, with its explanations. ``more``: further keys by path; None is left out."""
    import tomlkit

    document = tomlkit.parse(files("paddock").joinpath("data/event.toml").read_text(encoding="utf-8"))
    document["name"] = name
    document["days"] = list(days)
    document["mine"]["numbers"] = list(numbers)
    document["id"] = own_id
    for (*tables, key), value in more.items():
        inside = document[tables[0]] if tables else document
        if value is not None:
            inside[key] = value
    return tomlkit.dumps(document)


def default_checklists() -> str:
    """The text of the checklists that ship with the program."""
    return files("paddock").joinpath("data/checklist.toml").read_text(encoding="utf-8")


def _header(file: str) -> str:
    return ",".join(column.header for column in spec_of(file).columns) + "\n"


@contextlib.contextmanager
def new_folder(folder: Path) -> Iterator[Path]:
    """An empty folder to write into, which is ``folder`` when the block ends. Raises FolderError where something stands
    there or it can't be written; then nothing is."""
    try:
        with built(folder) as draft:
            yield draft
    except InTheWayError:
        raise FolderError(f"{folder} is there already and not empty: choose another name") from None
    except OSError as error:
        raise FolderError(f"{folder} can't be made: {(error.strerror or str(error)).lower()}") from None


def write_fresh(
    folder: Path, name: str, days: Sequence[date], numbers: Sequence[str], own_id: str,
    more: Mapping[tuple[str, ...], object],
) -> None:  # fmt: skip
    """Write an event that passes ``check``; arguments as of ``template``. Raises FolderError."""
    entrants = _header(EntrantRow.FILE) + "".join(f"{number},,,OPEN,,,,,\n" for number in numbers)
    texts = {
        "event.toml": template(name, days, numbers, own_id, more),
        EntrantRow.FILE: entrants,
        TimeRow.FILE: _header(TimeRow.FILE),
        "checklist.toml": default_checklists(),
    }
    with new_folder(folder) as draft:
        for file, text in texts.items():
            (draft / file).write_text(text, encoding="utf-8", newline="\n")
