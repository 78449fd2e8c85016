"""An import from a source's tables to the open event: what the command and the screen share."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from paddock.engine.results import ColumnMap, Understood, choose, edits, propose, remembered_form, signature, understand
from paddock.engine.results.headers import find_head
from paddock.engine.results.who import Entries, read_entries
from paddock.engine.share.names import Names, about_rivals
from paddock.errors import FolderError, UsageError
from paddock.model.edit import Batch, ChangeRow, RemoveRow
from paddock.model.event import Event
from paddock.model.rows import ROWS, CellGrid, EntrantRow, NoteRow, Row
from paddock.session import Saved, Session
from paddock.store.archive import Packed, outside, pack_contents
from paddock.store.csvfile import CsvFile
from paddock.store.folder import Broken, read_docs
from paddock.store.nearby import remember, remembered
from paddock.store.plan import plan

# the folder zipped to share: rivals under their letters, in the tables and in what was written about the day


_FREE = ("text", "topic", "note", "lost_where", "unsafe", "reason", "expect", "item", "opened", "due", "done", "sky")
"""Cells of free text; all others are numbers, codes and the names of my own things."""


def unnamed_edits(event: Event) -> Batch:
    """Rivals' names to letters, as the debrief has them; notes about rivals go."""
    names = Names(event)
    return Batch("without rivals' names", (*_entrants(event, names), *_texts(event, names)))


def _entrants(event: Event, names: Names) -> Iterator[ChangeRow]:
    for row in event.everybody:
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
    entrants = docs.get(EntrantRow.FILE)
    faulty = (
        [at for at, record in enumerate(entrants.records) if record.faults] if isinstance(entrants, CsvFile) else []
    )
    if isinstance(entrants, CsvFile) and faulty:
        line = entrants.starts[faulty[0]]
        raise FolderError(f"line {line} of entrants.csv can't be read, so nobody can say what name is in it: mend it")
    plan(docs, unnamed_edits(event))
    contents = {file: doc.data for file, doc in docs.items() if doc.data is not None}
    _hold_back(event, contents)
    inside = (path.relative_to(home).as_posix() for path in sorted(home.rglob("*")) if path.is_file())
    others = (name for name in inside if name not in contents and not name.startswith("."))
    return pack_contents(home.name, contents, tuple(others), target)


def _hold_back(event: Event, contents: dict[str, bytes]) -> None:
    """A name in a comment or in a line that can't be read is found by looking for it."""
    names = Names(event)
    rivals = {item.driver for item in event.everybody if item.driver and not names.is_mine(item.number)}
    if not rivals:
        return
    either = "|".join(r"\s+".join(map(re.escape, name.split())) for name in sorted(rivals))
    pattern = re.compile(rf"(?<!\w)(?:{either})(?!\w)", re.IGNORECASE)
    for file, data in contents.items():
        if pattern.search(data.decode("utf-8", "replace")):
            raise FolderError(f"a rival's name still stands in {file}, in a comment or a faulty line: take it out")


_SHOWN = 30


@dataclass(frozen=True, slots=True)
class ImportTold:
    """What the user says of a source: ``table`` from 1, ``columns`` as after ``--map``, ``day``; None: not said."""

    table: int | None = None
    columns: str | None = None
    day: int | None = None


@dataclass(frozen=True, slots=True)
class ImportPlan:
    """A source's tables, the one chosen (``place`` from 1), its columns and what they say to ``event``."""

    event: Event
    grids: tuple[CellGrid, ...]
    place: int
    columns: ColumnMap
    understood: Understood
    told: ImportTold

    @property
    def grid(self) -> CellGrid:
        """The chosen table."""
        return self.grids[self.place - 1]


def make_plan(
    folder: Path,
    event: Event,
    grids: Sequence[CellGrid],
    told: ImportTold | None = None,
    now: datetime | None = None,
    tick: Callable[[int, int], None] | None = None,
) -> ImportPlan:
    """What an import would do. ``now``: local clock; ``tick``: rows done and rows in all, for progress.

    Raises UsageError for a table or column that isn't there, or when the columns can't be told.
    """
    told = told or ImportTold()
    known = remembered(folder)
    place = choose(grids, event, known) + 1 if told.table is None else _table(told.table, grids)
    grid = grids[place - 1]
    columns = propose(grid, event, known, told.columns)
    if not columns.usable:
        raise UsageError(_which_columns(grid))
    return ImportPlan(event, tuple(grids), place, columns, understand(grid, columns, event, told.day, now, tick), told)


def refusal(plan: ImportPlan) -> str | None:
    """Why the plan should not be carried out as it stands, in a sentence; None where nothing speaks against it."""
    waived = {"other": plan.told.day is not None, "shared": plan.told.columns is not None, "run": False}
    ways = {"other": "; if it is of this event, say so with --day N", "run": ""}
    ways["shared"] = "; give the columns with --map to take the other rows without these"
    doubt = next((doubt for doubt in plan.understood.doubts if not waived[doubt.kind]), None)
    if doubt is not None:
        return f"nothing was brought in: {doubt.why}{ways[doubt.kind]}"
    if plan.understood.rows or any(item.number in plan.event.out for item in plan.understood.new_entrants):
        return None
    first = next(iter(plan.understood.unread), None)
    return f"nothing in the table could be read: {f'line {first.line}: {first.why}' if first else 'it holds no times'}"


def bring_in(session: Session, plan: ImportPlan, now: datetime | None = None) -> tuple[Saved, ImportPlan]:
    """Carries the plan out on the open event as one edit, and remembers its columns.

    The plan that comes back is held against the event as it was just before. Where the table puts an entrant's class
    right whose row was out for it, that comes first: only then can its runs be told from those that are there.
    """
    event, understood = session.event, plan.understood
    put_right = tuple(item for item in understood.new_entrants if item.number in event.out)
    first = edits(replace(understood, rows=(), differences=(), new_entrants=put_right), event).edits
    if first:
        event = session.would_be(Batch("classes put right", first))
    if event is not plan.event:
        understood = understand(plan.grid, plan.columns, event, understood.day, now)
    batch = edits(understood, event)
    batch = replace(batch, edits=(*first, *batch.edits))
    saved = session.apply(batch) if batch.edits else Saved(True, "nothing to change")
    if saved.ok:
        remember(session.path, signature(plan.grid), remembered_form(plan.grid, plan.columns))
    return saved, replace(plan, event=event, understood=understood)


def _table(number: int, grids: Sequence[CellGrid]) -> int:
    if not 1 <= number <= len(grids):
        names = "; ".join(f"{at} {grid.name[:40] or ' '.join(grid.rows[0])[:40]}" for at, grid in enumerate(grids, 1))
        raise UsageError(f"there is no table {number}: the source has {names}")
    return number


def _which_columns(grid: CellGrid) -> str:
    labels = find_head(grid).labels[:_SHOWN]
    shown = ", ".join(f"{at} {(label or grid.rows[-1][at - 1])[:_SHOWN]}" for at, label in enumerate(labels, 1))
    return (
        "it can't be told which columns hold the numbers and the times: name them with --map number=…,run1=… "
        f"by header or place; the columns are {shown}"
    )


@dataclass(frozen=True, slots=True)
class EntrantsPlan:
    """A list of entrants as it is understood by ``columns``; ``keep`` remembers them for the next list of its kind."""

    folder: Path
    grid: CellGrid
    columns: ColumnMap
    found: Entries

    def keep(self) -> None:
        """It was taken in."""
        remember(self.folder, signature(self.grid), remembered_form(self.grid, self.columns))


def plan_entrants(folder: Path, event: Event, grids: Sequence[CellGrid], given: str | None = None) -> EntrantsPlan:
    """The entrants of a source. Raises UsageError for a column that isn't there, ValueError where no numbers are."""
    known = remembered(folder)
    grid = grids[choose(grids, event, known)]
    columns = propose(grid, event, known, given)
    return EntrantsPlan(folder, grid, columns, read_entries(grid, columns, event))
