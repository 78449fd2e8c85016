"""Posted runs against the runs the event has: what is new, what changes, what of mine differs from my log."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any, Literal

from paddock.model.edit import AddRow, Batch, ChangeRow
from paddock.model.event import Event
from paddock.model.rows import EntrantRow, NoteRow, RunRow, TimeRow
from paddock.words import plural, run_text

# what was understood of a table of results, as values


@dataclass(frozen=True, slots=True)
class Posted:
    """One run as posted; None = the table does not say. ``line``: where in the source."""

    day: int
    run: int
    number: str
    time_ms: int | None
    cones: int | None
    misses: int | None
    status: str | None
    at: str | None = None
    try_: str | None = None
    line: int = 0

    @property
    def key(self) -> tuple[int, int, str, str | None]:
        """Day, run, number and try, as in ``times.csv``."""
        return self.day, self.run, self.number, self.try_


@dataclass(frozen=True, slots=True)
class Unread:
    """A row or cell that could not be read; ``line`` in the source, 0 = the whole table."""

    line: int
    why: str


@dataclass(frozen=True, slots=True)
class NewEntrant:
    """A number that is not entered yet, or an entry whose blanks the table fills; the rest is to be completed."""

    number: str
    driver: str | None
    class_: str | None
    known: bool = False


@dataclass(frozen=True, slots=True)
class Difference:
    """A run of mine as posted and as I logged it, in words; ``minutes_left`` to protest, None = can't be told.

    ``minutes_left`` 0 = over. It counts from the run's own clock time, so a rule that counts from the
    posting leaves more.
    """

    day: int
    run: int
    number: str
    posted: str
    logged: str
    minutes_left: int | None


@dataclass(frozen=True, slots=True)
class Doubt:
    """Why a table should not be taken without a word from the user.

    ``kind``: ``other`` another event's or day's; ``shared`` two drivers on one number (their rows are left
    out); ``run`` the table does not say which run it is.
    """

    kind: Literal["other", "shared", "run"]
    why: str


@dataclass(frozen=True, slots=True)
class Understood:
    """``rows`` to bring in, ``unread`` what could not be, ``doubts`` why the table may be another one.

    With a doubt nothing should be written unless the user says so. ``remarks`` are only for the eye.
    """

    rows: tuple[Posted, ...]
    unread: tuple[Unread, ...]
    new_entrants: tuple[NewEntrant, ...]
    differences: tuple[Difference, ...]
    day: int
    added: int = 0
    updated: int = 0
    unchanged: int = 0
    doubts: tuple[Doubt, ...] = ()
    remarks: tuple[str, ...] = ()


_NOTE = re.compile(r"\S+ run \d+ posted as (?P<posted>.+), logged as (?P<logged>.+)")


@dataclass(frozen=True, slots=True)
class ResultChange:
    """``before`` None: the run is new. ``cells``: the fields that change, empty when nothing does."""

    posted: Posted
    before: TimeRow | None
    cells: Mapping[str, Any]


def changes(rows: Iterable[Posted], event: Event) -> list[ResultChange]:
    """What each posted run does to the event, in the order of ``rows``."""
    known: dict[tuple[int, int, str], list[TimeRow]] = defaultdict(list)
    for row in event.times:
        known[row.day, row.run, row.number].append(row)
    return [_change(row, known.get((row.day, row.run, row.number), [])) for row in rows]


def _change(posted: Posted, known: list[TimeRow]) -> ResultChange:
    before = _counterpart(posted, known)
    if before is None:
        return ResultChange(posted, None, _cells(posted))
    return ResultChange(
        posted, before, {name: value for name, value in _said(posted).items() if _differs(before, name, value)}
    )


def _counterpart(posted: Posted, known: list[TimeRow]) -> TimeRow | None:
    """The run's own row: a granted re-run and the run that replaces it are two."""
    same_kind = [row for row in known if (row.status == "rerun") == (posted.status == "rerun")]
    exact = [row for row in same_kind if row.try_ == posted.try_]
    loose = same_kind if posted.try_ is None else []
    found = exact or loose
    return found[-1] if found else None


def _cells(posted: Posted) -> dict[str, Any]:
    cells = {"day": posted.day, "run": posted.run, "number": posted.number, **_said(posted)}
    return {name: value for name, value in {**cells, "try_": posted.try_}.items() if value is not None}


def _said(posted: Posted) -> dict[str, Any]:
    """The fields the table speaks of. A time without a word is a run that counts."""
    said: dict[str, Any] = {"status": posted.status}
    for name in ("time_ms", "cones", "misses", "at"):
        value = getattr(posted, name)
        if value is not None:
            said[name] = value
    return said


def _differs(before: TimeRow, name: str, value: Any) -> bool:
    old = getattr(before, name)
    return bool((old or 0) != value if name in ("cones", "misses") else old != value)


def _only_finer(change: ResultChange) -> bool:
    """The posted time only has more decimals than the one I typed."""
    if set(change.cells) != {"time_ms"} or change.before is None or change.before.time_ms is None:
        return False
    apart = abs(change.cells["time_ms"] - change.before.time_ms)
    return any(change.before.time_ms % step == 0 and apart < step for step in (10, 100))


def _words(time_ms: int | None, cones: int | None, misses: int | None, status: str | None) -> str:
    text = run_text(time_ms, cones or 0, status)
    return text + (f" and {misses} missed" if misses else "")


def posted_words(change: ResultChange) -> str:
    """The run as it stands once the posting is taken in."""
    before, cells = change.before, change.cells
    values = [cells.get(name, getattr(before, name)) for name in ("time_ms", "cones", "misses", "status")]
    return _words(*values)


def logged_words(row: TimeRow) -> str:
    """The run as the event has it."""
    return _words(row.time_ms, row.cones, row.misses, row.status)


def differences(found: Iterable[ResultChange], event: Event, now: datetime | None) -> list[Difference]:
    """My runs that were posted otherwise than I logged them, also those found by an earlier import."""
    mine = set(event.settings.mine.numbers)
    notes = {note.id: note for note in event.of(NoteRow)}
    clocks = {(row.day, row.run, row.number): row.at for row in event.of(RunRow)}
    rows = []
    for change in found:
        posted, before = change.posted, change.before
        if before is None or posted.number not in mine:
            continue
        pair = _pair(change, before, notes.get(note_id(posted)))
        if pair is not None:
            at = before.at or posted.at or clocks.get((posted.day, posted.run, posted.number))
            left = _minutes_left(event, posted.day, at, now)
            rows.append(Difference(posted.day, posted.run, posted.number, *pair, left))
    return rows


def _pair(change: ResultChange, before: TimeRow, note: NoteRow | None) -> tuple[str, str] | None:
    noted = _NOTE.fullmatch(note.text or "") if note else None
    posted = posted_words(change)
    logged = noted["logged"] if noted else logged_words(before)
    if not noted and (not change.cells.keys() - {"at"} or _only_finer(change)):
        return None
    return None if posted == logged else (posted, logged)


def note_id(posted: Posted) -> str:
    """The id of the note that keeps what I logged: the same on two devices that import the same posting."""
    return f"posted-{posted.day}-{posted.run}-{posted.number}"


def note_text(difference: Difference) -> str:
    """What the note says."""
    return f"{difference.number} run {difference.run} posted as {difference.posted}, logged as {difference.logged}"


def _minutes_left(event: Event, day: int, at: str | None, now: datetime | None) -> int | None:
    window, days = event.settings.rules.protest_min, event.settings.days
    if window is None or at is None or now is None or not 1 <= day <= len(days):
        return None
    made = datetime.combine(days[day - 1], time.fromisoformat(at))
    left = made + timedelta(minutes=window) - now
    return int(min(max(left / timedelta(minutes=1), 0), window))


# the edits of an import, as one for undo


def edits(understood: Understood, event: Event) -> Batch:
    """Entrants to complete later, runs added and changed, and a note of each run of mine posted otherwise.

    Empty when the event already has all of it.
    """
    made: list[AddRow | ChangeRow] = [edit for item in understood.new_entrants for edit in _entrant(item)]
    found = changes(understood.rows, event)
    made += [edit for change in found for edit in _time(change)]
    notes = {note.id: note for note in event.of(NoteRow)}
    by_key = {(change.posted.day, change.posted.run, change.posted.number): change for change in found}
    for difference in understood.differences:
        change = by_key[difference.day, difference.run, difference.number]
        made += _note(difference, change, notes.get(note_id(change.posted)))
    label = f"import of {plural(understood.added + understood.updated, 'run')} for day {understood.day}"
    return Batch(label, tuple(made))


def _entrant(item: NewEntrant) -> Iterator[AddRow | ChangeRow]:
    cells = {name: value for name, value in (("driver", item.driver), ("class_", item.class_)) if value is not None}
    if item.known:
        yield ChangeRow(EntrantRow.FILE, (item.number,), cells)
    else:
        yield AddRow(EntrantRow.FILE, {"number": item.number, **cells})


def _time(change: ResultChange) -> Iterator[AddRow | ChangeRow]:
    if change.before is None:
        yield AddRow(TimeRow.FILE, dict(change.cells))
    elif change.cells:
        yield ChangeRow(TimeRow.FILE, change.before.key, dict(change.cells), {"status": change.before.status})


def _note(difference: Difference, change: ResultChange, note: NoteRow | None) -> Iterator[AddRow | ChangeRow]:
    text = note_text(difference)
    if note is None:
        cells = {"day": difference.day, "run": difference.run, "topic": "posted", "text": text}
        yield AddRow(NoteRow.FILE, {"id": note_id(change.posted), **cells})
    elif note.text != text:
        yield ChangeRow(NoteRow.FILE, note.key, {"text": text})
