"""Where a table's header stands, and what the words of one header mean."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from paddock.engine.results.cells import HEADERS, IGNORED, plain, read_result
from paddock.errors import UsageError
from paddock.model.rows import CellGrid

# which column of a table is what: the roles, and how they are written on a command line


SINGLE = (
    "number",
    "name",
    "first",
    "class",
    "run",
    "day",
    "at",
    "try",
    "time",
    "total",
    "cones",
    "penalty",
    "misses",
    "status",
)
"""Roles of one column. ``total``: a time with its penalties in; ``penalty``: added seconds; ``first``: first name."""

PER_RUN = ("run", "total", "cones", "penalty", "misses", "status")
"""Roles that take a run's number: ``run1``, ``cones1`` ..."""

_ROLE = re.compile(rf"(?:{'|'.join(SINGLE)})|(?:{'|'.join(PER_RUN)})[1-9]\d?")
_SPLIT = re.compile(r",(?=\s*[a-z]+\d*\s*=)")


@dataclass(frozen=True, slots=True)
class ColumnMap:
    """``columns``: role to column index from 0. ``first_row``: index of the first row that is no header.

    ``labels``: role to the column as the user may name it. ``ranks``: roles whose bracketed number is a place.
    ``remembered``: it was confirmed before. ``left_over``: columns with times that no role reads;
    ``unused``: the other filled columns that none reads.
    """

    columns: Mapping[str, int]
    first_row: int = 0
    labels: Mapping[str, str] = field(default_factory=dict)
    ranks: frozenset[str] = field(default=frozenset())
    remembered: bool = False
    left_over: tuple[str, ...] = ()
    unused: tuple[str, ...] = ()

    @property
    def runs(self) -> tuple[int, ...]:
        """Run numbers that have columns of their own, in order; empty: one run per row."""
        numbers = {int(found[1]) for role in self.columns if (found := re.fullmatch(r"(?:run|total)(\d+)", role))}
        return tuple(sorted(numbers))

    @property
    def usable(self) -> bool:
        """Somebody is named and some time or status can be read."""
        who = "number" in self.columns or "name" in self.columns
        return who and bool(self.runs or {"time", "total", "status"} & self.columns.keys())

    def text(self) -> str:
        """As it is written after ``--map``."""
        return ",".join(f"{role}={label}" for role, label in self.labels.items())


def parse_map(text: str, headers: tuple[str, ...]) -> dict[str, int]:
    """``number=No,run1=Run 1`` to role and column index; a column is its header, or its place from 1.

    Raises UsageError naming what is not known.
    """
    columns: dict[str, int] = {}
    for part in _SPLIT.split(text):
        role, mark, name = part.partition("=")
        role = role.strip().lower()
        if not mark or _ROLE.fullmatch(role) is None:
            raise UsageError(
                f"--map: {part.strip()!r} is no role=column: the roles are {', '.join(SINGLE)}, run1, cones1 …"
            )
        if role in columns:
            raise UsageError(f"--map: {role} is given twice")
        columns[role] = _column(name.strip(), headers)
    return columns


def _column(name: str, headers: tuple[str, ...]) -> int:
    same = [index for index, header in enumerate(headers) if header == name]
    alike = same or [index for index, header in enumerate(headers) if plain(header) == plain(name) and plain(name)]
    if len(alike) == 1:
        return alike[0]
    if not alike and name.isascii() and name.isdigit() and 1 <= int(name) <= len(headers):
        return int(name) - 1
    if alike:
        raise UsageError(f"--map: {len(alike)} columns are called {name!r}: give the column's place from 1")
    shown = ", ".join(header or str(index) for index, header in enumerate(headers, 1))
    raise UsageError(f"--map: there is no column {name!r}: the columns are {shown}")


_NUMBERED = re.compile(r"([a-z]*)(\d{1,2})(?:st|nd|rd|th|a|o|e|er|re|eme|ere|ra|da|ta)?")
_SHORT = frozenset(("", "r", "l", "m", "h", "t", "w", "p", "a", "v", "b", "j"))
_RUN_WORDS = HEADERS["run"] | HEADERS["time"]
_LOOK = 60
_FASTEST_MS = 5_000


@dataclass(frozen=True, slots=True)
class Meaning:
    """``role``: blank = not known, ``-`` = never read. ``run``: the run the header names, 0 = none."""

    role: str = ""
    run: int = 0


@dataclass(frozen=True, slots=True)
class Head:
    """``labels``: the header of each column, blank where there is none; ``first_row``: index of the row below it."""

    labels: tuple[str, ...]
    first_row: int
    rows: tuple[int, ...] = ()


def _role_of(words: str) -> str:
    if words in IGNORED:
        return "-"
    return next((role for role, known in HEADERS.items() if words in known), "")


def meaning_of(label: str) -> Meaning:
    """What a header says: ``Run 1``, ``1. Lauf``, ``R2 cones``, ``Startnr.``, ``Total``."""
    words = plain(label)
    if (role := _role_of(words)) or not words:
        return Meaning(role)
    rest, run = [], 0
    for token in words.split():
        found = None if run else _NUMBERED.fullmatch(token)
        if found is None:
            rest.append(token)
            continue
        run = int(found[2])
        rest += [found[1]] if found[1] not in _SHORT else []
    return _numbered(rest, run) if run else Meaning(_blend(rest))


def _numbered(rest: list[str], run: int) -> Meaning:
    words = " ".join(rest)
    role = _role_of(words) or _blend(rest)
    if not words or words in _RUN_WORDS or role in ("run", "time"):
        return Meaning("run", run)
    if role == "-":
        return Meaning("total", run) if set(rest) & _RUN_WORDS else Meaning("-")
    return Meaning(role if role in ("cones", "penalty", "misses", "status") else "", run)


def _blend(tokens: list[str]) -> str:
    """The role of a header of several words, by its words one by one."""
    roles = [role for token in tokens if (role := _role_of(token))]
    if not roles or 2 * len(roles) < len(tokens):
        return ""
    for role in ("cones", "misses", "penalty", "-", "number", "name", "class", "status", "time", "run"):
        if role in roles:
            return role
    return ""


def is_time_cell(text: str) -> bool:
    """A run's time with decimals or minutes, with or without cones after it."""
    if not any(mark in text for mark in ".,:'\"") or not text[:1].isdigit():
        return False
    try:
        result = read_result(text)
    except ValueError:
        return False
    return result is not None and (result.time_ms or 0) >= _FASTEST_MS


def _is_data(row: tuple[str, ...]) -> bool:
    return any(is_time_cell(cell) for cell in row)


def one_valued(row: tuple[str, ...]) -> bool:
    """A title or the name of a section: one text only, in one cell or over all of them."""
    return len(set(filter(None, row))) <= 1


def _hits(row: tuple[str, ...]) -> int:
    return sum(1 for cell in row if cell and len(cell) < 60 and meaning_of(cell) != Meaning())


def _without_times(grid: CellGrid) -> int:
    """Where a table without times begins: below a first row that is all words, as of a list of entrants."""
    first = grid.rows[0] if grid.rows else ()
    words = _hits(first) >= 2 and not any(cell.strip("#. ").isdigit() for cell in first)
    return 1 if words and len(grid.rows) > 1 and _numbered_row(grid.rows[1]) else min(len(grid.rows), 2)


def _numbered_row(row: tuple[str, ...]) -> bool:
    return any(cell.strip("#. ").isdigit() for cell in row)


def find_head(grid: CellGrid) -> Head:
    """The header of a grid: the row above the first times with most known words, joined with its neighbour's."""
    data = next((index for index, row in enumerate(grid.rows[:_LOOK]) if _is_data(row)), _without_times(grid))
    hits = {index: _hits(grid.rows[index]) for index in range(data) if not one_valued(grid.rows[index])}
    best = max(hits, key=lambda index: (hits[index], index), default=None)
    if best is None or hits[best] < 2:
        plain_row = data - 1 in hits and not any(cell.strip("#. ").isdigit() for cell in grid.rows[data - 1])
        if not plain_row:
            return Head(("",) * grid.width, 0)
        best = data - 1
    rows = [best]
    if best + 1 in hits and hits[best + 1] >= 2 and best + 1 < data:
        rows.append(best + 1)
    elif best - 1 in hits and hits[best - 1] >= 2:
        rows.insert(0, best - 1)
    return Head(_labels(grid, rows), rows[-1] + 1, tuple(rows))


def _labels(grid: CellGrid, rows: list[int]) -> tuple[str, ...]:
    return tuple(
        " ".join(dict.fromkeys(filter(None, (grid.rows[row][at] for row in rows)))) for at in range(grid.width)
    )
