"""Standings in polars, on whole milliseconds and exact factors.

Eager expressions, few calls: at the size of an event a call costs more than its work.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import add

import polars as pl

from paddock.engine.scoring.plain import factor_of_entrant, scope, tie_spares
from paddock.engine.scoring.tables import (
    Basis,
    Standing,
    Standings,
    StandingsTable,
    best_is_enough,
    by_number,
    has_run,
    index_ms,
    is_void,
    penalty_ms,
    rounded,
    table_names,
)
from paddock.model.event import Event
from paddock.model.rows import EntrantRow, TimeRow
from paddock.model.settings import Rules, Settings

# rows to polars frames: the one place where the frames' columns are declared


TIMES = {
    "e": pl.UInt32,
    "day": pl.Int64,
    "run": pl.Int64,
    "time_ms": pl.Int64,
    "cones": pl.Int64,
    "misses": pl.Int64,
    "void": pl.Boolean,
}
"""One row per recorded run in file order; ``time_ms`` null where there is none, counts 0 where blank;
``void`` by status alone. Re-runs' first tries, practice and rows without time and status are left out."""

ENTRANTS = {
    "number": pl.String,
    "driver": pl.String,
    "class": pl.String,
    "class_at": pl.Int64,
    "num": pl.Int64,
    "den": pl.Int64,
    "dsq": pl.Boolean,
    "withdrawn": pl.Boolean,
    "order": pl.Int64,
}
"""One row per entrant; ``class_at`` the class's place in event.toml, null for none; ``num/den`` the exact
index, null where there is none; ``order`` by number."""


def times_frame(rows: Iterable[TimeRow], entrants: Sequence[EntrantRow]) -> pl.DataFrame:
    """``TIMES`` from rows of known numbers; others are left out."""
    position = {item.number: place for place, item in enumerate(entrants)}
    known = [row for row in rows if row.number in position and has_run(row)]
    return pl.DataFrame(
        {
            "e": [position[row.number] for row in known],
            "day": [row.day for row in known],
            "run": [row.run for row in known],
            "time_ms": [row.time_ms for row in known],
            "cones": [row.cones or 0 for row in known],
            "misses": [row.misses or 0 for row in known],
            "void": [row.status is not None for row in known],
        },
        schema=TIMES,
    )


def entrants_frame(entrants: Sequence[EntrantRow], settings: Settings) -> pl.DataFrame:
    """``ENTRANTS`` in file order."""
    places = {item.code: place for place, item in enumerate(settings.classes)}
    factors = [factor_of_entrant(item, settings) for item in entrants]
    placed = sorted(range(len(entrants)), key=lambda place: by_number(entrants[place].number))
    order = [0] * len(entrants)
    for rank, place in enumerate(placed):
        order[place] = rank
    return pl.DataFrame(
        {
            "number": [item.number for item in entrants],
            "driver": [item.driver or "" for item in entrants],
            "class": [item.class_ for item in entrants],
            "class_at": [places.get(item.class_ or "") for item in entrants],
            "num": [factor.num if factor else None for factor in factors],
            "den": [factor.den if factor else None for factor in factors],
            "dsq": [item.status == "dsq" for item in entrants],
            "withdrawn": [item.status == "withdrawn" for item in entrants],
            "order": order,
        },
        schema=ENTRANTS,
    )


def frames_of(event: Event) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Times and entrants of an event."""
    return times_frame(event.times, event.entrants), entrants_frame(event.entrants, event.settings)


_SCORE: dict[Basis, str] = {"raw": "total", "index": "indexed"}
_NAMES = ("total", "indexed")
NEVER = 10**14
"""Stands for the time of a run that gives none: 3,000 years, and some 90,000 of them added still fit a column."""
_STRIDE, _MOST_RUNS, _CLASS_STRIDE = 10**11, 9_999, 10**15
"""Sort keys are one integer: class, then runs still missing, then the score."""


def _void(rules: Rules) -> pl.Expr:
    void = is_void(pl.col("void"), pl.col("misses"), rules) | pl.col("time_ms").is_null()
    return void | (pl.col("run") > rules.first_runs) if rules.first_runs is not None else void


def _on_days(times: pl.DataFrame, days: Sequence[int]) -> pl.DataFrame:
    """The runs of these days; the frame itself where that is all of them."""
    on = times["day"]
    if on.min() == days[0] and on.max() == days[-1]:
        return times
    return times.filter(pl.col("day").is_between(days[0], days[-1]))


def run_frame(times: pl.DataFrame, entrants: pl.DataFrame, rules: Rules, days: Sequence[int]) -> pl.DataFrame:
    """Runs on ``days`` with their ``slot`` (day and entrant as one number), ``total`` and, where it is not
    left for later, ``indexed`` (ms; ``NEVER`` where void, ``indexed`` also without an index).
    """
    inside = _on_days(times, days)
    place = sum((pl.col("day") > day for day in days[:-1]), pl.lit(0))
    penalty, good = penalty_ms(pl.col("cones"), pl.col("misses"), rules), ~_void(rules)
    made = [
        (place * entrants.height + pl.col("e")).cast(pl.Int64).alias("slot"),
        pl.when(good).then(pl.col("time_ms") + penalty).otherwise(NEVER).alias("total"),
    ]
    if best_is_enough(rules):
        return inside.select(made)
    index = index_ms(pl.col("time_ms"), penalty, pl.col("num"), pl.col("den"), rules)
    made.append(pl.when(good).then(index).fill_null(NEVER).alias("indexed"))
    return inside.hstack(entrants.select(pl.col("num", "den").gather(inside["e"]))).select(made)


def _slot_scores(runs: pl.DataFrame, slots: int, rules: Rules) -> pl.DataFrame:
    """Per slot: ``total`` and ``indexed`` (null: none) and ``ran``, the runs recorded (null: none).

    Slots are dense, so that each run is put in its place: many times as fast as a group-by, in whatever order they are.
    """
    import numpy as np

    slot = runs["slot"].to_numpy()
    found = {"ran": np.bincount(slot, minlength=slots)}
    for name in runs.columns[1:]:
        value = runs[name].to_numpy()
        if rules.summed:
            found[name] = np.zeros(slots, np.int64)
            np.add.at(found[name], slot, value)
        else:
            found[name] = np.full(slots, NEVER)
            np.minimum.at(found[name], slot, value)
    ran = pl.col("ran") > 0
    return pl.DataFrame(found).select(
        pl.when(ran).then(pl.col("ran")).alias("ran"),
        *(pl.when(ran & (pl.col(name) < NEVER)).then(pl.col(name)).alias(name) for name in runs.columns[1:]),
    )


def _day_columns(slots: pl.DataFrame, entrants: pl.DataFrame, days: int) -> pl.DataFrame:
    """One row per entrant: ``total_0, total_1 ...``, ``indexed_0 ...``, ``ran_0 ...``, null where nothing is."""
    rows, inside = entrants.height, ~entrants["dsq"]
    columns = []
    for name in slots.columns:
        for day in range(days):
            column = slots[name].slice(day * rows, rows).alias(f"{name}_{day}")
            columns.append(column if name == "ran" else column.zip_with(inside, pl.Series([None], dtype=pl.Int64)))
    return pl.DataFrame(columns)


def _counted(name: str, day: int, rules: Rules) -> pl.Expr:
    """Runs that make a day's score: 0 where there is none."""
    one = pl.col(f"ran_{day}") if rules.summed else pl.lit(1, pl.Int64)
    return pl.when(pl.col(f"{name}_{day}").is_not_null()).then(one).otherwise(0)


def _added(name: str, days: int, rules: Rules) -> list[pl.Expr]:
    """Score, runs counted and waiting where the days are added: all of them must have a score."""
    scores = [pl.col(f"{name}_{day}") for day in range(days)]
    before = pl.all_horizontal(score.is_not_null() for score in scores[:-1]) if days > 1 else pl.lit(False)
    waits = before & pl.col(f"ran_{days - 1}").is_null() & ~pl.col("withdrawn")
    return [
        reduce(add, scores).alias(name),
        reduce(add, (_counted(name, day, rules) for day in range(days))).alias(f"{name}_n"),
        waits.alias(f"{name}_waits"),
    ]


def _better(name: str, days: int, rules: Rules) -> list[pl.Expr]:
    """The same where the better day counts; the earlier one where they are equal."""
    best, counted = pl.col(f"{name}_0"), _counted(name, 0, rules)
    for day in range(1, days):
        this = pl.col(f"{name}_{day}")
        wins = ((this < best) | best.is_null()).fill_null(False) & this.is_not_null()
        best, counted = (
            pl.when(wins).then(this).otherwise(best),
            pl.when(wins).then(_counted(name, day, rules)).otherwise(counted),
        )
    return [best.alias(name), counted.alias(f"{name}_n"), pl.lit(False).alias(f"{name}_waits")]


def score_frame(times: pl.DataFrame, entrants: pl.DataFrame, settings: Settings, days: Sequence[int]) -> pl.DataFrame:
    """One row per entrant by number: ``entrants`` plus ``total, indexed`` (ms or null),
    ``total_n, indexed_n`` (runs counted) and ``total_waits, indexed_waits``.

    ``times`` and ``entrants`` as ``frames`` declares them; ``days``: the days to add, in order.
    """
    rules = settings.rules
    if not days or not times.height:
        nothing = [pl.lit(None, pl.Int64).alias(name) for name in _NAMES]
        rest = [pl.lit(0, pl.Int64).alias(f"{name}_n") for name in _NAMES]
        waits = [pl.lit(False).alias(f"{name}_waits") for name in _NAMES]
        return entrants.with_columns(*nothing, *rest, *waits).sort("order")
    slots = _slot_scores(run_frame(times, entrants, rules, days), entrants.height * len(days), rules)
    wide = entrants.hstack(_day_columns(slots, entrants, len(days)))
    if best_is_enough(rules):
        totals = ((f"total_{day}", f"indexed_{day}") for day in range(len(days)))
        wide = wide.with_columns(
            rounded(pl.col(total), pl.col("num"), pl.col("den"), rules).alias(indexed) for total, indexed in totals
        )
    over = _better if rules.days == "best" else _added
    made = [expr for name in _NAMES for expr in over(name, len(days), rules)]
    return wide.select(*entrants.columns, *made).sort("order")


def table_frame(scores: pl.DataFrame, basis: Basis, rules: Rules, by_class: bool) -> pl.DataFrame:
    """A table, or all class tables at once (entrants without a class left out): ``number, driver, class, rank,
    score_ms, runs_counted, waiting, gap_to_leader_ms, gap_to_next_ms``, best first, unranked last by number.
    Ties share their rank.
    """
    name = _SCORE[basis]
    counted = pl.col(f"{name}_n")
    key = pl.col(name) + (_MOST_RUNS - counted) * _STRIDE if rules.summed else pl.col(name)
    group = pl.col("class_at") if by_class else pl.lit(0, pl.Int64)
    outside = by_class and scores["class_at"].null_count() > 0
    chosen = scores.filter(pl.col("class_at").is_not_null()) if outside else scores
    placed = chosen.select(
        "number", "driver", "class", group.alias("group"), key.alias("key"),
        pl.col(name).alias("score_ms"), counted.alias("runs_counted"), pl.col(f"{name}_waits").alias("waiting"),
        (group * _CLASS_STRIDE + key.fill_null(_CLASS_STRIDE - 1)).alias("at"),
    ).sort("at", maintain_order=True)  # fmt: skip
    return _with_places(placed, rules)


def _with_places(placed: pl.DataFrame, rules: Rules) -> pl.DataFrame:
    """Ranks and gaps of rows sorted by ``group`` and ``key``, by where groups and ties begin."""
    at = pl.int_range(pl.len(), dtype=pl.Int64)
    new_group = (pl.col("group") != pl.col("group").shift(1)).fill_null(True)
    new_key = new_group | (pl.col("key") != pl.col("key").shift(1))
    started = placed.with_columns(
        pl.when(new_group).then(at).forward_fill().alias("first"),
        pl.when(new_key).then(at).forward_fill().alias("tie"),
        pl.when(~new_group).then(at - 1).alias("ahead"),
    )
    score, counted = placed["score_ms"], placed["runs_counted"]

    def gap(other: str) -> pl.Expr:
        value = pl.col("score_ms") - score.gather(started[other])
        return pl.when(pl.col("runs_counted") == counted.gather(started[other])).then(value) if rules.summed else value

    return started.select(
        "number", "driver", "class",
        pl.when(pl.col("key").is_not_null()).then(pl.col("tie") - pl.col("first") + 1).alias("rank"),
        "score_ms", "runs_counted", "waiting",
        gap("first").alias("gap_to_leader_ms"),
        gap("ahead").alias("gap_to_next_ms"),
    )  # fmt: skip


def _standing(row: tuple[object, ...]) -> Standing:
    number, driver, class_, rank, score, counted, waiting, to_leader, to_next = row
    return Standing(rank, number, driver, class_, score, counted, waiting, to_leader, to_next)  # type: ignore[arg-type]


def _by_class(frame: pl.DataFrame) -> dict[str, list[Standing]]:
    found: dict[str, list[Standing]] = {}
    for row in frame.rows():
        found.setdefault(row[2], []).append(_standing(row))
    return found


@dataclass(frozen=True, slots=True)
class _Ties:
    """What splits equal scores under ``next-best``."""

    event: Event
    days: Sequence[int]

    def split(self, rows: list[Standing], basis: Basis) -> list[Standing]:
        """The same rows with equal ranks settled; gaps belong to the place and stay."""
        done: list[Standing] = []
        start = 0
        while start < len(rows):
            stop = start + 1
            while rows[start].rank is not None and stop < len(rows) and rows[stop].rank == rows[start].rank:
                stop += 1
            done += rows[start:stop] if stop - start == 1 else self._settle(rows[start:stop], basis)
            start = stop
        return done

    def _settle(self, rows: list[Standing], basis: Basis) -> list[Standing]:
        spare = tie_spares(self.event, [row.number for row in rows], self.days, basis)
        order = sorted(rows, key=lambda row: (spare[row.number], by_number(row.number)))
        first = rows[0].rank or 1
        ranks: list[int] = []
        for place, row in enumerate(order):
            same = place > 0 and spare[row.number] == spare[order[place - 1].number]
            ranks.append(ranks[-1] if same else first + place)
        return [
            row._replace(rank=rank, gap_to_next_ms=at.gap_to_next_ms)
            for row, rank, at in zip(order, ranks, rows, strict=True)
        ]


def _class_rows(scores: pl.DataFrame, settings: Settings) -> dict[Basis, dict[str, list[Standing]]]:
    """The rows of the classes by what they are scored by, each class once."""
    places: dict[Basis, list[int]] = {}
    for place, item in enumerate(settings.classes):
        places.setdefault(item.scored_by, []).append(place)
    found: dict[Basis, dict[str, list[Standing]]] = {}
    for basis, at in places.items():
        members = scores.filter(pl.col("class_at").is_in(at)) if len(places) > 1 else scores
        found[basis] = _by_class(table_frame(members, basis, settings.rules, by_class=True))
    return found


def standings(event: Event, day: int | None = None) -> Standings:
    """Every table, of one day or in total; equal to the plain scorer's, row by row."""
    settings = event.settings
    days = scope(event, day)
    scores = score_frame(*frames_of(event), settings, days)
    classes = _class_rows(scores, settings)
    ties = _Ties(event, days) if settings.rules.ties == "next-best" else None
    tables = []
    for position, (name, basis) in enumerate(table_names(settings)):
        if position < len(settings.classes):
            rows = classes[basis].get(name, [])
        else:
            rows = [_standing(row) for row in table_frame(scores, basis, settings.rules, by_class=False).rows()]
        tables.append(StandingsTable(name, basis, tuple(ties.split(rows, basis) if ties else rows)))
    return Standings(tuple(tables), day, days)
