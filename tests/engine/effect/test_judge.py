"""One change judged: the figures, whose runs count, and what is said where little can be."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from paddock.engine.effect import judge
from paddock.engine.stats.quantiles import t_quantile
from paddock.errors import UsageError
from paddock.model.rows import RunRow
from tests.engine.effect.made import change, in_group, mistake, of
from tests.factories import entrant, runs, settings
from tests.factories import event as make_event

ME = ["46.000", "46.000", "45.000", "45.000"]
FIELD = {
    "40": ["50.000", "50.000", "49.900", "49.900"],
    "41": ["50.000", "50.000", "49.800", "49.800"],
    "42": ["50.000", "50.000", "49.600", "49.600"],
}
CHANGES = [math.log(49.9 / 50), math.log(49.8 / 50), math.log(49.6 / 50)]


def test_every_figure_by_hand() -> None:
    effect = judge(of(ME, FIELD, change()), "c1")
    time = math.sqrt(46000 * 45000)
    mean = sum(CHANGES) / 3
    scatter = math.sqrt(sum((value - mean) ** 2 for value in CHANGES) / 2)
    error = scatter * math.sqrt(4 / 3)
    extra = math.log(45 / 46) - CHANGES[1]
    assert effect.time_ms == pytest.approx(time)
    assert effect.my_change_ms == pytest.approx(math.log(45 / 46) * time)
    assert effect.field_change_ms == pytest.approx(CHANGES[1] * time)
    assert effect.extra_ms == pytest.approx(extra * time)
    assert (effect.scatter_ms, effect.se_ms) == pytest.approx((scatter * time, error * time))
    assert (effect.df, effect.rank, effect.controls, effect.method) == (2, 1, 3, "difference")
    reach = t_quantile(0.9, 2) * error * time
    assert effect.interval80_ms == pytest.approx((extra * time - reach, extra * time + reach))
    assert effect.prior_sd_ms == pytest.approx(0.2 / 45 * time)
    assert effect.shrunk_ms is not None
    assert extra * time < effect.shrunk_ms < 0
    assert effect.shrunk_interval80_ms is not None
    assert effect.shrunk_interval80_ms[0] < effect.shrunk_ms < effect.shrunk_interval80_ms[1]


def test_cones_and_penalties_change_nothing() -> None:
    coned = {**FIELD, "40": ["50.000+2", "50.000", "49.900+1", "49.900"]}
    plain = judge(of(ME, FIELD, change()), "c1")
    assert judge(of([*ME[:3], "45.000+3"], coned, change()), "c1") == plain


@pytest.mark.parametrize("spoilt", ["dnf", "49.600 dsq", "49.600 rerun", "49.600 practice", "49.600/1", "49.600 dns"])
def test_a_void_run_of_a_control_is_not_used(spoilt: str) -> None:
    """With one run left on that side the control stays, by the two-way fit."""
    effect = judge(of(ME, {**FIELD, "42": ["50.000", "50.000", spoilt, "49.600"]}, change()), "c1")
    assert (effect.controls, effect.method) == (3, "two-way")
    both = judge(of(ME, {**FIELD, "42": ["50.000", "50.000", spoilt, spoilt]}, change()), "c1")
    assert (both.controls, both.method) == (2, "difference")
    assert [(item.number, item.why) for item in both.left_out] == [("42", "no usable time in run 3, 4")]


def test_my_marked_mistake_is_left_out() -> None:
    effect = judge(of([*ME, "49.000"], {n: [*w, "49.000"] for n, w in FIELD.items()}, change(), mistake(5)), "c1")
    assert effect == replace(judge(of(ME, FIELD, change()), "c1"), mistakes_left_out=((1, 5),))


def test_an_unmarked_log_row_changes_nothing() -> None:
    logged = RunRow(day=1, run=4, number="31", mistake=False)
    assert judge(of(ME, FIELD, change(), logged), "c1") == judge(of(ME, FIELD, change()), "c1")


@pytest.mark.parametrize(
    ("mine", "theirs", "why"),
    [
        ({"drive": "front"}, {"drive": "rear"}, "another driven axle"),
        ({"tyre_kind": "street"}, {"tyre_kind": "race"}, "another kind of tyre"),
        ({}, {"control": False}, "known to have changed something"),
        ({}, {"status": "dsq"}, "disqualified"),
    ],
)
def test_who_is_no_control(mine: dict[str, str], theirs: dict[str, str], why: str) -> None:
    people = {"31": mine, "42": theirs}
    effect = judge(of(ME, FIELD, change(), entrants=people), "c1")
    assert effect.controls == 2
    assert [(item.number, item.why) for item in effect.left_out] == [("42", why)]


@pytest.mark.parametrize("name", ["drive", "tyre_kind"])
def test_blank_counts_as_the_same(name: str) -> None:
    value = {"drive": "front", "tyre_kind": "street"}[name]
    assert judge(of(ME, FIELD, change(), entrants={"31": {name: value}}), "c1").controls == 3
    assert judge(of(ME, FIELD, change(), entrants={"42": {name: value}}), "c1").controls == 3


def test_another_run_group_is_not_mixed_in() -> None:
    grid = [in_group("31", "A"), in_group("40", "A"), in_group("41", None), in_group("42", "B")]
    effect = judge(of(ME, FIELD, change(), *grid), "c1")
    assert effect.controls == 2
    assert effect.left_out[0].why == "another run group"


def test_the_grid_of_another_day_says_nothing() -> None:
    grid = [in_group("31", "A", 2), in_group("42", "B", 2)]
    assert judge(of(ME, FIELD, change(), *grid), "c1").controls == 3


@pytest.mark.parametrize(("run", "counts"), [(1, 3), (2, 2), (4, 2), (5, 3)])
def test_a_rivals_logged_change_inside_the_runs_disqualifies(run: int, counts: int) -> None:
    theirs = change("x", run, number="42")
    assert judge(of(ME, FIELD, change(), theirs), "c1").controls == counts


def test_six_runs_bring_the_two_way_fit() -> None:
    mine = ["46.000", "46.100", "46.000", "45.000", "45.100", "49.000"]
    others = {n: [w[0], w[1], w[1], w[2], w[3], w[3]] for n, w in FIELD.items()}
    effect = judge(of(mine, others, change(run=4)), "c1")
    assert (effect.method, effect.controls, effect.df) == ("two-way", 3, 2)
    plain = judge(of(mine[:5], {n: w[:5] for n, w in others.items()}, change(run=4)), "c1")
    assert plain.method == "difference"
    assert effect.extra_ms is not None
    assert effect.extra_ms < 0, "the spoilt last run weighs little"


def test_rank_counts_those_who_gained_more() -> None:
    quick = {**FIELD, "43": ["50.000", "50.000", "45.000", "45.000"]}
    assert judge(of(ME, quick, change()), "c1").rank == 2


def test_going_back_and_forth_uses_both_sides() -> None:
    """Old, new, new, old: the return row puts run 4 back on the old side."""
    mine = ["46.000", "45.000", "45.000", "46.000"]
    others = {n: ["50.000", "49.900", "49.800", text] for n, text in (("1", "49.7"), ("2", "49.6"), ("3", "49.5"))}
    effect = judge(of(mine, others, change(run=2), change("back", 4, undoes="c1")), "c1")
    assert [(item.run, item.new) for item in effect.runs_used] == [(1, False), (2, True), (3, True), (4, False)]
    back = judge(of(mine, others, change(run=2), change("back", 4, undoes="c1")), "back")
    assert back.extra_ms == pytest.approx(-(effect.extra_ms or 0))
    assert effect.p_helped is not None
    assert back.p_helped == pytest.approx(1 - effect.p_helped, abs=1e-6)


def test_another_change_in_the_middle_ends_the_comparison() -> None:
    other = change("c2", 4, item="front pressure", setting="front_pressure", before="34", after="36")
    effect = judge(of(ME, FIELD, change(), other), "c1")
    assert [item.run for item in effect.runs_used] == [1, 2, 3]
    assert effect.cautions[0] == "run 4 left out: front pressure 34 to 36 was changed too"
    assert effect.verdict != "can't tell"
    later = judge(of(ME, FIELD, change(), other), "c2")
    assert [(item.run, item.new) for item in later.runs_used] == [(3, False), (4, True)]


def test_two_changes_at_once_are_told_apart_by_nobody() -> None:
    other = change("c2", 3, item="front pressure", setting="front_pressure", before="34", after="36")
    effect = judge(of(ME, FIELD, change(), other), "c1")
    assert (effect.verdict, effect.p_helped, effect.shrunk_ms) == ("can't tell", None, None)
    assert effect.sentence.startswith(
        "Can't tell about rear bar 2 to 3 alone: it came together with front pressure 34 to 36; all of it together"
    )
    assert effect.extra_ms == pytest.approx(judge(of(ME, FIELD, change()), "c1").extra_ms)


NIGHT = {"number": "31", "day": 2, "run": 1}


def _two_days(people: dict[str, dict[str, str]], written: dict[str, list[str]] | None = None) -> object:
    second = runs("31", 2, "56.000", "56.000", "56.000", "56.000")
    for number, times in (written or {n: ["60.000"] * 4 for n in FIELD}).items():
        second += runs(number, 2, *times)
    return judge(of(ME, FIELD, change(**NIGHT), entrants=people, more=second), "c1")  # type: ignore[arg-type]


def test_overnight_compares_the_same_kind_only() -> None:
    people = {"31": {"drive": "front", "tyre_kind": "street"}, "42": {"drive": "rear", "tyre_kind": "street"}}
    effect = _two_days(people)
    assert (effect.kind, effect.controls) == ("night", 2)  # type: ignore[attr-defined]
    assert "another course" in effect.cautions[0]  # type: ignore[attr-defined]


def test_overnight_without_such_a_car_can_not_be_separated() -> None:
    people = {"31": {"drive": "front"}, **{n: {"drive": "rear"} for n in FIELD}}
    effect = _two_days(people)
    assert effect.sentence.startswith("Can't separate car from course")  # type: ignore[attr-defined]
    assert (effect.verdict, effect.extra_ms, effect.p_helped) == ("can't tell", None, None)  # type: ignore[attr-defined]
    assert effect.my_change_ms is not None  # type: ignore[attr-defined]


def test_no_rivals_times() -> None:
    effect = judge(of(ME, {}, change()), "c1")
    assert effect.my_change_ms == pytest.approx(-1000, abs=1)
    assert (effect.field_change_ms, effect.extra_ms, effect.se_ms, effect.interval80_ms) == (None,) * 4
    assert (effect.verdict, effect.controls, effect.rank) == ("can't tell", 0, None)
    assert "you gained 1.00 s" in effect.sentence
    assert "runs 1, 2, 3 and 4" in effect.sentence


def test_one_control_shows_no_scatter() -> None:
    effect = judge(of(ME, {"40": FIELD["40"]}, change()), "c1")
    assert effect.extra_ms == pytest.approx(-908, abs=2)
    assert (effect.se_ms, effect.p_helped, effect.verdict) == (None, None, "can't tell")


def test_two_controls_answer_with_a_caution() -> None:
    effect = judge(of(ME, {n: FIELD[n] for n in ("40", "41")}, change()), "c1")
    assert (effect.df, effect.controls) == (1, 2)
    assert effect.cautions == ("only 2 comparable cars: the scatter itself is a guess",)


def test_two_controls_that_agree_by_luck_prove_nothing() -> None:
    """One run each side; both controls gain 0.900 s to the millisecond, I gain 2.200."""
    times = {"40": ["58.000", "58.000", "57.100"], "41": ["60.000", "60.000", "59.100"]}
    effect = judge(of(["59.000", "59.000", "56.800"], times, change()), "c1")
    assert (effect.verdict, effect.p_helped, effect.shrunk_ms) == ("can't tell", None, None)
    assert effect.extra_ms == pytest.approx(-1_300, abs=30)
    assert "the two comparable cars gained" in effect.sentence


@pytest.mark.parametrize(
    ("row", "says"),
    [
        (change(run=5), "has not been driven in a usable run yet"),
        (change(run=1), "no usable run without it"),
        (change(run=None), "doesn't say from which run"),
        (change(day=None), "doesn't say from which run"),
    ],
)
def test_nothing_to_compare(row: object, says: str) -> None:
    effect = judge(of(ME, FIELD, row), "c1")  # type: ignore[arg-type]
    assert says in effect.sentence
    assert (effect.verdict, effect.my_change_ms, effect.extra_ms, effect.controls) == ("can't tell", None, None, 0)


def test_the_clock_tells_the_run_where_the_log_does_not() -> None:
    event = of(ME, FIELD, change(run=None, at="10:30"))
    clocked = tuple(
        row.model_copy(update={"at": f"10:{10 * row.run:02d}"}) if row.number == "31" else row for row in event.times
    )
    effect = judge(replace(event, tables={**event.tables, "times.csv": clocked}), "c1")
    assert [item.new for item in effect.runs_used] == [False, False, True, True]


def test_no_run_of_mine_at_all() -> None:
    effect = judge(of([], FIELD, change()), "c1")
    assert "you have no usable run" in effect.sentence


def test_unknown_change() -> None:
    with pytest.raises(UsageError, match=r"no change 'zz' in changes\.csv \(logged: c1"):
        judge(of(ME, FIELD, change()), "zz")


def test_a_change_of_nobody() -> None:
    nobody = make_event([entrant("40")], runs("40", 1, "50.000"), settings(mine={}), change(number=None))
    with pytest.raises(UsageError, match="names no number"):
        judge(nobody, "c1")


def test_the_only_entry_of_mine_is_meant_where_none_is_named() -> None:
    assert judge(of(ME, FIELD, change(number=None)), "c1") == judge(of(ME, FIELD, change()), "c1")


def test_a_co_driver_is_a_second_look_and_no_control() -> None:
    both = {**FIELD, "87": ["47.000", "47.000", "46.200", "46.200"]}
    shared = {"mine": {"numbers": ["31", "87"], "cars": {"31": "hatch", "87": "hatch"}}}
    effect = judge(of(ME, both, change(), **shared), "c1")
    assert effect.controls == 3
    assert [(item.number, item.why) for item in effect.left_out] == [("87", "the same car")]
    found = effect.co_drivers[0]
    assert found.number == "87"
    assert found.extra_ms == pytest.approx((math.log(46.2 / 47) - CHANGES[1]) * math.sqrt(47000 * 46200))


def test_my_other_car_may_be_a_control() -> None:
    both = {**FIELD, "87": FIELD["40"]}
    other_car = {"mine": {"numbers": ["31", "87"], "cars": {"31": "hatch", "87": "coupe"}}}
    assert judge(of(ME, both, change(), **other_car), "c1").controls == 4


def _with_learning(count: int) -> list[object]:
    quiet = of(["46.000", "46.000", "45.400", "45.400"], FIELD)
    return [quiet] * count


def test_usual_learning_is_taken_off_with_its_variance() -> None:
    event = of(ME, FIELD, change())
    alone, known = judge(event, "c1"), judge(event, "c1", _with_learning(4))  # type: ignore[arg-type]
    time = alone.time_ms or 0
    usual = (math.log(45.4 / 46) - CHANGES[1]) * time
    assert (known.learning_days, known.learning_ms) == (4, pytest.approx(usual))
    assert known.extra_ms == pytest.approx((alone.extra_ms or 0) - usual)
    assert known.se_ms == pytest.approx((alone.se_ms or 0) * math.sqrt(1 + 1 / 4))
    assert (known.df or 0) > (alone.df or 0)
    assert "your usual learning (gained 0.4" in known.sentence


def test_one_quiet_day_is_no_habit() -> None:
    event = of(ME, FIELD, change())
    assert judge(event, "c1", _with_learning(1)) == judge(event, "c1")  # type: ignore[arg-type]


def test_the_decision_is_kept_apart() -> None:
    open_, kept = judge(of(ME, FIELD, change()), "c1"), judge(of(ME, FIELD, change(decision="keep")), "c1")
    assert replace(kept, decision=None) == open_
    assert kept.decision == "keep"


def test_equal_controls_leave_the_clocks_own_error() -> None:
    same = dict.fromkeys(("40", "41", "42"), FIELD["40"])
    effect = judge(of(ME, same, change()), "c1")
    assert effect.se_ms == pytest.approx(1 / math.sqrt(12), rel=1e-3)
    assert effect.verdict == "very likely helped"


def test_sentence_of_a_helpful_change() -> None:
    assert judge(of(ME, FIELD, change()), "c1").sentence == (
        "Rear bar 2 to 3 very likely helped: the field gained 0.18 s, you gained 1.00 s, "
        "so 0.82 s more than the course gave (range 0.51 to 1.12 s faster)."
    )


def test_sentence_of_a_leaning_verdict() -> None:
    wide = {**FIELD, "43": ["50.000", "50.000", "50.200", "50.200"], "44": ["50.000", "50.000", "49.400", "49.400"]}
    effect = judge(of(["46.000", "46.000", "45.500", "45.500"], wide, change()), "c1")
    assert effect.verdict == "leans helped"
    assert effect.sentence.startswith("Rear bar 2 to 3 may have helped: the field gained 0.18 s")


SPOILT = {**FIELD, "43": ["50.000", "50.000", "49.700", "49.700"], "44": ["50.000", "50.000", "54.000", "49.800"]}


def _said(*runs: int) -> list[RunRow]:
    return [RunRow(day=1, run=run, number="31", mistake=False) for run in runs]


def test_a_rivals_spoilt_run_is_no_scatter_where_mine_are_known_to_be_clean() -> None:
    clean = judge(of(ME, SPOILT, change(), *_said(1, 2, 3, 4)), "c1")
    assert (clean.controls, clean.df) == (4, 3)
    assert [(item.number, item.why) for item in clean.left_out] == [("44", "a change far outside the rest")]


@pytest.mark.parametrize("said", [(), (1, 2, 3), (1, 2, 4)])
def test_it_is_where_my_log_is_silent(said: tuple[int, ...]) -> None:
    silent = judge(of(ME, SPOILT, change(), *_said(*said)), "c1")
    assert (silent.controls, silent.df) == (5, 4)
    assert (silent.se_ms or 0) > 5 * (judge(of(ME, SPOILT, change(), *_said(1, 2, 3, 4)), "c1").se_ms or 0)


def test_a_run_the_field_has_not_been_entered_for_is_left_out() -> None:
    mine = [*ME, "40.000"]
    effect = judge(of(mine, FIELD, change()), "c1")
    plain = judge(of(ME, FIELD, change()), "c1")
    assert effect.cautions == ("run 5 left out: fewer than two comparable cars have a time there", *plain.cautions)
    assert replace(effect, cautions=plain.cautions) == plain
    one = judge(of(mine, {**FIELD, "40": [*FIELD["40"], "49.900"]}, change()), "c1")
    assert (one.extra_ms, one.controls) == (plain.extra_ms, 3)


def test_with_single_cars_here_and_there_what_there_is_is_used() -> None:
    others = {"40": ["50.000", "", "49.900", ""], "41": ["", "50.000", "", "49.800"]}
    effect = judge(of(ME, others, change()), "c1")
    assert (effect.controls, effect.method) == (2, "two-way")
    assert [item.run for item in effect.runs_used] == [1, 2, 3, 4]
