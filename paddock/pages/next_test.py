"""The next test in words: how the runs left are laid out, how likely each way is to tell, and what waits for one."""

from __future__ import annotations

import math
from collections.abc import Sequence

from paddock.engine.field.effect import Effect
from paddock.engine.field.plan import WayToTest, plan, usual_tests, ways_to_test
from paddock.engine.field.verdict import to_test
from paddock.engine.work.due import carried_tests
from paddock.model.event import Event
from paddock.pages.document import Block, Column, Document, Heading, PageTable, TableRow, Words, paragraphs, words
from paddock.pages.effect import logged_change
from paddock.pages.verdict_words import next_test_words, to_test_words


def plan_page(event: Event, found: Effect | None, runs_left: int | None = None, number: str = "") -> Document:
    """The runs left laid out for the next test, how likely each way is to tell, and what else waits for one.

    ``found`` None: no change is logged yet, and it is said what a test of each kind could tell. ``runs_left`` None: as
    the event says.
    """
    if found is None:
        return _before_any(event, number, runs_left)
    change = logged_change(event, found)
    made = None if change is None else plan(event, found.number, runs_left, change_id=change.id)
    if change is None or made is None:
        return Document("next test", (words((next_test_words(found.label, found.plan), "strong")), *_waiting(event)))
    blocks: list[Block] = [words((next_test_words(found.label, made), "strong"), hang=2)]
    said = {"old": change.before or "as it was", "new": change.after or "as changed", "free": "as you like"}
    days = {item.day for item in made.runs}
    rows = tuple(
        TableRow((f"run {item.run}" + (f" of day {item.day}" if len(days) > 1 else ""),
             f"{item.setting}: {said[item.setting]}" if item.setting != "free" else said["free"]))
        for item in made.runs
    )  # fmt: skip
    empty = "no run is left to lay out here; type how many you will have, like 4"
    blocks += [PageTable((Column(""), Column("")), rows, empty=empty), Heading("how likely it is to tell")]
    ways = ways_to_test(event, found.number, change, runs_left)
    blocks += [*_likely(ways), _ways_table(ways), words((_WHY, "quiet"), hang=2)]
    return Document("next test", (*blocks, *_waiting(event)))


_RECKONED = (
    "Reckoned with a usual scatter and a dozen cars that tell the course. Mirrored orders let course and learning "
    "cancel. Type how many runs you have left to lay them out anew."
)
_WHY = f"The next day is run mirrored. {_RECKONED}"
_WAYS = {
    "mirrored": "old-new-new-old", "alternating": "turned each run", "halves": "one, then other",
    "another day": "4 runs, next day", "eight runs": "8 runs, next day",
    "days": "a whole day each",
}  # fmt: skip
_HARDLY = 0.25


def _likely(ways: Sequence[WayToTest]) -> list[Words]:
    """Whether anything that can be done today finds what is hoped for, plainly."""
    today = [way for way in ways if way.name not in {"another day", "eight runs"}]
    best = max(today, key=lambda way: way.power.probably, default=None)
    hoped = f"{ways[0].power.hoped_s:.2f} s"
    if best is None:
        said = f"Nothing you can do today finds {hoped}: no two runs are left for it."
    else:
        chance, half = f"{100 * best.power.probably:.0f} %", best.power.finds_s
        found = "" if math.isinf(half) else f"; half of the time it finds {half:.2f} s"
        if best.power.probably >= _HARDLY:
            said = f"{_WAYS[best.name]} tells most: it would call {hoped} with {chance}{found}."
        else:
            start = "A day each way hardly finds" if best.name == "days" else "Nothing you can do today finds"
            said = f"{start} {hoped}: {_WAYS[best.name]} would call it with {chance}{found}."
    return [words((said, "strong"), hang=2)]


_KINDS = {
    "pressure": "a pressure, 2 psi", "quick": "bar, damper, wing", "slow": "toe, camber, springs",
    "tyres": "other tyres",
}  # fmt: skip


def _before_any(event: Event, number: str, runs_left: int | None) -> Document:
    """The evening before: what each kind of test could tell with the runs to come, and what was left to be tested."""
    columns = (Column("a change of", most=24), Column("order", most=20), Column("goes", figures=True, drop=1),
               Column("told", figures=True), Column("half of the time", figures=True, drop=2))  # fmt: skip
    rows = tuple(
        TableRow((_KINDS[kind], _WAYS[way.name], f"{way.power.hoped_s:.2f} s", f"{100 * way.power.probably:.0f} %",
                  "-" if math.isinf(way.power.finds_s) else f"{way.power.finds_s:.2f} s"))
        for kind, way in usual_tests(event, number, runs_left)
    )  # fmt: skip
    blocks: list[Block] = [
        words((_COULD_TELL, "strong"), hang=2),
        PageTable(columns, rows),
        words((_TOLD, "quiet"), hang=2),
    ]
    left = carried_tests(event)
    if left:
        blocks += [Heading("left to test by the last event"), *paragraphs(left)]
    return Document("next test", tuple(blocks))


_COULD_TELL = "No change is logged yet. What a test could tell here:"
_TOLD = (
    "goes: how far such a change usually goes; told: how often the test would call that probably or surer; half of the "
    f"time: the effect it would call so on every other day. {_RECKONED}"
)


def _ways_table(ways: Sequence[WayToTest]) -> PageTable:
    columns = (Column("way", most=32), Column("turns", figures=True, drop=2), Column("probably", figures=True),
               Column("very likely", figures=True, drop=1))  # fmt: skip
    rows = tuple(
        TableRow(
            (_WAYS[way.name], str(way.turns), f"{100 * way.power.probably:.0f} %", f"{100 * way.power.very:.0f} %")
        )
        for way in ways
    )
    return PageTable(columns, rows)


def _waiting(event: Event) -> list[Block]:
    others = to_test_words(to_test(event))
    return [Heading("tests nobody has decided, of every car"), *paragraphs(others)] if others else []
