"""A plain table for a terminal or a pipe: cells folded until they fit, figures whole."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len

from paddock.clean import clean
from paddock.render.lines import fitted, terminal_width

GAP = "  "


def _pad(text: str, width: int, right: bool) -> str:
    gap = " " * (width - cell_len(text))
    return gap + text if right else text + gap


def _parts(cell: str) -> list[str]:
    """What may go to a line of its own: pieces two spaces apart where there are any, else words."""
    return cell.split(GAP) if GAP in cell.strip() else cell.split(" ")


def _least(cells: Sequence[str]) -> int:
    return max((cell_len(part) for cell in cells for part in _parts(cell)), default=0)


def _lines(cell: str, width: int) -> list[str]:
    """A cell on as many lines as its column's width makes it."""
    if cell_len(cell) <= width:
        return [cell]
    between = GAP if GAP in cell.strip() else " "
    made = [""]
    for part in _parts(cell):
        longer = f"{made[-1]}{between}{part}" if made[-1] else part
        if made[-1] and cell_len(longer) > width:
            made.append(part)
        else:
            made[-1] = longer
    return made


def _squeezed(cells: Sequence[Sequence[str]], right: Sequence[int], room: int) -> list[int] | None:
    """Widths that fit ``room``: columns of words fold, the widest first; figures stay whole. None: can't be."""
    widths = [max(cell_len(row[at]) for row in cells) for at in range(len(cells[0]))]
    least = [width if at in right else _least([row[at] for row in cells]) for at, width in enumerate(widths)]
    over = sum(widths) + len(GAP) * (len(widths) - 1) - room
    while over > 0:
        wide = [at for at, width in enumerate(widths) if width > least[at]]
        if not wide:
            return None
        widths[max(wide, key=lambda at: widths[at])] -= 1
        over -= 1
    return widths


def table(headers: Sequence[str], rows: Sequence[Sequence[str]], right: Sequence[int] = ()) -> str:
    """``rows`` under ``headers``, at most as wide as the terminal; columns of ``right`` stand to the right.

    Where even folded cells don't fit, each row is a line of its own, ``header cell`` after ``header cell``.
    """
    cells = [[clean(cell) for cell in row] for row in (headers, *rows)]
    room = terminal_width()
    widths = _squeezed(cells, right, room)
    if widths is None:
        titled = (
            ", ".join(f"{head} {cell}".strip() for head, cell in zip(cells[0], row, strict=True) if cell)
            for row in cells[1:]
        )
        return "\n".join(fitted(line, room) for line in titled)
    made = []
    for row in cells:
        folded = [_lines(cell, widths[at]) for at, cell in enumerate(row)]
        for place in range(max(map(len, folded))):
            parts = [lines[place] if place < len(lines) else "" for lines in folded]
            made.append(GAP.join(_pad(part, widths[at], at in right) for at, part in enumerate(parts)).rstrip())
        if row is cells[0]:
            made.append(GAP.join("-" * width for width in widths))
    return "\n".join(made)
