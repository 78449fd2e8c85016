"""A Document as lines of pieces for a board, and as plain text for a terminal or a pipe."""

from __future__ import annotations

import os
import shutil
from collections.abc import Sequence

from rich.cells import cell_len

from paddock.clean import clean
from paddock.pages.document import (
    Block,
    Cell,
    Document,
    Heading,
    PageTable,
    Piece,
    Plot,
    Ranges,
    Sketch,
    TableRow,
    TextLine,
    Words,
)
from paddock.render.pieces import GAP, chosen, fit, folded, line, rule, text_of, wrapped
from paddock.render.plots import plot_lines, range_lines, sketch_lines

PIPE_WIDTH = 80
_STACK = 18
"""With less room than this a column that folds stands under its row instead of beside it."""


def lines(document: Document, width: int) -> list[TextLine]:
    """Every line of the page, each at most ``width`` cells; sections apart by an empty line."""
    made: list[TextLine] = []
    before: Block | None = None
    for block in document.blocks:
        found = block_lines(block, width)
        if made and found and _apart(block) and not isinstance(before, Heading):
            made.append(())
        made += found
        before = block
    return made


def text(document: Document, width: int | None = None) -> str:
    """The page as plain text; ``width`` None: the terminal's."""
    laid = lines(document, width or terminal_width())
    return "\n".join("".join(piece.text for piece in made).rstrip() for made in laid)


def terminal_width() -> int:
    """Columns of the terminal: ``COLUMNS``, else what the terminal says, else 80."""
    given = os.environ.get("COLUMNS", "")
    if given.isdigit() and int(given) > 0:
        return max(20, int(given))
    return max(20, shutil.get_terminal_size((PIPE_WIDTH, 24)).columns)


def fitted(text: str, width: int | None = None) -> str:
    """Plain text, every line at most ``width`` cells (None: the terminal's); a word wider than that stays whole."""
    room = terminal_width() if width is None else width
    made = [row for line_ in text.split("\n") for row in _fitted(line_, room)]
    return "\n".join("".join(piece.text for piece in row).rstrip() for row in made)


def _fitted(text: str, room: int) -> list[TextLine]:
    if cell_len(text) <= room:
        return [(Piece(text),)]
    return folded((Piece(text.rstrip()),), room, hang=len(text) - len(text.lstrip(" ")) + 2, whole=True)


def _apart(block: Block) -> bool:
    return isinstance(block, PageTable | Plot | Ranges | Sketch) or (isinstance(block, Heading) and block.level == 1)


def block_lines(block: Block, width: int) -> list[TextLine]:
    """One block's lines."""
    if isinstance(block, Heading):
        title = clean(block.text)
        return [rule(title, width, block.tag) if block.level == 1 else (Piece(title, "strong"),)]
    if isinstance(block, Words):
        return folded(block.pieces, width, block.hang, block.bullet)
    if isinstance(block, PageTable):
        return table_lines(block, width)

    if isinstance(block, Sketch):
        return sketch_lines(block, width)
    return plot_lines(block, width) if isinstance(block, Plot) else range_lines(block, width)


def table_lines(table: PageTable, width: int) -> list[TextLine]:
    """Caption, head and rows of the columns that have room; an empty table says what it has to say."""
    caption = folded((Piece(table.caption, "strong"),), width) if table.caption else []
    if not table.rows:
        return [*caption, *(folded((Piece(table.empty, "quiet"),), width) if table.empty else [])]
    if table.columns[-1].folds:
        return [*caption, *_folding(table, width)]
    shown = chosen(table, width)
    titles: list[Cell] = [column.title for column in table.columns]
    head = tuple(piece._replace(role="quiet") for piece in _row(titles, shown, table))
    under = [at for at, column in enumerate(table.columns) if column.under and at not in {at for at, _ in shown}]
    body = [made for row in table.rows for made in _whole_row(row, shown, under, table, width)]
    return [*caption, *([head] if any(text_of(title) for title in titles) else []), *body]


def _folding(table: PageTable, width: int) -> list[TextLine]:
    cells = [[text_of(cell) for cell in row.cells] for row in table.rows]
    head = [column.title for column in table.columns]
    every = [*cells, head]
    sizes = [max(cell_len(row[at]) for row in every) for at in range(len(head) - 1)]
    room = width - sum(sizes) - GAP * len(sizes)
    flat = room >= min(_STACK, max(cell_len(row[-1]) for row in every))
    made = _beside(head, sizes, room, table, "quiet")[:1] if any(head) and flat else []
    for row in cells:
        made += _beside(row, sizes, room, table) if flat else _stacked(row, width)
    return made


def _beside(row: Sequence[str], sizes: Sequence[int], room: int, table: PageTable, role: str = "") -> list[TextLine]:
    first = "".join(f"{fit(cell, sizes[at], table.columns[at].figures)}{' ' * GAP}" for at, cell in enumerate(row[:-1]))
    last = wrapped(row[-1], room, role)
    return [(Piece(" " * cell_len(first) if at else first, role), *pieces) for at, pieces in enumerate(last)]


def _stacked(row: Sequence[str], width: int) -> list[TextLine]:
    first = " ".join(cell for cell in row[:-1] if cell)
    if cell_len(first) + GAP + cell_len(row[-1]) <= width:
        return [line((first, "strong"), f"  {row[-1]}")]
    return [*wrapped(first, width, "strong"), *(line("  ", *pieces) for pieces in wrapped(row[-1], width - GAP))]


def _whole_row(
    row: TableRow, shown: Sequence[tuple[int, int]], under: Sequence[int], table: PageTable, width: int
) -> list[TextLine]:
    first = _toned(_row(row.cells, shown, table), row.mine, row.tag)
    rest = ", ".join(said for at in under if (said := text_of(row.cells[at]).strip()))
    below = folded((Piece(f"  {rest}", "quiet", row.tag),), width, hang=2) if rest else []
    return [first, *below]


def _row(cells: Sequence[Cell], shown: Sequence[tuple[int, int]], table: PageTable) -> TextLine:
    pieces: list[Piece] = []
    for place, (at, size) in enumerate(shown):
        cell = cells[at]
        role, tag = ("", "") if isinstance(cell, str) else cell[1:]
        gap = " " * GAP if place else ""
        pieces.append(Piece(gap + fit(text_of(cell), size, table.columns[at].figures), role, tag))
    if pieces:
        pieces[-1] = pieces[-1]._replace(text=pieces[-1].text.rstrip() or " ")
    return tuple(pieces)


def _toned(pieces: TextLine, mine: bool, tag: str) -> TextLine:
    return tuple(Piece(piece.text, piece.role or ("strong" if mine else ""), piece.tag or tag) for piece in pieces)
