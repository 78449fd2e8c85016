"""Paces, scores so far, runs to come and where a score may end. By hand."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from paddock.engine.chances import _ahead, lead_chance, pushed, safe
from paddock.engine.finish import Finish, _cones
from paddock.engine.paces import mistakes, raw_times, void_entrants
from paddock.engine.pacing import Pace, paces
from paddock.engine.runs_left import field_of
from paddock.engine.stats.twoway import huber_fit
from tests.engine.effect.made import mistake
from tests.factories import entrant, runs, settings
from tests.factories import event as make_event


def test_which_runs_say_something_about_pace() -> None:
    event = make_event([entrant("31", status="dsq"), entrant("7")], runs("31", 1, "46+2", "47/1", "48 rerun", "dnf", "49"), settings(),
                       mistake(1), mistake(2, "7"))  # fmt: skip
    assert raw_times(event) == {"31": {(1, 1): 46_000, (1, 5): 49_000}}
    assert mistakes(event) == {("31", (1, 1)), ("7", (1, 2))}
    assert void_entrants(event) == {"31"}


def test_cones_are_poisson() -> None:
    found = _cones(0.5)
    assert found[:3] == pytest.approx((math.exp(-0.5), 0.5 * math.exp(-0.5), 0.125 * math.exp(-0.5)))
    assert sum(found) == pytest.approx(1.0, abs=1e-5)
    assert _cones(0.0) == (1.0,)
    assert len(_cones(60.0)) == 40


def test_a_pace_by_hand() -> None:
    """Two drivers, no scatter at all: the least spread; rates lean on the field's with 4 and 10 runs."""
    event = make_event(
        [entrant("31"), entrant("7")], [*runs("31", 1, "50+1", "49"), *runs("7", 1, "60", "58.8", "dnf")], settings()
    )
    found = paces(event)
    mine = found["31"]
    assert mine.time_ms == pytest.approx(49_000, rel=1e-6)
    assert (mine.spread, mine.unsure, mine.runs) == (0.001, pytest.approx(0.001 / math.sqrt(2)), 2)
    assert mine.cone_rate == pytest.approx((1 + 4 * 0.2) / (2 + 4))
    assert mine.void_rate == pytest.approx((0 + 10 * 0.2) / (2 + 10))
    assert found["7"].void_rate == pytest.approx((1 + 10 * 0.2) / (3 + 10))
    assert paces(make_event([], [], settings())) == {}


def test_a_spread_by_hand() -> None:
    """Runs a and b apart against a field that stands still: sd leans on the fit's scale with the weight of 6 runs."""
    times = [
        *runs("31", 1, "50", "51", "50"),
        *(row for n in ("5", "6", "7", "8") for row in runs(n, 1, "50", "50", "50")),
    ]
    event = make_event([entrant(number) for number in ("31", "5", "6", "7", "8")], times, settings())
    rows = [[math.log(ms) for ms in (50_000, 51_000, 50_000)], *([[math.log(50_000)] * 3] * 4)]
    fit = huber_fit(rows)
    field = fit.scale * math.sqrt(15 / (15 - 5 - 3 + 1))
    left = [value - fit.levels[0] - effect for value, effect in zip(rows[0], fit.effects, strict=True)]
    squares = 6 * field**2 + sum(min(value * value, fit.clip**2) for value in left)
    assert paces(event)["31"].spread == pytest.approx(max(0.001, math.sqrt(squares / 8)))
    noisy = [*runs("31", 1, "50", "51", "50"), *runs("5", 1, "50", "50.4", "49.8"), *runs("6", 1, "52", "51.5", "52.3")]
    three = make_event([entrant(number) for number in ("31", "5", "6")], noisy, settings())
    cells = [[math.log(row.time_ms or 1) for row in noisy[start : start + 3]] for start in (0, 3, 6)]
    fit = huber_fit(cells)
    field = fit.scale * math.sqrt(9 / (9 - 3 - 3 + 1))
    for number, row, level in zip(("31", "5", "6"), cells, fit.levels, strict=True):
        left = [value - level - effect for value, effect in zip(row, fit.effects, strict=True)]
        squares = 6 * field**2 + sum(min(value * value, fit.clip**2) for value in left)
        assert paces(three)[number].spread == pytest.approx(math.sqrt(squares / 8), rel=1e-6)


def test_who_stands_in_which_table() -> None:
    people = [
        entrant("31"),
        entrant("7", "HEN"),
        entrant("9", status="dsq"),
        entrant("5", status="withdrawn"),
        entrant("6"),
    ]
    times = [row for number in ("31", "7", "9", "5") for row in runs(number, 1, "50")]
    event = make_event(people, times, settings())
    found = field_of(event, "31", None, paces(event))
    assert found.class_table is not None
    assert found.index_table is not None
    assert (set(found.class_table.finish), set(found.index_table.finish)) == ({"31", "5"}, {"31", "5"})
    assert (found.class_table.finish["5"].left, found.class_table.finish["31"].left) == (0, 2)
    assert (found.class_table.unseen, found.index_table.unseen) == (("6",), ("6",))
    assert found.index_table.finish["31"].factor == pytest.approx(0.812)
    assert found.index_table.finish["31"].cone_ms == pytest.approx(2000 * 0.812)
    assert found.class_table.finish["31"].factor == 1.0
    other = field_of(event, "7", None, paces(event)).class_table
    assert other is not None
    assert list(other.finish) == ["7"]
    after = make_event(people, times, settings({"index_on": "raw"}))
    outside = field_of(after, "31", None, paces(after)).index_table
    assert outside is not None
    assert outside.finish["31"].cone_ms == 2000


def test_scores_so_far_and_runs_to_come() -> None:
    rules: dict[str, Any] = {"rules": {"days": "best"}, "runs_per_day": 4}
    event = make_event([entrant("31"), entrant("7")], [*runs("31", 1, "50"), *runs("31", 2, "52", "51"), *runs("7", 2, "53")],
                       settings(**rules))  # fmt: skip
    found = field_of(event, "31", None, paces(event))
    assert found.class_table is not None
    mine = found.class_table.finish["31"]
    assert (found.day, found.per_day, mine.base, mine.banked, mine.left) == (2, 4, 0, 50_000, 2)
    summed = make_event(event.entrants, event.times, settings(runs_per_day=4))  # type: ignore[arg-type]
    table = field_of(summed, "31", None, paces(summed)).class_table
    assert table is not None
    assert (table.finish["31"].base, table.finish["31"].banked, list(table.finish), table.days) == (
        50_000,
        51_000,
        ["31"],
        2,
    )
    assert field_of(event, "31", 1, paces(event)).per_day == 3
    first_two = make_event(event.entrants, event.times, settings(rules={"count": {"best_of_first": 2}}, runs_per_day=4))  # type: ignore[arg-type]
    cut = field_of(first_two, "31", None, paces(first_two)).class_table
    assert cut is not None
    assert cut.finish["31"].left == 0


def test_a_finish_by_hand() -> None:
    sure = Pace(math.log(50_000), 0.01, 1e-9, 0.0, 0.0, 5)
    one = Finish(0.0, 60_000.0, 1, 1.0, 2000.0, sure)
    assert one.curve((50_000.0,))[0] == pytest.approx(0.5)
    assert one.curve((60_001.0,))[0] == 0.0
    assert replace(one, left=2).curve((50_000.0,))[0] == pytest.approx(0.25)
    assert replace(one, pace=replace(sure, void_rate=0.5)).curve((50_000.0,))[0] == pytest.approx(0.75)
    assert replace(one, left=0).above(60_000.0) == 1.0
    assert replace(one, left=0).above(60_000.1) == 0.0
    assert (replace(one, left=0).reach(), replace(one, left=0, banked=None).reach()) == (
        (60_000.0, 60_000.0),
        (math.inf, math.inf),
    )
    low, high = one.reach()
    assert (low, high) == (pytest.approx(50_000 * math.exp(-0.06), rel=1e-6), 60_000.0)
    assert replace(one, banked=None).reach()[1] == pytest.approx(50_000 * math.exp(0.06) + 6_000, rel=1e-6)
    summed = replace(one, summed=True, left=2)
    assert summed.above(160_000.0) == pytest.approx(0.5)
    assert (replace(summed, banked=None).above(1.0), summed.cap) == (1.0, math.inf)


SURE = Pace(math.log(50_000), 0.01, 1e-9, 0.0, 0.0, 5)


def test_who_can_not_reach_a_score_that_stands_does_not_lead() -> None:
    """My 47 s stand and 50 s is my pace: a rival done with 45.8 s is out of reach, whatever I keep."""
    rival = Finish(0.0, 45_800.0, 0, 1.0, 2000.0, None)
    assert lead_chance(Finish(0.0, 47_000.0, 1, 1.0, 2000.0, SURE), [("a", rival)]) == pytest.approx(0.0, abs=1e-6)
    assert lead_chance(Finish(0.0, 45_700.0, 1, 1.0, 2000.0, SURE), [("a", rival)]) == pytest.approx(1.0, abs=1e-6)


def test_how_likely_one_rival_ends_ahead() -> None:
    """I am done with 50 s; one run at a pace of 50 s goes under it in half of all cases, two in three quarters."""
    me = Finish(0.0, 50_000.0, 0, 1.0, 2000.0, None)
    once = Finish(0.0, 60_000.0, 1, 1.0, 2000.0, SURE)
    assert _ahead(me, once) == pytest.approx(0.5)
    assert _ahead(me, replace(once, left=2)) == pytest.approx(0.75)
    assert _ahead(me, replace(once, left=0)) == 0.0
    even = replace(once, banked=None)
    assert _ahead(even, even) == pytest.approx(0.5, abs=1e-3)


def test_a_lead_over_two_rivals_is_the_product() -> None:
    me = Finish(0.0, 50_000.0, 0, 1.0, 2000.0, None)
    rivals = [(name, Finish(0.0, 60_000.0, 1, 1.0, 2000.0, SURE)) for name in "ab"]
    assert lead_chance(me, rivals) == pytest.approx(0.25)
    assert lead_chance(me, []) == 1.0


def test_safe_and_pushed_runs() -> None:
    base = replace(SURE, cone_rate=0.4, void_rate=0.6)
    assert (safe(base).level - base.level, safe(base).cone_rate, safe(base).void_rate) == (
        pytest.approx(0.005),
        0.0,
        0.0,
    )
    assert (pushed(base).level - base.level, pushed(base).cone_rate, pushed(base).void_rate) == (
        pytest.approx(-0.005),
        0.8,
        1.0,
    )


def test_summed_runs_of_a_day_begin_at_nothing() -> None:
    event = make_event([entrant("31"), entrant("7")], runs("7", 1, "50"), settings({"count": "sum"}))
    found = field_of(event, "7", None, paces(event)).class_table
    assert found is not None
    assert found.finish["31"] == Finish(0, 0, 3, 1.0, 2000.0, None, True)
    paced = make_event([entrant("31"), entrant("7")], [*runs("31", 1, "49"), *runs("31", 2, "50 practice"), *runs("7", 1, "50"), *runs("7", 2, "50")],
                       settings({"count": "sum"}))  # fmt: skip
    table = field_of(paced, "7", None, paces(paced)).class_table
    assert table is not None
    assert (table.finish["31"].base, table.finish["31"].banked, table.finish["31"].left) == (49_000, 0, 3)
    assert (table.finish["7"].base, table.finish["7"].banked, table.finish["7"].left) == (50_000, 50_000, 2)
