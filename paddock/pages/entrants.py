"""Who is entered, in which class, and where each stands in the running order of the day."""

from __future__ import annotations

from paddock import words as say
from paddock.engine.results.who import Entries
from paddock.engine.scoring.tables import by_number
from paddock.model.event import Event
from paddock.model.rows import EntrantRow, GridRow
from paddock.pages.document import Block, Column, Document, PageTable, Piece, TableRow, words
from paddock.pages.faults import unlisted_words

NOBODY = (
    "Nobody is entered yet. Type number, class and driver, like 23 ASH Kim Dale; or paste a copied list into the line; "
    "or a takes a file, or the entrants of an earlier event."
)


def entrants_table(event: Event, day: int) -> PageTable:
    """A row an entrant, by number; mine stand out, ``?`` stands before one whose class is not known."""
    places = {row.number: row for row in event.of(GridRow) if row.day == day}
    columns = (
        Column(""), Column("no", figures=True), Column("class", most=8), Column("driver", most=24),
        Column("car", drop=2, most=16), Column("index", drop=3, most=8), Column("group", drop=1, most=10),
        Column("order", drop=1, figures=True), Column("work", drop=4, most=10), Column("", drop=1),
    )  # fmt: skip
    rows = sorted(event.entrants, key=lambda row: by_number(row.number))
    empty = unlisted_words(event) or NOBODY
    return PageTable(columns, tuple(_row(event, row, places.get(row.number)) for row in rows), empty=empty)


def _row(event: Event, row: EntrantRow, place: GridRow | None) -> TableRow:
    mine = row.number in event.settings.mine.numbers
    known = row.class_ is not None and event.settings.class_of(row.class_) is not None
    mark = ">" if mine else " " if known else "?"
    group, order, work = (place.group, place.order, place.work_group) if place else (None, None, None)
    cells = (
        Piece(mark, "" if known else "warn"), row.number, row.class_ or "-", row.driver or "", row.car or "",
        row.index or "", group or "", "" if order is None else str(order), work or "", row.status or "",
    )  # fmt: skip
    return TableRow(cells, row.number, mine=mine)


def entrant_page(event: Event, number: str) -> Document:
    """The one in hand: its class in full, and what can be said of it."""
    row = event.entrant(number)
    if row is None:
        return Document("entrants", (words(unlisted_words(event) or NOBODY),))
    found = event.settings.class_of(row.class_)
    factor = event.settings.index.factors.get(row.index or row.class_ or "")
    by = "index times" if found and found.scored_by == "index" else "raw totals"
    index = f"index {factor}" if factor is not None else "no index"
    told = f"{found.code} {found.name or ''}".strip() + f", ranked on {by}, {index}" if found else (
        f"{row.class_} is no class of this event: left and right put it into one" if row.class_ else
        "in no class: left and right put it into one"
    )  # fmt: skip
    blocks: list[Block] = [words((f"{number} {row.driver or ''}".strip(), "strong"), f": {told}")]
    blocks.append(words(
        (" Enter ", "key", "take"), " all of it  ", (" right ", "key", "turn_class(1)"), " next class  ",
        (" j ", "key", "place"), " running order",
    ))  # fmt: skip
    return Document("entrants", tuple(blocks))


def entries_page(found: Entries, mapping: str) -> Document:
    """A list as it was understood, before it is taken in."""
    new = f"; new classes: {', '.join(found.new_classes)}" if found.new_classes else ""
    head = f"{say.plural(len(found.rows), 'entrant')}{new}"
    mapped = "; also ".join(filter(None, (mapping, ", ".join(found.further))))
    blocks: list[Block] = [words((head, "strong")), words(("columns: ", "quiet"), mapped)]
    if found.unused:
        blocks.append(words(("not used: ", "quiet"), ", ".join(found.unused)))
    if found.unread:
        blocks.append(words(("! ", "warn"), f"{say.plural(len(found.unread), 'row')} not read: {found.unread[0]}"))
    columns = (
        Column("no", figures=True), Column("class", most=8), Column("driver", most=24),
        Column("car", drop=2, most=16), Column("group", drop=1, most=10),
    )  # fmt: skip
    rows = [
        TableRow((item.number, item.cells.get("class_", ""), item.cells.get("driver", ""), item.cells.get("car", ""),
             item.grid.get("group", "")))
        for item in found.rows
    ]  # fmt: skip
    taps = words((" take them in ", "hand", "take"), "  ", (" leave ", "key", "leave"))
    return Document("entrants", (*blocks, taps, PageTable(columns, tuple(rows))))
