"""The next-pressure answer with everything it rests on, and the edit that does as it says."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from paddock import words
from paddock.engine.pressure.advise import advise
from paddock.engine.pressure.answer import Advice
from paddock.engine.pressure.plan import first_run_plan
from paddock.engine.pressure.say import next_line, plan_line
from paddock.engine.readings.log import Reading, car_log
from paddock.entry.pressures import WALK
from paddock.model.edit import Batch
from paddock.model.event import Event
from paddock.model.rows import PressureRow
from paddock.views.days import last_run
from paddock.views.log import Logged, one_row
from paddock.views.schedule import minutes_since

__all__ = ["Corner", "Why", "as_said", "first_plan_words", "old_words", "passed_rows", "sign_rows", "why"]

_MARKS = {"mark": "roll-over mark", "middle": "middle of the tread"}


@dataclass(frozen=True, slots=True)
class Corner:
    """One corner in words: as it reads and as it should, with the way between; ``way`` "": it stays."""

    corner: str
    now: str
    to: str
    way: str


@dataclass(frozen=True, slots=True)
class Why:
    """``line``: the answer in one line; ``plan``: the cold plan where the day has no run yet, "" otherwise.

    ``moves``: pressures to set as the gauge reads, psi; empty: hold, or stop and look. ``old``: that the reading is so
    old that the tyres aren't what they were; "" = it isn't, or that can't be told.
    """

    advice: Advice
    line: str
    corners: tuple[Corner, ...]
    plan: str
    moves: Mapping[str, float]
    old: str = ""


_FRESH_MIN = 10.0
"""A reading older than this is no longer the tyre's state (our choice: a rear tyre falls by half in that time)."""


def old_words(event: Event, number: str, now: datetime | None, brief: bool = False) -> str:
    """That the reading the answer rests on is old; "" = it isn't, or ``now`` isn't known."""
    latest, days = car_log(event, number).latest, event.settings.days
    if now is None or latest is None or latest.row.at is None or latest.cold:
        return ""
    day = latest.timed.day
    if not (0 < day <= len(days) and days[day - 1] == now.date()):
        return (
            "not of today: read again before you set"
            if brief
            else "the reading is not of today: read the four corners again before you set anything"
        )
    minutes = minutes_since(latest.row.at, now)
    if minutes <= _FRESH_MIN:
        return ""
    if brief:
        return f"read {words.ago(minutes)}: read again before you set"
    return f"read {words.ago(minutes)}: the tyres have cooled since, read them again before you set anything"


def _way(now: float | None, to: float | None) -> str:
    if to is None or now == to:
        return ""
    return "set" if now is None else "let out" if to < now else "add"


def why(event: Event, number: str, now: datetime | None = None, walk: tuple[str, ...] = WALK) -> Why:
    """The answer for a number and the whole of its reasons. ``now`` None: the reading's age isn't told."""
    found = advise(event, number)
    unit = event.settings.pressure_unit or "psi"
    read, to = found.now.as_dict(), found.set.as_dict()
    moves = {name: psi for name, psi in to.items() if psi is not None and psi != read[name]}
    corners = tuple(
        Corner(name, words.reading(read[name], unit), words.reading(to[name], unit), _way(read[name], to[name]))
        for name in walk
    )
    return Why(
        found, next_line(found, unit), corners, first_plan_words(event, number, unit) or "",
        moves if found.action == "set" else {}, old_words(event, number, now) if moves else "",
    )  # fmt: skip


def first_plan_words(
    event: Event, number: str, unit: str, air_c: float | None = None, past: Sequence[Event] = ()
) -> str | None:
    """The cold plan for the day's first run; None where the day has had one and no air is asked for.

    ``past``: earlier events beside this one, for the rise where nothing here knows it.
    """
    log = car_log(event, number)
    if air_c is None and any(item.day == log.day for item in log.runs):
        return None
    found = first_run_plan(event, number, air_c, past=past)
    return f"First run: {found}." if isinstance(found, str) else plan_line(found, unit)


def sign_rows(advice: Advice) -> tuple[tuple[str, str, str], ...]:
    """Every sign: where, what was seen, what it says; those that are too faint to count say so."""
    return tuple(
        (
            " ".join(filter(None, (item.axle, _MARKS.get(item.kind, item.kind)))),
            item.value,
            item.says + ("" if item.counts else "; doesn't count"),
        )
        for item in advice.signs
    )


def passed_rows(advice: Advice) -> tuple[tuple[str, str, str], ...]:
    """Every rule that was tried before the one that answered: number, name, why not."""
    return tuple((str(item.rule), item.name, item.why) for item in advice.passed_over)


def _state(event: Event, latest: Reading | None) -> dict[str, Any]:
    """What a reading was taken with and in."""
    if latest is None:
        return {}
    row, gauge = latest.row, latest.gauge.id
    return {
        "tyre_c": row.tyre_c, "air_c": row.air_c, "gauge": gauge if event.settings.gauge_of(gauge) else None
    }  # fmt: skip


def as_said(event: Event, number: str, day: int, at: str, found: Why) -> Logged | None:
    """A ``set`` row with the pressures of the answer, only the corners that move; None where nothing is to be set.

    The figures are in the state of the reading they come from, so the row bears that reading's clock time and
    temperatures; ``day`` and ``at`` stand in where there is none.
    """
    if not found.moves:
        return None
    unit = event.settings.pressure_unit or "psi"
    latest = car_log(event, number).latest
    day, at = (day, at) if latest is None else (latest.row.day, latest.row.at or at)
    run = last_run(event, number, day)
    cells: dict[str, Any] = {f"{corner}_psi": psi for corner, psi in found.moves.items()}
    cells |= {name: value for name, value in _state(event, latest).items() if value is not None}
    key = {"day": day, "run": run, "number": number, "moment": "set", "at": at}
    said = "set " + " ".join(f"{corner.upper()} {words.reading(psi, unit)}" for corner, psi in found.moves.items())
    return Logged(Batch(said, (one_row(event, PressureRow, key, cells),)), run or 0, said)
