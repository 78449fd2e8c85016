"""A grid and its column map to posted runs, with everything that could not be read or is in doubt."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime

from paddock.engine.results.cells import (
    HEADERS,
    Result,
    plain,
    read_count,
    read_penalty_ms,
    read_result,
    split_penalty,
    status_of,
    tidy,
)
from paddock.engine.results.changes import (
    Doubt,
    NewEntrant,
    Posted,
    ResultChange,
    Understood,
    Unread,
    changes,
    differences,
)
from paddock.engine.results.headers import ColumnMap, one_valued
from paddock.engine.results.who import Entry, NameBook, Who, same_person
from paddock.model.event import Event
from paddock.model.rows import CellGrid
from paddock.model.settings import Rules
from paddock.model.units import KINDS
from paddock.words import plural

# signs that a table belongs to another event or another day


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


def date_doubts(grid: CellGrid, event: Event) -> list[str]:
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


def time_doubts(found: Iterable[ResultChange], day: int) -> list[str]:
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


# the runs a row holds, whether they stand side by side or one to a row


_RUN = re.compile(r"\D*(\d{1,2})\D*")
_NOTHING = Result()


class RunReader:
    """Reads the runs of entries by one column map; ``says_cones``: a time without cones is a clean one."""

    def __init__(self, columns: ColumnMap, rules: Rules, day: int, says_cones: bool) -> None:
        self.columns = columns
        self.at = columns.columns
        self.rules = rules
        self.day = day
        self.says_cones = says_cones or any(role.startswith(("cones", "penalty")) for role in self.at)
        gates = ("misses", "penalty") if rules.miss_ms else ("misses",)
        self.says_misses = any(role.startswith(gates) for role in self.at)
        self._seen: dict[str, int] = {}

    def read(self, entry: Entry) -> Iterator[Posted | Unread]:
        """The runs of one row, and each cell that can't be read."""
        if self.columns.runs:
            for run in self.columns.runs:
                yield from self._run(entry, run, str(run))
        else:
            yield from self._row(entry)

    def _row(self, entry: Entry) -> Iterator[Posted | Unread]:
        if "run" not in self.at:
            run = self._seen[entry.number] = self._seen.get(entry.number, 0) + 1
        else:
            text = self._text(entry, "run")
            found = _RUN.fullmatch(text)
            if found is None or not int(found[1]):
                yield Unread(entry.line, f"number {entry.number}: {text!r} is no run number")
                return
            run = int(found[1])
        yield from self._run(entry, run, "")

    def _text(self, entry: Entry, role: str) -> str:
        index = self.at.get(role)
        return tidy(entry.cells[index]) if index is not None else ""

    def _run(self, entry: Entry, run: int, suffix: str) -> Iterator[Posted | Unread]:
        try:
            result = self._result(entry, suffix)
            if result is not None:
                yield self._posted(entry, run, result)
        except ValueError as error:
            yield Unread(entry.line, f"number {entry.number}, run {run}: {error}")

    def _result(self, entry: Entry, suffix: str) -> Result | None:
        role = f"run{suffix}" if suffix else "time"
        posted = read_result(self._text(entry, role), role in self.columns.ranks)
        total = None if posted else read_result(self._text(entry, f"total{suffix}"))
        result = self._with_status(posted or total or _NOTHING, self._text(entry, f"status{suffix}"))
        if result == _NOTHING:
            return None
        result = self._with_marks(result, entry, suffix)
        return self._less_penalties(result) if total and total.time_ms is not None else result

    def _with_status(self, result: Result, text: str) -> Result:
        status = status_of(text) if text else None
        return replace(result, status=status) if status else result

    def _with_marks(self, result: Result, entry: Entry, suffix: str) -> Result:
        text = self._text(entry, f"cones{suffix}")
        status = status_of(text) if text else None
        cones = result.cones if status or not text else read_count(text)
        misses = read_count(self._text(entry, f"misses{suffix}")) if f"misses{suffix}" in self.at else result.misses
        added = (
            read_penalty_ms(self._text(entry, f"penalty{suffix}")) if result.penalty_ms is None else result.penalty_ms
        )
        if added:
            more, gates = split_penalty(added, self.rules)
            cones, misses = (cones or 0) + more, ((misses or 0) + gates) or misses
        return replace(result, cones=cones, misses=misses, penalty_ms=None, status=result.status or status)

    def _less_penalties(self, result: Result) -> Result:
        added = (result.cones or 0) * self.rules.cone_ms + (result.misses or 0) * (self.rules.miss_ms or 0)
        left = (result.time_ms or 0) - added
        if left <= 0:
            raise ValueError(f"a total of {(result.time_ms or 0) / 1000:g} s is less than its penalties")
        return replace(result, time_ms=left)

    def _posted(self, entry: Entry, run: int, result: Result) -> Posted:
        timed = result.time_ms is not None
        return Posted(
            day=self._day(entry),
            run=run,
            number=entry.number,
            time_ms=result.time_ms,
            cones=0 if timed and self.says_cones and result.cones is None else result.cones,
            misses=0 if timed and self.says_misses and result.misses is None else result.misses,
            status=result.status,
            at=self._clock(entry),
            try_=self._text(entry, "try") or None,
            line=entry.line,
        )

    def _day(self, entry: Entry) -> int:
        text = self._text(entry, "day")
        if not text:
            return self.day
        if not (text.isascii() and text.isdigit() and 1 <= int(text) <= 999):
            raise ValueError(f"{text!r} is no day: days count from 1")
        return int(text)

    def _clock(self, entry: Entry) -> str | None:
        text = self._text(entry, "at")
        return str(KINDS["clock"].read(text)) if text else None


def default_day(event: Event, grid: CellGrid, today: date | None = None) -> int:
    """The day a table without one is for: its own date's, today's, else the latest that has runs, else 1."""
    days = event.settings.days
    for found in (*dates_in(f"{grid.name} {grid.title}"), today):
        if found in days:
            return days.index(found) + 1
    return max((row.day for row in event.times), default=1)


def understand(
    grid: CellGrid,
    columns: ColumnMap,
    event: Event,
    day: int | None = None,
    now: datetime | None = None,
    tick: Callable[[int, int], None] | None = None,
) -> Understood:
    """What ``grid`` says by ``columns``, for ``day`` (None: see ``default_day``) where the table has none.

    ``now``: local clock, for the minutes left to protest. ``tick``: told rows done and rows in all, for progress.
    """
    today = now.date() if now else None
    chosen = day or default_day(event, grid, today)
    reading = _Reading(Who(columns, event))
    reading.entries_of(grid, columns)
    reading.drop_shared_numbers()
    reader = RunReader(columns, event.settings.rules, chosen, _says_cones(grid, columns))
    total = len(reading.entries)
    for done, entry in enumerate(reading.entries, 1):
        reading.take(entry, reader.read(entry))
        if tick is not None and (done % 500 == 0 or done == total):
            tick(done, total)
    if _run_unknown(columns, reading):
        why = "the table has one time per driver and does not say of which run: name it, as in --map run3=Time"
        reading.doubts.append(Doubt("run", why))
    rows = reading.settled()
    return _compared(reading, rows, grid, event, chosen, now)


def _compared(
    reading: _Reading, rows: list[Posted], grid: CellGrid, event: Event, day: int, now: datetime | None
) -> Understood:
    found = changes(rows, event)
    other = [*date_doubts(grid, event), *name_doubts(reading.entries, event), *time_doubts(found, day)]
    return Understood(
        rows=tuple(rows),
        unread=tuple(sorted(reading.unread, key=lambda item: item.line)),
        new_entrants=(
            *_mended(reading.out, event),
            *_new_entrants([entry for entry in reading.entries if entry.line not in reading.blind], event),
        ),
        differences=tuple(differences(found, event, now)),
        day=day,
        added=sum(1 for change in found if change.before is None),
        updated=sum(1 for change in found if change.before is not None and change.cells),
        unchanged=sum(1 for change in found if change.before is not None and not change.cells),
        doubts=(*reading.doubts, *(Doubt("other", why) for why in other)),
        remarks=tuple(
            _remarks(rows, reading.entries, event, [reading.who.unknown_class(item) for item in reading.entries])
        ),
    )


@dataclass(slots=True)
class _Reading:
    """Collects what one table gives while it is read."""

    who: Who
    entries: list[Entry] = field(default_factory=list)
    unread: list[Unread] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    posted: list[Posted] = field(default_factory=list)
    blind: set[int] = field(default_factory=set)
    out: list[Entry] = field(default_factory=list)

    def entries_of(self, grid: CellGrid, columns: ColumnMap) -> None:
        sections = (self.who.class_named(part) for part in grid.name.split("/"))
        section = next((code for code in sections if code), None)
        for line, cells in zip(grid.lines[columns.first_row :], grid.rows[columns.first_row :], strict=True):
            if one_valued(cells):
                named = next(filter(None, cells), "")
                section = self.who.class_named(named) if named else section
            elif not _repeats_header(cells, columns):
                self._entry(self.who.entry(cells, line, section))

    def _entry(self, found: Entry | Unread) -> None:
        if isinstance(found, Entry) and found.number in self.who.event.out:
            self.out.append(found)
            self.unread.append(Unread(found.line, self.who.out_words(found)))
        elif isinstance(found, Entry):
            self.entries.append(found)
        else:
            self.unread.append(found)

    def drop_shared_numbers(self) -> None:
        """Two drivers on one number: whose runs these are can't be told, so none of them is taken."""
        by_number: dict[str, list[Entry]] = defaultdict(list)
        for entry in self.entries:
            by_number[entry.number].append(entry)
        shared = {number for number, entries in by_number.items() if not _one_person(entries)}
        for number in sorted(shared):
            names = " and ".join(dict.fromkeys(entry.name for entry in by_number[number] if entry.name))
            lines = ", ".join(str(entry.line) for entry in by_number[number])
            self.doubts.append(Doubt("shared", f"number {number} stands for {names} (lines {lines})"))
            self.unread += [Unread(e.line, f"number {number} stands for {names}") for e in by_number[number]]
        self.entries = [entry for entry in self.entries if entry.number not in shared]

    def take(self, entry: Entry, found: Iterable[Posted | Unread]) -> None:
        items = list(found)
        self.posted += [item for item in items if isinstance(item, Posted)]
        self.unread += [item for item in items if isinstance(item, Unread)]
        if items and all(isinstance(item, Unread) for item in items):
            self.blind.add(entry.line)

    def settled(self) -> list[Posted]:
        """One posting per run: said twice alike counts once, said twice otherwise counts as unread."""
        groups: dict[tuple[object, ...], list[Posted]] = defaultdict(list)
        for row in self.posted:
            groups[(*row.key, row.status == "rerun")].append(row)
        rows = []
        for same in groups.values():
            if len({(row.time_ms, row.cones, row.misses, row.status) for row in same}) == 1:
                rows.append(same[0])
                continue
            lines = " and ".join(str(row.line) for row in same)
            why = f"number {same[0].number}, run {same[0].run}: lines {lines} differ, so neither is taken"
            self.unread.append(Unread(same[0].line, why))
        return rows


def _repeats_header(cells: tuple[str, ...], columns: ColumnMap) -> bool:
    role = "number" if "number" in columns.columns else "name"
    return plain(cells[columns.columns[role]]) in HEADERS[role] if role in columns.columns else False


def _one_person(entries: Sequence[Entry]) -> bool:
    names = list(dict.fromkeys(entry.name for entry in entries if entry.name))
    return all(same_person(names[0], name) for name in names[1:])


def _says_cones(grid: CellGrid, columns: ColumnMap) -> bool:
    """Cones are written behind the times somewhere in the table."""
    at = [(index, role in columns.ranks) for role, index in columns.columns.items() if role.startswith(("run", "time"))]
    for row in grid.rows[columns.first_row :]:
        for index, ranks in at:
            text = row[index]
            if not ("+" in text or "(" in text or "[" in text or "/" in text):
                continue
            try:
                result = read_result(text, ranks)
            except ValueError:
                continue
            if result and (result.cones is not None or result.penalty_ms is not None):
                return True
    return False


def _run_unknown(columns: ColumnMap, reading: _Reading) -> bool:
    if columns.runs or "run" in columns.columns or not reading.entries:
        return False
    numbers = {entry.number for entry in reading.entries}
    return len(numbers) == len(reading.entries)


def _new_entrants(entries: Sequence[Entry], event: Event) -> tuple[NewEntrant, ...]:
    known = {entrant.number: entrant for entrant in event.entrants}
    best: dict[str, NewEntrant] = {}
    for entry in entries:
        before, so_far = known.get(entry.number), best.get(entry.number)
        driver = (so_far.driver if so_far else None) or entry.name or None
        class_ = (so_far.class_ if so_far else None) or entry.class_
        if before is not None:
            driver, class_ = (None if before.driver else driver), (None if before.class_ else class_)
        best[entry.number] = NewEntrant(entry.number, driver, class_, before is not None)
    return tuple(item for item in best.values() if not item.known or item.driver or item.class_)


def _mended(entries: Sequence[Entry], event: Event) -> tuple[NewEntrant, ...]:
    """Entrants whose row is out for a class the event has not, where the table names one it has."""
    found = {
        entry.number: NewEntrant(entry.number, None, entry.class_, known=True)
        for entry in entries
        if entry.class_ and event.settings.class_of(event.out[entry.number].class_) is None
    }
    return tuple(found.values())


_FEW_CLASSES = 3


def _remarks(
    rows: Sequence[Posted], entries: Sequence[Entry], event: Event, strange: Sequence[str | None]
) -> list[str]:
    """``strange``: an entry's class where the event has none of that name."""
    remarks = []
    if unknown := sorted({name for name in strange if name}):
        named = ", ".join(unknown[:_FEW_CLASSES]) + (" …" if len(unknown) > _FEW_CLASSES else "")
        count = sum(name is not None for name in strange)
        remarks.append(
            f"class {named} is none of this event's: {plural(count, 'driver')} left without one; make it first (the "
            "event's page, or event.toml) and bring the table in again"
        )
    limit = event.settings.runs_per_day
    beyond = sorted({row.run for row in rows if limit and row.run > limit})
    if beyond:
        remarks.append(f"run {', '.join(map(str, beyond))} is beyond the {limit} runs of a day in event.toml")
    drivers = {entrant.number: entrant.driver or "" for entrant in event.entrants}
    classes = {entrant.number: entrant.class_ for entrant in event.entrants}
    for entry in entries:
        here = classes.get(entry.number)
        if here and entry.class_ and entry.class_ != here:
            remarks.append(f"number {entry.number} is in {here} here and in {entry.class_} in the table: it stays")
        if not same_person(drivers.get(entry.number, ""), entry.name):
            remarks.append(f"number {entry.number} is {drivers[entry.number]} here and {entry.name} in the table")
    return list(dict.fromkeys(remarks))
