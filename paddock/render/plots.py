"""Plots of a Document in a terminal: lines in braille dots with their names at them, ranges, a line driven."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from math import ceil, floor, log10

from rich.cells import cell_len

from paddock.clean import clean
from paddock.pages.document import Piece, Plot, Ranges, Sketch, TextLine
from paddock.render.pieces import fit, folded
from paddock.render.svg import figure, ticks

HEIGHT = 12
_ROUND = (1, 2, 2.5, 5, 10)
_BITS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
"""The bit of each dot of a braille cell, row by row (Unicode 15, block U+2800)."""


class Dots:
    """A picture of braille cells, two dots wide and four tall each; signs stand over it. Row 0 is the top."""

    def __init__(self, columns: int, rows: int) -> None:
        self.columns, self.rows = columns, rows
        self._bits = [[0] * columns for _ in range(rows)]
        self._signs: list[list[str]] = [[""] * columns for _ in range(rows)]

    def line(self, one: tuple[int, int], other: tuple[int, int]) -> None:
        """From dot to dot, across and down; what lies outside is left out."""
        (x0, y0), (x1, y1) = one, other
        steps = max(1, abs(x1 - x0), abs(y1 - y0))
        for at in range(steps + 1):
            across, down = round(x0 + (x1 - x0) * at / steps), round(y0 + (y1 - y0) * at / steps)
            if 0 <= across < 2 * self.columns and 0 <= down < 4 * self.rows:
                self._bits[down // 4][across // 2] |= _BITS[down % 4][across % 2]

    def free(self, column: int, row: int, size: int) -> bool:
        """Whether so many cells hold nothing."""
        return (
            0 <= row < self.rows and column >= 0 and column + size <= self.columns
            and not any(self._bits[row][at] or self._signs[row][at].strip() for at in range(column, column + size))
        )  # fmt: skip

    def say(self, column: int, row: int, text: str) -> None:
        """Signs over the dots."""
        for at, sign in enumerate(text, column):
            self._signs[row][at] = sign

    def under(self, row: int, sign: str) -> None:
        """A sign wherever a row holds nothing; outside the picture: nothing."""
        if not 0 <= row < self.rows:
            return
        self._signs[row] = [there or ("" if bits else sign)
                            for there, bits in zip(self._signs[row], self._bits[row], strict=True)]  # fmt: skip

    def texts(self) -> list[str]:
        """The rows, blanks at their ends off."""
        return [
            "".join(sign or (chr(0x2800 + bits) if bits else " ") for sign, bits in zip(*rows, strict=True)).rstrip()
            for rows in zip(self._signs, self._bits, strict=True)
        ]


# lines over a common x


def plot_lines(plot: Plot, width: int, height: int = HEIGHT) -> list[TextLine]:
    """The picture in ``height`` rows, the x labels under it; nothing without a point.

    A line's name stands at its end where there is room, else its number, with the name underneath.
    """
    drawn = [series for series in plot.series if series.points]
    if not drawn:
        return []
    low, step = _rows(plot, height)
    labels = [figure(low + step * row, step) for row in range(height)]
    left = max(map(len, labels))
    room = max(8, width - left - 2)
    xs = [x for series in drawn for x, _ in series.points]
    x_low, x_high = (0.0, float(len(plot.places) - 1)) if plot.places else (min(xs), max(xs))
    names = [clean(series.name) for series in drawn]
    longest = max(map(cell_len, names))
    wide = room - (longest + 1 if len(drawn) > 1 and longest <= room // 4 else 0)

    def column(x: float) -> int:
        return round((x - x_low) / (x_high - x_low) * (wide - 1)) if x_high > x_low else wide // 2

    def dot(x: float, y: float) -> tuple[int, int]:
        across = round((x - x_low) / (x_high - x_low) * (2 * wide - 1)) if x_high > x_low else wide
        down = 4 * height - 1 - int(((y - low) / step + 0.5) * 4)
        return across, min(4 * height - 1, max(0, down))

    dots = Dots(room, height)
    places = [[dot(x, y) for x, y in series.points] for series in drawn]
    _draw(dots, places, bool(plot.places))
    untold = _named(dots, names, [line[-1] for line in places]) if len(drawn) > 1 else names
    for _, level in plot.levels:
        dots.under(height - 1 - round((level - low) / step), "·")
    for at in plot.breaks:
        for row in range(height):
            dots.say(min(room - 1, max(0, column(at))), row, "│")
    picture = [
        (Piece(f"{labels[height - 1 - row] if row % 2 == 0 else '':>{left}} │", "quiet"), Piece(text))
        for row, text in enumerate(dots.texts())
    ]
    under = _places(plot, left, room, column) if plot.places else _numbers(x_low, x_high, left, room, column)
    told = "   ".join([*untold, *(f"· {clean(name)}" for name, _ in plot.levels)])
    axis = (Piece(" " * left + " └" + "─" * room, "quiet"),)
    named = "; ".join(part for part in (clean(plot.up), f"across: {clean(plot.across)}" if plot.across else "") if part)
    head, foot = (folded((Piece(text, "quiet"),), width) if text else [] for text in (named, told))
    return [*head, *picture, axis, under, *foot]


def _draw(dots: Dots, lines: Sequence[Sequence[tuple[int, int]]], marked: bool) -> None:
    """Lines through dots; ``marked``: each of their points stands out."""
    for places in lines:
        for one, other in pairwise(places) if len(places) > 1 else [(places[0], places[0])]:
            dots.line(one, other)
        for across, down in places if marked else ():
            dots.say(across // 2, down // 4, "●")


def _named(dots: Dots, names: Sequence[str], ends: Sequence[tuple[int, int]]) -> list[str]:
    """Each name put at the end of its line, the row above or below where that is taken; those without room get a number
    over the line's end and come back as ``1 name``."""
    untold = []
    for number, (name, (across, down)) in enumerate(zip(names, ends, strict=True), 1):
        column, row = across // 2 + 1, down // 4
        size = cell_len(name)
        spots = ((column + gap, at, gap) for gap in (1, 0) for at in (row, row - 1, row + 1))
        spot = next(((start, at) for start, at, gap in spots if dots.free(start - gap, at, size + gap)), None)
        if spot is not None and size == len(name):
            dots.say(*spot, name)
        else:
            dots.say(min(dots.columns - 1, across // 2), row, f"{number % 10}")
            untold.append(f"{number % 10} {name}")
    return untold


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


# a line driven

_TALL = 15


def sketch_lines(sketch: Sketch, width: int) -> list[TextLine]:
    """The line in braille dots, north up, equal scales; names of marks stand over it. At most ``_TALL`` rows."""
    if len(sketch.points) < 2:
        return []
    xs, ys = ([point[at] for point in sketch.points] for at in (0, 1))
    wide, tall = max(1.0, max(xs) - min(xs)), max(1.0, max(ys) - min(ys))
    room = min(width - 4, 72)
    size = min((2 * room - 1) / wide, (4 * _TALL - 1) / tall)  # dots a metre; a cell is two dots wide and four tall
    rows, columns = int(tall * size) // 4 + 1, int(wide * size) // 2 + 1
    dots = Dots(columns + 4, rows)

    def dot(x: float, y: float) -> tuple[int, int]:
        return int((x - min(xs)) * size), int((max(ys) - y) * size)

    for one, other in pairwise(sketch.points):
        dots.line(dot(*one), dot(*other))
    for x, y, name in sketch.marks:
        across, down = dot(x, y)
        row, begin = min(max(down // 4, 0), rows - 1), min(max(across // 2, 0), columns + 4 - len(name))
        dots.say(begin, row, name)
    head = folded((Piece(clean(sketch.caption), "quiet"),), width) if sketch.caption else []
    return [*head, *((Piece(row),) for row in dots.texts())]
