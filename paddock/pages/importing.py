"""What an import would do and what came of it, as pages."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from paddock.engine.results import Difference, Understood
from paddock.engine.results.changes import ResultChange, changes, logged_words, posted_words
from paddock.engine.results.headers import find_head
from paddock.engine.scoring.gap import GapAnswer
from paddock.folders.importing import ImportPlan, ImportTold
from paddock.model.event import Event
from paddock.model.rows import CellGrid
from paddock.pages.document import Block, Column, Document, Heading, PageTable, TableRow, words
from paddock.pages.gap import freshness
from paddock.store.nearby import Near
from paddock.words import plural, run_text

_LISTED = 20
_NEAR = "Newest first, from the event's folder and the one above. Enter takes the one in hand."
_NONE = (
    "No file of results lies in the event's folder or the one above. Save the page or the table there, type a path "
    "with a, take the clipboard with r, or paste the copied table into the line."
)


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
    return f"new entrants, to complete in entrants.csv: {', '.join(fresh[:_LISTED])}" if fresh else ""


def filled_words(seen: Understood) -> str:
    """What entries that are there get from the table; "" = nothing."""
    known = [item for item in seen.new_entrants if item.known]
    told = [f"{item.number} {', '.join(filter(None, (item.driver, item.class_)))}" for item in known[:_LISTED]]
    more = ["…"] if len(known) > _LISTED else []
    return f"written into entrants.csv: {'; '.join((*told, *more))}" if told else ""


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


def _changed(item: ResultChange, days: bool) -> str:
    posted, before = item.posted, item.before
    assert before is not None
    old, new = logged_words(before), posted_words(item)
    what = f"{old} → {new}" if old != new else f"{old}, at {before.at or '?'} → {item.cells.get('at', before.at)}"
    return f"{posted.number} {f'day {posted.day} ' if days else ''}run {posted.run}: {what}"


# the pages


def files_table(files: Sequence[Near]) -> PageTable:
    """A row a file near the event."""
    columns = (
        Column("file", most=100), Column("where", drop=2), Column("changed", drop=3), Column("", drop=1),
    )  # fmt: skip
    rows = []
    for item in files:
        changed = "" if item.changed is None or item.folder else item.changed.strftime("%d %b %Y %H:%M")
        rows.append(TableRow((item.name, item.where, changed, "used last" if item.last else ""), str(item.path)))
    return PageTable(columns, tuple(rows))


def start_page(any_near: bool) -> Document:
    """Under the files."""
    return Document("bring in", (words((_NEAR if any_near else _NONE, "quiet")),))


def preview_page(plan: ImportPlan, why: str) -> Document:
    """What was understood, before anything is written; ``why``: what speaks against it, "" = nothing."""
    blocks: list[Block] = [words((place_words(plan), "strong"))]
    blocks += [words((f"! {why}", "warn"))] if why else []
    blocks += [words((count_words(plan.understood, False), "strong"))]
    blocks += [] if why else [words(("Enter", "key", "take"), (" brings it in", "", "take"))]
    blocks += _understood(plan, "columns (m changes them)", 5)
    return Document("bring in", (*blocks, *_unread(plan)))


def printed_page(plan: ImportPlan, written: bool) -> Document:
    """The same as a command prints it, or the report once it is ``written``."""
    seen = plan.understood
    blocks: list[Block] = [words((place_words(plan), "strong")), words((count_words(seen, written), "strong"))]
    if not written:
        blocks.append(words("nothing is written yet: --yes writes it"))
    elif seen.added or seen.updated:
        back = "to take all of it back open the event (paddock and its folder): undo, z if you have not changed the key"
        blocks.append(words(back))
    blocks += _understood(plan, "columns", 8)
    return Document("bring in", (*blocks, *_unread(plan, " (all of them with --json)")))


def _understood(plan: ImportPlan, title: str, most: int) -> list[Block]:
    """My runs posted otherwise, runs that change, columns, the first rows of ``most`` numbers, and remarks."""
    seen = plan.understood
    blocks: list[Block] = []
    if seen.differences:
        blocks += [Heading("my runs posted otherwise"), *_listed(map(difference_line, seen.differences), "warn")]
    changed = changed_lines(plan)
    blocks += [Heading("runs that change"), *_listed(changed)] if changed else []
    blocks += [Heading(title), words(mapping_words(plan))]
    if plan.columns.left_over:
        blocks.append(words((f"not read, though times are in them: {', '.join(plan.columns.left_over)}", "warn")))
    if plan.columns.unused:
        blocks.append(words(f"not used: {', '.join(plan.columns.unused)}"))
    head, rows, more = sample(seen, most)
    blocks += [Heading("first rows"), _table(head, rows)]
    blocks += [words((f"and {more} more", "quiet"))] if more > 0 else []
    return [*blocks, *_listed(filter(None, (*seen.remarks[:_LISTED], fresh_numbers(seen), filled_words(seen))))]


def raw_page(grid: CellGrid, why: str, rows: int = 6) -> Document:
    """A table nothing is understood of, turned on its side: place, header and first cells, to be named."""
    head = find_head(grid)
    body = grid.rows[head.first_row : head.first_row + rows]
    told = [(f"{at + 1}", label, ", ".join(row[at] for row in body if row[at])) for at, label in enumerate(head.labels)]
    table = _table(("place", "header", "first cells"), told)
    return Document("bring in", (words((f"! {why}", "warn")), Heading("its columns"), table))


def done_page(plan: ImportPlan, gap: GapAnswer | None) -> Document:
    """What was brought in, and how fresh the tables are now."""
    seen = plan.understood
    blocks: list[Block] = [words((count_words(seen, True), "strong"))]
    tables = [found for found in (gap.class_, gap.index) if found is not None] if gap is not None else []
    blocks += [words(f"{found.table}: {freshness(found.seen, None)}") for found in tables]
    blocks += _listed((f"! {difference_line(item)}" for item in seen.differences), "warn")
    blocks += [words(text) for text in (fresh_numbers(seen), filled_words(seen)) if text]
    more = words(("Enter takes another file, s shows the standings, z takes it all back", "quiet"))
    return Document("bring in", (*blocks, *_unread(plan), more))


def _listed(texts: Iterable[str], role: str = "") -> list[Block]:
    return [words((text, role), hang=2) for text in texts]


def _unread(plan: ImportPlan, rest: str = "") -> list[Block]:
    found = unread_lines(plan.understood, rest)
    return [Heading("not read"), *_listed(found)] if found else []


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> PageTable:
    """The last column is folded, or stands under its row."""
    columns = tuple(Column(title, folds=at == len(head) - 1) for at, title in enumerate(head))
    return PageTable(columns, tuple(TableRow(tuple(row)) for row in rows))


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
