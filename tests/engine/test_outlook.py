"""What remaining events can change: bounds checked by trying every outcome."""

from __future__ import annotations

from decimal import Decimal
from itertools import permutations, product

import pytest

from paddock.engine.season.points import (
    EventResult,
    Outlook,
    ScoredEvent,
    SeasonTable,
    outlook,
    remaining,
    season_tables,
    win_points,
)
from paddock.model.season import Season

RULE = {"by_place": [10, 8, 6]}


def _held(folder: str, order: str, scores: tuple[int, ...] = ()) -> ScoredEvent:
    given = scores or tuple(50_000 + 100 * at for at in range(len(order)))
    rows = tuple(EventResult(driver, "1", at + 1, given[at]) for at, driver in enumerate(order))
    return ScoredEvent(folder, None, folder, (), None, {"PINE": rows})


def _season(left: int, points: dict[str, object] | None = None, **keys: object) -> Season:
    events = [{"folder": f"left {at}", "name": f"left {at}"} for at in range(left)]
    return Season.model_validate({"points": points or RULE, "events": events} | keys)


def _look(driver: str, season: Season, *ran: ScoredEvent) -> tuple[Outlook, SeasonTable]:
    table = season_tables(season, ran)[0]
    found = outlook(table, driver, season, remaining(season, ran))
    assert found is not None
    return found, table


@pytest.mark.parametrize("drops", [{}, {"worst": 1}, {"counted": 2}])
@pytest.mark.parametrize("driver", ["A", "B", "C"])
def test_no_outcome_leaves_the_bounds(drops: dict[str, int], driver: str) -> None:
    season = _season(2, drops=drops)
    ran = [_held("a", "ABC"), _held("b", "BAC")]
    found, _ = _look(driver, season, *ran)
    orders = ["".join(order) for size in (0, 2, 3) for order in permutations("ABC", size)]
    ranks, totals = set(), set()
    for first, second in product(orders, repeat=2):
        later = [*ran, *(_held(f"left {at}", order) for at, order in enumerate((first, second)))]
        row = season_tables(season.model_copy(update={"events": ()}), later)[0].of(driver)
        assert row is not None
        ranks.add(row.rank)
        totals.add(row.points)
    assert found.best_rank <= min(ranks)
    assert max(ranks) <= found.worst_rank
    assert max(totals) == found.most


def test_a_win_is_worth_less_once_scores_are_dropped() -> None:
    season = _season(1, drops={"counted": 2})
    found, _ = _look("B", season, _held("a", "ABC"), _held("b", "BAC"))
    stake = found.stakes[0]
    assert (stake.win, stake.gain, stake.counts_above) == (10, 2, 8)
    keep_all, _ = _look("B", _season(1), _held("a", "ABC"), _held("b", "BAC"))
    assert (keep_all.stakes[0].gain, keep_all.stakes[0].counts_above) == (10, 0)


def test_the_place_to_pass_and_the_place_to_hold() -> None:
    """A 18, B 16, C 12: B passes with more than 2, so third (6) is enough; holds C (at most 22) with 7: second."""
    found, table = _look("B", _season(1), _held("a", "ABC"), _held("b", "ABC"))
    assert [(row.driver, row.points) for row in table.rows] == [("A", 20), ("B", 16), ("C", 12)]
    stake = found.stakes[0]
    assert stake.pass_next is not None
    assert (stake.pass_next.driver, stake.pass_next.points, stake.pass_next.place) == ("A", 6, 3)
    assert stake.hold_next is not None
    assert (stake.hold_next.driver, stake.hold_next.points, stake.hold_next.place) == ("C", 8, 2)


def test_out_of_reach_is_said() -> None:
    ran = [_held(name, "ABC") for name in "abcdefg"]
    found, _ = _look("C", _season(1), *ran)
    assert (found.rank, found.best_rank, found.worst_rank) == (3, 3, 3)
    assert found.stakes[0].pass_next is not None
    assert found.stakes[0].pass_next.points is None
    leader, _ = _look("A", _season(1), *ran)
    assert (leader.best_rank, leader.worst_rank) == (1, 1)
    assert leader.stakes[0].pass_next is None
    assert leader.stakes[0].hold_next is not None
    assert leader.stakes[0].hold_next.points == 0


def test_by_ratio_the_slowest_score_that_does_it() -> None:
    season = _season(1, {"rule": "ratio", "full": 100})
    found, table = _look("B", season, _held("a", "AB", (50_000, 52_000)), _held("b", "BA", (50_000, 51_000)))
    totals = {row.driver: row.points for row in table.rows}
    assert totals == {"A": Decimal("198.04"), "B": Decimal("196.15")}
    need = found.stakes[0].pass_next
    assert need is not None
    assert need.points == Decimal("1.90")
    assert need.ratio == pytest.approx(100 / 1.9)
    stretched = {"rule": "ratio", "full": 125, "slowest": "1.45", "floor": "6.5"}
    close, table = _look("B", _season(1, stretched), _held("a", "AB", (50_000, 55_000)))
    need = close.stakes[0].pass_next
    assert need is not None
    assert need.points == Decimal("34.72")
    assert need.ratio is not None
    assert 118.5 * (1.45 / need.ratio - 1) / 0.45 + 6.5 == pytest.approx(34.72)


def test_a_missed_target_needs_strictly_more() -> None:
    """Level on points is not ahead: with 8 to make up, 8 is not enough, 10 is."""
    season = _season(1, {"by_place": [10, 8, 2]})
    found, _ = _look("B", season, _held("a", "AB"), _held("b", "ACB"))
    need = found.stakes[0].pass_next
    assert need is not None
    assert (need.driver, need.points) == ("A", None)
    closer, _ = _look("B", season, _held("a", "ACB"))
    need = closer.stakes[0].pass_next
    assert need is not None
    assert (need.driver, need.place) == ("C", 2)


def test_not_in_the_table_is_none() -> None:
    season = _season(1)
    table = season_tables(season, [_held("a", "AB")])[0]
    assert outlook(table, "Z", season, season.events) is None
    assert win_points(season.points, Decimal("1.5")) == 15


def test_a_new_score_takes_the_place_of_the_worst_that_counts() -> None:
    """Two count: B has 10 + 6, A 10 + 8. A third place (6) adds nothing for B, only a win (10 + 10) passes A."""
    season = _season(1, drops={"counted": 2})
    found, table = _look("B", season, _held("a", "ACB"), _held("b", "CAB"), _held("c", "BCA"))
    assert [(row.driver, row.points) for row in table.rows] == [("A", 18), ("C", 18), ("B", 16)]
    stake = found.stakes[0]
    assert stake.pass_next is not None
    assert (stake.pass_next.points, stake.pass_next.place) == (10, 1)
    assert (stake.gain, stake.counts_above) == (4, 6)
