"""A change of set-up, written down for the run to come."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from paddock.engine.car.setup_sheet import setup_in_force
from paddock.engine.work.rechecks import with_rechecks
from paddock.ids import new_id
from paddock.model.edit import AddRow, Batch
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
