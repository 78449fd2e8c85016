"""Sentences folded to a page."""

from __future__ import annotations

from paddock.commands.fold import folded


def test_short_ones_stay_and_long_ones_fold_with_an_inset() -> None:
    assert folded(["a b", "", "  c d"]) == ["a b", "", "  c d"]
    assert folded(["  " + "word " * 8], 20) == ["  word word word", "    word word word", "    word word"]
