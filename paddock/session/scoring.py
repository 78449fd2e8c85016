"""Which scorer answers: polars, or the plain one where polars can't run or isn't worth importing.

Both give the same tables. Polars takes 0.2 s to import, as long as the plain scorer takes over 60,000 runs.
"""

from __future__ import annotations

import sys

from paddock.engine.scoring import plain
from paddock.engine.scoring.gap import GapAnswer, gap
from paddock.engine.scoring.tables import Standings
from paddock.errors import UsageError
from paddock.model.event import Event
from paddock.store.processor import why_not_polars

FEW_RUNS = 4000
"""Up to here polars is used only if it is imported already."""


def standings_of(event: Event, day: int | None = None) -> Standings:
    """Every table, of a day or in total."""
    few = len(event.times) <= FEW_RUNS and "polars" not in sys.modules
    if few or why_not_polars() is not None:
        return plain.standings(event, day)
    from paddock.engine.scoring.standings import standings

    return standings(event, day)


def gap_of(event: Event, number: str, day: int | None = None, found: Standings | None = None) -> GapAnswer:
    """What ``number`` must find. ``found``: the totals, if they are at hand. KeyError: not entered."""
    if event.settings.rules.days == "separate" and day is not None:
        found = standings_of(event, day)
    return gap(event, number, found or standings_of(event), day)


def need_polars(what: str) -> None:
    """Raises UsageError, with the mend, where ``what`` can't be done without polars."""
    why = why_not_polars()
    if why is not None:
        raise UsageError(f"{what} needs polars: {why}")
