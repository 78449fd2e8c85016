"""A table as it was found in a file, a page or a paste: texts only, nothing understood yet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Grid:
    """``rows`` of equal width; ``lines``: where each row stands in the source, from 1.

    In a text file that is its line, in a page the row of the table. ``name`` is the table's caption or
    the heading above it, ``title`` the page's title and other text above all tables; both may be blank.
    """

    rows: tuple[tuple[str, ...], ...]
    lines: tuple[int, ...]
    name: str = ""
    title: str = ""

    @classmethod
    def of(cls, rows: Iterable[Sequence[str]], lines: Iterable[int] = (), name: str = "", title: str = "") -> Grid:
        """Rows of any length, padded with blanks to the longest; lines count from 1 where none are given."""
        kept = [tuple(row) for row in rows]
        width = max((len(row) for row in kept), default=0)
        padded = tuple(row + ("",) * (width - len(row)) for row in kept)
        return cls(padded, tuple(lines) or tuple(range(1, len(padded) + 1)), name, title)

    @property
    def width(self) -> int:
        """Columns."""
        return len(self.rows[0]) if self.rows else 0
