"""A table painted line by line: a changed row repaints that row alone, whatever the row count.

Header, columns that stay put, a cursor, mouse, scrolling both ways. Cells are text or pieces with a role.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from rich.cells import cell_len
from rich.style import Style
from textual import events
from textual.geometry import Region, Size
from textual.message import Message
from textual.reactive import reactive
from textual.strip import Strip

from paddock.pages.document import PageTable, Piece, TableRow
from paddock.render.pieces import chosen, fit, text_of
from paddock.tui.widgets.board import Painted

Cells = tuple[str | Piece, ...]
_GAP = " "
_HEAD = Style(bold=True, underline=True)


@dataclass(frozen=True, slots=True)
class Col:
    """A column. ``width`` 0: as wide as its widest cell, at most ``most``; ``stays``: never scrolls away."""

    title: str
    width: int = 0
    right: bool = False
    stays: bool = False
    most: int = 24


class Grid(Painted):
    """Rows under a header. ``cursor``: index of the row in hand, -1 for none."""

    DEFAULT_CSS = "Grid { height: 1fr; overflow: auto; }"
    cursor: reactive[int] = reactive(-1, repaint=False)

    @dataclass
    class Picked(Message):
        """A row was tapped or opened. ``row``: its id."""

        grid: Grid
        row: str

        @property
        def control(self) -> Grid:
            """The table, for selectors."""
            return self.grid

    @dataclass
    class Moved(Message):
        """The cursor stands on another row."""

        grid: Grid
        row: str

    def __init__(self, columns: Sequence[Col] = (), *, name_id: str | None = None) -> None:
        super().__init__(name_id=name_id)
        self._cols: tuple[Col, ...] = tuple(columns)
        self._ids: list[str] = []
        self._cells: list[Cells] = []
        self._at: dict[str, int] = {}
        self._table: PageTable | None = None
        self.shown_columns: tuple[int, ...] = ()
        """Of a page's table: which of its columns have room."""
        self._widths: list[int] = [col.width or cell_len(col.title) for col in self._cols]

    # what is shown

    @property
    def row_count(self) -> int:
        """How many rows there are."""
        return len(self._ids)

    @property
    def picked(self) -> str | None:
        """The id of the row in hand."""
        return self._ids[self.cursor] if 0 <= self.cursor < len(self._ids) else None

    def row(self, row_id: str) -> Cells | None:
        """The cells of a row."""
        at = self._at.get(row_id)
        return None if at is None else self._cells[at]

    def fill(self, rows: Sequence[tuple[str, Cells]], columns: Sequence[Col] | None = None) -> None:
        """Show ``rows`` (id, cells); the cursor stays with its row; rows that are the same aren't repainted."""
        keep, old = self.picked, self._cells
        cols_changed = columns is not None and tuple(columns) != self._cols
        if columns is not None:
            self._cols = tuple(columns)
        self._ids = [row_id for row_id, _ in rows]
        self._cells = [cells for _, cells in rows]
        self._at = {row_id: at for at, row_id in enumerate(self._ids)}
        moved = self._remeasure()
        self.set_reactive(Grid.cursor, self._kept(keep))
        if moved or cols_changed or len(old) != len(self._cells):
            self.refresh()
        else:
            self._repaint_changed(old)

    def show_table(self, table: PageTable) -> None:
        """Show a page's table: as many of its columns as have room, chosen anew when the width changes."""
        self._table = table
        scrolls = len(table.rows) >= self.size.height
        picked = chosen(table, max(1, self.size.width - scrolls), len(_GAP))
        self.shown_columns = tuple(at for at, _ in picked)
        columns = [Col(table.columns[at].title, size, table.columns[at].figures) for at, size in picked]
        rows = [(row.id, tuple(_marked(row.cells[at], row) for at in self.shown_columns)) for row in table.rows]
        self.fill(rows, columns)

    def on_resize(self, _event: events.Resize) -> None:
        """Another width has room for other columns."""
        if self._table is not None:
            self.show_table(self._table)
            if self.picked is not None:
                self.post_message(self.Moved(self, self.picked))

    def replace(self, row_id: str, cells: Cells) -> None:
        """Give one row new cells."""
        at = self._at[row_id]
        self._cells[at] = cells
        if self._wider(cells):
            self._measure()
            self.refresh()
        else:
            self._repaint_row(at)

    def _kept(self, row_id: str | None) -> int:
        at = self._at.get(row_id or "", -1)
        return at if at >= 0 or row_id is None else min(self.cursor, len(self._ids) - 1)

    def _repaint_changed(self, old: list[Cells]) -> None:
        for at, (was, now) in enumerate(zip(old, self._cells, strict=True)):
            if was != now:
                self._repaint_row(at)
        self._repaint_row(self.cursor)

    # measures

    def _remeasure(self) -> bool:
        widths = [col.width or cell_len(col.title) for col in self._cols]
        for index, col in enumerate(self._cols):
            if not col.width:
                longest = max((len(text_of(cells[index])) for cells in self._cells), default=0)
                if longest > widths[index]:
                    widths[index] = min(col.most, max(cell_len(text_of(cells[index])) for cells in self._cells))
        changed = widths != self._widths
        self._widths = widths
        self._measure()
        return changed

    def _wider(self, cells: Cells) -> bool:
        wider = False
        for index, col in enumerate(self._cols):
            size = min(col.most, cell_len(text_of(cells[index])))
            if not col.width and size > self._widths[index]:
                self._widths[index] = size
                wider = True
        return wider

    def _measure(self) -> None:
        self.virtual_size = Size(sum(self._widths) + max(0, len(self._widths) - 1), len(self._ids) + 1)

    def _repaint_row(self, at: int) -> None:
        if at >= 0:
            self.refresh(Region(0, at + 1 - self.scroll_offset.y, self.size.width, 1))

    # painting

    def render_line(self, y: int) -> Strip:
        """One line of the screen: the header, or a row."""
        at = y - 1 + self.scroll_offset.y
        if y == 0:
            return self._strip(tuple(col.title for col in self._cols), head=True)
        if at >= len(self._cells):
            return Strip.blank(self.size.width, self.rich_style)
        return self._strip(self._cells[at], over="hand" if at == self.cursor else "")

    def _strip(self, cells: Cells, head: bool = False, over: str = "") -> Strip:
        still: list[Piece] = []
        moving: list[Piece] = []
        for index, (col, cell) in enumerate(zip(self._cols, cells, strict=False)):
            role, tag = ("", "") if isinstance(cell, str) else (cell.role, cell.tag)
            text = fit(text_of(cell), self._widths[index], col.right) + _GAP
            (still if col.stays else moving).append(Piece(text, role, tag))
        width, held = self.size.width, sum(cell_len(piece.text) for piece in still)
        left = self.strip_of(tuple(still), min(held, width), over)
        if not head:
            moving = self._whole_figures(moving, self.scrollable_content_region.width - held)
        total = max(width - held, sum(cell_len(piece.text) for piece in moving))
        right = self.strip_of(tuple(moving), total + self.scroll_offset.x, over)
        strip = Strip.join([left, right.crop(self.scroll_offset.x, self.scroll_offset.x + max(0, width - held))])
        return strip.apply_style(_HEAD) if head else strip

    def _whole_figures(self, moving: list[Piece], room: int) -> list[Piece]:
        """A figure that the edge would cut is absent until the table is moved: no digit is ever left out."""
        kept, start = [], -self.scroll_offset.x
        for piece in moving:
            end = start + cell_len(piece.text.rstrip())
            first = start + len(piece.text) - len(piece.text.lstrip())
            cut_off = (first < 0 < end or first < room < end) and any(char.isdigit() for char in piece.text)
            kept.append(piece._replace(text=" " * cell_len(piece.text)) if cut_off else piece)
            start += cell_len(piece.text)
        return kept

    # moving about

    def watch_cursor(self, old: int, new: int) -> None:
        """Repaint the two rows and keep the cursor in sight."""
        self._repaint_row(old)
        self._repaint_row(new)
        if 0 <= new < len(self._ids):
            self._keep_in_sight(new)
            self.post_message(self.Moved(self, self._ids[new]))

    def _keep_in_sight(self, at: int) -> None:
        room, top = max(1, self.size.height - 1 - int(self.show_horizontal_scrollbar)), self.scroll_offset.y
        if at < top:
            self.scroll_to(y=at, animate=False, force=True)
        elif at >= top + room:
            self.scroll_to(y=at - room + 1, animate=False, force=True)

    def move(self, by: int) -> None:
        """Move the cursor, stopping at both ends."""
        if self._ids:
            start = self.cursor if self.cursor >= 0 else (-1 if by > 0 else len(self._ids))
            self.cursor = max(0, min(len(self._ids) - 1, start + by))

    def page(self, by: int) -> None:
        """Move the cursor by whole screens."""
        self.move(by * max(1, self.size.height - 2))

    def go_to(self, row_id: str) -> bool:
        """Put the cursor on a row; False where there is none of that id."""
        at = self._at.get(row_id)
        if at is None:
            return False
        self.cursor = at
        return True

    def seek(self, fits: Callable[[str], bool], after: bool = False) -> str | None:
        """Put the cursor on the first row whose text, shown or not, fits in small letters; its id, None: none.

        ``after``: on the first one after the cursor, and round again from the top.
        """
        rows = self._cells if self._table is None else [row.cells for row in self._table.rows]
        start: int = self.cursor + 1 if after else 0
        for place in range(len(rows)):
            at = (start + place) % len(rows)
            if fits(" ".join(map(text_of, rows[at])).casefold()):
                self.cursor = at
                return self._ids[at]
        return None

    def on_click(self, event: events.Click) -> None:
        """A tap takes the row in hand; a second tap opens it."""
        at = event.get_content_offset(self)
        row = -1 if at is None else at.y - 1 + self.scroll_offset.y
        if at is None or at.y == 0 or not 0 <= row < len(self._ids):
            return
        event.stop()
        if row == self.cursor:
            self.post_message(self.Picked(self, self._ids[row]))
        self.cursor = row


def _marked(cell: str | Piece, row: TableRow) -> str | Piece:
    return Piece(cell, "strong") if row.mine and isinstance(cell, str) else cell
