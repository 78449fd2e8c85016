"""Plots in plain characters."""

from __future__ import annotations

import re
from decimal import Decimal
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from paddock.render.lines import lines_plot


def test_each_series_has_its_character_and_no_colour() -> None:
    text = lines_plot({"up": [(0, 0), (10, 10)], "down": [(0, 10), (10, 0)]}, "x", "y", (40, 12))
    assert "1 up   2 down" in text
    assert "\x1b" not in text
    rows = [line.split("│", 1)[1] for line in text.splitlines() if re.search("│.*[12]", line)]
    assert rows[0].index("2") < rows[0].index("1")
    assert rows[-1].index("1") < rows[-1].index("2")
    assert max(map(len, text.splitlines())) <= 40


@given(
    st.lists(st.floats(-500, 500, allow_nan=False), min_size=2, max_size=12), st.integers(30, 100), st.integers(9, 30)
)
def test_equal_steps_of_rows_stand_for_equal_values(heights: list[float], width: int, rows: int) -> None:
    """A label stands on the row of its value, whatever the size: the axis is a ruler."""
    text = lines_plot({"a": [(float(at), height) for at, height in enumerate(heights)]}, "x", "y", (width, rows))
    labels = [
        (row, Decimal(found[1].replace("−", "-").strip()))
        for row, line in enumerate(text.splitlines())
        if (found := re.match(r"^\s*([−\d.]+) │", line))
    ]
    assert len(labels) >= 2
    steps = {(low - high) / (below - above) for (above, high), (below, low) in pairwise(labels)}
    assert len(steps) == 1
    assert all(len(line) <= width for line in text.splitlines())


def test_nothing_to_draw() -> None:
    assert lines_plot({"a": []}, "x", "y") == ""


def test_a_line_all_but_flat_looks_flat() -> None:
    nearly = {"share": [(0.0, 58.02), (0.5, 58.05), (1.0, 58.1)]}
    assert _rows_drawn(lines_plot(nearly, "g", "%", (40, 12), least=4.0)) <= 2
    assert _rows_drawn(lines_plot(nearly, "g", "%", (40, 12))) > 6


def test_a_steep_line_has_the_whole_height() -> None:
    steep = {"share": [(0.0, 50.0), (0.5, 54.0), (1.0, 58.0)]}
    assert lines_plot(steep, "g", "%", (40, 12), least=4.0) == lines_plot(steep, "g", "%", (40, 12))


def _rows_drawn(text: str) -> int:
    return sum("1" in re.split("[┤│]", line, maxsplit=1)[1] for line in text.splitlines() if re.search("[┤│]", line))
