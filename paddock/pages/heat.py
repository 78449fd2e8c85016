"""How the tyres warm and cool, and what-ifs about it, in words and points; every figure is the moment's."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from paddock import words
from paddock.engine.clock import as_of
from paddock.engine.clock.when import schedule
from paddock.engine.pressure.heat import at_start_line, heat_curves
from paddock.engine.pressure.moment import WhatIf, what_if
from paddock.engine.pressure.outside import Asked
from paddock.entry.pressures import WhatIfLine
from paddock.model.event import Event
from paddock.model.rows import WALK
from paddock.model.units import from_psi
from paddock.pages.document import Block, Column, Document, Heading, PageTable, Plot, Series, TableRow
from paddock.pages.document import words as said
from paddock.pages.pressure import corner_words, headline, heat_lines, later_words, plan_line, reason_words
from paddock.pages.reasons import uncertainty_words

_WAIT_MIN = 10.0

NO_CURVE = (
    "No curve yet: four readings in a row with clock times and air temperatures are wanted, some before and some "
    "after a run. Log them with p, the weather with w."
)


@dataclass(frozen=True, slots=True)
class Heat:
    """``curves``: (minutes from now, reading in the event's unit) per axle, empty without a fit that holds
    (``why_none``); the rest in words."""

    curves: Mapping[str, tuple[tuple[float, float], ...]]
    wait_min: float
    fits: tuple[str, ...]
    start: str
    why_none: str


@dataclass(frozen=True, slots=True)
class HeatTold:
    """A what-if answered. ``lead``: the moment's own answer, or what is asked; ``rows``: corner in typing order, what
    it ends the next run at if left so, wanted, set for it."""

    head: str
    lead: tuple[str, ...]
    parked: str
    rows: tuple[tuple[str, str, str, str], ...]
    notes: tuple[str, ...]


def wait_of(event: Event, number: str, day: int, now: datetime) -> float:
    """Minutes to my next start where the running order tells, else ten."""
    minutes = schedule(event, number, day, now).minutes
    return _WAIT_MIN if minutes is None else max(0.0, minutes)


def heat(event: Event, number: str, day: int, now: datetime) -> Heat:
    """The fits of the car, its curves to the next run and after it, what was read at the start line."""
    unit = event.settings.pressure_unit or "psi"
    wait, found = wait_of(event, number, day, now), what_if(event, number, as_of(event, now), Asked())
    curves = {
        axle: tuple((x, from_psi(y, unit)) for x, y in points)
        for axle, points in heat_curves(event, number, wait).items()
    }
    heat = found.moment.known.heat
    fitted = any(item.fit is not None for item in heat.axles.values())
    why = f"No curve: the fit is of {heat.surface} runs, and the next one is not." if fitted else NO_CURVE
    start = corner_words(at_start_line(event, number), unit)
    return Heat(curves, wait, tuple(heat_lines(heat, unit)), start, "" if curves else why)


LEGEND = "left so: what it ends the run at; set for it: what to set to end it as wanted"


def heat_page(found: Heat, answer: HeatTold, number: str, unit: str) -> Document:
    """What if, the curve through the next run, the fits."""
    blocks: list[Block] = [
        said((f" {number} ", "hand", "switch_entry"), f" tyre heat, {unit}"),
        Heading(f"what if: {answer.head}" if answer.head else "now"),
        *(said((text, "" if at else "strong")) for at, text in enumerate(answer.lead)),
        said((answer.parked, "quiet")),
    ]
    if answer.rows:
        columns = (Column(""), *(Column(title, figures=True) for title in ("left so", "wanted", "set for it")))
        blocks += [PageTable(columns, tuple(map(TableRow, answer.rows))), said((LEGEND, "quiet"))]
    blocks += [said((text, "quiet")) for text in answer.notes]
    blocks += [Heading("from now through the next run and after it"), _curve(found, unit)]
    blocks += [Heading("fitted from my readings"), *(said(text, hang=2) for text in found.fits)]
    blocks += [said(f"at the start of the last run they read {found.start}")] if found.start else []
    return Document("tyre heat", tuple(blocks))


def _curve(found: Heat, unit: str) -> Block:
    if not found.curves:
        return said(found.why_none)
    series = tuple(Series(axle, points) for axle, points in found.curves.items())
    return Plot(series, "minutes from now", unit, "What each axle reads from now through the next run and after it")


def asked_words(line: WhatIfLine, wait_min: float | None, unit: str) -> str:
    """What is asked, in words. ``wait_min`` None: what is not asked stays as it is."""
    parts = [f"air {line.air_c:.0f} °C"] if line.air_c is not None else []
    parts += [f"at {line.altitude_m:.0f} m"] if line.altitude_m is not None else []
    if line.altitude_m is None and wait_min is not None:
        parts.append(f"waiting {wait_min:.0f} min")
    parts += [f"in the {line.cooling}" if line.cooling == "shade" else "sprayed"] if line.cooling else []
    if line.front_psi is not None:
        front, rear = (words.reading(value, unit) for value in (line.front_psi, line.rear_psi))
        parts.append(f"wanted {front}/{rear} after the run")
    return ", ".join(parts)


def told(
    event: Event, number: str, line: WhatIfLine | None, wait_min: float, now: datetime, walk: tuple[str, ...] = WALK
) -> HeatTold:
    """The answer to a what-if line. ``line`` None: the moment's own answer."""
    unit = event.settings.pressure_unit or "psi"
    if line is None:
        found = what_if(event, number, as_of(event, now), Asked())
        lead = (*headline(found.moment, unit, walk), *later_words(found.moment, unit, walk))
        return HeatTold("", lead, _parked(found, unit, None), *_set(found, unit, walk, own=True))
    wait = wait_min if line.wait_min is None and line.cooling else line.wait_min
    asked = Asked(line.air_c, line.altitude_m, wait, line.front_psi, line.rear_psi, line.cooling or "none")
    found = what_if(event, number, as_of(event, now), asked)
    lead = () if found.moment.fresh or line.altitude_m is not None else (reason_words(found.moment, unit),)
    return HeatTold(
        asked_words(line, wait, unit), lead, _parked(found, unit, line.altitude_m), *_set(found, unit, walk)
    )


def _parked(found: WhatIf, unit: str, altitude_m: float | None) -> str:
    read = corner_words(found.parked, unit)
    if found.moment.known.outside.assumed:
        return "no air temperature is known: log the weather (w), or write a24"
    if not read:
        return "what they read cold can't be told: log a cold reading, or one with the tyre's temperature"
    where = f" at {altitude_m:.0f} m" if altitude_m is not None else ""
    return f"parked{where} at {found.air_c:.0f} °C these read {read}"


_Rows = tuple[tuple[str, str, str, str], ...]


def _set(found: WhatIf, unit: str, walk: tuple[str, ...], own: bool = False) -> tuple[_Rows, tuple[str, ...]]:
    """The rows, and the notes under them; ``own``: the moment's answer, in which a corner may stay as it is."""
    if found.cold is not None:
        return (), (
            plan_line(found.cold, unit, found.moment.known.gauge.offset_psi).replace(
                "First run at", "Set cold for a first run at"
            ),
        )
    moved = found.moment.moves if own else None
    rows = tuple(
        (item.corner.upper(), words.reading(item.end_psi, unit), words.reading(item.wanted_psi, unit),
         "stays" if moved is not None and item.set_psi is not None and item.corner not in moved
         else words.reading(item.set_psi, unit))
        for item in sorted(found.corners, key=lambda one: walk.index(one.corner))
    )  # fmt: skip
    return rows, (*_held(found), uncertainty_words(unit))


def _held(found: WhatIf) -> tuple[str, ...]:
    """Which corners a limit speaks about."""
    by_limit: dict[str, list[str]] = {}
    for item in found.corners:
        if item.held:
            by_limit.setdefault(item.held, []).append(item.corner.upper())
    return tuple(f"{', '.join(corners)}: {limit}" for limit, corners in by_limit.items())
