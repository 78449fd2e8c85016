"""Chances to lead: by hand where that can be done, and what is said without data."""

from __future__ import annotations

import pytest

from paddock.engine.field.chances import chances
from paddock.errors import UsageError
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
    assert any("43" in line for line in found.class_.assumptions)
    by_name = {item.what: item.p_lead for item in found.class_.sensitivity}
    assert by_name["quicker"] > (found.class_.p_lead or 0) > by_name["slower"]
    assert by_name["cones"] < (found.class_.p_lead or 0)


def test_luck_and_pace_add_up_to_the_gap() -> None:
    luck = chances(_event(), "26").class_.luck  # type: ignore[arg-type]
    assert luck is not None
    assert (luck.number, luck.gap_ms) == ("40", 300)
    assert luck.pace_ms + luck.luck_ms == pytest.approx(300)
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
    assert found.class_.assumptions


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
