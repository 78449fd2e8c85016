"""What can't be so about tyres: asked about, kept in the file, named with its line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby

from paddock.engine.tyres.counts import my_cars, runs_of
from paddock.engine.tyres.datecode import code_question
from paddock.engine.tyres.readings import EDGES, stretches
from paddock.engine.tyres.wear import GROWTH_MM
from paddock.errors import Problem
from paddock.model.event import Event
from paddock.model.rows import FittedRow, TreadRow, TyreRow


def _ask(file: str, line: int, message: str) -> Problem:
    return Problem(file, line, message, "warning")


def _clashes(held: dict[str, FittedRow]) -> Iterator[tuple[FittedRow, FittedRow]]:
    """``(earlier, later)`` rows that put one tyre on two corners; the earlier corner is given up."""
    seen: dict[str, FittedRow] = {}
    for row in sorted(held.values(), key=lambda row: (row.day, row.run or 0, row.line)):
        if row.tyre in seen:
            yield seen[row.tyre], row
            del held[seen[row.tyre].corner]
        seen[row.tyre] = row


def _two_corners(event: Event) -> Iterator[Problem]:
    """A tyre put on a corner while it is still on another that gets no other tyre at that moment."""
    for numbers in my_cars(event).values():
        rows = [row for row in event.of(FittedRow) if row.number in numbers]
        rows.sort(key=_moment)
        held: dict[str, FittedRow] = {}
        for _, group in groupby(rows, key=_moment):
            held |= {row.corner: row for row in group}
            for before, row in _clashes(held):
                yield _ask(
                    row.FILE,
                    row.line,
                    f"tyre {row.tyre} is put on {row.corner} and is still on {before.corner} (line {before.line}): "
                    f"counted on {row.corner}; which is it, and what is on the other corner?",
                )


def _moment(row: FittedRow) -> tuple[int, int]:
    return row.day, row.run or 0


def _growing(event: Event) -> Iterator[Problem]:
    for part in stretches(event):
        for edge in EDGES:
            grown = -part.drop_mm.get(edge, 0.0)
            if grown > 1e-9:
                used = "left out of the wear" if grown > GROWTH_MM else "kept, as a gauge may scatter so much"
                yield _ask(
                    TreadRow.FILE,
                    part.line,
                    f"the {edge} edge of tyre {part.tyre} grew by {grown:.2f} mm from day {part.days[0]} to day "
                    f"{part.days[1]}: {used}; measure again, or was it turned over on its rim (orientation)?",
                )


def _unknown(event: Event) -> Iterator[Problem]:
    known = {row.tyre for row in event.of(TyreRow)}
    named = [(row.FILE, row.tyre, row.line) for row in event.of(FittedRow)]
    named += [(row.FILE, row.tyre, row.line) for row in event.of(TreadRow)]
    first = {(file, tyre): line for file, tyre, line in reversed(named)}
    for (file, tyre), line in first.items():
        if known and tyre not in known:
            yield _ask(file, line, f"tyre {tyre} isn't in tyres.csv: add it, or mend the name")


def _codes(event: Event) -> Iterator[Problem]:
    on = max(event.settings.days, default=None)
    for row in event.of(TyreRow):
        question = code_question(row.date_code, on)
        if question:
            yield _ask(row.FILE, row.line, f"tyre {row.tyre}: {question}")


def _falling(event: Event, past: Iterable[Event]) -> Iterator[Problem]:
    most: dict[str, tuple[int, str]] = {}
    for old in past:
        for tyre, runs in runs_of(old).items():
            most[tyre] = max(most.get(tyre, (0, "")), (runs, old.settings.name or old.name))
    for row in event.of(TyreRow):
        runs, where = most.get(row.tyre, (0, ""))
        if row.runs_before is not None and row.runs_before < runs:
            yield _ask(
                row.FILE,
                row.line,
                f"tyre {row.tyre} has {row.runs_before} runs before this event, but {runs} after {where}: a run count "
                f"can't fall; write {runs}, or give a new tyre a new name",
            )


def questions(event: Event, past: Iterable[Event] = ()) -> tuple[Problem, ...]:
    """Every doubt about the tyres of an event, as warnings. ``past``: events before it."""
    found = [*_two_corners(event), *_growing(event), *_unknown(event), *_codes(event), *_falling(event, past)]
    return tuple(sorted(found))
