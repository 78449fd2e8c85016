"""Weather and surface: one line each time it changes."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from paddock.tui.listing import ListingPage

if TYPE_CHECKING:
    from paddock.entry.weather import WeatherLine
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
words are the sky. What a line doesn't say stays as it was said last. Typed again within the minute it is a correction:
what it takes the place of is named. Of two thermometers keep to one, since the figures are held against each other.
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
        if not text or isinstance(found, Wrong):
            self.tell(f"… {found.sentence}" if text and isinstance(found, Wrong) else "")
            return
        over = self._over(found)
        self.tell(f"Enter saves it{over}", loud=bool(over))

    def _over(self, said: WeatherLine) -> str:
        """What it corrects."""
        from paddock.actions.notes import replaced_weather

        desk = self.desk
        return replaced_weather(desk.event, desk.day, desk.clock[:5], said) if desk.session is not None else ""

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
        edit = add_weather(desk.event, desk.day, desk.clock[:5], found, text)
        done = desk.apply(edit, f"weather: {text}{self._over(found)}")
        if done.kept:
            self.clear()
            self.refresh_page()
        self.tell(done.text, loud=not done.ok)
