"""Tables after an edit are those of the whole event scored from nothing, whatever the rules and however close the times."""

from __future__ import annotations

import random
from dataclasses import replace
from decimal import Decimal
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from paddock.engine.scoring.again import standings_after
from paddock.engine.scoring.plain import standings
from paddock.model.event import Event
from paddock.model.kept import KeptRows
from paddock.model.rows import TimeRow
from tests.examples import share
from tests.factories import entrant, event
from tests.factories import settings as of_rules

RULES: tuple[dict[str, Any], ...] = (
    {}, {"ties": "next-best"}, {"count": "sum"}, {"days": "best"}, {"days": "best", "ties": "next-best"}, {"days": "separate"},
    {"count": {"best_of_first": 2}}, {"count": "sum", "ties": "next-best", "miss": Decimal(8)}, {"index_on": "raw"},
)  # fmt: skip


def _row(hand: random.Random, line: int, number: str = "") -> TimeRow:
    """A run at one of few times, so that places are shared."""
    status = hand.choice((None,) * 9 + ("dnf", "dns", "rerun", "practice"))
    return TimeRow(
        day=hand.randrange(1, 3), run=hand.randrange(1, 4), number=number or str(hand.randrange(14)), line=line,
        time_ms=hand.choice((None, 45_000, 45_000, 45_001, 46_000, 46_000, 47_000)), status=status,
        cones=hand.choice((None, None, 1)), misses=hand.choice((None, None, None, 1)),
    )  # type: ignore[arg-type]  # fmt: skip


def _event(hand: random.Random, rules: dict[str, Any]) -> Event:
    entrants = [
        entrant(str(number), hand.choice(("PINE", "PINE", "OAK", None)), status=hand.choice((None, None, None, "dsq", "withdrawn")))
        for number in range(12)
    ]  # fmt: skip
    return event(entrants, [_row(hand, line) for line in range(2, 2 + hand.randrange(50))], of_rules(rules))


def _edited(of: Event, hand: random.Random) -> Event:
    """A row more, less, or otherwise, as a file gives them: the others stay the very same."""
    rows = list(of.times)
    act = hand.randrange(4) if rows else 0
    if act == 0:
        rows.append(_row(hand, rows[-1].line + 1 if rows else 2))
    elif act == 1:
        del rows[hand.randrange(len(rows))]
    else:
        at = hand.randrange(len(rows))
        rows[at] = _row(hand, rows[at].line, rows[at].number if act == 2 else "")
    return replace(of, tables={**of.tables, TimeRow.FILE: of.times.changed_to(rows)})


def _from_nothing(of: Event) -> Event:
    return replace(of, tables={file: tuple(rows) for file, rows in of.tables.items()})


@settings(max_examples=share(2.0))
@given(st.integers(0, 10**9), st.sampled_from(RULES), st.sampled_from((None, 2)))
def test_any_edits_leave_the_tables_of_the_whole(number: int, rules: dict[str, Any], day: int | None) -> None:
    hand = random.Random(number)
    of = _event(hand, rules)
    found = standings(of, day)
    for _ in range(8):
        before, of = of, _edited(of, hand)
        again = standings_after(before, found, of)
        whole = standings(_from_nothing(of), day)
        assert again == whole or (again is None and found.days != whole.days)
        found = whole


def test_who_ran_no_more_is_the_very_same_row_and_not_scored() -> None:
    of = event([entrant(str(number)) for number in range(30)], [])
    rows = [TimeRow(day=1, run=1, number=str(number), time_ms=46_000 + number, line=number + 2) for number in range(30)]
    before = replace(of, tables={**of.tables, TimeRow.FILE: KeptRows(rows)})
    found = standings(before)
    more = TimeRow(day=1, run=2, number="20", time_ms=46_010, line=32)
    after = replace(before, tables={**before.tables, TimeRow.FILE: before.times.changed_to([*rows, more])})
    again = standings_after(before, found, after)
    assert again is not None
    raw, was = again.tables[-1].rows, found.tables[-1].rows
    assert [row.number for row in raw[9:13]] == ["9", "10", "20", "11"]
    assert [row.rank for row in raw[9:13]] == [10, 11, 11, 13]
    assert all(row is other for row, other in zip(raw[:11], was[:11], strict=True))
    assert all(row is other for row, other in zip(raw[22:], was[22:], strict=True))


def test_other_rules_other_entrants_or_many_at_once_are_scored_whole() -> None:
    of = event([entrant(str(number)) for number in range(30)], [])
    found = standings(of)
    rows = [TimeRow(day=1, run=1, number=str(number), time_ms=46_000, line=number + 2) for number in range(30)]
    assert standings_after(of, found, replace(of, tables={**of.tables, TimeRow.FILE: KeptRows(rows)})) is None
    assert standings_after(of, found, replace(of, settings=of_rules({"count": "sum"}))) is None
    assert standings_after(of, found, _from_nothing(of)) is None
    assert standings_after(of, found, replace(of, problems=())) is found
