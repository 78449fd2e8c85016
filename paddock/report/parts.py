"""What a report is made of, before it is a page or a text."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Figure", "Grid", "Section", "line"]


@dataclass(frozen=True, slots=True)
class Grid:
    """A table. Cells are plain text; ``right``: columns of figures; ``strong``: rows that are mine."""

    headers: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    caption: str = ""
    right: frozenset[int] = frozenset()
    strong: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Figure:
    """``svg``: a whole picture without scripts; ``alt``: what it shows, for who can't see it."""

    svg: str
    alt: str
    caption: str = ""


@dataclass(frozen=True, slots=True)
class Section:
    """One part of the story. ``summary``: its lines of the text to post; the rest is for the page."""

    title: str
    words: tuple[str, ...] = ()
    figures: tuple[Figure, ...] = ()
    grids: tuple[Grid, ...] = ()
    items: tuple[str, ...] = ()
    summary: tuple[str, ...] = ()


def line(*parts: str | None, between: str = ", ") -> str:
    """The parts that say something, joined."""
    return between.join(part for part in parts if part)
