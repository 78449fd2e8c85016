"""The moment's answer with everything it rests on, and the edit that does as it says."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from paddock import words
from paddock.actions.runs import Logged, one_row
from paddock.engine.clock import as_of
from paddock.engine.clock.when import last_run
from paddock.engine.pressure.answer import Moment
from paddock.engine.pressure.moment import moment_of
from paddock.model.edit import Batch
from paddock.model.event import Event
from paddock.model.rows import WALK, PressureRow
from paddock.pages.notes import element_words
from paddock.pages.pressure import Told, headline, later_words, next_line, told


@dataclass(frozen=True, slots=True)
class CornerWhy:
    """One corner in words: as it reads and as it should, with the way between; ``way`` "": it stays."""

    corner: str
    now: str
    to: str
    way: str


@dataclass(frozen=True, slots=True)
class Why:
    """``told``: the answer's words; ``line``: all of it in one line; ``later``: what will be read next and what would
    change the answer.

    ``moves``: pressures to set as the gauge reads, psi; empty: nothing is to be set. ``noted``: notes on the course's
    elements.
    """

    moment: Moment
    told: Told
    line: str
    corners: tuple[CornerWhy, ...]
    later: tuple[str, ...]
    moves: Mapping[str, float]
    as_of: str = ""
    noted: tuple[str, ...] = ()


def _way(now: float | None, to: float | None) -> str:
    if to is None or now == to:
        return ""
    return "set" if now is None else "let out" if to < now else "add"


def why(event: Event, number: str, now: datetime, walk: tuple[str, ...] = WALK) -> Why:
    """The answer for a number and the whole of its reasons."""
    moment = moment_of(event, number, as_of(event, now))
    unit = event.settings.pressure_unit or "psi"
    read, to = (None if one is None else one.as_dict() for one in (moment.now, moment.set))
    corners = tuple(
        CornerWhy(
            name, words.reading(read[name] if read else None, unit), words.reading(to[name] if to else None, unit),
            _way(read[name] if read else None, to[name] if to else None),
        )
        for name in walk
    )  # fmt: skip
    later, when = later_words(moment, unit, walk), words.as_of(moment.known.clock)
    noted = element_words(event, moment.known.clock.day, number)
    return Why(moment, told(moment, unit), next_line(moment, unit), corners, later, moment.moves_now, when, noted)


def advice_line(event: Event, number: str, now: datetime, walk: tuple[str, ...] = WALK) -> tuple[str, str]:
    """What to do to the tyres and why, as home says it."""
    return headline(moment_of(event, number, as_of(event, now)), event.settings.pressure_unit or "psi", walk)


def _state(moment: Moment) -> dict[str, Any]:
    """What a setting is made in: of a rested car the air now, else what the reading was taken with and in."""
    s = moment.known
    gauge = s.gauge.id if s.event.settings.gauge_of(s.gauge.id) else None
    if s.here is not None:
        return {"gauge": gauge, "tyre_c": s.here.temp_c, "air_c": s.here.temp_c}
    if s.rested or s.step is None:
        return {"gauge": gauge, "air_c": None if s.outside.assumed else s.outside.air_c}
    return {"gauge": gauge, "tyre_c": s.step.reading.row.tyre_c, "air_c": s.step.reading.row.air_c}


def as_said(moment: Moment, day: int, at: str) -> Logged | None:
    """A ``set`` row with the pressures of the answer, only the corners that move; None where nothing is to be set.

    The figures of a warm car are in the state of the reading they come from, so the row bears that reading's clock
    time and temperatures; ``day`` and ``at`` stand in elsewhere.
    """
    moves, s = moment.moves_now, moment.known
    if not moves:
        return None
    event, unit = s.event, s.event.settings.pressure_unit or "psi"
    if s.step is not None and not s.rested:
        day, at = s.step.reading.row.day, s.step.reading.row.at or at
    run = last_run(event, moment.number, day)
    if s.step is not None and s.step.reading.moment == "after" and s.step.reading.row.number == moment.number:
        run = s.step.reading.row.run or run
    cells: dict[str, Any] = {f"{corner}_psi": psi for corner, psi in moves.items()}
    cells |= {name: value for name, value in _state(moment).items() if value is not None}
    key = {"day": day, "run": run, "number": moment.number, "moment": "set", "at": at}
    said = "set " + " ".join(f"{corner.upper()} {words.reading(psi, unit)}" for corner, psi in moves.items())
    return Logged(Batch(said, (one_row(event, PressureRow, key, cells),)), run or 0, said)
