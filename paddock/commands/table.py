"""Plain-text tables for a terminal or a pipe."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence

from rich.cells import cell_len

__all__ = ["clean", "table"]


def clean(text: str) -> str:
    """Text without control characters, so that no cell can move the cursor or colour the screen."""
    return "".join(" " if unicodedata.category(char) in {"Cc", "Cf", "Zl", "Zp"} else char for char in text)


def _pad(text: str, width: int, right: bool) -> str:
    gap = " " * (width - cell_len(text))
    return gap + text if right else text + gap


def table(headers: Sequence[str], rows: Sequence[Sequence[str]], right: Sequence[int] = ()) -> str:
    """``rows`` under ``headers``; columns whose index is in ``right`` stand to the right."""
    cells = [[clean(cell) for cell in row] for row in (headers, *rows)]
    widths = [max(cell_len(row[index]) for row in cells) for index in range(len(headers))]
    lines = ["  ".join(_pad(cell, widths[i], i in right) for i, cell in enumerate(row)).rstrip() for row in cells]
    rule = "  ".join("-" * width for width in widths)
    return "\n".join([lines[0], rule, *lines[1:]])
