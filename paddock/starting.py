"""Before an event is open: a new one, the example to try, and the notes of the events beside one."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from paddock.errors import FolderError
from paddock.model.rows import NoteRow
from paddock.reading import load
from paddock.store.example import copy_example
from paddock.store.fresh import write_fresh

__all__ = ["copy_example", "new_event", "notes_beside"]


def new_event(folder: Path, name: str, days: Sequence[date], numbers: Sequence[str]) -> Path:
    """Make an event folder; raises FolderError where that can't be."""
    write_fresh(folder, name, list(days), list(numbers))
    return folder


def notes_beside(folder: Path) -> tuple[tuple[str, tuple[NoteRow, ...]], ...]:
    """Name and notes of each event in the same directory; those that can't be read are passed over."""
    here = folder.resolve()
    found = []
    for path in sorted(here.parent.glob("*/notes.csv")):
        if path.parent == here:
            continue
        try:
            event = load(path.parent)
        except FolderError:
            continue
        found.append((event.settings.name or event.name, event.of(NoteRow)))
    return tuple(found)
