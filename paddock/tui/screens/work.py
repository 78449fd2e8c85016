"""Work on the car: what is due now, what is open, what was done; a noise logged in a few words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType

from paddock.tui.asking import Question
from paddock.tui.listing import AskingListing

if TYPE_CHECKING:
    from paddock.model.edit import Batch
    from paddock.pages.document import Document
    from paddock.pages.work import WorkLine
    from paddock.tui.desk import Desk


class WorkPage(AskingListing):
    """The list, and the line in hand in full."""

    NAME: ClassVar[str] = "work"
    PLACEHOLDER: ClassVar[str] = "Enter ticks the line in hand; a: new work, f: a noise"
    HINTS: ClassVar[tuple[str, ...]] = ("work.add", "work.fault", "work.found", "go.home", "any.undo")
    HELP: ClassVar[str] = """
Up and down take a line in hand, Enter ticks it; Enter on a done line opens it again. {work.add} asks for new work,
{work.fault} logs a noise or a fault (it is due before the next run), {work.found} writes what was found and closes the
line. After a tick the next line to do is in hand. What was just written or ticked last is in hand: the first Enter
after it changes nothing.

A logged change makes the re-check it calls for by itself: a bar moved asks for its links and nuts, wheels off for the
wheel nuts after the first run. A torque is shown only where the car file has it: it is the maker's figure.
"""
    UNDER: ClassVar[int] = 6
    FIRST: ClassVar[bool] = True
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "add", "new work", id="work.add", tooltip="Log work to do"),
        Binding("f", "fault", "noise or fault", id="work.fault", tooltip="Log a noise or a fault to find"),
        Binding("o", "found", "what was found", id="work.found", tooltip="Write what was found and close the line"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._written = False
        """A line was just written or ticked by Enter: one Enter too many changes nothing."""

    def _lines(self) -> tuple[WorkLine, ...]:
        from paddock.pages.work import work_lines

        return work_lines(self.desk.event, self.desk.number)

    def _picked(self) -> WorkLine | None:
        return next((item for item in self._lines() if item.id == self.grid.picked), None)

    # showing

    def document(self) -> Document:
        """Due, open, done."""
        from paddock.pages.work import work_page

        return work_page(self._lines())

    def whole(self, row_id: str) -> Document:
        """When, why, what was found."""
        from paddock.pages.work import work_in_full

        return work_in_full(next(line for line in self._lines() if line.id == row_id))

    def open_row(self) -> None:
        """A second tap ticks."""
        self._written = False
        self.accept_nothing()

    # doing

    def accept_nothing(self) -> None:
        """Tick the line in hand, or open it again."""
        from paddock.actions.work import toggle
        from paddock.engine.work.due import Due

        found = self._picked()
        if found is None:
            self.tell("up and down take a line in hand, a adds work")
        elif self._written:
            self._written = False
            does = "ticks" if isinstance(found, Due) else "opens again"
            self.tell(f"nothing ticked; Enter again {does} {found.item}")
        else:
            ids = [item.id for item in self._lines()]
            after = ids[ids.index(found.id) + 1 :] + ids[: ids.index(found.id)]
            self.do(toggle(self.desk.event, self.desk.number, found, self.desk.day, self.desk.clock))
            to_do = {item.id for item in self._lines() if isinstance(item, Due)}
            if isinstance(found, Due) and found.id not in to_do:
                self._written = not to_do.intersection(after)
                self.grid.go_to(next((item for item in after if item in to_do), found.id))

    def accept_line(self, value: str) -> None:
        """A typed line is new work."""
        from paddock.actions.work import new_work

        self._write(new_work(self.desk.day, self.desk.clock, {"item": value}))
        self.clear()

    def _write(self, edit: Batch) -> None:
        """As :meth:`do`, from a line or a form; a new row is taken in hand."""
        from paddock.model.edit import AddRow

        self.do(edit)
        self._written = True
        for made in edit.edits:
            if isinstance(made, AddRow):
                self.grid.go_to(str(made.cells["id"]))

    def action_add(self) -> None:
        """Ask for new work."""
        self.ask(
            [
                Question("item", "what", "front pads: measure", needed=True),
                Question("reason", "why", "thin on the inside"),
                Question("due", "when", "next run, after run 4, in 12 runs, after the event, a date"),
            ]
        )

    def action_fault(self) -> None:
        """Ask for a noise or fault."""
        self.ask(
            [
                Question("what", "what", "noise, smell, vibration, pull", needed=True),
                Question("where", "where", "left front"),
                Question("heard", "when", "under braking, run 2"),
            ]
        )

    def action_found(self) -> None:
        """Ask what was found on the line in hand."""
        if self._picked() is None:
            self.tell("up and down take a line in hand first")
            return
        self.ask([Question("found", "found", "slide bolt a turn loose", needed=True)])

    def asked(self, answers: Mapping[str, object]) -> None:
        """New work, a fault, or what was found."""
        from paddock.actions import work

        desk, picked = self.desk, self._picked()
        if "what" in answers:
            self._write(work.new_fault(desk.event, desk.number, desk.day, desk.clock, answers))
        elif "item" in answers:
            self._write(work.new_work(desk.day, desk.clock, answers))
        elif picked is not None:
            self._write(work.found(desk.event, desk.number, picked, str(answers["found"]), desk.day, desk.clock))

    def action_step(self, by: int) -> None:
        """The line above or below."""
        self._written = False
        super().action_step(by)

    def action_leaf(self, by: int) -> None:
        """A screen of lines."""
        self._written = False
        super().action_leaf(by)
