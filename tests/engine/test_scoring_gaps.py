"""What a gap says besides the time to find: neighbours, rivals who wait, how fresh, and its reasons. By hand."""

from __future__ import annotations

from typing import Any

import pytest

from paddock.engine.scoring import plain, standings
from paddock.engine.scoring.gap import Freshness, Gap, GapAnswer, Still, WaitingRival, gap
from paddock.engine.scoring.tables import basis_of_class, by_number, days_run, has_run, is_void, slowest_raw_ms
from paddock.model.event import Event
from paddock.model.rows import EntrantRow, TimeRow
from paddock.model.settings import Rules
from paddock.pages.gap import freshness, gap_page
from paddock.render.lines import text
from tests.factories import entrant, event, runs, settings


def answered(of: Event, number: str = "26", day: int | None = None) -> GapAnswer:
    apart = day if of.settings.rules.days == "separate" else None
    assert plain.standings(of, apart) == standings.standings(of, apart)
    return gap(of, number, plain.standings(of, apart), day)


def find(of: Event, number: str = "26", day: int | None = None) -> Gap:
    found = answered(of, number, day).class_
    assert found is not None
    return found


def field(rules: dict[str, Any] | None = None, *times: list[TimeRow], **more: Any) -> Event:
    numbers = dict.fromkeys(row.number for rows in times for row in rows)
    return event(
        [entrant(number) for number in numbers], [row for rows in times for row in rows], settings(rules, **more)
    )


def test_who_stands_above_and_below() -> None:
    of = field({}, runs("26", 1, "48"), runs("7", 1, "47"), runs("9", 1, "49"), runs("11", 1, "dnf"))
    found = find(of)
    assert (found.rank, found.leader_number, found.leader_score_ms, found.gap_ms) == (2, "7", 47_000, 1_000)
    assert found.above is not None
    assert found.below is not None
    assert (found.above.number, found.below.number) == ("7", "9")
    first, last, out = find(of, "7"), find(of, "9"), find(of, "11")
    assert (first.above, first.below and first.below.number) == (None, "26")
    assert (last.above and last.above.number, last.below) == ("26", None)
    assert (out.above, out.below, out.rank, out.gap_ms) == (None, None, None, None)


def test_a_summed_gap_needs_the_same_number_of_runs() -> None:
    of = field({"count": "sum"}, runs("26", 1, "50", "50"), runs("7", 1, "49", "49"), runs("9", 1, "48"))
    assert find(of).gap_ms == 2_000
    assert find(of, "9").gap_ms is None


def test_summed_runs_and_their_reasons() -> None:
    ahead = runs("7", 1, "50", "49", "49")
    assert (
        find(field({"count": "sum"}, runs("26", 1, "50", "dnf"), ahead)).why
        == "a run of day 1 is void, and so is the day"
    )
    level = find(field({"count": "sum"}, runs("26", 1, "50"), runs("7", 1, "50")))
    assert level.why == "7 has not run more often than you yet"
    few = find(field({"count": "sum"}, runs("26", 1, "", "50"), ahead))
    assert few.why == "7 has 2 runs more and you have 1 left"
    again = find(field({"count": "sum"}, runs("26", 1, "50 rerun", "50"), ahead))
    assert again.why == "7 has 2 runs more and you have 1 left"
    enough = find(field({"count": "sum"}, runs("26", 1, "50"), ahead))
    assert (enough.average_need_raw_ms, enough.need_raw_ms, enough.why, enough.runs_left) == (48_999, None, None, 2)
    hopeless = find(field({"count": "sum"}, runs("26", 1, "50"), runs("7", 1, "10", "40")))
    assert (hopeless.why, hopeless.average_need_raw_ms) == (
        "your other days are already behind: no time can do it",
        None,
    )
    close = find(field({"count": "sum"}, runs("26", 1, "49.998"), runs("7", 1, "10", "40")))
    assert (close.need_raw_ms, close.average_need_raw_ms) == (1, 1)
    barely = find(field({"count": "sum"}, runs("26", 1, "49.999"), runs("7", 1, "10", "40")))
    assert (barely.why, barely.need_raw_ms) == ("no time can do it", None)


def test_an_average_that_is_no_whole_step_is_rounded_to_what_still_leads() -> None:
    """Two runs must add up to less than 99.0 s: 49.499 + 49.500 or 2 x 49.499; 98.999 s in two: 49.499 each."""
    of = field({"count": "sum"}, runs("26", 1, "50"), runs("7", 1, "50", "50", "49"))
    assert find(of).average_need_raw_ms == 49_499
    odd = field({"count": "sum"}, runs("26", 1, "50"), runs("7", 1, "50", "50", "49.001"))
    assert find(odd).average_need_raw_ms == 49_500


@pytest.mark.parametrize("last_ms", range(49_000, 49_008))
def test_an_average_on_index_is_the_slowest_that_twice_still_leads(last_ms: int) -> None:
    """0.856, cut to the thousandth: tried out, millisecond by millisecond."""
    times = [*runs("26", 1, "50"), *runs("7", 1, "50", "50", f"{last_ms / 1000:.3f}")]
    of = event([entrant("26", "OAK"), entrant("7", "OAK")], times, settings({"count": "sum"}))
    to_beat = 50_000 * 856 // 1000 + last_ms * 856 // 1000
    slowest = max(raw for raw in range(48_000, 51_000) if 2 * (raw * 856 // 1000) < to_beat)
    found = find(of)
    assert (found.average_need_raw_ms, found.need_raw_ms) == (slowest, None)
    assert isinstance(found.average_need_raw_ms, int)


def test_summed_days_carry_the_other_day() -> None:
    of = field({"count": "sum"}, runs("26", 1, "50", "50"), runs("26", 2, "48"),
               runs("7", 1, "49", "50"), runs("7", 2, "48", "47"))  # fmt: skip
    assert find(of).need_raw_ms == 194_000 - 100_000 - 48_000 - 1
    void = field({"count": "sum"}, runs("26", 1, "50", "dnf"), runs("26", 2, "48"),
                 runs("7", 1, "49", "50"), runs("7", 2, "48", "47"))  # fmt: skip
    assert find(void).why == "day 1 gives no score, so the total has none"


def test_the_better_day_carries_nothing() -> None:
    of = field({"days": "best"}, runs("26", 1, "40"), runs("26", 2, "52"), runs("7", 1, "39"), runs("7", 2, "50"))
    assert find(of).need_raw_ms == 38_999
    assert find(of).find_raw_ms == 52_000 - 38_999


def test_rivals_who_wait_are_listed_by_their_lead() -> None:
    of = field(
        {},
        runs("26", 1, "50", "49"), runs("26", 2, "48"), runs("7", 1, "48.5"), runs("9", 1, "48"), runs("11", 1, "49"),
        runs("12", 1, "49.5"), runs("13", 1, "dnf"),
    )  # fmt: skip
    assert find(of).waiting == (WaitingRival("9", 1_000), WaitingRival("7", 500))
    mine_void = field({}, runs("26", 1, "dnf"), runs("26", 2, "48"), runs("7", 1, "48.5"))
    assert find(mine_void).waiting == (WaitingRival("7", None),)
    assert find(field({}, runs("26", 1, "50"), runs("7", 1, "49"))).waiting == ()


def test_i_am_no_rival_of_mine_and_who_withdrew_does_not_wait() -> None:
    times = [*runs("26", 1, "50"), *runs("7", 1, "48"), *runs("9", 1, "47"), *runs("9", 2, "47")]
    of = event([entrant("26"), entrant("7", status="withdrawn"), entrant("9")], times)
    assert find(of).waiting == ()


def test_how_fresh_a_table_is() -> None:
    def at(number: str, run: int, clock: str | None, status: str | None = None, day: int = 1) -> TimeRow:
        return TimeRow(day=day, run=run, number=number, time_ms=50_000, at=clock, status=status)  # type: ignore[arg-type]

    entrants: list[EntrantRow] = [entrant("26"), entrant("7"), entrant("9"), entrant("11", status="dsq")]
    times = [at("26", 1, "10:00"), at("26", 2, "10:40"), at("7", 2, "10:50"), at("7", 1, "10:05"), at("9", 3, "11:00", "rerun"),
             at("9", 3, "11:10", "practice"), at("11", 3, "11:20")]  # fmt: skip
    assert find(event(entrants, times)).seen == Freshness(entrants=2, of=3, through_run=2, newest="10:50")
    assert find(event(entrants, [*times, at("9", 1, None)])).seen == Freshness(3, 3, 1, "10:50")
    assert find(event(entrants, [*times, at("7", 1, "09:00", day=2)])).seen == Freshness(1, 3, 1, "09:00")
    assert find(event(entrants, [])).seen == Freshness(0, 3, None, None)
    assert set(find(event(entrants, [])).seen.missing) == {"7", "9"}
    assert find(event(entrants, times)).seen.missing == ("9",)


def test_rivals_without_a_class_are_told_from_none() -> None:
    of = event([entrant("26"), entrant("7", ""), entrant("9", "")], [*runs("26", 1, "50"), *runs("7", 1, "49")])
    assert find(of).seen.without_class == 1, "9 has not run"
    assert freshness(find(of).seen, None) == "nobody else is in it: 1 with times have no class yet"
    alone = event([entrant("26")], [*runs("26", 1, "50")])
    assert freshness(find(alone).seen, None) == "nobody else is entered"


def test_a_class_of_two_has_nobody_without_a_class_to_be_told_of() -> None:
    of = event([entrant("26"), entrant("8"), entrant("7", "")], [*runs("26", 1, "50"), *runs("7", 1, "49")])
    assert find(of).seen.without_class == 0


def test_who_was_carried_and_is_not_seen_here_yet_is_counted_apart() -> None:
    """Two of the event before are not here yet, a third is; who withdrew is neither."""
    carried = [entrant(number, status="carried") for number in ("7", "9", "11")]
    of = event(
        [entrant("26"), *carried, entrant("12", status="withdrawn")], [*runs("26", 1, "50"), *runs("11", 1, "49")]
    )
    seen = find(of).seen
    assert (seen.entrants, seen.of, seen.carried, seen.missing) == (2, 2, 2, ())
    assert find(field({}, runs("26", 1, "50"), runs("7", 1, "49"))).seen.carried == 0


def test_on_a_day_of_practice_nothing_is_counted() -> None:
    of = field({}, runs("26", 1, "50"), runs("7", 1, "49"), practice_days=(2,))
    found = find(of, day=2)
    assert found.why == "day 2 is practice: nothing counts"
    assert (found.seen, found.waiting, found.runs_left) == (Freshness(0, 0, None, None), (), None)
    assert (found.seen.missing, found.seen.carried, found.seen.without_class) == ((), 0, 0)
    assert (found.need_raw_ms, found.find_raw_ms, found.penalty_ms, found.average_need_raw_ms) == (
        None,
        None,
        None,
        None,
    )


def test_who_can_still_come_past_once_i_have_no_run_left() -> None:
    """Three runs a day: mine are done; 7 is 0.047 behind with one to go, 9 has two, 8 is done, 5 is ahead, 3 is out."""
    of = event(
        [*(entrant(number) for number in ("26", "7", "9", "8", "5", "4")), entrant("3", status="withdrawn")],
        [*runs("26", 1, "50", "48", "49"), *runs("7", 1, "49", "48.047"), *runs("9", 1, "50"),
         *runs("8", 1, "50", "51", "52"), *runs("5", 1, "47", "47.5"), *runs("4", 1, "dnf"), *runs("3", 1, "49")],
    )  # fmt: skip
    found = find(of)
    assert found.still == (Still("7", 1, 47), Still("9", 2, 2_000), Still("4", 2, None))
    assert find(of, "7").still == ()
    level = find(event(of.entrants, [*runs("26", 1, "50", "48", "49"), *runs("7", 1, "48")]))
    assert level.still[0] == Still("7", 2, 0)


def test_where_runs_are_added_the_nearest_still_comes_first() -> None:
    """Mine add to 150; 7 has 160 with one to go, 9 155 with two, and stands behind 7 for it ran less often."""
    of = field({"count": "sum"}, runs("26", 1, "50", "50", "50"), runs("7", 1, "80", "80"), runs("9", 1, "155"),
               runs("8", 1, "60"), runs("5", 1, "dnf"))  # fmt: skip
    assert [row.number for row in plain.standings(of).tables[0].rows] == ["26", "7", "8", "9", "5"]
    assert find(of).still == (Still("9", 2, 5_000), Still("7", 1, 10_000), Still("5", 2, None))


def test_the_head_says_whether_a_run_is_left() -> None:
    done = field({}, runs("26", 1, "50", "50", "50"), runs("7", 1, "49"))
    assert "26, no run left on day 1" in text(gap_page(done, answered(done)))
    one = field({}, runs("26", 1, "50", "50"), runs("7", 1, "49"))
    assert "26, one more run on day 1" in text(gap_page(one, answered(one)))


def test_runs_left() -> None:
    assert find(field({}, runs("26", 1, "50"), runs("7", 1, "49"))).runs_left == 2
    assert find(field({}, runs("26", 1, "50"), runs("7", 1, "49"), runs_per_day=None)).runs_left is None
    assert find(field({"count": {"best_of_first": 2}}, runs("26", 1, "50"), runs("7", 1, "49"))).runs_left == 1
    assert find(field({}, runs("26", 1, "50", "50", "50", "50"), runs("7", 1, "49"))).runs_left == 0
    assert find(field({}, runs("26", 1, "50 practice"), runs("7", 1, "49"))).runs_left == 3
    other = field({}, runs("26", 1, "50", "50"), runs("26", 2, "50"), runs("7", 1, "49"), runs("7", 2, "49"))
    assert find(other).runs_left == 2


def test_no_index_no_answer_on_index() -> None:
    of = event([entrant("26", "ELM"), entrant("7")], [*runs("26", 1, "50"), *runs("7", 1, "49")])
    found = answered(of)
    assert found.class_ is None
    assert found.index.why == "no index is known for you (the event's page, or event.toml)"
    assert answered(of, "7").index.why == "nobody else has a score yet"
    assert answered(event([entrant("26"), entrant("7")], [])).day == 1


def test_a_day_nobody_has_run_on() -> None:
    of = field({}, runs("26", 1, "50"), runs("7", 1, "49"))
    assert find(of, day=2).why == "nobody has run on day 2 yet"


def test_a_number_that_is_not_entered_raises() -> None:
    with pytest.raises(KeyError):
        answered(field({}, runs("26", 1, "50")), "8")


def test_penalties_in_the_index_are_not_divided() -> None:
    """One cone of 2 s counts 2.000 s in raw terms where it is added before the index, 2.000 / 0.856 after."""

    def owls(index_on: str) -> Gap:
        of = event([entrant("26", "OAK"), entrant("7", "OAK")], [*runs("26", 1, "50+1"), *runs("7", 1, "51")],
                   settings({"index_on": index_on}))  # fmt: skip
        return find(of)

    assert owls("total").penalty_ms == 2_000
    assert owls("raw").penalty_ms == 2_336
    raw_class = event(
        [entrant("26"), entrant("7")], [*runs("26", 1, "50+1"), *runs("7", 1, "51")], settings({"index_on": "raw"})
    )
    assert find(raw_class).penalty_ms == 2_000


@pytest.mark.parametrize(
    ("below", "decimals", "want"), [(1, 3, None), (2, 3, 1), (11, 2, 10), (10, 2, None), (47_000, 1, 46_900)]
)
def test_the_slowest_raw_time_without_an_index(below: int, decimals: int, want: int | None) -> None:
    assert slowest_raw_ms(below, None, Rules(decimals=decimals)) == want


# --- what a row of times is -------------------------------------------------------------------------------------


def row(status: str | None = None, misses: int | None = None, time_ms: int | None = 50_000) -> TimeRow:
    return TimeRow(day=1, run=1, number="26", time_ms=time_ms, misses=misses, status=status)  # type: ignore[arg-type]


def test_void_runs() -> None:
    rules = settings().rules
    assert is_void(True, 0, rules)
    assert [is_void(False, count, rules) for count in (0, 1)] == [False, True]
    limited = settings({"miss": 5, "miss_limit": 2}).rules
    assert [is_void(False, count, limited) for count in (2, 3)] == [False, True]
    assert not is_void(False, 9, settings({"miss": 5}).rules)
    assert is_void(True, 0, settings({"miss": 5}).rules)


def test_a_run_is_void_by_its_status_or_its_drivers() -> None:
    """Both scorers: only the time of who is in the event, and of a run that ended, is a score."""
    times = [row() if status is None else row(status) for status in ("dnf", "dns", "dsq", None)]
    for at, item in enumerate(times):
        found = field({}, [item], runs("7", 1, "60"))
        assert standings.standings(found) == plain.standings(found)
        assert [line.score_ms for line in plain.standings(found).tables[0].rows if line.number == "26"] == [
            50_000 if at == 3 else None
        ]
    for status, score in (("dsq", None), ("withdrawn", 50_000)):
        found = event([entrant("26", status=status)], [row()])
        assert plain.standings(found).tables[0].rows[0].score_ms == score


def test_recorded_runs_and_days() -> None:
    assert [has_run(row(status)) for status in (None, "dnf", "rerun", "practice")] == [True, True, False, False]
    assert [has_run(row(status, time_ms=None)) for status in (None, "dns")] == [False, True]
    assert days_run(field({}, runs("26", 2, "dns"), runs("7", 1, "dnf"))) == (1,)


def test_numbers_in_order() -> None:
    assert sorted(["x", "107", "31b", "7", "26"], key=by_number) == ["7", "26", "31b", "107", "x"]
    assert sorted(["0100", "12", "0", "9" * 5000, "007", "7"], key=by_number) == [
        "0",
        "007",
        "7",
        "12",
        "0100",
        "9" * 5000,
    ]


def test_how_a_class_is_ranked() -> None:
    assert [basis_of_class(settings(), code) for code in ("PINE", "OAK", "ELM", None)] == ["raw", "index", "raw", "raw"]


@pytest.mark.parametrize(
    ("rules", "mine", "void"),
    [
        ({"count": "sum"}, [[True, True], [True, True]], [[False, False], [True, True]]),
        ({"count": "sum", "days": "best"}, [[False, False], [True, True]], [[False, False], [True, True]]),
        ({}, [[True, False], [False, True]], [[True, False], [True, False]]),
        ({"days": "best"}, [[False, False], [False, True]], [[False, False], [True, False]]),
        ({"count": {"best_of_first": 1}}, [[True, False], [True, False]], [[True, False], [True, False]]),
    ],
    ids=str,
)
def test_which_runs_are_in_a_score(rules: dict[str, Any], mine: list[list[bool]], void: list[list[bool]]) -> None:
    """26: 50 and 51, then 49 and 48; 7: 50 and out, then 48 and 49."""
    of = field(
        rules, runs("26", 1, "50", "51"), runs("26", 2, "49", "48"), runs("7", 1, "50", "dnf"), runs("7", 2, "48", "49")
    )
    table = plain.with_runs(of, plain.standings(of)).tables[0]
    counts = {
        row.number: [[line.counts for line in row.runs if line.day == day] for day in (1, 2)] for row in table.rows
    }
    assert counts == {"26": mine, "7": void}


def test_a_disqualified_drivers_runs_are_worth_nothing_line_by_line() -> None:
    of = event(
        [entrant("26", status="dsq"), entrant("7", status="withdrawn")], [*runs("26", 1, "50"), *runs("7", 1, "51+1")]
    )
    table = plain.with_runs(of, plain.standings(of)).tables[0]
    assert {row.number: [line.total_ms for line in row.runs] for row in table.rows} == {"26": [None], "7": [53_000]}
