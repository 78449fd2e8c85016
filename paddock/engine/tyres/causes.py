"""Why an axle's tyres go first: what the log has on it, joined in one paragraph, with possible causes.

The causes are common practice, no source: none is proved by a log, and more than one may be at work.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from statistics import fmean

from paddock.engine.car.setup_sheet import NOW, setup_at
from paddock.engine.tyres.counts import my_cars
from paddock.engine.tyres.inventory import Inventory, TyreState
from paddock.model.event import Event
from paddock.model.rows import RunRow, TreadTempRow

APART_C = 3.0
"""Tread temperatures closer than this say nothing (a choice, no source)."""
AXLES = {"front": ("lf", "rf"), "rear": ("lr", "rr")}


def _shortest(found: Inventory, held: Mapping[str, str]) -> tuple[str, list[TyreState]] | None:
    """The axle with the fewest runs left and its tyres."""
    axles = {
        axle: [state for corner in pair if corner in held and (state := found.of(held[corner]))]
        for axle, pair in AXLES.items()
    }
    known = {
        axle: min(state.life.runs for state in states if state.life.runs is not None)
        for axle, states in axles.items() if any(state.life.runs is not None for state in states)
    }  # fmt: skip
    if not known:
        return None
    axle = min(known, key=lambda name: known[name])
    return axle, axles[axle]


def _edge(states: Sequence[TyreState]) -> str | None:
    edges = Counter(state.life.edge for state in states if state.life.edge)
    return edges.most_common()[0][0] if edges else None


def _marks(rows: Sequence[TreadTempRow]) -> str:
    marks = Counter(row.mark for row in rows if row.mark)
    said = ", ".join(f"{count} {mark}" for mark, count in marks.most_common())
    return f"roll-over marks {said}" if said else "no roll-over mark recorded"


def _temps(rows: Sequence[TreadTempRow]) -> tuple[str, str]:
    """In words, and the edge that is hotter: ``inner``, ``outer``, ``middle`` or blank."""
    full = [
        (row.inner_c, row.middle_c, row.outer_c) for row in rows
        if row.inner_c is not None and row.middle_c is not None and row.outer_c is not None
    ]  # fmt: skip
    if not full:
        return "no tread temperature recorded", ""
    inner, middle, outer = (fmean(row[at] for row in full) for at in range(3))
    said = f"tread {inner:.0f}/{middle:.0f}/{outer:.0f} °C inner to outer on average"
    if middle - (inner + outer) / 2 >= APART_C:
        return said, "middle"
    return said, "" if abs(outer - inner) < APART_C else "outer" if outer > inner else "inner"


def _balance(event: Event, numbers: Sequence[str], axle: str) -> tuple[str, bool]:
    """Runs with a mark of that axle sliding, in words, and whether they are half of those marked."""
    name, sign = ("understeer", -1) if axle == "front" else ("oversteer", 1)
    rows = [row for row in event.of(RunRow) if row.number in numbers]
    marked = [[value for value in (row.entry, row.mid, row.exit) if value is not None] for row in rows]
    marked = [values for values in marked if values]
    slid = sum(1 for values in marked if any(value * sign >= 1 for value in values))
    return f"{name} marked on {slid} of {len(marked)} runs" if marked else "no balance marked", slid * 2 >= len(
        marked
    ) > 0


def _static(event: Event, number: str, axle: str) -> str:
    """Toe and camber as recorded; what is not is said."""
    known = setup_at(event, number, *NOW)
    said = []
    for word in ("toe", "camber"):
        value = next((text for key, text in known.items() if word in key and axle in key), None)
        said.append(f"{axle} {word} not recorded" if value is None else f"{axle} {word} {value}")
    return ", ".join(said)


def _causes(axle: str, edge: str, past: bool, hot: str, slides: bool, static: str) -> Iterator[str]:
    toe = static.partition(",")[0]
    if edge == "outer":
        if past:
            yield "where marked past it rolled over its shoulder: too little pressure for the load, or much body roll"
        if slides:
            yield "scrub while it slides" + (" (slower in, less lock)" if axle == "front" else " (gentler on power)")
        if "camber not recorded" in static:
            yield "too little negative camber: measure it"
        elif hot == "outer" or not past:
            yield "too little negative camber for this cornering"
        if " in" in toe:
            yield "toe-in wears the outer edges"
    elif edge == "inner":
        if "out" in toe:
            yield "toe-out wears the inner edges"
        yield "much negative camber" + (": measure it" if "camber not recorded" in static else "")
    else:
        yield "a pressure too high for the load wears the middle"


def _paragraph(event: Event, car: str, numbers: Sequence[str], axle: str, states: Sequence[TyreState]) -> str | None:
    edge = _edge(states)
    if edge is None:
        return None
    rows = [row for row in event.of(TreadTempRow) if row.number in numbers and row.corner in AXLES[axle]]
    (temps, hot), (felt, slides) = _temps(rows), _balance(event, numbers, axle)
    static = _static(event, numbers[0], axle)
    past = any(row.mark == "past" for row in rows)
    causes = "; ".join(_causes(axle, edge, past, hot, slides, static))
    return (
        f"Why the {axle}s of the {car} go first: the {edge} edge is the limit; {_marks(rows)}; {temps}; {felt}; "
        f"{static}. Possible causes (common practice, no source): {causes}."
    )


def why_they_wear(event: Event, found: Inventory, only: str | None = None) -> tuple[str, ...]:
    """A paragraph for each car of mine about the axle whose tyres go first; none where no wear is known.

    ``only``: that car alone, by its key in ``found.cars``.
    """
    said = []
    for car, numbers in my_cars(event).items():
        if only is not None and car != only:
            continue
        first = _shortest(found, found.cars.get(car, {}))
        text = _paragraph(event, car, numbers, *first) if first else None
        said += [text] if text else []
    return tuple(said)
