"""Painted text: pieces with a role, so that no cell is ever read as markup.

Roles: "" plain, ``strong``, ``quiet``, ``warn``, ``head`` (a section's rule), ``band`` (the top line),
``key`` (a key to press), ``hand`` (what is in hand: reversed).
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from rich.cells import cell_len, set_cell_size

__all__ = ["ROLES", "Piece", "TextLine", "clean", "cut", "fit", "join", "line", "rule", "spread", "width_of", "wrapped"]

ROLES = ("strong", "quiet", "warn", "head", "band", "key", "hand")


class Piece(NamedTuple):
    """``tag``: what a tap on it means, an action of the page; "" = nothing."""

    text: str
    role: str = ""
    tag: str = ""


TextLine = tuple[Piece, ...]


def clean(text: str) -> str:
    """Text without control and direction characters: no cell can move the cursor or turn the line round."""
    if text.isascii() and text.isprintable():
        return text
    return "".join(" " if unicodedata.category(char) in {"Cc", "Cf", "Zl", "Zp", "Cs"} else char for char in text)


def line(*parts: str | Piece | tuple[str, str] | tuple[str, str, str]) -> TextLine:
    """A line of pieces; plain text stands for itself."""
    return tuple(Piece(clean(part)) if isinstance(part, str) else Piece(clean(part[0]), *part[1:]) for part in parts)


def width_of(pieces: Iterable[Piece]) -> int:
    """Cells the pieces take."""
    return sum(cell_len(piece.text) for piece in pieces)


def fit(text: str, width: int, right: bool = False) -> str:
    """Text in exactly ``width`` cells, cut with an ellipsis."""
    size = cell_len(text)
    if size > width:
        return set_cell_size(text, width - 1) + "…" if width > 1 else set_cell_size(text, width)
    gap = " " * (width - size)
    return gap + text if right else text + gap


def spread(left: TextLine, right: TextLine, width: int) -> TextLine:
    """``left`` and ``right`` at the two ends of a line; the left is cut where they meet."""
    room = width - width_of(right)
    if room <= 0:
        return left
    used = width_of(left)
    if used < room:
        return (*left, Piece(" " * (room - used), left[-1].role if left and left[-1].role == "band" else ""), *right)
    return (*cut(left, room - 1), Piece(" ", left[0].role if left else ""), *right)


def cut(pieces: TextLine, width: int) -> TextLine:
    kept: list[Piece] = []
    for piece in pieces:
        size = cell_len(piece.text)
        if size > width:
            return (*kept, piece._replace(text=fit(piece.text, width))) if width > 0 else tuple(kept)
        kept.append(piece)
        width -= size
    return tuple(kept)


def rule(title: str, width: int, tag: str = "") -> TextLine:
    """A section's head: its name and a rule to the end of the line."""
    name = f" {title} "
    return (Piece("─", "head", tag), Piece(name, "head", tag), Piece("─" * max(0, width - len(name) - 1), "head", tag))


def join(parts: Sequence[TextLine], gap: str = "  ") -> TextLine:
    """Lines one after another on one line."""
    pieces: list[Piece] = []
    for part in parts:
        if pieces and part:
            pieces.append(Piece(gap))
        pieces.extend(part)
    return tuple(pieces)


def wrapped(text: str, width: int, role: str = "", indent: str = "") -> list[TextLine]:
    """Prose broken at spaces into lines of at most ``width`` cells."""
    lines: list[str] = []
    for word in clean(text).split():
        if lines and cell_len(lines[-1]) + 1 + cell_len(word) <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(f"{indent if lines else ''}{word}")
    return [(Piece(fit(item, width) if cell_len(item) > width else item, role),) for item in lines] or [()]
