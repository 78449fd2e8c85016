"""The answer of the day, before everything else: won or lost by how much, and what it was."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from paddock.engine.scoring.decided import Decision, decided
from paddock.engine.scoring.tables import INDEX, RAW
from paddock.engine.share.names import Names
from paddock.model.event import Event
from paddock.model.rows import TimeRow
from paddock.words import ordinal, plural, seconds


def answers(event: Event, names: Names) -> Iterator[str]:
    """A sentence an entry of mine that is ranked, in the order of ``[mine]``: of its class, else of everybody."""
    for number in event.settings.mine.numbers:
        entrant = event.entrant(number)
        tables = (entrant.class_ if entrant else None, INDEX, RAW)
        found = next((made for name in tables if name and (made := decided(event, number, name))), None)
        if found is not None:
            yield _sentence(event, names, found)


def _sentence(event: Event, names: Names, found: Decision) -> str:
    decimals = event.settings.rules.decimals
    table = {INDEX: "on index", RAW: "on raw times"}.get(found.table, found.table)
    many = len({row.day for row in event.times}) > 1
    over = found.left in (None, 0)
    head = f"{names.label(found.number)} {_stands(found, table, seconds(abs(found.margin_ms or 0), decimals), over)}"
    why = _why(names, found, many, decimals)
    left = "" if over else f" {plural(found.left or 0, 'run')} left."
    return f"{head}{f': {why}' if why else ''}.{left}"


def _stands(found: Decision, table: str, margin: str, over: bool) -> str:
    if found.other is None:
        return f"{'won' if over else 'leads'} {table} alone"
    if found.margin_ms is None:
        return f"{'ended' if over else 'is'} {ordinal(found.rank)} of {found.among} in {table}"
    if found.margin_ms == 0:
        return f"{'ended' if over else 'is'} level in {table}" + ("" if found.rank == 1 else f", {ordinal(found.rank)}")
    if found.rank == 1:
        return f"{'won' if over else 'leads'} {table} by {margin}"
    if found.rank == 2:
        return f"{'lost' if over else 'trails in'} {table} by {margin}"
    return f"{'ended' if over else 'is'} {ordinal(found.rank)} of {found.among} in {table}, {margin} behind the first"


def _why(names: Names, found: Decision, many: bool, decimals: int) -> str:
    where = _runs(found.runs, many)
    if found.cause == "penalty":
        return f"{_penalty(found.runs)} on {where}"
    if found.cause == "mistake":
        return f"the mistake on {where}, {seconds(found.lost_ms, decimals)} as logged"
    if found.cause == "their penalty":
        return f"{_penalty(found.runs)} of {names.label(found.whose)} on {where}"
    return "no penalty and no logged mistake makes that up" if found.cause == "pace" and found.rank > 1 else ""


def _penalty(runs: Sequence[TimeRow]) -> str:
    cones, misses = sum(row.cones or 0 for row in runs), sum(row.misses or 0 for row in runs)
    parts = []
    if cones:
        parts.append("the cone" if cones == 1 else f"the {cones} cones")
    if misses:
        parts.append("the missed gate" if misses == 1 else f"the {misses} missed gates")
    return " and ".join(parts)


def _runs(runs: Sequence[TimeRow], many: bool) -> str:
    """``run 4``, ``runs 2 and 4``, with their days where the event has run on several."""
    if many:
        return " and ".join(f"run {row.run} of day {row.day}" for row in runs)
    return f"run{'s' if len(runs) > 1 else ''} {' and '.join(f'{row.run}' for row in runs)}"
