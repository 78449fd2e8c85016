"""What was written down: on the notes page, or with a run."""

from __future__ import annotations

from paddock.model.event import Event
from paddock.model.rows import NoteRow, RunRow


def all_notes(event: Event) -> tuple[NoteRow, ...]:
    """My notes, then those typed with a run: these have no id, for they stay the run's, and their topic says whose."""
    of_runs = (
        NoteRow(id="", day=row.day, run=row.run, at=row.at, topic=f"with the run of {row.number}", text=row.note)
        for row in event.of(RunRow)
        if row.note
    )
    return (*event.of(NoteRow), *of_runs)
