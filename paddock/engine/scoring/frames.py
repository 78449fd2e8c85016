"""Rows to polars frames: the one place where the frames' columns are declared.

Entrants are known inside by their position ``e`` in ``entrants.csv``, so that a lookup is a gather.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import polars as pl

from paddock.engine.scoring.plain import factor_of_entrant
from paddock.engine.scoring.tables import by_number, has_run
from paddock.model.event import Event
from paddock.model.rows import EntrantRow, TimeRow
from paddock.model.settings import Settings

TIMES = {
    "e": pl.UInt32,
    "day": pl.Int64,
    "run": pl.Int64,
    "time_ms": pl.Int64,
    "cones": pl.Int64,
    "misses": pl.Int64,
    "void": pl.Boolean,
}
"""One row per recorded run in file order; ``time_ms`` null where there is none, counts 0 where blank;
``void`` by status alone. Re-runs' first tries, practice and rows without time and status are left out."""

ENTRANTS = {
    "number": pl.String,
    "driver": pl.String,
    "class": pl.String,
    "class_at": pl.Int64,
    "num": pl.Int64,
    "den": pl.Int64,
    "dsq": pl.Boolean,
    "withdrawn": pl.Boolean,
    "order": pl.Int64,
}
"""One row per entrant; ``class_at`` the class's place in event.toml, null for none; ``num/den`` the exact
index, null where there is none; ``order`` by number."""


def times_frame(rows: Iterable[TimeRow], entrants: Sequence[EntrantRow]) -> pl.DataFrame:
    """``TIMES`` from rows of known numbers; others are left out."""
    position = {item.number: place for place, item in enumerate(entrants)}
    known = [row for row in rows if row.number in position and has_run(row)]
    return pl.DataFrame(
        {
            "e": [position[row.number] for row in known],
            "day": [row.day for row in known],
            "run": [row.run for row in known],
            "time_ms": [row.time_ms for row in known],
            "cones": [row.cones or 0 for row in known],
            "misses": [row.misses or 0 for row in known],
            "void": [row.status is not None for row in known],
        },
        schema=TIMES,
    )


def entrants_frame(entrants: Sequence[EntrantRow], settings: Settings) -> pl.DataFrame:
    """``ENTRANTS`` in file order."""
    places = {item.code: place for place, item in enumerate(settings.classes)}
    factors = [factor_of_entrant(item, settings) for item in entrants]
    placed = sorted(range(len(entrants)), key=lambda place: by_number(entrants[place].number))
    order = [0] * len(entrants)
    for rank, place in enumerate(placed):
        order[place] = rank
    return pl.DataFrame(
        {
            "number": [item.number for item in entrants],
            "driver": [item.driver or "" for item in entrants],
            "class": [item.class_ for item in entrants],
            "class_at": [places.get(item.class_ or "") for item in entrants],
            "num": [factor.num if factor else None for factor in factors],
            "den": [factor.den if factor else None for factor in factors],
            "dsq": [item.status == "dsq" for item in entrants],
            "withdrawn": [item.status == "withdrawn" for item in entrants],
            "order": order,
        },
        schema=ENTRANTS,
    )


def frames_of(event: Event) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Times and entrants of an event."""
    return times_frame(event.times, event.entrants), entrants_frame(event.entrants, event.settings)
