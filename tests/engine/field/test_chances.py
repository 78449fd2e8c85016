"""Chances to lead: by hand where that can be done, and what is said without data."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from paddock.engine.field.ahead import FaultWeights, fault_weights
from paddock.engine.field.chances import chances, expected
from paddock.errors import UsageError
from paddock.model.event import Event
from paddock.model.rows import TimeRow
from paddock.pages.chances import lead_words
from paddock.pages.verdict_words import assumption_words
from tests.engine.field.made import drawn
from tests.factories import entrant, event, runs
from tests.factories import settings as make_settings


def _event(rules: dict[str, object] | None = None, **more: object) -> object:
    people = [entrant("26"), entrant("40"), entrant("41", "OAK"), entrant("42"), entrant("43")]
    times = [
        *runs("26", 1, "46.700", "46.000+1", "46.300"), *runs("40", 1, "46.300", "46.400", "46.000"),
        *runs("41", 1, "44.300", "44.500", "44.200"), *runs("42", 1, "48.500", "47.900", "dnf"),
    ]  # fmt: skip
    return event(people, times, make_settings(rules, **({"runs_per_day": 5} | more)))  # type: ignore[arg-type]


def test_an_event() -> None:
    found = chances(_event(), "26")  # type: ignore[arg-type]
    assert found.class_name == "PINE"
    assert found.class_.runs_left == 2
    assert 0.1 < (found.class_.p_lead or 0) < 0.6
    assert found.class_.rivals[0].number == "40"
    assert any("43" in line for line in assumption_words(found.class_))
    by_name = {item.what: item.p_lead for item in found.class_.sensitivity}
    assert by_name["quicker"] > (found.class_.p_lead or 0) > by_name["slower"]
    assert by_name["cones"] < (found.class_.p_lead or 0)


def test_pace_alone_is_part_of_the_gap() -> None:
    luck = chances(_event(), "26").class_.luck  # type: ignore[arg-type]
    assert luck is not None
    assert (luck.number, luck.gap_ms) == ("40", 300)
    assert 0 < luck.pace_ms < 200


def test_fewer_runs_left_mean_a_smaller_chance_from_behind() -> None:
    found = [chances(_event(), "26", left).class_.p_lead or 0 for left in (0, 1, 3)]  # type: ignore[arg-type]
    assert found[0] == 0.0
    assert found == sorted(found)


def test_index_uses_each_ones_factor() -> None:
    """OAK 41: 44.2 x .856 = 37.83; mine 46.3 x .812 = 37.59; 40: 46.0 x .812 = 37.352."""
    found = chances(_event(), "26", 0)  # type: ignore[arg-type]
    assert found.index.p_lead == 0.0
    assert chances(_event(), "40", 0).index.p_lead == 1.0  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("rules", "left"), [({"count": {"best_of_first": 4}}, 1), ({"count": {"best_of_first": 3}}, 0), ({}, 2)]
)
def test_runs_that_do_not_count_are_none_to_come(rules: dict[str, object], left: int) -> None:
    assert chances(_event(rules), "26").class_.runs_left == left  # type: ignore[arg-type]


def test_nothing_is_claimed_without_runs_of_mine() -> None:
    found = chances(_event(), "43")  # type: ignore[arg-type]
    assert (found.class_.p_lead, found.class_.p_lead_if_banked, found.class_.p_lead_if_pushed) == (None, None, None)
    assert assumption_words(found.class_)


def test_alone_with_a_time_no_chance_is_told_and_with_some_in_it_is_of_those() -> None:
    mine, people = runs("26", 1, "46.700", "46.300"), [entrant("26"), entrant("40"), entrant("42")]
    alone = event(people, mine, make_settings(runs_per_day=5))
    for table in (chances(alone, "26").class_, chances(alone, "26").index):
        assert table.p_lead is None
        assert assumption_words(table) == ("no rival has a time yet",)
    assert lead_words(alone, "26") == {}
    two = event(people, [*mine, *runs("40", 1, "46.500", "46.400")], make_settings(runs_per_day=5))
    assert all(text.endswith(" to lead those in") for text in lead_words(two, "26").values())
    whole = event(people[:2], [*mine, *runs("40", 1, "46.500", "46.400")], make_settings(runs_per_day=5))
    assert all(text.endswith(" to lead") for text in lead_words(whole, "26").values())
    assert len(lead_words(two, "26")) == len(lead_words(whole, "26")) == 2


def test_nobody_has_run() -> None:
    empty = event([entrant("26")], [], make_settings())
    assert chances(empty, "26").index.p_lead is None


def test_alone_in_class_leads() -> None:
    assert chances(_event(), "41").class_.p_lead == pytest.approx(1.0, abs=1e-6)  # type: ignore[arg-type]


def test_a_void_summed_day_can_not_lead() -> None:
    times = [*runs("26", 1, "46.5", "dnf", "46.2"), *runs("40", 1, "46.4", "46.0", "46.2")]
    made = event([entrant("26"), entrant("40")], times, make_settings({"count": "sum"}, runs_per_day=5))
    assert chances(made, "26").class_.p_lead is None
    assert chances(made, "40").class_.p_lead is not None


def test_a_rival_waiting_from_day_one_is_reckoned_with() -> None:
    people = [entrant("26"), entrant("40")]
    first = [*runs("26", 1, "46.5", "46.2", "46.4"), *runs("40", 1, "44.5", "44.2", "44.3")]
    second = [*runs("26", 2, "50.5", "50.2")]
    found = chances(event(people, first + second, make_settings()), "26").class_
    assert (found.p_lead or 0) < 0.05
    assert found.rivals[0].number == "40"


def test_unknown_number_and_impossible_runs() -> None:
    with pytest.raises(UsageError, match="no entrant '99'"):
        chances(_event(), "99")  # type: ignore[arg-type]
    with pytest.raises(UsageError, match="0 or more"):
        chances(_event(), "26", -1)  # type: ignore[arg-type]


def test_who_missed_a_day_can_not_lead_the_sum() -> None:
    """40 has no score on day 1 and is no rival over two days; with the better day counted she is."""
    people = [entrant("26"), entrant("40")]
    times = [*runs("26", 1, "46.5", "46.2"), *runs("40", 1, "dnf", "dnf"), *runs("26", 2, "46.6", "46.1")]
    times += runs("40", 2, "44.0", "44.1")
    assert chances(event(people, times, make_settings()), "26").class_.p_lead == pytest.approx(1.0, abs=1e-6)
    assert chances(event(people, times, make_settings()), "40").class_.p_lead is None
    best = chances(event(people, times, make_settings({"days": "best"})), "26").class_
    assert (best.p_lead or 0) < 0.01


def test_a_rival_who_has_left_drives_no_more() -> None:
    people = [entrant("26"), entrant("40", status="withdrawn")]
    times = [*runs("26", 1, "46.5", "46.2"), *runs("40", 1, "46.4", "46.3")]
    assert chances(event(people, times, make_settings()), "26").class_.p_lead == pytest.approx(1.0, abs=1e-6)
    gone = chances(event(people, times, make_settings()), "40").class_
    assert (gone.p_lead or 0) < 0.6
    assert gone.runs_left == 0


def test_own_weights_of_faults_against_the_published_distributions() -> None:
    """Cones as scipy's negative binomial, void runs as its beta-binomial, but for what the weight does not touch."""
    from scipy.stats import betabinom, nbinom

    from paddock.engine.field.ahead import beta_binomial, gamma_poisson

    def cones(weight: float) -> float:
        return float(nbinom.logpmf(3, 0.5 * weight, weight / (weight + 7)))

    def voids(weight: float) -> float:
        return float(betabinom.logpmf(2, 7, 0.1 * weight, 0.9 * weight))

    assert gamma_poisson(3, 7, 5.0, 0.5) - gamma_poisson(3, 7, 2.0, 0.5) == pytest.approx(cones(5.0) - cones(2.0))
    assert beta_binomial(2, 7, 5.0, 0.1) - beta_binomial(2, 7, 2.0, 0.1) == pytest.approx(voids(5.0) - voids(2.0))


def _faulty(seed: int, weight: float) -> Event:
    """Forty drivers of eight runs, each his own rate of cones about 0.5 a run."""
    rng = random.Random(seed)
    rates = [rng.gammavariate(0.5 * weight, 1 / weight) for _ in range(40)]
    written = {str(at): [f"46.000+{_poisson(rng, rate)}" for _ in range(8)] for at, rate in enumerate(rates)}
    return event([entrant(n) for n in written], [row for n, texts in written.items() for row in runs(n, 1, *texts)])


def _poisson(rng: random.Random, rate: float) -> int:
    count, left = 0, rng.expovariate(1.0)
    while left < rate:
        count, left = count + 1, left + rng.expovariate(1.0)
    return count


def test_weights_come_from_three_events_on_and_follow_what_drivers_show() -> None:
    alike, apart = (fault_weights([_faulty(seed, weight) for seed in range(3)]) for weight in (20.0, 1.0))
    assert (alike.drivers, alike.events) == (120, 3)
    assert alike.cone_runs > 7.0
    assert apart.cone_runs < 2.0
    assert fault_weights([_faulty(seed, 1.0) for seed in range(2)]) == FaultWeights()


def test_a_pace_that_was_lucky_is_drawn_to_its_class() -> None:
    """Six drivers of one class with two runs each: the quickest so far leads less surely than if each stood alone."""
    found = drawn(4, controls=5, run_count=2)
    one = replace(found, settings=found.settings.model_copy(update={"runs_per_day": 4}))
    levels = {
        n: sum(row.time_ms or 0 for row in one.times if row.number == n) for n in ("26", *map(str, range(100, 105)))
    }
    best = min(levels, key=lambda number: levels[number])
    people = tuple(row.model_copy(update={"class_": f"C{row.number}"}) for row in one.entrants)
    apart = replace(one, tables={**one.tables, "entrants.csv": people})
    together, alone = (expected(item, best).next_ms for item in (one, apart))
    assert together is not None
    assert alone is not None
    assert together[1] > alone[1]


@pytest.mark.parametrize("mine_ms", [44_000, None])
def test_a_run_tried_until_the_day_has_none_left_says_nothing(mine_ms: int | None) -> None:
    empty = [TimeRow(day=1, run=1, number="26")] * 6
    times = [
        *empty,
        TimeRow(day=1, run=1, number="26", time_ms=mine_ms),
        TimeRow(day=2, run=1, number="41", time_ms=44_000),
    ]
    people = [entrant("26"), entrant("40"), entrant("41").model_copy(update={"status": "dsq"})]
    for number in ("26", "40"):
        found = chances(event(people, times, make_settings()), number)
        assert found.class_.p_lead is None
