"""Lines of pieces: cleaned, measured, cut and folded. No cell is ever read as markup."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from rich.cells import cell_len, chop_cells, set_cell_size

from paddock.clean import clean
from paddock.pages.document import Cell, Column, PageTable, Piece, TableRow, TextLine

# which columns of a table a width has room for: fewer columns, never fewer digits


GAP = 2


def text_of(cell: Cell) -> str:
    """The text of a cell, without control characters."""
    return clean(cell if isinstance(cell, str) else cell.text)


def chosen(table: PageTable, width: int, gap: int = GAP) -> tuple[tuple[int, int], ...]:
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


def _natural(column: Column, at: int, rows: Sequence[TableRow]) -> int:
    widest = max((cell_len(text_of(row.cells[at])) for row in rows), default=0)
    title = cell_len(column.title)
    return max(title, widest) if column.figures or not column.most else max(title, min(widest, column.most))


def _filled(at: int, rows: Sequence[TableRow]) -> bool:
    return any(text_of(row.cells[at]).strip() for row in rows)


def _least(at: int, sizes: dict[int, int], columns: Sequence[Column]) -> int:
    column = columns[at]
    return (
        min(sizes[at], max(column.least, cell_len(column.title))) if column.most and not column.figures else sizes[at]
    )


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


def line(*parts: str | Piece | tuple[str, str] | tuple[str, str, str]) -> TextLine:
    """A line of pieces; plain text stands for itself."""
    return tuple(Piece(clean(part)) if isinstance(part, str) else Piece(clean(part[0]), *part[1:]) for part in parts)


def width_of(pieces: Iterable[Piece]) -> int:
    """Cells the pieces take."""
    return sum(cell_len(piece.text) for piece in pieces)


def fit(text: str, width: int, right: bool = False) -> str:
    """Text in exactly ``width`` cells, cut with an ellipsis; a figure is whole or absent."""
    size = cell_len(text)
    if size > width:
        text = _before_figure(text, width - 1) + "…" if width > 0 else ""
        size = cell_len(text)
    gap = " " * (width - size)
    return gap + text if right else text + gap


def _before_figure(text: str, width: int) -> str:
    """The first ``width`` cells, less a figure the end falls into."""
    head = set_cell_size(text, width)
    tail = text[len(head) :]
    inside = re.fullmatch(r".*(\d|\d[.,:]|[+−-])", head, re.DOTALL) and re.match(r"[.,:]?\d", tail)
    return _FIGURE_END.sub("", head) if inside else head


_FIGURE_END = re.compile(r"[+−-]?\d*(?:[.,:]\d*)*$")


def spread(left: TextLine, right: TextLine, width: int) -> TextLine:
    """``left`` and ``right`` at the two ends of a line; the left is cut where they meet."""
    room = width - width_of(right)
    if room <= 0:
        return left
    used = width_of(left)
    if used < room:
        return (*left, Piece(" " * (room - used), left[-1].role if left and left[-1].role == "band" else ""), *right)
    return (*cut(left, room - 1), Piece(" ", left[0].role if left else ""), *right)


def cut(pieces: TextLine, width: int) -> TextLine:
    kept: list[Piece] = []
    for piece in pieces:
        size = cell_len(piece.text)
        if size > width:
            return (*kept, piece._replace(text=fit(piece.text, width))) if width > 0 else tuple(kept)
        kept.append(piece)
        width -= size
    return tuple(kept)


def rule(title: str, width: int, tag: str = "") -> TextLine:
    """A section's head: its name and a rule to the end of the line."""
    name = f" {title} "
    return (Piece("─", "head", tag), Piece(name, "head", tag), Piece("─" * max(0, width - len(name) - 1), "head", tag))


def join(parts: Sequence[TextLine], gap: str = "  ") -> TextLine:
    """Lines one after another on one line."""
    pieces: list[Piece] = []
    for part in parts:
        if pieces and part:
            pieces.append(Piece(gap))
        pieces.extend(part)
    return tuple(pieces)


def wrapped(text: str, width: int, role: str = "", indent: str = "") -> list[TextLine]:
    """Prose broken at spaces into lines of at most ``width`` cells."""
    lines: list[str] = []
    for word in clean(text).split():
        if lines and cell_len(lines[-1]) + 1 + cell_len(word) <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(f"{indent if lines else ''}{word}")
    return [(Piece(fit(item, width) if cell_len(item) > width else item, role),) for item in lines] or [()]


def folded(pieces: TextLine, width: int, hang: int = 0, bullet: str = "", whole: bool = False) -> list[TextLine]:
    """Pieces broken at spaces into lines of at most ``width`` cells; further lines set in by ``hang`` and the bullet.

    Spaces at the very start stay; a word longer than the line is broken, never lost; ``whole``: it stays in one, as a
    path must.
    """
    inset = " " * (hang + cell_len(bullet))
    lines: list[list[Piece]] = [[Piece(bullet)] if bullet else []]
    used, fresh = cell_len(bullet), True
    for piece in pieces:
        for part in _SPACES.split(clean(piece.text)):
            if not part:
                continue
            blank, size = part.isspace(), cell_len(part)
            if used + size > width and not fresh:
                if blank:
                    lines.append([Piece(inset)])
                    used, fresh = len(inset), True
                    continue
                _strip_end(lines[-1])
                lines.append([Piece(inset)])
                used, fresh = len(inset), True
            if blank and fresh and len(lines) > 1:
                continue
            if used + size > width > len(inset) + 1 and not whole:
                *heads, part = _broken(part, width - used, width - len(inset))
                for head in heads:
                    lines[-1].append(piece._replace(text=head))
                    lines.append([Piece(inset)])
                used, size = len(inset), cell_len(part)
            lines[-1].append(piece._replace(text=part))
            used, fresh = used + size, fresh and blank
    return [_merged(made) for made in lines]


def _broken(word: str, first: int, room: int) -> list[str]:
    """A word in pieces, the first of at most ``first`` cells (blank where no letter fits), the others of ``room``."""
    head = next(iter(chop_cells(word[: 8 * first], first)), "") if first > 0 else ""
    return [head, *chop_cells(word[len(head) :], room)]


_SPACES = re.compile(r"(\s+)")


def _strip_end(pieces: list[Piece]) -> None:
    while pieces and pieces[-1].text.isspace() and len(pieces) > 1:
        pieces.pop()


def _merged(pieces: Sequence[Piece]) -> TextLine:
    """Neighbours of one role and tag as one piece."""
    kept: list[Piece] = []
    for piece in pieces:
        if kept and kept[-1][1:] == piece[1:]:
            kept[-1] = piece._replace(text=kept[-1].text + piece.text)
        elif piece.text:
            kept.append(piece)
    return tuple(kept)
