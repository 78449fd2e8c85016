"""Chances to lead: against a seeded simulation, by hand where that can be done, and what is said without data."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from statistics import NormalDist

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paddock.engine.chances import _ahead, chances, lead_chance, pushed, safe
from paddock.engine.finish import NODES, Finish
from paddock.engine.pacing import Pace, paces
from paddock.errors import UsageError
from paddock.model.rows import GridRow
from tests.factories import entrant, event, runs
from tests.factories import settings as make_settings

ME = Pace(math.log(46_000), 0.006, 0.003, 0.2, 0.05, 4)


def _pace(seconds: float, **more: float) -> Pace:
    return replace(ME, level=math.log(seconds * 1000), **more)  # type: ignore[arg-type]


def _poisson(rng: random.Random, rate: float) -> int:
    count, left = 0, math.exp(-rate)
    share = rng.random()
    while share > left:
        share *= rng.random()
        count += 1
    return count


def _driven(rng: random.Random, pace: Pace, level: float, cone_ms: float, factor: float) -> float:
    if rng.random() < pace.void_rate:
        return math.inf
    return factor * math.exp(rng.gauss(level, pace.spread)) + cone_ms * _poisson(rng, pace.cone_rate)


def _ended(rng: random.Random, item: Finish) -> float:
    """One final score, drawn run by run."""
    known = math.inf if item.banked is None else item.banked
    if item.pace is None or not item.left:
        return item.base + known
    off = rng.gauss(0.0, 1.0)
    each = [item.first] * (item.first is not None) + [item.pace] * (item.left - (item.first is not None))
    times = [
        _driven(rng, pace, pace.level + off * pace.unsure, item.cone_ms, item.factor)
        for pace in each
        if pace is not None
    ]
    return item.base + (known + sum(times) if item.summed else min([known, *times]))


def _simulated(me: Finish, rivals: list[tuple[str, Finish]], count: int, seed: int) -> float:
    rng = random.Random(seed)
    won = 0
    for _ in range(count):
        mine = _ended(rng, me)
        won += math.isfinite(mine) and all(_ended(rng, rival) >= mine for _, rival in rivals)
    return won / count


def _rivals(summed: bool = False, base: float = 0.0) -> list[tuple[str, Finish]]:
    start = 45_700.0 if not summed else 92_000.0
    return [
        ("a", Finish(base, start, 2, 1.0, 2000.0, _pace(45.9), summed)),
        ("b", Finish(base, start + 200, 2, 0.9, 1800.0, _pace(51.2), summed)),
        ("c", Finish(base + 100, start + 100, 1, 1.0, 2000.0, _pace(46.4, spread=0.012), summed)),
        ("d", Finish(base, start - 50, 0, 1.0, 2000.0, None, summed)),
    ]


CASES = {
    "best": (Finish(0.0, 45_900.0, 2, 1.0, 2000.0, ME), _rivals()),
    "nothing banked": (Finish(0.0, None, 3, 1.0, 2000.0, ME), _rivals()),
    "one run": (Finish(0.0, 45_800.0, 1, 1.0, 2000.0, ME), _rivals()),
    "two days": (Finish(46_000.0, 45_900.0, 2, 1.0, 2000.0, ME), _rivals(base=46_000.0)),
    "done": (Finish(0.0, 45_640.0, 0, 1.0, 2000.0, ME), _rivals()),
    "safe": (Finish(0.0, 46_400.0, 2, 1.0, 2000.0, ME, first=safe(ME)), _rivals()),
    "pushed": (Finish(0.0, 46_400.0, 2, 1.0, 2000.0, ME, first=pushed(ME)), _rivals()),
}


@pytest.mark.parametrize("name", CASES)
def test_against_a_simulation(name: str) -> None:
    me, rivals = CASES[name]
    assert lead_chance(me, rivals) == pytest.approx(_simulated(me, rivals, 12_000, 4), abs=0.013)


@pytest.mark.parametrize("left", [1, 2])
def test_summed_runs_against_a_simulation(left: int) -> None:
    me = Finish(0.0, 92_000.0, left, 1.0, 2000.0, ME, True)
    rivals = [(name, replace(item, left=left, banked=92_000.0, factor=1.0, cone_ms=2000.0, pace=_pace(46.0 + i / 10)))
              for i, (name, item) in enumerate(_rivals(True)[:3])]  # fmt: skip
    assert lead_chance(me, rivals) == pytest.approx(_simulated(me, rivals, 12_000, 5), abs=0.015)


def test_two_equal_drivers_share_the_lead_evenly() -> None:
    """One clean run each, nothing banked, no void run: one half, by symmetry."""
    even = Finish(0.0, None, 1, 1.0, 2000.0, replace(ME, void_rate=0.0))
    assert lead_chance(even, [("a", even)]) == pytest.approx(0.5, abs=1e-3)


def test_one_run_against_a_known_score() -> None:
    """Chance of one clean run under the rival's: the normal share at the predictive sd."""
    bare = replace(ME, cone_rate=0.0, void_rate=0.0)
    me = Finish(0.0, 47_000.0, 1, 1.0, 2000.0, bare)
    sd = math.hypot(bare.spread, bare.unsure)
    wanted = NormalDist().cdf((math.log(45_800) - bare.level) / sd)
    assert lead_chance(me, [("a", Finish(0.0, 45_800.0, 0, 1.0, 2000.0, None))]) == pytest.approx(wanted, abs=2e-3)


@pytest.mark.parametrize("left", [1, 2])
@pytest.mark.parametrize("banked", [None, 47_000.0, 45_700.0])
def test_a_rival_who_is_done_is_ahead_with_my_own_share_over_that_score(left: int, banked: float | None) -> None:
    """Closed: my final score over theirs, less the share in which I end with none; a tie is not ahead."""
    me = Finish(0.0, banked, left, 1.0, 2000.0, ME)
    for score in (45_300.0, 45_700.0, 46_021.0, 46_900.0):
        wanted = me.above(score) - me.above(1e12) if banked is None or banked > score else 0.0
        assert _ahead(me, Finish(0.0, score, 0, 1.0, 2000.0, None)) == pytest.approx(wanted, abs=1e-4)


def test_a_rival_at_my_median_is_ahead_every_other_time() -> None:
    bare = replace(ME, cone_rate=0.0, void_rate=0.0)
    rival = Finish(0.0, 46_000.0, 0, 1.0, 2000.0, None)
    assert _ahead(Finish(0.0, None, 1, 1.0, 2000.0, bare), rival) == pytest.approx(0.5, abs=1e-6)
    banked = Finish(0.0, 46_000.0, 1, 1.0, 2000.0, replace(bare, level=bare.level + 1.0))
    assert _ahead(Finish(0.0, None, 1, 1.0, 2000.0, bare), banked) == pytest.approx(0.5, abs=1e-6), "hopeless from here"


def test_quadrature_knows_the_normals_moments() -> None:
    """Weights add to 1, the even moments to 1 and 3 (table 25.10 of Abramowitz and Stegun)."""
    assert [sum(w * x**k for x, w in NODES) for k in (0, 1, 2, 4)] == pytest.approx([1.0, 0.0, 1.0, 3.0], abs=1e-9)


def test_no_run_left_is_what_the_sheet_says() -> None:
    first, second = Finish(0.0, 45_000.0, 0, 1.0, 2000.0, ME), Finish(0.0, 45_001.0, 0, 1.0, 2000.0, ME)
    assert (lead_chance(first, [("a", second)]), lead_chance(second, [("a", first)])) == (1.0, 0.0)
    assert lead_chance(first, [("a", first)]) == 1.0, "a shared lead is a lead"
    assert lead_chance(Finish(0.0, None, 0, 1.0, 2000.0, ME), []) == 0.0


@settings(max_examples=40, deadline=None)
@given(st.floats(44.0, 48.0), st.floats(0.002, 0.02), st.integers(1, 5), st.floats(44.0, 48.0), st.floats(0, 1))
def test_a_chance_is_a_chance_and_a_quicker_driver_has_more(
    seconds: float, spread: float, left: int, banked: float, cones: float
) -> None:
    me = Finish(0.0, banked * 1000, left, 1.0, 2000.0, _pace(seconds, spread=spread, cone_rate=cones))
    quicker = replace(me, pace=_pace(seconds - 0.2, spread=spread, cone_rate=cones))
    slow, quick = lead_chance(me, _rivals()), lead_chance(quicker, _rivals())
    assert 0.0 <= slow <= 1.0
    assert quick >= slow - 1e-3


def _event(rules: dict[str, object] | None = None, **more: object) -> object:
    people = [entrant("31"), entrant("40"), entrant("41", "OWL"), entrant("42"), entrant("43")]
    times = [
        *runs("31", 1, "46.700", "46.000+1", "46.300"), *runs("40", 1, "46.300", "46.400", "46.000"),
        *runs("41", 1, "44.300", "44.500", "44.200"), *runs("42", 1, "48.500", "47.900", "dnf"),
    ]  # fmt: skip
    return event(people, times, make_settings(rules, **({"runs_per_day": 5} | more)))  # type: ignore[arg-type]


def test_an_event() -> None:
    found = chances(_event(), "31")  # type: ignore[arg-type]
    assert found.class_name == "WREN"
    assert found.class_.runs_left == 2
    assert 0.1 < (found.class_.p_lead or 0) < 0.6
    assert found.class_.rivals[0].number == "40"
    assert any("43" in line for line in found.class_.assumptions)
    by_name = {item.what: item.p_lead for item in found.class_.sensitivity}
    assert by_name["my pace 0.1 s quicker"] > (found.class_.p_lead or 0) > by_name["my pace 0.1 s slower"]
    assert by_name["my cones doubled"] < (found.class_.p_lead or 0)


def test_luck_and_pace_add_up_to_the_gap() -> None:
    luck = chances(_event(), "31").class_.luck  # type: ignore[arg-type]
    assert luck is not None
    assert (luck.number, luck.gap_ms) == ("40", 300)
    assert luck.pace_ms + luck.luck_ms == pytest.approx(300)
    assert luck.pace_ms == pytest.approx(100, abs=5)


def test_fewer_runs_left_mean_a_smaller_chance_from_behind() -> None:
    found = [chances(_event(), "31", left).class_.p_lead or 0 for left in (0, 1, 3)]  # type: ignore[arg-type]
    assert found[0] == 0.0
    assert found == sorted(found)


def test_index_uses_each_ones_factor() -> None:
    """OWL 41: 44.2 x .856 = 37.83; mine 46.3 x .812 = 37.59; 40: 46.0 x .812 = 37.352."""
    found = chances(_event(), "31", 0)  # type: ignore[arg-type]
    assert found.index.p_lead == 0.0
    assert chances(_event(), "40", 0).index.p_lead == 1.0  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("rules", "left"), [({"count": {"best_of_first": 4}}, 1), ({"count": {"best_of_first": 3}}, 0), ({}, 2)]
)
def test_runs_that_do_not_count_are_none_to_come(rules: dict[str, object], left: int) -> None:
    assert chances(_event(rules), "31").class_.runs_left == left  # type: ignore[arg-type]


def test_nothing_is_claimed_without_runs_of_mine() -> None:
    found = chances(_event(), "43")  # type: ignore[arg-type]
    assert (found.class_.p_lead, found.class_.p_lead_if_banked, found.class_.p_lead_if_pushed) == (None, None, None)
    assert found.class_.assumptions


def test_nobody_has_run() -> None:
    empty = event([entrant("31")], [], make_settings())
    assert chances(empty, "31").index.p_lead is None


def test_alone_in_class_leads() -> None:
    assert chances(_event(), "41").class_.p_lead == pytest.approx(1.0, abs=1e-6)  # type: ignore[arg-type]


def test_a_void_summed_day_can_not_lead() -> None:
    times = [*runs("31", 1, "46.5", "dnf", "46.2"), *runs("40", 1, "46.4", "46.0", "46.2")]
    made = event([entrant("31"), entrant("40")], times, make_settings({"count": "sum"}, runs_per_day=5))
    assert chances(made, "31").class_.p_lead is None
    assert chances(made, "40").class_.p_lead is not None


def test_a_rival_waiting_from_day_one_is_reckoned_with() -> None:
    people = [entrant("31"), entrant("40")]
    first = [*runs("31", 1, "46.5", "46.2", "46.4"), *runs("40", 1, "44.5", "44.2", "44.3")]
    second = [*runs("31", 2, "50.5", "50.2")]
    found = chances(event(people, first + second, make_settings()), "31").class_
    assert (found.p_lead or 0) < 0.05
    assert found.rivals[0].number == "40"


def test_unknown_number_and_impossible_runs() -> None:
    with pytest.raises(UsageError, match="no entrant '99'"):
        chances(_event(), "99")  # type: ignore[arg-type]
    with pytest.raises(UsageError, match="0 or more"):
        chances(_event(), "31", -1)  # type: ignore[arg-type]


def test_everybodys_pace_is_put_on_the_course_as_it_is_now() -> None:
    """All lose 1 s from run 1 to 2; a driver with run 1 only is expected at the later course."""
    people = [entrant(str(n)) for n in range(40, 46)]
    times = [line for n in range(40, 45) for line in runs(str(n), 1, "46.000", "47.000")] + runs("45", 1, "46.000")
    found = paces(event(people, times, make_settings()))
    assert found["45"].time_ms == pytest.approx(47_000, abs=1)
    assert found["45"].unsure > found["40"].unsure


def test_each_run_group_meets_the_course_at_its_own_hour() -> None:
    """Group A loses 1 s from run 1 to 2, group B gains 1 s: nobody's pace is an average of the two."""
    people = [entrant(str(n)) for n in range(40, 48)]
    times = [line for n in range(40, 44) for line in runs(str(n), 1, "46.000", "47.000")]
    times += [line for n in range(44, 48) for line in runs(str(n), 1, "46.000", "45.000")]
    grid = [GridRow(day=1, number=str(n), group="A" if n < 44 else "B") for n in range(40, 48)]
    found = paces(event(people, times, make_settings(), *grid))
    assert found["40"].time_ms == pytest.approx(47_000, abs=1)
    assert found["47"].time_ms == pytest.approx(45_000, abs=1)
    assert found["40"].spread < 0.005


def test_a_group_still_to_run_today_is_put_on_everybodys_course() -> None:
    people = [entrant(str(n)) for n in range(40, 48)]
    times = [line for n in range(40, 48) for line in runs(str(n), 1, "46.000", "46.000")]
    times += [line for n in range(40, 44) for line in runs(str(n), 2, "50.000")]
    grid = [GridRow(day=day, number=str(n), group="A" if n < 44 else "B") for n in range(40, 48) for day in (1, 2)]
    found = paces(event(people, times, make_settings(), *grid))
    assert found["47"].time_ms == pytest.approx(50_000, abs=1)


def test_who_missed_a_day_can_not_lead_the_sum() -> None:
    """40 has no score on day 1 and is no rival over two days; with the better day counted she is."""
    people = [entrant("31"), entrant("40")]
    times = [*runs("31", 1, "46.5", "46.2"), *runs("40", 1, "dnf", "dnf"), *runs("31", 2, "46.6", "46.1")]
    times += runs("40", 2, "44.0", "44.1")
    assert chances(event(people, times, make_settings()), "31").class_.p_lead == pytest.approx(1.0, abs=1e-6)
    assert chances(event(people, times, make_settings()), "40").class_.p_lead is None
    best = chances(event(people, times, make_settings({"days": "best"})), "31").class_
    assert (best.p_lead or 0) < 0.01


def test_a_rival_who_has_left_drives_no_more() -> None:
    people = [entrant("31"), entrant("40", status="withdrawn")]
    times = [*runs("31", 1, "46.5", "46.2"), *runs("40", 1, "46.4", "46.3")]
    assert chances(event(people, times, make_settings()), "31").class_.p_lead == pytest.approx(1.0, abs=1e-6)
    gone = chances(event(people, times, make_settings()), "40").class_
    assert (gone.p_lead or 0) < 0.6
    assert gone.runs_left == 0
