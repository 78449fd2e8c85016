"""Plots in plain characters."""

from __future__ import annotations

import re
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.pages.document import Plot, Series
from paddock.render.plots import Dots, plot_lines


def drawn(plot: Plot, width: int = 40, height: int = 12) -> list[str]:
    """Its lines as plain text."""
    return ["".join(piece.text for piece in pieces).rstrip() for pieces in plot_lines(plot, width, height)]


def lines_of(least: float = 0.0, **series: tuple[tuple[float, float], ...]) -> Plot:
    return Plot(tuple(Series(name, points) for name, points in series.items()), "x", "y", "", least=least)


UP, DOWN = ((0.0, 0.0), (10.0, 10.0)), ((0.0, 10.0), (10.0, 0.0))


@pytest.mark.parametrize("width", [80, 40])
def test_each_line_has_its_name_at_its_end_and_no_colour(width: int) -> None:
    picture = drawn(lines_of(up=UP, down=DOWN), width)
    rows = [line.split("│", 1)[1] for line in picture if "│" in line]
    ends = [row.split()[-1] for row in rows if row.strip() and row.split()[-1].isalpha()]
    assert ends == ["up", "down"]
    assert max(map(len, picture)) <= width
    assert not re.search(r"\d up|\d down|\x1b", "\n".join(picture))


def test_lines_without_room_for_their_names_have_numbers() -> None:
    """Four lines that end on one spot: nothing stands over the other, and every name is told."""
    picture = drawn(lines_of(**{f"a line with a long name {at}": ((0.0, float(at)), (1.0, 9.0)) for at in range(4)}))
    told = " ".join(" ".join(picture[-9:]).split())
    assert all(f"a line with a long name {at}" in told for at in range(4))
    assert max(map(len, picture)) <= 40


def test_a_line_is_drawn_whole_between_its_points() -> None:
    """Two points at the corners: every column between has a dot, and they rise."""
    picture = drawn(lines_of(up=UP))
    rows = [line.split("│", 1)[1] for line in picture if "│" in line]
    width = max(map(len, rows))
    tops = [next(at for at, row in enumerate(rows) if column < len(row) and row[column] != " ")
            for column in range(width)]  # fmt: skip
    assert width >= 30
    assert tops == sorted(tops, reverse=True)
    filled = [at for at, row in enumerate(rows) if row.strip()]
    assert (tops[0], tops[-1]) == (filled[-1], filled[0])
    assert len(filled) >= len(rows) - 2


def test_signs_stand_over_dots_and_what_lies_outside_is_left_out() -> None:
    dots = Dots(3, 1)
    dots.line((-4, 0), (40, 0))
    dots.say(1, 0, "A")
    dots.under(0, "·")
    assert dots.texts() == ["\u2809A\u2809"]
    assert not dots.free(0, 0, 1)
    assert not dots.free(0, 1, 1)


@given(
    st.lists(st.floats(-500, 500, allow_nan=False), min_size=2, max_size=12), st.integers(30, 100), st.integers(9, 30)
)
def test_equal_steps_of_rows_stand_for_equal_values(heights: list[float], width: int, rows: int) -> None:
    """A label stands on the row of its value, whatever the size: the axis is a ruler."""
    picture = drawn(lines_of(a=tuple((float(at), height) for at, height in enumerate(heights))), width, rows)
    labels = [
        (row, Decimal(found[1].replace("−", "-").strip()))
        for row, line in enumerate(picture)
        if (found := re.match(r"^\s*([−\d.]+) │", line))
    ]
    assert len(labels) >= 2
    steps = {(low - high) / (below - above) for (above, high), (below, low) in pairwise(labels)}
    assert len(steps) == 1
    assert all(len(line) <= width for line in picture)


def test_nothing_to_draw() -> None:
    assert drawn(lines_of(a=())) == []


def test_a_line_all_but_flat_looks_flat() -> None:
    nearly = ((0.0, 58.02), (0.5, 58.05), (1.0, 58.1))
    assert rows_drawn(drawn(lines_of(4.0, share=nearly))) <= 2
    assert rows_drawn(drawn(lines_of(share=nearly))) > 6


def test_a_steep_line_has_the_whole_height() -> None:
    steep = ((0.0, 50.0), (0.5, 54.0), (1.0, 58.0))
    assert drawn(lines_of(4.0, share=steep)) == drawn(lines_of(share=steep))


def rows_drawn(picture: list[str]) -> int:
    return sum(any("\u2800" < sign <= "\u28ff" for sign in line) for line in picture)
