"""Entries that could not be saved, written down somewhere else before the program ends."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable, Iterator, Sequence
from itertools import count
from pathlib import Path

from paddock.errors import SaveError
from paddock.store import disk
from paddock.store.conflicts import conflict_of
from paddock.store.journal import Entry
from paddock.store.steps import Docs
from paddock.store.trackdoc import TrackDoc

LIST = "unsaved.txt"
"""The entries in words, beside a copy of the event that has them in."""


def rescue(folder: Path, docs: Docs, entries: Sequence[Entry]) -> Path:
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


def _write(target: Path, name: str, docs: Docs, entries: Sequence[Entry]) -> None:
    disk.replace(target / LIST, "".join(_lines(entries)).encode("utf-8", "replace"))
    for file, doc in docs.items():
        if isinstance(doc, TrackDoc):  # its rows say what it gave; the file itself is where it came from
            continue
        if doc.data is not None:
            place = target / (name or "event") / file
            place.parent.mkdir(parents=True, exist_ok=True)
            disk.replace(place, doc.data)


def _lines(entries: Sequence[Entry]) -> Iterator[str]:
    for entry in entries:
        yield f"{'' if entry.op == 'do' else entry.op + ' '}{entry.label}\n"
        for cell in conflict_of(entry, "", {}).differences:
            yield f"    {cell.file}: {cell.row} {cell.column} = {cell.mine}\n"
