"""Drivers' names told apart however they are written: ``Quist, Signe``, ``SIGNE QUIST``, ``S. Quist``."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from paddock.engine.results.vocabulary import plain
from paddock.model.rows import EntrantRow


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
