"""Which run is on which side, and which change waits for its test. By hand."""

from __future__ import annotations

from typing import Any

import pytest

from paddock.engine.field.case import CaseBlock, Contrast, contrast, first_slot, label
from paddock.engine.field.plan import is_quick, open_test, plan
from paddock.model.rows import SetupChange, TimeRow
from paddock.pages.verdict_words import next_test_words, plan_words
from tests.engine.field.made import change, of
from tests.factories import entrant, settings
from tests.factories import event as make_event

ME = ["46.000", "46.000", "45.000", "45.000"]
SLOTS = tuple((1, run) for run in range(1, 9))


def sides(*rows: SetupChange, slots: tuple[tuple[int, int], ...] = SLOTS, judged: int = 0) -> Contrast:
    return contrast(of(ME, {}, *rows), rows[judged], "26", slots)


def news(found: Contrast) -> list[int]:
    return [run for (_, run), on in zip(found.runs, found.on, strict=True) if on]


def blocks(found: Contrast) -> tuple[list[int], list[int]]:
    return [s[1] for b in found.blocks for s in b.old], [s[1] for b in found.blocks for s in b.new]


# --- with and without ---------------------------------------------------------------------------------------------------


def test_a_setting_that_goes_on_and_off_and_on() -> None:
    rows = (change("a", 3), change("b", 5, undoes="a"), change("c", 7, undoes="b"))
    assert news(sides(*rows)) == [3, 4, 7, 8]
    assert news(sides(*rows, judged=1)) == [1, 2, 5, 6]
    assert news(sides(*rows, judged=2)) == [3, 4, 7, 8]


def test_another_change_is_an_unknown_of_its_own() -> None:
    """My own change is read from runs that differ in nothing else; the model is given all."""
    found = sides(change("a", 3), change("x", 5, setting="camber", item="camber"))
    assert (found.kind, *blocks(found)) == ("day", [1, 2], [3, 4])
    assert news(found) == [3, 4, 5, 6, 7, 8]
    assert found.others == (("x", (False,) * 4 + (True,) * 4),)
    assert found.mixed_with == ()


def test_two_changes_in_the_same_runs_are_mixed() -> None:
    found = sides(change("a", 3), change("x", 3, setting="camber"))
    assert (found.kind, found.mixed_with, *blocks(found)) == ("mixed", ("x",), [1, 2], [3, 4, 5, 6, 7, 8])
    back = sides(change("a", 1), change("b", 3, undoes="a"), change("x", 3, setting="camber"))
    assert (back.kind, back.mixed_with) == ("mixed", ("x",))
    ended = sides(change("a", 3), change("x", 3, setting="camber"), change("y", 5, setting="toe"))
    assert (ended.mixed_with, [name for name, _ in ended.others]) == (("x",), ["x", "y"])
    apart = sides(change("a", 3), change("x", 3, setting="camber"), change("z", 7, undoes="x", setting="camber"))
    assert (apart.kind, apart.mixed_with) == ("day", ())


def test_a_change_that_was_on_all_day_is_no_unknown() -> None:
    found = sides(change("a", 3), change("x", 1, setting="camber"))
    assert (found.kind, found.others) == ("day", ())


def test_over_a_night_only_the_next_days_are_compared() -> None:
    slots = ((1, 1), (2, 1), (2, 2), (3, 1), (3, 2), (4, 1))
    found = sides(change("a", 1, day=3), slots=slots)
    assert (found.kind, found.runs, found.on) == ("night", slots[1:5], (False, False, True, True))
    rows = (change("a", 1, day=1), change("b", 1, day=3, undoes="a"))
    back = contrast(of(ME, {}, *rows), rows[0], "26", slots)
    assert (back.kind, back.runs, back.on) == ("night", slots[1:5], (True, True, False, False))


def test_days_next_to_the_change_whatever_the_runs_are_numbered() -> None:
    slots = ((1, 4), (2, 5), (2, 6), (3, 4), (3, 5), (4, 4))
    found = sides(change("a", 1, day=3), slots=slots)
    assert (found.kind, found.runs, found.on) == ("night", slots[1:5], (False, False, True, True))
    rows = (change("a", 1, day=1), change("b", 1, day=3, undoes="a"))
    back = contrast(of(ME, {}, *rows), rows[0], "26", slots)
    assert (back.kind, back.runs, back.on) == ("night", slots[1:5], (True, True, False, False))


def test_a_return_nobody_dated_has_no_sides() -> None:
    assert sides(change("a", 3), change("b", None, undoes="a"), judged=1).kind == "none"


def test_mixed_is_asked_day_by_day() -> None:
    """On in the very same runs of day 1 and in the very others of day 2; then in some of them."""
    slots = tuple((day, run) for day in (1, 2) for run in (1, 2, 3, 4))
    rows = [change("a", 3), change("b", 3, day=2, undoes="a"), change("x", 3, setting="toe"),
            change("y", 1, day=2, undoes="x", setting="toe"), change("z", 3, day=2, undoes="y", setting="toe")]  # fmt: skip
    assert (sides(*rows, slots=slots).kind, sides(*rows, slots=slots).mixed_with) == ("mixed", ("x",))
    assert sides(*rows[:4], slots=slots).kind == "day"


def test_two_overnight_changes_are_mixed() -> None:
    found = sides(change("a", 1, day=2), change("x", 1, day=2, setting="toe"), slots=((1, 1), (1, 2), (2, 1), (2, 2)))
    assert (found.kind, found.mixed_with) == ("mixed", ("x",))


def test_nothing_on_one_side() -> None:
    before = sides(change("a", 9))
    assert (before.kind, *blocks(before)) == ("none", [1, 2, 3, 4, 5, 6, 7, 8], [])
    after = sides(change("a", 1))
    assert (after.kind, *blocks(after)) == ("none", [], [1, 2, 3, 4, 5, 6, 7, 8])
    assert sides(change("a", 3), slots=()).blocks == ()
    assert sides(change("a", None)).kind == "none"


def test_weights_of_two_blocks() -> None:
    """Sizes 2 x 2 / 4 = 1 and 1 x 2 / 3 = 2/3: shares 0.6 and 0.4."""
    found = Contrast("day", (CaseBlock(((1, 1), (1, 2)), ((1, 3), (1, 4))), CaseBlock(((2, 1),), ((2, 2), (2, 3)))))
    assert found.weights() == pytest.approx({
        (1, 1): -0.3, (1, 2): -0.3, (1, 3): 0.3, (1, 4): 0.3, (2, 1): -0.4, (2, 2): 0.2, (2, 3): 0.2,
    })  # fmt: skip


def test_where_a_change_begins() -> None:
    timed = [
        TimeRow(day=1, run=run, number="26", time_ms=1, at=at) for run, at in ((1, "09:00"), (2, "10:00"), (3, None))
    ]
    event = make_event([entrant("26")], timed, settings(mine={"numbers": ["26"]}))

    def at(**more: Any) -> tuple[int, int] | None:
        return first_slot(event, SetupChange(**({"id": "c", "day": 1, "number": "26"} | more)))

    assert (at(run=4), at(at="09:30"), at(at="10:00"), at(at="10:01"), at()) == ((1, 4), (1, 2), (1, 2), None, None)
    assert (at(day=None, run=4), at(at="09:30", number=None), at(at="09:30", number="7")) == (None, (1, 2), None)


def test_a_change_by_name() -> None:
    def named(**more: Any) -> str:
        return label(SetupChange(id="c9", **more))

    assert named(item="rear bar", before="2", after="3") == "rear bar 2 to 3"
    assert named(setting="rear_bar", after="3") == "rear bar to 3"
    assert (named(item="seat", before="2"), named()) == ("seat", "change c9")


# --- the test to come ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "row",
    [
        change("b", 4, decision="keep"),
        change("b", 4, kind="repair"),
        change("b", 4, undoes="zz"),
        change("b", 4, number="40"),
    ],
)
def test_what_is_no_open_test(row: SetupChange) -> None:
    event = of(ME, {"40": ME}, change("a"), row)
    found = open_test(event, "26")
    assert found is not None
    assert found.id == "a"
    assert open_test(of(ME, {"40": ME}, row), "26") is None


def test_a_change_taken_back_waits_for_nothing() -> None:
    assert open_test(of(ME, {}, change("a"), change("b", 4, undoes="a")), "26") is None


def test_plans_run_by_run() -> None:
    event = of(ME, {"40": [*ME, "50"]}, change(), runs_per_day=10)
    found = plan(event, "26")
    assert found is not None
    assert plan_words(found) == "runs 5 to 8: new-old-old-new (old-new-new-old begun from what is on the car)"
    assert [(item.run, item.setting) for item in found.runs][4:] == [(9, "free"), (10, "free")]
    two = plan(event, "26", runs_left=2)
    assert two is not None
    assert plan_words(two) == "run 5 old, run 6 new; old-new-new-old as soon as four runs are left"
    none = plan(event, "26", runs_left=-1)
    assert none is not None
    assert (none.runs, plan_words(none)) == ((), "old-new-new-old over four runs of the next day out")
    assert next_test_words("rear bar 2 to 3", found).startswith("Next test of rear bar 2 to 3: runs 5 to 8")


def test_a_slow_plan_day_by_day() -> None:
    event = of(ME, {}, change(item="springs", setting="springs"), runs_per_day=6)
    found = plan(event, "26", seed=1)
    assert found is not None
    assert [(item.day, item.run) for item in found.runs] == [(1, 5), (1, 6), *((2, run) for run in range(1, 7))]
    assert {item.setting for item in found.runs[:2]} == {"new"}
    assert not is_quick(change(setting="tyre kpa", item=None))
    assert is_quick(change(setting="tyre psi", item=None))
