"""Signs that a table belongs to another event or another day."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import date

from paddock.engine.results.changes import Change
from paddock.engine.results.names import NameBook, same_person
from paddock.engine.results.who import Entry
from paddock.model.event import Event
from paddock.model.grid import Grid

_ISO = re.compile(r"(?<!\d)(\d{4})-(\d{1,2})-(\d{1,2})(?!\d)")
_DAY_FIRST = re.compile(r"(?<!\d)(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})(?!\d)")
_SEASON = re.compile(r"(?<!\d)((?:19|20)\d\d)\s?[/–-]\s?(\d\d)(?!\d)")
_YEAR = re.compile(r"(?<![\d.,])((?:19|20)\d\d)(?![\d.,]\d|\d|\s?(?:m|km|ft|yd)\b)")
_FEW = 5


def dates_in(text: str) -> list[date]:
    """Whole dates written ``2026-05-09`` or ``9.5.2026``."""
    triples = [(int(y), int(m), int(d)) for y, m, d in _ISO.findall(text)]
    triples += [(int(y), int(m), int(d)) for d, m, y in _DAY_FIRST.findall(text)]
    found = []
    for triple in triples:
        try:
            found.append(date(*triple))
        except ValueError:
            continue
    return found


def _years(text: str) -> set[int]:
    seasons = {int(first[:2] + second) for first, second in _SEASON.findall(text)}
    return seasons | {int(year) for year in _YEAR.findall(text)}


def date_doubts(grid: Grid, event: Event) -> list[str]:
    """The table's own date or year is not the event's."""
    text, days = f"{grid.name} {grid.title}", event.settings.days
    if not days:
        return []
    dates = dates_in(text)
    if dates and not set(dates) & set(days):
        return [f"the table is dated {dates[0].isoformat()}, which is no day of this event"]
    years = _years(text)
    if years and not years & {day.year for day in days}:
        return [f"the table says {max(years)}, and this event is in {days[0].year}"]
    return []


def name_doubts(entries: Sequence[Entry], event: Event) -> list[str]:
    """Most numbers are other drivers' here."""
    drivers = NameBook(event.entrants).drivers
    named = {entry.number: entry for entry in entries if entry.name and drivers.get(entry.number)}
    other = [entry for entry in named.values() if not same_person(drivers[entry.number], entry.name)]
    if len(other) < 2 or 2 * len(other) <= len(named):
        return []
    first = other[0]
    return [
        f"{len(other)} of {len(named)} numbers are other drivers here (number {first.number} is "
        f"{drivers[first.number]}, the table has {first.name})"
    ]


def time_doubts(found: Iterable[Change], day: int) -> list[str]:
    """Most runs that both have differ: another day's times, or another event's."""
    both = [
        change
        for change in found
        if change.before is not None and change.before.time_ms is not None and change.posted.time_ms is not None
    ]
    changed = [change for change in both if "time_ms" in change.cells]
    if len(both) < _FEW or 2 * len(changed) <= len(both):
        return []
    return [
        f"{len(changed)} of {len(both)} times already here for day {day} would change: it may be another day's table"
    ]
