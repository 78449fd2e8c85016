"""Plots in plain characters: each row of the picture stands for the same step of value, and labels stand on their row.

Each series has its own character and its name underneath; where two meet the later one is seen.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise
from math import ceil, floor, log10

from paddock.clean import clean
from paddock.pages.document import Piece, Plot, Ranges, Series, Sketch, TextLine
from paddock.render.pieces import fit, folded
from paddock.render.svg import figure, ticks

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
