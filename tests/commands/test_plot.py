"""Plots in plain characters."""

from __future__ import annotations

import re

from paddock.commands.plot import lines_plot


def test_each_series_has_its_character_and_no_colour() -> None:
    text = lines_plot({"up": [(0, 0), (10, 10)], "down": [(0, 10), (10, 0)]}, "x", "y", (40, 12))
    assert "1 up   2 down" in text
    assert "\x1b" not in text
    rows = [re.split("[┤│]", line, maxsplit=1)[1] for line in text.splitlines() if re.search("[┤│]", line)]
    assert rows[0].index("2") < rows[0].index("1")
    assert rows[-1].index("1") < rows[-1].index("2")
    assert max(map(len, text.splitlines())) <= 40


def test_nothing_to_draw() -> None:
    assert lines_plot({"a": []}, "x", "y") == ""
