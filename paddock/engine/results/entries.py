"""A table of entrants: numbers, names, classes, and where they stand in the running order; times in it are left."""

from __future__ import annotations

from dataclasses import dataclass

from paddock.engine.results.cells import plain
from paddock.engine.results.headers import ColumnMap, find_head, one_valued
from paddock.engine.results.who import Who, number_text
from paddock.model.event import Event
from paddock.model.rows import CellGrid

_MORE: dict[str, frozenset[str]] = {
    "car": frozenset(("vehicle", "fahrzeug", "voiture", "auto", "coche", "macchina", "make", "model", "car name")),
    "index": frozenset(("index code", "index")),
    "tyre_kind": frozenset(("tyres", "tyre", "tyre kind", "reifen")),
    "group": frozenset(("group", "heat", "run group", "gruppe", "startgruppe", "groupe")),
    "order": frozenset(("order", "start order", "grid", "startfolge", "ordre")),
    "work_group": frozenset(("work", "work group", "work heat", "worker group", "posten")),
}
"""Further columns by the words of their heads; common words from memory, no source."""
_LONGEST = 60


@dataclass(frozen=True, slots=True)
class ListedEntrant:
    """An entrant as listed. ``cells``: fields of its row; ``grid``: of its place in the running order."""

    line: int
    number: str
    cells: dict[str, str]
    grid: dict[str, str]


@dataclass(frozen=True, slots=True)
class Entries:
    """``new_classes``: codes in the table that are no class here, in order; ``unread``: ``line 4: why``."""

    rows: tuple[ListedEntrant, ...]
    new_classes: tuple[str, ...]
    unread: tuple[str, ...]


def read_entries(grid: CellGrid, columns: ColumnMap, event: Event) -> Entries:
    """The entrants of a table by its column map (``propose``). ValueError where no column holds car numbers."""
    if "number" not in columns.columns:
        raise ValueError("it can't be told which column holds the car numbers: name it with m, like number=No")
    who, more = Who(columns, event), _further(grid, columns)
    rows: dict[str, ListedEntrant] = {}
    codes: dict[str, None] = {}
    unread: list[str] = []
    section = ""
    for line, cells in zip(grid.lines[columns.first_row :], grid.rows[columns.first_row :], strict=True):
        if one_valued(cells):
            section = who.class_named(next(filter(None, cells), "")) or section
            continue
        found = _listed(line, cells, columns, more, who, section)
        if isinstance(found, str):
            unread.append(f"line {line}: {found}")
        elif rows.setdefault(found.number, found) is not found:
            unread.append(f"line {line}: number {found.number} is there twice; the first counts")
        elif (code := found.cells.get("class_")) and event.settings.class_of(code) is None:
            codes[code] = None
    if not rows:
        raise ValueError(unread[0] if unread else "the table holds nobody")
    return Entries(tuple(rows.values()), tuple(codes), tuple(unread))


def _further(grid: CellGrid, columns: ColumnMap) -> dict[str, int]:
    taken = set(columns.columns.values())
    labels = [plain(label) for label in find_head(grid).labels]
    return {
        role: next(at for at, label in enumerate(labels) if label in known and at not in taken)
        for role, known in _MORE.items()
        if any(label in known and at not in taken for at, label in enumerate(labels))
    }


def _listed(
    line: int, cells: tuple[str, ...], columns: ColumnMap, more: dict[str, int], who: Who, section: str
) -> ListedEntrant | str:
    at = columns.columns
    text = {role: " ".join(cells[place].split()) for role, place in (*at.items(), *more.items())}
    number = who.book.number(number_text(text["number"]))
    if not number or not number.replace("-", "").isalnum() or not any(c.isdigit() for c in number) or len(number) > 8:
        return f"{text['number'][:20]!r} is no car number"
    wrong = next((name for name, cell in text.items() if len(cell) > _LONGEST or not cell.isprintable()), None)
    if wrong:
        return f"the {wrong} is no {wrong}: too long, or it holds control characters"
    name = " ".join(filter(None, (text.get("first", ""), text.get("name", ""))))
    code = text.get("class", "")
    class_ = who.class_named(code) or (code if code and " " not in code else "") or section
    said = {"driver": name, "class_": class_, **{role: text.get(role, "") for role in ("index", "car", "tyre_kind")}}
    place = {role: text.get(role, "") for role in ("group", "order", "work_group")}
    place = {role: cell for role, cell in place.items() if cell and (role != "order" or cell.isdecimal())}
    return ListedEntrant(line, number, {role: cell for role, cell in said.items() if cell}, place)
