"""Gears: speeds, where to shift, where to put the light, and whether to hold a gear on a stretch."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from paddock.tui.paint import Piece, TextLine, line, wrapped
from paddock.tui.screens.car_page import CarPage, fault_lines, plot_lines, sentences
from paddock.tui.widgets.board import Board
from paddock.tui.widgets.grid import Cells, Col, Grid

if TYPE_CHECKING:
    from paddock.engine.car.gears import Gear
    from paddock.tui.desk import Desk
    from paddock.views.gears import Gears

__all__ = ["GearsPage"]

_ALL = [
    ("gear", Col("gear", 4, right=True, stays=True)),
    ("ratio", Col("ratio", 5, right=True)),
    ("limiter km/h", Col("top km/h", 8, right=True)),
    ("shift rpm", Col("shift rpm", 9, right=True)),
    ("at km/h", Col("at km/h", 7, right=True)),
    ("why", Col("why", 7)),
    ("drops to", Col("drops to", 8, right=True)),
    ("light rpm", Col("light rpm", 9, right=True)),
    ("grip below km/h", Col("grip to km/h", 12, right=True)),
]
_ROOMY = 30
"""Rows from which the plot leaves room for all notes."""
_NARROW = {"gear", "shift rpm", "at km/h", "light rpm"}


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
    def _gears(self) -> Gears:
        from paddock.views.gears import gears_of

        return self.kept("gears", lambda: gears_of(self.car_now))

    @property
    def _in_hand(self) -> int:
        return int(self.grid.picked or 2)

    # showing

    def show_event(self) -> None:
        """Everything."""
        found = self._gears
        columns = [item for item in _ALL if self.size.width >= 80 or item[0] in _NARROW]
        self.grid.styles.height = len(found.gears) + 1
        self.grid.display = self.query_one("#plot", Board).display = bool(found.gears)
        self.grid.fill([(str(item.gear), _cells(item, columns)) for item in found.gears], [col for _, col in columns])
        if self.grid.picked is None and found.gears:
            self.grid.go_to("2" if len(found.gears) > 1 else "1")
        self._say()
        self._draw()

    def _say(self) -> None:
        width = self.columns
        self.query_one("#under", Board).show(self._words(width))

    def _words(self, width: int) -> list[TextLine]:
        from paddock import words_car
        from paddock.views.gears import CAUTIONS

        found = self._gears
        if not found.gears:
            told = [line(("no gear can be computed yet", "strong"))]
            return [*told, *fault_lines(found.faults, width), *wrapped("a opens the car's values", width)]
        faults, answer = fault_lines(found.faults, width), self._verdict()
        if answer or self._speeds:
            return [*faults, *sentences(answer, width)]
        notes = words_car.gear_sentences(found.table)[: None if self.size.height >= _ROOMY else 1]
        return [*faults, *sentences([*notes, *(f"! {text}" for text in CAUTIONS)], width)]

    def _verdict(self) -> list[str]:
        from paddock.views.gears import answer, read_stretch

        if not self._asked:
            return []
        try:
            return answer(self._gears, read_stretch(self._asked), self._in_hand)
        except ValueError as error:
            return [f"{self._asked}: {error}"]

    def _draw(self) -> None:
        board = self.query_one("#plot", Board)
        height = (
            self.size.height - 4 - int(self.grid.row_count) - 1 - min(8, len(self.query_one("#under", Board).lines))
        )
        key = ("plot", self._speeds, self.size.width, height)
        board.show(self.kept(key, lambda: self._speed_lines() if self._speeds else self._picture(height)))

    def _picture(self, height: int) -> list[TextLine]:
        from paddock.render.drawn import lines_plot
        from paddock.views.gears import thrust_marks, thrust_series

        if height < 9:
            return []
        table, size = self._gears.table, (self.size.width - 1, height - 1)
        return plot_lines(lines_plot(thrust_series(table), "km/h", "thrust, N", size, thrust_marks(table)))

    def _speed_lines(self) -> list[TextLine]:
        from paddock.views.gears import speed_rows

        rows = speed_rows(self._gears.table)
        if not rows:
            return [line("speeds need the gear ratios, the wheel and the limiter")]
        room = max(4, min(8, self.size.width // len(rows[0]) - 1))
        heads = ["rpm", *(f"{item.gear} km/h" if room > 6 else str(item.gear) for item in self._gears.gears)]
        head = " ".join(text.rjust(room) for text in heads)
        return [line((head, "strong")), *(line(" ".join(text.rjust(room) for text in row)) for row in rows)]

    def took_in_hand(self) -> None:
        """Another gear in hand: the answer is of that one."""
        name = self._called()
        self.set_label(f"hold {name}")
        if self._asked:
            self._say()
            self._draw()

    def _called(self) -> str:
        from paddock.words_car import gear_name

        return gear_name(self._in_hand)

    # asking

    def accept_line(self, value: str) -> None:
        """A stretch."""
        from paddock.views.gears import answer, read_stretch

        try:
            stretch = read_stretch(value)
            answer(self._gears, stretch, self._in_hand)
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
        """The car's values."""
        if self.desk.session is not None:
            await self.open_values(next((item.key for item in self._gears.faults if item.key), "gearbox.ratios"))

    def action_step(self, by: int) -> None:
        """The gear above or below."""
        self.grid.move(by)

    def action_leaf(self, by: int) -> None:
        """First or last gear."""
        self.grid.page(by)


def _cells(item: Gear, columns: list[tuple[str, Col]]) -> Cells:
    from paddock.words_car import GEAR_HEADERS, gear_cells

    cells = dict(zip(GEAR_HEADERS, gear_cells(item), strict=True))
    return tuple(Piece(cells[name]) for name, _ in columns)
