"""Plots in plain characters, for a screen, a terminal or a pipe: each series has its own character, no colour."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

__all__ = ["lines_plot"]

_MARKS = "1234567890"


def lines_plot(
    series: Mapping[str, Sequence[tuple[float, float]]], across: str, up: str, size: tuple[int, int] = (78, 18),
    marks: str = _MARKS, least: float = 0.0,
) -> str:  # fmt: skip
    """Points of each series drawn with its own character of ``marks``, names underneath; empty without points.

    Series drawn later lie over earlier ones. ``size``: columns and rows, the names' row not counted.
    ``least``: what the height spans at least, in the unit of ``up``, so that a line all but flat looks flat.
    """
    import plotext

    drawn = {name: points for name, points in series.items() if points}
    if not drawn:
        return ""
    plotext.clear_figure()
    plotext.theme("clear")
    plotext.plot_size(*size)
    for mark, points in zip(marks, drawn.values(), strict=False):
        plotext.plot([x for x, _ in points], [y for _, y in points], marker=mark)
    heights = [y for points in drawn.values() for _, y in points]
    low, high = min(heights), max(heights)
    if high - low < least:
        plotext.ylim((low + high - least) / 2, (low + high + least) / 2)
    plotext.xlabel(across)
    plotext.ylabel(up)
    picture = plotext.uncolorize(plotext.build()).rstrip()
    plotext.clear_figure()
    names = "   ".join(f"{mark} {name}" for mark, name in zip(marks, drawn, strict=False))
    return "\n".join(line.rstrip() for line in picture.splitlines()) + f"\n{names}"
