"""What was understood of a table of results, as values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Posted:
    """One run as posted; None = the table does not say. ``line``: where in the source."""

    day: int
    run: int
    number: str
    time_ms: int | None
    cones: int | None
    misses: int | None
    status: str | None
    at: str | None = None
    try_: str | None = None
    line: int = 0

    @property
    def key(self) -> tuple[int, int, str, str | None]:
        """Day, run, number and try, as in ``times.csv``."""
        return self.day, self.run, self.number, self.try_


@dataclass(frozen=True, slots=True)
class Unread:
    """A row or cell that could not be read; ``line`` in the source, 0 = the whole table."""

    line: int
    why: str


@dataclass(frozen=True, slots=True)
class NewEntrant:
    """A number that is not entered yet, or an entry whose blanks the table fills; the rest is to be completed."""

    number: str
    driver: str | None
    class_: str | None
    known: bool = False


@dataclass(frozen=True, slots=True)
class Difference:
    """A run of mine as posted and as I logged it, in words; ``minutes_left`` to protest, None = can't be told.

    ``minutes_left`` 0 = over. It counts from the run's own clock time, so a rule that counts from the
    posting leaves more.
    """

    day: int
    run: int
    number: str
    posted: str
    logged: str
    minutes_left: int | None


@dataclass(frozen=True, slots=True)
class Doubt:
    """Why a table should not be taken without a word from the user.

    ``kind``: ``other`` another event's or day's; ``shared`` two drivers on one number (their rows are left
    out); ``run`` the table does not say which run it is.
    """

    kind: Literal["other", "shared", "run"]
    why: str


@dataclass(frozen=True, slots=True)
class Understood:
    """``rows`` to bring in, ``unread`` what could not be, ``doubts`` why the table may be another one.

    With a doubt nothing should be written unless the user says so. ``remarks`` are only for the eye.
    """

    rows: tuple[Posted, ...]
    unread: tuple[Unread, ...]
    new_entrants: tuple[NewEntrant, ...]
    differences: tuple[Difference, ...]
    day: int
    added: int = 0
    updated: int = 0
    unchanged: int = 0
    doubts: tuple[Doubt, ...] = ()
    remarks: tuple[str, ...] = ()
