"""Tyre heat: the curve through the next run, how fast the tyres warm and cool, and what-ifs typed on the line."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from paddock.pages.document import TextLine
from paddock.render.pieces import line, rule, wrapped
from paddock.tui.reader import ReaderPage, table_lines

if TYPE_CHECKING:
    from paddock.entry.pressures import WhatIfLine
    from paddock.pages.heat import Heat, HeatTold
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
        from paddock.pages.heat import heat, told

        desk = self.desk
        if not desk.number:
            return wrapped("No entry of yours: type your numbers on the event's page, @.", width, "warn")
        found = heat(desk.event, desk.number, desk.day, desk.now())
        answer = told(desk.event, desk.number, self._line, found.wait_min, desk.now(), desk.personal.walk)
        head = line((f" {desk.number} ", "hand", "switch_entry"), f" tyre heat, {desk.unit}")
        return [head, *_what_if(answer, width), *self._curve(found, width), *_fits(found, width)]

    def _curve(self, found: Heat, width: int) -> list[TextLine]:
        from paddock.render.lines import lines_plot

        lines = [rule("from now through the next run and after it", width)]
        if not found.curves:
            return [*lines, *wrapped(found.why_none, width)]
        height = max(7, min(16, self.size.height - 15))
        picture = lines_plot(found.curves, "", "", (min(width, 100), height))
        return [*lines, *(line(text) for text in picture.splitlines()), line(("minutes from now", "quiet"))]

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


def _what_if(found: HeatTold, width: int) -> list[TextLine]:
    lines = [rule(f"what if: {found.head}" if found.head else "now", width)]
    for at, text in enumerate(found.lead):
        lines += wrapped(text, width, "strong" if not at else "")
    lines += wrapped(found.parked, width, "quiet")
    if found.rows:
        head = ("", "left so", "wanted", "set for it")
        lines += table_lines(found.rows, width, head, frozenset((1, 2, 3)))
        legend = "left so: what it ends the run at; set for it: what to set to end it as wanted"
        lines += wrapped(legend, width, "quiet")
    for text in found.notes:
        lines += wrapped(text, width, "quiet")
    return lines


def _fits(found: Heat, width: int) -> list[TextLine]:
    lines = [rule("fitted from my readings", width)]
    for text in found.fits:
        lines += wrapped(text, width, indent="  ")
    if found.start:
        lines += wrapped(f"at the start of the last run they read {found.start}", width)
    return lines
