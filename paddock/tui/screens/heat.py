"""Tyre heat: the curve through the next run, how fast the tyres warm and cool, and what-ifs typed on the line."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from paddock.pages.document import TextLine
from paddock.render.lines import lines
from paddock.render.pieces import wrapped
from paddock.tui.reader import ReaderPage

if TYPE_CHECKING:
    from paddock.entry.pressures import WhatIfLine
    from paddock.tui.desk import Desk


class HeatPage(ReaderPage):
    """What if above, the curve and the fits below."""

    NAME: ClassVar[str] = "heat"
    PLACEHOLDER: ClassVar[str] = "what if: 30 28 a8 w20, or 8c 640m"
    HINTS: ClassVar[tuple[str, ...]] = ("go.advice", "go.pressures", "go.home")
    HELP: ClassVar[str] = """
Write what would be different and press Enter: 30 28 what you want to read front and rear at the end of the next run,
8c or a8 the air (46f in Fahrenheit), w20 or 20min to wait, 1600m the altitude (5250ft in feet), shade or spray; a
number comes first, for a letter on the empty line is a command. The answer is what to set for it, what they read at the
end of that run if you leave them so, and what they read parked in that air. With nothing asked it is the very answer of
home and the pressures page. Enter on the empty line goes back to that.

The curve and the times are fitted to your own readings of this event, by axle. A tyre that is hot in the sun or has
stood on hot ground reads more than any of this says.
"""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._line: WhatIfLine | None = None

    def leaf_lines(self, width: int) -> list[TextLine]:
        """What if, the curve, the fits."""
        from paddock.pages.heat import heat, heat_page, told

        desk = self.desk
        if not desk.number:
            return wrapped("No entry of yours: type your numbers on the event's page, @.", width, "warn")
        found = heat(desk.event, desk.number, desk.day, desk.now())
        answer = told(desk.event, desk.number, self._line, found.wait_min, desk.now(), desk.personal.walk)
        return lines(heat_page(found, answer, desk.number, desk.unit), width)

    def accept(self, text: str) -> None:
        """A what-if."""
        from paddock.entry.pressures import read_what_if
        from paddock.entry.said import Wrong

        found = read_what_if(text, self.desk.unit)
        if isinstance(found, Wrong):
            self.tell(found.sentence, loud=True)
            return
        self._line = found
        self.clear()
        self.turn_to(0)
        self.tell("Enter goes back to now")

    def accept_empty(self) -> None:
        """Back to now."""
        self._line = None
        self.tell("")
        self.refresh_page()

    def tick(self) -> None:
        """Minutes run on."""
        self.refresh_page()
