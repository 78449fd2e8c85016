"""The streamed season tables give the exact ones, whatever the rule."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paddock.engine.season.many_seasons import RUNS_IN, event_scores, points_of
from paddock.engine.season.points import EventResult, ScoredEvent, season_tables
from paddock.model.season import Points, Season

RULES: list[dict[str, Any]] = [
    {"by_place": [10, 8, 6, 5], "rest": 1, "started": "0.5"},
    {"by_place": [10, "7.5", 6], "ties": "pooled", "decimals": 1},
    {"by_place": [9, 7, 5, 3, 1], "ties": "pooled", "decimals": 2, "rounding": "truncate"},
    {"rule": "ratio"},
    {"rule": "ratio", "full": 1000, "decimals": 0, "rounding": "truncate", "started": 3},
    {"rule": "ratio", "full": 125, "slowest": "1.45", "floor": "6.5", "decimals": 3},
]
ROWS = st.lists(
    st.tuples(
        st.sampled_from(["a", "b", "c"]), st.sampled_from(["PINE", "OAK"]), st.sampled_from("ABCDEFG"),
        st.integers(450, 700), st.integers(0, 2), st.booleans(),
    ),
    min_size=1, max_size=60,
)  # fmt: skip


def _frame(rows: list[tuple[str, str, str, int, int, bool]], season: str = "2026") -> pl.LazyFrame:
    full = [(season, event, class_, driver, ms * 100, cones, void) for event, class_, driver, ms, cones, void in rows]
    return pl.LazyFrame(full, schema=RUNS_IN, orient="row")


def _exact(rows: list[tuple[str, str, str, int, int, bool]], rule: Points, limit: int | None) -> dict[str, Any]:
    scores: dict[tuple[str, str], dict[str, int | None]] = defaultdict(dict)
    for event, class_, driver, ms, cones, void in rows:
        total = None if void else ms * 100 + cones * 2000
        held = scores[event, class_].get(driver)
        scores[event, class_][driver] = total if held is None else min(held, total) if total is not None else held
    ran = []
    for event in sorted({event for event, _ in scores}):
        tables = {class_: _results(found) for (name, class_), found in scores.items() if name == event}
        ran.append(ScoredEvent(event, None, event, (), None, tables))
    season = Season.model_validate({"points": rule.model_dump(), "drops": {"counted": limit}})
    return {
        table.name: [(row.rank, row.driver, float(row.points)) for row in table.rows]
        for table in season_tables(season, ran)
    }


def _results(found: dict[str, int | None]) -> tuple[EventResult, ...]:
    valid = sorted(score for score in found.values() if score is not None)
    return tuple(
        EventResult(who, "", None if score is None else valid.index(score) + 1, score) for who, score in found.items()
    )


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("limit", [None, 2])
def test_the_same_points_as_the_exact_engine(rule: dict[str, Any], limit: int | None) -> None:
    @settings(max_examples=12, deadline=None)
    @given(ROWS)
    def agree(rows: list[tuple[str, str, str, int, int, bool]]) -> None:
        found = points_of(event_scores(_frame(rows), 2000), Points.model_validate(rule), limit).collect()
        tables = {
            name: [
                (row["rank"], row["driver"], row["points"]) for row in found.filter(pl.col("class") == name).to_dicts()
            ]
            for name in found["class"].unique()
        }
        assert tables == _exact(rows, Points.model_validate(rule), limit)

    agree()


def test_seasons_and_classes_stay_apart_and_runs_are_counted() -> None:
    rows = [("a", "PINE", "A", 500, 0, False), ("a", "PINE", "B", 510, 1, False), ("b", "PINE", "B", 500, 0, False)]
    both = pl.concat([_frame(rows), _frame(rows[:1], "2027")])
    found = points_of(event_scores(both, 2000), Points.model_validate({"by_place": [2, 1]})).collect()
    assert found.rows() == [
        ("2026", "PINE", 1, "B", 3.0, 2, 2, 2), ("2026", "PINE", 2, "A", 2.0, 1, 1, 1), ("2027", "PINE", 1, "A", 2.0, 1, 1, 1),
    ]  # fmt: skip
