"""Tread readings between which a tyre kept its place: what wear is worked out from.

A reading of day N is taken after that day's runs, day 0 before the event. ``inner`` is the edge towards the car
as the tyre is fitted on that day.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise

from paddock.engine.tyres.counts import Place, Use, uses
from paddock.model.event import Event
from paddock.model.rows import TreadRow, TyreRow

EDGES = ("inner", "middle", "outer")


@dataclass(frozen=True, slots=True)
class Stretch:
    """From one reading of a tyre to its next. ``drop_mm``: edge to what wore off (negative: it grew).

    ``place`` None: the tyre changed places in between, so the wear can't be told apart.
    ``joined``: it begins with the reading that ended the stretch before it. ``kind``: the tyre's, None: not recorded.
    """

    tyre: str
    car: str
    place: Place | None
    runs: int
    days: tuple[int, int]
    line: int
    drop_mm: Mapping[str, float]
    joined: bool = False
    kind: str | None = None


def edges_of(row: TreadRow) -> dict[str, float]:
    """The edges that were measured, mm."""
    cells = {"inner": row.inner_mm, "middle": row.middle_mm, "outer": row.outer_mm}
    return {edge: depth for edge, depth in cells.items() if depth is not None}


def turned_over(edges: Mapping[str, float]) -> dict[str, float]:
    """The same depths after the tyre was turned over on its rim: inner and outer change names."""
    other = {"inner": "outer", "outer": "inner", "middle": "middle"}
    return {other[edge]: value for edge, value in edges.items()}


def by_tyre(event: Event) -> dict[str, list[TreadRow]]:
    """Readings of each tyre in order of day."""
    rows = sorted(event.of(TreadRow), key=lambda row: (row.tyre, row.day))
    return {tyre: list(group) for tyre, group in groupby(rows, key=lambda row: row.tyre)}


def _place_after(run_of: Sequence[Use], day: int) -> Place | None:
    """Where the tyre was after a day; before its first run: where that run found it."""
    done = [use for use in run_of if use.run.day <= day]
    return (done[-1] if done else run_of[0]).place if run_of else None


def _stretch(first: TreadRow, last: TreadRow, run_of: Sequence[Use], joined: bool) -> Stretch | None:
    between = [use for use in run_of if first.day < use.run.day <= last.day]
    before, after = _place_after(run_of, first.day), _place_after(run_of, last.day)
    if not between or before is None or after is None:
        return None
    start, end = edges_of(first), edges_of(last)
    if before.turned != after.turned:
        start = turned_over(start)
    places = {(use.car, use.place) for use in between}
    return Stretch(
        tyre=first.tyre,
        car=between[-1].car,
        place=between[0].place if len(places) == 1 else None,
        runs=len(between),
        days=(first.day, last.day),
        line=last.line,
        drop_mm={edge: start[edge] - end[edge] for edge in EDGES if edge in start and edge in end},
        joined=joined,
    )


def stretches(event: Event) -> tuple[Stretch, ...]:
    """All stretches of an event in which a tyre ran."""
    run_of: dict[str, list[Use]] = {}
    for use in uses(event):
        run_of.setdefault(use.tyre, []).append(use)
    kinds = {row.tyre: row.kind for row in event.of(TyreRow)}
    found: list[Stretch] = []
    for tyre, rows in by_tyre(event).items():
        found += [replace(part, kind=kinds.get(tyre)) for part in _of_tyre(rows, run_of.get(tyre, []))]
    return tuple(found)


def _of_tyre(rows: Iterable[TreadRow], run_of: Sequence[Use]) -> list[Stretch]:
    found: list[Stretch] = []
    for first, last in pairwise(rows):
        joined = bool(found) and found[-1].days[1] == first.day
        stretch = _stretch(first, last, run_of, joined)
        if stretch is not None:
            found.append(stretch)
    return found
