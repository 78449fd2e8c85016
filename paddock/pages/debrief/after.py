"""Weather, notes, the plan for next time, and what could not be read."""

from __future__ import annotations

from paddock.engine.field.verdict import to_test
from paddock.engine.share.names import Names, about_rivals
from paddock.engine.work.due import plan_for_next, questions_left
from paddock.model.event import Event
from paddock.model.rows import NoteRow, WeatherRow
from paddock.pages.debrief.changes import cold_next_time
from paddock.pages.debrief.parts import Section, grid, line
from paddock.pages.verdict_words import to_test_words
from paddock.words import plural, tenths


def weather(event: Event, names: Names) -> Section | None:
    """As it was written down."""
    rows = event.of(WeatherRow)
    if not rows:
        return None
    heads = ("day", "at", "air C", "surface C", "humidity %", "station hPa", "surface", "sky", "wind km/h")
    cells = tuple(
        (f"{row.day}", row.at or "", *map(tenths, (row.air_c, row.surface_c, row.humidity_pct, row.station_hpa)),
         row.surface or "", names.clean(row.sky), tenths(row.wind_kmh))
        for row in rows
    )  # fmt: skip
    return Section("Weather", grids=(grid(heads, cells, right=frozenset({0, 2, 3, 4, 5, 8})),))


def notes(event: Event, names: Names) -> Section | None:
    """My notes in order; those about rivals only when names are shown."""
    rows = [row for row in event.of(NoteRow) if row.text and (names.shown or not about_rivals(row))]
    if not rows:
        return None
    rows.sort(key=lambda row: (row.day or 0, row.run or 0, row.at or ""))
    return Section("Notes", items=tuple(_note(names, row) for row in rows))


def _note(names: Names, row: NoteRow) -> str:
    when = line(f"day {row.day}" if row.day else None, f"run {row.run}" if row.run else None, row.at)
    head = line(when, names.clean(row.topic), between=" · ")
    return f"{head}: {names.clean(row.text)}" if head else names.clean(row.text)


def plan(event: Event, names: Names) -> Section | None:
    """The one thing to test, and the questions nobody has answered yet."""
    found = plan_for_next(event)
    said = []
    if found is not None:
        said.append(
            names.clean(
                line(f"To test: {found.test}", f"Expected: {found.expect}" if found.expect else None, between=". ")
            )
        )
        if not found.written:
            said.append("Proposed from the test still open; nobody has written a plan.")
    topics = ", ".join(item.topic.removeprefix("debrief ") for item in questions_left(event))
    left = (f"Not answered yet: {topics}.",) if topics else ()
    left = (*(names.clean(text) for text in to_test_words(to_test(event))), *left)
    plan_line = cold_next_time(event)
    cold = (names.clean(plan_line),) if plan_line else ()
    short = (names.clean(f"To test: {found.test}"),) if found is not None else ()
    if not said and not left and not cold:
        return None
    return Section("Next time", (*said, *cold), items=left, summary=(*short, *cold))


def faults(event: Event, names: Names) -> Section | None:
    """What this report leaves out because it could not be read."""
    found = [item for item in event.problems if item.level == "fault"]
    if not found:
        return None
    said = tuple(names.clean(f"{item}") for item in found)
    words = ("Lines that could not be read are not in this report.",)
    return Section("Left out", words, items=said, summary=(f"{plural(len(said), 'faulty line')} left out.",))
