"""One tyre's values: each with its meaning, whom a typed one goes to, its readings, and what its date code says."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from paddock.actions.tyre_values import row_of, set_of, who_gets
from paddock.actions.tyres import depth_words
from paddock.engine.tyres.inventory import age_years, code_question, made_in
from paddock.engine.tyres.wear import EDGES, by_tyre, edges_of
from paddock.entry.tyres import tyre_value_text
from paddock.model.event import Event
from paddock.model.tyre_values import VALUES
from paddock.model.units import Measured
from paddock.pages.document import Block, Column, Document, PageTable, Piece, TableRow, words

NO_TYRE = (
    "No tyres are known yet. a adds a set: a name for each tyre, then what they are, what one costs, their limits. "
    "They can be put on the car in the same breath."
)
_READING = Measured(
    "Tread", "", "Inner, middle, outer edge as read after the runs of that day; day 0 is before the event.",
    "Type three depths, like 4.4 4.6 3.1; - takes the reading out.", "The wear leaves it out.",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class TyreValue:
    """One line. ``id``: the field, or ``tread:1`` for the reading of day 1; ``text``: as typed, blank: not recorded.

    ``said``: what it means in plain words; ``who``: the tyres that get a typed value.
    """

    id: str
    label: str
    text: str
    measure: Measured
    said: str = ""
    who: tuple[str, ...] = ()

    @property
    def day(self) -> int | None:
        """The day of a reading; None: it is a value."""
        head, _, day = self.id.partition(":")
        return int(day) if head == "tread" else None


def unit_typed(event: Event, field: str, depth: str) -> str:
    """The unit a value is typed in: the event's for pressures, the file's (``depth``) for depths."""
    if field.endswith("_psi"):
        return event.settings.pressure_unit or "psi"
    return depth if field == "floor_mm" else ""


def tyre_values(event: Event, tyre: str, alone: bool, depth: str = "mm") -> tuple[TyreValue, ...]:
    """Every value, then the readings, the latest first. ``alone``: typed values go to this tyre only."""
    row = row_of(event, tyre)
    lines = []
    for field, measure in VALUES.items():
        value = tyre if field == "tyre" else getattr(row, field) if row else None
        unit = unit_typed(event, field, depth)
        who = who_gets(event, tyre, field, alone)
        said = code_words(row.date_code, _last_day(event)) if row and field == "date_code" else ""
        lines.append(TyreValue(field, measure.label, tyre_value_text(field, value, unit), measure, said, who))
    return (*lines, *_readings(event, tyre, depth))


def _readings(event: Event, tyre: str, depth: str) -> Iterator[TyreValue]:
    for row in reversed(by_tyre(event).get(tyre, [])):
        found = edges_of(row)
        text = depth_words((found.get(edge) for edge in EDGES), depth).replace("/", " ")
        yield TyreValue(f"tread:{row.day}", f"Tread, day {row.day}", text, _READING, who=(tyre,))


def _last_day(event: Event) -> date | None:
    return max(event.settings.days, default=None)


def code_words(code: str | None, on: date | None) -> str:
    """``week 9 of 2026, 0.6 years old``; blank where nothing is written."""
    if not code:
        return ""
    made, question = made_in(code), code_question(code, on)
    if made is None or question:
        return question or ""
    years = age_years(code, on) if on else None
    old = "" if years is None else f", {years:.1f} years old at this event"
    return f"week {made.week} of {made.year}{old}"


def values_table(lines: tuple[TyreValue, ...], event: Event, depth: str) -> PageTable:
    """A row a value."""
    columns = (Column("what", most=24), Column("is", most=24), Column("", drop=1), Column("", drop=2, most=44))
    rows = []
    for line in lines:
        unit = unit_typed(event, line.id, depth) if line.day is None else depth
        short = {"32nds": "/32 in", "kpa": "kPa"}.get(unit, unit) if line.text else ""
        shown = Piece(line.text or "-", "" if line.text else "quiet")
        rows.append(TableRow((line.label, shown, short, line.said), line.id))
    return PageTable(columns, tuple(rows))


def value_page(line: TyreValue) -> Document:
    """The value in hand in full."""
    row = line.measure
    blocks: list[Block] = [words((f"{line.label}. {row.meaning}".strip(), "strong"))]
    if line.said:
        blocks.append(words(("It says: ", "quiet"), f"{line.said}."))
    blocks.append(words(("How: ", "quiet"), row.how))
    if row.without:
        blocks.append(words(("Without it: ", "quiet"), row.without))
    if len(line.who) > 1:
        blocks.append(words(("For: ", "quiet"), f"{' '.join(line.who)}, the whole set."))
    return Document(line.id, tuple(blocks))


def set_words(event: Event, tyre: str, alone: bool) -> str:
    """Whom values go to, before the table."""
    mates = set_of(event, tyre)
    if len(mates) == 1:
        return tyre
    row = row_of(event, tyre)
    whole = f"set {row.set if row else ''}: {' '.join(mates)}"
    return f"{tyre} alone, of {whole}" if alone else f"{tyre}, with {whole}"
