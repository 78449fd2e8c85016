"""The set-up sheet: what is on the car now, how it came, what it was when fastest, and why."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from paddock.tui.asking import Question, one_of
from paddock.tui.paint import Piece, TextLine, wrapped
from paddock.tui.screens.car_page import CarPage, sentences, words_board
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.grid import Cells, Col, Grid

if TYPE_CHECKING:
    from paddock.views.sheet import Sheet, SheetLine

__all__ = ["SheetPage"]

_NONE = (
    "Nothing is known to be set on this car. a writes it: pick setup in the list and type like front_bar = 2-2. Or log "
    "changes with c: what they found is taken for how the car came."
)
_KINDS = {"test": "test", "correction": "correction", "repair": "repair"}


class SheetPage(CarPage):
    """The table, and the changes behind the line in hand."""

    NAME: ClassVar[str] = "sheet"
    PLACEHOLDER: ClassVar[str] = "Enter or a new value: change the line in hand from the next run on"
    HINTS: ClassVar[tuple[str, ...]] = ("go.changes", "sheet.values", "go.bar", "go.home", "any.undo")
    HELP: ClassVar[str] = """
One line for each setting: now, off the trailer, and on your fastest run of each day (by raw time; days are other
courses). A word says what stands out: on test, changed, put back, to put back, not as fastest.

Up and down take a line in hand: below stand the changes behind it, the latest first. Enter asks for a new value, or
type it at once; it is logged as a change before your next run with what has to be looked at again. {sheet.values}
opens the car's values, where the set-up off the trailer is written.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "values", "car values", id="sheet.values", tooltip="The car's values, at the set-up"),
    ]

    def body(self) -> Iterable[Widget]:
        """The table, then words."""
        yield Grid(name_id="sheet")
        yield words_board()

    @property
    def grid(self) -> Grid:
        """The settings."""
        return self.query_one("#sheet", Grid)

    @property
    def _sheet(self) -> Sheet:
        from paddock.views.sheet import sheet_of

        return self.kept("sheet", lambda: sheet_of(self.desk.event, self.desk.number))

    def _picked(self) -> SheetLine | None:
        return next((item for item in self._sheet.lines if item.key == self.grid.picked), None)

    # showing

    def show_event(self) -> None:
        """Every setting."""
        found = self._sheet
        wide = self.size.width >= 60
        shown = found.fastest if wide else found.fastest[-1:]
        self.grid.fill([(item.key, _cells(item, len(shown), wide)) for item in found.lines], _columns(found, wide))
        self.take_first(self.grid, [item.key for item in found.lines])
        self._say()

    def _say(self) -> None:
        self.query_one("#under", Board).show(self._words(self.columns))

    def _words(self, width: int) -> list[TextLine]:
        from paddock.views.sheet import behind, line_name, state_of

        found, desk = self._picked(), self.desk
        if found is None:
            return wrapped(_NONE, width)
        state = state_of(found)
        head = f"{line_name(found.key)}: {found.now or '-'}" + (f", {state}" if state else "")
        if self.asking is not None:
            return [*wrapped(head, width, "strong"), *self.asked_lines(width)]
        told = behind(desk.event, desk.number, found) or ("as it rolled off the trailer",)
        return [*wrapped(head, width, "strong"), *sentences(told, width)]

    def took_in_hand(self) -> None:
        """Another line in hand."""
        self._say()

    # changing

    def accept_nothing(self) -> None:
        """Ask for a new value."""
        self._ask("")

    def accept_line(self, value: str) -> None:
        """A new value typed at once."""
        self.clear()
        self._ask(value)

    def _ask(self, value: str) -> None:
        from paddock.views.sheet import line_name

        found = self._picked()
        if self.nobody():
            return
        if found is None:
            self.tell("no line is in hand")
            return
        questions = [
            Question("after", f"{line_name(found.key)} to", f"now {found.now or '?'}", usual=value, needed=True),
            Question("reason", "why", "what the car does"),
            Question("kind", "kind", "test, correction, repair", usual="test", read=one_of(**_KINDS)),
        ]
        self.ask(questions)
        if value:
            self.accept_empty()

    def asked(self, answers: Mapping[str, object]) -> None:
        """Log it."""
        from paddock.views.sheet import new_value

        desk, found = self.desk, self._picked()
        if found is None:
            return
        edit = new_value(desk.event, desk.number, desk.day, desk.clock, found, answers)
        done = desk.apply(edit, edit.label)
        self.refresh_page()
        self.tell(done.text, loud=not done.ok)

    async def action_values(self) -> None:
        """The car's values at the set-up."""
        if self.desk.session is not None:
            await self.open_values("setup")

    def action_step(self, by: int) -> None:
        """The line above or below."""
        if self.asking is None:
            self.grid.move(by)

    def action_leaf(self, by: int) -> None:
        """A screen of lines."""
        if self.asking is None:
            self.grid.page(by)


def _columns(found: Sheet, wide: bool) -> list[Col]:
    from paddock.views.sheet import fastest_head

    if not wide:
        last = [Col(fastest_head(item), most=8) for item in found.fastest[-1:]]
        return [Col("setting", most=15, stays=True), Col("now", most=9), *last]
    each = [Col(f"{fastest_head(item)}", most=14) for item in found.fastest]
    return [Col("setting", most=24, stays=True), Col("now", most=14), Col("as it came", most=14), *each, Col("", 14)]


def _cells(item: SheetLine, columns: int, wide: bool) -> Cells:
    from paddock.views.sheet import line_name, state_of

    role = "strong" if item.change is not None or item.differs else ""
    name, now = Piece(line_name(item.key), role), Piece(item.now or "-", role)
    fast = [value or "-" for value in item.at_fastest[len(item.at_fastest) - columns :]]
    if not wide:
        return (name, now, *fast)
    return (name, now, item.start or "-", *fast, state_of(item))
