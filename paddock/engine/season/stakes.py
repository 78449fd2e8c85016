"""What each remaining event of a season could change: bounds, not guesses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from paddock.engine.season.points import SeasonRow, SeasonTable, points_for_place, rounded, top_sum
from paddock.model.season import Booking, Points, Season, booked_name


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
