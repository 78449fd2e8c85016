"""Notes and weather as pages: what was written down, newest first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from paddock.actions.notes import label_of
from paddock.engine.where.splits import course_of, notes_by_element
from paddock.engine.work.notes import all_notes
from paddock.errors import PaddockError
from paddock.model.event import Event
from paddock.model.rows import NoteRow, WeatherRow
from paddock.pages.document import Block, Column, Document, Heading, PageTable, TableRow, Words, paragraphs, words
from paddock.pages.faults import unread_words
from paddock.words import hundredths


def _has(row: NoteRow, wanted: Sequence[str]) -> bool:
    return all(word in f"{row.topic or ''} {row.text or ''}".casefold() for word in wanted)


def notes_found(rows: Iterable[NoteRow], wanted: str) -> tuple[NoteRow, ...]:
    """Notes that have every word of ``wanted`` in topic or text, newest first."""
    asked = wanted.casefold().split()
    found = [row for row in rows if _has(row, asked)]
    return tuple(sorted(found, key=lambda row: (row.day or 0, row.at or ""), reverse=True))


def notes_page(event: Event, wanted: str, others: Sequence[tuple[str, Sequence[NoteRow]]] | None = None) -> Document:
    """The notes with every word of ``wanted``. ``others``: notes of events beside this one; None: they are left out."""
    rows = notes_found(all_notes(event), wanted)
    title = f"notes: {len(rows)}" + (f" with {wanted}" if wanted.strip() else "")
    unread = unread_words(event, NoteRow.FILE, "note")
    blocks: list[Block] = [words((f"! {unread}", "warn"))] if unread else []
    blocks += [Heading(title), *map(_note, rows)]
    if others is None:
        return Document("notes", tuple(blocks if rows or unread else [*blocks, words("none yet")]))
    asked = wanted.casefold().split()
    beside: list[Block] = []
    for name, theirs in others:
        found = [row for row in theirs if _has(row, asked)]
        beside += [Heading(f"{name}: {len(found)}"), *map(_note, found)] if found else []
    return Document("notes", (*blocks, *(beside or [Heading("no such note in the events beside this one")])))


def element_words(event: Event, day: int, number: str = "") -> tuple[str, ...]:
    """A line an element with notes: ``4 second slalom (0.12 lost on average): brake where the paint ends``.

    ``number``: whose loss there stands beside it, as far as splits tell.
    """
    noted = notes_by_element(event, day)
    lost = _lost(event, day, number) if number and noted else {}
    names = {row.element: label_of(row) for row in course_of(event, day)}
    lines = []
    for element, rows in noted.items():
        said = "; ".join(dict.fromkeys(row.text or "" for row in rows))
        lines.append(f"{names.get(element, f'element {element}')}{lost.get(element, '')}: {said}")
    return tuple(lines)


def _lost(event: Event, day: int, number: str) -> dict[int, str]:
    from paddock.engine.where.answer import where

    try:
        over = where(event, number, day).over_runs
    except PaddockError:
        return {}
    return {item.element: f" ({hundredths(item.mean_lost_ms)} on average)" for item in over}


def element_blocks(event: Event, day: int, number: str = "") -> tuple[Block, ...]:
    """The notes of each element under a heading; nothing where there is none."""
    lines = element_words(event, day, number)
    return (Heading("noted at the elements"), *paragraphs(lines, bullet="- ")) if lines else ()


def _note(row: NoteRow) -> Words:
    when = " ".join(part for part in (f"day {row.day}" if row.day else "", f"run {row.run}" if row.run else "") if part)
    topic = f" element {row.element}:" if row.element is not None else f" {row.topic}:" if row.topic else ""
    return words((f"{when} {(row.at or '')[:5]}".strip(), "quiet"), f"{topic} {row.text or ''}")


def weather_page(event: Event) -> Document:
    """A row each time it changed."""
    columns = (
        Column("day"), Column("at"), Column("surface"), Column("air °C", figures=True),
        Column("ground", figures=True), Column("hum %", figures=True, drop=1), Column("hPa", figures=True, drop=4),
        Column("wind", figures=True, drop=3), Column("sky", most=40, drop=2),
    )  # fmt: skip
    rows = sorted(event.of(WeatherRow), key=lambda row: (row.day, row.at or ""), reverse=True)
    made = tuple(TableRow(_weather(row), f"{row.day} {row.at}") for row in rows)
    unread = unread_words(event, WeatherRow.FILE, "weather")
    empty = unread or "no weather yet; type air, ground, surface: 24 38 dry"
    told = [words((f"! {unread}", "warn"))] if unread and made else []
    return Document("weather", (*told, PageTable(columns, made, empty=empty)))


def _weather(row: WeatherRow) -> tuple[str, ...]:
    numbers = (row.air_c, row.surface_c, row.humidity_pct, row.station_hpa, row.wind_kmh)
    shown = tuple("" if value is None else f"{value:g}" for value in numbers)
    return (f"{row.day}", (row.at or "")[:5], row.surface or "", *shown, row.sky or "")
