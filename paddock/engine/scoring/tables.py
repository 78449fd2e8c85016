"""The shapes standings come in, which both scorers fill, and the arithmetic both share, exact."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache
from typing import Literal

from paddock.model.event import Event
from paddock.model.rows import EntrantRow, TimeRow
from paddock.model.settings import Rules, Settings

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


@dataclass(frozen=True, slots=True)
class Standing:
    """One entrant in one table. ``rank`` and ``score_ms`` None: unranked; ``runs`` filled on demand."""

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


def by_number(number: str) -> tuple[int, str]:
    """Sort key: 7 before 58 before 158, words last."""
    found = re.match(r"\d+", number)
    return (int(found[0]) if found else 10**9, number)


def is_void(row: TimeRow, entrant: EntrantRow | None, settings: Settings) -> bool:
    """A run that happened and gives no time (design: section Scoring, first rule)."""
    rules = settings.rules
    misses = row.misses or 0
    if row.status in {"dnf", "dns", "dsq"} or (entrant is not None and entrant.status == "dsq"):
        return True
    if rules.miss_ms is None:
        return misses > 0
    return bool(rules.miss_limit) and misses > rules.miss_limit


def has_run(row: TimeRow) -> bool:
    """A recorded run: not a re-run's first try, not practice, not a row still without time and status."""
    return row.status not in _SKIPPED and (row.time_ms is not None or row.status is not None)


def days_run(event: Event) -> tuple[int, ...]:
    """The days anybody has run on; a row of ``dns`` alone is no run."""
    ran = (row for row in event.times if (row.time_ms is not None if row.status is None else row.status not in _STOOD))
    return tuple(sorted({row.day for row in ran}))


def basis_of_class(settings: Settings, code: str | None) -> Basis:
    """How a class ranks."""
    found = settings.class_of(code)
    return found.scored_by if found else "raw"


def table_names(settings: Settings) -> list[tuple[str, Basis]]:
    """Names and bases of all tables, in order."""
    return [*((item.code, item.scored_by) for item in settings.classes), (INDEX, "index"), (RAW, "raw")]


@dataclass(frozen=True, slots=True)
class Factor:
    """``num / den``, exactly; ``den`` is a power of ten."""

    num: int
    den: int


@cache
def factor_of(value: Decimal) -> Factor:
    """The factor a decimal text stands for."""
    exponent = value.normalize().as_tuple().exponent
    places = max(0, -exponent) if isinstance(exponent, int) else 0
    return Factor(int(value.scaleb(places)), 10**places)


def penalty_ms(cones: int, misses: int, rules: Rules) -> int:
    """What cones and, where they cost seconds, missed gates add."""
    return cones * rules.cone_ms + misses * (rules.miss_ms or 0)


def _rounded(raw_ms: int, factor: Factor, rules: Rules) -> int:
    unit = rules.unit_ms
    if rules.index_rounding == "truncate":
        return raw_ms * factor.num // (factor.den * unit) * unit
    return (2 * raw_ms * factor.num + factor.den * unit) // (2 * factor.den * unit) * unit


def index_ms(raw_ms: int, added_ms: int, factor: Factor, rules: Rules) -> int:
    """Index time of a run of ``raw_ms`` with ``added_ms`` of penalties, rounded to the printed decimals."""
    if rules.index_on == "raw":
        return _rounded(raw_ms, factor, rules) + added_ms
    return _rounded(raw_ms + added_ms, factor, rules)


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
