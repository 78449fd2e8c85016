"""What came from outside: look at it, take it back, take the other of two values, join a second copy."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType

from paddock.errors import PaddockError
from paddock.tui.listing import ListingPage

if TYPE_CHECKING:
    from collections.abc import Sequence

    from paddock.pages.document import Document
    from paddock.pages.outside import OutsideItem


class OutsidePage(ListingPage):
    """The list, the most pressing first; the one in hand in full under it."""

    NAME: ClassVar[str] = "outside"
    PLACEHOLDER: ClassVar[str] = "Enter takes the other, j leaves it as it is"
    HINTS: ClassVar[tuple[str, ...]] = ("outside.leave", "outside.leave_all", "outside.join", "any.undo", "go.home")
    FIRST: ClassVar[bool] = True
    HELP: ClassVar[str] = """
What other hands, another device or a merge did to the files while the event was open, and what stands in conflict.

Up and down take a row in hand; under the list it is told in full. Enter takes the other value: the one a merge did not
keep, what stood here before, or your entry where theirs was first; it is an entry like any other, and {any.undo} takes
it back. {outside.leave} leaves the row as it is and off the list, {outside.leave_all} all rows.

A second copy of the event, in a folder beside it or a file that a syncing program doubled, is listed while it says
more than the event; {outside.join} joins it in. Nothing is deleted, and what comes in is listed here.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("j", "leave_it", "leave it", id="outside.leave", tooltip="Leave the row in hand as it is"),
        Binding("a", "leave_all", "leave all", id="outside.leave_all", tooltip="Leave all of it as it is"),
        Binding("m", "join", "join copy", id="outside.join", tooltip="Join the second copy in hand into the event"),
    ]

    def document(self) -> Document:
        """The list."""
        from paddock.pages.outside import outside_page

        return outside_page(self.desk.outside())

    def whole(self, row_id: str) -> Document:
        """The row in hand in full."""
        from paddock.pages.outside import item_page

        return item_page(next(item for item in self.desk.outside() if item.id == row_id))

    @property
    def picked(self) -> OutsideItem | None:
        """The row in hand."""
        if self.desk.session is None:
            return None
        return next((item for item in self.desk.outside() if item.id == self.grid.picked), None)

    def accept(self, text: str) -> None:  # noqa: ARG002
        """Nothing is typed here."""
        self.tell("Enter on the empty line takes the other value of the row in hand", loud=True)

    def accept_empty(self) -> None:
        """The other value in place of this one."""
        item = self.picked
        if item is None:
            self.tell("there is nothing to take back")
        elif item.edit is None:
            self.tell(item.told)
        elif self.do(item.edit).kept:
            self.desk.took_other(item)
            self.refresh_page()

    def action_leave_it(self) -> None:
        """The row in hand stays as it is."""
        item = self.picked
        self._leave([item] if item else [])
        self.tell(f"left as it is: {item.where}" if item else "there is nothing to leave")

    def action_leave_all(self) -> None:
        """Everything stays as it is."""
        items = self.desk.outside()
        self._leave(items)
        self.tell("all left as it is" if items else "there is nothing to leave")

    def _leave(self, items: Sequence[OutsideItem]) -> None:
        self.desk.leave_outside(items)
        self.refresh_page()

    def action_join(self) -> None:
        """Join the copy in hand, beside the screen."""
        item = self.picked
        if item is None or item.kind != "copy":
            self.tell("up and down take a second copy in hand; there is none in this row")
            return
        self.tell("joining …")
        self.run_worker(self._join(item), group="join", exclusive=True)

    async def _join(self, item: OutsideItem) -> None:
        try:
            said = await asyncio.to_thread(self.desk.join, item)
        except PaddockError as error:
            self.tell(str(error), loud=True)
            return
        self.refresh_page()
        self.tell(said, stays=True)
