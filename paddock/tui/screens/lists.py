"""The checklists: one at a time, ticked with Enter, what was missed last time on top."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from paddock.pages.document import TextLine
from paddock.render.pieces import line, wrapped
from paddock.tui.page import Page
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.grid import Cells, Col, Grid

if TYPE_CHECKING:
    from paddock.engine.work.due import CheckLine, Checklist
    from paddock.tui.desk import Desk


_NONE = (
    "No checklists here yet. Make checklist.toml in the folder, a line for each list: "
    'inspection = ["wheel nuts", "battery held down"]'
)


class ListsPage(Page):
    """One list of the event, today."""

    NAME: ClassVar[str] = "lists"
    PLACEHOLDER: ClassVar[str] = "Enter ticks; left and right turn to another list"
    HINTS: ClassVar[tuple[str, ...]] = ("lists.next", "go.work", "go.home", "any.undo")
    HELP: ClassVar[str] = """
Up and down take a line in hand, Enter ticks it or takes the tick back. {lists.before} and {lists.next} turn to another
list; the number beside a list's name is what is left of it. A line with ! was missed the last time the list was used.

The lists are checklist.toml in the folder: change them there as you like.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("right", "turn(1)", "next list", id="lists.next", tooltip="The next checklist"),
        Binding("left", "turn(-1)", "list before", show=False, id="lists.before", tooltip="The checklist before"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._at = 0
        self._ticked = False
        """The last line left was just ticked by Enter: one Enter too many changes nothing."""

    def body(self) -> Iterable[Widget]:
        """Names of the lists, then the lines of one."""
        names = Board(name_id="names")
        names.styles.height = "auto"
        names.styles.max_height = 4
        yield names
        yield Grid(name_id="lines")

    @property
    def grid(self) -> Grid:
        """The lines."""
        return self.query_one("#lines", Grid)

    def _lists(self) -> tuple[Checklist, ...]:
        from paddock.views.work import lists_of

        return lists_of(self.desk.event, self.desk.day)

    def show_event(self) -> None:
        """The list in hand."""
        lists = self._lists()
        width = self.columns
        if not lists:
            self.query_one("#names", Board).show(wrapped(_NONE, width))
            self.grid.fill([], [Col("")])
            return
        self._at %= len(lists)
        self.query_one("#names", Board).show(_names(lists, self._at, width))
        last = 16 if width >= 60 else 6
        rows = [(item.item, _cells(item)) for item in lists[self._at].lines]
        self.grid.fill(rows, [Col("", 3, stays=True), Col(lists[self._at].name, most=width - last - 6), Col("", last)])
        if self.grid.picked is None and rows:
            self.grid.go_to(rows[0][0])

    def on_grid_picked(self, event: Grid.Picked) -> None:
        """A second tap ticks."""
        event.stop()
        self._ticked = False
        self.accept_empty()

    def accept_empty(self) -> None:
        """Tick the line in hand, or take its tick back, and go on to the next."""
        from paddock.views.work import tick_item

        lists, item = self._lists(), self.grid.picked
        if not lists or item is None:
            return
        if self._ticked:
            self._ticked = False
            self.tell(f"all is ticked; Enter again takes the tick of {item} back")
            return
        edit = tick_item(lists[self._at], item, self.desk.clock)
        done = self.desk.apply(edit, edit.label)
        self.refresh_page()
        lines = self._lists()[self._at].lines
        if done.kept and any(line.item == item and line.ticked for line in lines):
            names = [line.item for line in lines]
            after = names[names.index(item) + 1 :] + names[: names.index(item)]
            left = {line.item for line in lines if not line.ticked}
            self._ticked = not left
            self.grid.go_to(next((name for name in after if name in left), item))
        self.tell(done.text, loud=not done.ok)

    def accept(self, text: str) -> None:  # noqa: ARG002
        """Nothing is typed here."""
        self.clear()
        self.tell("the lists are changed in checklist.toml; here Enter ticks")

    def action_turn(self, by: int) -> None:
        """Another list."""
        self._at += by
        self._ticked = False
        self.refresh_page()

    def action_step(self, by: int) -> None:
        """The line above or below."""
        self._ticked = False
        self.grid.move(by)

    def action_leaf(self, by: int) -> None:
        """A screen of lines."""
        self.grid.page(by)


def _names(lists: tuple[Checklist, ...], at: int, width: int) -> list[TextLine]:
    parts: list[TextLine] = []
    row: list[tuple[str, str]] = []
    used = 0
    for place, item in enumerate(lists):
        text = f" {item.name} {item.left or 'done'} "
        if used + len(text) > width and row:
            parts.append(line(*row))
            row, used = [], 0
        row.append((text, "hand" if place == at else "quiet"))
        used += len(text)
    return [*parts, line(*row)]


def _cells(item: CheckLine) -> Cells:
    mark = "x" if item.ticked else "!" if item.missed_last else "."
    return (mark, item.item, item.at or ("missed last time" if item.missed_last and not item.ticked else ""))
