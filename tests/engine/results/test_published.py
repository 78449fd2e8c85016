"""Published results of timed sports of several runs, read back and held against their own printed totals.

People are reduced to their bib, or to their place where the source prints no bib. Sources:
A  Wikipedia contributors, "Alpine skiing at the 2022 Winter Olympics - Women's slalom", 9 February 2022
B  Sliding on Ice, "2016 World Championships - Men's Skeleton"
C  D. Wood, "Luge Medal Results and Times from Olympics 2014 Women's Singles", 11 February 2014
D  Wikipedia contributors, "Canoeing at the 2016 Summer Olympics - Men's slalom K-1", heats, 7 August 2016
E  Polsat Sport, "Polka nie ukończyła drugiego przejazdu", 18 February 2026 (women's slalom)
"""

from __future__ import annotations

from datetime import date

import pytest

from paddock.engine.results import Understood, propose, understand
from paddock.engine.results.cells import read_result
from paddock.model.event import Event
from paddock.store.sources import read_source
from tests.factories import event, settings


def a_days_event(day: date, runs: int, **rules: object) -> Event:
    return event([], [], settings(dict(rules), days=[day], runs_per_day=runs))


def seen(text: str, of: Event, given: str | None = None) -> Understood:
    (grid,) = read_source(text)
    return understand(grid, propose(grid, of, None, given), of)


def sums(found: Understood) -> dict[str, int]:
    totals: dict[str, int] = {}
    for row in found.rows:
        assert row.time_ms is not None
        totals[row.number] = totals.get(row.number, 0) + row.time_ms
    return totals


def ms(text: str) -> int:
    found = read_result(text)
    assert found is not None
    assert found.time_ms is not None
    return found.time_ms


SLALOM_2022 = """<table><caption>9 February 2022</caption>
<tr><th>Rank<th>Bib<th>Name<th>Nation<th>Run 1<th>Rank<th>Run 2<th>Rank<th>Total<th>Behind</tr>
<tr><td><img alt="first"><td>2<td>A<td>SVK<td>52.89<td>8<td>52.09<td>1<td>1:44.98<td>
<tr><td><img alt="second"><td>5<td>B<td>AUT<td>52.83<td>7<td>52.23<td>2<td>1:45.06<td>+0.08
<tr><td><img alt="third"><td>6<td>C<td>SUI<td>52.65<td>5<td>52.45<td>4<td>1:45.10<td>+0.12
<tr><td>4<td>1<td>D<td>GER<td>52.17<td>1<td>53.00<td>9<td>1:45.17<td>+0.19
<tr><td>5<td>17<td>E<td>SLO<td>52.64<td>4<td>52.56<td>5<td>1:45.20<td>+0.22
</table>"""


def test_a_slalom_with_ranks_between_the_runs() -> None:
    found = seen(SLALOM_2022, a_days_event(date(2022, 2, 9), 2))
    assert sums(found) == {
        "2": ms("1:44.98"), "5": ms("1:45.06"), "6": ms("1:45.10"), "1": ms("1:45.17"), "17": ms("1:45.20"),
    }  # fmt: skip
    assert (found.unread, found.doubts) == ((), ())
    assert found.rows[0].time_ms == 52_890


def test_the_same_table_is_last_years_for_another_event() -> None:
    found = seen(SLALOM_2022, a_days_event(date(2023, 2, 9), 2))
    assert found.doubts[0].why == "the table says 2022, and this event is in 2023"


SKELETON_2016 = """Pos	Name	Nation	Bib	Run 1	Run 2	Run 3	Run 4	Total
1	A	LAT	2	52.14	52.50	52.11	52.09	3:28.84
2	B	KOR	3	52.57	52.62	52.37	52.41	3:29.97
2	C	RUS	5	52.49	52.68	52.32	52.48	3:29.97
"""


def test_four_runs_with_the_bib_in_the_middle() -> None:
    found = seen(SKELETON_2016, a_days_event(date(2016, 2, 19), 4))
    assert sums(found) == {"2": ms("3:28.84"), "3": ms("3:29.97"), "5": ms("3:29.97")}


LUGE_2014 = """Finish,Athlete,Run 1,Run 2,Run 3,Run 4,Total,Difference
1,A,49.891,49.923,49.765,50.189,3:19.768,--
2,B,50.393,50.187,50.048,50.279,3:20.907,+1.139
3,C,50.356,50.276,50.165,50.348,3:21.145,+1.377
4,D,50.464,50.402,50.286,50.426,3:21.578,+1.810
5,E,50.465,50.454,50.356,50.620,3:21.895,+2.127
6,F,50.490,50.476,50.462,50.532,3:21.960,+2.192
7,G,50.457,50.492,50.450,50.607,3:22.006,+2.238
8,H,50.500,50.348,50.599,50.620,3:22.067,+2.299
9,I,50.560,50.454,50.593,50.559,3:22.166,+2.398
10,J,50.794,50.581,50.793,50.499,3:22.667,+2.899
"""


def test_thousandths_add_up_to_the_printed_totals() -> None:
    found = seen(
        LUGE_2014, a_days_event(date(2014, 2, 11), 4), "number=Finish,run1=Run 1,run2=Run 2,run3=Run 3,run4=Run 4"
    )
    printed = [line.split(",") for line in LUGE_2014.splitlines()[1:]]
    assert sums(found) == {row[0]: ms(row[6]) for row in printed}
    assert len(found.rows) == 40


CANOE_2016 = """<table><tr><th>Order<th>Name<th>1st Ride<th>Pen.<th>2nd Ride<th>Pen.<th>Best</tr>
<tr><td>1<td>A<td>135.89<td>50<td>86.95<td>0<td>86.95
<tr><td>2<td>B<td>91.11<td>2<td>96.88<td>2<td>91.11
<tr><td>3<td>C<td>88.71<td>2<td>101.18<td>1<td>88.71
<tr><td>4<td>D<td>90.33<td>2<td>87.31<td>0<td>87.31
<tr><td>5<td>E<td>89.16<td>0<td>87.85<td>2<td>87.85
<tr><td>6<td>F<td>88.48<td>2<td>90.61<td>2<td>88.48
<tr><td>7<td>G<td>86.85<td>0<td>90.74<td>2<td>86.85
</table>"""


def test_gates_as_seconds_in_the_time() -> None:
    """A touched gate 2 s, a missed one 50 s, both in the printed time; the best is the smaller of the two."""
    of = a_days_event(date(2016, 8, 7), 2, cone_s=2, miss=50)
    found = seen(CANOE_2016, of, "number=Order,total1=1st Ride,penalty1=4,total2=2nd Ride,penalty2=6")
    totals: dict[str, list[int]] = {}
    for row in found.rows:
        assert row.time_ms is not None
        totals.setdefault(row.number, []).append(row.time_ms + 2_000 * (row.cones or 0) + 50_000 * (row.misses or 0))
    assert {number: min(each) for number, each in totals.items()} == {
        "1": 86_950, "2": 91_110, "3": 88_710, "4": 87_310, "5": 87_850, "6": 88_480, "7": 86_850,
    }  # fmt: skip
    first = found.rows[0]
    assert (first.time_ms, first.cones, first.misses) == (85_890, 0, 1)


def test_a_misprint_in_the_source_is_listed_not_guessed() -> None:
    of = a_days_event(date(2016, 8, 7), 2, cone_s=2, miss=50)
    found = seen(CANOE_2016, of, "number=Order,total1=1st Ride,penalty1=4,total2=2nd Ride,penalty2=6")
    assert [(item.line, item.why) for item in found.unread] == [
        (4, "number 3, run 2: 1 s added is no whole number of cones at 2 s")
    ]


def test_the_columns_of_that_table_are_proposed_without_help() -> None:
    (grid,) = read_source(CANOE_2016)
    columns = propose(grid, a_days_event(date(2016, 8, 7), 2, cone_s=2, miss=50), None, None)
    assert {role: columns.columns[role] for role in ("run1", "penalty1", "run2", "penalty2")} == {
        "run1": 2, "penalty1": 3, "run2": 4, "penalty2": 5,
    }  # fmt: skip


SLALOM_2026 = """Miejsce;Czas;1. przejazd;2. przejazd;Strata
1;1.39,10;47,13;51,97;
2;1.40,60;48,18;52,42;1,50
3;1.40,81;48,29;52,52;1,71
4;1.41,03;48,29;52,74;1,93
5;1.41,10;48,77;52,33;2,00
6;1.41,18;48,68;52,50;2,08
7;1.41,25;49,07;52,18;2,15
8;1.41,29;49,90;51,39;2,19
9;1.41,59;48,45;53,14;2,49
10;1.41,78;48,88;52,90;2,68
49;;53,03;nie ukończyła;
"""
"""The source lists place, total or gap and both runs in a line; the totals of places 2 to 10 are its gaps added."""


@pytest.mark.parametrize("given", ["number=Miejsce,run1=1. przejazd,run2=2. przejazd", "number=1,run1=3,run2=4"])
def test_decimal_commas_and_one_who_did_not_finish(given: str) -> None:
    found = seen(SLALOM_2026, a_days_event(date(2026, 2, 18), 2), given)
    last = found.rows[-1]
    assert (last.number, last.run, last.status, last.time_ms) == ("49", 2, "dnf", None)
    finished = [row for row in found.rows if row.number != "49"]
    totals: dict[str, int] = {}
    for row in finished:
        totals[row.number] = totals.get(row.number, 0) + (row.time_ms or 0)
    printed = [line.split(";") for line in SLALOM_2026.splitlines()[1:-1]]
    assert totals == {row[0]: ms(row[1]) for row in printed}
