"""Notes and weather as pages: what is found, what can't be read."""

from __future__ import annotations

from paddock.errors import Problem
from paddock.model.event import Event
from paddock.model.rows import NoteRow, WeatherRow
from paddock.model.settings import Settings
from paddock.pages.notes import notes_found, notes_page, weather_page
from paddock.render.lines import text as text_of


def test_notes_are_found_by_all_their_words() -> None:
    rows = (NoteRow(id="a", topic="tyres", text="left grains"), NoteRow(id="b", topic="car", text="left clonk"))
    assert [row.id for row in notes_found(rows, "LEFT tyres")] == ["a"]


def test_notes_that_cannot_be_read_are_told() -> None:
    row = NoteRow(id="a", day=1, topic="line", text="late at the box")
    whole = (Problem("notes.csv", 0, "is UTF-16 text"), Problem("runs.csv", 3, "no run"))
    some = (Problem("notes.csv", 3, "day 7 is outside"), Problem("notes.csv", 5, "day x"),
            Problem("notes.csv", 6, "no time", "warning"))  # fmt: skip
    said = [
        text_of(notes_page(Event("may", Settings(), tables, problems=problems), ""), 80)
        for tables, problems in (({}, ()), ({}, whole), ({"notes.csv": (row,)}, some), ({"notes.csv": ()}, some[:1]))
    ]
    assert ("none yet" in said[0], said[0].count("!")) == (True, 0)
    assert "! no note can be read: notes.csv: is UTF-16 text" in said[1]
    assert "none yet" not in said[1]
    assert "! 2 rows of notes.csv are out, line 3: day 7 is outside; ! lists the others" in said[2]
    assert "late at the box" in said[2]
    assert "! 1 row of notes.csv is out, line 3: day 7 is outside" in said[3]
    weather = (WeatherRow(day=1, at="09:00", air_c=20),)
    found = Event("may", Settings(), {"weather.csv": weather}, problems=(Problem("weather.csv", 3, "no day"),))
    assert "! 1 row of weather.csv is out, line 3: no day" in text_of(weather_page(found), 80)


def test_weather_that_cannot_be_read_is_not_called_none() -> None:
    said = [
        text_of(weather_page(Event("may", Settings(), {}, problems=problems)), 80)
        for problems in ((), (Problem("weather.csv", 0, "is UTF-16 text"),))
    ]
    assert "no weather yet" in said[0]
    assert "no weather yet" not in said[1]
    assert "no weather can be read: weather.csv: is UTF-16 text" in said[1]
