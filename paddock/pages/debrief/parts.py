"""What a debrief is made of, before it is a page or a text."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from paddock.pages.document import Block, Column, Heading, PageTable, Plot, Ranges, Series, TableRow, words

Figure = Plot | Ranges


@dataclass(frozen=True, slots=True)
class Section:
    """One part of the story. ``summary``: its lines of the text to post; the page has the rest, ``folded`` or open."""

    title: str
    words: tuple[str, ...] = ()
    figures: tuple[Figure, ...] = ()
    grids: tuple[PageTable, ...] = ()
    items: tuple[str, ...] = ()
    summary: tuple[str, ...] = ()
    folded: bool = False

    @property
    def blocks(self) -> tuple[Block, ...]:
        """Heading, sentences, pictures, points, tables."""
        said = tuple(words(text) for text in self.words)
        points = tuple(words(text, bullet="- ") for text in self.items)
        return (Heading(self.title), *said, *self.figures, *points, *self.grids)


def line(*parts: str | None, between: str = ", ") -> str:
    """The parts that say something, joined."""
    return between.join(part for part in parts if part)


def grid(
    heads: Sequence[str], rows: Sequence[Sequence[str]], caption: str = "", right: frozenset[int] = frozenset(),
    strong: frozenset[int] = frozenset(),
) -> PageTable:  # fmt: skip
    """A table of texts. ``right``: columns of figures; ``strong``: rows that are mine."""
    columns = tuple(Column(head, figures=at in right) for at, head in enumerate(heads))
    return PageTable(columns, tuple(TableRow(tuple(row), mine=at in strong) for at, row in enumerate(rows)), caption)


def series(
    name: str, values: Sequence[float | None], low: Sequence[float | None] = (), high: Sequence[float | None] = ()
) -> Series:
    """A value a place, None where there is none; ``low`` and ``high`` a range at each place."""
    there = [at for at, value in enumerate(values) if value is not None]
    points = tuple((float(at), value) for at in there if (value := values[at]) is not None)
    ends = [tuple(edge[at] for at in there) if edge else () for edge in (low, high)]
    return Series(name, points, ends[0], ends[1])


def places_plot(
    places: Sequence[str], lines: Sequence[Series], across: str, up: str, alt: str, caption: str,
    levels: Mapping[str, float] | None = None, breaks: Sequence[int] = (),
) -> Plot:  # fmt: skip
    """Lines over named places. ``levels``: flat lines with a name; ``breaks``: places a new day begins at."""
    return Plot(
        tuple(lines), across, up, alt, caption, tuple(places), tuple((levels or {}).items()),
        tuple(at - 0.5 for at in breaks),
    )  # fmt: skip
