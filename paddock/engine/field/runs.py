"""Which timed runs say something about pace, by entrant and slot.

A slot is ``(day, run number)``. Only runs driven round the whole course count, cones or not: their raw time,
penalties off. Runs with a missed gate, without a time or with any status (``dnf``, ``rerun``, ``practice`` ...)
say nothing and are left out.
"""

from __future__ import annotations

from paddock.model.event import Event
from paddock.model.rows import GridRow, RunRow

Slot = tuple[int, int]


def raw_times(event: Event) -> dict[str, dict[Slot, int]]:
    """Number to slot to raw milliseconds; of two rows for one slot the later in the file stands."""
    found: dict[str, dict[Slot, int]] = {}
    for row in event.times:
        if row.time_ms and row.status is None and not row.misses:
            mine = found.get(row.number)
            if mine is None:
                mine = found[row.number] = {}
            mine[row.day, row.run] = row.time_ms
    return found


def mistakes(event: Event) -> frozenset[tuple[str, Slot]]:
    """Number and slot of the runs their driver marked as a mistake."""
    return frozenset((row.number, (row.day, row.run)) for row in event.of(RunRow) if row.mistake)


def void_entrants(event: Event) -> frozenset[str]:
    """Numbers whose every run is void."""
    return frozenset(entrant.number for entrant in event.entrants if entrant.status == "dsq")


def groups_of(event: Event, day: int) -> dict[str, str | None]:
    """Number to run group on a day; a blank group is None."""
    return {row.number: row.group for row in event.of(GridRow) if row.day == day}
