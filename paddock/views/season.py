"""A season as a screen shows it: points around me, what is still open, booked events with their fees."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from paddock.engine.season.points import EventPoints, SeasonRow, SeasonTable
from paddock.engine.season.stakes import Need, Outlook, Stake
from paddock.errors import Problem
from paddock.folders.seasons import SeasonView
from paddock.model.season import Booking
from paddock.views.season_rows import RowLine, change_lines, run_lines, run_words, tyre_lines
from paddock.words import plural, seconds

__all__ = [
    "Booked", "PointsShown", "SeasonShown", "around", "counted_words", "fee_words", "figure", "head_words",
    "need_words", "outlook_words", "points_words", "season_shown", "stake_words",
]  # fmt: skip

Cells = tuple[str, ...]
TOP, AROUND = 3, 2
"""Rows shown from the top, and on each side of mine."""


@dataclass(frozen=True, slots=True)
class PointsShown:
    """``rows``: mark, place, driver, number, points, counted; ``mine``: driver, then event, place, score, points."""

    name: str
    counted: str
    rows: tuple[Cells, ...]
    mine: tuple[tuple[str, tuple[Cells, ...]], ...]


@dataclass(frozen=True, slots=True)
class Booked:
    """A line of ``season.toml``; ``state``: ``run``, ``to come``, or ``no points``; ``closes``: words, "" = unknown."""

    name: str
    days: str
    state: str
    fee: str
    closes: str


@dataclass(frozen=True, slots=True)
class SeasonShown:
    """``ruled`` False: there is no ``season.toml``, so no points stand. ``left_out``: faults, a sentence each."""

    head: str
    ruled: bool
    left_out: tuple[str, ...]
    points: tuple[PointsShown, ...]
    open: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    booked: tuple[Booked, ...]
    fees: str
    runs_head: str
    runs: tuple[RowLine, ...]
    changes: tuple[RowLine, ...]
    tyres: tuple[RowLine, ...]


def season_shown(view: SeasonView, ruled: bool, today: date) -> SeasonShown:
    """Everything worked out. ``ruled``: the directory has a ``season.toml``; ``today``: for how long until closing."""
    return SeasonShown(
        head=head_words(view, ruled),
        ruled=ruled,
        left_out=tuple(_left_out(problem) for problem in view.problems),
        points=tuple(_points(item, view) for item in _mine_first(view)) if ruled else (),
        open=tuple(_open(item) for item in view.outlooks if item.stakes) if ruled else (),
        booked=_bookings(view, today),
        fees=fee_words(view),
        runs_head=run_words(view.runs, view.changes),
        runs=run_lines(view.runs),
        changes=change_lines(view.changes),
        tyres=tyre_lines(view.tyres),
    )


def _left_out(problem: Problem) -> str:
    """The folder is named once: its path within the sentence goes."""
    said, here, rest = problem.message.partition(f"{problem.file}: ")
    return f"{problem.file}: {said.rpartition(': ')[0]}: {rest}" if here else f"{problem.file}: {problem.message}"


def _mine_first(view: SeasonView) -> list[SeasonTable]:
    tables = [table for table in view.tables if table.rows]
    return sorted(tables, key=lambda table: all(row.driver not in view.mine for row in table.rows))


def head_words(view: SeasonView, named: bool = True) -> str:
    """``2026: 3 events read, 3 with results, 1 booked to come``; ``named`` False: without the name."""
    left = f", {len(view.left)} booked to come" if view.left else ""
    name = f"{view.name}: " if named else ""
    return f"{name}{plural(len(view.events), 'event')} read, {len(view.held)} with results{left}"


def figure(value: Decimal) -> str:
    """Points or money without idle zeros."""
    return f"{value.normalize():f}" if value else "0"


# points


def counted_words(found: SeasonTable) -> str:
    """How many scores count."""
    return "all scores count" if found.limit is None else f"the best {found.limit} count"


def points_words(item: EventPoints) -> str:
    """Points of one event; dropped ones say so."""
    return figure(item.points) if item.counts else f"({figure(item.points)} dropped)"


def around(found: SeasonTable, mine: frozenset[str], top: int = TOP, near: int = AROUND) -> list[SeasonRow | None]:
    """The top and what is around me; None stands for rows left out."""
    spots = [at for at, row in enumerate(found.rows) if row.driver in mine]
    kept = {*range(top), *(spot for at in spots for spot in range(at - near, at + near + 1))}
    shown: list[SeasonRow | None] = []
    for at, row in enumerate(found.rows):
        if at in kept:
            shown.append(row)
        elif not shown or shown[-1] is not None:
            shown.append(None)
    return shown


def _points(found: SeasonTable, view: SeasonView) -> PointsShown:
    rows = tuple(_row(row, view.mine) for row in around(found, view.mine))
    mine = tuple((row.driver, _mine(row, view)) for row in found.rows if row.driver in view.mine)
    return PointsShown(found.name, counted_words(found), rows, mine)


def _row(row: SeasonRow | None, mine: frozenset[str]) -> Cells:
    if row is None:
        return ("", "", "…", "", "", "")
    counted = f"{sum(item.counts for item in row.events)} of {len(row.events)}"
    return (">" if row.driver in mine else "", f"{row.rank}", row.driver, row.number, figure(row.points), counted)


def _mine(row: SeasonRow, view: SeasonView) -> tuple[Cells, ...]:
    names = {folder: event.settings.name or folder for folder, event in view.events}
    return tuple(
        (names[item.folder] + (f", day {item.day}" if item.day else ""), f"{item.place or '-'}",
         seconds(item.score_ms), points_words(item))
        for item in row.events
    )  # fmt: skip


# what is still open


def outlook_words(item: Outlook) -> str:
    """Where I stand and between which places it must end."""
    if item.best_rank == item.worst_rank:
        return f"{item.driver}, {item.table}: place {item.rank} is settled, save for a tie"
    return (
        f"{item.driver}, {item.table}: place {item.rank} now; "
        f"at best {item.best_rank}, at worst {item.worst_rank}; {figure(item.most)} points at most"
    )


def stake_words(stake: Stake) -> str:
    """What one event could change."""
    parts = [f"a win gives {figure(stake.win)} and adds {figure(stake.gain)}"]
    if stake.counts_above:
        parts.append(f"up to {figure(stake.counts_above)} points would be dropped")
    if stake.pass_next:
        parts.append(f"to pass {stake.pass_next.driver} if they score nothing: {need_words(stake.pass_next)}")
    if stake.hold_next:
        parts.append(f"to hold {stake.hold_next.driver} if they win: {need_words(stake.hold_next)}")
    return "; ".join(parts)


def need_words(need: Need) -> str:
    """Points, and the place or time that gives them."""
    if need.points is None:
        return "not by this event alone"
    if not need.points:
        return "nothing is needed"
    how = f" (place {need.place} or better)" if need.place else ""
    if need.ratio is not None:
        how = f" (within {(need.ratio - 1) * 100:.2f} % of the winner)"
    return f"{figure(need.points)} points{how}"


def _open(item: Outlook) -> tuple[str, tuple[tuple[str, str], ...]]:
    return outlook_words(item), tuple((stake.event, stake_words(stake)) for stake in item.stakes)


# booked events


def _days(item: Booking, view: SeasonView) -> tuple[date, ...]:
    """As booked, else as its folder has them."""
    return item.days or next((event.settings.days for folder, event in view.events if folder == item.folder), ())


def _name(item: Booking) -> str:
    return item.name or item.folder or (f"{item.days[0]}" if item.days else "an event")


def _run(view: SeasonView) -> set[int]:
    return {id(item.booking) for item in view.held}


def _bookings(view: SeasonView, today: date) -> tuple[Booked, ...]:
    """By date; those without one last."""
    dated = sorted(view.rules.events, key=lambda item: _days(item, view)[:1] or (date.max,))
    return tuple(_booked(item, view, today) for item in dated)


def _booked(item: Booking, view: SeasonView, today: date) -> Booked:
    run = id(item) in _run(view)
    state = "run" if run else "to come" if item.points else "no points"
    days = ", ".join(f"{day}" for day in _days(item, view))
    closes = "" if run or item.closes is None else _closes(item.closes, today)
    return Booked(_name(item), days, state, _money(item.fee, view) if item.fee is not None else "", closes)


def _closes(closes: date, today: date) -> str:
    ahead = (closes - today).days
    when = "today" if not ahead else f"in {plural(ahead, 'day')}" if ahead > 0 else f"{plural(-ahead, 'day')} ago"
    return f"{'closed' if ahead < 0 else 'closes'} {closes}, {when}"


def _money(value: Decimal, view: SeasonView) -> str:
    return figure(value) + (f" {view.rules.currency}" if view.rules.currency else "")


def fee_words(view: SeasonView) -> str:
    """What the events run cost and what is to come; "" where no fee is written."""
    fees = [(id(item) in _run(view), item.fee) for item in view.rules.events if item.fee is not None]
    if not fees:
        return ""
    paid = sum((fee for run, fee in fees if run), Decimal(0))
    due = sum((fee for run, fee in fees if not run), Decimal(0))
    return f"Fees: {_money(paid, view)} for events run, {_money(due, view)} to come"
