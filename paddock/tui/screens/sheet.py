"""The set-up sheet: what is on the car now, how it came, what it was when fastest, and why."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from paddock.pages.document import TextLine
from paddock.render.lines import lines
from paddock.render.pieces import wrapped
from paddock.tui.asking import Question, kind_of_change
from paddock.tui.screens.car_page import CarPage, under_short, words_board
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.grid import Grid

if TYPE_CHECKING:
    from paddock.engine.car.setup_sheet import SetupSheet, SheetLine


class SheetPage(CarPage):
    """The table, and the changes behind the line in hand."""

    NAME: ClassVar[str] = "sheet"
    PLACEHOLDER: ClassVar[str] = "Enter or a new value: change the line in hand from the next run on"
    OF_ROW: ClassVar[bool] = True
    HINTS: ClassVar[tuple[str, ...]] = ("go.changes", "sheet.values", "go.bar", "go.home", "any.undo")
    HELP: ClassVar[str] = """
One line for each setting: now, off the trailer, and on your fastest run of each day (by raw time; days are other
courses). A word says what stands out: on test, changed, put back, to put back, not as fastest.

Up and down take a line in hand: below stand the changes behind it, the latest first. Enter asks for a new value, or
type it at once; it is logged as a change before your next run with what has to be looked at again. {sheet.values}
opens the car's values, where the set-up off the trailer is written. Under the line in hand stands what to set the tyres
to: home's own answer.
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
    def _sheet(self) -> SetupSheet:
        from paddock.engine.car.setup_sheet import sheet

        return self.kept("sheet", lambda: sheet(self.desk.event, self.desk.number))

    def _picked(self) -> SheetLine | None:
        return next((item for item in self._sheet.lines if item.key == self.grid.picked), None)

    # showing

    def show_event(self) -> None:
        """Every setting."""
        from paddock.pages.changes import sheet_table

        self.grid.show_table(sheet_table(self._sheet, self.desk.unit))
        under_short(self.grid, self.query_one("#under", Board), self.grid.row_count, self.size.height)
        self.take_first(self.grid, [item.key for item in self._sheet.lines])
        self.took_in_hand()

    def took_in_hand(self) -> None:
        """What is behind the line in hand."""
        self.query_one("#under", Board).show(self._words(self.columns))

    def _words(self, width: int) -> list[TextLine]:
        from paddock.pages.changes import NOTHING, is_pressure, line_head, line_page

        found, desk = self._picked(), self.desk
        if found is None:
            return wrapped(NOTHING, width)
        if self.asking is not None:
            return [*wrapped(line_head(found, desk.unit), width, "strong"), *self.asked_lines(width)]
        told, tyres = lines(line_page(desk.event, desk.number, found), width), self._tyres(width)
        return [*tyres, *told] if is_pressure(found) else [*told, *tyres]

    def _tyres(self, width: int) -> list[TextLine]:
        """What to set the tyres to: the very answer of home."""
        from paddock.pages.why import advice_line

        desk = self.desk
        if not desk.number:
            return []
        head, why = advice_line(desk.event, desk.number, desk.now(), desk.personal.walk)
        return [*wrapped(f"tyres, {desk.unit}: {head}", width, "strong"), *wrapped(why, width)]

    # changing

    def accept_nothing(self) -> None:
        """Ask for a new value."""
        self._ask("")

    def accept_line(self, value: str) -> None:
        """A new value typed at once."""
        self.clear()
        self._ask(value)

    def _ask(self, value: str) -> None:
        from paddock.actions.car import setting_reader
        from paddock.pages.changes import line_name

        found = self._picked()
        if self.nobody():
            return
        if found is None:
            self.tell("no line is in hand")
            return
        questions = [
            Question(
                "after",
                f"{line_name(found.key, self.desk.unit)} to",
                f"now {found.now or '?'}",
                usual=value,
                needed=True,
                read=setting_reader(self.desk.event.car_of(self.desk.number), found.key),
            ),
            Question("reason", "why", "what the car does"),
            kind_of_change(),
        ]
        self.ask(questions)
        if value:
            self.accept_empty()

    def asked(self, answers: Mapping[str, object]) -> None:
        """Log it."""
        from paddock.actions.car import change_setting

        desk, found = self.desk, self._picked()
        if found is not None:
            self.do(change_setting(
                desk.event, desk.number, desk.day, self.next_run, desk.clock, found.key, found.now, answers
            ))  # fmt: skip

    async def action_values(self) -> None:
        """The car's values at the set-up."""
        await self.open_values("setup")
