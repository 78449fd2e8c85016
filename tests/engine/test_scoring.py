"""Standings and gaps: hand-made cases, published values, and both scorers against each other."""

from __future__ import annotations

import math
from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import rankdata

from paddock.engine.scoring import plain, standings
from paddock.engine.scoring.gap import Gap, gap
from paddock.engine.scoring.tables import Standing, Standings, factor_of, index_ms, slowest_raw_ms
from paddock.model.event import Event
from paddock.model.rows import EntrantRow, TimeRow
from paddock.model.settings import Rules
from tests.factories import entrant, event, runs, settings


def both(of: Event, day: int | None = None) -> Standings:
    """Both scorers, which must agree."""
    exact, fast = plain.standings(of, day), standings.standings(of, day)
    assert fast == exact
    return fast


def rows(of: Event, table: str, day: int | None = None) -> dict[str, Standing]:
    found = both(of, day).table(table)
    assert found is not None
    return {row.number: row for row in found.rows}


def find(of: Event, number: str = "26", day: int | None = None, table: str = "class") -> Gap:
    answer = gap(of, number, both(of, day if of.settings.rules.days == "separate" else None), day)
    found = answer.class_ if table == "class" else answer.index
    assert found is not None
    return found


def one_class(rules: dict[str, Any], **times: list[str]) -> Event:
    """Entrants n26, n7 ... in PINE with one list of day-1 runs each."""
    entrants = [entrant(name[1:]) for name in times]
    return event(
        entrants, [row for name, written in times.items() for row in runs(name[1:], 1, *written)], settings(rules)
    )


# --- published values -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("cone_s", "total"), [("2", 52_000), ("3", 53_000), ("5", 55_000), ("10", 60_000)])
def test_a_cone_costs_what_the_rulebook_family_says(cone_s: str, total: int) -> None:
    """Published club, German, Japanese and Swiss slalom rules: 2, 3, 5 and 10 s a cone."""
    assert rows(one_class({"cone_s": cone_s}, n26=["50.000+1"]), "raw")["26"].score_ms == total


@pytest.mark.parametrize(
    ("raw", "index", "printed"),
    [
        ("50.00", "0.856", "42.80"),
        ("53.25", "0.802", "42.70"),
        ("52.45", "0.836", "43.84"),
        ("50.00", "0.848", "42.40"),
        ("53.25", "0.789", "42.01"),
        ("52.45", "0.821", "43.06"),
        ("38.000", "0.869", "33.02"),
        ("34.000", "1.000", "34.00"),
    ],
)
def test_published_index_tables_truncate(raw: str, index: str, printed: str) -> None:
    """Two published club results printed to 0.01 s (C3, C4) and a published example (C2, at 0.01 s)."""
    rules = Rules(decimals=2, index_rounding="truncate")
    got = index_ms(int(Decimal(raw) * 1000), 0, *factor_of(Decimal(index)), rules)
    assert got == int(Decimal(printed) * 1000)


def test_half_up_prints_the_other_hundredth() -> None:
    """The same published rows under half-up: 42.71 and 43.85 (C3)."""
    rules = Rules(decimals=2, index_rounding="half-up")
    assert index_ms(53_250, 0, *factor_of(Decimal("0.802")), rules) == 42_710
    assert index_ms(52_450, 0, *factor_of(Decimal("0.836")), rules) == 43_850


def test_penalty_inside_and_outside_the_index() -> None:
    """50.000 s, one 2 s cone, index 0.856: 44.512 inside, 44.800 outside (C5, arithmetic)."""
    factor = factor_of(Decimal("0.856"))
    assert index_ms(50_000, 2_000, *factor, Rules(index_on="total")) == 44_512
    assert index_ms(50_000, 2_000, *factor, Rules(index_on="raw")) == 44_800


def test_student_formula_corrected_time() -> None:
    """FSAE Rules 2024 D.11.3: corrected time = run + 2 s a cone + 20 s an off-course; the best counts."""
    of = one_class({"cone_s": 2, "miss": 20}, n26=["50.000+2/1", "61.000+1"], n7=["60.500+1", "dnf"])
    found = rows(of, "raw")
    assert found["26"].score_ms == 63_000
    assert found["7"].score_ms == 62_500


def test_sum_of_two_slalom() -> None:
    """DMSB-Slalom-Reglement 2013: both runs added, 3 s a cone, 15 s an omission, more than 3 void the run."""
    rules = {"cone_s": 3, "miss": 15, "miss_limit": 3, "count": "sum"}
    of = one_class(rules, n26=["50.00+1", "49.00"], n7=["50.00/1", "49.50"], n9=["50.00/4", "48.00"])
    found = rows(of, "PINE")
    assert (found["26"].score_ms, found["26"].runs_counted) == (102_000, 2)
    assert found["7"].score_ms == 114_500
    assert found["9"].score_ms is None
    assert found["9"].rank is None


def test_shared_ranks_are_competition_ranks() -> None:
    """50.1, 50.5, 50.5, 51.0 rank 1-2-2-4: scipy.stats.rankdata, method min (C9)."""
    times = ["50.1", "50.5", "50.5", "51.0"]
    of = one_class({}, **{f"n{place}": [text] for place, text in enumerate(times, 1)})
    ranks = [rows(of, "PINE")[str(place)].rank for place in range(1, 5)]
    assert ranks == rankdata([float(text) for text in times], method="min").tolist() == [1, 2, 2, 4]


def test_the_binary_float_trap() -> None:
    """45.678 x 0.815 = 37.22757 exactly, where floats print 37.22756999999999 (C10)."""
    assert 45.678 * 0.815 < 37.22757
    assert index_ms(45_678, 0, *factor_of(Decimal("0.815")), Rules()) == 37_227
    assert index_ms(46_000, 0, *factor_of(Decimal("0.5")), Rules()) == 23_000


def test_what_to_find_is_not_the_gap() -> None:
    """46.512 x .820 against 38.093: need 46.454, find 0.058 and not the 0.047 gap (arithmetic)."""
    of = event(
        [entrant("26", "OAK", index="FIR"), entrant("7", "OAK", index="ONE")],
        [*runs("26", 1, "46.512"), *runs("7", 1, "38.093")],
        settings({"index_rounding": "half-up"}, index={"factors": {"FIR": "0.820", "ONE": "1", "OAK": "1"}}),
    )
    found = find(of)
    assert (found.score_ms, found.gap_ms) == (38_140, 47)
    assert (found.need_raw_ms, found.find_raw_ms, found.drive_ms, found.penalty_ms) == (46_454, 58, 58, 0)


# --- every rule -------------------------------------------------------------------------------------------------


def test_a_miss_voids_the_run_unless_it_costs_seconds() -> None:
    assert rows(one_class({}, n26=["46.0/1", "47.0"]), "raw")["26"].score_ms == 47_000
    assert rows(one_class({"miss": 5}, n26=["46.0/1", "52.0"]), "raw")["26"].score_ms == 51_000
    assert rows(one_class({"miss": 5, "miss_limit": 1}, n26=["46.0/2", "57.0"]), "raw")["26"].score_ms == 57_000
    assert rows(one_class({"miss": 5, "miss_limit": 0}, n26=["46.0/2", "57.0"]), "raw")["26"].score_ms == 56_000


def test_reruns_and_practice_are_as_if_not_run() -> None:
    found = rows(one_class({"count": "sum"}, n26=["40.0 practice", "41.0 rerun", "46.0"]), "PINE")["26"]
    assert (found.score_ms, found.runs_counted) == (46_000, 1)


def test_a_disqualified_entrant_keeps_no_run() -> None:
    of = event([entrant("26", status="dsq"), entrant("7")], [*runs("26", 1, "40.0"), *runs("7", 1, "50.0")])
    found = rows(of, "raw")
    assert (found["26"].rank, found["7"].rank) == (None, 1)
    assert both(of).table("raw").rows[-1].number == "26"  # type: ignore[union-attr]


def test_best_of_the_first_three_ignores_the_fourth() -> None:
    found = rows(one_class({"count": {"best_of_first": 3}}, n26=["50.0", "49.0", "dnf", "40.0"]), "PINE")
    assert found["26"].score_ms == 49_000


def test_a_void_run_voids_a_summed_day_and_missing_runs_rank_by_count() -> None:
    of = one_class({"count": "sum"}, n26=["50.0", "dnf"], n7=["60.0", "60.0"], n9=["10.0"])
    found = rows(of, "PINE")
    assert [found[number].rank for number in ("26", "7", "9")] == [None, 1, 2]
    assert found["9"].gap_to_leader_ms is None


def two_days(**rules: Any) -> Event:
    times = [*runs("26", 1, "50.0", "49.5"), *runs("26", 2, "48.0"), *runs("7", 1, "49.0"), *runs("9", 1, "48.0"),
             *runs("9", 2, "48.9"), *runs("11", 2, "47.0")]  # fmt: skip
    return event([entrant(number) for number in ("26", "7", "9", "11")], times, settings(rules))


def test_days_are_added_and_who_has_not_run_today_waits() -> None:
    found = rows(two_days(days="sum"), "PINE")
    assert (found["9"].score_ms, found["26"].score_ms) == (96_900, 97_500)
    assert (found["7"].score_ms, found["7"].waiting, found["7"].rank) == (None, True, None)
    assert (found["11"].score_ms, found["11"].waiting) == (None, False)


def test_the_better_day_or_the_latest_alone() -> None:
    assert {n: row.score_ms for n, row in rows(two_days(days="best"), "PINE").items()} == {
        "26": 48_000, "7": 49_000, "9": 48_000, "11": 47_000,
    }  # fmt: skip
    latest = rows(two_days(days="separate"), "PINE")
    assert {n: row.score_ms for n, row in latest.items()} == {"26": 48_000, "7": None, "9": 48_900, "11": 47_000}


def test_one_day_alone() -> None:
    assert rows(two_days(), "PINE", 1)["26"].score_ms == 49_500


def test_ties_by_next_best_of_the_same_day() -> None:
    of = one_class({"ties": "next-best"}, n26=["50.0", "48.0"], n7=["48.0", "49.0"], n9=["48.0"], n5=["48.0", "50.0"])
    found = rows(of, "PINE")
    assert [found[n].rank for n in ("7", "5", "26", "9")] == [1, 2, 2, 4]
    assert rows(one_class({}, n26=["50.0", "48.0"], n7=["48.0"]), "PINE")["26"].rank == 1


def test_a_class_scored_by_index_ranks_on_index_and_everybody_stands_in_both() -> None:
    of = event(
        [entrant("26", "OAK", index="FIR"), entrant("7", "OAK"), entrant("9")],
        [*runs("26", 1, "50.0"), *runs("7", 1, "49.0"), *runs("9", 1, "55.0")],
    )
    found = both(of)
    assert [table.name for table in found.tables] == ["PINE", "OAK", "index", "raw"]
    assert [row.number for row in found.table("OAK").rows] == ["26", "7"]  # type: ignore[union-attr]
    assert [row.number for row in found.table("raw").rows] == ["7", "26", "9"]  # type: ignore[union-attr]
    assert len(found.table("index").rows) == 3  # type: ignore[union-attr]


def test_without_an_index_there_is_no_index_score() -> None:
    of = event([entrant("26", None)], runs("26", 1, "50.0"))
    assert rows(of, "index")["26"].rank is None
    assert rows(of, "raw")["26"].rank == 1
    assert gap(of, "26", both(of)).class_ is None


def test_run_lines_say_which_run_counts() -> None:
    of = one_class({}, n26=["50.0+1", "51.0", "dnf", "40.0 rerun"])
    table = plain.with_runs(of, both(of)).table("raw")
    assert table is not None
    lines = table.rows[0].runs
    assert [(line.total_ms, line.counts) for line in lines] == [
        (52_000, False),
        (51_000, True),
        (None, False),
        (None, False),
    ]


# --- what to find -----------------------------------------------------------------------------------------------


def test_find_splits_into_driving_and_cones() -> None:
    found = find(one_class({}, n26=["46.0+1", "47.5"], n7=["47.0"]))
    assert (found.need_raw_ms, found.find_raw_ms, found.drive_ms, found.penalty_ms) == (46_999, 501, -999, 1_500)


def test_when_i_lead_find_is_my_margin() -> None:
    found = find(one_class({}, n26=["46.0"], n7=["47.0"]))
    assert (found.rank, found.gap_ms, found.need_raw_ms, found.find_raw_ms) == (1, 0, 46_999, -999)


def test_a_two_decimal_event_needs_a_whole_hundredth() -> None:
    assert find(one_class({"decimals": 2}, n26=["48.00"], n7=["47.00"])).need_raw_ms == 46_990


def test_penalties_outside_the_index_are_divided_by_it() -> None:
    of = event(
        [entrant("26", "OAK"), entrant("7", "OAK")],
        [*runs("26", 1, "50.000+1"), *runs("7", 1, "51.000")],
        settings({"index_on": "raw"}),
    )
    found = find(of)
    assert found.need_raw_ms == 50_999
    assert found.drive_ms == -999
    assert found.penalty_ms == 2_336  # 2000 / 0.856


def test_over_two_days_the_other_day_is_carried() -> None:
    found = find(two_days(days="sum"))
    assert found.need_raw_ms == 96_900 - 49_500 - 1
    assert found.find_raw_ms == 48_000 - 47_399
    assert [(item.number, item.lead_ms) for item in found.waiting] == [("7", 500)]


def test_reasons_when_there_is_nothing_to_find() -> None:
    assert "no run is left" in (find(one_class({}, n26=["50", "51", "52"], n7=["49"])).why or "")
    assert "nobody else" in (find(one_class({}, n26=["50"], n7=["dnf"])).why or "")
    waiting = find(one_class({}, n26=[], n7=["49"]))
    assert (waiting.need_raw_ms, waiting.find_raw_ms) == (48_999, None)
    void = event(
        [entrant("26"), entrant("9")],
        [*runs("26", 1, "dnf"), *runs("26", 2, "48"), *runs("9", 1, "47"), *runs("9", 2, "47")],
    )
    assert "day 1 gives no score" in (find(void).why or "")
    behind = event(
        [entrant("26"), entrant("9")],
        [*runs("26", 1, "99"), *runs("26", 2, "48"), *runs("9", 1, "47"), *runs("9", 2, "47")],
    )
    assert "no time can do it" in (find(behind).why or "")


def test_summed_runs_give_an_average_to_need() -> None:
    found = find(one_class({"count": "sum"}, n26=["50.0"], n7=["50.0", "49.0", "49.0"]))
    assert (found.need_raw_ms, found.find_raw_ms, found.average_need_raw_ms) == (None, None, 48_999)
    last = find(one_class({"count": "sum"}, n26=["50.0", "50.0"], n7=["50.0", "49.0", "49.0"]))
    assert (last.need_raw_ms, last.average_need_raw_ms) == (47_999, 47_999)


def test_how_fresh_the_rivals_are() -> None:
    times = [*runs("26", 1, "50", "49"), *runs("7", 1, "50")]
    times[1] = times[1].model_copy(update={"at": "10:45"})
    found = find(event([entrant("26"), entrant("7"), entrant("9")], times)).seen
    assert (found.entrants, found.of, found.through_run, found.newest) == (2, 3, 1, None)
    times.append(times[0].model_copy(update={"number": "9", "at": "10:02"}))
    found = find(event([entrant("26"), entrant("7"), entrant("9")], times)).seen
    assert (found.entrants, found.through_run, found.newest) == (3, 1, "10:02")


# --- for all inputs ---------------------------------------------------------------------------------------------

factors = st.decimals("0.5", "1.2", places=3)
raws = st.integers(20_000, 90_000)
rule_sets = st.fixed_dictionaries(
    {
        "cone_s": st.sampled_from(["1", "2", "0.125", "5"]),
        "miss": st.sampled_from(["invalid", 10]),
        "miss_limit": st.sampled_from([0, 1]),
        "count": st.sampled_from(["best", "sum", {"best_of_first": 2}]),
        "days": st.sampled_from(["sum", "best", "separate"]),
        "decimals": st.sampled_from([2, 3]),
        "index_rounding": st.sampled_from(["truncate", "half-up"]),
        "index_on": st.sampled_from(["total", "raw"]),
        "ties": st.sampled_from(["shared", "next-best"]),
    }
)
numbers = ["26", "7", "9", "11", "x"]


@st.composite
def events(draw: st.DrawFn) -> Event:
    """Few times on purpose, so that ties happen."""
    entrants: list[EntrantRow] = []
    times: list[TimeRow] = []
    for number in numbers:
        status = draw(st.sampled_from([None, None, None, None, "dsq", "withdrawn"]))
        class_ = draw(st.sampled_from(["PINE", "OAK", None]))
        entrants.append(entrant(number, class_, status=status))
        for day in (1, 2):
            for run in range(1, draw(st.integers(0, 3)) + 1):
                times.append(
                    TimeRow(
                        day=day, run=run, number=number,
                        time_ms=draw(st.sampled_from([None, 46_000, 46_010, 47_000, 48_370])),
                        cones=draw(st.sampled_from([None, 0, 1, 2])),
                        misses=draw(st.sampled_from([None, None, 0, 1, 2])),
                        status=draw(st.sampled_from([None] * 6 + ["dnf", "dns", "rerun", "practice"])),
                    )
                )  # fmt: skip
    return event(entrants, times, settings(draw(rule_sets)))


@given(events(), st.sampled_from([None, 1, 2]))
def test_both_scorers_agree(of: Event, day: int | None) -> None:
    both(of, day)


@given(events(), st.sampled_from([None, 1, 2]))
def test_the_need_is_the_slowest_time_that_leads(of: Event, day: int | None) -> None:
    """Brute force: put the needed run in and I lead strictly; one printed step slower and I don't."""
    for table in ("class", "index"):
        me = of.entrant("26")
        assert me is not None
        if table == "class" and me.class_ is None:
            continue
        found = find(of, day=day, table=table)
        if found.need_raw_ms is None or me.status == "dsq":
            continue
        on = gap(of, "26", both(of, day if of.settings.rules.days == "separate" else None), day).day
        assert on is not None
        step = of.settings.rules.unit_ms
        assert leads(of, on, found.need_raw_ms, found.table, day)
        assert not leads(of, on, found.need_raw_ms + step, found.table, day)


def leads(of: Event, day: int, raw_ms: int, table: str, asked: int | None) -> bool:
    """With one more counted run of ``raw_ms`` in place of my others of the day."""
    rules = of.settings.rules
    mine = [row for row in of.times if row.number == "26" and row.day == day]
    others = [row for row in of.times if row not in mine]
    used = max((row.run for row in mine if row.status not in {"rerun", "practice"}), default=0)
    run = 1 if rules.first_runs else used + 1
    kept = mine if rules.summed else []
    more = [*others, *kept, TimeRow(day=day, run=run, number="26", time_ms=raw_ms)]
    if rules.days == "best":
        more = [row for row in more if row.number != "26" or row.day == day]
    after = Event("test", of.settings, {**of.tables, "times.csv": tuple(more)})
    found = plain.standings(after, asked if rules.days == "separate" else None).table(table)
    assert found is not None
    row, other = found.of("26"), found.best_other("26")
    if row is None or row.score_ms is None or other is None or other.score_ms is None:
        return False
    return (
        row.score_ms < other.score_ms
        if row.runs_counted == other.runs_counted
        else row.runs_counted > other.runs_counted
    )


@given(raws, factors, st.sampled_from(["truncate", "half-up"]), st.integers(0, 3))
def test_the_index_matches_decimal_arithmetic(raw: int, factor: Decimal, rounding: str, decimals: int) -> None:
    """Python's decimal module, quantised down or half-up."""
    rules = Rules(decimals=decimals, index_rounding=rounding)  # type: ignore[arg-type]
    mode = ROUND_DOWN if rounding == "truncate" else ROUND_HALF_UP
    want = (Decimal(raw) / 1000 * factor).quantize(Decimal(1).scaleb(-decimals), mode) * 1000
    assert index_ms(raw, 0, *factor_of(factor), rules) == int(want)


@given(st.integers(1, 90_000), factors, st.sampled_from(["truncate", "half-up"]), st.integers(0, 3))
def test_the_slowest_raw_is_the_edge(below: int, factor: Decimal, rounding: str, decimals: int) -> None:
    rules = Rules(decimals=decimals, index_rounding=rounding)  # type: ignore[arg-type]
    exact = factor_of(factor)
    raw = slowest_raw_ms(below, exact, rules)
    if raw is None:
        assert index_ms(rules.unit_ms, 0, *exact, rules) >= below
    else:
        assert raw % rules.unit_ms == 0
        assert index_ms(raw, 0, *exact, rules) < below <= index_ms(raw + rules.unit_ms, 0, *exact, rules)


@given(events())
def test_ranks_and_gaps_hold_together(of: Event) -> None:
    for table in plain.standings(of).tables:
        ranked = [row for row in table.rows if row.rank is not None]
        assert table.rows[len(ranked) :] == tuple(row for row in table.rows if row.rank is None)
        for place, (ahead, row) in enumerate(pairwise(ranked), 2):
            assert row.rank in {ahead.rank, place}
            if not of.settings.rules.summed:
                assert row.gap_to_next_ms == (row.score_ms or 0) - (ahead.score_ms or 0)
                assert (row.gap_to_next_ms or 0) >= 0
        assert math.isfinite(sum(row.score_ms or 0 for row in ranked))
