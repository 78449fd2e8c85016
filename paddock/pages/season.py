"""The season: where I stand, points around me, what is still open, booked events and fees."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal

from paddock.engine.season.points import EventPoints, Need, Outlook, SeasonRow, SeasonTable, Stake
from paddock.engine.season.year import PartRuns, parts_of
from paddock.errors import Problem
from paddock.folders.seasons import SeasonView
from paddock.model.season import Booking, booked_name
from paddock.pages.document import Block, Column, Document, Heading, PageTable, TableRow, Words, paragraphs, words
from paddock.pages.season_records import run_words
from paddock.words import ordinal, plural, seconds

TOP, AROUND = 3, 2
"""Rows shown from the top, and on each side of mine."""

_WRITE = (
    "[points]", "by_place = [10, 8, 6, 5, 4, 3, 2, 1]", 'tables = ["class", "index"]', "[drops]", "worst = 1",
    "[[events]]", 'name = "Autumn"', "days = [2026-10-03]", "fee = 62.50", "paid = true", "closes = 2026-09-20",
)  # fmt: skip
"""A season.toml to begin with."""


_USUAL = (
    "season.toml has no [points]: these are by the usual rule, 10 8 6 5 4 3 2 1 by place in class, every score counts"
)


def whole(view: SeasonView, today: date, written: Sequence[str] = (), year: Document | None = None) -> Document:
    """Everything a command prints, my own answer first: my points and drops, what is open, my tables; what the year
    taught (None: not asked), the other tables. ``written``: files made on the way."""
    runs = (Heading("my runs and changes"), words(run_words(view.runs, view.changes)))
    files = paragraphs([f"written: {line}" for line in written])
    taught = year.blocks if year is not None else ()
    if not view.ruled:
        return Document("points", (*_opening(view), *_unruled(" on the screens"), *taught, *runs, *_by_hand(), *files))
    to_come = (Heading("what is still open"), *to_come_page(view, today).blocks)
    mine, others = _mine(view), _others(view)
    others = [Heading("the other tables"), *others] if taught and others else others
    return Document("points", (*_opening(view), *to_come, *mine, *taught, *runs, *others, *files))


def points_page(view: SeasonView) -> Document:
    """Where I stand, then my tables, then the others; what was left out is named before any figure."""
    if not view.ruled:
        return Document("points", (*_opening(view), *_unruled()))
    return Document("points", (*_opening(view), *_mine(view), *_others(view)))


def _opening(view: SeasonView) -> list[Block]:
    """What was read, what was left out, and where I stand in each table."""
    blocks: list[Block] = [words((_head(view), "strong"))]
    blocks += [words((f"! {_left_out(problem)}", "warn"), hang=2) for problem in view.problems]
    if not view.ruled:
        return blocks
    if not any(table.rows for table in view.tables):
        return [*blocks, words("no event of the season has a result yet")]
    blocks += [] if view.rules.says_points else [words((_USUAL, "quiet"))]
    for table in view.tables:
        blocks += [words((told, "strong"), hang=2) for told in _stands(table, view)]
    return blocks


def _stands(table: SeasonTable, view: SeasonView) -> Iterable[str]:
    """``ASH: Ansel Brook 2nd of 14 with 16 points, 4 behind Runa Tolland; the best 2 count, dropped 8 (May)``."""
    for at, row in enumerate(table.rows):
        if row.driver not in view.mine:
            continue
        told = f"{table.name}: {row.driver} {ordinal(row.rank)} of {len(table.rows)} with {figure(row.points)} points"
        next_to = table.rows[at - 1] if at else table.rows[1] if len(table.rows) > 1 else None
        if next_to is not None:
            apart = abs(row.points - next_to.points)
            how = "behind" if at else "ahead of"
            told += f", {figure(apart)} {how} {next_to.driver}" if apart else f", level with {next_to.driver}"
        names = {folder: event.settings.name or folder for folder, event in view.events}
        dropped = [f"{figure(item.points)} ({names[item.folder]})" for item in row.events if not item.counts]
        yield told + (f"; {_counted(table)}, dropped {', '.join(dropped)}" if dropped else "")


def _mine(view: SeasonView) -> list[Block]:
    """The tables I am in: who is around me, and my events."""
    blocks: list[Block] = []
    for table in view.tables:
        rows = [row for row in table.rows if row.driver in view.mine]
        if rows:
            blocks += [Heading(f"{table.name}: {_counted(table)}"), _around_me(table, view.mine)]
            blocks += [_event_by_event(row, view) for row in rows]
    return blocks


def _others(view: SeasonView) -> list[Block]:
    """The tables I am not in."""
    blocks: list[Block] = []
    for table in view.tables:
        if table.rows and all(row.driver not in view.mine for row in table.rows):
            blocks += [Heading(f"{table.name}: {_counted(table)}"), _around_me(table, view.mine)]
    return blocks


def to_come_page(view: SeasonView, today: date) -> Document:
    """What each event left could change, then booked events and fees. ``today``: how long until one closes."""
    if not view.ruled:
        return Document("to come", _unruled())
    open_ = [item for item in view.outlooks if item.stakes]
    blocks: list[Block] = []
    for item in open_:
        blocks.append(words((_standing(item), "strong")))
        blocks += [words(f"  {stake.event}: {_at_stake(stake)}", hang=4) for stake in item.stakes]
    if not open_:
        blocks.append(words("nothing is left to win or lose: write the events to come under [[events]]"))
    return Document("to come", (*blocks, *_bookings(view, today), *due_parts(view)))


def due_parts(view: SeasonView) -> tuple[Words, ...]:
    """Parts whose maker's interval is reached, a line each; nothing where none is due."""
    found = (item for car, parts in view.rules.parts.items() for item in parts_of(view.events, car, parts) if item.due)
    return tuple(words((f"! due: {part_words(item)}", "warn"), hang=2) for item in found)


def part_words(item: PartRuns) -> str:
    """``front pads of estate, 64 runs since it was seen to at Spring, its maker says 60``."""
    since = f"since it was seen to at {item.done}" if item.done else "in the events here, never seen to in them"
    return f"{item.part} of {item.car}, {item.since} runs {since}, its maker says {item.interval}"


def _head(view: SeasonView) -> str:
    left = f", {len(view.left)} booked to come" if view.left else ""
    name = f"{view.name}: " if view.ruled else ""
    return f"{name}{plural(len(view.events), 'event')} read, {len(view.held)} with results{left}"


def _left_out(problem: Problem) -> str:
    """The folder is named once: its path within the sentence goes."""
    said, here, rest = problem.message.partition(f"{problem.file}: ")
    return f"{problem.file}: {said.rpartition(': ')[0]}: {rest}" if here else f"{problem.file}: {problem.message}"


def _unruled(where: str = "") -> tuple[Words, ...]:
    return (
        words("There is no season.toml beside the events, so no points are added up; runs, changes and tyres are read "
              "all the same."),
        words(('"', "key", "go('booked')"),
              (f"{where} books an event and writes the file. Points then go by the usual rule, 10 8 6 5 4 3 2 1 "
               "by place in class, every score counting, until the file says another.", "", "go('booked')")),
    )  # fmt: skip


def _by_hand() -> tuple[Block, ...]:
    """The file written by hand, for who has no screens at hand."""
    return (
        Heading("season.toml with an editor"),
        *paragraphs([f"  {line}" for line in _WRITE]),
        words(("docs/methods/season.md has every key.", "quiet")),
    )


def figure(value: Decimal) -> str:
    """Points or money without idle zeros."""
    return f"{value.normalize():f}" if value else "0"


# points


def _counted(found: SeasonTable) -> str:
    return "all scores count" if found.limit is None else f"the best {found.limit} count"


def around(found: SeasonTable, mine: frozenset[str]) -> list[SeasonRow | None]:
    """The top and what is around me; None stands for rows left out."""
    spots = [at for at, row in enumerate(found.rows) if row.driver in mine]
    kept = {*range(TOP), *(spot for at in spots for spot in range(at - AROUND, at + AROUND + 1))}
    shown: list[SeasonRow | None] = []
    for at, row in enumerate(found.rows):
        if at in kept:
            shown.append(row)
        elif not shown or shown[-1] is not None:
            shown.append(None)
    return shown


def _around_me(found: SeasonTable, mine: frozenset[str]) -> PageTable:
    columns = (
        Column(""), Column("", figures=True), Column("driver", most=30), Column("number", figures=True, drop=2),
        Column("points", figures=True), Column("counted", drop=1),
    )  # fmt: skip
    rows = []
    for row in around(found, mine):
        if row is None:
            rows.append(TableRow(("", "", "…", "", "", "")))
            continue
        counted = f"{sum(item.counts for item in row.events)} of {len(row.events)}"
        me = row.driver in mine
        cells = (">" if me else "", f"{row.rank}", row.driver, row.number, figure(row.points), counted)
        rows.append(TableRow(cells, mine=me))
    return PageTable(columns, tuple(rows))


def _event_by_event(row: SeasonRow, view: SeasonView) -> PageTable:
    names = {folder: event.settings.name or folder for folder, event in view.events}
    columns = (
        Column("event", most=34), Column("place", figures=True), Column("score", figures=True), Column("points"),
    )  # fmt: skip
    rows = tuple(
        TableRow((names[item.folder] + (f", day {item.day}" if item.day else ""), f"{item.place or '-'}",
             seconds(item.score_ms), _points(item)))
        for item in row.events
    )  # fmt: skip
    return PageTable(columns, rows, f"{row.driver}, event by event")


def _points(item: EventPoints) -> str:
    return figure(item.points) if item.counts else f"({figure(item.points)} dropped)"


# what is still open


def _standing(item: Outlook) -> str:
    if item.best_rank == item.worst_rank:
        return f"{item.driver}, {item.table}: place {item.rank} is settled, save for a tie"
    return (
        f"{item.driver}, {item.table}: place {item.rank} now; "
        f"at best {item.best_rank}, at worst {item.worst_rank}; {figure(item.most)} points at most"
    )


def _at_stake(stake: Stake) -> str:
    parts = [f"a win gives {figure(stake.win)} and adds {figure(stake.gain)}"]
    if stake.counts_above:
        parts.append(f"up to {figure(stake.counts_above)} points would be dropped")
    if stake.pass_next:
        parts.append(f"to pass {stake.pass_next.driver} if they score nothing: {_needed(stake.pass_next)}")
    if stake.hold_next:
        parts.append(f"to hold {stake.hold_next.driver} if they win: {_needed(stake.hold_next)}")
    return "; ".join(parts)


def _needed(need: Need) -> str:
    if need.points is None:
        return "not by this event alone"
    if not need.points:
        return "nothing is needed"
    how = f" (place {need.place} or better)" if need.place else ""
    if need.ratio is not None:
        how = f" (within {(need.ratio - 1) * 100:.2f} % of the winner)"
    return f"{figure(need.points)} points{how}"


# booked events


def _bookings(view: SeasonView, today: date) -> tuple[Block, ...]:
    """By date; those without one last."""
    dated = sorted(view.rules.events, key=lambda item: _days(item, view)[:1] or (date.max,))
    if not dated:
        return ()
    columns = (Column("event", most=30), Column("days", drop=1, under=True), Column("", drop=2, under=True),
               Column("fee", figures=True), Column("entries", drop=3, under=True))  # fmt: skip
    fees = _fees(view)
    return (
        Heading("booked events"),
        PageTable(columns, tuple(_booked(item, view, today) for item in dated)),
        *((words((fees, "strong")),) if fees else ()),
    )


def _booked(item: Booking, view: SeasonView, today: date) -> TableRow:
    run = id(item) in _run_already(view)
    passed = _never_held(item, view)
    state = "run" if run else "never held" if passed else "to come" if item.points else "no points"
    days = ", ".join(f"{day}" for day in _days(item, view))
    closes = "" if run or item.closes is None else closing_words(item.closes, today)
    return TableRow((booked_name(item), days, state, _money(item.fee, view) if item.fee is not None else "", closes))


def _never_held(item: Booking, view: SeasonView) -> bool:
    """A later event with results has passed it by."""
    return item.points and id(item) not in _run_already(view) and all(item is not one for one in view.left)


def _days(item: Booking, view: SeasonView) -> tuple[date, ...]:
    """As booked, else as its folder has them."""
    return item.days or next((event.settings.days for folder, event in view.events if folder == item.folder), ())


def _run_already(view: SeasonView) -> set[int]:
    return {id(item.booking) for item in view.held}


def closing_words(closes: date, today: date) -> str:
    """When entries close, from today."""
    ahead = (closes - today).days
    when = "today" if not ahead else f"in {plural(ahead, 'day')}" if ahead > 0 else f"{plural(-ahead, 'day')} ago"
    return f"{'closed' if ahead < 0 else 'closes'} {closes}, {when}"


def _money(value: Decimal, view: SeasonView) -> str:
    return figure(value) + (f" {view.rules.currency}" if view.rules.currency else "")


def _fees(view: SeasonView) -> str:
    run = _run_already(view)
    fees = [
        ("run" if id(item) in run else "lost" if _never_held(item, view) else "due", item.fee)
        for item in view.rules.events if item.fee is not None
    ]  # fmt: skip
    if not fees:
        return ""
    paid, due, lost = (sum((fee for of, fee in fees if of == kind), Decimal(0)) for kind in ("run", "due", "lost"))
    never = f", {_money(lost, view)} for one never held" if lost else ""
    return f"Fees: {_money(paid, view)} for events run, {_money(due, view)} to come{never}"
