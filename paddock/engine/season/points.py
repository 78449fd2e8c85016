"""Points over a season: by place or by ratio to the winner, drops, ties; and what is at stake in those to come.

Sources: docs/methods/season.md.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

from paddock.engine.scoring.tables import Standings, StandingsTable
from paddock.model.event import Event
from paddock.model.season import Booking, Drops, Points, Season, booked_name


@dataclass(frozen=True, slots=True)
class EventResult:
    """One driver in one table of one event. ``place`` and ``score_ms`` None: ran, has no score."""

    driver: str
    number: str
    place: int | None
    score_ms: int | None


@dataclass(frozen=True, slots=True)
class ScoredEvent:
    """What gives points once: an event, or one ``day`` of it where days are scored apart (None: all of it).

    ``tables``: name to its results, best first; ``mine``: my drivers.
    """

    folder: str
    day: int | None
    name: str
    days: tuple[date, ...]
    booking: Booking | None
    tables: Mapping[str, tuple[EventResult, ...]]
    mine: frozenset[str] = frozenset()

    @property
    def weight(self) -> Decimal:
        """What its points are multiplied by."""
        return self.booking.weight if self.booking else Decimal(1)

    @property
    def counts(self) -> bool:
        """It gives points."""
        return self.booking is None or self.booking.points


@dataclass(frozen=True, slots=True)
class EventPoints:
    """What one event, or one ``day`` of it, gave a driver; ``counts`` False: dropped."""

    folder: str
    day: int | None
    place: int | None
    score_ms: int | None
    points: Decimal
    counts: bool


@dataclass(frozen=True, slots=True)
class SeasonRow:
    """A driver's season: ``events`` holds those they ran, in the season's order."""

    rank: int
    driver: str
    number: str
    points: Decimal
    events: tuple[EventPoints, ...]


@dataclass(frozen=True, slots=True)
class SeasonTable:
    """The season's order in one table. ``limit``: how many scores count, None: all."""

    name: str
    rows: tuple[SeasonRow, ...]
    limit: int | None

    def of(self, driver: str) -> SeasonRow | None:
        """The row of a driver."""
        return next((row for row in self.rows if row.driver == driver), None)


def held(folder: str, event: Event, standings: Standings, season: Season) -> ScoredEvent | None:
    """An event's results as the season counts them; None where nobody has a score yet.

    ``standings`` of one day make that day count by itself.
    """
    booking = booking_of(folder, event.settings.days, season)
    names = {item.number: driver_key(item.driver, item.number, season) for item in event.entrants}
    ran = {row.number for row in event.times if standings.day in {None, row.day}}
    tables = {table.name: _results(table, names, ran) for table in standings.tables}
    if not any(result.place for results in tables.values() for result in results):
        return None
    return ScoredEvent(
        folder,
        standings.day,
        event.settings.name or event.name,
        event.settings.days if standings.day is None else event.settings.days[standings.day - 1 : standings.day],
        booking,
        tables,
        frozenset(names[number] for number in event.settings.mine.numbers if number in names),
    )


def driver_key(driver: str | None, number: str, season: Season) -> str:
    """What a driver is known by over the season: the name, spaces evened out; the number where it is blank."""
    name = " ".join((driver or "").split())
    return season.drivers.get(name, name) or f"number {number}"


def _results(table: StandingsTable, names: Mapping[str, str], ran: set[str]) -> tuple[EventResult, ...]:
    """A driver with two entries in a table scores with the better one."""
    found: dict[str, EventResult] = {}
    for row in table.rows:
        driver = names[row.number]
        if driver not in found and (row.rank is not None or row.number in ran):
            found[driver] = EventResult(driver, row.number, row.rank, row.score_ms)
    return tuple(found.values())


def booking_of(folder: str, days: Sequence[date], season: Season) -> Booking | None:
    """The season's line for an event folder: by the folder's name, else by the first day."""
    named = next((item for item in season.events if item.folder == folder), None)
    if named is not None:
        return named
    dated = (item for item in season.events if item.folder is None and item.days)
    return next((item for item in dated if days and item.days[0] == days[0]), None)


def remaining(season: Season, ran: Iterable[ScoredEvent]) -> tuple[Booking, ...]:
    """Booked events that give points and have no results yet, by date; one that a later event with results has passed
    by was never held."""
    ran = tuple(ran)
    run = {id(item.booking) for item in ran}
    latest = max((day for item in ran for day in item.days[:1]), default=date.min)
    open_ = [
        item
        for item in season.events
        if item.points and id(item) not in run and not (item.days and item.days[-1] < latest)
    ]
    return tuple(sorted(open_, key=lambda item: item.days[:1] or (date.max,)))


def points_for_place(place: int, rule: Points) -> Fraction:
    """Points of a place; places count from 1."""
    return Fraction(rule.by_place[place - 1] if place <= len(rule.by_place) else rule.rest)


def points_for_ratio(score_ms: int, best_ms: int, rule: Points) -> Fraction:
    """Points for a score against the winner's, exact.

    Plain: full x best / mine. With ``slowest`` s: (full - floor) x (s best / mine - 1) / (s - 1) + floor,
    never under the floor (the form of Formula SAE Rules 2024, D.11.4).
    """
    ratio = Fraction(best_ms, score_ms) if score_ms else Fraction(1)
    if rule.slowest is None:
        return max(Fraction(rule.full) * ratio, Fraction(rule.floor))
    slowest, floor = Fraction(rule.slowest), Fraction(rule.floor)
    return max((Fraction(rule.full) - floor) * (slowest * ratio - 1) / (slowest - 1) + floor, floor)


def award(results: Sequence[EventResult], rule: Points, weight: Decimal = Decimal(1)) -> dict[str, Decimal]:
    """Points of one event by driver, rounded as the rule says.

    Drivers without a score get ``started``. Ties: each the place's points (``shared``), or the points of
    the places they fill, divided (``pooled``); by ratio a tie needs no rule.
    """
    scored = [item for item in results if item.place is not None and item.score_ms is not None]
    if rule.rule == "ratio":
        best = min((item.score_ms or 0 for item in scored), default=0)
        exact = {item.driver: points_for_ratio(item.score_ms or 0, best, rule) for item in scored}
    else:
        exact = _by_place(scored, rule)
    none = {item.driver: Fraction(rule.started) for item in results if item.driver not in exact}
    times = Fraction(weight)
    return {driver: rounded(value * times, rule) for driver, value in (exact | none).items()}


def _by_place(scored: Sequence[EventResult], rule: Points) -> dict[str, Fraction]:
    """Places are counted anew: drivers, not entries, fill them."""
    groups: dict[int, list[str]] = defaultdict(list)
    for item in scored:
        groups[item.place or 0].append(item.driver)
    points: dict[str, Fraction] = {}
    for _, drivers in sorted(groups.items()):
        first = len(points) + 1
        filled = [points_for_place(first + step, rule) for step in range(len(drivers))]
        each = filled[0] if rule.ties == "shared" else sum(filled, Fraction(0)) / len(filled)
        points.update(dict.fromkeys(drivers, each))
    return points


def rounded(value: Fraction, rule: Points) -> Decimal:
    """To the rule's decimals, half up or cut off, from the exact value."""
    over, under = value.numerator * 10**rule.decimals, value.denominator
    whole = (2 * over + under) // (2 * under) if rule.rounding == "half-up" else over // under
    return Decimal(whole).scaleb(-rule.decimals)


def counted_limit(drops: Drops, events: int) -> int | None:
    """How many scores count when the season has ``events`` in all, run and booked; None: all."""
    if drops.counted is not None:
        return drops.counted
    return max(events - drops.worst, 1) if drops.worst else None


def top_sum(points: Iterable[Decimal], limit: int | None) -> Decimal:
    """The best ``limit`` of them added."""
    return sum(sorted(points, reverse=True)[:limit], Decimal(0))


def season_tables(season: Season, ran: Sequence[ScoredEvent]) -> tuple[SeasonTable, ...]:
    """Every table the rule asks for: ``class`` stands for each class; events must be in the season's order."""
    counting = [item for item in ran if item.counts]
    limit = counted_limit(season.drops, len(counting) + len(remaining(season, ran)))
    return tuple(_season_table(name, season, counting, limit) for name in _names(season.points, counting))


def _names(rule: Points, ran: Sequence[ScoredEvent]) -> list[str]:
    seen = dict.fromkeys(name for item in ran for name in item.tables)
    classes = [name for name in seen if name not in {"index", "raw"}]
    wanted = [name for asked in rule.tables for name in (classes if asked == "class" else [asked])]
    return [name for name in dict.fromkeys(wanted) if name in seen]


def _season_table(name: str, season: Season, ran: Sequence[ScoredEvent], limit: int | None) -> SeasonTable:
    found: dict[str, list[EventPoints]] = defaultdict(list)
    numbers: dict[str, str] = {}
    for item in ran:
        results = item.tables.get(name, ())
        points = award(results, season.points, item.weight)
        for result in results:
            line = EventPoints(item.folder, item.day, result.place, result.score_ms, points[result.driver], True)
            found[result.driver].append(line)
            numbers[result.driver] = result.number
    rows = [(driver, numbers[driver], _dropped(lines, limit)) for driver, lines in found.items()]
    return SeasonTable(name, _ranked(rows, season.points), limit)


def _dropped(lines: Sequence[EventPoints], limit: int | None) -> tuple[EventPoints, ...]:
    """Of equal scores the later one is dropped."""
    best = set(sorted(range(len(lines)), key=lambda at: (-lines[at].points, at))[:limit])
    return tuple(line if at in best else replace(line, counts=False) for at, line in enumerate(lines))


def _ranked(rows: Sequence[tuple[str, str, tuple[EventPoints, ...]]], rule: Points) -> tuple[SeasonRow, ...]:
    deepest = max((line.place or 0 for _, _, lines in rows for line in lines), default=0)
    keyed = sorted((_order(lines, rule, deepest), driver, number, lines) for driver, number, lines in rows)
    ranked: list[SeasonRow] = []
    for at, (key, driver, number, lines) in enumerate(keyed):
        rank = ranked[-1].rank if at and keyed[at - 1][0] == key else at + 1
        ranked.append(SeasonRow(rank, driver, number, _total(lines), lines))
    return tuple(ranked)


def _total(lines: Iterable[EventPoints]) -> Decimal:
    return sum((line.points for line in lines if line.counts), Decimal(0))


def _order(lines: Sequence[EventPoints], rule: Points, deepest: int) -> tuple[Decimal, tuple[int, ...]]:
    """Fewer points later; under ``wins`` most firsts, then most seconds, and so on decide a tie."""
    if rule.season_ties == "shared":
        return (-_total(lines), ())
    places = [line.place for line in lines]
    return (-_total(lines), tuple(-places.count(place) for place in range(1, deepest + 1)))


@dataclass(frozen=True, slots=True)
class Need:
    """The fewest ``points`` for an aim, None: no result does it.

    ``place``: the last place that gives them (rule place); ``ratio``: my score over the winner's that
    just gives them (rule ratio).
    """

    driver: str
    points: Decimal | None
    place: int | None = None
    ratio: float | None = None


@dataclass(frozen=True, slots=True)
class Stake:
    """One remaining event for me, taken alone: all other remaining events left out.

    ``win``: points of a win. ``gain``: what a win adds to my season, after drops. ``counts_above``: a
    result up to these points would be dropped. ``pass_next``: to get ahead of the driver before me if they
    score nothing; ``hold_next``: to stay ahead of the one behind me if they win.
    """

    event: str
    win: Decimal
    gain: Decimal
    counts_above: Decimal
    pass_next: Need | None
    hold_next: Need | None


@dataclass(frozen=True, slots=True)
class Outlook:
    """The season's end for me: from scoring nothing more to winning everything left.

    ``best_rank``: I win all, nobody else scores again. ``worst_rank``: I score nothing and each other wins
    all, which they can't all do, so the truth lies within. Drivers without a result so far are left out.
    """

    table: str
    driver: str
    rank: int
    points: Decimal
    most: Decimal
    best_rank: int
    worst_rank: int
    stakes: tuple[Stake, ...]


def win_points(rule: Points, weight: Decimal) -> Decimal:
    """What winning an event gives."""
    exact = points_for_place(1, rule) if rule.rule == "place" else Fraction(rule.full)
    return rounded(exact * Fraction(weight), rule)


def outlook(table: SeasonTable, driver: str, season: Season, left: Sequence[Booking]) -> Outlook | None:
    """What is still open for a driver; None where they are not in the table."""
    mine = table.of(driver)
    if mine is None:
        return None
    wins = [win_points(season.points, item.weight) for item in left]
    most = _final(mine, wins, table.limit)
    others = [row for row in table.rows if row.driver != driver]
    return Outlook(
        table.name,
        driver,
        mine.rank,
        mine.points,
        most,
        1 + sum(row.points > most for row in others),
        1 + sum(_final(row, wins, table.limit) > mine.points for row in others),
        tuple(_stake(table, mine, season.points, item) for item in left),
    )


def _scores(row: SeasonRow) -> list[Decimal]:
    return [line.points for line in row.events]


def _final(row: SeasonRow, more: Sequence[Decimal], limit: int | None) -> Decimal:
    return top_sum([*_scores(row), *more], limit)


def _stake(table: SeasonTable, mine: SeasonRow, rule: Points, event: Booking) -> Stake:
    win = win_points(rule, event.weight)
    scores = sorted(_scores(mine), reverse=True)
    full = table.limit is not None and len(scores) >= table.limit
    ahead = max((row for row in table.rows if row.points > mine.points), key=lambda row: row.rank, default=None)
    behind = next((row for row in table.rows if row.points < mine.points), None)

    def need(other: SeasonRow, target: Decimal) -> Need:
        return _need(mine, other.driver, target, table.limit, rule, event.weight)

    return Stake(
        booked_name(event),
        win,
        _final(mine, [win], table.limit) - mine.points,
        scores[(table.limit or 0) - 1] if full else Decimal(0),
        need(ahead, ahead.points) if ahead else None,
        need(behind, _final(behind, [win], table.limit)) if behind else None,
    )


def _need(mine: SeasonRow, other: str, target: Decimal, limit: int | None, rule: Points, weight: Decimal) -> Need:
    """Strictly more than ``target``: the smallest step of the rule's decimals above what is missing."""
    if mine.points > target:
        return Need(other, Decimal(0))
    step = Decimal(1).scaleb(-rule.decimals)
    scores = sorted(_scores(mine), reverse=True)
    kept = sum(scores[: limit - 1] if limit is not None else scores, Decimal(0))
    wanted = target - kept + step
    if wanted > win_points(rule, weight):
        return Need(other, None)
    if rule.rule == "place":
        return _place_need(other, wanted, rule, weight)
    return Need(other, wanted, ratio=_ratio_for(wanted, rule, weight))


def _place_need(other: str, wanted: Decimal, rule: Points, weight: Decimal) -> Need:
    places = range(1, len(rule.by_place) + 2)
    worth = {place: rounded(points_for_place(place, rule) * Fraction(weight), rule) for place in places}
    enough = [place for place, points in worth.items() if points >= wanted]
    return Need(other, worth[enough[-1]], place=enough[-1]) if enough else Need(other, None)


def _ratio_for(wanted: Decimal, rule: Points, weight: Decimal) -> float | None:
    """The score ratio mine / winner's whose points are just ``wanted``; None where any score does."""
    if not weight:
        return None
    points = Fraction(wanted) / Fraction(weight)
    if points <= Fraction(rule.floor) or not rule.full:
        return None
    if rule.slowest is None:
        return float(Fraction(rule.full) / points)
    floor, slowest = Fraction(rule.floor), Fraction(rule.slowest)
    share = (points - floor) * (slowest - 1) / (Fraction(rule.full) - floor)
    return float(slowest / (share + 1))
