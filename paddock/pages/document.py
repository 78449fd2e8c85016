"""A page as frozen values: headings, lines, tables and plots, before anybody lays them out.

Text from files stands in it as it is; renderers clean and escape it. A row or a piece carries its action as a
``tag``: what a tap on it, or Enter, runs. Roles: "" plain, ``strong``, ``quiet``, ``warn``, ``head`` (a section's
rule), ``band`` (the top line), ``key`` (a key to press), ``hand`` (what is in hand: reversed).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple


class Piece(NamedTuple):
    """A stretch of text with one role. ``tag``: the action a tap runs; "" = none."""

    text: str
    role: str = ""
    tag: str = ""


TextLine = tuple[Piece, ...]
Cell = str | Piece


@dataclass(frozen=True, slots=True)
class Heading:
    """The name of what follows. ``level`` 1: a section, 2: within one."""

    text: str
    level: int = 1
    tag: str = ""


@dataclass(frozen=True, slots=True)
class Words:
    """A line, folded where it is too long; further lines are set in by ``hang``. ``bullet``: stands before it."""

    pieces: TextLine
    hang: int = 0
    bullet: str = ""


@dataclass(frozen=True, slots=True)
class Column:
    """``figures``: stands to the right and is never cut; ``drop``: without room the highest goes first, 0 stays.

    ``most``: cells a column of words may take, cut with an ellipsis; 0: never cut. ``least``: cells it keeps when it is
    cut. ``under``: without room it stands under its row instead of nowhere. ``folds`` (the last one only): broken into
    lines beside its row, under it where there is little room; no column is left out then.
    """

    title: str
    figures: bool = False
    drop: int = 0
    most: int = 0
    under: bool = False
    least: int = 12
    folds: bool = False


@dataclass(frozen=True, slots=True)
class TableRow:
    """``tag``: its action, ``id``: which record it is; ``mine``: stands out."""

    cells: tuple[Cell, ...]
    id: str = ""
    tag: str = ""
    mine: bool = False


@dataclass(frozen=True, slots=True)
class PageTable:
    """Rows under columns; every row has a cell for every column. ``empty``: what to say where there is no row."""

    columns: tuple[Column, ...]
    rows: tuple[TableRow, ...]
    caption: str = ""
    empty: str = ""

    def rest(self, row_id: str, shown: Iterable[int]) -> tuple[tuple[str, str], ...]:
        """Title and text of the cells of one row that the columns ``shown`` leave out."""
        row = next((row for row in self.rows if row.id == row_id), None)
        if row is None:
            return ()
        seen = set(shown)
        cells = [cell if isinstance(cell, str) else cell.text for cell in row.cells]
        titled = enumerate(zip(self.columns, cells, strict=True))
        return tuple((column.title, cell) for at, (column, cell) in titled if at not in seen and cell not in ("", "-"))


@dataclass(frozen=True, slots=True)
class Series:
    """A named line of points ``(x, y)`` in rising x; ``low``, ``high``: a range at each point, or nothing."""

    name: str
    points: tuple[tuple[float, float], ...]
    low: tuple[float | None, ...] = ()
    high: tuple[float | None, ...] = ()


@dataclass(frozen=True, slots=True)
class Plot:
    """Lines over a common x. ``places``: names of x = 0, 1, 2 …; empty: x is a number with ``across`` as its label.

    ``levels``: flat lines with a name; ``breaks``: x where a new day begins; ``least``: what the height spans at least,
    so that a line all but flat looks flat; ``alt``: what it shows, in words, for who can't see it.
    """

    series: tuple[Series, ...]
    across: str
    up: str
    alt: str
    caption: str = ""
    places: tuple[str, ...] = ()
    levels: tuple[tuple[str, float], ...] = ()
    breaks: tuple[float, ...] = ()
    least: float = 0.0


@dataclass(frozen=True, slots=True)
class Ranges:
    """One line a name: low, middle and high on a common scale, with nought drawn through."""

    names: tuple[str, ...]
    ranges: tuple[tuple[float, float, float], ...]
    across: str
    alt: str
    caption: str = ""


@dataclass(frozen=True, slots=True)
class Sketch:
    """A line driven, seen from above: points in metres, east and north; ``marks``: (x, y, name) beside it."""

    points: tuple[tuple[float, float], ...]
    marks: tuple[tuple[float, float, str], ...]
    alt: str
    caption: str = ""


Block = Heading | Words | PageTable | Plot | Ranges | Sketch


@dataclass(frozen=True, slots=True)
class Document:
    """A page. ``title``: its name; ``blocks``: top to bottom, the answer first."""

    title: str
    blocks: tuple[Block, ...]


def words(*parts: str | Piece | tuple[str, str] | tuple[str, str, str], hang: int = 0, bullet: str = "") -> Words:
    """A line of plain text and pieces."""
    return Words(tuple(Piece(part) if isinstance(part, str) else Piece(*part) for part in parts), hang, bullet)


def paragraphs(sentences: Sequence[str], role: str = "", bullet: str = "") -> tuple[Words, ...]:
    """One line a sentence; empty ones stay as empty lines."""
    return tuple(words((sentence, role), hang=2, bullet=bullet) for sentence in sentences)
