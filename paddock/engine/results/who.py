"""Whose row it is, or why it can't be told: by number, by name, with its class; and a list of entries read."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from paddock.engine.results.cells import plain
from paddock.engine.results.changes import Unread
from paddock.engine.results.headers import ColumnMap, find_head, one_valued
from paddock.model.event import Event
from paddock.model.rows import CellGrid, EntrantRow
from paddock.model.settings import Settings

# drivers' names told apart however they are written: ``Quist, Signe``, ``SIGNE QUIST``, ``S. Quist``


def _parts(name: str) -> tuple[str, ...]:
    return tuple(sorted(plain(name).split()))


def _fits(left: tuple[str, ...], right: tuple[str, ...]) -> bool:
    """Every part of the shorter has its own counterpart in the longer: the same, or its first letter.

    At least one whole word must be the same, so a surname alone fits and initials alone do not.
    """
    short, free = (left, list(right)) if len(left) <= len(right) else (right, list(left))
    whole = False
    for part in sorted(short, key=len, reverse=True):
        match = next((other for other in free if _same(part, other)), None)
        if match is None:
            return False
        whole = whole or (part == match and len(part) > 1)
        free.remove(match)
    return whole


def _same(part: str, other: str) -> bool:
    return part == other or (min(len(other), len(part)) == 1 and other[0] == part[0])


def same_person(one: str, other: str) -> bool:
    """Two writings of one name; a blank fits any."""
    left, right = _parts(one), _parts(other)
    return not left or not right or left == right or _fits(left, right)


def number_text(text: str) -> str:
    """A car number as it is kept: ``#58``, ``No. 58`` and ``58.0`` are 58; leading zeros stay."""
    bare = text.strip().strip("#").strip()
    for prefix in ("No.", "no.", "Nr.", "nr.", "N°", "№"):
        bare = bare.removeprefix(prefix).strip()
    whole, dot, part = bare.partition(".")
    return whole if dot and whole.isdigit() and not part.strip("0") else bare.strip("()[]. ")


class NameBook:
    """The entrants by number and by driver's name."""

    def __init__(self, entrants: Iterable[EntrantRow]) -> None:
        self.drivers = {entrant.number: entrant.driver or "" for entrant in entrants}
        self._bare = {number.lstrip("0") or "0": number for number in self.drivers}
        self._named: dict[tuple[str, ...], list[str]] = defaultdict(list)
        self._having: dict[str, set[tuple[str, ...]]] = defaultdict(set)
        self._found: dict[str, list[str]] = {}
        for number, driver in self.drivers.items():
            parts = _parts(driver)
            if parts:
                self._named[parts].append(number)
            for part in parts:
                self._having[part].add(parts)

    def number(self, text: str) -> str:
        """The entrants' own writing of a number (``07`` for ``7``), else as it stands."""
        found = number_text(text)
        return found if found in self.drivers else self._bare.get(found.lstrip("0") or "0", found)

    def numbers_named(self, name: str) -> list[str]:
        """All entries a name may mean."""
        if name not in self._found:
            self._found[name] = self._look_up(_parts(name))
        return list(self._found[name])

    def _look_up(self, parts: tuple[str, ...]) -> list[str]:
        if parts in self._named:
            return self._named[parts]
        near = {known for part in parts if len(part) > 1 for known in self._having.get(part, ())}
        return [number for known in sorted(near) if _fits(parts, known) for number in self._named[known]]


_LONGEST_NAME = 120
_LONGEST_NUMBER = 12


@dataclass(frozen=True, slots=True)
class Entry:
    """A row whose driver is known. ``name`` as posted, blank where the table has none; ``class_`` a known code."""

    line: int
    number: str
    name: str
    class_: str | None
    cells: tuple[str, ...]


class Who:
    """Finds the entrant of each row of one table."""

    def __init__(self, columns: ColumnMap, event: Event) -> None:
        self.at = columns.columns
        self.event = event
        self.book = NameBook(event.everybody)
        self.codes = _codes(event.settings)
        self.classes = {entrant.number: entrant.class_ for entrant in event.everybody}

    def class_named(self, text: str) -> str | None:
        """The code of a class named by its code or its full name."""
        return self.codes.get(plain(text))

    def unknown_class(self, entry: Entry) -> str | None:
        """The class the table names, where the event has none of that name and the driver is left without one."""
        named = None if entry.class_ or self.classes.get(entry.number) else self._cell(entry.cells, "class")
        return named or None

    def out_words(self, entry: Entry) -> str:
        """Why no run is read of an entrant whose own row is out, and what is done about it."""
        code = self.classes[entry.number]
        said = f"number {entry.number}: its row in entrants.csv is out"
        if code is None or self.event.settings.class_of(code) is not None:
            return f"{said}: mend that first"
        said += f", class {code} is none of this event's"
        return f"{said}: it gets {entry.class_} of the table, and its runs with it" if entry.class_ else (
            f"{said} and the table names none: mend that first"
        )  # fmt: skip

    def entry(self, cells: tuple[str, ...], line: int, section: str | None) -> Entry | Unread:
        """The row's driver, or why it can't be read."""
        number, name = self._cell(cells, "number"), self._name(cells)
        bad = _unfit(number, "number", _LONGEST_NUMBER * 4) or _unfit(name, "name", _LONGEST_NAME)
        if bad:
            return Unread(line, bad)
        class_ = self.class_named(self._cell(cells, "class")) or section
        if not number_text(number):
            return self._by_name(cells, line, name, class_)
        known, class_ = self._split(number, class_)
        if known not in self.book.drivers and not _is_number(known):
            return Unread(line, f"{known!r} is no car number")
        return self._checked(Entry(line, known, name, class_, cells))

    def _cell(self, cells: tuple[str, ...], role: str) -> str:
        index = self.at.get(role)
        return " ".join(cells[index].split()) if index is not None else ""

    def _name(self, cells: tuple[str, ...]) -> str:
        return " ".join(filter(None, (self._cell(cells, "first"), self._cell(cells, "name"))))

    def _split(self, number: str, class_: str | None) -> tuple[str, str | None]:
        """``58 ASH`` and ``ASH 58`` are a number and its class."""
        known = self.book.number(number)
        parts = known.split()
        if known in self.book.drivers or len(parts) != 2:
            return known, class_
        for one, other in (parts, parts[::-1]):
            if (code := self.class_named(one)) is not None:
                return self.book.number(other), class_ or code
        return known, class_

    def _by_name(self, cells: tuple[str, ...], line: int, name: str, class_: str | None) -> Entry | Unread:
        if not name:
            return Unread(line, "no car number and no name")
        found = self.book.numbers_named(name)
        if len(found) > 1 and class_:
            found = [number for number in found if self.classes.get(number) == class_] or found
        if len(found) == 1:
            return Entry(line, found[0], name, class_, cells)
        if found:
            return Unread(line, f"{name} may be {' or '.join(found)}: the table needs car numbers")
        return Unread(line, f"nobody called {name} is entered and the row has no number: enter the number first")

    def _checked(self, entry: Entry) -> Entry | Unread:
        known = self.book.drivers.get(entry.number, "")
        if known and entry.name and not same_person(known, entry.name):
            other = [number for number in self.book.numbers_named(entry.name) if number != entry.number]
            if other:
                return Unread(
                    entry.line,
                    f"number {entry.number} is {known} here, and {entry.name} is number {other[0]}: not brought in",
                )
        return entry


def _codes(settings: Settings) -> dict[str, str]:
    named = {plain(item.name): item.code for item in settings.classes if item.name}
    return named | {plain(item.code): item.code for item in settings.classes}


def _is_number(text: str) -> bool:
    bare = text.replace("-", "").replace("/", "")
    return len(text) <= _LONGEST_NUMBER and bare.isalnum() and any(char.isdigit() for char in bare)


def _unfit(text: str, what: str, longest: int) -> str:
    if len(text) > longest:
        return f"the {what} has {len(text):,} characters: no {what} has"
    if "<" in text and ">" in text:
        return f"the {what} holds code of a page, not a {what}"
    if not text.isprintable():
        return f"the {what} holds control characters"
    return ""


_MORE: dict[str, frozenset[str]] = {
    "car": frozenset(
        ("car", "vehicle", "fahrzeug", "voiture", "auto", "coche", "macchina", "make", "model", "car name")
    ),
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
    """``new_classes``: codes in the table that are no class here, in order; ``unread``: ``line 4: why``;
    ``further``: heads of the columns taken beside those of the map; ``unused``: of those that none reads.
    """

    rows: tuple[ListedEntrant, ...]
    new_classes: tuple[str, ...]
    unread: tuple[str, ...]
    further: tuple[str, ...] = ()
    unused: tuple[str, ...] = ()


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
    labels = find_head(grid).labels
    heads = tuple(labels[at] for at in more.values())
    unused = tuple(label for label in columns.unused if label not in heads)
    return Entries(tuple(rows.values()), tuple(codes), tuple(unread), heads, unused)


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
