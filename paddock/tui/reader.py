"""A page to read: leaves turned with left and right, each a scrolling board; and tables laid out in lines."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from rich.cells import cell_len
from textual.widget import Widget

from paddock.pages.document import Column, PageTable, Piece, TableRow, TextLine
from paddock.render.lines import table_lines as page_table_lines
from paddock.tui.page import Page
from paddock.tui.widgets.board import Board

if TYPE_CHECKING:
    from paddock.tui.desk import Desk


class ReaderPage(Page):
    """Base. ``LEAVES``: names of the leaves; one or none: no row of names. :meth:`leaf_lines` gives one leaf."""

    LEAVES: ClassVar[tuple[str, ...]] = ()

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.leaf = 0

    def body(self) -> Iterable[Widget]:
        """The names of the leaves, and one leaf."""
        if len(self.LEAVES) > 1:
            names = Board(name_id="leaves")
            names.styles.height = "auto"
            yield names
        yield Board(name_id="leaf")

    @property
    def board(self) -> Board:
        """The leaf."""
        return self.query_one("#leaf", Board)

    def show_event(self) -> None:
        """The leaf in hand."""
        if len(self.LEAVES) > 1:
            self.query_one("#leaves", Board).show(leaf_names(self.LEAVES, self.leaf, self.size.width))
        self.board.show(self.leaf_lines(self.columns))

    def leaf_lines(self, width: int) -> list[TextLine]:
        """What the leaf in hand shows."""
        raise NotImplementedError

    def turn_to(self, leaf: int) -> None:
        """Another leaf, from its top."""
        self.leaf = leaf % max(1, len(self.LEAVES))
        self.board.scroll_to(y=0, animate=False)
        self.refresh_page()

    def action_turn(self, by: int) -> None:
        """The leaf beside."""
        self.turn_to(self.leaf + by)

    def action_leaf_of(self, place: int) -> None:
        """A tapped leaf."""
        self.turn_to(place)

    def action_step(self, by: int) -> None:
        """A line up or down."""
        self.board.scroll_relative(y=by, animate=False)

    def action_leaf(self, by: int) -> None:
        """A screen up or down."""
        self.board.scroll_relative(y=by * max(1, self.board.size.height - 1), animate=False)


def leaf_names(names: Sequence[str], at: int, width: int) -> list[TextLine]:
    """The names in as many rows as they take, the one in hand reversed; a tap turns to it."""
    rows: list[list[Piece]] = [[]]
    for place, name in enumerate(names):
        text = f" {name} "
        if rows[-1] and sum(cell_len(piece.text) for piece in rows[-1]) + len(text) > width:
            rows.append([])
        rows[-1].append(Piece(text, "hand" if place == at else "quiet", f"leaf_of({place})"))
    return [tuple(row) for row in rows]


def table_lines(
    rows: Sequence[Sequence[str]], width: int, head: Sequence[str] = (), right: frozenset[int] = frozenset()
) -> list[TextLine]:
    """Rows in columns; the last column is broken into lines, and stands under its row where there is little room."""
    if not rows:
        return []
    columns = [Column(head[at] if head else "", figures=at in right) for at in range(len(rows[0]))]
    columns[-1:] = [replace(column, folds=True) for column in columns[-1:]]
    return (
        page_table_lines(PageTable(tuple(columns), tuple(TableRow(tuple(row)) for row in rows)), width) if rows else []
    )
