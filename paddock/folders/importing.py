"""An import from a source's tables to the open event: what the command and the screen share."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from paddock.engine.results import (
    ColumnMap,
    Understood,
    choose,
    edits,
    propose,
    remembered_form,
    signature,
    understand,
)
from paddock.engine.results.headers import find_head
from paddock.errors import UsageError
from paddock.model.event import Event
from paddock.model.grid import Grid
from paddock.session import Saved, Session
from paddock.store.remembered import remember, remembered

_SHOWN = 30


@dataclass(frozen=True, slots=True)
class Told:
    """What the user says of a source: ``table`` from 1, ``columns`` as after ``--map``, ``day``; None: not said."""

    table: int | None = None
    columns: str | None = None
    day: int | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """A source's tables, the one chosen (``place`` from 1), its columns and what they say to ``event``."""

    event: Event
    grids: tuple[Grid, ...]
    place: int
    columns: ColumnMap
    understood: Understood
    told: Told

    @property
    def grid(self) -> Grid:
        """The chosen table."""
        return self.grids[self.place - 1]


def make_plan(
    folder: Path,
    event: Event,
    grids: Sequence[Grid],
    told: Told | None = None,
    now: datetime | None = None,
    tick: Callable[[int, int], None] | None = None,
) -> Plan:
    """What an import would do. ``now``: local clock; ``tick``: rows done and rows in all, for progress.

    Raises UsageError for a table or column that isn't there, or when the columns can't be told.
    """
    told = told or Told()
    known = remembered(folder)
    place = choose(grids, event, known) + 1 if told.table is None else _table(told.table, grids)
    grid = grids[place - 1]
    columns = propose(grid, event, known, told.columns)
    if not columns.usable:
        raise UsageError(_which_columns(grid))
    return Plan(event, tuple(grids), place, columns, understand(grid, columns, event, told.day, now, tick), told)


def refusal(plan: Plan) -> str | None:
    """Why the plan should not be carried out as it stands, in a sentence; None where nothing speaks against it."""
    waived = {"other": plan.told.day is not None, "shared": plan.told.columns is not None, "run": False}
    ways = {"other": "; if it is of this event, say so with --day N", "run": ""}
    ways["shared"] = "; give the columns with --map to take the other rows without these"
    doubt = next((doubt for doubt in plan.understood.doubts if not waived[doubt.kind]), None)
    if doubt is not None:
        return f"nothing was brought in: {doubt.why}{ways[doubt.kind]}"
    if plan.understood.rows:
        return None
    first = next(iter(plan.understood.unread), None)
    return f"nothing in the table could be read: {f'line {first.line}: {first.why}' if first else 'it holds no times'}"


def bring_in(session: Session, plan: Plan, now: datetime | None = None) -> tuple[Saved, Plan]:
    """Carries the plan out on the open event as one edit, and remembers its columns.

    The plan that comes back is held against the event as it was just before.
    """
    event, understood = session.event, plan.understood
    if event is not plan.event:
        understood = understand(plan.grid, plan.columns, event, understood.day, now)
    batch = edits(understood, event)
    saved = session.apply(batch) if batch.edits else Saved(True, "nothing to change")
    if saved.ok:
        remember(session.path, signature(plan.grid), remembered_form(plan.grid, plan.columns))
    return saved, replace(plan, event=event, understood=understood)


def _table(number: int, grids: Sequence[Grid]) -> int:
    if not 1 <= number <= len(grids):
        names = "; ".join(f"{at} {grid.name[:40] or ' '.join(grid.rows[0])[:40]}" for at, grid in enumerate(grids, 1))
        raise UsageError(f"there is no table {number}: the source has {names}")
    return number


def _which_columns(grid: Grid) -> str:
    labels = find_head(grid).labels[:_SHOWN]
    shown = ", ".join(f"{at} {(label or grid.rows[-1][at - 1])[:_SHOWN]}" for at, label in enumerate(labels, 1))
    return (
        "it can't be told which columns hold the numbers and the times: name them with --map number=…,run1=… "
        f"by header or place; the columns are {shown}"
    )
