"""The checklists: one at a time, ticked with Enter, what was missed last time on top."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType

from paddock.tui.listing import ListingPage
from paddock.tui.reader import leaf_names
from paddock.tui.widgets.board import Board

if TYPE_CHECKING:
    from paddock.engine.work.due import Checklist
    from paddock.pages.document import Document
    from paddock.tui.desk import Desk


class ListsPage(ListingPage):
    """One list of the event, today."""

    NAME: ClassVar[str] = "lists"
    PLACEHOLDER: ClassVar[str] = "Enter ticks; left and right turn to another list"
    FIRST: ClassVar[bool] = True
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

    def _lists(self) -> tuple[Checklist, ...]:
        from paddock.engine.work.due import checklists

        return checklists(self.desk.event, self.desk.day)

    def document(self) -> Document:
        """The list in hand."""
        from paddock.pages.work import checklist_page

        lists = self._lists()
        self._at %= max(1, len(lists))
        return checklist_page(lists[self._at] if lists else None)

    def show_event(self) -> None:
        """The names of the lists, and the one in hand."""
        from paddock.pages.work import list_name

        super().show_event()
        names = [list_name(item) for item in self._lists()]
        self.query_one("#head", Board).show(leaf_names(names, self._at, self.columns) if names else [])

    def open_row(self) -> None:
        """A second tap ticks."""
        self._ticked = False
        self.accept_empty()

    def accept_empty(self) -> None:
        """Tick the line in hand, or take its tick back, and go on to the next."""
        from paddock.actions.work import tick_item

        lists, item = self._lists(), self.grid.picked
        if not lists or item is None:
            return
        if self._ticked:
            self._ticked = False
            self.tell(f"all is ticked; Enter again takes the tick of {item} back")
            return
        done = self.do(tick_item(lists[self._at], item, self.desk.clock))
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

    def action_leaf_of(self, place: int) -> None:
        """A tapped name."""
        self.action_turn(place - self._at)

    def action_step(self, by: int) -> None:
        """The line above or below."""
        self._ticked = False
        super().action_step(by)
