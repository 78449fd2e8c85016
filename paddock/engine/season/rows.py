"""All my runs, changes and tyres over events, as plain rows: one dict a row, the same keys in the same order.

``RUNS``, ``CHANGES``, ``TYRES`` and ``SCORES`` name the columns and their types (of ``str int float bool date``);
a value that was not recorded is None. Units are in the names; times are whole milliseconds.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from paddock.engine.scoring.plain import ScoredRun, scored_runs
from paddock.engine.season.points import ScoredEvent
from paddock.engine.tyres.counts import car_key, uses
from paddock.model.event import Event
from paddock.model.rows import FittedRow, RunRow, SetupChange, TreadRow, TyreRow

SeasonRows = list[dict[str, Any]]

_WHERE = {"season": str, "event": str, "name": str, "date": date, "day": int}
RUNS: Mapping[str, type] = _WHERE | {
    "run": int, "try": str, "at": str, "number": str, "driver": str, "car": str, "class": str,
    "raw_ms": int, "cones": int, "misses": int, "status": str, "total_ms": int, "index_ms": int,
    "mistake": bool, "unsafe": str, "entry": int, "mid": int, "exit": int, "slalom": int, "surface": str,
    "lost_s": float, "lost_where": str, "note": str,
}  # fmt: skip
CHANGES: Mapping[str, type] = _WHERE | {
    "run": int, "at": str, "id": str, "number": str, "car": str, "kind": str, "key": str, "item": str, "before": str,
    "after": str, "reason": str, "expect": str, "undoes": str, "decision": str,
}  # fmt: skip
TYRES: Mapping[str, type] = {
    "season": str, "event": str, "name": str, "date": date, "tyre": str, "set": str, "kind": str, "size": str,
    "car": str, "runs": int, "runs_before": int, "inner_mm": float, "middle_mm": float, "outer_mm": float,
}  # fmt: skip
SCORES: Mapping[str, type] = {
    "season": str, "event": str, "name": str, "date": date, "class": str, "driver": str, "number": str, "place": int,
    "score_ms": int, "runs": int, "weight": float,
}  # fmt: skip
"""Everybody's scores; ``class``: the table, ``index`` and ``raw`` too; ``event`` has ``:day`` where days are apart."""
_LOG = ("mistake", "unsafe", "entry", "mid", "exit", "slalom", "surface", "lost_s", "lost_where", "note")
_CHANGE = ("id", "number", "kind", "item", "before", "after", "reason", "expect", "undoes", "decision")


def run_rows(season: str, folder: str, event: Event) -> SeasonRows:
    """``RUNS``: every timed run of my entries, re-runs and practice too, in order of day and run."""
    log = {(row.day, row.run, row.number): row for row in event.of(RunRow)}
    found = scored_runs(event, event.settings.mine.numbers)
    runs = sorted((item for rows in found.values() for item in rows), key=lambda item: (item.row.day, item.row.run))
    return [_run(season, folder, event, item, log.get((item.row.day, item.row.run, item.row.number))) for item in runs]


def _run(season: str, folder: str, event: Event, item: ScoredRun, log: RunRow | None) -> dict[str, Any]:
    row, entrant = item.row, event.entrant(item.row.number)
    own = {
        "run": row.run, "try": row.try_, "at": row.at or (log.at if log else None), "number": row.number,
        "driver": entrant.driver if entrant else None, "car": event.car_name_of(row.number),
        "class": entrant.class_ if entrant else None, "raw_ms": row.time_ms, "cones": row.cones or 0,
        "misses": row.misses or 0, "status": row.status, "total_ms": item.total_ms, "index_ms": item.index_ms,
    }  # fmt: skip
    return _where(season, folder, event, row.day) | own | {name: getattr(log, name, None) for name in _LOG}


def score_rows(season: str, event: str, held: ScoredEvent) -> SeasonRows:
    """``SCORES`` of what gives points once. ``event``: what it is known by."""
    key = event if held.day is None else f"{event}:{held.day}"
    own = {
        "season": season, "event": key, "name": held.name, "date": held.days[0] if held.days else None,
        "weight": float(held.weight),
    }  # fmt: skip
    return [
        own | {"class": table, "driver": row.driver, "number": row.number, "place": row.place,
               "score_ms": row.score_ms, "runs": 1}
        for table, rows in held.tables.items()
        for row in rows
    ]  # fmt: skip


def change_rows(season: str, folder: str, event: Event) -> SeasonRows:
    """``CHANGES``: the rows of ``changes.csv`` in file order."""
    return [_change(season, folder, event, row) for row in event.of(SetupChange)]


def _change(season: str, folder: str, event: Event, row: SetupChange) -> dict[str, Any]:
    own = {name: getattr(row, name) for name in _CHANGE}
    own |= {"run": row.run, "at": row.at, "key": row.setting, "car": car_key(event, row.number) if row.number else None}
    whole = _where(season, folder, event, row.day) | own
    return {name: whole[name] for name in CHANGES}


def tyre_rows(season: str, folder: str, event: Event) -> SeasonRows:
    """``TYRES``: every tyre listed, fitted or measured; ``runs`` in this event, tread as last read in it."""
    run_of, cars = Counter[str](), dict[str, str]()
    for use in uses(event):
        run_of[use.tyre] += 1
        cars[use.tyre] = use.car
    rows = {row.tyre: row for row in event.of(TyreRow)}
    read = {row.tyre: row for row in sorted(event.of(TreadRow), key=lambda row: row.day)}
    names = dict.fromkeys([*rows, *(row.tyre for row in event.of(FittedRow)), *read])
    return [
        _tyre(season, folder, event, name, rows, read) | {"runs": run_of[name], "car": cars.get(name)} for name in names
    ]


def _tyre(
    season: str, folder: str, event: Event, name: str, rows: Mapping[str, TyreRow], read: Mapping[str, TreadRow]
) -> dict[str, Any]:
    own = {"season": season, "event": folder, "name": event.settings.name, "date": _date(event, 1), "tyre": name}
    own |= {field: getattr(rows.get(name), field, None) for field in ("set", "kind", "size")} | {"car": None, "runs": 0}
    own |= {"runs_before": getattr(rows.get(name), "runs_before", None)}
    return own | {field: getattr(read.get(name), field, None) for field in ("inner_mm", "middle_mm", "outer_mm")}


def _where(season: str, folder: str, event: Event, day: int | None) -> dict[str, Any]:
    return {"season": season, "event": folder, "name": event.settings.name, "date": _date(event, day), "day": day}


def _date(event: Event, day: int | None) -> date | None:
    days: Sequence[date] = event.settings.days
    return days[day - 1] if day is not None and day <= len(days) else None
