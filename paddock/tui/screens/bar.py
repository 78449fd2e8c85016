"""Bar and balance: every pair of holes, what it does to the balance, and the change logged from here."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.widget import Widget

from paddock.pages.document import TextLine
from paddock.render.lines import lines
from paddock.tui.asking import Question, kind_of_change
from paddock.tui.screens.car_page import CarPage, to_confirm, under_short, words_board
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.grid import Grid

if TYPE_CHECKING:
    from paddock.engine.car.balance import Bars
    from paddock.engine.car.compensation import GiveBack
    from paddock.errors import Finding
    from paddock.model.edit import Batch
    from paddock.pages.bar import BarLine
    from paddock.tui.desk import Desk


_LEAST_PLOT, _WITH_PLOT = 28, 76
"""Columns a plot needs, and the page to have one beside the table."""


class BarPage(CarPage):
    """The table of both bars, a plot where there is room, the pair in hand in words."""

    NAME: ClassVar[str] = "bar"
    PLACEHOLDER: ClassVar[str] = "up and down try holes, Enter logs them; 0.8g reckons at 0.8 g"
    HINTS: ClassVar[tuple[str, ...]] = ("go.gears", "bar.values", "go.sheet", "go.home", "any.undo")
    HELP: ClassVar[str] = """
Every pair of holes of both bars, soft to stiff; now marks the pair in use (2-3 stands for 3-2 too). end is the force
per travel between the two arm ends, wheel per wheel travel in roll, both N/mm; step is against the next softer pair,
now against the holes in use, front is the front's share of the load transfer with these holes: more is towards
understeer.

Up and down take a pair in hand: below stands what it does and what gives it back. Enter asks why and of which
kind it is (a test, where nothing else is said), then logs the change before your next run, with what has to be looked
at again; {any.undo} takes it back. Type 2-3 to go to that
pair, 0.8g to reckon at that cornering. {bar.values} opens the car's values at the first one that is missing.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "values", "car values", id="bar.values", tooltip="The car's values, at the first one missing"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._lateral: float | None = None
        self._room = self._height = 0

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
    def _bars(self) -> Bars | None:
        """None: there is no car."""
        from paddock.engine.car.balance import bars_of

        car, lateral = self.car_now.car, self._lateral
        return None if car is None else self.kept(("bars", lateral), lambda: bars_of(car, lateral))

    @property
    def _lines(self) -> tuple[BarLine, ...]:
        from paddock.pages.bar import bar_lines

        bars = self._bars
        return () if bars is None else self.kept(("lines", self._lateral), lambda: bar_lines(bars))

    @property
    def _findings(self) -> tuple[Finding, ...]:
        bars = self._bars
        return self.car_now.and_found(bars.findings if bars else ())

    def _picked(self) -> BarLine | None:
        return next((line for line in self._lines if line.id == self.grid.picked), None)

    # showing

    def show_event(self) -> None:
        """Both tables, the pair in use in hand at first: of a bar that has others."""
        from paddock.pages.bar import pairs_table

        bars, made, width = self._bars, self._lines, self.size.width
        self.query_one("#side").display = bool(made)
        self._height = max(4, min(14, self.size.height - 18))
        self._room = max(_LEAST_PLOT, width // 3) if width >= _WITH_PLOT and bars and bars.transfer else 0
        self.grid.styles.width = width - self._room - 1 if self._room else "1fr"
        self.query_one("#plot", Board).display = bool(self._room)
        rows = max(len(made), self._height + 4 if self._room else 0)
        under_short(self.query_one("#side"), self.query_one("#under", Board), rows, self.size.height)
        self.grid.show_table(pairs_table(made))
        movable = {line.axle for line in made if not line.now}
        use = sorted((line for line in reversed(made) if line.now), key=lambda line: line.axle not in movable)
        self.take_first(self.grid, [line.id for line in (*use, *made)])
        self.took_in_hand()

    def took_in_hand(self) -> None:
        """What follows the cursor: the words and the plot."""
        self.query_one("#under", Board).show(self._words(self.columns))
        if self._room:
            height = self._height
            key = ("plot", self._lateral, self.grid.picked, self._room, height)
            self.query_one("#plot", Board).show(self.kept(key, lambda: self._picture(height)))

    def _picture(self, height: int) -> list[TextLine]:
        from paddock.pages.bar import share_plot
        from paddock.render.plots import plot_lines

        bars = self._bars
        if bars is None or bars.transfer is None:
            return []
        lateral = bars.transfer.lateral_g
        return plot_lines(share_plot(bars, self._picked(), lateral / 2, lateral * 1.05), self._room, height)

    def _words(self, width: int) -> list[TextLine]:
        from paddock.pages import bar

        bars, found = self._bars, self._picked()
        if bars is None or found is None:
            return lines(bar.no_bars(self._findings, bars), width)
        if self.asking is not None:
            made, day = self._edit(), self.desk.day
            head = f"{bar.moved(bars, found)} from run {self.next_run} of day {day} on."
            return [*to_confirm(head, width), *(lines(bar.to_log(made), width) if made else [])]
        return lines(bar.in_hand(bars, found, self._tried(bars, found), self._findings), width)

    def _tried(self, bars: Bars, found: BarLine) -> GiveBack | None:
        """What other holes would do; None: they are in use."""
        from paddock.engine.car.compensation import give_back
        from paddock.engine.pressure.signs import learned

        if found.now:
            return None
        known = self.kept("learned", lambda: learned(self.desk.event, self.desk.number))
        holes = found.tried
        return self.kept(
            ("tried", self._lateral, found.id),
            lambda: give_back(bars.car, holes.get("front"), holes.get("rear"), known, self._lateral),
        )

    # logging

    def accept_nothing(self) -> None:
        """Ask once before the pair in hand is logged."""
        from paddock.pages.bar import moved

        bars, found = self._bars, self._picked()
        if self.nobody():
            return
        if bars is None or found is None or found.now:
            self.tell("these holes are in use: up and down try others" if found else "nothing to log yet")
            return
        self.ask([Question("reason", f"log {moved(bars, found)}", "why, if you like"), kind_of_change()])

    def _edit(self, reason: str = "", kind: str = "test") -> Batch | None:
        from paddock.actions.car import move_bar

        desk, bars, found = self.desk, self._bars, self._picked()
        table = bars.tables[found.axle] if bars and found else None
        if bars is None or found is None or table is None:
            return None
        shares = bars.transfer.front_share if bars.transfer else None, found.share
        return move_bar(desk.event, desk.number, desk.day, self.next_run, desk.clock, found.axle, table.in_use,
                        found.pair, reason, shares, kind)  # fmt: skip

    def action_take(self) -> None:
        """A tap on "log it": what is left of the questions has its usual answers."""
        while self.asking is not None:
            super().action_take()

    def asked(self, answers: Mapping[str, object]) -> None:
        """Log it."""
        edit = self._edit(str(answers.get("reason") or ""), str(answers["kind"]))
        if edit is not None:
            self.do(edit)

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
        """The car's values, at the first one that is missing."""
        if self.desk.session is not None:
            await self.open_values(next((item.key for item in self._findings if item.key), ""))
