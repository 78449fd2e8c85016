"""The example event cut off after a run, as it stood when the question was asked."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterable, Iterator
from datetime import datetime
from pathlib import Path

from paddock.engine.clock import as_of as as_of_clock
from paddock.engine.clock import minutes
from paddock.engine.pressure.answer import Moment
from paddock.engine.pressure.moment import moment_of
from paddock.model.event import Event
from paddock.model.rows import Row, RunRow, WorkRow
from paddock.session.loading import load

LATER = datetime(2040, 1, 1)
LATER_MIN = 4.0
"""Asked once the tyres were read: that many minutes after the log of the run."""


def example() -> Event:
    """The example event, whole."""
    return load(Path(__file__).parents[2] / "example_event")


def _known(row: Row, day: int, run: int, minute: float, number: str) -> bool:
    """Whether a row was there at a minute of a day; rows without a clock go by their run."""
    its_day = getattr(row, "day", None)
    if its_day is None or its_day != day:
        return its_day is None or its_day < day
    at = minutes(getattr(row, "at", None))
    if at is not None:
        return at <= minute
    its_run = getattr(row, "run", None)
    mine = getattr(row, "number", None) in (number, None)
    return its_run is None or not mine or its_run <= run


def _later(text: str | None, day: int, minute: float) -> bool:
    """Whether a worklist stamp (``day 2 12:36``) is of a later time."""
    found = re.match(r"day (\d) (\d+:\d+)", text or "")
    return found is not None and (int(found[1]), minutes(found[2]) or 0.0) > (day, minute)


def _worklist(rows: Iterable[Row], day: int, minute: float) -> tuple[Row, ...]:
    work = [row for row in rows if isinstance(row, WorkRow) and not _later(row.opened, day, minute)]
    return tuple(row.model_copy(update={"done": None}) if _later(row.done, day, minute) else row for row in work)


def as_of(event: Event, number: str, day: int, run: int) -> Event:
    """The event as it stood when ``number`` had logged a run and read the tyres after it."""
    log = next(row for row in event.of(RunRow) if (row.number, row.day, row.run) == (number, day, run))
    minute = (minutes(log.at) or 0.0) + LATER_MIN
    tables = {
        name: tuple(row for row in rows if _known(row, day, run, minute, number)) for name, rows in event.tables.items()
    }
    tables["worklist.csv"] = _worklist(event.tables.get("worklist.csv", ()), day, minute)
    return dataclasses.replace(event, tables=tables)


ARGUED: dict[tuple[str, int, int], str] = {
    (
        "58",
        1,
        1,
    ): "The first run on stone-cold tyres left the front at its target and the rear a psi under it. Both start the second "
    "one warm, half an hour on, and end it a psi higher: the rear comes right by itself, the front is let out.",
    (
        "58",
        1,
        2,
    ): "The mark is right and it pushes in the middle: no front pressure cures that. Which way the rear would help "
    "is not known of this car yet; the bar is the tool, and was taken.",
    ("58", 1, 3): "A long brake pedal was logged. Everything else waits until the work is done.",
    (
        "58",
        1,
        4,
    ): "The bolt was tightened at 11:48, so the stop is lifted. Water stands in the seams: the wet target, and a "
    "little more against floating.",
    (
        "58",
        2,
        1,
    ): "A psi over, and the next run adds to that; but it pushes in the middle, so heat is not all of it: nothing to set.",
    ("58", 2, 2): "The front went in a hole softer and the car answers. The co-driver's setting stands since.",
    (
        "58",
        2,
        3,
    ): "Faint signs of opposite kind, one and a half over by heat and sun, and the last run adds to it: let out to what "
    "ends that one on the target.",
}
"""The argument for each answer."""


def answers(event: Event, number: str) -> Iterator[tuple[RunRow, Moment]]:
    """Every logged run of a number with the answer after it."""
    for log in event.of(RunRow):
        if log.number == number:
            cut = as_of(event, number, log.day, log.run)
            yield log, moment_of(cut, number, as_of_clock(cut, LATER))
