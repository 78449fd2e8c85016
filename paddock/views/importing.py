"""What an import would do, in words and rows; what other hands and copies said otherwise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from paddock.engine.results import Difference, Understood
from paddock.engine.results.changes import Change, changes, logged_words, posted_words
from paddock.engine.results.headers import find_head
from paddock.folders.importing import ImportPlan, ImportTold
from paddock.folders.merging import Line
from paddock.model.event import Event
from paddock.model.rows import CellGrid
from paddock.store.merge import Conflict
from paddock.words import plural, run_text

_LISTED = 20


def place_words(plan: ImportPlan) -> str:
    """``table 1 of 2 (Class ASH), day 2, columns as proposed``."""
    columns, name = plan.columns, plan.grid.name[:60]
    how = "as confirmed before" if columns.remembered else "as given" if plan.told.columns else "as proposed"
    place = f"table {plan.place} of {len(plan.grids)}" + (f" ({name})" if name else "")
    return f"{place}, day {plan.understood.day}, columns {how}"


def mapping_words(plan: ImportPlan) -> str:
    """``number = No, run1 = Run 1``."""
    return ", ".join(f"{role} = {label}" for role, label in plan.columns.labels.items())


def sample(seen: Understood, rows: int = 8) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...], int]:
    """Head and first rows of what was understood, and how many more numbers there are."""
    numbers = list(dict.fromkeys(row.number for row in seen.rows))[:rows]
    shown = [row for row in seen.rows if row.number in numbers]
    runs = sorted({(row.day, row.run) for row in shown})
    cells = {(row.number, row.day, row.run): run_text(row.time_ms, row.cones or 0, row.status) for row in shown}
    lines = tuple((number, *(cells.get((number, *run), "") for run in runs)) for number in numbers)
    more = len({row.number for row in seen.rows}) - len(numbers)
    return ("number", *(f"run {run}" for _, run in runs)), lines, more


def unread_lines(seen: Understood, rest: str = "") -> tuple[str, ...]:
    """What could not be read and why. ``rest``: where the ones not listed are."""
    if not seen.unread:
        return ()
    lines = [f"{plural(len(seen.unread), 'place')} could not be read:"]
    lines += [f"  line {item.line}: {item.why}" for item in seen.unread[:_LISTED]]
    more = len(seen.unread) - _LISTED
    return (*lines, f"  and {more} more{rest}") if more > 0 else tuple(lines)


def fresh_numbers(seen: Understood) -> str:
    """The numbers that are entered by it; "" where there are none."""
    fresh = [item.number for item in seen.new_entrants if not item.known]
    return f"not entered yet, to complete in entrants.csv: {', '.join(fresh[:_LISTED])}" if fresh else ""


def difference_line(item: Difference) -> str:
    """A run of mine that was posted otherwise."""
    left = "" if item.minutes_left is None else f"; {item.minutes_left} min left to protest"
    over = "; the time to protest is over" if item.minutes_left == 0 else left
    return f"number {item.number}, run {item.run}: posted {item.posted}, logged {item.logged}{over}"


def count_words(seen: Understood, written: bool) -> str:
    """``to bring in: 12 new, 3 changed, 40 as they were``."""
    verb = "brought in" if written else "to bring in"
    return f"{verb}: {seen.added} new, {seen.updated} changed, {seen.unchanged} as they were"


def changed_lines(plan: ImportPlan, rest: str = "") -> tuple[str, ...]:
    """``22 run 5: 47.311 → 47.301`` for each run that is there and changes. ``rest``: where the ones not listed are."""
    found = [item for item in changes(plan.understood.rows, plan.event) if item.before is not None and item.cells]
    days = len({row.day for row in plan.understood.rows}) > 1
    lines = [_changed(item, days) for item in found[:_LISTED]]
    more = len(found) - _LISTED
    return (*lines, f"and {more} more{rest}") if more > 0 else tuple(lines)


def _changed(item: Change, days: bool) -> str:
    posted, before = item.posted, item.before
    assert before is not None
    old, new = logged_words(before), posted_words(item)
    what = f"{old} → {new}" if old != new else f"{old}, at {before.at or '?'} → {item.cells.get('at', before.at)}"
    return f"{posted.number} {f'day {posted.day} ' if days else ''}run {posted.run}: {what}"


def raw_rows(grid: CellGrid, rows: int = 6) -> tuple[tuple[str, str, str], ...]:
    """A table nothing is understood of, turned on its side: each column's place, header and first cells."""
    head = find_head(grid)
    body = grid.rows[head.first_row : head.first_row + rows]
    return tuple(
        (str(at + 1), label, ", ".join(row[at] for row in body if row[at])) for at, label in enumerate(head.labels)
    )


# what the user says of it


_KEYS = (
    ("say so with --day N", "say of which day with j"),
    ("give the columns with --map to take", "name the columns with m to take"),
    ("name them with --map", "press m and write"),
    ("name it, as in --map", "press m and write"),
    ("--map: ", ""),
)


def on_screen(sentence: str) -> str:
    """A sentence written for the command line, with the keys of the page instead of its flags."""
    for flag, key in _KEYS:
        sentence = sentence.replace(flag, key)
    return sentence


def told_columns(told: ImportTold, text: str) -> ImportTold:
    """The columns as written, ``number=No,run1=Run 1``; blank: as proposed."""
    return replace(told, columns=text.strip() or None)


def next_table(told: ImportTold, place: int, count: int) -> ImportTold:
    """The table after ``place``; columns were said of the one before."""
    return replace(told, table=place % count + 1, columns=None)


def next_day(told: ImportTold, day: int, event: Event) -> ImportTold:
    """The event's day after ``day``; said once, the table counts as one of this event."""
    days = max(1, len(event.settings.days))
    return replace(told, day=day if told.day is None else day % days + 1)


# put aside


@dataclass(frozen=True, slots=True)
class Aside:
    """Something said twice otherwise: where, both versions, and what to do about it."""

    what: str
    rows: tuple[tuple[str, str, str], ...]
    todo: str


def asides(conflicts: Sequence[Conflict], merged: Sequence[Line]) -> tuple[Aside, ...]:
    """What other hands changed at the same time as I did, newest first, then what joined copies said differently."""
    return (*(_conflict(item) for item in reversed(conflicts)), *(_merged(item) for item in merged))


def _conflict(item: Conflict) -> Aside:
    places = [" ".join(filter(None, (found.row or found.file, found.column))) for found in item.differences]
    rows = tuple(
        (place, found.mine or "blank", found.theirs or "blank")
        for place, found in zip(places, item.differences, strict=True)
    )
    todo = "theirs stands in the file; is yours right, enter it again on its page"
    return Aside(f"{item.entry.label}: {item.reason}", rows, todo)


def _merged(item: Line) -> Aside:
    file, row, column, kept, other = item
    where = " ".join(filter(None, (row, column))) or "the whole file"
    todo = "the first is in the file; is the other right, write it there, then take the line out of merge-conflicts.csv"
    return Aside(f"two copies of {file}", ((where, other or "blank", kept or "blank"),), todo)
