"""Changes to the car: what, from, to, why, what I expect; kept, reverted or taken back later."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from paddock.pages.document import TextLine
from paddock.render.pieces import cut, line, wrapped
from paddock.tui.asking import AskingPage, Question, one_of, text
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.grid import Cells, Col, Grid

if TYPE_CHECKING:
    from paddock.model.rows import SetupChange
    from paddock.views.journal import ChangeLine


_KINDS = {"test": "test", "correction": "correction", "repair": "repair"}
_DECISIONS = {"keep": "keep", "revert": "revert", "back": "back", "open": "open"}


class ChangesPage(AskingPage):
    """The list, the row in hand in full, and the questions of a new change."""

    NAME: ClassVar[str] = "changes"
    PLACEHOLDER: ClassVar[str] = "a: a new change; Enter: decide on the one in hand"
    HINTS: ClassVar[tuple[str, ...]] = ("changes.add", "go.verdict", "go.home", "any.undo")
    HELP: ClassVar[str] = """
{changes.add} asks for a change, one thing after another: what, from, to, why, what you expect, and whether it is a
test, a correction or a repair. Enter takes what is offered or leaves it out; Backspace on the empty line goes back
one. The change counts from your next run.

Up and down take a change in hand. Enter then asks what becomes of it: keep, revert (you will), back (the old setting
goes back on now) or open. One change at a time tells more than three at once.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "add", "new change", id="changes.add", tooltip="Log a change to the car"),
    ]

    def body(self) -> Iterable[Widget]:
        """The list, and what stands under it."""
        yield Grid(name_id="changes")
        under = Board(name_id="under")
        under.styles.height = "auto"
        under.styles.max_height = 7
        yield under

    @property
    def grid(self) -> Grid:
        """The list."""
        return self.query_one("#changes", Grid)

    # showing

    def show_event(self) -> None:
        """Every change, newest first."""
        from paddock.views.journal import change_lines

        lines = change_lines(self.desk.event)
        wide = self.size.width >= 60
        self.grid.fill([(item.row.id, _cells(item, wide)) for item in lines], _columns(wide))
        self._under(lines)

    def _under(self, lines: Iterable[ChangeLine]) -> None:
        width = self.columns
        found = next((item.row for item in lines if item.row.id == self.grid.picked), None)
        shown = self.asked_lines(width) if self.asking else _whole(found, width) if found else []
        self.query_one("#under", Board).show(shown)

    def on_grid_moved(self, event: Grid.Moved) -> None:
        """The row in hand in full."""
        event.stop()
        self.show_event()

    def on_grid_picked(self, event: Grid.Picked) -> None:
        """A second tap decides."""
        event.stop()
        self.accept_nothing()

    # asking

    def action_add(self) -> None:
        """Ask for a change."""
        if self.desk.session is None:
            return
        from paddock.views.journal import known_items

        known = known_items(self.desk.event, self.desk.number)
        hint = ", ".join(key.replace("_", " ") for key in list(known)[:4])
        if left := self.left_answer("item"):
            self._ask_rest(left)
        else:
            self.ask([Question("item", "what", hint or "rear bar", needed=True)])

    def _ask_rest(self, item: str) -> None:
        from paddock.views.journal import known_items

        now = known_items(self.desk.event, self.desk.number).get(item.strip().replace(" ", "_"), "")
        self.ask(
            [
                Question("item", "what", usual=item),
                Question("before", "from", usual=now),
                Question("after", "to"),
                Question("reason", "why", "what the car does"),
                Question("expect", "expect", "turns in, 0.2 s"),
                Question("kind", "kind", "test, correction, repair", usual="test", read=one_of(**_KINDS)),
            ]
        )
        if self.asking is not None and self.asking.name == "item":
            self.accept_empty()

    def asked(self, answers: Mapping[str, object]) -> None:
        """A new change, or a decision on one."""
        if "decision" in answers:
            self._decide(str(answers["decision"]))
        elif set(answers) == {"item"}:
            self._ask_rest(str(answers["item"]))
        else:
            self._log(answers)

    def _log(self, answers: Mapping[str, object]) -> None:
        from paddock.views.journal import add_change

        desk = self.desk
        edit = add_change(desk.event, desk.number, desk.day, desk.clock, answers)
        done = desk.apply(edit, edit.label)
        self.refresh_page()
        self.tell(done.text, loud=not done.ok)

    def accept_nothing(self) -> None:
        """Decide on the change in hand."""
        found = self._picked()
        if found is None:
            self.tell("up and down take a change in hand, a logs a new one")
            return
        self.ask(
            [
                Question(
                    "decision", f"{found.item}", "keep, revert, back or open", needed=True, read=one_of(**_DECISIONS)
                )
            ]
        )

    def accept_line(self, value: str) -> None:
        """A line typed before a command: it is the thing changed."""
        self._ask_rest(text(value))
        self.clear()

    def _picked(self) -> SetupChange | None:
        from paddock.model.rows import SetupChange

        if self.desk.session is None:
            return None
        return next((row for row in self.desk.event.of(SetupChange) if row.id == self.grid.picked), None)

    def _decide(self, word: str) -> None:
        from paddock.views.journal import decide, take_back

        desk, found = self.desk, self._picked()
        if found is None:
            return
        edit = (
            take_back(desk.event, found, desk.number, desk.day, desk.clock) if word == "back"
            else decide(found, None if word == "open" else word)
        )  # fmt: skip
        done = desk.apply(edit, edit.label)
        self.refresh_page()
        self.tell(done.text, loud=not done.ok)

    def action_step(self, by: int) -> None:
        """The change above or below."""
        self.grid.move(by)

    def action_leaf(self, by: int) -> None:
        """A screen of changes."""
        self.grid.page(by)


def _columns(wide: bool) -> list[Col]:
    if not wide:
        return [Col("run", stays=True), Col("what", most=14), Col("to", most=8), Col("state", 10)]
    return [
        Col("run", stays=True), Col("no", right=True), Col("what", most=22), Col("from", most=10), Col("to", most=10),
        Col("kind", 10), Col("state", 10),
    ]  # fmt: skip


def _cells(item: ChangeLine, wide: bool) -> Cells:
    row = item.row
    run = f"d{row.day or '?'} r{row.run or '?'}"
    if not wide:
        return (run, row.item or "", row.after or "", item.state)
    return (run, row.number or "", row.item or "", row.before or "", row.after or "", row.kind or "", item.state)


def _whole(row: SetupChange, width: int) -> list[TextLine]:
    lines: list[TextLine] = [cut(line((f"{row.item}: {row.before or '?'} → {row.after or '?'}", "strong")), width)]
    for label, words in (("why", row.reason), ("expected", row.expect)):
        lines += wrapped(f"{label}: {words}", width) if words else []
    return lines
