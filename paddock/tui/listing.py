"""A page whose table stands in a grid: what is said before it, the rows, and the row in hand in full under them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from textual.widget import Widget

from paddock.pages.document import Document, PageTable, TextLine
from paddock.render.lines import lines
from paddock.render.pieces import wrapped
from paddock.tui.asking import AskingPage
from paddock.tui.page import Page
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.grid import Grid


class ListingPage(Page):
    """Base. :meth:`document` gives the page, its table last; :meth:`whole` a row in full.

    ``UNDER``: rows for what stands under the table; ``FIRST``: the first row is in hand from the start.
    """

    UNDER: ClassVar[int] = 7
    FIRST: ClassVar[bool] = False

    def body(self) -> Iterable[Widget]:
        """What comes before, the table, the row in hand."""
        head, under = Board(name_id="head"), Board(name_id="under")
        head.styles.height = under.styles.height = "auto"
        head.styles.max_height, under.styles.max_height = 4, self.UNDER
        yield head
        yield Grid(name_id="rows")
        yield under

    @property
    def grid(self) -> Grid:
        """The table."""
        return self.query_one("#rows", Grid)

    def document(self) -> Document:
        """The page as it is now."""
        raise NotImplementedError

    def whole(self, row_id: str) -> Document:  # noqa: ARG002
        """What is to be said of a row beyond its cells."""
        return Document("", ())

    def show_event(self) -> None:
        """The table as it stands now."""
        page = self.document()
        self._listed = next(block for block in page.blocks if isinstance(block, PageTable))
        before = tuple(block for block in page.blocks if block is not self._listed)
        self.query_one("#head", Board).show(lines(Document(page.title, before), self.columns))
        self.grid.show_table(self._listed)
        under = self.query_one("#under", Board)
        if not close_up(self.grid, under, len(self._listed.rows), self.size.height - 4, self.UNDER):
            under.styles.height, under.styles.max_height = "auto", self.UNDER
        if self.FIRST and self.grid.picked is None and self._listed.rows:
            self.grid.go_to(self._listed.rows[0].id)
        self.show_under()

    def show_under(self) -> None:
        """The row in hand in full."""
        self.query_one("#under", Board).show(self.under_lines(self.columns))

    def under_lines(self, width: int) -> list[TextLine]:
        """Its words, then the cells of the columns that had no room; where there is no row, why."""
        if not self._listed.rows:
            return wrapped(self._listed.empty, width) if self._listed.empty else []
        picked = self.grid.picked
        if picked is None:
            return []
        rest = "; ".join(
            f"{title} {cell}".strip() for title, cell in self._listed.rest(picked, self.grid.shown_columns)
        )
        return [*lines(self.whole(picked), width), *(wrapped(rest, width, "quiet") if rest else [])]

    def on_grid_moved(self, event: Grid.Moved) -> None:
        """The row in hand in full."""
        event.stop()
        if self.desk.session is not None:
            self.show_under()

    def on_grid_picked(self, event: Grid.Picked) -> None:
        """A second tap opens the row."""
        event.stop()
        self.open_row()

    def open_row(self) -> None:
        """What a second tap does: as Enter."""
        self.accept_empty()

    def action_step(self, by: int) -> None:
        """The row above or below."""
        self.grid.move(by)

    def action_leaf(self, by: int) -> None:
        """A screen of rows."""
        self.grid.page(by)


class AskingListing(ListingPage, AskingPage):
    """A list with questions: while they are asked, the answers so far stand under it."""

    def under_lines(self, width: int) -> list[TextLine]:
        """The answers so far, while questions are asked."""
        return self.asked_lines(width) if self.asking else super().under_lines(width)


def close_up(over: Widget, under: Board, rows: int, page: int, least: int) -> bool:
    """Let the words under a short table follow it, and take the rest of the page; False: the table is too long.

    ``page``: rows of the screen for both; ``least``: rows that the words want.
    """
    fits = rows + 2 + least < page
    over.styles.height = rows + 2 if fits else "1fr"
    if fits:
        under.styles.height, under.styles.max_height = "1fr", None
    return fits
