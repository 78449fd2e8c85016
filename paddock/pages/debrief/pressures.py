"""Pressures and heat: every reading, and what the tyres' own heat was."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime

from paddock.engine.clock import as_of
from paddock.engine.pressure.heat import heat_of
from paddock.engine.pressure.moment import moment_of
from paddock.engine.share.names import Names
from paddock.model.event import Event
from paddock.model.rows import CORNERS, PressureRow, TreadTempRow
from paddock.model.units import from_psi
from paddock.pages.debrief.parts import Section, grid, line, places_plot, series
from paddock.pages.document import PageTable, Plot
from paddock.pages.pressure import heat_lines, plan_line
from paddock.words import pressure, tenths


def pressures(event: Event, names: Names) -> Section | None:
    """One table and picture per car, the fit of its heat, and the tread temperatures."""
    seen: set[str] = set()
    grids, figures, items = [], [], []
    for number in event.settings.mine.numbers:
        rows = _rows(event, number)
        if number in seen or not rows:
            continue
        seen |= set(event.numbers_of_car(number))
        grids.append(_grid(event, names, number, rows))
        figures.append(_figure(event, number, rows))
        items += [f"{_car(event, number)}, {text}" for text in heat_lines(heat_of(event, number), _unit(event))]
        items += [f"{_car(event, number)}, next time: {text}" for text in _next_time(event, number)]
    treads = _treads(event)
    if not grids and treads is None:
        return None
    grids += [treads] if treads else []
    return Section(
        f"Pressures, {_unit(event)}", (), tuple(item for item in figures if item), tuple(grids), tuple(items)
    )


def _next_time(event: Event, number: str) -> Iterator[str]:
    """The cold plan as it stands at the event's end, with what was learned of the first runs."""
    s = moment_of(event, number, as_of(event, datetime.max)).known
    if s.plan.front.cold_psi is not None or s.plan.rear.cold_psi is not None:
        yield plan_line(s.plan, _unit(event), s.gauge.offset_psi).replace("First", "first", 1)


def _unit(event: Event) -> str:
    return event.settings.pressure_unit or "psi"


def _car(event: Event, number: str) -> str:
    return event.car_name_of(number) or number


def _rows(event: Event, number: str) -> list[PressureRow]:
    own = event.numbers_of_car(number)
    rows = [(at, row) for at, row in enumerate(event.of(PressureRow)) if row.number in own]
    return [row for _, row in sorted(rows, key=lambda item: (item[1].day, item[1].at or "~", item[0]))]


def _grid(event: Event, names: Names, number: str, rows: Sequence[PressureRow]) -> PageTable:
    unit = _unit(event)
    heads = ("day", "run", "when", "moment", *CORNERS, "tyre C", "air C", "remarks")
    cells = [
        (
            f"{row.day}", f"{row.run or ''}", row.at or "", row.moment,
            *(pressure(getattr(row, f"{corner}_psi"), unit) for corner in CORNERS), tenths(row.tyre_c),
            tenths(row.air_c), line(f"sun {row.sun}" if row.sun else None, row.cooling, names.clean(row.note)),
        )
        for row in rows
    ]  # fmt: skip
    caption = f"{_car(event, number)}: as read, in {unit}"
    return grid(heads, tuple(cells), caption, frozenset({0, 1, *range(4, 10)}))


def _figure(event: Event, number: str, rows: Sequence[PressureRow]) -> Plot | None:
    """The readings after each run: what the driver felt."""
    unit = _unit(event)
    after = [row for row in rows if row.moment == "after" and row.run]
    if len(after) < 2:
        return None
    places = [f"{row.day}.{row.run}" for row in after]
    values = {corner: [_in(getattr(row, f"{corner}_psi"), unit) for row in after] for corner in CORNERS}
    lines = [series(corner.upper(), found) for corner, found in values.items()]
    breaks = [at for at in range(1, len(after)) if after[at].day != after[at - 1].day]
    alt = "; ".join(f"{item.name} " + ", ".join(f"{value:.1f}" for _, value in item.points) for item in lines)
    alt, caption = f"Pressures after each run. {alt}", f"{_car(event, number)}: pressures after each run."
    return places_plot(places, lines, "day.run", unit, alt, caption, _targets(event, number, unit), breaks)


def _in(psi: float | None, unit: str) -> float | None:
    return None if psi is None else from_psi(psi, unit)


def _targets(event: Event, number: str, unit: str) -> dict[str, float]:
    car = event.car_of(number)
    dry = car.target("dry") if car else None
    wanted = {"front, dry target": dry.front_psi, "rear, dry target": dry.rear_psi} if dry else {}
    return {name: from_psi(psi, unit) for name, psi in wanted.items() if psi is not None}


def _treads(event: Event) -> PageTable | None:
    rows = [row for row in event.of(TreadTempRow) if row.number in event.settings.mine.numbers]
    if not rows:
        return None
    cells = [
        (f"{row.day}", f"{row.run}", row.number, row.corner, tenths(row.inner_c), tenths(row.middle_c),
         tenths(row.outer_c), row.mark or "")
        for row in rows
    ]  # fmt: skip
    heads = ("day", "run", "entry", "corner", "inner C", "middle C", "outer C", "mark")
    return grid(heads, tuple(cells), "Tread temperatures and how far the scrub rolled over", frozenset({0, 1, 4, 5, 6}))
