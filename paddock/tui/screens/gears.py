"""Gears: speeds, where to shift, where to put the light, and whether to hold a gear on a stretch."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from paddock.entry.car import GearStretch, read_stretch
from paddock.pages.document import TextLine, Words, words
from paddock.render.lines import lines
from paddock.tui.screens.car_page import CarPage
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.grid import Grid

if TYPE_CHECKING:
    from paddock.engine.car.gears import GearTable
    from paddock.errors import Finding
    from paddock.tui.desk import Desk


_ROOMY, _LEAST_PLOT = 30, 4
"""Rows from which the plot leaves room for all notes; rows of a picture that still tells something."""


class GearsPage(CarPage):
    """The table, thrust over speed, and the answer to a stretch typed on the line."""

    NAME: ClassVar[str] = "gears"
    PLACEHOLDER: ClassVar[str] = "hold this gear or shift? km/h at the start and metres: 60 90"
    HINTS: ClassVar[tuple[str, ...]] = ("gears.speeds", "gears.values", "go.bar", "go.home")
    HELP: ClassVar[str] = """
Top is the speed at the limiter. Shift where the thrusts of two gears cross at equal speed, else at the limiter; the
light comes earlier by the engine's rise in your reaction time. Up to the last column's speed thrust exceeds grip: a
longer gear or a short shift costs nothing there.

Up and down take a gear in hand. Type the speed at the start of a stretch and its metres of full throttle, 60 90, and
press Enter: hold this gear, shift, or take it in the next one from the start, in tenths. 2 60 90 asks it of second;
0.4g at the end: while cornering so hard. {gears.speeds} turns to the speeds over rpm and back, {gears.values} opens
the car's values.
"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("o", "speeds", "speeds", id="gears.speeds", tooltip="Speeds over rpm, or the thrust again"),
        Binding("a", "values", "car values", id="gears.values", tooltip="The car's values, at the first one missing"),
    ]

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._speeds = False
        self._asked = ""

    def body(self) -> Iterable[Widget]:
        """Table, plot, words."""
        grid, under = Grid(name_id="gears"), Board(name_id="under")
        grid.styles.height, grid.styles.max_height = "auto", 9
        yield grid
        yield Board(name_id="plot")
        under.styles.height, under.styles.max_height = "auto", 8
        yield under

    @property
    def grid(self) -> Grid:
        """The gears."""
        return self.query_one("#gears", Grid)

    @property
    def _gears(self) -> GearTable:
        from paddock.engine.car.gears import GearTable, gear_table

        car = self.car_now.car
        return self.kept("gears", lambda: gear_table(car) if car else GearTable((), None, None, ()))

    @property
    def _findings(self) -> tuple[Finding, ...]:
        return self.car_now.and_found(self._gears.findings)

    @property
    def _in_hand(self) -> int:
        return int(self.grid.picked or 2)

    # showing

    def show_event(self) -> None:
        """Everything."""
        from paddock.pages.gears import gears_table

        gears = self._gears.gears
        self.grid.styles.height = len(gears) + 1
        self.grid.display = self.query_one("#plot", Board).display = bool(gears)
        self.grid.show_table(gears_table(gears))
        self.take_first(self.grid, [f"{gear.gear}" for gear in (*gears[1:2], *gears[:1])])
        self._say()
        self._draw()

    def _say(self) -> None:
        from paddock.pages.gears import under_table

        answer = self._held_or_shifted()
        brief = self.size.height < _ROOMY and not answer
        page = under_table(self._gears, self._findings, answer, brief)
        self.query_one("#under", Board).show(lines(page, self.columns))

    def _held_or_shifted(self) -> tuple[Words, ...]:
        """What was asked of a stretch, of the gear in hand."""
        if not self._asked:
            return ()
        try:
            return self._held(read_stretch(self._asked))
        except ValueError as error:
            return (words(f"{self._asked}: {error}"),)

    def _held(self, stretch: GearStretch) -> tuple[Words, ...]:
        """Hold or shift in words; ValueError's sentence where it can't be told."""
        from paddock.engine.car.hold_or_shift import hold_or_shift
        from paddock.pages.gears import hold_words

        car = self.car_now.car
        if car is None:
            raise ValueError("no car file to reckon with yet")
        gear = stretch.gear or self._in_hand
        hold, findings = hold_or_shift(car, gear, stretch.from_kmh, stretch.length_m, stretch.lateral_g)
        if hold is None:
            raise ValueError(findings[-1].message if findings else "it can't be told")
        return hold_words(hold)

    def _draw(self) -> None:
        under = min(8, len(self.query_one("#under", Board).lines))
        height = self.size.height - 10 - int(self.grid.row_count) - under
        key = ("plot", self._speeds, self.size.width, height)
        self.query_one("#plot", Board).show(self.kept(key, lambda: self._picture(height)))

    def _picture(self, height: int) -> list[TextLine]:
        from paddock.pages.gears import speeds_table, thrust_plot
        from paddock.render.lines import table_lines
        from paddock.render.plots import plot_lines

        if self._speeds:
            return table_lines(speeds_table(self._gears), self.columns)
        plot = thrust_plot(self._gears)
        return plot_lines(plot, self.columns, height) if plot and height >= _LEAST_PLOT else []

    def took_in_hand(self) -> None:
        """Another gear in hand: the answer is of that one."""
        from paddock.pages.gears import gear_name

        self.set_label(f"hold {gear_name(self._in_hand)}")
        if self._asked:
            self._say()
            self._draw()

    # asking

    def accept_line(self, value: str) -> None:
        """A stretch."""
        try:
            stretch = read_stretch(value)
            self._held(stretch)
        except ValueError as error:
            self.tell(str(error), loud=True)
            return
        self._asked, self._speeds = value, False
        if stretch.gear is not None:
            self.grid.go_to(str(stretch.gear))
            self._asked = value.split(None, 1)[1]
        self.clear()
        self.tell("up and down ask it of another gear; Enter puts the notes back")
        self.refresh_page()

    def accept_nothing(self) -> None:
        """The notes again."""
        self._asked = ""
        self.refresh_page()

    def action_speeds(self) -> None:
        """Speeds over rpm, or thrust over speed."""
        self._speeds, self._asked = not self._speeds, ""
        self.refresh_page()

    async def action_values(self) -> None:
        """The car's values, at the first one that is missing."""
        if self.desk.session is not None:
            await self.open_values(next((item.key for item in self._findings if item.key), "gearbox.ratios"))
