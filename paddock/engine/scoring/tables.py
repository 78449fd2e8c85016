"""The shapes standings come in, which both scorers fill, and the arithmetic both share, exact."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache
from typing import TYPE_CHECKING, Literal, NamedTuple, TypeVar, cast, overload

from paddock.model.event import Event
from paddock.model.kept import KeptRows
from paddock.model.rows import TimeRow
from paddock.model.settings import Rules, Settings

if TYPE_CHECKING:
    import polars as pl

Whole = TypeVar("Whole", int, "pl.Expr")
"""A number, or a column of them: the arithmetic of a run stands once for both scorers."""
Basis = Literal["raw", "index"]
INDEX, RAW = "index", "raw"
_SKIPPED = frozenset({"rerun", "practice"})
_STOOD = _SKIPPED | {"dns"}


@dataclass(frozen=True, slots=True)
class RunLine:
    """One run as a table shows it. ``total_ms`` None: void or as if not run; ``counts``: it is in the score."""

    day: int
    run: int
    try_: str | None
    raw_ms: int | None
    cones: int
    misses: int
    status: str | None
    total_ms: int | None
    counts: bool


class Standing(NamedTuple):
    """One entrant in one table. ``rank`` and ``score_ms`` None: unranked; ``runs`` filled on demand.

    A tuple, since every answer makes some thousand of them: a quarter of a dataclass's time.
    """

    rank: int | None
    number: str
    driver: str
    class_: str | None
    score_ms: int | None
    runs_counted: int
    waiting: bool
    gap_to_leader_ms: int | None = None
    gap_to_next_ms: int | None = None
    runs: tuple[RunLine, ...] = ()


@dataclass(frozen=True, slots=True)
class StandingsTable:
    """Standings of a class, of everybody on index times (``index``) or on raw totals (``raw``)."""

    name: str
    scored_by: Basis
    rows: tuple[Standing, ...]

    def of(self, number: str) -> Standing | None:
        """The row of an entrant."""
        return next((row for row in self.rows if row.number == number), None)

    @property
    def leader(self) -> Standing | None:
        """The first ranked row."""
        return self.rows[0] if self.rows and self.rows[0].rank is not None else None

    def best_other(self, number: str) -> Standing | None:
        """The best ranked row of anybody else."""
        return next((row for row in self.rows if row.rank is not None and row.number != number), None)


@dataclass(frozen=True, slots=True)
class Standings:
    """Every table: one per class in the file's order, then ``index``, then ``raw``.

    ``day`` None: totals over ``days``, the days anybody has run.
    """

    tables: tuple[StandingsTable, ...]
    day: int | None
    days: tuple[int, ...]

    def table(self, name: str) -> StandingsTable | None:
        """The table of a name."""
        return next((item for item in self.tables if item.name == name), None)

    def replace_tables(self, tables: Sequence[StandingsTable]) -> Standings:
        """The same with other tables."""
        return replace(self, tables=tuple(tables))


@cache
def by_number(number: str) -> tuple[float, str, str]:
    """Sort key: 7 before 58 before 158, words last. Of any length: no whole number is made of it."""
    found = re.match(r"0*(\d+)", number)
    return (len(found[1]), found[1], number) if found else (math.inf, "", number)


def most_misses(rules: Rules) -> int | None:
    """The missed gates a run may have before it is void; None: any number."""
    return 0 if rules.miss_ms is None else rules.miss_limit or None


@overload
def is_void(stopped: bool, misses: int, rules: Rules) -> bool: ...
@overload
def is_void(stopped: pl.Expr, misses: pl.Expr, rules: Rules) -> pl.Expr: ...
def is_void(stopped: bool | pl.Expr, misses: int | pl.Expr, rules: Rules) -> bool | pl.Expr:
    """A run that happened and gives no time (design: section Scoring, first rule).

    ``stopped``: by its own status, or its driver is disqualified.
    """
    most = most_misses(rules)
    return stopped if most is None else stopped | (misses > most)


def has_run(row: TimeRow) -> bool:
    """A recorded run: not a re-run's first try, not practice, not a row still without time and status."""
    return row.status not in _SKIPPED and (row.time_ms is not None or row.status is not None)


def days_run(event: Event) -> tuple[int, ...]:
    """The days anybody has run on; a row of ``dns`` alone is no run."""
    return event.times.once(_days_run)


def _days_run(times: KeptRows[TimeRow]) -> tuple[int, ...]:
    days: set[int] = set()
    for row in times:
        if row.day not in days and (row.time_ms is not None if row.status is None else row.status not in _STOOD):
            days.add(row.day)
    return tuple(sorted(days))


def may_count(run: int, rules: Rules) -> bool:
    """A run of this number may count: under ``best_of_first`` only the first ones may."""
    return rules.first_runs is None or run <= rules.first_runs


def day_score(scores: Sequence[int | None], rules: Rules) -> int | None:
    """What a day's eligible runs are worth together (None: void); None where that is nothing."""
    if None in scores:
        if rules.summed:
            return None
        scores = [score for score in scores if score is not None]
    whole = cast("Sequence[int]", scores)
    return (sum(whole) if rules.summed else min(whole)) if whole else None


def basis_of_class(settings: Settings, code: str | None) -> Basis:
    """How a class ranks."""
    found = settings.class_of(code)
    return found.scored_by if found else "raw"


def table_names(settings: Settings) -> list[tuple[str, Basis]]:
    """Names and bases of all tables, in order."""
    return [*((item.code, item.scored_by) for item in settings.classes), (INDEX, "index"), (RAW, "raw")]


class Factor(NamedTuple):
    """``num / den``, exactly, in lowest terms."""

    num: int
    den: int


@cache
def factor_of(value: Decimal) -> Factor:
    """The factor a decimal text stands for."""
    return Factor(*value.as_integer_ratio())


def penalty_ms(cones: Whole, misses: Whole, rules: Rules) -> Whole:
    """What cones and, where they cost seconds, missed gates add."""
    return cones * rules.cone_ms + misses * (rules.miss_ms or 0)


def rounded(raw_ms: Whole, num: Whole, den: Whole, rules: Rules) -> Whole:
    """``raw_ms * num / den``, rounded to the printed decimals."""
    unit = rules.unit_ms
    if rules.index_rounding == "truncate":
        return raw_ms * num // (den * unit) * unit
    return (raw_ms * num * 2 + den * unit) // (den * 2 * unit) * unit


def index_ms(raw_ms: Whole, added_ms: Whole, num: Whole, den: Whole, rules: Rules) -> Whole:
    """Index time of a run of ``raw_ms`` with ``added_ms`` of penalties and an index of ``num / den``."""
    if rules.index_on == "raw":
        return rounded(raw_ms, num, den, rules) + added_ms
    return rounded(raw_ms + added_ms, num, den, rules)


def best_is_enough(rules: Rules) -> bool:
    """The index can wait until the best run is known: one factor keeps the order of an entrant's totals."""
    return not rules.summed and rules.index_on == "total"


def slowest_raw_ms(below_ms: int, factor: Factor | None, rules: Rules) -> int | None:
    """The slowest clean raw time, at the printed decimals, whose score is strictly under ``below_ms``.

    ``factor`` None: the score is the raw time. None where no time above zero can do it.
    """
    unit = rules.unit_ms
    if factor is None:
        raw = below_ms - 1
    else:
        steps = -(-below_ms // unit)  # the score must stay under this many steps
        if rules.index_rounding == "truncate":
            top, bottom = steps * factor.den * unit, factor.num
        else:
            top, bottom = (2 * steps - 1) * factor.den * unit, 2 * factor.num
        raw = -(-top // bottom) - 1
    raw = raw // unit * unit
    return raw if raw > 0 else None
