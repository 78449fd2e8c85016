"""A grid and its column map to posted runs, with everything that could not be read or is in doubt."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from paddock.engine.results.cells import read_result
from paddock.engine.results.changes import changes, differences
from paddock.engine.results.columnmap import ColumnMap
from paddock.engine.results.doubts import date_doubts, dates_in, name_doubts, time_doubts
from paddock.engine.results.headers import one_valued
from paddock.engine.results.names import same_person
from paddock.engine.results.runs import RunReader
from paddock.engine.results.seen import Doubt, NewEntrant, Posted, Understood, Unread
from paddock.engine.results.vocabulary import HEADERS, plain
from paddock.engine.results.who import Entry, Who
from paddock.model.event import Event
from paddock.model.grid import Grid


def default_day(event: Event, grid: Grid, today: date | None = None) -> int:
    """The day a table without one is for: its own date's, today's, else the latest that has runs, else 1."""
    days = event.settings.days
    for found in (*dates_in(f"{grid.name} {grid.title}"), today):
        if found in days:
            return days.index(found) + 1
    return max((row.day for row in event.times), default=1)


def understand(
    grid: Grid,
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
    reading: _Reading, rows: list[Posted], grid: Grid, event: Event, day: int, now: datetime | None
) -> Understood:
    found = changes(rows, event)
    other = [*date_doubts(grid, event), *name_doubts(reading.entries, event), *time_doubts(found, day)]
    return Understood(
        rows=tuple(rows),
        unread=tuple(sorted(reading.unread, key=lambda item: item.line)),
        new_entrants=_new_entrants([entry for entry in reading.entries if entry.line not in reading.blind], event),
        differences=tuple(differences(found, event, now)),
        day=day,
        added=sum(1 for change in found if change.before is None),
        updated=sum(1 for change in found if change.before is not None and change.cells),
        unchanged=sum(1 for change in found if change.before is not None and not change.cells),
        doubts=(*reading.doubts, *(Doubt("other", why) for why in other)),
        remarks=tuple(_remarks(rows, reading.entries, event)),
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

    def entries_of(self, grid: Grid, columns: ColumnMap) -> None:
        sections = (self.who.class_named(part) for part in grid.name.split("/"))
        section = next((code for code in sections if code), None)
        for line, cells in zip(grid.lines[columns.first_row :], grid.rows[columns.first_row :], strict=True):
            if one_valued(cells):
                named = next(filter(None, cells), "")
                section = self.who.class_named(named) if named else section
            elif not _repeats_header(cells, columns):
                self._entry(self.who.entry(cells, line, section))

    def _entry(self, found: Entry | Unread) -> None:
        if isinstance(found, Entry):
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


def _says_cones(grid: Grid, columns: ColumnMap) -> bool:
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


def _remarks(rows: Sequence[Posted], entries: Sequence[Entry], event: Event) -> list[str]:
    remarks = []
    limit = event.settings.runs_per_day
    beyond = sorted({row.run for row in rows if limit and row.run > limit})
    if beyond:
        remarks.append(f"run {', '.join(map(str, beyond))} is beyond the {limit} runs of a day in event.toml")
    drivers = {entrant.number: entrant.driver or "" for entrant in event.entrants}
    for entry in entries:
        if not same_person(drivers.get(entry.number, ""), entry.name):
            remarks.append(f"number {entry.number} is {drivers[entry.number]} here and {entry.name} in the table")
    return list(dict.fromkeys(remarks))
