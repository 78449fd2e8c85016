"""How many runs each entry of a car still has today."""

from __future__ import annotations

from collections.abc import Mapping

from paddock.engine.pressure.readings import CarLog
from paddock.model.event import Event


def runs_left(event: Event, number: str, log: CarLog, day: int) -> dict[str, int] | None:
    """Runs that each entry of the car still has on ``day``; None: nobody says how many there are."""
    limit = event.settings.runs_on(day)
    if limit is None:
        return None
    found = {}
    for entry in event.numbers_of_car(number):
        entrant = event.entrant(entry)
        if (entrant is None and entry != number) or (entrant is not None and entrant.status is not None):
            continue
        driven = [run.run for run in log.run_rows() if (run.day, run.number) == (day, entry) and run.counted]
        stood = [row.run for row in event.times_of(entry) if (row.day, row.status) == (day, "dns")]
        found[entry] = max(0, limit - max([*driven, *stood], default=0))
    return found


def others_left(left: Mapping[str, int], number: str) -> tuple[tuple[str, int], ...]:
    """Who else still drives the car today, where ``number`` is done; empty: nobody, or ``number`` isn't done."""
    if left.get(number, 1):
        return ()
    return tuple((entry, runs) for entry, runs in left.items() if runs)
