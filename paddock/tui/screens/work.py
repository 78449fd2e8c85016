"""Work on the car: what is due now, what is open, what was done; a noise logged in a few words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from paddock.pages.document import TextLine
from paddock.render.pieces import line, wrapped
from paddock.tui.asking import AskingPage, Question
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.grid import Cells, Col, Grid
from paddock.words import torque

if TYPE_CHECKING:
    from paddock.model.edit import Batch
    from paddock.tui.desk import Desk
    from paddock.views.work import WorkLine


_CAUTION = "Level ground, wheels chocked, on stands; the maker's torque, at the height the maker says."


class WorkPage(AskingPage):
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
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "add", "new work", id="work.add", tooltip="Log work to do"),
        Binding("f", "fault", "noise or fault", id="work.fault", tooltip="Log a noise or a fault to find"),
        Binding("o", "found", "what was found", id="work.found", tooltip="Write what was found and close the line"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._written = False
        """A line was just written or ticked by Enter: one Enter too many changes nothing."""

    def body(self) -> Iterable[Widget]:
        """The list, and what stands under it."""
        yield Grid(name_id="work")
        under = Board(name_id="under")
        under.styles.height = "auto"
        under.styles.max_height = 6
        yield under

    @property
    def grid(self) -> Grid:
        """The list."""
        return self.query_one("#work", Grid)

    def _lines(self) -> tuple[WorkLine, ...]:
        from paddock.views.work import work_lines

        return work_lines(self.desk.event, self.desk.number)

    def _picked(self) -> WorkLine | None:
        return next((item for item in self._lines() if item.id == self.grid.picked), None)

    # showing

    def show_event(self) -> None:
        """Due, open, done."""
        lines = self._lines()
        wide = self.size.width >= 60
        self.grid.fill([(item.id, _cells(item, wide)) for item in lines], _columns(wide))
        if self.grid.picked is None and lines:
            self.grid.go_to(lines[0].id)
        self._under(lines)

    def _under(self, lines: tuple[WorkLine, ...]) -> None:
        width = self.columns
        found = next((item for item in lines if item.id == self.grid.picked), None)
        if self.asking is not None:
            shown = self.asked_lines(width)
        elif found is not None:
            shown = _whole(found, width)
        else:
            shown = [line("nothing to do: a adds work, f logs a noise")]
        self.query_one("#under", Board).show(shown)

    def on_grid_moved(self, event: Grid.Moved) -> None:
        """The line in hand in full."""
        event.stop()
        self.show_event()

    def on_grid_picked(self, event: Grid.Picked) -> None:
        """A second tap ticks."""
        event.stop()
        self._written = False
        self.accept_nothing()

    # doing

    def accept_nothing(self) -> None:
        """Tick the line in hand, or open it again."""
        from paddock.views.work import toggle

        found = self._picked()
        if found is None:
            self.tell("up and down take a line in hand, a adds work")
        elif self._written:
            self._written = False
            self.tell(f"nothing ticked; Enter again {'ticks' if found.due else 'opens again'} {found.item}")
        else:
            ids = [item.id for item in self._lines()]
            after = ids[ids.index(found.id) + 1 :] + ids[: ids.index(found.id)]
            self._do(toggle(self.desk.event, self.desk.number, found, self.desk.day, self.desk.clock))
            to_do = {item.id for item in self._lines() if item.due}
            if found.due and found.id not in to_do:
                self._written = not to_do.intersection(after)
                self.grid.go_to(next((item for item in after if item in to_do), found.id))

    def accept_line(self, value: str) -> None:
        """A typed line is new work."""
        from paddock.views.work import add

        self._write(add(self.desk.day, self.desk.clock, {"item": value}))
        self.clear()

    def _do(self, edit: Batch) -> None:
        self.do(edit)

    def _write(self, edit: Batch) -> None:
        """As :meth:`_do`, from a line or a form; a new row is taken in hand."""
        from paddock.model.edit import AddRow

        self._do(edit)
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
        from paddock.views import work

        desk, picked = self.desk, self._picked()
        if "what" in answers:
            self._write(work.fault(desk.event, desk.number, desk.day, desk.clock, answers))
        elif "item" in answers:
            self._write(work.add(desk.day, desk.clock, answers))
        elif picked is not None:
            self._write(work.found(desk.event, desk.number, picked, str(answers["found"]), desk.day, desk.clock))

    def action_step(self, by: int) -> None:
        """The line above or below."""
        self._written = False
        self.grid.move(by)

    def action_leaf(self, by: int) -> None:
        """A screen of lines."""
        self._written = False
        self.grid.page(by)


def _columns(wide: bool) -> list[Col]:
    if not wide:
        return [Col("", 5, stays=True), Col("work", most=28)]
    return [Col("", 5, stays=True), Col("work", most=38), Col("when", most=22), Col("torque", right=True, most=8)]


def _cells(item: WorkLine, wide: bool) -> Cells:
    if not wide:
        return (item.state, item.item)
    return (item.state, item.item, item.when, torque(item.torque_nm) if item.torque_nm else "")


def _whole(item: WorkLine, width: int) -> list[TextLine]:
    lines = wrapped(item.item + (f", {torque(item.torque_nm)}" if item.torque_nm else ""), width, "strong")
    for label, words in (("when", item.when), ("why", item.why), ("found", item.note)):
        lines += wrapped(f"{label}: {words}", width) if words else []
    return [*lines, *wrapped(_CAUTION, width, "quiet")]
