"""What the field gave from run to run, and whether it was me."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paddock.engine.course import course_evolution, did_i_slow, groups_on, spoilt
from paddock.engine.stats.quantiles import t_quantile
from paddock.model.rows import RunRow, TimeRow
from tests.engine.effect.made import drawn, in_group, mistake, of

ME = ["50.000", "49.000", "49.500"]
FIELD = {
    "40": ["50.000", "49.000", "49.000"],
    "41": ["50.000", "49.000", "49.000"],
    "42": ["50.000", "49.000", "49.000"],
}


def test_an_even_field_gives_its_change_exactly() -> None:
    found = course_evolution(of(["50.000", "49.000", "49.000"], FIELD), 1)
    time = (50_000 * 49_000 * 49_000) ** (1 / 3)
    assert found.time_ms == pytest.approx(time)
    assert [point.run for point in found.points] == [1, 2, 3]
    assert [point.drivers for point in found.points] == [4, 4, 4]
    assert [point.change_ms for point in found.points] == pytest.approx([0.0] + [math.log(0.98) * time] * 2)
    assert [pair.change_ms for pair in found.pairs] == pytest.approx([math.log(0.98) * time, 0.0])
    assert [(pair.run_from, pair.run_to, pair.drivers) for pair in found.pairs] == [(1, 2, 4), (2, 3, 4)]


def test_range_of_a_pair_by_hand() -> None:
    """Two runs, three drivers, small spread: mean +- t .9 with 2 df times s over root 3."""
    others = {"40": ["50.000", "49.000"], "41": ["50.000", "49.100"], "42": ["50.000", "49.200"]}
    pair = course_evolution(of([], others), 1).pairs[0]
    steps = [math.log(value / 50) for value in (49.0, 49.1, 49.2)]
    mean = sum(steps) / 3
    sd = math.sqrt(sum((value - mean) ** 2 for value in steps) / 2)
    assert pair.low_ms is not None
    assert pair.high_ms is not None
    time = course_evolution(of([], others), 1).time_ms or 0
    assert pair.change_ms / time == pytest.approx(mean, abs=1e-5)
    assert (pair.high_ms - pair.low_ms) / 2 / time == pytest.approx(t_quantile(0.9, 2) * sd / math.sqrt(3), rel=0.02)


def test_one_mistake_of_many_moves_little() -> None:
    others = {str(n): ["50.000", "49.000", "48.500"] for n in range(40, 49)} | {"50": ["50.000", "69.000", "48.500"]}
    found = course_evolution(of([], others), 1)
    assert found.pairs[0].change_ms == pytest.approx(math.log(0.98) * (found.time_ms or 0), abs=15)


def test_groups_are_apart() -> None:
    wet = {str(n): ["50.000", "55.000"] for n in (60, 61)}
    dry = {str(n): ["50.000", "49.000"] for n in (70, 71)}
    grid = [in_group(n, "B") for n in wet] + [in_group(n, "A") for n in dry]
    event = of([], wet | dry, *grid)
    assert groups_on(event, 1) == ("A", "B")
    assert course_evolution(event, 1, "A").pairs[0].change_ms < 0
    assert course_evolution(event, 1, "B").pairs[0].change_ms > 0
    assert course_evolution(event, 1, "A").points[0].drivers == 2


def test_marked_mistakes_and_left_out_numbers_are_no_part() -> None:
    event = of(["50.000", "60.000", "49.000"], FIELD, mistake(2))
    assert course_evolution(event, 1).points[1].drivers == 3
    assert course_evolution(event, 1, without=frozenset({"31", "40"})).points[0].drivers == 2


def test_no_data_no_course() -> None:
    empty = course_evolution(of(["50.000"], {}), 1)
    assert (empty.time_ms, empty.points, empty.pairs) == (None, (), ())
    assert course_evolution(of(ME, FIELD), 2).points == ()


def test_one_driver_has_no_range() -> None:
    found = course_evolution(of([], {"40": ["50.000", "49.000"]}), 1)
    assert (found.pairs[0].low_ms, found.pairs[0].high_ms) == (None, None)


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
    for seed in range(300):
        pair = course_evolution(drawn(seed, controls=12, odd=0.0), 1).pairs[1]
        hits += (pair.low_ms or 0) <= -300 <= (pair.high_ms or 0)
    assert hits / 300 == pytest.approx(0.8, abs=0.07)


SCATTERED = {
    "40": ["50.000", "49.000", "49.010"],
    "41": ["50.000", "49.000", "48.990"],
    "42": ["50.000", "49.000", "49.020"],
    "43": ["50.000", "49.000", "49.000"],
}


def test_it_was_me() -> None:
    seen = did_i_slow(of(ME, SCATTERED), "31", 1, 3)
    assert seen is not None
    assert (seen.run_from, seen.run_to, seen.drivers) == (2, 3, 4)
    assert seen.my_change_ms == pytest.approx(500, abs=1)
    assert seen.sentence == (
        "From run 2 to run 3 you lost 0.50 s and the field lost 0.01 s: that was you, 0.49 s worse than everyone."
    )


def test_it_was_everyone() -> None:
    slow = {n: [w[0], w[1], f"{float(w[2]) + 0.5:.3f}"] for n, w in SCATTERED.items()}
    seen = did_i_slow(of(ME, slow), "31", 1, 3)
    assert seen is not None
    assert seen.sentence == (
        "From run 2 to run 3 you lost 0.50 s and the field lost 0.51 s: you did what everyone did."
    )


def test_a_run_picked_out_and_runs_that_are_not_there() -> None:
    event = of(ME, SCATTERED)
    picked = did_i_slow(event, "31", 1, 3, run_from=1)
    assert picked is not None
    assert picked.my_change_ms < 0
    assert did_i_slow(event, "31", 1, 1) is None
    assert did_i_slow(event, "31", 1, 9) is None
    assert did_i_slow(event, "31", 1, 3, run_from=7) is None


def test_alone_or_with_one_car() -> None:
    alone = did_i_slow(of(ME, {}), "31", 1, 3)
    assert alone is not None
    assert (alone.field_change_ms, alone.extra_ms, alone.drivers) == (None, None, 0)
    assert "why can't be told" in alone.sentence
    one = did_i_slow(of(ME, {"40": FIELD["40"]}), "31", 1, 3)
    assert one is not None
    assert (one.interval80_ms, one.drivers) == (None, 1)


def test_a_spoilt_run_before_earns_no_praise() -> None:
    """Run 2 was a spin: run 3 is held against run 1, and says so."""
    event = of(["50.000", "52.000", "49.500"], SCATTERED, mistake(2))
    seen = did_i_slow(event, "31", 1, 3)
    assert seen is not None
    assert (seen.run_from, seen.run_to) == (1, 3)
    assert seen.sentence.endswith("; run 2 between is marked a mistake.")
    assert "better than everyone" not in seen.sentence
    only = did_i_slow(of(["50.000", "49.000"], SCATTERED, mistake(1)), "31", 1, 2)
    assert only is not None
    assert (only.extra_ms, only.sentence) == (
        None, "Run 1 before run 2 is marked a mistake: there is no clean run to hold it against."
    )  # fmt: skip


def test_the_marked_run_itself_is_told_as_such() -> None:
    seen = did_i_slow(of(["50.000", "52.000"], SCATTERED, mistake(2)), "31", 1, 2)
    assert seen is not None
    assert seen.sentence.endswith("worse than everyone; run 2 itself is marked a mistake.")


def test_what_spoils_a_run() -> None:
    event = of(["50.000", "52.000", "51.000"], SCATTERED, RunRow(day=1, run=2, number="31", unsafe="wheel loose"))
    coned = [row.model_copy(update={"cones": 3}) if (row.number, row.run) == ("31", 3) else row for row in event.times]
    event = replace(event, tables=event.tables | {TimeRow.FILE: tuple(coned)})
    assert spoilt(event, "31", 1) == {2: "marked unsafe", 3: "3 cones"}
    assert spoilt(event, "31", 2) == spoilt(event, "40", 1) == {}


def test_the_sentence_has_the_figures_of_the_table() -> None:
    event = of(ME, FIELD)
    table = course_evolution(event, 1, None, frozenset({"31"}))
    for pair in table.pairs:
        seen = did_i_slow(event, "31", 1, pair.run_to, pair.run_from)
        assert seen is not None
        assert seen.field_change_ms == pytest.approx(pair.change_ms)
