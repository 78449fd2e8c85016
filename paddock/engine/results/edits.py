"""The edits of an import, as one for undo."""

from __future__ import annotations

from collections.abc import Iterator

from paddock.engine.results.changes import Change, changes, note_id, note_text
from paddock.engine.results.seen import Difference, NewEntrant, Understood
from paddock.model.edit import AddRow, Batch, ChangeRow
from paddock.model.event import Event
from paddock.model.rows import EntrantRow, NoteRow, TimeRow
from paddock.words import plural


def edits(understood: Understood, event: Event) -> Batch:
    """Entrants to complete later, runs added and changed, and a note of each run of mine posted otherwise.

    Empty when the event already has all of it.
    """
    made: list[AddRow | ChangeRow] = [edit for item in understood.new_entrants for edit in _entrant(item)]
    found = changes(understood.rows, event)
    made += [edit for change in found for edit in _time(change)]
    notes = {note.id: note for note in event.of(NoteRow)}
    by_key = {(change.posted.day, change.posted.run, change.posted.number): change for change in found}
    for difference in understood.differences:
        change = by_key[difference.day, difference.run, difference.number]
        made += _note(difference, change, notes.get(note_id(change.posted)))
    label = f"import of {plural(understood.added + understood.updated, 'run')} for day {understood.day}"
    return Batch(label, tuple(made))


def _entrant(item: NewEntrant) -> Iterator[AddRow | ChangeRow]:
    cells = {name: value for name, value in (("driver", item.driver), ("class_", item.class_)) if value is not None}
    if item.known:
        yield ChangeRow(EntrantRow.FILE, (item.number,), cells)
    else:
        yield AddRow(EntrantRow.FILE, {"number": item.number, **cells})


def _time(change: Change) -> Iterator[AddRow | ChangeRow]:
    if change.before is None:
        yield AddRow(TimeRow.FILE, dict(change.cells))
    elif change.cells:
        yield ChangeRow(TimeRow.FILE, change.before.key, dict(change.cells), {"status": change.before.status})


def _note(difference: Difference, change: Change, note: NoteRow | None) -> Iterator[AddRow | ChangeRow]:
    text = note_text(difference)
    if note is None:
        cells = {"day": difference.day, "run": difference.run, "topic": "posted", "text": text}
        yield AddRow(NoteRow.FILE, {"id": note_id(change.posted), **cells})
    elif note.text != text:
        yield ChangeRow(NoteRow.FILE, note.key, {"text": text})
