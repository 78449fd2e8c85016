"""What decided a class: the cause that is named would have changed who leads, and no smaller one would."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.engine.scoring.decided import decided
from paddock.engine.scoring.plain import standings
from paddock.model.event import Event
from paddock.model.rows import RunRow, TimeRow
from tests.factories import entrant, event, runs, settings

ONE_DAY = settings({"cone_s": 2, "miss": "invalid"}, days=[date(2026, 5, 9)])


def two(mine: tuple[str, ...], theirs: tuple[str, ...], *rows: RunRow) -> Event:
    return event([entrant("26"), entrant("7")], [*runs("26", 1, *mine), *runs("7", 1, *theirs)], ONE_DAY, *rows)


@pytest.mark.parametrize(
    ("mine", "theirs", "cause", "at", "margin", "left"),
    [
        (("50.000", "48.000+1", "49.500"), ("49.000", "49.386", "50.000"), "penalty", [2], 500, 0),
        (("50.000", "48.900/1"), ("49.000", "50.000"), "penalty", [2], 1000, 1),
        (("50.000+1", "51.000"), ("49.000", "50.000"), "pace", [], 2000, 1),
        (("50.000", "49.400"), ("49.000", "48.500+3"), "pace", [], 400, 1),
        (("48.000", "47.900"), ("49.000", "47.500+1"), "their penalty", [2], -1100, 1),
        (("48.000", "47.900"), ("49.000", "48.500"), "pace", [], -600, 1),
    ],
)
def test_the_cause(
    mine: tuple[str, ...], theirs: tuple[str, ...], cause: str, at: list[int], margin: int, left: int
) -> None:
    found = decided(two(mine, theirs), "26", "PINE")
    assert found is not None
    assert (found.cause, [row.run for row in found.runs], found.margin_ms, found.left) == (cause, at, margin, left)


def test_a_logged_mistake_is_named_where_it_would_have_led() -> None:
    logged = RunRow(day=1, run=2, number="26", mistake=True, lost_s=0.5)
    found = decided(two(("50.000", "49.400"), ("49.000",), logged), "26", "PINE")
    assert found is not None
    assert (found.cause, [row.run for row in found.runs], found.lost_ms) == ("mistake", [2], 500)
    small = decided(two(("50.000", "49.400"), ("49.000",), logged.model_copy(update={"lost_s": 0.4})), "26", "PINE")
    assert small is not None
    assert small.cause == "pace"  # level is not ahead


def test_penalties_together_where_none_does_alone() -> None:
    summed = settings({"cone_s": 1, "count": "sum"}, days=[date(2026, 5, 9)])
    times = [*runs("26", 1, "50.000+1", "50.000+1", "50.000"), *runs("7", 1, "50.300", "50.300", "50.300")]
    found = decided(event([entrant("26"), entrant("7")], times, summed), "26", "PINE")
    assert found is not None
    assert (found.cause, [row.run for row in found.runs]) == ("penalty", [1, 2])


def test_alone_or_unranked() -> None:
    found = decided(event([entrant("26")], runs("26", 1, "50.000"), ONE_DAY), "26", "PINE")
    assert found is not None
    assert (found.cause, found.margin_ms) == ("alone", None)
    assert decided(event([entrant("26")], runs("26", 1, "dnf"), ONE_DAY), "26", "PINE") is None
    assert decided(event([entrant("26")], [], ONE_DAY), "99", "none") is None


run = st.builds(
    lambda time, cones: f"{time / 1000:.3f}" + (f"+{cones}" if cones else ""),
    st.integers(47_000, 49_000), st.sampled_from([0, 0, 0, 1, 2]),
)  # fmt: skip


@given(mine=st.lists(run, min_size=1, max_size=3), theirs=st.lists(run, min_size=1, max_size=3))
def test_a_named_penalty_changes_who_leads_and_pace_means_that_none_does(mine: list[str], theirs: list[str]) -> None:
    folder = two(tuple(mine), tuple(theirs))
    found = decided(folder, "26", "PINE")
    assert found is not None
    clean = [text.partition("+")[0] for text in mine]
    without = two(tuple(clean), tuple(theirs))
    leads = [row.number for row in standings(without).tables[0].rows if row.rank == 1] == ["26"]
    if found.rank > 1:
        assert (found.cause == "penalty") == leads
    for row in found.runs:
        assert row.cones
        assert isinstance(row, TimeRow)
