"""A change of set-up, written down for the run to come; kept, reverted or taken back later."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from paddock.engine.car.setup_sheet import setup_in_force
from paddock.engine.clock.schedule import next_run
from paddock.engine.work.rechecks import with_rechecks
from paddock.ids import new_id
from paddock.model.edit import AddRow, Batch, ChangeRow
from paddock.model.event import Event
from paddock.model.rows import SetupChange


def add_change(event: Event, number: str, day: int, run: int, at: str, said: Mapping[str, object]) -> Batch:
    """A change in force from ``run`` on, and what it makes one look at again.

    ``said``: item, before, after, reason, expect, kind as far as known. An item that is a setting of the car is logged
    as that setting.
    """
    name = str(said["item"]).strip().replace(" ", "_").casefold()
    known = (item.key for item in setup_in_force(event, number))
    cells: dict[str, Any] = {
        "id": new_id(), "day": day, "run": run, "at": at, "number": number,
        "setting": next((key for key in known if key.casefold() == name), name), **said,
    }  # fmt: skip
    return with_rechecks(event, AddRow(SetupChange.FILE, cells))


def decide(change: SetupChange, decision: str | None) -> Batch:
    """Keep or revert a change, or open it again."""
    label = {"keep": "keep", "revert": "revert"}.get(decision or "", "open again")
    return Batch(f"{label}: {change.item}", (ChangeRow(SetupChange.FILE, (change.id,), {"decision": decision}),))


def take_back(event: Event, change: SetupChange, number: str, day: int, at: str) -> Batch:
    """Back to the old setting: a row that undoes the change, and the decision on it."""
    cells: dict[str, Any] = {
        "id": new_id(), "day": day, "run": next_run(event, number, day), "at": at, "number": change.number,
        "kind": change.kind, "setting": change.setting, "item": change.item, "before": change.after,
        "after": change.before, "undoes": change.id,
    }  # fmt: skip
    edits = (AddRow(SetupChange.FILE, cells), ChangeRow(SetupChange.FILE, (change.id,), {"decision": "revert"}))
    return Batch(f"take back: {change.item}", edits)
