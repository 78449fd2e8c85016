"""An open event in memory, with the real session's face: for pilots of the screens."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

from paddock.engine.gaps import GapAnswer
from paddock.engine.tables import Standings
from paddock.errors import RefusedError
from paddock.model.edit import AddRow, Batch, ChangeRow, Edit, RemoveRow
from paddock.model.event import Event
from paddock.model.rows import ROWS, Row
from paddock.scoring import gap_of, standings_of


@dataclass(frozen=True)
class Saved:
    ok: bool
    message: str


@dataclass
class FakeSession:
    """``broken``: why nothing can be saved; "" = it can."""

    path: Path
    event: Event
    version: int = 0
    broken: str = ""
    unsaved: tuple[Edit, ...] = ()
    _past: list[tuple[str, Event]] = field(default_factory=list)
    _future: list[tuple[str, Event]] = field(default_factory=list)
    closed: bool = False

    @property
    def can_undo(self) -> str | None:
        return self._past[-1][0] if self._past else None

    @property
    def can_redo(self) -> str | None:
        return self._future[-1][0] if self._future else None

    def apply(self, edit: Edit) -> Saved:
        self._past.append((edit.label if isinstance(edit, Batch) else "an edit", self.event))
        self._future.clear()
        for one in edit.edits if isinstance(edit, Batch) else (edit,):
            self.event = _applied(self.event, one)
        self.version += 1
        if self.broken:
            self.unsaved = (*self.unsaved, edit)
            return Saved(False, self.broken)
        return Saved(True, "saved")

    def retry(self) -> Saved:
        if self.broken:
            return Saved(False, self.broken)
        self.unsaved = ()
        return Saved(True, "saved")

    def undo(self) -> str:
        return self._swap(self._past, self._future, "undone")

    def redo(self) -> str:
        return self._swap(self._future, self._past, "redone")

    def _swap(self, source: list[tuple[str, Event]], to: list[tuple[str, Event]], word: str) -> str:
        if not source:
            raise RefusedError(f"nothing to be {word}")
        label, event = source.pop()
        to.append((label, self.event))
        self.event = event
        self.version += 1
        return label

    def poll(self) -> bool:
        return False

    def watch(self, callback: Callable[[], None]) -> None:
        del callback

    def close(self) -> None:
        self.closed = True

    def standings(self, day: int | None = None) -> Standings:
        return standings_of(self.event, day)

    def gap(self, number: str, day: int | None = None) -> GapAnswer:
        return gap_of(self.event, number, day)


def _applied(event: Event, edit: object) -> Event:
    assert isinstance(edit, AddRow | ChangeRow | RemoveRow)
    rows = list(event.tables.get(edit.file, ()))
    model = ROWS[edit.file]
    if isinstance(edit, AddRow):
        rows.append(model(**edit.cells))
    else:
        at = next(at for at, row in enumerate(rows) if row.key == edit.key)
        changed: list[Row] = [] if isinstance(edit, RemoveRow) else [model(**rows[at].model_dump() | dict(edit.cells))]
        rows[at : at + 1] = changed
    return replace(event, tables={**event.tables, edit.file: tuple(rows)})
