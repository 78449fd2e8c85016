"""The folder zipped to share: rivals under their letters, in the tables and in what was written about the day."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from paddock.engine.share.names import Names, about_rivals
from paddock.errors import FolderError
from paddock.model.edit import Batch, ChangeRow, RemoveRow
from paddock.model.event import Event
from paddock.model.rows import ROWS, EntrantRow, NoteRow, Row
from paddock.store.archive import Packed, outside, pack_contents
from paddock.store.folder import Broken, read_docs
from paddock.store.plan import plan

_FREE = ("text", "topic", "note", "lost_where", "unsafe", "reason", "expect", "item", "opened", "due", "done", "sky")
"""Cells of free text; all others are numbers, codes and the names of my own things."""


def unnamed_edits(event: Event) -> Batch:
    """Rivals' names to letters, as the debrief has them; notes about rivals go."""
    names = Names(event)
    return Batch("without rivals' names", (*_entrants(event, names), *_texts(event, names)))


def _entrants(event: Event, names: Names) -> Iterator[ChangeRow]:
    for row in event.entrants:
        if row.driver and not names.is_mine(row.number):
            yield ChangeRow(EntrantRow.FILE, (row.number,), {"driver": names.label(row.number)})


def _texts(event: Event, names: Names) -> Iterator[ChangeRow | RemoveRow]:
    for spec in ROWS.values():
        for row in event.of(spec):
            if isinstance(row, NoteRow) and about_rivals(row):
                yield RemoveRow(row.FILE, row.key)
            elif cells := dict(_cleaned(row, names)):
                yield ChangeRow(row.FILE, row.key, cells, {field: getattr(row, field) for field in cells})


def _cleaned(row: Row, names: Names) -> Iterator[tuple[str, str]]:
    for field in set(_FREE).intersection(type(row).model_fields).difference(row.KEY):
        text = getattr(row, field)
        if isinstance(text, str) and (shown := names.clean(text)) != " ".join(text.split()):
            yield field, shown


def pack_unnamed(folder: Path, event: Event, target: Path) -> Packed:
    """Zip the files of the contract without rivals' names; everything else in the folder stays out and is named.

    Raises FolderError where a file can't be read, or a name still stands somewhere: nothing is written then.
    """
    home = outside(folder, target)
    docs = read_docs(home)
    broken = [file for file, doc in docs.items() if isinstance(doc, Broken)]
    if broken:
        raise FolderError(f"{broken[0]} can't be read, so nobody can say what names are in it: mend it first")
    plan(docs, unnamed_edits(event))
    contents = {file: doc.data for file, doc in docs.items() if doc.data is not None}
    _hold_back(event, contents)
    inside = (path.relative_to(home).as_posix() for path in sorted(home.rglob("*")) if path.is_file())
    others = (name for name in inside if name not in contents and not name.startswith("."))
    return pack_contents(home.name, contents, tuple(others), target)


def _hold_back(event: Event, contents: dict[str, bytes]) -> None:
    """A name in a comment or in a line that can't be read is found by looking for it."""
    names = Names(event)
    rivals = {item.driver for item in event.entrants if item.driver and not names.is_mine(item.number)}
    if not rivals:
        return
    either = "|".join(r"\s+".join(map(re.escape, name.split())) for name in sorted(rivals))
    pattern = re.compile(rf"(?<!\w)(?:{either})(?!\w)", re.IGNORECASE)
    for file, data in contents.items():
        if pattern.search(data.decode("utf-8", "replace")):
            raise FolderError(f"a rival's name still stands in {file}, in a comment or a faulty line: take it out")
