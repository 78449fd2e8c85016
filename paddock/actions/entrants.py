"""Who is entered: one typed, a list taken in, a class corrected, a place in the running order."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from paddock.actions.event import put_classes
from paddock.actions.runs import one_row
from paddock.engine.results.who import Entries
from paddock.entry.event import ClassLine
from paddock.model.edit import AddRow, Batch, ChangeRow, RemoveRow
from paddock.model.event import Event
from paddock.model.rows import EntrantRow, GridRow


def put_entrant(event: Event, number: str, cells: Mapping[str, Any]) -> Batch:
    """An entrant made, or what is said of one; a class that is not there yet is made with it."""
    made = _classes(event, [str(cells["class_"])] if cells.get("class_") else [])
    row = event.entrant(number)
    if row is not None and row.status == "carried" and "status" not in cells:
        cells = {**cells, "status": None}
    entered = one_row(event, EntrantRow, {"number": number}, cells)
    new = f", class {cells['class_']} made" if made else ""
    return Batch(f"entrant {number}{new}", (*made, entered))


def _classes(event: Event, codes: Iterable[str]) -> tuple[Any, ...]:
    new = [code for code in dict.fromkeys(codes) if event.settings.class_of(code) is None]
    return put_classes(event, [ClassLine(code) for code in new]).edits if new else ()


def turn_class(event: Event, number: str, by: int) -> Batch:
    """The entrant in the next class of the event, or the one before. ValueError where there is no other."""
    codes = [item.code for item in event.settings.classes]
    row = event.entrant(number)
    if row is None or not codes or codes == [row.class_]:
        raise ValueError("there is no other class: type 23 FIR to make one, or @ for classes")
    at = codes.index(row.class_) + by if row.class_ in codes else 0 if by > 0 else -1
    code = codes[at % len(codes)]
    return Batch(f"{number} in {code}", (ChangeRow(EntrantRow.FILE, (number,), {"class_": code}),))


def drop_entrant(event: Event, number: str) -> Batch:
    """The entrant taken out, with its places in the running order. ValueError where it has runs."""
    if event.times_of(number):
        raise ValueError(f"{number} has runs: it stays; set it withdrawn with Enter")
    places = (RemoveRow(GridRow.FILE, row.key) for row in event.of(GridRow) if row.number == number)
    return Batch(f"entrant {number} taken out", (RemoveRow(EntrantRow.FILE, (number,)), *places))


def put_place(event: Event, day: int, number: str, cells: Mapping[str, Any]) -> Batch:
    """Its place in the running order of a day: group, order, work group."""
    edit = one_row(event, GridRow, {"day": day, "number": number}, cells)
    return Batch(f"running order day {day}: {number}", (edit,))


def take_entrants(event: Event, found: Entries, day: int) -> Batch:
    """A list taken in as one: new ones entered, said things changed, unknown classes made, the running order of a day.

    Nobody is taken out, and a cell the list leaves blank stays as it is.
    """
    edits: list[Any] = list(_classes(event, found.new_classes))
    rows = {**event.out, **{row.number: row for row in event.entrants}}
    moved = {edit.key[0] for edit in edits if isinstance(edit, ChangeRow)}
    added = changed = 0
    for item in found.rows:
        known = rows.get(item.number)
        if known is None:
            edits.append(AddRow(EntrantRow.FILE, {"number": item.number, **item.cells}))
            added += 1
        elif (
            item.number in moved
            or known.status == "carried"
            or any(getattr(known, name) != cell for name, cell in item.cells.items())
        ):
            here: dict[str, Any] = {"status": None} if known.status == "carried" else {}
            edits.append(ChangeRow(EntrantRow.FILE, (item.number,), here | dict(item.cells)))
            changed += 1
        if item.grid:
            place: dict[str, Any] = {**item.grid}
            if "order" in place:
                place["order"] = int(place["order"])
            edits.append(one_row(event, GridRow, {"day": day, "number": item.number}, place))
    return Batch(f"{added} entered, {changed} changed", tuple(edits))


def take_from_event(event: Event, old: Event) -> Batch:
    """The entrants of another event that are not here yet, their classes made where they are not there."""
    new = [row for row in old.entrants if event.entrant(row.number) is None and row.number not in event.out]
    codes = [row.class_ for row in new if row.class_]
    made = [code for code in dict.fromkeys(codes) if event.settings.class_of(code) is None]
    said = {item.code: item for item in old.settings.classes}
    lines = [ClassLine(code, old.settings.index.factors.get(code), said[code].scored_by if code in said else None,
                       said[code].name if code in said else None) for code in made]  # fmt: skip
    edits = put_classes(event, lines).edits if lines else ()
    cells = (row.model_dump(exclude={"line", "status"}, exclude_none=True) for row in new)
    rows = tuple(AddRow(EntrantRow.FILE, row) for row in cells)
    return Batch(f"{len(new)} entrants of {old.settings.name or old.name}", (*edits, *rows))
