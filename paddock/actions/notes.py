"""Notes and the weather of a moment, written down."""

from __future__ import annotations

from paddock.actions.rows import one_row
from paddock.engine.clock.schedule import last_run
from paddock.entry.weather import WeatherLine
from paddock.ids import new_id
from paddock.model.edit import AddRow, Batch
from paddock.model.event import Event
from paddock.model.rows import NoteRow, WeatherRow


def topic_of(text: str) -> tuple[str | None, str]:
    """``tyres: left front grains`` has the topic tyres; without a short first word and a colon there is none."""
    head, colon, rest = text.partition(":")
    if colon and rest.strip() and head.strip() and " " not in head.strip() and len(head) <= 15:
        return head.strip(), rest.strip()
    return None, text.strip()


def add_note(event: Event, number: str, day: int, at: str, text: str) -> Batch:
    """A note of this moment, with the run just done."""
    topic, said = topic_of(text)
    cells = {
        "id": new_id(), "day": day, "run": last_run(event, number, day), "at": at, "topic": topic, "text": said
    }  # fmt: skip
    return Batch(f"note: {text}", (AddRow(NoteRow.FILE, cells),))


def add_weather(event: Event, day: int, at: str, said: WeatherLine, text: str = "") -> Batch:
    """The weather of this minute. ``text``: as it was typed."""
    names = ("air_c", "surface_c", "humidity_pct", "station_hpa", "wind_kmh", "surface", "sky")
    cells = {name: value for name in names if (value := getattr(said, name)) is not None}
    edit = one_row(event, WeatherRow, {"day": day, "at": at}, cells)
    return Batch(f"weather: {text}" if text else "weather", (edit,))
