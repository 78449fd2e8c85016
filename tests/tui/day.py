"""One event day from the keyboard, every key counted: ``python -m tests.tui.day`` writes ``docs/day.md``.

A key is anything pressed: a letter, a space, Enter. ``<enter>`` and the like are one key.
"""

from __future__ import annotations

import asyncio
import os
import re
import tempfile
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

from paddock.folders.starting import new_event
from tests.tui.pilot import Hand, driving

DOC = Path(__file__).parents[2] / "docs" / "day.md"
START = datetime(2026, 10, 11, 8, 0)


@dataclass(frozen=True)
class Step:
    """``minutes`` after the step before; ``seen``: what the screen says then; ``most``: keys it may take."""

    minutes: int
    what: str
    keys: str
    seen: str
    most: int | None = None


@dataclass(frozen=True)
class Taken:
    """A step as it went."""

    step: Step
    at: datetime
    keys: int


STEPS = (
    Step(0, "the event is new: my car number", "58<enter>", "saved: my numbers: 58"),
    Step(5, "weather", "w12 14 damp<enter>", "saved: weather"),
    Step(1, "cold pressures", "<backspace><backspace>p30 30 28 28 t12<enter>", "4 readings cold", 26),
    Step(60, "run 1: understeers everywhere", "u2u1u152318<enter>", "saved: run 1", 12),
    Step(2, "hot pressures", "p335340305305<enter>", "4 readings after run 1", 16),
    Step(4, "let out by hand, the front only", "pm330 330 . .<enter>", "2 readings set run 1", 16),
    Step(3, "a rival on the loudspeaker", "s23 51902<enter>", "run 1 of 23"),
    Step(1, "and another, with a cone", "71 50100 1<enter>", "run 1 of 71"),
    Step(1, "the change: one hole on the front bar", "cafront bar<enter>2-2<enter>1-1<enter>pushes<enter><enter><enter>",
         "saved: change"),
    Step(20, "run 2, better, a cone", "hu10o1 50871 +1<enter>", "saved: run 2", 16),
    Step(2, "hot pressures", "p340345310310<enter>", "4 readings after run 2", 16),
    Step(5, "a digit missed", "s23 5140<enter>", "more than one way"),
    Step(1, "and added", "2<enter>", "run 2 of 23"),
    Step(20, "run 3: off the course", "hdnf<enter>", "saved: run 3"),
    Step(1, "no, it was a re-run", "z" "re<enter>", "saved: run 3"),
    Step(15, "run 3 again, clean and neutral", "000 50233<enter>", "saved: run 3", 12),
    Step(2, "hot pressures", "p345350315315<enter>", "4 readings after run 3", 16),
    Step(1, "a note", "ndriver: later on the brake at the box<enter>", "saved: note"),
    Step(1, "the change is kept", "<escape>c<down><enter>k<enter>", "saved: keep"),
    Step(1, "and home", "h", "what now"),
)  # fmt: skip


def _names(keys: str) -> list[str]:
    found = []
    for part in re.findall(r"<[a-z]+>|.", keys):
        found.append(part.strip("<>") if len(part) > 1 else {" ": "space"}.get(part, part))
    return found


async def _step(hand: Hand, step: Step, at: datetime) -> Taken:
    before = hand.keys
    for name in _names(step.keys):
        await hand.press({"+": "plus"}.get(name, name))
    await hand.settle()
    if step.seen not in ("home", "what now"):
        assert step.seen in hand.told, f"{step.what}: {hand.told}"
    else:
        assert hand.page.NAME == "home", step.what
    return Taken(step, at, hand.keys - before)


async def drive(scratch: Path) -> list[Taken]:
    """Drive the whole day on a new event."""
    new_event(scratch / "event", "A day in keys", [date(2026, 10, 11)], [])
    taken: list[Taken] = []
    clock = [START]
    async with driving(scratch, clock=lambda: clock[0]) as hand:
        for step in STEPS:
            clock[0] += timedelta(minutes=step.minutes)
            taken.append(await _step(hand, step, clock[0]))
    return taken


def document(taken: list[Taken]) -> str:
    """The transcript."""
    rows = "".join(
        f"| {item.at:%H:%M} | {item.step.what} | `{item.step.keys.replace('|', '')}` | {item.keys} |\n"
        for item in taken
    )
    total = sum(item.keys for item in taken)
    return (
        "# One day, key by key\n\n"
        "Driven by `tests/tui/day.py` through the real screens on a new event; every key is counted, `<enter>` is one.\n\n"
        f"| at | what | keys | count |\n|---|---|---|---|\n{rows}\n{total} keys for the whole day.\n"
    )


def main() -> None:
    """Write the transcript."""
    os.environ["TEXTUAL_ANIMATIONS"] = "none"
    with tempfile.TemporaryDirectory() as scratch:
        for part in ("XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_DATA_HOME"):
            os.environ[part] = f"{scratch}/{part}"
        DOC.write_text(document(asyncio.run(drive(Path(scratch)))), "utf-8")


if __name__ == "__main__":
    main()
