"""My car over the event: changes and what each gave, pressures and heat, tyres and work."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from paddock.engine.car.setup_sheet import ChangeState, SetupSheet, SheetLine, changes_of, sheet, states_of
from paddock.engine.clock import as_of
from paddock.engine.field.effect import Effect
from paddock.engine.field.verdict import judge_all
from paddock.engine.pressure.heat import heat_of
from paddock.engine.pressure.moment import moment_of
from paddock.engine.pressure.situation import Situation
from paddock.engine.share.names import Names
from paddock.engine.tyres.buying import orders
from paddock.engine.tyres.inventory import TyreState, inventory
from paddock.engine.tyres.proposals import moves_for
from paddock.engine.tyres.wear import EDGES
from paddock.engine.work.due import Due, due, with_car
from paddock.engine.work.rechecks import CAUTION
from paddock.model.event import Event
from paddock.model.rows import CORNERS, PressureRow, SetupChange, TreadTempRow, WorkRow
from paddock.model.units import from_psi, plain_number
from paddock.pages.changes import is_pressure, line_name
from paddock.pages.debrief.parts import Figure, Section, grid, line, places_plot, series
from paddock.pages.document import PageTable, Plot, Ranges
from paddock.pages.pressure import heat_lines, plan_in_short, plan_line
from paddock.pages.verdict_words import effect_words
from paddock.words import by_edge, plural, pressure, runs_left, tenths, torque

_DOUBT = (
    "One event cannot settle hundredths. The range holds the truth in 80 of 100 such cases; "
    "a verdict never rests on the decision that was taken."
)


def changes(event: Event, names: Names) -> Section | None:
    """Every change with its reason, then the verdict in words with its doubts."""
    rows = event.of(SetupChange)
    if not rows:
        return None
    undone = {row.undoes: row for row in rows if row.undoes}
    by_id, states = {row.id: row for row in rows}, states_of(rows)
    asked = [row for row in rows if row.undoes is None and row.kind != "repair"]
    judged = list(zip(asked, judge_all(event, asked), strict=True))
    said = [names.written(effect_words(effect)) for _, effect in judged]
    table = grid(
        ("from", "entry", "what", "before", "after", "why", "expected", "then"),
        tuple(_row(names, row, states[row.id], undone.get(row.id), by_id.get(row.undoes or "")) for row in rows),
    )
    effects = [effect for _, effect in judged]
    doubts = _doubts([effect.controls for effect in effects])
    summary = tuple(names.written(text) for text in _in_short(effects))
    return Section("Changes", doubts, _figure(names, effects), (table,), tuple(said), summary=summary)


def _in_short(effects: list[Effect]) -> list[str]:
    """What is said of each before its figures; those that can't be told are counted."""
    told = [effect_words(effect) for effect in effects if effect.verdict != "can't tell"]
    heads = [f"{text.partition(': ')[0]}." if ": " in text else text for text in told]
    rest = len(effects) - len(told)
    left = f"Can't tell about {'the other ' if heads else ''}{rest} of {plural(len(effects), 'change')}."
    return [*heads, *([left] if rest else [])]


def _row(
    names: Names, row: SetupChange, state: ChangeState, undo: SetupChange | None, undoes: SetupChange | None
) -> tuple[str, ...]:
    then: str = state
    if state == "takes back" and undoes is not None:
        then = f"{state} that of {_when(undoes)}"
    elif state == "taken back" and undo is not None:
        then = f"{state} at {_when(undo)}"
    texts = (row.item or row.setting, row.before, row.after, row.reason, row.expect)
    return (_when(row), row.number or "", *(names.clean(text) for text in texts), then)


def _when(row: SetupChange) -> str:
    return f"{row.day or '?'}.{row.run or '?'}"


def _doubts(controls: list[int]) -> tuple[str, ...]:
    if not controls:
        return ()
    least, most = min(controls), max(controls)
    told = plural(most, "other car") if least == most else f"{least} to {most} other cars"
    return (_DOUBT, f"{told} of each day {'tells' if most == 1 else 'tell'} the course.") if most else (_DOUBT,)


def _figure(names: Names, effects: list[Effect]) -> tuple[Figure, ...]:
    shown = [item for item in effects if item.extra_ms is not None and item.interval80_ms is not None]
    if not shown:
        return ()
    ranges = [_seconds(item) for item in shown]
    alt = names.written(" ".join(effect_words(item) for item in shown))
    across = "← faster · seconds against the course · slower →"
    caption = "What each change gave beyond the course, with its range."
    return (
        Ranges(tuple(item.label for item in shown), tuple(ranges), across, f"Effect of each change. {alt}", caption),
    )


def _seconds(item: Effect) -> tuple[float, float, float]:
    low, high = item.interval80_ms or (0.0, 0.0)
    return low / 1000, (item.extra_ms or 0.0) / 1000, high / 1000


def set_up(event: Event, names: Names) -> Section | None:
    """Each car of mine: as it came, on the fastest run of each day, and now."""
    found: dict[str, SetupSheet] = {}
    for number in event.settings.mine.numbers:
        made = sheet(event, number)
        if made.lines and (made.car not in found or changes_of(event, number)):
            found.setdefault(made.car, made)
    if not found:
        return None
    return Section(
        "Set-up",
        grids=tuple(_sheet_grid(names, item, event.settings.pressure_unit or "psi") for item in found.values()),
    )


def _sheet_grid(names: Names, found: SetupSheet, unit: str) -> PageTable:
    heads = ("setting", "as it came", *(f"day {item.day}, run {item.run}" for item in found.fastest), "now")
    rows = [
        (
            names.clean(line_name(item.key, unit)),
            *(_value(names, item, cell) for cell in (item.start, *item.at_fastest, item.now)),
        )
        for item in found.lines
    ]
    moved = frozenset(at for at, item in enumerate(found.lines) if len(set(item.history)) > 1)
    return grid(heads, tuple(rows), f"{found.car}: fastest run of each day; what moved stands out", strong=moved)


def _value(names: Names, line: SheetLine, value: str | None) -> str:
    """A pressure comes from the readings, another value is as I wrote it."""
    return (names.written(value) if is_pressure(line) else names.clean(value)) or "-"


def tyres(event: Event, names: Names, past: Sequence[Event] = ()) -> Section | None:
    """Runs, tread, wear, what is left; then what to move and to buy. ``past``: earlier events of the same cars."""
    found = inventory(event, past)
    if not found.tyres:
        return None
    moves, _ = moves_for(found)
    said = tuple(names.written(item.sentence) for item in (*moves, *orders(event, found)))
    heads = ("tyre", "at", "runs", "here", "mm in/mid/out", "mm a run", "runs left", "first edge")
    table = grid(
        heads, tuple(_tyre(names, item) for item in found.tyres), "Runs left with their range", frozenset({2, 3})
    )
    return Section("Tyres", grids=(table,), items=said)


def _tyre(names: Names, state: TyreState) -> tuple[str, ...]:
    depth = [state.life.depth_mm.get(edge) for edge in EDGES]
    wear = [state.wear[edge].mm if edge in state.wear else None for edge in EDGES]
    return (
        names.clean(state.tyre), state.place.corner if state.place else "off", f"{state.runs}", f"{state.event_runs}",
        by_edge(depth, 1), by_edge(wear, 3), runs_left(state.life.runs, state.life.low, state.life.high),
        state.life.edge or "-",
    )  # fmt: skip


def work(event: Event, names: Names) -> Section | None:
    """What is due, the most pressing first, and what was done."""
    open_: dict[str, Due] = {}
    for number in event.settings.mine.numbers:
        for item in due(event, number):
            open_.setdefault(item.id, replace(item, item=with_car(event, item, number)))
    done = [row for row in event.of(WorkRow) if row.done]
    if not open_ and not done:
        return None
    runs = {row.id: f", {row.day or '?'}.{row.run or '?'}" for row in event.of(SetupChange)}
    said = tuple(_due(runs, names, item) for item in open_.values())
    rows = tuple(
        tuple(names.clean(text) for text in (row.item, row.opened, _why(runs, row.reason), row.done, row.note))
        for row in done
    )
    tables = (grid(("done", "opened", "why", "when", "found"), rows),) if rows else ()
    words = (f"{plural(len(said), 'job')} open. {CAUTION}",) if said else ("Nothing is open.",)
    return Section("Work", words, grids=tables, items=said)


def _due(runs: Mapping[str, str], names: Names, item: Due) -> str:
    what = item.item if item.torque_nm is None else f"{item.item}, {torque(item.torque_nm)}"
    why = _why(runs, item.why)
    return names.clean(line(f"{item.when}: {what}", f"({why})" if why else None, between=" "))


def _why(runs: Mapping[str, str], reason: str | None) -> str:
    """The change it comes from by its run (``runs``, by id): a reader has no ids to look up."""
    return re.sub(r" \(change (\w+)\)", lambda found: runs.get(found[1], found[0]), reason or "")


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
        figures.append(_figure_of_pressures(event, number, rows))
        items += [f"{_car(event, number)}, {text}" for text in heat_lines(heat_of(event, number), _unit(event))]
        items += [f"{_car(event, number)}, next time: {text}" for text in _next_time(event, number)]
    treads = _treads(event)
    if not grids and treads is None:
        return None
    grids += [treads] if treads else []
    return Section(
        f"Pressures, {_unit(event)}", (), tuple(item for item in figures if item), tuple(grids), tuple(items)
    )


def _known(event: Event, number: str) -> Situation:
    """As it stands at the event's end, with what was learned of the first runs."""
    return moment_of(event, number, as_of(event, datetime.max)).known


def _next_time(event: Event, number: str) -> Iterator[str]:
    s = _known(event, number)
    if s.plan.front.cold_psi is not None or s.plan.rear.cold_psi is not None:
        yield plan_line(s.plan, _unit(event), s.gauge.offset_psi).replace("First", "first", 1)


def cold_next_time(event: Event) -> str:
    """A line short enough for a message: what to set each car cold that was gauged, front and rear; "" = nothing."""
    by_air: dict[str, list[str]] = {}
    seen: set[str] = set()
    for number in event.settings.mine.numbers:
        if number in seen or not _rows(event, number):
            continue
        seen |= set(event.numbers_of_car(number))
        s = _known(event, number)
        said = plan_in_short(s.plan, _unit(event), s.gauge.offset_psi)
        if said:
            by_air.setdefault(plain_number(s.plan.air_c, 0), []).append(f"{_car(event, number)} {said}")
    airs = "; ".join(f"{', '.join(cars)} at {air} °C" for air, cars in by_air.items())
    return f"First run, cold, {_unit(event)}: {airs}" if airs else ""


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


def _figure_of_pressures(event: Event, number: str, rows: Sequence[PressureRow]) -> Plot | None:
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
