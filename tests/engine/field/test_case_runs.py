"""My runs, the field without me and the verdict, put together by hand from the rows."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from statistics import fmean
from typing import Any

import numpy as np
import pytest

from paddock.engine.field.case import (
    Case,
    CaseBlock,
    Contrast,
    Field,
    Habits,
    case_number,
    case_of,
    co_drivers,
    controls_used,
    field_without,
    others_on,
    own_runs,
)
from paddock.engine.field.fit import fit
from paddock.engine.field.own import judge_runs
from paddock.engine.field.scores import raw_times
from paddock.engine.field.verdict import judge, judge_all
from paddock.model.event import Event
from paddock.model.rows import RunRow, SetupChange
from tests.engine.field.made import change, in_group, mistake, of
from tests.factories import entrant

ME = ["46.0", "46.2", "45.1", "45.3", "45.0"]
MATE = ["47.0", "47.1", "46.4", "dnf", "46.0"]
MINE = {"numbers": ["26", "27"], "cars": {"26": "estate", "27": "estate"}}
FIELD = {
    "40": ["50.0", "50.1", "49.9", "49.8", "49.8"], "41": ["50.4", "50.0", "49.8", "49.9", "49.7"],
    "42": ["51.0", "50.8", "50.3", "50.4", "50.5"], "43": ["49.0", "", "", "", ""], "44": ["48.0", "48.1", "", "", ""],
    "45": ["52.0", "52.1", "52.0", "52.3", "52.0"], "46": ["47.7", "47.6", "47.9", "47.5", "47.6"],
}  # fmt: skip


def shared(*rows: Any, **more: Any) -> Event:
    """26 and 27 share a car; 44 is out, 46 is known to have changed something, 43 drove once, 42 changed its bar."""
    people = {"44": {"status": "dsq"}, "46": {"control": False}, "26": {"drive": "rear"}, "42": {"drive": "front"}}
    grid = [in_group("26", "B"), in_group("27", "A"), in_group("40", "A"), in_group("41", "B")]
    theirs = change("theirs", 4, number="42")
    return of(ME, {"27": MATE, **FIELD}, *rows, theirs, *grid, entrants=people, mine=MINE, runs_per_day=8, **more)


def made(*rows: Any) -> tuple[Case, Field]:
    event = shared(change(), change("x", 5, setting="rear_pressure", before="30", after="33"), *rows)
    case = case_of(event, event.of(SetupChange)[0])
    assert case is not None
    found = field_without(event, "26", case.times, case.days)
    assert found is not None
    return case, found


def test_my_runs_and_my_mate_s_by_hand() -> None:
    """Slots 0 to 4; the mate's fourth is void, my second a mistake; groups A and B count 0 and 1."""
    case, found = made(
        mistake(2), RunRow(day=1, run=3, number="26", mistake=False), RunRow(day=1, run=1, number="27", mistake=False)
    )
    habits = Habits(learning={"27": (0.2, 0.1, 3)}, priors={"other": 2.0}, scatter={"26": 1.7})
    own = own_runs(case, found, habits)
    assert own.driver.tolist() == [0] * 4 + [1] * 3
    assert own.slot.tolist() == [0, 2, 3, 4, 0, 2, 4]
    assert own.group.tolist() == [1] * 4 + [0] * 3
    assert own.told.tolist() == [False, True, False, False, True, False, False]
    assert own.changes.tolist() == [
        [0, 0, 0], [1, 0, 0], [1, 0, 0], [1, 1, 0], [0, 0, 0], [1, 0, 1], [1, 1, 1],
    ]  # fmt: skip
    assert own.sds.tolist() == pytest.approx([0.4, 0.15, 0.2])
    assert own.contrast.tolist() == pytest.approx([-1, 0.5, 0.5, 0, 0, 0, 0]), "runs that differ in nothing else"
    assert (own.learning, own.scatter) == ((None, (0.2, 0.1)), (1.7, 1.0))
    logs = [45 * math.log(1000 * float(time)) for time in ME]
    middle = fmean(logs)
    assert own.y[:4].tolist() == pytest.approx([logs[at] - middle for at in (0, 2, 3, 4)])
    theirs = [45 * math.log(1000 * float(time)) for time in (MATE[0], MATE[1], MATE[2], MATE[4])]
    assert own.y[4:].tolist() == pytest.approx([theirs[at] - fmean(theirs) for at in (0, 2, 3)])
    assert found.placed.kinds[own.kind] == ("rear", "")
    alone = own_runs(case, found, Habits(), alone=True)
    assert (alone.driver.tolist(), alone.changes.shape, alone.scatter) == ([0] * 4, (4, 2), (1.0,))
    assert alone.sds.tolist() == pytest.approx([0.2, 0.15])


def test_the_field_without_my_car_and_who_is_left_out() -> None:
    case, found = made(mistake(1, "45"), mistake(2, "45"), mistake(3, "45"), mistake(4, "45"))
    assert found.controls == ("40", "41", "42")
    assert [(item.number, item.why) for item in found.left_out] == [
        ("27", "the same car"), ("43", "fewer than two usable runs"), ("44", "disqualified"),
        ("45", "fewer than two usable runs"), ("46", "known to have changed something"),
    ]  # fmt: skip
    frame = found.placed.frame
    kept = [frame.numbers.index(number) for number in found.controls]
    extra = np.zeros((3, 5))
    extra[2, 3:] = 0.2
    again = fit(frame.rows(kept), len(found.placed.groups), len(found.placed.kinds), extra)
    assert found.fitted.mean == pytest.approx(again.mean)
    assert found.fitted.cov == pytest.approx(again.cov)
    plain = fit(frame.rows(kept), len(found.placed.groups), len(found.placed.kinds))
    assert found.fitted.mean != pytest.approx(plain.mean), "what 42 changed has room"
    assert field_without(case.event, "26", {"26": case.mine, "43": case.times["43"]}, (1,)) is None


def test_changes_between_the_same_runs_by_hand() -> None:
    case, found = made()
    event = case.event
    blocks = (CaseBlock(((1, 1), (1, 2)), ((1, 3),)), CaseBlock(((1, 4),), ((1, 5),)))
    case = replace(case, of=replace(case.of, blocks=blocks))
    logs = {at: math.log(float(time)) for at, time in enumerate(ME, 1)}
    first, second = logs[3] - (logs[1] + logs[2]) / 2, logs[5] - logs[4]
    assert case.change_of(case.mine) == pytest.approx((2 / 3 * first + 0.5 * second) / (2 / 3 + 0.5))
    assert case.change_of({(1, 3): 45_100, (1, 2): 46_200}) == pytest.approx(logs[3] - logs[2])
    assert case.change_of({(1, 3): 45_100, (1, 4): 46_200}) is None
    time = 1000 * math.exp(fmean(logs.values()))
    assert case.time_ms == pytest.approx(time)
    assert case.days == (1,)
    used = controls_used(case, found)
    wanted = {n: case.change_of(case.times[n]) for n in ("40", "41", "42", "45")}
    assert [item.number for item in used] == sorted(wanted, key=lambda n: wanted[n] or 0.0)
    assert [item.change_ms for item in used] == pytest.approx([(wanted[i.number] or 0.0) * time for i in used])
    lost = replace(found, controls=("43", "40", "41"))
    assert [item.number for item in controls_used(case, lost)][-1] == "43"
    assert controls_used(case, lost)[-1].change_ms is None
    (mate,) = co_drivers(case, 0.01)
    theirs = {at: math.log(float(time)) for at, time in enumerate(MATE, 1) if time != "dnf"}
    ln = theirs[3] - (theirs[1] + theirs[2]) / 2
    typical = 1000 * math.exp(fmean(theirs.values()))
    assert (mate.number, mate.change_ms, mate.extra_ms) == (
        "27",
        pytest.approx(ln * typical),
        pytest.approx((ln - 0.01) * typical),
    )
    missed = case_of(shared(change(), mistake(3, "27"), mistake(5, "27")), event.of(SetupChange)[0])
    assert missed is not None
    assert co_drivers(missed, 0.0) == ()


def test_other_changes_that_are_on_in_some_runs() -> None:
    rows = [change("a", 2), change("b", 4, setting="toe"), change("back", 5, undoes="a"), change("all", 1, setting="seat"),
            change("other", 3, number="40")]  # fmt: skip
    event = of(ME, {"40": ME}, *rows)
    slots = tuple((1, run) for run in range(1, 6))
    found = others_on(event, "26", slots, lambda row: bool(row.id))
    assert found == (("a", (False, True, True, True, False)), ("b", (False, False, False, True, True)))
    assert others_on(event, "26", slots, lambda row: row.setting == "toe") == found[1:]


def test_whose_runs_judge_a_change() -> None:
    event = of(ME, {})
    assert (case_number(event, change(number="40")), case_number(event, change(number=None))) == ("40", "26")
    assert case_number(of(ME, {}, mine={"numbers": ["5", "6"]}), change(number=None)) == "5"
    assert case_number(of(ME, {}, mine={"numbers": []}), change(number=None)) is None
    assert case_of(of(ME, {}, mine={"numbers": []}), change(number=None)) is None


def test_the_verdict_put_together_from_its_parts() -> None:
    """Every figure from the posterior of the same runs, scaled to my time."""
    case, found = made(mistake(2), mistake(9), RunRow(day=1, run=3, number="26", mistake=False))
    event = case.event
    habits = Habits(learning={"26": (0.2, 0.1, 3)}, priors={"other": 2.0}, scatter={"26": 1.2})
    effect = judge(event, "c1", habits)
    seen = judge_runs(found.fitted, own_runs(case, found, habits))
    ms = case.time_ms / 45
    assert effect.time_ms == pytest.approx(case.time_ms)
    assert effect.my_change_ms == pytest.approx((case.change_of(case.mine) or 0) * case.time_ms)
    assert effect.field_change_ms == pytest.approx(seen.field * ms)
    assert (effect.extra_ms, effect.se_ms) == pytest.approx((seen.plain.mean * ms, seen.plain.sd * ms))
    assert effect.interval80_ms == pytest.approx(tuple(end * ms for end in seen.plain.range80()))
    assert effect.scatter_ms == pytest.approx(math.sqrt(found.fitted.hyper.scatter) * ms)
    assert (effect.own_learning_ms, effect.shrunk_ms) == pytest.approx((seen.learnt.mean * ms, seen.effect.mean * ms))
    assert effect.own_learning_interval80_ms == pytest.approx(tuple(end * ms for end in seen.learnt.range80()))
    assert effect.shrunk_interval80_ms == pytest.approx(tuple(end * ms for end in seen.effect.range80()))
    assert effect.p_helped == pytest.approx(seen.effect.under(0.0))
    assert (effect.prior_sd_ms, effect.prior_source) == (pytest.approx(0.4 * ms), "own seasons")
    assert effect.told_share == pytest.approx(1 - (seen.effect.sd / 0.4) ** 2)
    assert (effect.learning_days, effect.scatter_wider) == (3, 1.2)
    theirs = [item.change_ms for item in effect.controls_used]
    assert effect.rank == 1 + sum(value < effect.my_change_ms for value in theirs)  # type: ignore[operator]
    assert effect.controls_used == controls_used(case, found)
    assert effect.co_drivers == co_drivers(case, seen.field / 45)
    assert effect.left_out == found.left_out
    assert [(item.run, item.raw_ms, item.new) for item in effect.runs_used] == [
        (1, 46_000, False), (3, 45_100, True), (4, 45_300, True), (5, 45_000, True),
    ]  # fmt: skip
    assert (effect.mistakes_left_out, effect.silent) == (((1, 2), (1, 9)), ((1, 1), (1, 4), (1, 5)))
    assert effect.changed_too == ("rear bar 30 to 33",)
    assert (effect.first, effect.kind, effect.why) == ((1, 3), "day", "judged")
    assert effect.plan is not None
    assert (effect.power, effect.hoped_ms) == pytest.approx((effect.plan.power.probably, 200.0))
    assert effect.cautions[-2:] == ("silent log", "changed too")
    assert "scatter" in effect.cautions
    assert "scatter" not in judge(event, "c1").cautions
    assert ("own learning" in effect.cautions) == (abs(effect.own_learning_ms or 0) >= 50)
    both = judge_all(event, event.of(SetupChange)[:2], habits)
    assert both[0] == effect
    assert both[1].prior_sd_ms == pytest.approx(0.15 * (both[1].time_ms or 0) / 45)


@pytest.mark.parametrize(
    ("row", "why", "runs"),
    [(change(run=None), "no first run", 0), (change(run=9), "not driven", 5), (change(run=1), "none without", 5)],
)
def test_why_there_is_no_verdict(row: SetupChange, why: str, runs: int) -> None:
    effect = judge(of(ME, FIELD, row, mistake(7, day=2)), "c1")
    assert (effect.why, effect.verdict, effect.kind, len(effect.runs_used)) == (why, "can't tell", "none", runs)
    assert effect.mistakes_left_out == ((2, 7),), "no day is in question: all of them"
    assert {item.new for item in effect.runs_used} <= {why == "none without"}
    none = judge(of(["dnf", "dnf"], FIELD, change(run=2)), "c1")
    assert (none.why, none.runs_used) == ("no run", ())


def test_nobody_else_and_two_changes_at_once() -> None:
    alone = judge(of(ME, {}, change()), "c1")
    assert (alone.why, alone.p_helped) == ("nobody else", None)
    assert alone.my_change_ms is not None
    both = judge(of(ME, FIELD, change(), change("t", 3, setting="toe", item="toe"), mistake(1, day=2)), "c1")
    assert (both.why, both.not_separable, both.together_with, both.p_helped) == (
        "together",
        ("t",),
        ("toe 2 to 3",),
        None,
    )
    assert both.extra_ms is not None
    assert both.mistakes_left_out == (), "of another day"
    assert "overnight" not in both.cautions


@pytest.mark.parametrize("seed", range(4))
def test_a_day_that_tells_much_does_not_say_that_it_tells_little(seed: int) -> None:
    """A change of tyres may go half a second: of sixteen runs a day tells most of it, of a bar's four hardly any."""
    rng = random.Random(seed)
    others = {str(40 + at): [f"{50 + rng.gauss(0, 0.1):.3f}" for _ in range(12)] for at in range(6)}
    mine = [f"{46 - (run % 4 in (2, 3)) * 0.5 + rng.gauss(0, 0.1):.3f}" for run in range(1, 13)]
    turns = [change("t", 2, setting="tyres")]
    turns += [
        change(f"t{run}", run, setting="tyres", undoes="t" if run == 4 else f"t{run - 2}") for run in range(4, 13, 2)
    ]
    sure, bar = judge(of(mine, others, *turns), "t"), judge(of(ME[:4], FIELD, change()), "c1")
    assert (sure.told_share or 0.0) > 0.3 > (bar.told_share or 0.0)
    assert ("tells little" in sure.cautions, "tells little" in bar.cautions) == (False, True)


def test_few_cars_hardly_tell_the_course() -> None:
    for count, few in ((3, True), (4, False)):
        others = {str(40 + at): ["50.0", "50.1", "49.9", "49.8", "49.8"] for at in range(count)}
        assert ("few cars" in judge(of(ME, others, change()), "c1").cautions) == few


def test_a_number_without_an_entrant_tells_the_course_too() -> None:
    event = of(["46.0", "46.1"], {"40": ["47.0", "47.1"]})
    bare = replace(event, tables={**event.tables, "entrants.csv": (entrant("26"),)})
    found = field_without(bare, "26", raw_times(bare), (1,))
    assert found is not None
    assert found.controls == ("40",)


def test_weights_are_of_the_blocks_alone() -> None:
    found = Contrast("day", (CaseBlock(((1, 1),), ((1, 2), (1, 3))),), ((1, 1), (1, 2), (1, 3), (1, 4)))
    assert found.weights() == pytest.approx({(1, 1): -1.0, (1, 2): 0.5, (1, 3): 0.5})
