"""How a pair of bar holes is laid out: more of it the wider the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from paddock.tui.paint import Piece
from paddock.tui.widgets.grid import Cells, Col

if TYPE_CHECKING:
    from paddock.views.bar import BarLine

__all__ = ["bar_cells", "bar_columns"]

Columns = list[tuple[str, Col]]

_ALL: Columns = [
    ("axle", Col("bar", 5, stays=True)),
    ("holes", Col("holes", 7)),
    ("end N/mm", Col("end N/mm", 8, right=True)),
    ("wheel N/mm", Col("wheel N/mm", 10, right=True)),
    ("N·m/deg", Col("N·m/deg", 7, right=True)),
    ("+/- %", Col("+/- %", 5, right=True)),
    ("step %", Col("step %", 6, right=True)),
    ("vs now %", Col("now %", 6, right=True)),
    ("heave N", Col("heave N", 9, right=True)),
    ("front", Col("front", 6, right=True)),
]
_NARROW = {"axle", "holes", "vs now %", "front"}
_USUAL = _NARROW | {"N·m/deg", "step %"}


def bar_columns(width: int) -> Columns:
    """The columns for a screen so wide."""
    if width >= 116:
        return _ALL
    wanted = _USUAL if width >= 48 else _NARROW
    return [item for item in _ALL if item[0] in wanted]


def bar_cells(item: BarLine, columns: Columns) -> Cells:
    """One row."""
    from paddock.words_car import PAIR_HEADERS, pair_cells

    cells = dict(zip(PAIR_HEADERS, pair_cells(item.pair, item.share), strict=True))
    cells |= {"axle": item.axle, "holes": item.holes + (" now" if item.now else "")}
    role = "strong" if item.now else ""
    return tuple(Piece(cells[name], role) for name, _ in columns)
