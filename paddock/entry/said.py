"""What is said about a field that can't be read."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

_LONGEST = 24


@dataclass(frozen=True, slots=True)
class Wrong:
    """``field``: which part of the line; ``text``: as typed; ``sentence``: what is wrong and the mend."""

    field: str
    text: str
    sentence: str


class Misread(Exception):  # noqa: N818 - never leaves this package
    """Carries a ``Wrong`` up to the reader of the line."""

    def __init__(self, field: str, text: str, sentence: str) -> None:
        super().__init__(sentence)
        self.wrong = Wrong(field, text, sentence)


def shown(text: str) -> str:
    """A typed piece as it is quoted back: no control characters, not longer than 16."""
    clean = "".join("?" if unicodedata.category(char).startswith("C") else char for char in text)
    return clean if len(clean) <= 16 else clean[:15] + "…"


def with_spaces(misread: Misread, word: str, reads: Callable[[str], object]) -> Misread:
    """The same refusal, or the mend where the word reads as two or three with a space between them.

    ``reads`` raises Misread for a piece that can't be read. Figures alone are never parted: nobody knows where.
    """
    if len(word) > _LONGEST or not any(char.isalpha() for char in word):
        return misread
    for count in (1, 2):
        for places in combinations(range(1, len(word)), count):
            pieces = [word[start:end] for start, end in pairwise((0, *places, len(word)))]
            if _all_read(pieces, reads):
                told = f"{shown(word)}: is a space missing? {' '.join(pieces)}"
                return Misread(misread.wrong.field, misread.wrong.text, told)
    return misread


def _all_read(pieces: Sequence[str], reads: Callable[[str], object]) -> bool:
    if any(len(piece) > 1 and piece[0] == "0" for piece in pieces):
        return False
    try:
        for piece in pieces:
            reads(piece)
    except Misread:
        return False
    return True


def whole(text: str) -> int | None:
    """A short run of plain digits as a number, else None (no other script's digits)."""
    return int(text) if text.isascii() and text.isdecimal() and len(text) <= 9 else None
