"""Before an event is open: a new one, the example to try, and the notes of the events beside one."""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from paddock.errors import FolderError
from paddock.folders.reading import load
from paddock.ids import new_id
from paddock.model.rows import NoteRow
from paddock.store.fresh import write_fresh
from paddock.store.places import typed

if TYPE_CHECKING:
    from paddock.engine.cold import Place
    from paddock.engine.season.carry import Carried
    from paddock.model.event import Event


def new_event(
    folder: Path, name: str, days: Sequence[date], numbers: Sequence[str], place: Place | None = None,
    site: str | None = None, runs_per_day: int | None = None,
) -> Path:  # fmt: skip
    """Make an event folder with an id of its own; raises FolderError where that can't be.

    ``runs_per_day`` None: the template's.
    """
    said: dict[tuple[str, ...], object] = {("site",): site, ("runs_per_day",): runs_per_day}
    more = {} if place is None else {
        ("altitude_m",): place.altitude_m, ("forecast", "hottest_c"): place.hottest_c,
        ("forecast", "coldest_c"): place.coldest_c,
    }  # fmt: skip
    write_fresh(folder, name, list(days), list(numbers), new_id(), {**said, **more})
    return folder


def named_place(said: str, here: Path) -> tuple[Path, str]:
    """Folder and name of a new event from what was typed first: a name, or a path whose end is the name.

    A name that is taken gets a number. Raises UsageError for what can be no path.
    """
    if "/" in said or os.sep in said:
        folder = typed(said)
        return folder, folder.name.replace("_", " ").replace("-", " ").strip()
    stem = re.sub(r"\W+", "_", said.casefold()).strip("_")[:40] or "event"
    names = (stem, *(f"{stem}_{count}" for count in range(2, 1000)))
    return next(here / name for name in names if not os.path.lexists(here / name)), said


def carry_on(
    old: Path, event: Event, folder: Path, name: str, days: Sequence[date], place: Place, site: str | None,
    keep_index: bool = True,
) -> Carried:  # fmt: skip
    """Make ``folder`` the event after ``event`` (read from ``old``); what was carried.

    ``place``, ``site``: as in ``engine.prepare.carry``; ``keep_index`` False: the index table no longer holds.
    Raises FolderError.
    """
    from paddock.engine.season.carry import carry, without_index
    from paddock.folders.past import earlier_events
    from paddock.store.prepare import write_carried

    carried = carry(event, name, days, new_id, place, site, earlier_events(old, event))
    carried = carried if keep_index else without_index(event, carried)
    write_carried(old, folder, carried.edits)
    return carried


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
