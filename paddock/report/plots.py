"""Pictures as SVG. Lines differ by dash and marker as well as by grey, and are named where they end."""

from __future__ import annotations

import io
import warnings
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import cycle
from typing import TYPE_CHECKING, Any, cast

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["Line", "bars_svg", "lines_svg"]

_RULES: dict[str, Any] = {
    "svg.fonttype": "none", "svg.hashsalt": "paddock", "text.parse_math": False, "font.size": 9.0,
    "font.family": "sans-serif", "axes.spines.top": False, "axes.spines.right": False, "axes.grid": True,
    "grid.color": "#cccccc", "grid.linewidth": 0.6, "axes.axisbelow": True, "figure.facecolor": "white",
}  # fmt: skip
STYLES = (
    {"color": "#000000", "linestyle": "-", "marker": "o"},
    {"color": "#000000", "linestyle": "--", "marker": "s", "markerfacecolor": "white"},
    {"color": "#555555", "linestyle": ":", "marker": "^"},
    {"color": "#555555", "linestyle": "-.", "marker": "D", "markerfacecolor": "white"},
    {"color": "#777777", "linestyle": "-", "marker": "x"},
)
"""As many lines as can be told apart in grey; more begin anew and are told apart by their names."""
_SIZE = (7.2, 3.0)


@dataclass(frozen=True, slots=True)
class Line:
    """A named series over the picture's places; None: no value there. ``low``, ``high``: a range at each place."""

    name: str
    values: Sequence[float | None]
    low: Sequence[float | None] = field(default=())
    high: Sequence[float | None] = field(default=())


def lines_svg(
    places: Sequence[str], lines: Sequence[Line], y_label: str, levels: Mapping[str, float] | None = None,
    breaks: Sequence[int] = (),
) -> str:  # fmt: skip
    """Lines over named places. ``levels``: flat lines with a name; ``breaks``: places a new day begins at."""

    def draw(axes: Axes) -> None:
        for line, style in zip(lines, cycle(STYLES), strict=False):
            _line(axes, line, style)
        _name_ends(axes, lines)
        for name, level in (levels or {}).items():
            axes.axhline(level, color="#000000", linewidth=0.8, linestyle=(0, (1, 3)))
            axes.annotate(name, (1, level), xycoords=("axes fraction", "data"), ha="right", va="bottom", fontsize=8)
        for at in breaks:
            axes.axvline(at - 0.5, color="#888888", linewidth=0.8)
        axes.set_xticks(range(len(places)), places)
        axes.set_xlim(-0.4, len(places) - 0.6 + max(1.0, 0.16 * len(places)))
        axes.set_ylabel(y_label)

    return _svg(draw, _SIZE)


def _line(axes: Axes, line: Line, style: Mapping[str, Any]) -> None:
    there = [(at, value) for at, value in enumerate(line.values) if value is not None]
    if not there:
        return
    where, values = zip(*there, strict=True)
    axes.plot(where, values, linewidth=1.4, markersize=5, **style)
    ranges = [(at, low, high) for at, low, high in zip(range(len(line.values)), line.low, line.high, strict=False)]
    for at, low, high in ranges:
        if low is not None and high is not None:
            axes.plot((at, at), (low, high), color=style["color"], linewidth=3, alpha=0.35, solid_capstyle="butt")


def _name_ends(axes: Axes, lines: Sequence[Line]) -> None:
    """Each name where its line ends, moved as far as the other names need."""
    ends = [
        (value, max(at for at, item in enumerate(line.values) if item is not None), line.name)
        for line in lines
        if (value := next((item for item in reversed(line.values) if item is not None), None)) is not None
    ]
    low, high = axes.get_ylim()
    heights = _apart([value for value, _, _ in sorted(ends)], 0.055 * (high - low), high)
    for height, (_, at, name) in zip(heights, sorted(ends), strict=True):
        axes.annotate(name, (at, height), xytext=(8, 0), textcoords="offset points", va="center", fontsize=8)


def _apart(heights: Sequence[float], gap: float, top: float) -> list[float]:
    """Rising heights moved at least ``gap`` apart, upwards first, then down again from ``top``."""
    moved: list[float] = []
    for height in heights:
        moved.append(max(height, moved[-1] + gap) if moved else height)
    limit = top
    for at in reversed(range(len(moved))):
        moved[at] = min(moved[at], limit)
        limit = moved[at] - gap
    return moved


def bars_svg(names: Sequence[str], ranges: Sequence[tuple[float, float, float]], x_label: str) -> str:
    """One line a name: the middle as a dot, the range as a bar, with nought drawn through."""

    def draw(axes: Axes) -> None:
        for at, (low, middle, high) in enumerate(ranges):
            axes.plot((low, high), (at, at), color="#555555", linewidth=5, solid_capstyle="butt")
            axes.plot(middle, at, color="#000000", marker="o", markersize=8, markerfacecolor="white")
        axes.axvline(0, color="#000000", linewidth=1)
        axes.set_yticks(range(len(names)), [name if len(name) <= 48 else f"{name[:47]}…" for name in names])
        axes.set_ylim(len(names) - 0.5, -0.5)
        axes.set_xlabel(x_label)

    widest = min(max(map(len, names), default=0), 48)
    return _svg(draw, (_SIZE[0], 0.9 + 0.36 * len(names)), 0.3 + 0.066 * widest)


def _svg(draw: Any, size: tuple[float, float], left: float | None = None) -> str:
    """The picture alone: no prologue, no date, the same for the same figures."""
    import matplotlib as mpl
    from matplotlib.figure import Figure

    out = io.StringIO()
    with mpl.rc_context(cast("Any", _RULES)), warnings.catch_warnings():
        warnings.simplefilter("ignore")  # a letter the measuring font lacks is drawn by the reader's own font
        figure: Figure = Figure(figsize=size)
        inches = 0.6 if left is None else left
        figure.subplots_adjust(left=inches / size[0], right=0.985, bottom=0.45 / size[1], top=1 - 0.12 / size[1])
        draw(figure.add_subplot())
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    text = out.getvalue()
    return text[text.index("<svg") :]
