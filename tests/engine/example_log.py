"""The example event cut off after a run, as it stood when the question was asked."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

from paddock.engine.clock import minutes
from paddock.engine.pressure.advise import advise
from paddock.engine.pressure.answer import Advice
from paddock.folders.reading import load
from paddock.model.event import Event
from paddock.model.rows import Row, RunRow, WorkRow

__all__ = ["answers", "as_of", "example"]

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
        "31",
        1,
        1,
    ): "The first run was damp without pooling, so the damp target comes once, and a softer bar. The push of "
    "2 in the middle asks for nothing yet: cold tyres, and rule 6 stands before the signs.",
    ("31", 1, 2): "It dries, and a push of 2 is more than heat alone leaves behind, so no return is made for heat's "
    "sake; one phase is one sign, so nothing new either. The caution names what is still to be done: the rear at 44. "
    "The driver went to 42 by hand, which is the same way in two steps.",
    ("31", 1, 3): "The front rolls past its mark and pushes: on a steady surface that is front up. It still dries from "
    "run to run, so the gate holds. Run 4 showed the push gone without it.",
    ("31", 1, 4): "Dry, nearly neutral, no mark past or short. All four are 1 to 2 over by heat: bleed to the target.",
    ("31", 1, 5): "The same again, a little more. It is the last run of the day: road pressures before driving home.",
    ("31", 2, 1): "The afternoon sun stands on the right, and the right front reads a pound more than the left. Still "
    "heat: to the target. The left rear is half a pound over, which the gauge can't tell, and stays.",
    ("31", 2, 2): "The test of a lower front is open and run once; a return is not stopped by that. Back to 34/44.",
    (
        "31",
        2,
        3,
    ): "A knock from the right rear was logged. Everything else waits until the worklist row for it is done.",
    ("31", 2, 4): "The jam nut was tight again by 12:36, so the stop is lifted. Quiet, faint phases of opposite sign, "
    "2 to 4 over: heat. Rule 4 stands before rule 7, so the target comes first.",
    ("87", 1, 1): "A pound over all round, balance within 1: heat.",
    ("87", 1, 2): "Nothing was read after this run. The answer rests on run 1, says so, and drops to low confidence.",
    (
        "87",
        1,
        3,
    ): "Push in the middle and loose on the way out, and the rear had been put up 1 for it: no pressure cures "
    "both. It is also 3 over its target, and the driver took it back down after one more run.",
    ("87", 1, 4): "Not read after this run either: run 3's rear of 33 is what is known. Read first.",
    ("87", 1, 5): "Neutral enough, over by heat, last run of the day.",
    ("87", 2, 1): "Cool morning, half a pound over: under the gauge's noise. Hold.",
    ("87", 2, 2): "Not read, nothing new to go by. Hold.",
    ("87", 2, 3): "The bar was changed for this run and is run once; only returns are open. A pound over: back.",
    ("87", 2, 4): "Not read; the same answer with low confidence.",
    ("87", 2, 5): "One and a half over by heat after the last run.",
}
"""The argument for each answer."""


def answers(event: Event, number: str) -> Iterator[tuple[RunRow, Advice]]:
    """Every logged run of a number with the answer after it."""
    for log in event.of(RunRow):
        if log.number == number:
            yield log, advise(as_of(event, number, log.day, log.run), number)
