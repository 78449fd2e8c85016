"""Tyres and work: what wore, what is due, what was done."""

from __future__ import annotations

import re
from dataclasses import replace

from paddock.engine.share.names import Names
from paddock.engine.tyres import TyreState, inventory, moves_for, orders
from paddock.engine.tyres.wear import EDGES
from paddock.engine.work.due import Due, due, with_car
from paddock.engine.work.rechecks import CAUTION
from paddock.model.event import Event
from paddock.model.rows import SetupChange, WorkRow
from paddock.pages.debrief.parts import Section, grid, line
from paddock.words import by_edge, plural, runs_left, torque


def tyres(event: Event, names: Names) -> Section | None:
    """Runs, tread, wear, what is left; then what to move and to buy."""
    found = inventory(event)
    if not found.tyres:
        return None
    moves, _ = moves_for(found)
    said = tuple(names.clean(item.sentence) for item in (*moves, *orders(event, found)))
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
    said = tuple(_due(event, names, item) for item in open_.values())
    rows = tuple(
        tuple(names.clean(text) for text in (row.item, row.opened, _why(event, row.reason), row.done, row.note))
        for row in done
    )
    tables = (grid(("done", "opened", "why", "when", "found"), rows),) if rows else ()
    words = (f"{plural(len(said), 'job')} open. {CAUTION}",) if said else ("Nothing is open.",)
    return Section("Work", words, grids=tables, items=said)


def _due(event: Event, names: Names, item: Due) -> str:
    what = item.item if item.torque_nm is None else f"{item.item}, {torque(item.torque_nm)}"
    why = _why(event, item.why)
    return names.clean(line(f"{item.when}: {what}", f"({why})" if why else None, between=" "))


def _why(event: Event, reason: str | None) -> str:
    """The change it comes from by its run: a reader has no ids to look up."""
    at = {row.id: f", {row.day or '?'}.{row.run or '?'}" for row in event.of(SetupChange)}
    return re.sub(r" \(change (\w+)\)", lambda found: at.get(found[1], found[0]), reason or "")
