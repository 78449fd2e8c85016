"""Text and tables made to fit a terminal."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from paddock.render.lines import fitted
from paddock.render.plain import table


def test_short_lines_stay_and_long_ones_fold_with_an_inset() -> None:
    assert fitted("a b\n\n  c d", 20) == "a b\n\n  c d"
    assert fitted("  " + "word " * 8, 20).split("\n") == ["  word word word", "    word word word", "    word word"]


def test_a_word_wider_than_the_terminal_stays_whole() -> None:
    assert fitted("see " + "x" * 30 + " there", 20).split("\n") == ["see", "  " + "x" * 30, "  there"]


@given(st.text(alphabet="ab 漢"), st.integers(20, 60))
def test_no_word_is_lost_and_no_line_is_too_wide(text: str, width: int) -> None:
    found = fitted(text, width)
    assert found.split() == text.split()
    for line in found.split("\n"):
        assert cell_len(line) <= width or len(line.split()) == 1


ROWS = [
    ["1", "Ada of the Long Name Dale", "1:46.512  2:46.112+1  3:45.998*"],
    ["2", "Bo", "1:47.5"],
]


@pytest.mark.parametrize("width", [200, 60, 40, 30, 20])
def test_a_table_is_as_wide_as_the_terminal_and_every_figure_is_whole(
    width: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    found = table(["", "driver", "runs"], ROWS, right=(0,))
    assert all(cell_len(line) <= width for line in found.split("\n"))
    words = found.replace(",", " ").split()
    for row in ROWS:
        assert all(word in words for cell in row for word in cell.split())


def test_a_run_is_never_parted_from_its_mark(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "30")
    assert table(["", "driver", "runs"], ROWS, right=(0,)).split("\n")[2:4] == [
        "1  Ada of the    1:46.512",
        "   Long Name     2:46.112+1",
    ]
