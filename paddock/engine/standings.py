"""Standings in polars, on whole milliseconds and exact factors.

Eager expressions, few calls: at the size of an event a call costs more than its work.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import polars as pl

from paddock.engine.frames import frames_of
from paddock.engine.plain import scope, tie_spares
from paddock.engine.tables import Basis, Standing, Standings, Table, by_number, table_names
from paddock.model.event import Event
from paddock.model.settings import Rules, Settings

__all__ = ["score_frame", "standings", "table_frame"]

_SCORE: dict[Basis, str] = {"raw": "total", "index": "indexed"}


def _void(rules: Rules) -> pl.Expr:
    status = pl.col("status").is_not_null()
    if rules.miss_ms is None:
        return status | (pl.col("misses") > 0)
    return status | (pl.col("misses") > rules.miss_limit) if rules.miss_limit else status


def _penalty(rules: Rules) -> pl.Expr:
    cones = pl.col("cones") * rules.cone_ms
    return cones + pl.col("misses") * rules.miss_ms if rules.miss_ms else cones


def _rounded(raw: pl.Expr, rules: Rules) -> pl.Expr:
    unit, num, den = rules.unit_ms, pl.col("num"), pl.col("den")
    if rules.index_rounding == "truncate":
        return raw * num // (den * unit) * unit
    return (2 * raw * num + den * unit) // (2 * den * unit) * unit


def _indexed(rules: Rules) -> pl.Expr:
    if rules.index_on == "raw":
        return _rounded(pl.col("time_ms"), rules) + _penalty(rules)
    return _rounded(pl.col("time_ms") + _penalty(rules), rules)


def run_frame(times: pl.DataFrame, entrants: pl.DataFrame, rules: Rules) -> pl.DataFrame:
    """Recorded runs with ``total`` and ``indexed`` (ms; null where void, ``indexed`` also without an index)."""
    ran = ~pl.col("status").is_in(["rerun", "practice"]).fill_null(False) & (
        pl.col("time_ms").is_not_null() | pl.col("status").is_not_null()
    )
    kept = times.filter(ran)
    looked = entrants.select(pl.col("num", "den", "dsq").gather(kept["e"]))
    good = ~(_void(rules) | pl.col("dsq")) & pl.col("time_ms").is_not_null()
    if rules.first_runs is not None:
        good = good & (pl.col("run") <= rules.first_runs)
    return kept.hstack(looked).with_columns(
        pl.when(good).then(pl.col("time_ms") + _penalty(rules)).alias("total"),
        pl.when(good).then(_indexed(rules)).alias("indexed"),
    )


def _day_scores(runs: pl.DataFrame, rules: Rules) -> pl.DataFrame:
    """Per entrant and day: both scores (null: none) and how many runs make them."""
    count = pl.len().cast(pl.Int64)
    if not rules.summed:
        aggregates = [pl.col("total").min(), pl.col("indexed").min()]
        scored = runs.group_by("e", "day").agg(*aggregates)
        return scored.with_columns(
            pl.col("total").is_not_null().cast(pl.Int64).alias("total_n"),
            pl.col("indexed").is_not_null().cast(pl.Int64).alias("indexed_n"),
        )
    whole = {name: pl.col(name).null_count() == 0 for name in ("total", "indexed")}
    return runs.group_by("e", "day").agg(
        *(pl.when(ok).then(pl.col(name).sum()).alias(name) for name, ok in whole.items()),
        *(pl.when(ok).then(count).otherwise(0).alias(f"{name}_n") for name, ok in whole.items()),
    )


def _over_days(scores: pl.DataFrame, days: Sequence[int], rules: Rules) -> pl.DataFrame:
    """Per entrant: both scores over ``days``, runs counted and who is waiting."""
    if rules.days == "best" and len(days) > 1:
        return _best_day(scores)
    last = (pl.col("day") == days[-1]).any() if days else pl.lit(False)
    parts: list[pl.Expr] = [last.alias("ran_last")]
    for name in ("total", "indexed"):
        found = pl.col(name).count().cast(pl.Int64)
        earlier = pl.col(name).filter(pl.col("day") != days[-1]).count().cast(pl.Int64) if days else found
        parts += [
            pl.when(found == len(days)).then(pl.col(name).sum()).alias(name),
            pl.col(f"{name}_n").sum(),
            (earlier == len(days) - 1).alias(f"{name}_before"),
        ]
    summed = scores.group_by("e").agg(*parts)
    waits = ~pl.col("ran_last") & (len(days) > 1)
    return summed.with_columns(
        (waits & pl.col(f"{name}_before")).alias(f"{name}_waits") for name in ("total", "indexed")
    )


def _best_day(scores: pl.DataFrame) -> pl.DataFrame:
    """The better day of each entrant; the earlier one where they are equal."""
    placed = scores.sort("e", "day")
    at = {name: pl.col(name).arg_min() for name in ("total", "indexed")}
    best = placed.group_by("e").agg(
        *(pl.col(name).min() for name in at),
        *(pl.col(f"{name}_n").get(index, null_on_oob=True).fill_null(0) for name, index in at.items()),
    )
    return best.with_columns(pl.lit(False).alias("total_waits"), pl.lit(False).alias("indexed_waits"))


def score_frame(times: pl.DataFrame, entrants: pl.DataFrame, settings: Settings, days: Sequence[int]) -> pl.DataFrame:
    """One row per entrant in file order: ``entrants`` plus ``total, indexed`` (ms or null),
    ``total_n, indexed_n`` (runs counted) and ``total_waits, indexed_waits``.

    ``times`` and ``entrants`` as ``frames`` declares them; ``days``: the days to add.
    """
    inside = times.filter(pl.col("day").is_in(list(days)))
    totals = _over_days(_day_scores(run_frame(inside, entrants, settings.rules), settings.rules), days, settings.rules)
    joined = entrants.with_row_index("e").join(totals, on="e", how="left", maintain_order="left")
    return joined.with_columns(
        pl.col("total_n", "indexed_n").fill_null(0),
        *(
            (pl.col(name).fill_null(False) & ~pl.col("withdrawn")).alias(name)
            for name in ("total_waits", "indexed_waits")
        ),
    )


def table_frame(scores: pl.DataFrame, basis: Basis, rules: Rules, by_class: bool) -> pl.DataFrame:
    """A table, or all class tables at once: ``number, driver, class, rank, score_ms, runs_counted, waiting,
    gap_to_leader_ms, gap_to_next_ms``, best first, unranked last by number. Ties share their rank.
    """
    name = _SCORE[basis]
    key = pl.col(name) - pl.col(f"{name}_n") * 10**12 if rules.summed else pl.col(name)
    group = ["class"] if by_class else []
    placed = scores.with_columns(key.alias("key")).sort(*group, "key", "order", nulls_last=True)

    def inside(expr: pl.Expr) -> pl.Expr:
        return expr.over(group) if group else expr

    def gap(other: pl.Expr, counted: pl.Expr) -> pl.Expr:
        value = pl.col(name) - other
        return pl.when(counted == pl.col(f"{name}_n")).then(value) if rules.summed else value

    first, ahead = pl.col(name).first(), pl.col(name).shift(1)
    return placed.select(
        "e", "number", "driver", "class",
        inside(pl.col("key").rank("min")).cast(pl.Int64).alias("rank"),
        pl.col(name).alias("score_ms"),
        pl.col(f"{name}_n").alias("runs_counted"),
        pl.col(f"{name}_waits").alias("waiting"),
        gap(inside(first), inside(pl.col(f"{name}_n").first())).alias("gap_to_leader_ms"),
        gap(inside(ahead), inside(pl.col(f"{name}_n").shift(1))).alias("gap_to_next_ms"),
    )  # fmt: skip


def _standing(row: tuple[object, ...]) -> Standing:
    _, number, driver, class_, rank, score, counted, waiting, to_leader, to_next = row
    return Standing(rank, number, driver, class_, score, counted, waiting, to_leader, to_next)  # type: ignore[arg-type]


def _by_class(frame: pl.DataFrame) -> dict[str, list[Standing]]:
    found: dict[str, list[Standing]] = {}
    for row in frame.rows():
        found.setdefault(row[3], []).append(_standing(row))
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
            replace(row, rank=rank, gap_to_next_ms=at.gap_to_next_ms)
            for row, rank, at in zip(order, ranks, rows, strict=True)
        ]


def _class_rows(scores: pl.DataFrame, settings: Settings) -> dict[Basis, dict[str, list[Standing]]]:
    bases: set[Basis] = {item.scored_by for item in settings.classes}
    classed = scores.filter(pl.col("class").is_not_null())
    return {basis: _by_class(table_frame(classed, basis, settings.rules, by_class=True)) for basis in bases}


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
        tables.append(Table(name, basis, tuple(ties.split(rows, basis) if ties else rows)))
    return Standings(tuple(tables), day, days)
