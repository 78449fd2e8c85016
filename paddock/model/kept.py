"""The rows of one file as a tuple that knows them by number and keeps what was worked out of them.

The one place that knows what an edit touches: a changed copy shares the rows of every number whose rows it leaves
alone, the very same tuple, and with it whatever was worked out of those rows.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import compress, count
from operator import attrgetter, is_not
from typing import Any, TypeVar, cast

from paddock.model.rows import Row, key_of

R = TypeVar("R", bound=Row)
T = TypeVar("T")
_ANSWERS = 4
"""Of one question, by what it was asked with: a table of the total and of a day or two."""
_NO: dict[Any, Any] = {}
_line = attrgetter("line")


class KeptRows(tuple[R, ...]):
    """Frozen rows in file order. Equal to a plain tuple of them."""

    def __reduce__(self) -> tuple[Any, ...]:
        """To another process go the rows alone."""
        return KeptRows, (tuple(self),)

    @property
    def by_number(self) -> Mapping[str, KeptRows[R]]:
        """The rows of each number; those without one under a blank."""
        found = self.__dict__.get("numbers")
        if found is None:
            found = self.__dict__["numbers"] = _grouped(self)
        return cast("Mapping[str, KeptRows[R]]", found)

    def once(self, make: Callable[..., T], *given: object) -> T:
        """``make(self, *given)``, worked out once for these rows and equal ``given``; ``make`` is pure."""
        answers: dict[Callable[..., Any], tuple[tuple[tuple[object, ...], Any], ...]] = self.__dict__.get(
            "answers", _NO
        )
        answer: T
        for asked, answer in answers.get(make, ()):
            if asked == given:
                return answer
        answer = make(self, *given)
        if answers is _NO:
            answers = self.__dict__["answers"] = {}
        answers[make] = ((given, answer), *answers.get(make, ())[: _ANSWERS - 1])
        return answer

    def known_by(self, key: Sequence[object]) -> list[R]:
        """The rows of a key: one, none, or (a run and its re-run, or a fault) more."""
        if not self:
            return []
        names, held, wanted = self[0].KEY, key_of(type(self[0])), tuple(key)
        by_number = "number" in names and len(wanted) == len(names)
        rows = self.by_number.get(str(wanted[names.index("number")]), ()) if by_number else self
        return [row for row in rows if held(row) == wanted]

    def changed_to(self, rows: Iterable[R]) -> KeptRows[R]:
        """Other rows of the same file, lines ascending in both: numbers whose rows are the very same keep theirs."""
        made = KeptRows(rows)
        return made.parted(_regrouped(self, made))

    def parted(self, groups: Mapping[str, KeptRows[R]]) -> KeptRows[R]:
        """The same rows, known by number already."""
        self.__dict__["numbers"] = groups
        return self


def kept(rows: Iterable[R]) -> KeptRows[R]:
    """The rows as they are where they are kept already."""
    return rows if isinstance(rows, KeptRows) else KeptRows(rows)


def _number(row: Row) -> str:
    return getattr(row, "number", None) or ""


def _parted(rows: Iterable[R]) -> dict[str, list[R]]:
    found: dict[str, list[R]] = defaultdict(list)
    for row in rows:
        found[_number(row)].append(row)
    return found


def _grouped(rows: Iterable[R]) -> dict[str, KeptRows[R]]:
    return {number: KeptRows(own) for number, own in _parted(rows).items()}


def _regrouped(old: KeptRows[R], new: KeptRows[R]) -> dict[str, KeptRows[R]]:
    front = _alike(old, new)
    back = _alike(old[: front - 1 : -1] if front else old[::-1], new[: front - 1 : -1] if front else new[::-1])
    gone = _parted(old[front : len(old) - back])
    come = _parted(new[front : len(new) - back])
    groups = dict(old.by_number)
    for number in gone.keys() | come.keys():
        out = set(map(id, gone.get(number, ())))
        stay = [row for row in groups.pop(number, ()) if id(row) not in out]
        now = sorted([*stay, *come.get(number, ())], key=_line)
        if now:
            groups[number] = KeptRows(now)
    return groups


def _alike(one: Sequence[R], other: Sequence[R]) -> int:
    """How many of the first rows are the very same."""
    return next(compress(count(), map(is_not, one, other)), min(len(one), len(other)))
