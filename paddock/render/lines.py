"""A Document as lines of pieces for a board, and as plain text for a terminal or a pipe."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise
from math import ceil, floor, log10

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
    Series,
    Sketch,
    TableRow,
    TextLine,
    Words,
)
from paddock.render.pieces import GAP, chosen, fit, folded, line, rule, text_of, wrapped
from paddock.render.svg import figure, ticks

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


MARKS = "1234567890"
HEIGHT = 12
_ROUND = (1, 2, 2.5, 5, 10)


def lines_plot(
    series: Mapping[str, Sequence[tuple[float, float]]], across: str, up: str, size: tuple[int, int] = (78, 18),
    marks: str = MARKS, least: float = 0.0,
) -> str:  # fmt: skip
    """Lines through the points of each series as text, each in its own character of ``marks``, names underneath.

    ``size``: columns and rows, the names' row not counted. ``least``: what the height spans at least, in the unit of
    ``up``. Empty without points.
    """
    made = tuple(Series(name, _joined(points, size[0])) for name, points in series.items() if points)
    beside = 3 if across or up else 2
    lines = plot_lines(Plot(made, across, up, "", least=least), size[0], max(3, size[1] - beside), marks)
    return "\n".join("".join(piece.text for piece in pieces).rstrip() for pieces in lines)


def _joined(points: Sequence[tuple[float, float]], columns: int) -> tuple[tuple[float, float], ...]:
    """The points with those of the straight lines between them, closer than a column."""
    made = [points[0]]
    span = max(x for x, _ in points) - min(x for x, _ in points)
    for (x0, y0), (x1, y1) in pairwise(points):
        steps = max(1, ceil(abs(x1 - x0) / span * columns)) if span else 1
        made += [(x0 + (x1 - x0) * at / steps, y0 + (y1 - y0) * at / steps) for at in range(1, steps + 1)]
    return tuple(made)


def plot_lines(plot: Plot, width: int, height: int = HEIGHT, marks: str = MARKS) -> list[TextLine]:
    """The picture in ``height`` rows, the x labels and the names under it; nothing without a point."""
    drawn = [series for series in plot.series if series.points]
    if not drawn:
        return []
    low, step = _rows(plot, height)
    labels = [figure(low + step * row, step) for row in range(height)]
    left = max(map(len, labels))
    room = max(8, width - left - 2)
    xs = [x for series in drawn for x, _ in series.points]
    x_low, x_high = (0.0, float(len(plot.places) - 1)) if plot.places else (min(xs), max(xs))

    def column(x: float) -> int:
        return round((x - x_low) / (x_high - x_low) * (room - 1)) if x_high > x_low else room // 2

    cells = [[" "] * room for _ in range(height)]
    for _, level in plot.levels:
        row = round((level - low) / step)
        if 0 <= row < height:
            cells[row] = ["·"] * room
    for at in plot.breaks:
        for row in range(height):
            cells[row][min(room - 1, max(0, column(at)))] = "│"
    for mark, series in zip(marks, drawn, strict=False):
        for x, y in series.points:
            cells[min(height - 1, max(0, round((y - low) / step)))][column(x)] = mark
    picture: list[TextLine] = []
    for row in reversed(range(height)):
        label = labels[row] if (height - 1 - row) % 2 == 0 else ""
        picture.append((Piece(f"{label:>{left}} │", "quiet"), Piece("".join(cells[row]).rstrip())))
    under = _places(plot, left, room, column) if plot.places else _numbers(x_low, x_high, left, room, column)
    names = "   ".join(f"{mark} {clean(series.name)}" for mark, series in zip(marks, drawn, strict=False))
    levels = "   ".join(f"· {clean(name)}" for name, _ in plot.levels)
    axis = (Piece(" " * left + " └" + "─" * room, "quiet"),)
    named = "; ".join(part for part in (clean(plot.up), f"across: {clean(plot.across)}" if plot.across else "") if part)
    head = folded((Piece(named, "quiet"),), width) if named else []
    return [*head, *picture, axis, under, *folded((Piece(names),), width),
            *(folded((Piece(levels, "quiet"),), width) if levels else [])]  # fmt: skip


def _rows(plot: Plot, height: int) -> tuple[float, float]:
    """(value of the lowest row, step of a row): a round step, every point on the picture."""
    values = [y for series in plot.series for _, y in series.points] + [level for _, level in plot.levels]
    low, high = min(values), max(values)
    rough = max(high - low, plot.least, 1e-9) / (height - 1)
    power = 10.0 ** floor(log10(rough))
    for step in (power * part for part in (*_ROUND, *(10 * part for part in _ROUND))):
        if step < rough * (1 - 1e-9):
            continue
        spare = (height - 1) * step - (high - low)
        start = ceil((low - spare / 2) / step - 1e-9) * step
        if start <= low + 1e-9 * step and start + (height - 1) * step >= high - 1e-9 * step:
            return start, step
    raise AssertionError("a round step always fits")  # pragma: no cover


def _places(plot: Plot, left: int, room: int, column: Callable[[float], int]) -> TextLine:
    line = [" "] * (room + 24)
    end = -1
    for at, place in enumerate(plot.places):
        start = column(float(at))
        label = clean(place)
        start = min(start, max(0, room - len(label)))
        if start > end:
            line[start : start + len(label)] = label
            end = start + len(label)
    return (Piece(" " * (left + 2) + "".join(line).rstrip(), "quiet"),)


def _numbers(low: float, high: float, left: int, room: int, column: Callable[[float], int]) -> TextLine:
    values = ticks(low, high, 6)
    step = abs(values[1] - values[0]) if len(values) > 1 else 0.0
    line = [" "] * room
    end = -1
    for value in values:
        label = figure(value, step)
        start = min(column(value), max(0, room - len(label)))
        if start > end:
            line[start : start + len(label)] = label
            end = start + len(label)
    return (Piece(" " * (left + 2) + "".join(line).rstrip(), "quiet"),)


def range_lines(found: Ranges, width: int) -> list[TextLine]:
    """A row a name: ``├──●──┤`` on a common scale, nought as ``0``; its figures are in the table beside it."""
    if not found.names:
        return []
    left = min(max(map(len, found.names)), max(8, width // 3))
    room = max(10, width - left - 2)
    values = [0.0, *(value for item in found.ranges for value in item)]
    low, high = min(values), max(values)

    def column(value: float) -> int:
        return round((value - low) / (high - low) * (room - 1)) if high > low else 0

    made: list[TextLine] = []
    for name, (least, middle, most) in zip(found.names, found.ranges, strict=True):
        cells = [" "] * room
        cells[column(0)] = "┊"
        for at in range(column(least), column(most) + 1):
            cells[at] = "─"
        cells[column(least)], cells[column(most)], cells[column(middle)] = "├", "┤", "●"
        made.append((Piece(fit(clean(name), left) + "  ", "quiet"), Piece("".join(cells).rstrip())))
    ends = [
        (column(0), "0"),
        (0, f"{low:.2f}" if low else ""),
        (room - len(f"{high:.2f}"), f"{high:.2f}" if high else ""),
    ]
    scale = [" "] * room
    for at, label in reversed(ends):
        if label and 0 <= at <= room - len(label):
            scale[at : at + len(label)] = label
    made.append((Piece(" " * (left + 2) + "".join(scale).rstrip(), "quiet"),))
    return [*made, *folded((Piece(found.across, "quiet"),), width)]


_DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
"""The bit of each dot of a braille cell, row by row (Unicode 15, block U+2800)."""
_TALL = 15


def sketch_lines(sketch: Sketch, width: int) -> list[TextLine]:
    """The line in braille dots, north up, equal scales; names of marks stand over it. At most ``_TALL`` rows."""
    if len(sketch.points) < 2:
        return []
    xs, ys = ([point[at] for point in sketch.points] for at in (0, 1))
    wide, tall = max(1.0, max(xs) - min(xs)), max(1.0, max(ys) - min(ys))
    room = min(width - 4, 72)
    size = min((2 * room - 1) / wide, (4 * _TALL - 1) / tall)  # dots a metre; a cell is two dots wide and four tall
    rows = int(tall * size) // 4 + 1
    cells = [[0] * (int(wide * size) // 2 + 1) for _ in range(rows)]

    def dot(x: float, y: float) -> tuple[int, int]:
        return int((x - min(xs)) * size), int((max(ys) - y) * size)

    for (x0, y0), (x1, y1) in pairwise(sketch.points):
        steps = max(1, ceil(max(abs(x1 - x0), abs(y1 - y0)) * size))
        for at in range(steps + 1):
            across, down = dot(x0 + (x1 - x0) * at / steps, y0 + (y1 - y0) * at / steps)
            cells[down // 4][across // 2] |= _DOTS[down % 4][across % 2]
    drawn = [[chr(0x2800 + bits) if bits else " " for bits in row] + [" "] * 4 for row in cells]
    for x, y, name in sketch.marks:
        across, down = dot(x, y)
        row, begin = min(max(down // 4, 0), rows - 1), min(max(across // 2, 0), len(drawn[0]) - len(name))
        drawn[row][begin : begin + len(name)] = name
    head = folded((Piece(clean(sketch.caption), "quiet"),), width) if sketch.caption else []
    return [*head, *((Piece("".join(row).rstrip()),) for row in drawn)]
