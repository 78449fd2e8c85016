"""Season tables of many seasons at once, as a polars query that streams: the same points as ``engine.season``.

Runs come as a LazyFrame with ``RUNS_IN``; nothing is read before the result is collected or sunk.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Literal

import polars as pl

from paddock.model.season import Points

RUNS_IN = {
    "season": pl.String, "event": pl.String, "class": pl.String, "driver": pl.String, "raw_ms": pl.Int64,
    "cones": pl.Int64, "void": pl.Boolean,
}  # fmt: skip
"""One row a run; ``void``: it gives no time."""
EVENT = ["season", "event", "class"]
SEASON = ["season", "class"]
TABLES_OUT = {
    "season": pl.String, "class": pl.String, "rank": pl.Int64, "driver": pl.String, "points": pl.Float64,
    "counted": pl.Int64, "events": pl.Int64, "runs": pl.Int64,
}  # fmt: skip
"""One row a driver of a season's table."""


def event_scores(runs: pl.LazyFrame, cone_ms: int) -> pl.LazyFrame:
    """The best total of each driver in each event and class; drivers whose runs are all void have none."""
    valid = pl.col("raw_ms").is_not_null() & ~pl.col("void")
    total = pl.when(valid).then(pl.col("raw_ms") + pl.col("cones").fill_null(0) * cone_ms)
    return runs.group_by(*EVENT, "driver").agg(total.min().alias("score_ms"), pl.len().cast(pl.Int64).alias("runs"))


def points_of(scores: pl.LazyFrame, rule: Points, limit: int | None = None) -> pl.LazyFrame:
    """Every season's order in every class, best first: ``season, class, rank, driver, points, counted, events, runs``.

    ``scores``: one row a driver, event and class: ``EVENT``, ``driver``, ``score_ms``, ``runs``. ``limit``: how many
    scores count, None: all. Ties share a rank (1-2-2-4); weights are 1.
    """
    points = (_by_ratio if rule.rule == "ratio" else _by_place)(scores, rule)
    per_driver = points.group_by(*SEASON, "driver").agg(
        pl.col("scaled").sort(descending=True).head(_all(limit)).sum().alias("scaled"),
        pl.len().clip(upper_bound=limit).cast(pl.Int64).alias("counted"),
        pl.len().cast(pl.Int64).alias("events"),
        pl.col("runs").sum(),
    )
    rank = pl.col("scaled").rank("min", descending=True).over(*SEASON).cast(pl.Int64).alias("rank")
    figure = (pl.col("scaled") / 10**rule.decimals).round(rule.decimals).alias("points")
    return per_driver.with_columns(rank, figure).select(list(TABLES_OUT)).sort(*SEASON, "rank", "driver")


def _all(limit: int | None) -> int:
    return 1_000_000 if limit is None else limit


def _divided(over: pl.Expr, under: pl.Expr, rule: Points) -> pl.Expr:
    """Whole division, half up or cut off; both not negative."""
    return (2 * over + under) // (2 * under) if rule.rounding == "half-up" else over // under


def _by_ratio(scores: pl.LazyFrame, rule: Points) -> pl.LazyFrame:
    """With full = f, floor = l, slowest = s, as fractions: never under the floor; no score: ``started``."""
    best, mine = pl.col("score_ms").min().over(*EVENT), pl.col("score_ms")
    full, floor, slowest = Fraction(rule.full), Fraction(rule.floor), Fraction(rule.slowest or 0)
    if rule.slowest is None:
        exact = _fraction(full, Fraction(0), best, mine, rule)
    else:
        share = (full - floor) / (slowest - 1)
        exact = _fraction(share * slowest, floor - share, best, mine, rule)
    lowest = pl.lit(_rounded(floor, rule))
    given = (
        pl.when(mine.is_null()).then(_rounded(Fraction(rule.started), rule)).otherwise(pl.max_horizontal(exact, lowest))
    )
    return scores.with_columns(given.cast(pl.Int64).alias("scaled"))


def _fraction(times: Fraction, plus: Fraction, best: pl.Expr, mine: pl.Expr, rule: Points) -> pl.Expr:
    """``times x best / mine + plus`` in the rule's steps, in whole numbers all the way."""
    common = times.denominator * plus.denominator
    over = (
        best * (times.numerator * plus.denominator) + mine * (plus.numerator * times.denominator)
    ) * 10**rule.decimals
    return _divided(over, mine * common, rule)


def _rounded(value: Fraction, rule: Points) -> int:
    over, under = value.numerator * 10**rule.decimals, value.denominator
    return int((2 * over + under) // (2 * under) if rule.rounding == "half-up" else over // under)


def _by_place(scores: pl.LazyFrame, rule: Points) -> pl.LazyFrame:
    """``pooled``: the points of the places a tie fills, divided."""
    group = [*EVENT, "score_ms"]
    method: Literal["min", "ordinal"] = "min" if rule.ties == "shared" else "ordinal"
    place = pl.col("score_ms").rank(method).over(*EVENT).cast(pl.Int64).alias("place")
    points = (
        pl.col("place")
        .replace_strict(_table(rule), default=_fine(rule.rest, rule), return_dtype=pl.Int64)
        .alias("fine")
    )
    pooled = pl.col("fine").sum().over(group) if rule.ties == "pooled" else pl.col("fine")
    count = pl.len().over(group).cast(pl.Int64) if rule.ties == "pooled" else pl.lit(1, pl.Int64)
    scaled = _divided(pooled, count * _FINER, rule)
    started = pl.lit(_rounded(Fraction(rule.started), rule), pl.Int64)
    return (
        scores.with_columns(place).with_columns(points)
        .with_columns(pl.when(pl.col("score_ms").is_null()).then(started).otherwise(scaled).alias("scaled"))
    )  # fmt: skip


_FINER = 10**6
"""A rule's own points may have this much more than the decimals kept."""


def _fine(points: Decimal, rule: Points) -> int:
    return int(Fraction(points) * 10**rule.decimals * _FINER)


def _table(rule: Points) -> dict[int, int]:
    return {place: _fine(points, rule) for place, points in enumerate(rule.by_place, 1)}
