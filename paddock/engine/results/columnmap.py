"""Which column of a table is what: the roles, and how they are written on a command line."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from paddock.engine.results.vocabulary import plain
from paddock.errors import UsageError

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
