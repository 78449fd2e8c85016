"""Bar and balance: every pair of holes, what it does to the balance, and the change logged from here."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.widget import Widget

from paddock.tui.asking import Question
from paddock.tui.paint import TextLine, line, wrapped
from paddock.tui.screens.bar_paint import bar_cells, bar_columns
from paddock.tui.screens.car_page import CarPage, fault_lines, plot_lines, sentences, to_confirm, words_board
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.grid import Grid

if TYPE_CHECKING:
    from paddock.engine.responses import Response
    from paddock.model.edit import Batch
    from paddock.tui.desk import Desk
    from paddock.views.bar import BarLine, Bars

__all__ = ["BarPage"]

_LEAST_PLOT = 28
"""Columns a plot needs."""


class BarPage(CarPage):
    """The table of both bars, a plot where there is room, the pair in hand in words."""

    NAME: ClassVar[str] = "bar"
    PLACEHOLDER: ClassVar[str] = "up and down try holes, Enter logs them; 0.8g reckons at 0.8 g"
    HINTS: ClassVar[tuple[str, ...]] = ("go.gears", "bar.values", "go.sheet", "go.home", "any.undo")
    HELP: ClassVar[str] = """
Every pair of holes of both bars, soft to stiff; now marks the pair in use (2-3 stands for 3-2 too). step is against
the next softer pair, now against the holes in use, front is the front's share of the load transfer with these holes:
more is towards understeer.

Up and down take a pair in hand: below stands what it does and what gives it back. Enter asks once, then logs the
change before your next run, with what has to be looked at again; {any.undo} takes it back. Type 2-3 to go to that
pair, 0.8g to reckon at that cornering. {bar.values} opens the car's values at the first one that is missing.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "values", "car values", id="bar.values", tooltip="The car's values, at the first one missing"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._lateral: float | None = None
        self._room = 0

    def body(self) -> Iterable[Widget]:
        """Table and plot side by side, words under them."""
        grid, plot = Grid(name_id="pairs"), Board(name_id="plot")
        plot.styles.width = "1fr"
        with Horizontal(id="side") as side:
            side.styles.height = "1fr"
            yield grid
            yield plot
        yield words_board()

    @property
    def grid(self) -> Grid:
        """The pairs."""
        return self.query_one("#pairs", Grid)

    @property
    def _bars(self) -> Bars:
        from paddock.views.bar import bars_of

        return self.kept(("bars", self._lateral), lambda: bars_of(self.car_now, self._lateral))

    def _picked(self) -> BarLine | None:
        return self._bars.line(self.grid.picked)

    # showing

    def show_event(self) -> None:
        """Both tables, the pair in use in hand at first."""
        bars = self._bars
        self.query_one("#side").display = bool(bars.lines)
        columns = bar_columns(self.size.width)
        self.grid.fill([(item.id, bar_cells(item, columns)) for item in bars.lines], [col for _, col in columns])
        if self.grid.picked is None:
            self.take_first(self.grid, [item.id for item in reversed(bars.lines) if item.now] or _ids(bars))
        wide = sum(col.width + 1 for _, col in columns)
        self._room = self.size.width - wide - 1 if bars.transfer is not None else 0
        self.grid.styles.width = wide if self._room >= _LEAST_PLOT else "1fr"
        self.query_one("#plot", Board).display = self._room >= _LEAST_PLOT
        self._in_hand()

    def _in_hand(self) -> None:
        """What follows the cursor: the words and the plot."""
        self.query_one("#under", Board).show(self._words(self.columns))
        plot = self.query_one("#plot", Board)
        if plot.display:
            plot.show(self._plot())

    def _plot(self) -> list[TextLine]:
        size = (self._room, max(8, min(16, self.size.height - 13)))
        return self.kept(("plot", self._lateral, self.grid.picked, size), lambda: self._picture(size))

    def _picture(self, size: tuple[int, int]) -> list[TextLine]:
        from paddock.render.drawn import lines_plot
        from paddock.views.bar import LEAST_SHARE, curves

        made = curves(self._bars, self._picked())
        return plot_lines(lines_plot(made, "cornering, g", "front %", size, "ox", LEAST_SHARE))

    def _words(self, width: int) -> list[TextLine]:
        bars, found = self._bars, self._picked()
        if bars.car is None or not bars.lines:
            return _nothing(bars, width)
        if self.asking is not None and found is not None:
            return self._to_confirm(bars, found, width)
        lines = sentences(self._told(bars, found), width)
        return [*lines, *fault_lines(bars.faults, width)]

    def _told(self, bars: Bars, found: BarLine | None) -> list[str]:
        from paddock import words_car
        from paddock.views.bar import moved_words, tried

        if found is None or found.now:
            more = [words_car.unequal_sentence(found.axle.capitalize(), found.pair)] if found else []
            return [*words_car.transfer_sentences(bars.transfer), *(item for item in more if item)]
        back = self.kept(("tried", self._lateral, found.id), lambda: tried(bars, found, self._learned()))
        return [f"{moved_words(bars, found).capitalize()}:", *(words_car.give_back_sentences(back) if back else [])]

    def _learned(self) -> tuple[Response, ...]:
        from paddock.engine.responses import learned

        return self.kept("learned", lambda: learned(self.desk.event, self.desk.number))

    def took_in_hand(self) -> None:
        """Another pair in hand."""
        self._in_hand()

    # logging

    def accept_nothing(self) -> None:
        """Ask once before the pair in hand is logged."""
        from paddock.views.bar import moved_words

        bars, found = self._bars, self._picked()
        if self.nobody():
            return
        if found is None or found.now:
            self.tell("these holes are in use: up and down try others" if found else "nothing to log yet")
            return
        self.ask([Question("reason", f"log {moved_words(bars, found)}")])
        self.entry.placeholder = "Enter logs it; type why first, if you like"

    def _edit(self, reason: str = "") -> Batch | None:
        from paddock.views.bar import move_bar

        desk, found = self.desk, self._picked()
        if found is None:
            return None
        return move_bar(desk.event, desk.number, desk.day, desk.clock, self._bars, found, reason)

    def _to_confirm(self, bars: Bars, found: BarLine, width: int) -> list[TextLine]:
        from paddock.views.bar import CAUTIONS, moved_words, work_words
        from paddock.views.days import next_run

        made, run = self._edit(), next_run(self.desk.event, self.desk.number, self.desk.day)
        lines = to_confirm(f"{moved_words(bars, found)} from run {run} of day {self.desk.day} on.", width)
        again = work_words(made) if made else ()
        lines += wrapped(f"To be looked at again: {'; '.join(again)}.", width) if again else []
        return [*lines, *(item for text in CAUTIONS for item in wrapped(f"! {text}", width))]

    def asked(self, answers: Mapping[str, object]) -> None:
        """Log it."""
        edit = self._edit(str(answers.get("reason") or ""))
        if edit is None:
            return
        done = self.desk.apply(edit, edit.label)
        self.refresh_page()
        self.tell(done.text, loud=not done.ok)

    def accept_line(self, value: str) -> None:
        """A pair to go to, or the cornering to reckon at."""
        holes, lateral = re.fullmatch(r"(\d{1,2})[-/ ](\d{1,2})", value), re.fullmatch(r"(\d?[.,]\d+|\d)\s*g?", value)
        if holes is not None:
            self._go_to(int(holes[1]), int(holes[2]))
        elif lateral is not None and 0.05 <= float(lateral[1].replace(",", ".")) <= 3:
            self._lateral = float(lateral[1].replace(",", "."))
            self.clear()
            self.refresh_page()
            self.tell(f"reckoned at {self._lateral:g} g")
        else:
            self.tell(f"{value!r}: type holes like 2-3, or cornering like 0.8g (0.05 to 3)", loud=True)

    def _go_to(self, left: int, right: int) -> None:
        found = self._picked()
        axle = found.axle if found else "rear"
        if any(self.grid.go_to(f"{axle} {a}-{b}") for a, b in ((left, right), (right, left))):
            self.clear()
        else:
            self.tell(f"the {axle} bar has no holes {left}-{right}", loud=True)

    async def action_values(self) -> None:
        """The car's values."""
        if self.desk.session is not None:
            await self.open_values(next((item.key for item in self._bars.faults if item.key), ""))

    def action_step(self, by: int) -> None:
        """The pair above or below."""
        if self.asking is None:
            self.grid.move(by)

    def action_leaf(self, by: int) -> None:
        """A screen of pairs."""
        if self.asking is None:
            self.grid.page(by)


def _ids(bars: Bars) -> list[str]:
    return [item.id for item in bars.lines]


def _nothing(bars: Bars, width: int) -> list[TextLine]:
    if bars.car is not None and len(bars.none) == 2:
        mend = "a opens the car's values: diameter, length and levers of front.bar or rear.bar"
        return [line(("no bar is in the car file yet", "strong")), *wrapped(mend, width)]
    return [*fault_lines(bars.faults, width), *wrapped("a opens the car's values, to make or mend them", width)]
