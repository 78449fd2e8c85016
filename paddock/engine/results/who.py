"""Whose row it is: by number, by name, with the class it stands in; or why it can't be told."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from paddock.engine.results.cells import plain
from paddock.engine.results.changes import Unread
from paddock.engine.results.headers import ColumnMap
from paddock.model.event import Event
from paddock.model.rows import EntrantRow
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
        self.book = NameBook(event.entrants)
        self.codes = _codes(event.settings)
        self.classes = {entrant.number: entrant.class_ for entrant in event.entrants}

    def class_named(self, text: str) -> str | None:
        """The code of a class named by its code or its full name."""
        return self.codes.get(plain(text))

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
