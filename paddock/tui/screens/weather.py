"""Weather and surface: one line each time it changes."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, ClassVar

from textual.widget import Widget

from paddock.tui.page import Page
from paddock.tui.widgets.grid import Cells, Col, Grid

if TYPE_CHECKING:
    from paddock.model.rows import WeatherRow


class WeatherPage(Page):
    """The day's weather, newest first."""

    NAME: ClassVar[str] = "weather"
    PLACEHOLDER: ClassVar[str] = "like 24 38 dry"
    TAKES_WORDS: ClassVar[bool] = True
    HINTS: ClassVar[tuple[str, ...]] = ("any.back", "any.undo")
    HELP: ClassVar[str] = """
Type air, ground and surface, then Enter: 24 38 dry. The surface is dry, drying, damp, wet or standing (water).
h60 is humidity, p964 the pressure of the station itself in hPa (not the sea-level figure), w12 wind in km/h; other
words are the sky. What a line doesn't say stays as it was said last.
"""

    def body(self) -> Iterable[Widget]:
        """One table."""
        yield Grid(name_id="weather")

    def on_mount(self) -> None:
        """Ready for figures and words."""
        super().on_mount()
        self.set_label("weather")

    def show_event(self) -> None:
        """Newest first."""
        from paddock.model.rows import WeatherRow

        rows = sorted(self.desk.event.of(WeatherRow), key=lambda row: (row.day, row.at or ""), reverse=True)
        self.query_one(Grid).fill([(f"{row.day} {row.at}", _cells(row)) for row in rows], _COLUMNS)

    def typed(self, text: str) -> None:
        """What the line means so far."""
        from paddock.entry import Wrong
        from paddock.entry.weather import read_weather

        found = read_weather(text)
        self.tell("" if not text else f"… {found.sentence}" if isinstance(found, Wrong) else "Enter saves it")

    def accept(self, text: str) -> None:
        """Log the weather."""
        from paddock.entry import Wrong
        from paddock.entry.weather import read_weather
        from paddock.views.journal import add_weather

        found = read_weather(text)
        if isinstance(found, Wrong):
            self.tell(found.sentence, loud=True)
            return
        desk = self.desk
        done = desk.apply(add_weather(desk.event, desk.day, desk.clock[:5], found, text), f"weather: {text}")
        if done.kept:
            self.clear()
            self.refresh_page()
        self.tell(done.text, loud=not done.ok)

    def action_step(self, by: int) -> None:
        """The row above or below."""
        self.query_one(Grid).move(by)


_COLUMNS = [
    Col("day", stays=True), Col("at", 5, stays=True), Col("surface", 8), Col("air °C", right=True),
    Col("ground", right=True), Col("humid %", right=True), Col("hPa", right=True), Col("wind", right=True),
    Col("sky", most=30),
]  # fmt: skip


def _cells(row: WeatherRow) -> Cells:
    numbers = (row.air_c, row.surface_c, row.humidity_pct, row.station_hpa, row.wind_kmh)
    shown = tuple("" if value is None else f"{value:g}" for value in numbers)
    return (str(row.day), (row.at or "")[:5], row.surface or "", *shown, row.sky or "")
