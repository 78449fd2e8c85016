"""Plots as inline SVG: selectable text, the page's own colours (``currentColor``), told apart by dash and marker.

No style attribute and no script, so that a strict content policy holds; every text is escaped. The same figures give
the same bytes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from html import escape
from itertools import cycle
from math import ceil, floor, log10

from paddock.clean import clean
from paddock.pages.document import Plot, Ranges, Series, Sketch


@dataclass(frozen=True, slots=True)
class PictureSize:
    """A size to draw for. ``letter``: pixels a letter of the labels takes, about; ``beside``: names where lines end,
    else in rows below."""

    width: int
    height: int
    letter: float
    beside: bool
    name: str


WIDE = PictureSize(720, 300, 6.6, True, "across")
NARROW = PictureSize(340, 250, 7.2, False, "upright")
"""For a phone held upright: its letters are as large there as the others on a desk."""
_LEFT, _RIGHT, _TOP, _BOTTOM = 58, 14, 14, 44
_ROW = 18
_DASHES = ("", "7 4", "2 3", "9 3 2 3", "12 3")
_MARKS: tuple[Callable[[float, float], str], ...] = (
    lambda x, y: f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3.4" class="mark"/>',
    lambda x, y: f'<rect x="{x - 3.2:.1f}" y="{y - 3.2:.1f}" width="6.4" height="6.4" class="mark hollow"/>',
    lambda x, y: f'<path d="M{x:.1f} {y - 4:.1f}l4 7h-8z" class="mark"/>',
    lambda x, y: f'<path d="M{x:.1f} {y - 4.6:.1f}l4.6 4.6l-4.6 4.6l-4.6-4.6z" class="mark hollow"/>',
    lambda x, y: f'<path d="M{x - 3.4:.1f} {y - 3.4:.1f}l6.8 6.8m0-6.8l-6.8 6.8" class="cross"/>',
)


def ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Round values 1, 2 or 5 times a power of ten between ``low`` and ``high``, at most ``most`` of them."""
    if not high > low:
        return [low]
    rough = (high - low) / max(1, most - 1)
    power = 10.0 ** floor(log10(rough))
    step = next(power * part for part in (1, 2, 5, 10) if power * part >= rough * (1 - 1e-9))
    first = ceil(low / step - 1e-9)
    return [at * step for at in range(first, floor(high / step + 1e-9) + 1)]


def figure(value: float, step: float) -> str:
    """A tick with the decimals its step needs."""
    places = max(0, -floor(log10(step) + 1e-9)) if step > 0 else 3
    if abs(round(step, places) - step) > 1e-6 * step:  # a quarter needs one decimal more than a fifth
        places += 1
    text = f"{value:.{places}f}"
    return text.replace("-", "−") if float(text) else f"{0:.{places}f}"


def plot_svg(plot: Plot, sheet: PictureSize = WIDE) -> str:
    """Lines over named places or a number, each named where it ends or below; "" without a point."""
    drawn = [series for series in plot.series if series.points]
    if not drawn:
        return ""
    low, high = _span(plot, drawn)
    xs = [x for series in drawn for x, _ in series.points]
    x_low, x_high = (0.0, float(len(plot.places) - 1)) if plot.places else (min(xs), max(xs))
    if x_high == x_low:
        x_low, x_high = x_low - 0.5, x_high + 0.5
    names = max(len(series.name) for series in drawn)
    right = sheet.width - _RIGHT - (min(220.0, 14 + sheet.letter * names) if sheet.beside else 0.0)
    across = _scale(x_low, x_high, _LEFT + 10.0, right - 10.0)
    up = _scale(low, high, sheet.height - _BOTTOM, _TOP)
    bottom = sheet.height - _BOTTOM
    parts = [*_grid_up(low, high, up, right), *_grid_across(plot, x_low, x_high, across, sheet)]
    for name, level in plot.levels:
        parts.append(f'<line x1="{_LEFT}" x2="{right:.1f}" y1="{up(level):.1f}" y2="{up(level):.1f}" class="level"/>')
        parts.append(_text(right - 2, up(level) - 4, name, "end"))
    parts += [f'<line x1="{across(at):.1f}" x2="{across(at):.1f}" y1="{_TOP}" y2="{bottom}" class="break"/>'
              for at in plot.breaks]  # fmt: skip
    looks = list(zip(drawn, cycle(_DASHES), cycle(_MARKS), strict=False))
    for series, dash, mark in looks:
        parts += _series(series, dash, mark, across, up)
    height = sheet.height
    if sheet.beside:
        parts += _names(drawn, across, up, bottom)
    else:
        for at, (series, dash, mark) in enumerate(looks):
            parts += _key(series.name, dash, mark, height + _ROW * at + 6)
        height += _ROW * len(looks)
    parts.append(_text(_LEFT if sheet.beside else 2, sheet.height - 6, f"{plot.up}; across: {plot.across}", "start"))
    return _svg(sheet, height, plot.alt, parts)


def _key(name: str, dash: str, mark: Callable[[float, float], str], y: float) -> Iterator[str]:
    """A line's look and its name, in a row of its own."""
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    yield f'<path d="M8 {y}L44 {y}" class="line"{dashed}/>'
    yield mark(26, y)
    yield _text(54, y + 4, name if len(name) <= 36 else f"{name[:35]}…", "start")


def ranges_svg(found: Ranges, sheet: PictureSize = WIDE) -> str:
    """A bar from low to high a name with the middle as a mark, nought drawn through; the name beside it or above."""
    if not found.names:
        return ""
    longest = min(46, max(len(name) for name in found.names))
    left, step, first = (16 + sheet.letter * longest, 28, 20.0) if sheet.beside else (8.0, 44, 34.0)
    height = 48 + step * len(found.names)
    values = [0.0, *(value for item in found.ranges for value in item)]
    low, high = min(values), max(values)
    pad = (high - low or 1.0) * 0.04
    across = _scale(low - pad, high + pad, left + (0 if sheet.beside else 12), sheet.width - 16.0)
    marks = ticks(low, high, 6 if sheet.beside else 5)
    parts = []
    for value in marks:
        x = across(value)
        parts.append(f'<line x1="{x:.1f}" x2="{x:.1f}" y1="8" y2="{height - 38}" class="grid"/>')
        parts.append(_text(x, height - 24, figure(value, _step(marks)), "middle"))
    parts.append(f'<line x1="{across(0):.1f}" x2="{across(0):.1f}" y1="8" y2="{height - 38}" class="level"/>')
    for at, (name, (least, middle, most)) in enumerate(zip(found.names, found.ranges, strict=True)):
        y = first + step * at
        label = name if len(name) <= longest else f"{name[: longest - 1]}…"
        parts.append(_text(left - 8, y + 4, label, "end") if sheet.beside else _text(2, y - 14, label, "start"))
        parts.append(f'<line x1="{across(least):.1f}" x2="{across(most):.1f}" y1="{y}" y2="{y}" class="range"/>')
        parts.append(_MARKS[1](across(middle), y))
    parts.append(_text(left if sheet.beside else 2, height - 6, found.across, "start"))
    return _svg(sheet, height, found.alt, parts)


def sketch_svg(sketch: Sketch, sheet: PictureSize = WIDE) -> str:
    """The line from above, north up, its marks named; "" without a point."""
    if len(sketch.points) < 2:
        return ""
    xs, ys = ([point[at] for point in sketch.points] for at in (0, 1))
    size = min((sheet.width - 60) / max(1.0, max(xs) - min(xs)), 420 / max(1.0, max(ys) - min(ys)))
    height = round((max(ys) - min(ys)) * size) + 40

    def place(x: float, y: float) -> tuple[float, float]:
        return 30 + (x - min(xs)) * size, 20 + (max(ys) - y) * size

    path = "L".join("{:.1f} {:.1f}".format(*place(x, y)) for x, y in sketch.points)
    parts = [f'<path d="M{path}" class="line"/>']
    for x, y, name in sketch.marks:
        left, top = place(x, y)
        parts += [_MARKS[1](left, top), _text(left + 7, top - 5, name, "start")]
    return _svg(sheet, height, sketch.alt, parts)


def _svg(sheet: PictureSize, height: int, alt: str, parts: Sequence[str]) -> str:
    label, look = escape(clean(alt), quote=False).replace('"', "&quot;"), f'class="{sheet.name}" role="img"'
    return f'<svg viewBox="0 0 {sheet.width} {height}" {look} aria-label="{label}">{"".join(parts)}</svg>'


def _span(plot: Plot, drawn: Sequence[Series]) -> tuple[float, float]:
    values = [y for series in drawn for _, y in series.points]
    values += [edge for series in drawn for edge in (*series.low, *series.high) if edge is not None]
    values += [level for _, level in plot.levels]
    low, high = min(values), max(values)
    short = max(0.0, max(plot.least, 1e-6) - (high - low)) / 2
    pad = (high - low + 2 * short) * 0.06
    return low - short - pad, high + short + pad


def _scale(low: float, high: float, start: float, end: float) -> Callable[[float], float]:
    return lambda value: start + (value - low) / (high - low) * (end - start)


def _step(values: Sequence[float]) -> float:
    return abs(values[1] - values[0]) if len(values) > 1 else 0.0


def _grid_up(low: float, high: float, up: Callable[[float], float], right: float) -> Iterator[str]:
    marks = ticks(low, high)
    for value in marks:
        y = up(value)
        yield f'<line x1="{_LEFT}" x2="{right:.1f}" y1="{y:.1f}" y2="{y:.1f}" class="grid"/>'
        yield _text(_LEFT - 6, y + 4, figure(value, _step(marks)), "end")


def _grid_across(
    plot: Plot, low: float, high: float, across: Callable[[float], float], sheet: PictureSize
) -> Iterator[str]:
    y = sheet.height - _BOTTOM + 16
    if not plot.places:
        marks = ticks(low, high, 8 if sheet.beside else 5)
        for value in marks:
            yield _text(across(value), y, figure(value, _step(marks)), "middle")
        return
    room = (across(high) - across(low)) / max(1, len(plot.places) - 1)
    widest = max(len(place) for place in plot.places) * sheet.letter + 6
    every = max(1, ceil(widest / room)) if room else 1
    for at, place in enumerate(plot.places):
        if at % every == 0:
            yield _text(across(at), y, place, "middle")


def _series(
    series: Series, dash: str, mark: Callable[[float, float], str], across: Callable[[float], float],
    up: Callable[[float], float],
) -> Iterator[str]:  # fmt: skip
    for (x, _), low, high in zip(series.points, series.low, series.high, strict=False):
        if low is not None and high is not None:
            at = across(x)
            yield f'<line x1="{at:.1f}" x2="{at:.1f}" y1="{up(low):.1f}" y2="{up(high):.1f}" class="range"/>'
    path = "L".join(f"{across(x):.1f} {up(y):.1f}" for x, y in series.points)
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    yield f'<path d="M{path}" class="line"{dashed}/>'
    yield from (mark(across(x), up(y)) for x, y in series.points)


def _names(
    drawn: Sequence[Series], across: Callable[[float], float], up: Callable[[float], float], bottom: float
) -> Iterator[str]:
    """Each name where its line ends, moved apart as far as the others need."""
    ends = sorted((up(series.points[-1][1]), across(series.points[-1][0]), series.name) for series in drawn)
    floor_, moved = float(_TOP), []
    for y, _, _ in ends:
        moved.append(max(y, floor_))
        floor_ = moved[-1] + 13
    ceiling = bottom
    for at in reversed(range(len(moved))):
        moved[at] = min(moved[at], ceiling)
        ceiling = moved[at] - 13
    for y, (_, x, name) in zip(moved, ends, strict=True):
        yield _text(x + 9, y + 4, name if len(name) <= 32 else f"{name[:31]}…", "start")


def _text(x: float, y: float, text: str, anchor: str) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(clean(text), quote=False)}</text>'
