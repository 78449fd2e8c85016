"""Weather and surface: one line each time it changes."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from paddock.tui.listing import ListingPage

if TYPE_CHECKING:
    from paddock.pages.document import Document


class WeatherPage(ListingPage):
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

    def on_mount(self) -> None:
        """Ready for figures and words."""
        super().on_mount()
        self.set_label("weather")

    def document(self) -> Document:
        """Newest first."""
        from paddock.pages.notes import weather_page

        return weather_page(self.desk.event)

    def typed(self, text: str) -> None:
        """What the line means so far."""
        from paddock.entry import Wrong
        from paddock.entry.weather import read_weather

        found = read_weather(text)
        self.tell("" if not text else f"… {found.sentence}" if isinstance(found, Wrong) else "Enter saves it")

    def accept(self, text: str) -> None:
        """Log the weather."""
        from paddock.actions.notes import add_weather
        from paddock.entry import Wrong
        from paddock.entry.weather import read_weather

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
