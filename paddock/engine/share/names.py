"""Who is called what: my own entries by name, rivals by a letter unless names are asked for."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import cached_property

from paddock.model.event import Event
from paddock.model.rows import NoteRow

_SPOKEN = r"(?<![\w.])(?P<word>car|number|no\.|nr\.|entry|driver|#)(?P<gap>\s*){number}(?![\w.])"
_UNITS = (
    r"psi|kpa|bar|mm|cm|m|c|f|k|s|sec\w*|min\w*|hours?|days?|runs?|cones?|degrees?|clicks?|holes?|turns?|of|to|or|and|n"
    r"|other|hot|cold|cars|controls|events|tyres|changes|tests|readings|years?|heats?|times"
)
_FIRST = rf"(?P<start>^|[.;:!?]\s+){{number}}(?=\s+(?!(?:{_UNITS})\b)[a-z])"

_Put = tuple[re.Pattern[str], Callable[[re.Match[str]], str]]

_ABOUT_RIVALS = frozenset({"rival", "rivals", "debrief rivals"})


def about_rivals(row: NoteRow) -> bool:
    """Its topic is rivals."""
    return (row.topic or "").strip().casefold() in _ABOUT_RIVALS


class Names:
    """``shown`` False: rivals are ``rival A``, ``rival B`` ... in the order of ``entrants.csv``.

    Free text is cleaned of rivals' names, and of their numbers where the text says a number is meant; a
    bare figure in a text may be a pressure and stays.
    """

    def __init__(self, event: Event, shown: bool = False) -> None:
        self.event, self.shown = event, shown
        self._mine = frozenset(event.settings.mine.numbers)

    def is_mine(self, number: str) -> bool:
        """An entry of mine."""
        return number in self._mine

    def label(self, number: str) -> str:
        """How an entry is called."""
        if not self.shown and not self.is_mine(number):
            return self._letters.get(number, "a rival")
        entrant = self.event.entrant(number)
        return f"{number} {entrant.driver}" if entrant and entrant.driver else number

    @cached_property
    def _letters(self) -> dict[str, str]:
        rivals = [item.number for item in self.event.everybody if not self.is_mine(item.number)]
        return {number: f"rival {_letter(at)}" for at, number in enumerate(rivals)}

    def clean(self, text: str | None) -> str:
        """A text of mine as it may be shown."""
        return self._put(text, (*self._named, *self._spoken, *self._first))

    def written(self, text: str | None) -> str:
        """What the program wrote, words of mine in it: its bare figures are no numbers of cars."""
        return self._put(text, (*self._named, *self._spoken))

    def _put(self, text: str | None, patterns: Iterable[_Put]) -> str:
        found = " ".join((text or "").split())
        if self.shown or not found:
            return found
        for pattern, put in patterns:
            found = pattern.sub(put, found)
        return found

    @cached_property
    def _named(self) -> list[_Put]:
        names = {
            item.driver: label
            for item in self.event.everybody
            if (label := self._letters.get(item.number)) and item.driver
        }
        return self._by_name(names)

    @cached_property
    def _spoken(self) -> list[_Put]:
        return self._by_number(_SPOKEN, re.IGNORECASE, lambda found: self._letters[found["number"]])

    @cached_property
    def _first(self) -> list[_Put]:
        return self._by_number(_FIRST, re.NOFLAG, lambda found: found["start"] + self._letters[found["number"]])

    def _by_name(self, names: dict[str, str]) -> list[_Put]:
        """Whole names first, then their parts, unless a part is mine or short."""
        own = {part.casefold() for number in self._mine for part in self._parts(number)}
        parts = {part: label for name, label in names.items() for part in name.split() if len(part) > 3}
        parts = {part: label for part, label in parts.items() if part.casefold() not in own}
        wanted = {name.casefold(): label for name, label in [*parts.items(), *names.items()]}
        if not wanted:
            return []
        longest = sorted(wanted, key=lambda name: -len(name))
        either = "|".join(r"\s+".join(map(re.escape, name.split())) for name in longest)
        pattern = re.compile(rf"(?<!\w)(?:{either})(?!\w)", re.IGNORECASE)
        return [(pattern, lambda found: wanted.get(" ".join(found[0].casefold().split()), "a rival"))]

    def _parts(self, number: str) -> list[str]:
        return next(((row.driver or "").split() for row in self.event.everybody if row.number == number), [])

    def _by_number(self, where: str, flags: re.RegexFlag, put: Callable[[re.Match[str]], str]) -> list[_Put]:
        if not self._letters:
            return []
        longest = sorted(self._letters, key=lambda number: -len(number))
        number = f"(?P<number>{'|'.join(map(re.escape, longest))})"
        return [(re.compile(where.format(number=number), flags), put)]


def _letter(at: int) -> str:
    """A ... Z, AA, AB ..."""
    return (_letter(at // 26 - 1) if at >= 26 else "") + chr(ord("A") + at % 26)
