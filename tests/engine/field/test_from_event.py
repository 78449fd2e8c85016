"""Rows become a frame: which slots there are, who is in it, what a blank stands for."""

from __future__ import annotations

import numpy as np
import pytest

from paddock.engine.field.from_event import group_row, placed
from paddock.engine.field.scores import raw_times
from paddock.model.event import Event
from paddock.model.rows import RunRow
from tests.engine.field.made import in_group, mistake
from tests.factories import entrant, event, runs, settings


def test_runs_to_come_follow_the_last_of_the_last_day() -> None:
    times = [*runs("26", 1, "46.0", "46.1", "46.2"), *runs("26", 2, "45.0"), *runs("40", 2, "45.5", "45.6")]
    made = event([entrant("26"), entrant("40")], times, settings())
    found = placed(made, raw_times(made), (1, 2), "26", ahead=2)
    assert found.frame.slots == ((1, 1), (1, 2), (1, 3), (2, 1), (2, 2), (2, 3), (2, 4))
    assert found.frame.numbers == ("26", "40")
    seen = ~np.isnan(found.frame.y)
    assert seen.sum(1).tolist() == [4, 2]
    assert not seen[:, -2:].any()
    assert (found.row("40"), found.row("41")) == (1, None)
    assert placed(made, raw_times(made), (1,), "26").frame.slots == ((1, 1), (1, 2), (1, 3))


def test_a_blank_group_or_kind_is_mine_else_what_most_have() -> None:
    people = [
        entrant("26", drive="rear"), entrant("40", drive="front"), entrant("41", drive="front"), entrant("42"),
    ]  # fmt: skip
    times = [row for number in ("26", "40", "41", "42") for row in runs(number, 1, "46.0", "46.2")]
    grid = [in_group("40", "B"), in_group("41", "B"), in_group("42", "A")]
    made = event(people, times, settings(), *grid)
    mine = placed(made, raw_times(made), (1,), "26")
    assert mine.kinds[mine.frame.kind[3]] == mine.kinds[mine.frame.kind[0]] == ("rear", "")
    assert [mine.groups[at] for at in mine.frame.group[:, 0]] == ["B", "B", "B", "A"], "mine is blank: what most have"
    nobody = placed(made, raw_times(made), (1,))
    assert nobody.kinds[nobody.frame.kind[3]] == ("front", "")
    assert list(group_row(mine, made, "42")) == [mine.groups.index("A")] * 2
    assert list(group_row(mine, made, "99")) == [0, 0]


def test_times_are_told_against_each_driver_s_own_middle() -> None:
    """45 ln(ms): a tenth of a second in 45 is a tenth, whatever the pace."""
    made = event([entrant("26")], runs("26", 1, "45.000", "45.100"), settings())
    frame = placed(made, raw_times(made), (1,), "26").frame
    assert frame.y[0].sum() == pytest.approx(0.0)
    assert frame.y[0, 1] - frame.y[0, 0] == pytest.approx(0.1, abs=2e-4)
    assert frame.base[0] == pytest.approx(45 * np.log(45_050), abs=1e-3)


def clocked(clocks: dict[str, dict[tuple[int, int], str]], days: int = 1, run_count: int = 3) -> Event:
    """Three drivers of each group with the clocks of their runs by day and run; each as many runs a day."""
    people, times, grid = [], [], []
    for group, of in clocks.items():
        for at in range(3):
            number = f"{group}{at}"
            people.append(entrant(number))
            for day in range(1, days + 1):
                grid.append(in_group(number, group, day))
                for row in runs(number, day, *[f"46.{at}{run}" for run in range(run_count)]):
                    times.append(row.model_copy(update={"at": of.get((day, row.run))}))
    return event(people, times, settings(), *grid)


def where_of(made: Event, days: tuple[int, ...] = (1,)) -> tuple[list[list[float]], frozenset[int]]:
    found = placed(made, raw_times(made), days)
    return [[round(value, 6) for value in row] for row in found.frame.where.tolist()], found.by_clock


MORNING = {(1, 1): "09:00", (1, 2): "09:20", (1, 3): "09:50"}
NOON = {(1, 1): "12:00", (1, 2): "12:30", (1, 3): "13:00"}


def test_the_clock_places_runs_where_groups_disagree_with_their_numbers() -> None:
    """Steps of 20, 30, 30 and 30 minutes: one place is 30; A's first run is place 1, B's 180 minutes later place 7."""
    wanted = [[1.0, 1.666667, 2.666667], [7.0, 8.0, 9.0]]
    assert where_of(clocked({"A": MORNING, "B": NOON})) == (wanted, frozenset({1}))
    tied = {(1, run): MORNING[1, run] for run in (1, 2, 3)}
    assert where_of(clocked({"A": MORNING, "B": tied})) == ([[1.0, 2.0, 3.0]] * 2, frozenset())
    assert where_of(clocked({"A": MORNING})) == ([[1.0, 2.0, 3.0]], frozenset()), "one group can't disagree"


def test_runs_without_a_clock_are_placed_between_and_beyond() -> None:
    late = {(1, 2): "12:00", (1, 4): "13:00"}
    early = {(1, 1): "09:00", (1, 2): "09:30", (1, 3): "10:00", (1, 4): "10:30"}
    where, told = where_of(clocked({"A": early, "B": late}, run_count=5))
    assert told == {1}
    assert where == [[1.0, 2.0, 3.0, 4.0, 5.0], [6.0, 7.0, 8.0, 9.0, 10.0]]
    one = {(1, 2): "12:00"}
    assert where_of(clocked({"A": early, "B": one}, run_count=5))[1] == frozenset(), "a group with one clock"
    assert where_of(clocked({"A": early, "B": {}}, run_count=5))[1] == frozenset(), "a group with none"


def test_each_day_by_its_own_clocks() -> None:
    """Seconds count; a day without clocks keeps its run numbers."""
    second = {(2, run): at for (_, run), at in zip(MORNING, ("09:00:30", "09:30:30", "10:00:30"), strict=True)}
    other = {(2, run): at for (_, run), at in zip(NOON, ("11:00:30", "11:30:30", "12:00:30"), strict=True)}
    made = clocked({"A": second, "B": other}, days=2)
    where, told = where_of(made, (1, 2))
    assert told == {2}
    assert where == [[1.0, 2.0, 3.0, 1.0, 2.0, 3.0], [1.0, 2.0, 3.0, 5.0, 6.0, 7.0]]
    clocks = placed(made, raw_times(made), (1, 2)).clocks
    assert clocks[0, (2, 1)] == 540.5
    assert (0, (1, 1)) not in clocks


def test_clocks_that_go_backwards_say_nothing() -> None:
    back = {(1, 1): "10:00", (1, 2): "09:30", (1, 3): "09:00"}
    assert where_of(clocked({"A": back, "B": back})) == ([[1.0, 2.0, 3.0]] * 2, frozenset())


def test_who_is_in_the_frame() -> None:
    people = [
        entrant("26", control=False), entrant("40", control=False), entrant("41", status="dsq"), entrant("42"),
    ]  # fmt: skip
    times = [row for number in ("26", "40", "41", "42", "77") for row in runs(number, 1, "46.0", "46.1")]
    times += runs("43", 2, "46.0")
    made = event(people, times, settings())
    known = raw_times(made)
    assert placed(made, known, (1,), "26").frame.numbers == ("26", "42", "77")
    assert placed(made, known, (1,)).frame.numbers == ("42", "77")
    assert placed(made, known, (1,), everybody=True).frame.numbers == ("26", "40", "42", "77")
    assert placed(made, known, (1, 2), "41").frame.numbers == ("41", "42", "77", "43")
    marked = event(people, times, settings(), mistake(2, "42"), RunRow(day=1, run=1, number="77", mistake=False))
    frame = placed(marked, known, (1,)).frame
    assert frame.marked.tolist() == [[False, True], [False, False]]
    assert frame.told.tolist() == [[False, True], [True, False]]
    rows = frame.rows([1])
    assert (rows.numbers, rows.told.tolist(), rows.kind.tolist()) == (("77",), [[True, False]], [0])


def test_kinds_are_told_by_drive_and_tyre() -> None:
    people = [
        entrant("40", drive="front", tyre_kind="Street"), entrant("41", drive="front"), entrant("42", drive="rear"),
        entrant("43"), entrant("44", tyre_kind="slick"), entrant("45", tyre_kind="slick"),
    ]  # fmt: skip
    times = [row for person in people for row in runs(person.number, 1, "46.0", "46.1")]
    made = event(people, times, settings())
    found = placed(made, raw_times(made), (1,))
    assert [found.kinds[at] for at in found.frame.kind] == [
        ("front", "street"), ("front", "slick"), ("rear", "slick"), ("front", "slick"), ("front", "slick"), ("front", "slick"),
    ]  # fmt: skip
    tied = event([entrant("40", drive="rear"), entrant("41", drive="front"), entrant("42")],
                 [row for n in ("40", "41", "42") for row in runs(n, 1, "46.0")], settings())  # fmt: skip
    found = placed(tied, raw_times(tied), (1,))
    assert found.kinds[found.frame.kind[2]] == ("front", ""), "as many of each: the first by name"


def test_groups_by_day_and_of_one_who_is_not_in_the_frame() -> None:
    grid = [
        in_group("40", "B"),
        in_group("41", "A"),
        in_group("40", "A", 2),
        in_group("41", "B", 2),
        in_group("99", "B", 2),
    ]
    times = [row for n in ("40", "41", "42") for day in (1, 2) for row in runs(n, day, "46.0")]
    made = event([entrant(n) for n in ("40", "41", "42")], times, settings(), *grid)
    found = placed(made, raw_times(made), (1, 2), "41")
    assert found.groups == ("A", "B")
    assert found.frame.group.tolist() == [[1, 0], [0, 1], [0, 1]], "a blank is where I am"
    assert placed(made, raw_times(made), (1, 2)).frame.group[2].tolist() == [0, 0], "as many in each: the first by name"
    assert group_row(found, made, "99").tolist() == [0, 1]
    assert group_row(found, made, "41").tolist() == [0, 1]


def test_the_middle_of_who_has_holes_and_of_who_has_no_run_at_all() -> None:
    times = [*runs("26", 1, "46.0", "", "47.0"), *runs("40", 1, "45.0", "45.0", "45.0"), *runs("41", 2, "46.0")]
    made = event([entrant(n) for n in ("26", "40", "41")], times, settings())
    frame = placed(made, raw_times(made), (1,), "41").frame
    assert frame.numbers == ("26", "40", "41")
    middle = 45 * (np.log(46_000) + np.log(47_000)) / 2
    assert frame.base.tolist() == pytest.approx([middle, 45 * np.log(45_000), 0.0])
    assert np.isnan(frame.y).tolist() == [[False, True, False], [False] * 3, [True] * 3]
