"""Which columns of a table a width has room for: fewer columns, never fewer digits."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len

from paddock.pages.document import Cell, Column, Row, Table
from paddock.render.clean import clean

GAP = 2
_LEAST = 12
"""Cells a column of words keeps at least when it is cut."""


def text_of(cell: Cell) -> str:
    """The text of a cell, without control characters."""
    return clean(cell if isinstance(cell, str) else cell.text)


def chosen(table: Table, width: int, gap: int = GAP) -> tuple[tuple[int, int], ...]:
    """(index, cells) of the columns shown in ``width`` cells.

    Columns with the highest ``drop`` go first; then words with a ``most`` are cut, the widest first. Figures are
    whole or absent: where even the columns that stay have no room, the last ones go. A column without a filled cell
    is left out.
    """
    sizes = {at: _natural(column, at, table.rows) for at, column in enumerate(table.columns)}
    kept = [at for at, size in sizes.items() if size and (_filled(at, table.rows) or not table.rows)]
    while len(kept) > 1 and _total(kept, sizes, table.columns, gap, least=True) > width:
        droppable = [at for at in kept if table.columns[at].drop]
        kept.remove(max(droppable, key=lambda at: (table.columns[at].drop, at)) if droppable else kept[-1])
    _squeeze(kept, sizes, table.columns, width, gap)
    return tuple((at, sizes[at]) for at in kept)


def _natural(column: Column, at: int, rows: Sequence[Row]) -> int:
    widest = max((cell_len(text_of(row.cells[at])) for row in rows), default=0)
    title = cell_len(column.title)
    return max(title, widest) if column.figures or not column.most else max(title, min(widest, column.most))


def _filled(at: int, rows: Sequence[Row]) -> bool:
    return any(text_of(row.cells[at]).strip() for row in rows)


def _least(at: int, sizes: dict[int, int], columns: Sequence[Column]) -> int:
    column = columns[at]
    return min(sizes[at], max(_LEAST, cell_len(column.title))) if column.most and not column.figures else sizes[at]


def _total(kept: Sequence[int], sizes: dict[int, int], columns: Sequence[Column], gap: int, least: bool = False) -> int:
    cells = sum(_least(at, sizes, columns) if least else sizes[at] for at in kept)
    return cells + gap * (len(kept) - 1)


def _squeeze(kept: Sequence[int], sizes: dict[int, int], columns: Sequence[Column], width: int, gap: int) -> None:
    over = _total(kept, sizes, columns, gap) - width
    while over > 0:
        wide = [at for at in kept if sizes[at] > _least(at, sizes, columns)]
        if not wide:
            return
        sizes[max(wide, key=lambda at: sizes[at])] -= 1
        over -= 1
