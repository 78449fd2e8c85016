"""Entries that could not be saved, written down somewhere else before the program ends."""

from __future__ import annotations

import contextlib
import shutil
import tempfile
from collections.abc import Callable, Iterator, Sequence
from itertools import count
from pathlib import Path

from paddock.errors import RefusedError, SaveError
from paddock.store import disk
from paddock.store.aside import InTheWayError, built
from paddock.store.disk import kept
from paddock.store.folder import TrackDoc
from paddock.store.journal import JournalEntry
from paddock.store.merge import conflict_of
from paddock.store.rowsteps import Docs

# a whole event written to another place, when its own can't be written any more


def write_elsewhere(target: Path, docs: Docs, source: Path) -> None:
    """The files as they are in memory; others of the old folder are copied where they can still be read.

    Raises RefusedError where something is in the way, SaveError where the place can't be written either.
    """
    try:
        with built(target) as draft:
            _copy_others(source, draft, docs)
            for file, doc in docs.items():
                if isinstance(doc, TrackDoc):
                    (draft / file).parent.mkdir(exist_ok=True)
                    copy = kept(source, f"track-{doc.digest}")
                    disk.copy(copy if copy.exists() else source / file, draft / file)
                elif doc.data is not None:
                    (draft / file).parent.mkdir(exist_ok=True)
                    disk.replace(draft / file, doc.data)
    except InTheWayError:
        raise RefusedError(f"{target} is {'not empty' if target.is_dir() else 'a file'}: choose a new folder") from None
    except OSError as error:
        raise disk.save_error(str(target), error) from None


def _copy_others(source: Path, target: Path, docs: Docs) -> None:
    with contextlib.suppress(OSError):
        for path in sorted(source.rglob("*")):
            name = path.relative_to(source)
            if (
                path.is_symlink()
                or ".paddock" in name.parts
                or name.as_posix() in docs
                or target in (path, *path.parents)
            ):
                continue
            with contextlib.suppress(OSError):
                if path.is_file():
                    (target / name).parent.mkdir(parents=True, exist_ok=True)
                    shutil.copy2(path, target / name)


LIST = "unsaved.txt"
"""The entries in words, beside a copy of the event that has them in."""


def rescue(folder: Path, docs: Docs, entries: Sequence[JournalEntry]) -> Path:
    """Makes ``<event>-unsaved`` beside the event, else in the user's own places: the list of the entries, and the event
    with them in, to be merged. It lies one folder deeper, so that no season counts it as an event.

    Raises SaveError where none of the places can be written.
    """
    for place in _places(folder):
        target = _new(place, f"{folder.name}-unsaved")
        if target is None:
            continue
        try:
            _write(target, folder.name, docs, entries)
        except OSError:
            shutil.rmtree(target, ignore_errors=True)
            continue
        return target
    raise SaveError(f"what is not saved in {folder} can't be written anywhere else either")


def _places(folder: Path) -> Iterator[Path]:
    from platformdirs import user_state_path

    own: tuple[Callable[[], Path], ...] = (
        lambda: folder.parent,
        lambda: user_state_path("paddock", ensure_exists=True),
        lambda: Path(tempfile.gettempdir()),
    )
    for place in own:
        try:
            yield place()
        except OSError:
            continue


def _new(place: Path, name: str) -> Path | None:
    """A folder nobody had, None where the place takes none."""
    for number in count(1):
        target = place / (name if number == 1 else f"{name}-{number}")
        try:
            target.mkdir()
        except FileExistsError:
            continue
        except OSError:
            return None
        return target
    return None


def _write(target: Path, name: str, docs: Docs, entries: Sequence[JournalEntry]) -> None:
    disk.replace(target / LIST, "".join(_lines(entries)).encode("utf-8", "replace"))
    for file, doc in docs.items():
        if isinstance(doc, TrackDoc):  # its rows say what it gave; the file itself is where it came from
            continue
        if doc.data is not None:
            place = target / (name or "event") / file
            place.parent.mkdir(parents=True, exist_ok=True)
            disk.replace(place, doc.data)


def _lines(entries: Sequence[JournalEntry]) -> Iterator[str]:
    for entry in entries:
        yield f"{'' if entry.op == 'do' else entry.op + ' '}{entry.label}\n"
        for cell in conflict_of(entry, "", {}).differences:
            yield f"    {cell.file}: {cell.row} {cell.column} = {cell.mine}\n"
