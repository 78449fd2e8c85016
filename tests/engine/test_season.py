"""Points over a season, against published arithmetic and by hand."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from paddock.engine.scoring.plain import standings
from paddock.engine.season.points import (
    EventResult,
    ScoredEvent,
    award,
    counted_limit,
    held,
    points_for_ratio,
    remaining,
    rounded,
    season_tables,
    top_sum,
)
from paddock.model.season import Booking, Drops, Points, Season
from tests import factories

PLACES = {"by_place": [10, 8, 6, 5], "rest": 1}


def _rule(**keys: object) -> Points:
    return Points.model_validate(keys)


def _season(points: dict[str, object] | None = None, **keys: object) -> Season:
    return Season.model_validate({"points": points or PLACES} | keys)


def _results(*scores: tuple[str, int, int | None]) -> tuple[EventResult, ...]:
    return tuple(EventResult(driver, "1", place or None, score) for driver, place, score in scores)


def _held(folder: str, order: str, season: Season | None = None, ties: dict[str, int] | None = None) -> ScoredEvent:
    """Drivers A, B ... in the order of ``order``; ``ties`` gives a place to a letter."""
    places = {driver: at for at, driver in enumerate(order, 1)} | (ties or {})
    rows = _results(*((driver, places[driver], 50_000 + 100 * places[driver]) for driver in order))
    booking = next((item for item in (season or _season()).events if item.folder == folder), None)
    return ScoredEvent(folder, None, folder, (), booking, {"PINE": rows})


def _points(season: Season, *ran: ScoredEvent) -> dict[str, tuple[int, Decimal]]:
    return {row.driver: (row.rank, row.points) for row in season_tables(season, ran)[0].rows}


def test_ratio_as_a_club_publishes_it() -> None:
    """62.837 / 64.123 x 100 = 97.99: a club's published class points (check value C6)."""
    rule = _rule(rule="ratio", full=100)
    assert rounded(points_for_ratio(64_123, 62_837, rule), rule) == Decimal("97.99")
    assert award(_results(("A", 1, 62_837), ("B", 2, 64_123)), rule) == {"A": 100, "B": Decimal("97.99")}


@pytest.mark.parametrize(("score", "points"), [(50, "125.000"), (55, "90.288"), (60, "61.361"), (72.5, "6.500")])
def test_stretched_ratio_as_formula_sae_gives_it(score: float, points: str) -> None:
    """Formula SAE Rules 2024, D.11.4: 118.5 ((Tmax/T) - 1) / ((Tmax/Tmin) - 1) + 6.5, Tmax = 1.45 Tmin (C7)."""
    rule = _rule(rule="ratio", full=125, slowest="1.45", floor="6.5", decimals=3)
    assert rounded(points_for_ratio(int(score * 1000), 50_000, rule), rule) == Decimal(points)
    assert points_for_ratio(80_000, 50_000, rule) == Fraction(13, 2)


def test_rounding_works_on_the_exact_value() -> None:
    half_up, cut = _rule(decimals=2), _rule(decimals=2, rounding="truncate")
    assert rounded(Fraction(2675, 1000), half_up) == Decimal("2.68")
    assert rounded(Fraction(2675, 1000), cut) == Decimal("2.67")
    assert rounded(Fraction(2999, 1000), _rule(decimals=0, rounding="truncate")) == 2


def test_places_then_the_rest_and_who_only_started() -> None:
    rows = _results(("A", 1, 1), ("B", 2, 2), ("C", 3, 3), ("D", 4, 4), ("E", 5, 5), ("F", 6, 6), ("G", 0, None))
    given = award(rows, _rule(**PLACES, started="0.5"))
    assert given == {"A": 10, "B": 8, "C": 6, "D": 5, "E": 1, "F": 1, "G": Decimal("0.5")}


def test_ties_share_the_place_and_the_next_is_skipped() -> None:
    """1-2-2-4: a club's published rule, the next gets the lower place as if the gap were filled."""
    rows = _results(("A", 1, 1), ("B", 2, 2), ("C", 2, 2), ("D", 4, 4))
    assert award(rows, _rule(**PLACES)) == {"A": 10, "B": 8, "C": 8, "D": 5}


def test_pooled_ties_divide_the_points_of_the_places_they_fill() -> None:
    """New South Wales motorkhana addendum 2020, 2c: the points of the places filled are pooled and shared."""
    rows = _results(("A", 1, 1), ("B", 2, 2), ("C", 2, 2), ("D", 4, 4))
    assert award(rows, _rule(**PLACES, ties="pooled")) == {"A": 10, "B": 7, "C": 7, "D": 5}
    three = _results(("A", 1, 1), ("B", 1, 1), ("C", 1, 1), ("D", 4, 4))
    assert award(three, _rule(**PLACES, ties="pooled")) == {"A": 8, "B": 8, "C": 8, "D": 5}


def test_weight_multiplies_before_rounding() -> None:
    rows = _results(("A", 1, 3), ("B", 2, 9))
    rule = _rule(rule="ratio", full=10, decimals=1)
    assert award(rows, rule, Decimal("1.5")) == {"A": 15, "B": 5}
    assert award(_results(("A", 1, 3), ("B", 2, 7)), rule, Decimal("1.5"))["B"] == Decimal("6.4")


def test_the_worst_are_dropped_of_the_whole_season_booked_ones_too() -> None:
    ran = [_held("a", "AB"), _held("b", "BA"), _held("c", "BA")]
    assert _points(_season(), *ran) == {"B": (1, 28), "A": (2, 26)}
    assert _points(_season(drops={"worst": 1}), *ran) == {"B": (1, 20), "A": (2, 18)}
    booked = _season(drops={"worst": 1}, events=[{"name": "later"}])
    assert _points(booked, *ran) == {"B": (1, 28), "A": (2, 26)}
    assert _points(_season(drops={"counted": 1}), *ran) == {"A": (1, 10), "B": (1, 10)}


def test_of_equal_scores_the_later_is_dropped_and_a_missed_event_costs_first() -> None:
    season = _season(drops={"counted": 2})
    table = season_tables(season, [_held("a", "AB"), _held("b", "AB"), _held("c", "AB")])[0]
    row = table.of("A")
    assert row is not None
    assert [(line.folder, line.counts) for line in row.events] == [("a", True), ("b", True), ("c", False)]


def test_season_ties_are_shared_unless_wins_settle_them() -> None:
    """A and B have 6 points each; A won once, B never."""
    ran = [_held("a", "AB"), _held("b", "XYZA"), _held("c", "XB"), _held("d", "XB")]
    shared = _season({"by_place": [4, 2, 2, 2]})
    assert _points(shared, *ran)["A"] == _points(shared, *ran)["B"] == (2, 6)
    wins = _points(_season({"by_place": [4, 2, 2, 2], "season_ties": "wins"}), *ran)
    assert (wins["A"], wins["B"]) == ((2, 6), (3, 6))


def test_wins_then_seconds_then_thirds_in_turn() -> None:
    """Both 8 points: A 1st + 3rd + 3rd, B 2nd four times under 4-2-2."""
    season = _season({"by_place": [4, 2, 2], "season_ties": "wins"})
    ran = [_held("a", "AB"), _held("b", "XBA"), _held("c", "XBA"), _held("d", "XB")]
    found = _points(season, *ran)
    assert found["A"] == (2, 8)
    assert found["B"] == (3, 8)
    assert found["X"] == (1, 12)


def test_an_event_without_points_is_left_out_and_weight_counts() -> None:
    season = _season(events=[{"folder": "b", "points": False}, {"folder": "c", "weight": 2}])
    ran = [_held("a", "AB", season), _held("b", "BA", season), _held("c", "BA", season)]
    assert _points(season, *ran) == {"B": (1, 28), "A": (2, 26)}


def test_remaining_is_what_is_booked_and_not_run() -> None:
    season = _season(
        events=[{"folder": "z", "days": [date(2026, 9, 1)]}, {"folder": "a"}, {"name": "test day", "points": False},
                {"name": "June", "days": [date(2026, 6, 1)]}]
    )  # fmt: skip
    assert [item.name or item.folder for item in remaining(season, [_held("a", "AB", season)])] == ["June", "z"]


def _event() -> tuple[object, object]:
    entries = [factories.entrant("26", driver="Pine  Ash"), factories.entrant("7", "OAK"), factories.entrant("8")]
    times = [*factories.runs("26", 1, "50.000"), *factories.runs("7", 1, "49.000"), *factories.runs("8", 1, "dnf")]
    event = factories.event(entries, times)
    return event, standings(event)


def test_held_takes_drivers_by_name_from_every_table() -> None:
    event, found = _event()
    item = held("x", event, found, Season())  # type: ignore[arg-type]
    assert item is not None
    assert item.tables["PINE"] == (EventResult("Pine Ash", "26", 1, 50_000), EventResult("Driver 8", "8", None, None))
    assert item.mine == {"Pine Ash"}
    assert set(item.tables) == {"PINE", "OAK", "index", "raw"}


def test_other_spellings_and_blank_names() -> None:
    event, found = _event()
    season = Season.model_validate({"drivers": {"Pine Ash": "W. Ash"}})
    item = held("x", event, found, season)  # type: ignore[arg-type]
    assert item is not None
    assert item.mine == {"W. Ash"}
    blank = factories.event([factories.entrant("5", driver=None)], factories.runs("5", 1, "50.0"))
    only = held("x", blank, standings(blank), Season())
    assert only is not None
    assert only.tables["PINE"][0].driver == "number 5"


def test_an_event_nobody_has_run_is_not_held() -> None:
    event = factories.event([factories.entrant("26")], [])
    assert held("x", event, standings(event), Season()) is None


def test_days_scored_apart_count_one_by_one() -> None:
    apart = factories.settings({"days": "separate"})
    entries = [factories.entrant("26"), factories.entrant("8")]
    times = [*factories.runs("26", 1, "50.0"), *factories.runs("8", 1, "51.0"),
             *factories.runs("26", 2, "52.0"), *factories.runs("8", 2, "51.0")]  # fmt: skip
    event = factories.event(entries, times, apart)
    ran = [held("x", event, standings(event, day), _season()) for day in (1, 2)]
    assert [item.days for item in ran if item] == [(date(2026, 5, 9),), (date(2026, 5, 10),)]
    assert _points(_season(), *[item for item in ran if item]) == {"Driver 26": (1, 18), "Driver 8": (1, 18)}


def test_tables_are_each_class_or_those_named() -> None:
    event, found = _event()
    ran = [item for item in [held("x", event, found, Season())] if item]  # type: ignore[arg-type]
    assert [table.name for table in season_tables(Season(), ran)] == ["PINE", "OAK"]
    wanted = _season({"tables": ["index", "class", "nowhere"]})
    assert [table.name for table in season_tables(wanted, ran)] == ["index", "PINE", "OAK"]


@pytest.mark.parametrize(
    "points",
    [{"by_place": [1, 2]}, {"by_place": [3], "rest": 4}, {"full": 5, "floor": 6}, {"slowest": 1}, {"full": -1},
     {"rule": "luck"}, {"decimals": 9}],
)  # fmt: skip
def test_rules_that_cannot_be_meant_are_refused(points: dict[str, object]) -> None:
    with pytest.raises(ValidationError):
        Points.model_validate(points)


def test_counted_limit() -> None:
    assert counted_limit(Drops(), 8) is None
    assert counted_limit(Drops(worst=2), 8) == 6
    assert counted_limit(Drops(worst=9), 8) == 1
    assert counted_limit(Drops(worst=2, counted=5), 8) == 5


_SCORES = st.lists(st.integers(20_000, 90_000), min_size=1, max_size=30)


@settings(max_examples=60, deadline=None)
@given(_SCORES, st.sampled_from(["place", "ratio"]), st.sampled_from(["shared", "pooled"]))
def test_a_slower_score_never_gives_more(scores: list[int], rule: str, ties: str) -> None:
    ordered = sorted(scores)
    rows = [EventResult(str(at), "", ordered.index(score) + 1, score) for at, score in enumerate(ordered)]
    points = list(award(rows, _rule(rule=rule, ties=ties)).values())
    assert all(earlier >= later for earlier, later in pairwise(points))
    if rule == "place" and ties == "pooled":
        exact = _rule(rule=rule, ties=ties, decimals=6)
        total = sum((exact.by_place[at] if at < 8 else Decimal(0)) for at in range(len(rows)))
        assert abs(sum(award(rows, exact).values()) - total) < Decimal("0.0001")


@settings(max_examples=60, deadline=None)
@given(st.lists(st.decimals(0, 100, places=2), max_size=12), st.integers(1, 12))
def test_more_scores_never_take_points_away(points: list[Decimal], limit: int) -> None:
    assert top_sum([*points, Decimal(0)], limit) == top_sum(points, limit)
    assert top_sum(points[:-1], limit) <= top_sum(points, limit) <= top_sum(points, None)


def test_bookings_match_by_folder_then_by_first_day() -> None:
    event = factories.event([factories.entrant("26")], factories.runs("26", 1, "50.0"))
    season = _season(events=[{"days": [date(2026, 5, 9)], "weight": 3}, {"folder": "x", "weight": 2}])
    by_name, by_day = (held(folder, event, standings(event), season) for folder in ("x", "y"))
    assert by_name is not None
    assert by_day is not None
    assert (by_name.weight, by_day.weight) == (2, 3)
    assert Booking().weight == 1
