"""Sentences folded to the width of a page."""

from __future__ import annotations

from collections.abc import Iterable
from textwrap import wrap

__all__ = ["folded"]


def folded(sentences: Iterable[str], width: int = 100) -> list[str]:
    """Each sentence on as many lines as it needs, further lines set in by two more; blank ones stay."""
    lines: list[str] = []
    for sentence in sentences:
        inset = " " * (len(sentence) - len(sentence.lstrip()))
        lines += wrap(sentence.lstrip(), width, initial_indent=inset, subsequent_indent=inset + "  ") or [""]
    return lines
