"""The exact scorer in plain Python: the tests' oracle, and what answers at the size of an event."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, NamedTuple, cast

from paddock.engine.scoring.tables import (
    Basis,
    Factor,
    RunLine,
    Standing,
    Standings,
    StandingsTable,
    best_is_enough,
    by_number,
    day_score,
    days_run,
    factor_of,
    has_run,
    index_ms,
    is_void,
    may_count,
    penalty_ms,
    rounded,
    table_names,
)
from paddock.model.event import Event
from paddock.model.rows import EntrantRow, TimeRow
from paddock.model.settings import Rules, Settings

# what a run is worth


@dataclass(frozen=True, slots=True)
class ScoredRun:
    """A row of ``times.csv`` with what it is worth. Totals None: void, as if not run, or no index."""

    row: TimeRow
    ran: bool
    total_ms: int | None
    index_ms: int | None

    def score(self, basis: Basis) -> int | None:
        """What it is worth in a table of this basis."""
        return self.total_ms if basis == "raw" else self.index_ms


def is_out(entrant: EntrantRow) -> bool:
    """Disqualified: no run is worth anything."""
    return entrant.status == "dsq"


def factor_of_entrant(entrant: EntrantRow, settings: Settings) -> Factor | None:
    """The entrant's own index, else the class's; None where the table has neither."""
    value = settings.index.factors.get(entrant.index or entrant.class_ or "")
    return None if value is None else factor_of(value)


@dataclass(frozen=True, slots=True)
class _Rates:
    """An event's rules at hand for many rows.

    ``added``: what a row's status, cones and misses add, in milliseconds; None: it is void.
    """

    rules: Rules
    known: Mapping[str, EntrantRow]
    factors: Mapping[str, Factor | None]
    added: Callable[[str | None, int | None, int | None], int | None]

    @classmethod
    def of(cls, event: Event, numbers: set[str] | None = None) -> _Rates:
        """For all entrants, or for some; by number."""
        rules = event.settings.rules
        people = (item for item in event.entrants if numbers is None or item.number in numbers)
        known = {item.number: item for item in sorted(people, key=lambda item: by_number(item.number))}
        factors = {number: factor_of_entrant(item, event.settings) for number, item in known.items()}

        @cache  # a whole day has a few dozen of these
        def added(status: str | None, cones: int | None, misses: int | None) -> int | None:
            void = is_void(status is not None, misses or 0, rules)
            return None if void else penalty_ms(cones or 0, misses or 0, rules)

        return cls(rules, known, factors, added)

    def total(self, row: TimeRow) -> int | None:
        """Time and penalties; None: void, or as if not run."""
        entrant = self.known.get(row.number)
        added = self.added(row.status, row.cones, row.misses)
        if row.time_ms is None or added is None or (entrant is not None and is_out(entrant)):
            return None
        return row.time_ms + added

    def indexed(self, row: TimeRow, total: int | None) -> int | None:
        """The index time of a row of this total; None: void, or no index."""
        factor = self.factors.get(row.number)
        if total is None or row.time_ms is None or factor is None:
            return None
        return index_ms(row.time_ms, total - row.time_ms, *factor, self.rules)


def scored_runs(event: Event, numbers: Iterable[str] | None = None) -> dict[str, list[ScoredRun]]:
    """Every run by number, in order of day and run; ``numbers`` limits it to some entrants."""
    wanted = None if numbers is None else set(numbers)
    rates = _Rates.of(event, wanted)
    found: dict[str, list[ScoredRun]] = defaultdict(list)
    for row in event.times if wanted is None else event.times_of(*wanted):
        total = rates.total(row)
        found[row.number].append(ScoredRun(row, has_run(row), total, rates.indexed(row, total)))
    for runs in found.values():
        runs.sort(key=lambda item: (item.row.day, item.row.run))
    return found


_Worth = Sequence[Sequence[int | None]]
"""The recorded runs of each of some entrants on a day, what each is worth; None: void, or past those that may count."""
_NOBODY: Mapping[str, list[int | None]] = {}


def _worth(event: Event, rates: _Rates, days: Sequence[int], basis: Basis) -> list[_Worth]:
    """Day by day, of everybody ``rates`` know and in their order, in one pass. A clean run is worth its time."""
    rules, added_ms = rates.rules, rates.added
    all_may, raw = rules.first_runs is None, basis == "raw"
    found: dict[int, Mapping[str, list[int | None]]] = {day: {number: [] for number in rates.known} for day in days}
    day, today = 0, _NOBODY
    for row in event.times:
        if row.day != day:
            day, today = row.day, found.get(row.day, _NOBODY)
        mine = today.get(row.number)
        if mine is None:
            continue
        status, cones, misses, total = row.status, row.cones, row.misses, row.time_ms
        if (status is not None or total is None) and not has_run(row):
            continue
        if total is not None and (cones or misses or status is not None):
            added = added_ms(status, cones, misses)
            total = None if added is None else total + added
        if not all_may and not may_count(row.run, rules):
            total = None
        mine.append(total if raw else rates.indexed(row, total))
    out = [number for number, entrant in rates.known.items() if is_out(entrant)]
    for of_day in found.values():
        for number in out:
            of_day[number][:] = [None] * len(of_day[number])
    return [list(of_day.values()) for of_day in found.values()]


# a score: the runs of a day, the days together, what splits a tie


def _days_in(scores: Sequence[int | None], rules: Rules) -> Sequence[int]:
    """The places of an entrant's days that count: the better one, of equal ones the first, or all with a score."""
    have = [place for place, score in enumerate(scores) if score is not None]
    if have and rules.days == "best":
        return [min(have, key=lambda place: cast("int", scores[place]))]
    return have


def _together(scores: Sequence[int | None], better: bool) -> int | None:
    """An entrant's days as one score."""
    if better or None in scores:
        valid = [score for score in scores if score is not None] if better else ()
        return min(valid, default=None)
    return sum(cast("Sequence[int]", scores)) if scores else None


def _spare(worth: _Worth) -> tuple[tuple[int, int], ...]:
    """What decides a tie under ``next-best``, smaller is better: the second-best runs of the days that count added,
    then the third-best; each (0, sum), or (1, 0) where a day has none."""
    by_day = [sorted(score for score in runs if score is not None) for runs in worth]
    levels = []
    for level in range(max(map(len, by_day), default=0)):
        have = [day[level] for day in by_day if level < len(day)]
        levels.append((0, sum(have)) if len(have) == len(by_day) else (1, 0))
    return (*levels, (1, 0))


class _Scores(NamedTuple):
    """Columns, an entrant each. ``order``: smaller is better, equal shares the rank. ``counted``: runs in the score.
    ``waiting``: the last of the days added is not run yet, all others have a score."""

    score: Sequence[int | None]
    order: Sequence[Any]
    counted: Sequence[int]
    waiting: Sequence[bool]


def _scores(worth: Sequence[_Worth], by_day: Sequence[Sequence[int | None]], rates: _Rates) -> _Scores:
    """Of the runs' ``worth`` and the scores they make, both day by day."""
    rules, people = rates.rules, rates.known.values()
    days = list(zip(*by_day, strict=True)) if by_day else [()] * len(people)
    better = rules.days == "best"
    score = [_together(scores, better) for scores in days]
    counted = [len(scores) - scores.count(None) for scores in days]
    order: Sequence[Any] = score
    waiting = [
        not (latest or better or entrant.status == "withdrawn") and len(scores) > 1 and None not in scores[:-1]
        for entrant, scores, latest in zip(people, days, worth[-1] if worth else days, strict=True)
    ]
    if better or rules.summed or rules.ties == "next-best":
        inside = [_days_in(scores, rules) for scores in days]
        runs = [[worth[day][place] for day in on] for place, on in enumerate(inside)]
        counted = [sum(map(len, mine)) if rules.summed else len(mine) for mine in runs]
        spare = [_spare(mine) if rules.ties == "next-best" else () for mine in runs]
        missing = [-count if rules.summed else 0 for count in counted]
        order = list(zip(missing, score, spare, strict=True))
    return _Scores(score, order, counted, waiting)


def _both(event: Event, rates: _Rates, days: Sequence[int]) -> dict[Basis, _Scores]:
    """Everybody's on raw totals and on index times."""
    rules = rates.rules
    worth = by_index = _worth(event, rates, days, "raw")
    raw = [[day_score(runs, rules) for runs in of_day] for of_day in worth]
    if best_is_enough(rules) and rules.ties == "shared":
        index = [_by_index(scores, rates) for scores in raw]
    else:
        by_index = _worth(event, rates, days, "index")
        index = [[day_score(runs, rules) for runs in of_day] for of_day in by_index]
    return {"raw": _scores(worth, raw, rates), "index": _scores(by_index, index, rates)}


def _by_index(scores: Sequence[int | None], rates: _Rates) -> list[int | None]:
    """A day's scores on index times, where the best run is the same on both."""
    return [
        None if score is None or factor is None else rounded(score, *factor, rates.rules)
        for score, factor in zip(scores, rates.factors.values(), strict=True)
    ]


def tie_spares(
    event: Event, numbers: Sequence[str], days: Sequence[int], basis: Basis
) -> dict[str, tuple[tuple[int, int], ...]]:
    """What splits a tie under ``next-best``: smaller is better."""
    rules, rates = event.settings.rules, _Rates.of(event, set(numbers))
    found = {}
    for number, *worth in zip(rates.known, *_worth(event, rates, days, basis), strict=True):
        inside = _days_in([day_score(runs, rules) for runs in worth], rules)
        found[number] = _spare([worth[day] for day in inside])
    return found


# tables

_Who = tuple[str, str, str | None]
"""Number, driver, class."""


def _table(
    name: str, basis: Basis, people: Sequence[_Who], members: Iterable[int], scores: _Scores, rules: Rules
) -> StandingsTable:
    """``members``: their places among ``people``, by number."""
    score: Sequence[Any] = scores.score
    order, counted, any_count = scores.order, scores.counted, not rules.summed
    placed = sorted([at for at in members if score[at] is not None], key=order.__getitem__)
    rows: list[Standing] = []
    rank, first, ahead = 0, -1, -1
    for at in placed:
        number, driver, class_ = people[at]
        mine, runs = score[at], counted[at]
        to_leader: int | None = 0
        to_next: int | None = None
        if first < 0:
            rank, first = 1, at
        else:
            if order[at] != order[ahead]:
                rank = len(rows) + 1
            to_leader = mine - score[first] if any_count or runs == counted[first] else None
            to_next = mine - score[ahead] if any_count or runs == counted[ahead] else None
        ahead = at
        rows.append(Standing(rank, number, driver, class_, mine, runs, False, to_leader, to_next))
    rest = [Standing(None, *people[at], None, counted[at], scores.waiting[at]) for at in members if score[at] is None]
    return StandingsTable(name, basis, (*rows, *rest))


def scope(event: Event, day: int | None) -> tuple[int, ...]:
    """The days a table adds: one day, the latest under ``separate``, else all days run."""
    if day is not None:
        return (day,)
    days = days_run(event)
    return days[-1:] if event.settings.rules.days == "separate" else days


def standings(event: Event, day: int | None = None, days: tuple[int, ...] | None = None) -> Standings:
    """Every table, of one day or in total. Pure and exact; about 1 microsecond a run.

    ``days``: those to add, None: as the runs there are tell.
    """
    days = scope(event, day) if days is None else days
    rates = _Rates.of(event)
    members: dict[str | None, list[int]] = defaultdict(list)
    people = [(item.number, item.driver or "", item.class_) for item in rates.known.values()]
    for at, who in enumerate(people):
        members[who[2]].append(at)
    scores, classes, everybody = _both(event, rates, days), len(event.settings.classes), range(len(people))
    tables = [
        _table(name, basis, people, members[name] if place < classes else everybody, scores[basis], rates.rules)
        for place, (name, basis) in enumerate(table_names(event.settings))
    ]
    return Standings(tuple(tables), day, days)


# runs as a table shows them


def run_lines(event: Event, days: Sequence[int], basis: Basis, runs: Sequence[ScoredRun]) -> tuple[RunLine, ...]:
    """An entrant's runs on ``days`` as a table of this basis shows them."""
    counting = _counting(runs, days, basis, event.settings.rules)
    return tuple(
        RunLine(
            item.row.day, item.row.run, item.row.try_, item.row.time_ms, item.row.cones or 0, item.row.misses or 0,
            item.row.status, item.total_ms, id(item) in counting,
        )
        for item in runs
        if item.row.day in days
    )  # fmt: skip


def _counting(runs: Sequence[ScoredRun], days: Sequence[int], basis: Basis, rules: Rules) -> set[int]:
    """The identities of the runs in the score of the days; of equal ones the first."""
    may = [
        [item for item in runs if item.ran and item.row.day == day and may_count(item.row.run, rules)] for day in days
    ]
    scores = [day_score([item.score(basis) for item in day], rules) for day in may]
    inside = _days_in(scores, rules)
    if rules.summed:
        return {id(item) for place in inside for item in may[place]}
    return {id(next(item for item in may[place] if item.score(basis) == scores[place])) for place in inside}


def with_runs(event: Event, found: Standings) -> Standings:
    """The same standings with every entrant's runs filled in."""
    runs = scored_runs(event)
    tables = []
    for table in found.tables:
        rows = (
            row._replace(runs=run_lines(event, found.days, table.scored_by, runs.get(row.number, [])))
            for row in table.rows
        )
        tables.append(replace(table, rows=tuple(rows)))
    return found.replace_tables(tables)
