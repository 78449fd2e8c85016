"""What is said about a field that can't be read."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass

__all__ = ["Misread", "Wrong", "shown", "whole"]


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


def whole(text: str) -> int | None:
    """A short run of plain digits as a number, else None (no other script's digits)."""
    return int(text) if text.isascii() and text.isdecimal() and len(text) <= 9 else None
