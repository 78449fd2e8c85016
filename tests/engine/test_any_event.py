"""Verdicts, plans, courses and chances on events nobody would lay out like this: an answer, never a fault."""

from __future__ import annotations

import json
import math
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from paddock.commands.effect import data
from paddock.engine.field.chances import chances
from paddock.engine.field.course import course_evolution, slowed_runs
from paddock.engine.field.effect import VERDICTS
from paddock.engine.field.plan import plan
from paddock.engine.field.season import habits_of, season_changes
from paddock.engine.field.verdict import judge
from paddock.model.event import Event
from paddock.model.rows import EntrantRow, GridRow, RunRow, SetupChange, TimeRow
from paddock.pages.verdict_words import assumption_words, effect_words
from tests.examples import share
from tests.factories import settings as make_settings

NUMBERS = ("26", "83", "40", "41", "42", "43")
DAYS, RUNS = st.integers(1, 2), st.integers(1, 5)
NUMBER = st.sampled_from(NUMBERS)
TIMES = st.builds(
    TimeRow,
    day=DAYS, run=RUNS, number=NUMBER,
    time_ms=st.one_of(st.none(), st.integers(44_000, 52_000), st.sampled_from([0, 1, 46_000, 3_600_000])),
    cones=st.sampled_from([None, 0, 1, 3]), misses=st.sampled_from([None, None, None, 1]),
    status=st.sampled_from([None] * 8 + ["dnf", "dns", "dsq", "rerun", "practice"]), try_=st.sampled_from([None, "b"]),
)  # fmt: skip
ENTRANTS = st.tuples(*(
    st.builds(
        EntrantRow,
        number=st.just(number), class_=st.sampled_from([None, "PINE", "OAK", "GONE"]),
        index=st.sampled_from([None, "FIR", "NONE"]),
        drive=st.sampled_from([None, "front", "rear"]), tyre_kind=st.sampled_from([None, "street"]),
        control=st.sampled_from([None, True, False]), status=st.sampled_from([None, None, "dsq", "withdrawn"]),
    )
    for number in NUMBERS
))  # fmt: skip
IDS = ("a", "b", "c", "d")
CHANGES = st.tuples(*(
    st.builds(
        SetupChange,
        id=st.just(key), day=st.sampled_from([None, 1, 1, 2]), run=st.sampled_from([None, 1, 2, 3, 4, 5]),
        at=st.sampled_from([None, "10:00"]), number=st.sampled_from([None, "26", "83", "40"]),
        setting=st.sampled_from([None, "bar", "spring"]), before=st.sampled_from([None, "2", "x"]),
        after=st.sampled_from([None, "3", "y"]), kind=st.sampled_from([None, "test", "repair"]),
        undoes=st.sampled_from([None, None, None, *IDS, "zz"]),
    )
    for key in IDS
))  # fmt: skip
LOG = st.lists(
    st.builds(RunRow, day=DAYS, run=RUNS, number=NUMBER, mistake=st.sampled_from([None, True, False])), max_size=8
)
GRID = st.lists(st.builds(GridRow, day=DAYS, number=NUMBER, group=st.sampled_from([None, "A", "B"])), max_size=8)
RULES = st.fixed_dictionaries({
    "count": st.sampled_from(["best", "sum", {"best_of_first": 3}]), "days": st.sampled_from(["sum", "best", "separate"]),
    "miss": st.sampled_from(["invalid", 5]), "index_on": st.sampled_from(["total", "raw"]),
    "cone_s": st.sampled_from([0, 2]), "decimals": st.sampled_from([0, 3]),
})  # fmt: skip
SHARED = st.sampled_from([{"26": "estate", "83": "estate"}, {}])


@st.composite
def events(draw: st.DrawFn) -> Event:
    """Any of it."""
    config: dict[str, Any] = {
        "mine": {"numbers": ["26", "83"], "cars": draw(SHARED)},
        "runs_per_day": draw(st.sampled_from([None, 3, 6])),
    }
    tables = {
        "times.csv": tuple(draw(st.lists(TIMES, max_size=50))), "entrants.csv": draw(ENTRANTS),
        "changes.csv": draw(CHANGES), "runs.csv": tuple(draw(LOG)), "grid.csv": tuple(draw(GRID)),
    }  # fmt: skip
    return Event("any", make_settings(draw(RULES), **config), tables)


@settings(max_examples=share(0.5), deadline=None)
@given(events(), events())
def test_every_change_gets_an_answer(event: Event, other: Event) -> None:
    for key in IDS:
        effect = judge(event, key, habits_of([other], ("26", "83")))
        json.dumps(data(effect), allow_nan=False)
        assert effect.verdict in VERDICTS
        assert effect_words(effect).endswith(".")
        assert (effect.p_helped is None) <= (effect.verdict == "can't tell")
        assert (effect.extra_ms is None) == (effect.controls == 0)
    assert plan(event, "26", seed=1) == plan(event, "26", seed=1)


@settings(max_examples=share(0.5), deadline=None)
@given(st.lists(events(), min_size=1, max_size=3))
def test_any_season_pools(found: list[Event]) -> None:
    for item in season_changes(found):
        assert item.pooled is None or math.isfinite(item.pooled.mean)


@settings(max_examples=share(0.5), deadline=None)
@given(events(), DAYS, RUNS)
def test_any_course_has_an_evolution(event: Event, day: int, run: int) -> None:
    for group in (None, "A", "nobody"):
        assert all(math.isfinite(point.change_ms) for point in course_evolution(event, day, group).points)
    seen = slowed_runs(event, "26", day, ((None, run),))[0]
    assert seen is None or seen.run_to == run


@settings(max_examples=share(0.5), deadline=None)
@given(events(), st.one_of(st.none(), st.integers(0, 8)))
def test_any_table_has_chances(event: Event, left: int | None) -> None:
    for number in NUMBERS:
        found = chances(event, number, left)
        for table in (found.class_, found.index):
            values = (table.p_lead, table.p_lead_if_banked, table.p_lead_if_pushed)
            assert assumption_words(table)
            assert all(0.0 <= value <= 1.0 for value in values if value is not None)
            assert (table.p_lead is None) == (table.p_range is None)
            assert all(0.0 <= rival.p_ahead <= 1.0 for rival in table.rivals)
