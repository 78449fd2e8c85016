"""What the field gave from run to run, and whether it was me."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from statistics import fmean

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paddock.engine.field.course import (
    Slowed,
    SpoiltRun,
    course_evolution,
    courses,
    groups_on,
    slowed_runs,
    spoilt,
)
from paddock.engine.field.fit import Fitted, fit
from paddock.engine.field.from_event import Placed, placed
from paddock.engine.field.scores import raw_times
from paddock.engine.stats.quantiles import t_quantile
from paddock.model.event import Event
from paddock.model.rows import RunRow, TimeRow
from paddock.pages.verdict_words import slowed_words
from tests.engine.field.made import drawn, in_group, mistake, of
from tests.factories import entrant, event, runs
from tests.factories import settings as make_settings

ME = ["50.000", "49.000", "49.500"]
NOISE = (0.05, -0.12, 0.2, -0.03, 0.11, -0.2, 0.02, -0.08, 0.15, -0.1)


def did_i_slow(of: Event, number: str, day: int, run_to: int, run_from: int | None = None) -> Slowed | None:
    return slowed_runs(of, number, day, ((run_from, run_to),))[0]


def scattered(*steps: float, count: int = 10) -> dict[str, list[str]]:
    """Drivers whose runs scatter a little around the same steps; the scatter of each run adds up to about nothing."""
    return {
        str(40 + i): [f"{50 + step + NOISE[(3 * i + 7 * run) % 10]:.3f}" for run, step in enumerate((0.0, *steps))]
        for i in range(count)
    }


FIELD = scattered(-1.0, -1.0)


def test_a_field_gives_its_change_within_its_range() -> None:
    found = course_evolution(of([], FIELD), 1)
    assert found.time_ms == pytest.approx(49_300, abs=100)
    assert [point.run for point in found.points] == [1, 2, 3]
    assert [point.drivers for point in found.points] == [10, 10, 10]
    assert [point.change_ms for point in found.points] == pytest.approx([0.0, -1000.0, -1000.0], abs=120)
    assert [(pair.run_from, pair.run_to, pair.drivers) for pair in found.pairs] == [(1, 2, 10), (2, 3, 10)]
    for pair, truth in zip(found.pairs, (-1000.0, 0.0), strict=True):
        assert pair.low_ms < truth < pair.high_ms
        assert pair.high_ms - pair.low_ms < 400


def test_one_mistake_of_many_moves_little() -> None:
    one = {**FIELD, "50": ["50.000", "69.000", "49.000"]}
    with_, without = course_evolution(of([], one), 1), course_evolution(of([], FIELD), 1)
    assert with_.pairs[0].change_ms == pytest.approx(without.pairs[0].change_ms, abs=40)


def test_groups_are_apart() -> None:
    wet = {f"6{n}": times for n, times in scattered(5.0, count=8).items()}
    dry = {f"7{n}": times for n, times in scattered(-1.0, count=8).items()}
    grid = [in_group(n, "B") for n in wet] + [in_group(n, "A") for n in dry]
    event = of([], wet | dry, *grid)
    assert groups_on(event, 1) == ("A", "B")
    assert course_evolution(event, 1, "A").pairs[0].change_ms == pytest.approx(-1000, abs=250)
    assert course_evolution(event, 1, "B").pairs[0].change_ms == pytest.approx(5000, abs=300)
    assert course_evolution(event, 1, "A").points[0].drivers == 8


def test_marked_mistakes_and_left_out_numbers_are_no_part() -> None:
    event = of(["50.000", "60.000", "49.000"], FIELD, mistake(2))
    assert course_evolution(event, 1).points[1].drivers == 10
    assert course_evolution(event, 1, without=frozenset({"26", "40"})).points[0].drivers == 9


def test_no_data_no_course() -> None:
    assert courses(of([], {}), 1) == courses(of([], FIELD), 2) == ()
    empty = course_evolution(of(["50.000"], {}), 1)
    assert (empty.time_ms, empty.points, empty.pairs) == (None, (), ())
    assert course_evolution(of(ME, FIELD), 2).points == ()


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 9999))
def test_pairs_add_up_to_points(seed: int) -> None:
    found = course_evolution(drawn(seed, run_count=5), 1)
    total = 0.0
    for pair, point in zip(found.pairs, found.points[1:], strict=True):
        total += pair.change_ms
        assert point.change_ms == pytest.approx(total)


def test_the_range_holds_the_course_four_times_in_five() -> None:
    hits = 0
    for seed in range(150):
        pair = course_evolution(drawn(seed, controls=12, odd=0.0), 1).pairs[1]
        hits += (pair.low_ms or 0) <= -300 <= (pair.high_ms or 0)
    assert hits / 150 == pytest.approx(0.8, abs=0.07)


SCATTERED = scattered(-1.0, -1.0)
SLOW = ["50.000", "49.000", "50.500"]


def test_it_was_me() -> None:
    seen = did_i_slow(of(SLOW, SCATTERED), "26", 1, 3)
    assert seen is not None
    assert (seen.run_from, seen.run_to, seen.drivers) == (2, 3, 10)
    assert seen.my_change_ms == pytest.approx(1500, abs=1)
    assert seen.interval80_ms is not None
    assert seen.interval80_ms[0] > 0
    assert "that was you, " in slowed_words(seen)
    assert slowed_words(seen).endswith("s worse than everyone.")


def test_it_was_everyone() -> None:
    seen = did_i_slow(of(ME, scattered(-1.0, -0.5)), "26", 1, 3)
    assert seen is not None
    assert slowed_words(seen).startswith("From run 2 to run 3 you lost 0.50 s and the field lost 0.")
    assert slowed_words(seen).endswith("you did what everyone did.")


def test_a_run_picked_out_and_runs_that_are_not_there() -> None:
    event = of(ME, SCATTERED)
    picked = did_i_slow(event, "26", 1, 3, run_from=1)
    assert picked is not None
    assert picked.my_change_ms < 0
    assert did_i_slow(event, "26", 1, 1) is None
    assert did_i_slow(event, "26", 1, 9) is None
    assert did_i_slow(event, "26", 1, 3, run_from=7) is None


def test_alone_or_with_one_car() -> None:
    alone = did_i_slow(of(ME, {}), "26", 1, 3)
    assert alone is not None
    assert (alone.field_change_ms, alone.extra_ms, alone.drivers) == (None, None, 0)
    assert "why can't be told" in slowed_words(alone)
    one, ten = (did_i_slow(of(ME, dict(list(FIELD.items())[:n])), "26", 1, 3) for n in (1, 10))
    assert one is not None
    assert ten is not None
    assert one.interval80_ms is not None
    assert ten.interval80_ms is not None
    width, narrow = (high - low for low, high in (one.interval80_ms, ten.interval80_ms))
    assert width > 1.3 * narrow, "one car hardly tells the course"


def test_a_spoilt_run_before_earns_no_praise() -> None:
    """Run 2 was a spin: run 3 is held against run 1, and says so."""
    event = of(["50.000", "52.000", "49.500"], SCATTERED, mistake(2))
    seen = did_i_slow(event, "26", 1, 3)
    assert seen is not None
    assert (seen.run_from, seen.run_to) == (1, 3)
    assert slowed_words(seen).endswith("; run 2 between is marked a mistake.")
    assert "better than everyone" not in slowed_words(seen)
    only = did_i_slow(of(["50.000", "49.000"], SCATTERED, mistake(1)), "26", 1, 2)
    assert only is not None
    assert (only.extra_ms, slowed_words(only)) == (
        None, "Run 1 before run 2 is marked a mistake: there is no clean run to hold it against."
    )  # fmt: skip


def test_the_marked_run_itself_is_told_as_such() -> None:
    seen = did_i_slow(of(["50.000", "53.000"], SCATTERED, mistake(2)), "26", 1, 2)
    assert seen is not None
    assert slowed_words(seen).endswith("worse than everyone; run 2 itself is marked a mistake.")


def test_what_spoils_a_run() -> None:
    event = of(["50.000", "52.000", "51.000"], SCATTERED, RunRow(day=1, run=2, number="26", unsafe="wheel loose"))
    coned = [row.model_copy(update={"cones": 3}) if (row.number, row.run) == ("26", 3) else row for row in event.times]
    event = replace(event, tables=event.tables | {TimeRow.FILE: tuple(coned)})
    assert spoilt(event, "26", 1) == {2: SpoiltRun(2, "unsafe"), 3: SpoiltRun(3, "cones", 3)}
    assert spoilt(event, "26", 2) == spoilt(event, "40", 1) == {}


def test_the_sentence_has_the_figures_of_the_table() -> None:
    event = of(ME, FIELD)
    table = course_evolution(event, 1, None, frozenset({"26"}))
    for pair in table.pairs:
        seen = did_i_slow(event, "26", 1, pair.run_to, pair.run_from)
        assert seen is not None
        assert seen.field_change_ms == pytest.approx(pair.change_ms, rel=0.02, abs=3)


def test_groups_that_met_the_course_at_other_hours_are_told_by_the_clock() -> None:
    """Group A drives all its runs in the morning, B after noon; run 1 of B is later than run 3 of A."""
    begins = {"A": ("08:50", "09:20", "10:05:30"), "B": ("12:59", "13:30", "14:00")}
    times, rows, people = [], [], []
    for at in range(8):
        number, group = str(40 + at), "AB"[at % 2]
        people.append(entrant(number))
        rows.append(in_group(number, group))
        for row, clock in zip(runs(number, 1, *_wiggled(at)), begins[group], strict=True):
            times.append(row.model_copy(update={"at": clock}))
    made = event(people, times, make_settings(), *rows)
    one, other = courses(made, 1)
    assert one.by_clock
    assert other.by_clock
    assert [point.clock_min for point in one.points] == [530.0, 560.0, 605.5]
    assert [point.clock_min for point in other.points] == [779.0, 810.0, 840.0]
    early = [row.model_copy(update={"at": "08:55"}) if row.at == "12:59" else row for row in times]
    late = [row.model_copy(update={"at": begins["A"][row.run - 1]}) for row in early]
    assert not courses(event(people, late, make_settings(), *rows), 1)[0].by_clock, "clock and run numbers agree"
    three = [row if row.number < "46" else row.model_copy(update={"at": None}) for row in times]
    assert courses(event(people, three, make_settings(), *rows), 1)[0].points[0].clock_min == 530.0
    few = [row if row.number < "44" else row.model_copy(update={"at": None}) for row in times]
    assert courses(event(people, few, make_settings(), *rows), 1)[0].points[0].clock_min is None, (
        "two clocks are too few"
    )


def _wiggled(at: int) -> list[str]:
    return [f"{46 + 0.3 * at + 0.05 * ((at + run) % 3):.3f}" for run in range(3)]


def grouped() -> Event:
    """Two groups of two kinds over four runs, my group A driven by the clock before B; one has only two runs."""
    rng = random.Random(21)
    texts = {
        str(40 + at): [f"{50 + at / 4 - 0.3 * run + rng.gauss(0, 0.2):.3f}" for run in range(4)] for at in range(7)
    }
    texts["46"] = texts["46"][:2]
    me = ["50.2", "49.9", "50.6", "49.4"]
    rows = [in_group(n, "AB"[at % 2]) for at, n in enumerate(texts)] + [in_group("26", "A")]
    return of(me, texts, *rows, entrants={"26": {"drive": "rear"}, "41": {"drive": "front"}, "44": {"drive": "front"}})


def fitted_alone(made: Event, without: str = "") -> tuple[Placed, Fitted, list[str]]:
    times = raw_times(made)
    found = placed(made, times, (1,), without, everybody=True)
    names = [n for n in found.frame.numbers if n != without]
    frame = found.frame.rows([found.frame.numbers.index(n) for n in names])
    return found, fit(frame, len(found.groups), len(found.kinds)), names


def test_a_course_group_by_group_and_all_together_from_the_fit() -> None:
    """A group's own; everybody's: each group by its drivers. Ranges from the fit's covariance, 1.2816 sd."""
    made = grouped()
    found, fitted, names = fitted_alone(made)
    time = math.exp(fmean(fitted.frame.base.tolist()) / 45)
    sizes = np.array([sum(fitted.frame.group[:, 0] == g) for g in (0, 1)]) / len(names)
    shares = {None: sizes, "A": np.array([1.0, 0.0]), "B": np.array([0.0, 1.0]), "Z": sizes}
    for group, share in shares.items():
        told = course_evolution(made, 1, group)
        assert (told.time_ms, told.group, told.by_clock) == (pytest.approx(time), group, False)

        def between(a: int, b: int, share: np.ndarray = share) -> tuple[float, float, float]:
            row = np.zeros(fitted.layout.size)
            row[[b - 1, 4 + b - 1]] += share
            row[[a - 1, 4 + a - 1]] -= share
            mean, sd = row @ fitted.mean, math.sqrt(row @ fitted.cov @ row)
            return tuple((mean + z * sd) * time / 45 for z in (0.0, -1.2815515655, 1.2815515655))  # type: ignore[return-value]

        mine = [
            n for n in names if group not in ("A", "B") or found.groups[fitted.frame.group[names.index(n), 0]] == group
        ]
        times = raw_times(made)
        assert [point.drivers for point in told.points] == [
            sum((1, run) in times[n] for n in mine) for run in (1, 2, 3, 4)
        ]
        assert (told.points[0].change_ms, told.points[0].low_ms, told.points[0].high_ms) == (0.0, 0.0, 0.0)
        for point in told.points[1:]:
            assert (point.change_ms, point.low_ms, point.high_ms) == pytest.approx(between(1, point.run))
        assert [(pair.run_from, pair.run_to) for pair in told.pairs] == [(1, 2), (2, 3), (3, 4)]
        for pair in told.pairs:
            assert (pair.change_ms, pair.low_ms, pair.high_ms) == pytest.approx(between(pair.run_from, pair.run_to))
            assert pair.drivers == sum({(1, pair.run_from), (1, pair.run_to)} <= set(times[n]) for n in mine)
    assert courses(made, 1) == (course_evolution(made, 1, "A"), course_evolution(made, 1, "B"))


def test_a_group_in_which_nobody_drove_twice_has_no_course() -> None:
    alone = of([], {**FIELD, "60": ["51.0"]}, in_group("60", "B"), *[in_group(number, "A") for number in FIELD])
    found = course_evolution(alone, 1, "B")
    assert (found.time_ms, found.points, found.pairs) == (None, (), ())
    assert course_evolution(alone, 1, "A").time_ms is not None


def test_my_step_against_the_course_s_from_the_fit() -> None:
    """The range: t(.9, freedom + 1) of the course's doubt and of two runs' scatter and learning."""
    made = grouped()
    _, fitted, names = fitted_alone(made, "26")
    hyper, h = fitted.hyper, [math.exp(-run / 1.8) for run in range(4)]
    ms = {run: row.time_ms or 0 for run, row in enumerate([row for row in made.times if row.number == "26"], 1)}
    for first, last in ((1, 2), (2, 3), (1, 4)):
        found = did_i_slow(made, "26", 1, last, first)
        assert found is not None
        row = np.zeros(fitted.layout.size)
        row[[first - 1, last - 1]] = -1.0, 1.0  # group A counts 0
        time = math.sqrt(ms[first] * ms[last])
        doubt = row @ fitted.cov @ row + 2 * hyper.scatter + hyper.learning * (h[first - 1] - h[last - 1]) ** 2
        reach = t_quantile(0.9, hyper.freedom + 1) * math.sqrt(doubt) * time / 45
        mine, course = time * math.log(ms[last] / ms[first]), float(row @ fitted.mean) * time / 45
        assert (found.my_change_ms, found.field_change_ms) == pytest.approx((mine, course))
        assert found.extra_ms == pytest.approx(mine - course)
        assert found.interval80_ms == pytest.approx((mine - course - reach, mine - course + reach))
        times = raw_times(made)
        assert found.drivers == sum({(1, first), (1, last)} <= set(times[n]) for n in names)
        me = abs(mine - course) > reach
        assert found.who == ("me" if me else "everyone" if mine * course > 0 else "scatter")


def test_runs_asked_of_together_are_answered_as_alone() -> None:
    made = grouped()
    pairs = ((None, 2), (1, 3), (None, 9))
    assert slowed_runs(made, "26", 1, pairs) == tuple(did_i_slow(made, "26", 1, last, first) for first, last in pairs)
    assert slowed_runs(made, "26", 1, pairs)[2] is None
    assert did_i_slow(made, "26", 2, 2) is None


def test_spoilt_runs_between_are_named_and_passed_over() -> None:
    made = grouped()
    rows = (mistake(2), RunRow(day=1, run=4, number="26", unsafe="a cone stuck"), mistake(3, day=2))
    spoilt_day = replace(made, tables={**made.tables, "runs.csv": rows})
    found = did_i_slow(spoilt_day, "26", 1, 4)
    assert found is not None
    assert (found.run_from, [item.run for item in found.passed]) == (3, [4])
    found = did_i_slow(spoilt_day, "26", 1, 3)
    assert found is not None
    assert (found.run_from, [(item.run, item.why) for item in found.passed]) == (1, [(2, "mistake")])
    asked = did_i_slow(spoilt_day, "26", 1, 3, 2)
    assert asked is not None
    assert (asked.run_from, asked.passed, asked.who != "spoilt") == (2, (), True)
    only = replace(made, tables={**made.tables, "runs.csv": (mistake(1),)})
    held = did_i_slow(only, "26", 1, 2)
    assert held is not None
    assert (held.who, held.extra_ms, held.drivers, [item.run for item in held.passed]) == ("spoilt", None, 0, [1])


def test_three_cones_spoil_a_run_and_two_do_not() -> None:
    made = of(["50.0+3", "50.0+2", "50.0+9 dnf"], FIELD)
    assert spoilt(made, "26", 1) == {1: SpoiltRun(1, "cones", 3), 3: SpoiltRun(3, "cones", 9)}
    assert spoilt(made, "26", 2) == spoilt(made, "40", 1) == {}
