"""Which run is on which side, which change waits for its test, who left what: each rule alone, by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from paddock.engine.course import course_evolution, did_i_slow
from paddock.engine.effect import judge, plan
from paddock.engine.effect.difference import change_of, far_outside
from paddock.engine.effect.learning import usual_learning
from paddock.engine.effect.plan import is_quick, next_test, open_test, runs_left_of
from paddock.engine.effect.pool import Estimate, _number, _way, pool, season_changes
from paddock.engine.effect.states import Block, Contrast, contrast, first_slot, label
from paddock.engine.finish import Finish, _cones
from paddock.engine.paces import mistakes, raw_times, void_entrants
from paddock.engine.pacing import Pace, paces
from paddock.engine.runs_left import field_of
from paddock.engine.twoway import huber_fit
from paddock.model.event import Event
from paddock.model.rows import ChangeRow, TimeRow
from tests.engine.effect.made import change, in_group, mistake, of
from tests.factories import entrant, runs, settings
from tests.factories import event as make_event

ME = ["46.000", "46.000", "45.000", "45.000"]
SLOTS = tuple((1, run) for run in range(1, 9))


def sides(*rows: ChangeRow, slots: tuple[tuple[int, int], ...] = SLOTS, judged: int = 0) -> Contrast:
    return contrast(of(ME, {}, *rows), rows[judged], "31", slots)


def news(found: Contrast) -> list[int]:
    return [run for _, run in found.new]


# --- with and without -------------------------------------------------------------------------------------------


def test_a_setting_that_goes_on_and_off_and_on() -> None:
    rows = (change("a", 3), change("b", 5, undoes="a"), change("c", 7, undoes="b"))
    assert news(sides(*rows)) == [3, 4, 7, 8]
    assert news(sides(*rows, judged=1)) == [1, 2, 5, 6]
    assert news(sides(*rows, judged=2)) == [3, 4, 7, 8]


def test_another_change_ends_a_block_and_is_named() -> None:
    found = sides(change("a", 3), change("x", 5, setting="camber", item="camber"))
    assert (found.kind, found.old, found.new) == ("day", ((1, 1), (1, 2)), ((1, 3), (1, 4)))
    assert found.passed_over == tuple(((1, run), "x") for run in (5, 6, 7, 8))


def test_two_changes_at_once_are_mixed() -> None:
    found = sides(change("a", 2), change("x", 2, setting="camber"), slots=SLOTS[:2])
    assert (found.kind, found.old, found.new, found.mixed_with) == ("mixed", ((1, 1),), ((1, 2),), ("x",))
    later = sides(change("a", 3), change("x", 3, setting="camber"))
    assert (later.kind, later.old, later.new) == ("mixed", ((1, 1), (1, 2)), tuple((1, run) for run in range(3, 9)))
    ended = sides(change("a", 3), change("x", 3, setting="camber"), change("y", 5, setting="toe"))
    assert ended.new == ((1, 3), (1, 4))
    begun = sides(change("y", 2, setting="toe"), change("a", 3), change("x", 3, setting="camber"), judged=1)
    assert (begun.old, begun.mixed_with) == (((1, 2),), ("x",))
    back = sides(change("a", 1), change("b", 3, undoes="a"), change("x", 3, setting="camber"))
    assert (back.kind, back.old, back.new) == ("mixed", tuple((1, run) for run in range(3, 9)), ((1, 1), (1, 2)))
    day_two = sides(
        change("a", 1, day=2), change("x", 1, day=2, setting="camber"), slots=((1, 1), (1, 2), (2, 1), (2, 2), (3, 1))
    )
    assert (day_two.old, day_two.new) == (((1, 1), (1, 2)), ((2, 1), (2, 2)))


def test_over_a_night_only_the_next_days_are_compared() -> None:
    slots = ((1, 1), (2, 1), (2, 2), (3, 1), (3, 2), (4, 1))
    found = sides(change("a", 1, day=3), slots=slots)
    assert (found.kind, found.old, found.new) == ("night", ((2, 1), (2, 2)), ((3, 1), (3, 2)))
    back = contrast(
        of(ME, {}, change("a", 1, day=1), change("b", 1, day=3, undoes="a")), change("a", 1, day=1), "31", slots
    )
    assert (back.kind, back.old, back.new) == ("night", ((3, 1), (3, 2)), ((2, 1), (2, 2)))


def test_nothing_on_one_side() -> None:
    before = sides(change("a", 9))
    assert (before.kind, before.old, before.new) == ("none", SLOTS, ())
    after = sides(change("a", 1))
    assert (after.kind, after.old, after.new) == ("none", (), SLOTS)
    assert sides(change("a", 3), slots=()).blocks == ()
    assert sides(change("a", None)).kind == "none"


def test_weights_of_two_blocks() -> None:
    """Sizes 2 x 2 / 4 = 1 and 1 x 2 / 3 = 2/3: shares 0.6 and 0.4."""
    found = Contrast("day", (Block(((1, 1), (1, 2)), ((1, 3), (1, 4))), Block(((2, 1),), ((2, 2), (2, 3)))))
    assert found.shares() == pytest.approx((0.6, 0.4))
    assert found.weights() == pytest.approx({
        (1, 1): -0.3, (1, 2): -0.3, (1, 3): 0.3, (1, 4): 0.3, (2, 1): -0.4, (2, 2): 0.2, (2, 3): 0.2,
    })  # fmt: skip
    kept = found.only({(1, 1), (1, 3), (2, 1)})
    assert kept is not None
    assert kept.slots == ((1, 1), (1, 3))
    assert found.only({(1, 1), (2, 2)}) is None


def test_where_a_change_begins() -> None:
    timed = [
        TimeRow(day=1, run=run, number="31", time_ms=1, at=at) for run, at in ((1, "09:00"), (2, "10:00"), (3, None))
    ]
    event = make_event([entrant("31")], timed, settings(mine={"numbers": ["31"]}))

    def at(**more: Any) -> tuple[int, int] | None:
        return first_slot(event, ChangeRow(**({"id": "c", "day": 1, "number": "31"} | more)))

    assert (at(run=4), at(at="09:30"), at(at="10:00"), at(at="10:01"), at()) == ((1, 4), (1, 2), (1, 2), None, None)
    assert (at(day=None, run=4), at(at="09:30", number=None), at(at="09:30", number="7")) == (None, (1, 2), None)


def test_a_change_by_name() -> None:
    def named(**more: Any) -> str:
        return label(ChangeRow(id="c9", **more))

    assert named(item="rear bar", before="2", after="3") == "rear bar 2 to 3"
    assert named(setting="rear_bar", after="3") == "rear bar to 3"
    assert (named(item="seat", before="2"), named()) == ("seat", "change c9")


# --- the test to come -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "row",
    [
        change("b", 4, decision="keep"),
        change("b", 4, kind="repair"),
        change("b", 4, undoes="zz"),
        change("b", 4, number="40"),
    ],
)
def test_what_is_no_open_test(row: ChangeRow) -> None:
    event = of(ME, {"40": ME}, change("a"), row)
    found = open_test(event, "31")
    assert found is not None
    assert found.id == "a"
    assert open_test(of(ME, {"40": ME}, row), "31") is None


def test_a_change_taken_back_waits_for_nothing() -> None:
    assert open_test(of(ME, {}, change("a"), change("b", 4, undoes="a")), "31") is None


def test_plans_run_by_run() -> None:
    event = of(ME, {"40": [*ME, "50"]}, change(), runs_per_day=10)
    assert runs_left_of(event, "31") == 6
    found = plan(event, "31")
    assert found is not None
    assert found.sentence == "runs 5 to 8: new-old-old-new (old-new-new-old begun from what is on the car)"
    assert [(item.run, item.setting) for item in found.runs][4:] == [(9, "free"), (10, "free")]
    two = plan(event, "31", runs_left=2)
    assert two is not None
    assert two.sentence == "run 5 old, run 6 new; old-new-new-old as soon as four runs are left"
    none = plan(event, "31", runs_left=-1)
    assert none is not None
    assert (none.runs, none.sentence) == ((), "old-new-new-old over four runs of the next day out")
    assert next_test(event, "31", change()).startswith("Next test of rear bar 2 to 3: runs 5 to 8")


def test_a_slow_plan_day_by_day() -> None:
    event = of(ME, {}, change(item="springs", setting="springs"), runs_per_day=6)
    found = plan(event, "31", seed=1)
    assert found is not None
    assert [(item.day, item.run) for item in found.runs] == [(1, 5), (1, 6), *((2, run) for run in range(1, 7))]
    assert {item.setting for item in found.runs[:2]} == {"new"}
    assert not is_quick(change(setting="tyre kpa", item=None))
    assert is_quick(change(setting="tyre psi", item=None))


# --- differences ------------------------------------------------------------------------------------------------


def test_a_change_over_the_blocks_that_are_there() -> None:
    two = Contrast("day", (Block(((1, 1),), ((1, 2),)), Block(((2, 1),), ((2, 2), (2, 3)))))
    times = {(1, 1): 100, (1, 2): 110, (2, 1): 100, (2, 2): 90, (2, 3): 90}
    shares = (0.5 / (0.5 + 2 / 3), (2 / 3) / (0.5 + 2 / 3))
    assert change_of(times, two) == pytest.approx(shares[0] * math.log(1.1) + shares[1] * math.log(0.9))
    assert change_of({(1, 1): 100, (1, 2): 110, (2, 1): 100}, two) == pytest.approx(math.log(1.1))
    assert change_of({(1, 1): 100, (2, 2): 90}, two) is None


def test_far_outside_needs_five_and_a_spread() -> None:
    """Modified z-score 0.6745 |x - median| / MAD over 3.5: with median 3 and MAD 1 from 8.19 on (Iglewicz, Hoaglin)."""
    assert far_outside({"a": 1.0, "b": 2.0, "c": 3.0, "d": 4.0, "e": 8.2}) == ("e",)
    assert far_outside({"a": 1.0, "b": 2.0, "c": 3.0, "d": 4.0, "e": 8.1}) == ()
    assert far_outside({"a": 1.0, "b": 2.0, "c": 3.0, "e": 90.0}) == ()
    assert far_outside({"a": 1.0, "b": 1.0, "c": 1.0, "d": 1.0, "e": 90.0}) == ()


def test_the_usual_learning_by_hand() -> None:
    """Two quiet days: I gain 1 % and 3 % on a field of three that stands still; the mean is taken off."""
    steady = {"40": ["50", "50"], "41": ["50", "50.1"], "42": ["50.1", "50"]}
    events = [(made, raw_times(made)) for made in (of(["50", mine], steady) for mine in ("49.5", "48.5"))]
    one = Contrast("day", (Block(((1, 1),), ((1, 2),)),))
    found = usual_learning(events, "31", one)
    assert found is not None
    assert (found.days, found.extra) == (2, pytest.approx((math.log(0.99) + math.log(0.97)) / 2))
    scatter = math.log(50.1 / 50)
    variance = scatter**2 * (1 + 1 / 3)
    assert found.variance == pytest.approx(2 * variance / 4)
    assert found.df == pytest.approx(4)
    assert usual_learning(events[:1], "31", one) is None
    assert usual_learning(events, "31", replace(one, kind="night")) is None
    busy = of(["50", "49.5"], steady, change("a", 2))
    assert usual_learning([events[0], (busy, raw_times(busy))], "31", one) is None
    early = of(["50", "49.5"], steady, change("a", 1))
    assert usual_learning([events[0], (early, raw_times(early))], "31", one) is not None


# --- a season ---------------------------------------------------------------------------------------------------


def test_which_way_round_a_change_went() -> None:
    first = change()
    assert _way(change(before="3", after="2"), first) == -1
    assert _way(change(before="4", after="5"), first) == 1
    assert _way(change(before="5", after="4"), first) == -1
    assert _way(change(before="soft", after="hard"), first) == 1
    assert _way(change(before="hard", after="soft"), change(before="soft", after="hard")) == -1
    assert _way(change(before="2", after="2"), change(before="2", after="2")) == 1
    assert (_number("2,5"), _number("x"), _number(None)) == (2.5, None, None)


def test_pooling_one_and_none() -> None:
    one = pool([Estimate(-1.0, 0.5)], 10.0, 1e-9)
    assert one.mean == pytest.approx(-1.0 * 100 / (100 + 0.25), rel=1e-3)
    assert one.sd == pytest.approx(1 / math.sqrt(1 / 100 + 1 / 0.25), rel=1e-3)
    with pytest.raises(ValueError, match="nothing to pool"):
        pool([], 1.0)


def test_a_season_leaves_out_what_takes_back() -> None:
    event = of(ME, {"40": ME, "41": ME}, change(), change("b", 4, undoes="c1"))
    (found,) = season_changes([event])
    assert [name for name, _ in found.effects] == ["Test event"]
    assert season_changes([of(ME, {}, change(number=None), mine={"numbers": []})]) == ()


# --- who has which times ----------------------------------------------------------------------------------------


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


# --- the course -------------------------------------------------------------------------------------------------


def test_what_the_course_gave() -> None:
    times = {name: ["50", "49.5", "49"] for name in ("40", "41", "42")}
    found = course_evolution(of(["50", "49.5"], times), 1)
    assert found.time_ms is not None
    assert [(item.run, item.drivers) for item in found.points] == [(1, 4), (2, 4), (3, 3)]
    assert found.points[0].change_ms == 0.0
    assert found.points[2].change_ms == pytest.approx(math.log(0.98) * found.time_ms, rel=1e-4)
    assert [(item.run_from, item.run_to, item.drivers) for item in found.pairs] == [(1, 2, 4), (2, 3, 3)]
    assert found.pairs[1].change_ms == pytest.approx(math.log(49 / 49.5) * found.time_ms, rel=1e-4)
    lone = course_evolution(of(["50", "49"], {"40": ["50"]}), 1)
    assert (lone.points[1].drivers, lone.points[1].low_ms) == (1, None)
    assert course_evolution(of(["50"], {"40": ["50"]}), 1).points == ()
    grouped = of(["50", "49"], times, in_group("31", "A"), in_group("40", "A"), in_group("41", "B"))
    assert course_evolution(grouped, 1, "A").points[0].drivers == 3


def test_did_i_slow() -> None:
    times = {"40": ["50", "51", "50"], "41": ["50", "51.1", "50"], "42": ["50", "50.9", "50"]}
    event = of(["50", "", "53"], times)
    found = did_i_slow(event, "31", 1, 3)
    assert found is not None
    assert (found.run_from, found.run_to, found.drivers) == (1, 3, 3)
    assert found.my_change_ms == pytest.approx(math.log(53 / 50) * math.sqrt(50_000 * 53_000))
    assert did_i_slow(event, "31", 1, 1) is None
    assert did_i_slow(event, "31", 1, 2) is None
    assert did_i_slow(event, "31", 1, 3, 2) is None
    mine = did_i_slow(of(["50", "53"], {name: row[:2] for name, row in times.items()}), "31", 1, 2)
    assert mine is not None
    assert mine.sentence.endswith("that was you, 1.98 s worse than everyone.")
    same = did_i_slow(of(["50", "51"], {name: row[:2] for name, row in times.items()}), "31", 1, 2)
    assert same is not None
    assert same.sentence.endswith("you did what everyone did.")
    one = did_i_slow(of(["50", "51"], {"40": ["50", "51"]}), "31", 1, 2)
    assert one is not None
    assert (one.drivers, one.interval80_ms) == (1, None)
    alone = did_i_slow(of(["50", "51"], {}), "31", 1, 2)
    assert alone is not None
    assert (alone.field_change_ms, alone.drivers) == (None, 0)


def test_a_fit_without_scatter_is_exact() -> None:
    rows = [[1.0, 2.0, 3.0], [2.0, 3.0, 4.0], [None, 5.0, 6.0], [None, None, None]]
    fit = huber_fit(rows)
    assert fit.effects == pytest.approx((-1.0, 0.0, 1.0))
    assert fit.levels == pytest.approx((2.0, 3.0, 5.0, 0.0))
    assert (fit.clip, fit.scale) == (pytest.approx(0, abs=1e-12), pytest.approx(0, abs=1e-12))
    assert fit.level_of([None, None, 9.0]) == pytest.approx(8.0)
    with pytest.raises(ValueError, match="no run"):
        fit.level_of([None, None, None])
    with pytest.raises(ValueError, match="no run"):
        huber_fit([[None, None]])


def test_cautions_of_a_verdict() -> None:
    field = {"40": ["50", "50", "49.9", "49.9"], "41": ["50", "50", "49.8", "49.8"], "42": ["50", "50", "49.6", "49.6"]}
    few = judge(of(ME, field, change()), "c1")
    assert few.cautions == ("only 3 comparable cars: the scatter itself is a guess",)
    four: Event = of(ME, {**field, "43": ["50", "50", "49.7", "49.7"]}, change())
    assert judge(four, "c1").cautions == ()
