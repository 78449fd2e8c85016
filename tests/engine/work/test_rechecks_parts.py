"""Which work a change, other tyres, a noise or a loose part makes, whose it is and what stands for it. By hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from paddock.engine.work import due, implied_work, rechecks_for, with_rechecks
from paddock.engine.work.rechecks import WorkMoment, change_of, found_loose, is_theirs, opened_at
from paddock.model.car import Car
from paddock.model.edit import AddRow
from paddock.model.event import Event
from paddock.model.rows import Row, RunRow, SetupChange, WorkRow
from tests.engine.tyres.make import SET, car, clean, fit
from tests.factories import entrant, event, settings

MINE = {"numbers": ["26", "83", "9"], "cars": {"26": "estate", "83": "estate", "9": "coupe"}}


def paddock(*rows: Row) -> Event:
    """An estate with two drivers and a coupe."""
    made = event([entrant("26"), entrant("83"), entrant("9")], clean("26", 1, 3), settings(mine=MINE), *rows)
    return replace(
        made, cars={"estate": Car(fasteners={"wheel nut": 110.0}), "coupe": Car(fasteners={"wheel nut": 95.0})}
    )


def work(**cells: Any) -> WorkRow:
    return WorkRow(**({"id": "w", "item": "look"} | cells))


def change(id_: str = "c1", **cells: Any) -> SetupChange:
    return SetupChange(**({"id": id_, "day": 1, "run": 3, "number": "26"} | cells))


# --- when it was opened -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cells", "moment"),
    [
        ({"opened": "day 1 run 3", "reason": "see c1"}, WorkMoment(1, 3, "10:08", "26")),
        ({"opened": "day 1 run 3 9:50", "reason": "c1, again"}, WorkMoment(1, 3, "09:50", "26")),
        ({"opened": "day 1 run 3", "id": "c1-links"}, WorkMoment(1, 3, "10:08", "26")),
        ({"opened": "day 1 run 3", "id": "c11-links"}, WorkMoment(1, 3)),
        ({"opened": "day 1 run 2", "id": "c1-links"}, WorkMoment(1, 2)),
        ({"opened": "day 2 run 3", "id": "c1-links"}, WorkMoment(2, 3)),
        ({"opened": "day 1", "id": "c2-links"}, WorkMoment(1)),
        ({"opened": "day 1 run 4", "id": "c3-links"}, WorkMoment(1, 4, None, "9")),
        ({"opened": "day 2 run 1", "id": "fit-estate-2-1-wheels"}, WorkMoment(2, 1, None, "83")),
        ({"opened": "day 2 run 1", "id": "fit-coupe-2-1-wheels"}, WorkMoment(2, 1)),
        ({"opened": "day 2", "id": "fit-estate-2-0-wheels"}, WorkMoment(2, None, None, "26")),
        ({"opened": "day 2 run 1", "id": "fit-estate-2-wheels"}, WorkMoment(2, 1)),
        ({"opened": "run 3 at 10:00", "id": "c1-links"}, WorkMoment()),
        ({"opened": "d 12 r 7"}, WorkMoment(12, 7)),
        ({"opened": "2026-05-10 at 7:05"}, WorkMoment(2, None, "07:05")),
        ({"opened": "2026-05-09 day 2"}, WorkMoment(2)),
    ],
)  # fmt: skip
def test_work_a_change_made_is_opened_at_the_changes_clock_by_its_number(
    cells: dict[str, str], moment: WorkMoment
) -> None:
    of = paddock(
        change(at="10:08:30"), change("c2", run=None, at="11:00:00"), change("c3", run=4, number="9"),
        *fit(2, 1, "83", lf="A"), *fit(2, None, "26", rf="B"),
    )  # fmt: skip
    assert opened_at(work(**cells), of) == moment


def test_the_change_a_row_names_or_begins_with() -> None:
    of = paddock(change("a"), change("b-2"), change("a-b"))
    found = [
        change_of(work(**cells), of)
        for cells in ({"reason": "after (b-2)"}, {"reason": "a-b"}, {"id": "a-b-x"}, {"reason": "ab"})
    ]
    assert [row.id if row else None for row in found] == ["b-2", "a-b", "a", None]


# --- what is made -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("said", "part"),
    [
        ("front caliper bolt was a quarter turn loose", "front caliper bolt"), ("seen: exhaust clamp, loose", "exhaust clamp"), ("rattle; hose undone", "hose"),
        ("clean. strap 2 turns slack; wiped", "strap"), ("LOOSENED", ""), ("one full turn loose", ""), ("loosely wired", None),
        ("none loose", None), ("wheel nut not loose", None), ("was: never undone", None), ("tight", None), ("", None), (None, None),
    ],
)  # fmt: skip
def test_the_part_found_loose(said: str | None, part: str | None) -> None:
    assert found_loose(said) == part


def test_a_change_of_something_loose_names_the_part_or_the_setting() -> None:
    rows = [
        change(item="exhaust clamp loose", before="x"), change(setting="mirror", before="a turn loose"), change(item="hose", before="not loose"),
        change(item="found loose", setting="strap", day=None), change(setting="rear_bar", item="collar loose"),
    ]  # fmt: skip
    made = [
        [(row.id, row.item, row.due, row.opened, row.torque_nm) for row in rechecks_for(paddock(), row)] for row in rows
    ]
    assert [[found[:2] for found in of_one] for of_one in made] == [
        [("c1-loose", "exhaust clamp again")], [("c1-loose", "mirror again")], [], [("c1-loose", "found loose again")],
        [("c1-links", "rear end links"), ("c1-jam", "rear end-link jam nuts"), ("c1-collars", "rear bar collars"), ("c1-loose", "collar again")],
    ]  # fmt: skip
    assert made[0][0][2:] == ("next run", "day 1 run 3", None)
    assert made[3][0][3] is None


def test_the_edit_that_logs_a_change_says_how_much_work_it_makes() -> None:
    def logged(**cells: object) -> tuple[str, list[dict[str, object]]]:
        batch = with_rechecks(paddock(), AddRow("changes.csv", {"id": "k"} | cells))
        return batch.label, [dict(edit.cells) for edit in batch.edits if isinstance(edit, AddRow)]

    assert logged(item="mirror", setting="m") == ("change mirror", [{"id": "k", "item": "mirror", "setting": "m"}])
    assert logged(setting="m")[0] == "change m"
    assert logged()[0] == "change k"
    assert logged(setting="wheels", number="9", day=1, run=2, before="a") == (
        "change wheels and 1 to look at again",
        [
            {"id": "k", "setting": "wheels", "number": "9", "day": 1, "run": 2, "before": "a"},
            {"id": "k-wheels", "opened": "day 1 run 2", "item": "wheel nuts", "reason": "wheels a to ? (change k)", "due": "next run", "torque_nm": 95.0},
        ],
    )  # fmt: skip


def test_the_last_runs_noise_cell_by_cell() -> None:
    runs = [RunRow(day=2, run=1, number="83", unsafe="clonk"), RunRow(day=1, run=5, number="26", unsafe="old"),
            RunRow(day=2, run=3, number="9", unsafe="hiss")]  # fmt: skip
    assert implied_work(paddock(*runs), ["26", "83"]) == (
        WorkRow(id="unsafe-2-1-83", opened="day 2 run 1", item="stop and look: clonk", reason="run 1 of day 2", due="before next run"),
    )  # fmt: skip
    assert [row.id for row in implied_work(paddock(*runs), ["9"])] == ["unsafe-2-3-9"]


def test_tyres_of_each_car_with_its_own_torque() -> None:
    rows = [*fit(1, None, **SET), *fit(1, 2, "83", lf="E", rr="F"), *fit(1, 2, "9", lf="G"), *fit(2, None, "9", rf="H")]
    of = paddock(*reversed(rows))
    assert implied_work(of, ["26", "83"]) == (
        WorkRow(id="fit-estate-1-2-wheels", opened="day 1 run 2", item="wheel nuts", reason="tyres on at rr, lf", due="next run", torque_nm=110.0),
    )  # fmt: skip
    assert [(row.id, row.opened, row.torque_nm) for row in implied_work(of, ["9"])] == [
        ("fit-coupe-2-0-wheels", "day 2", 95.0)
    ]


def test_a_loose_part_is_looked_at_after_the_run_that_follows() -> None:
    def made(
        done: str,
        note: str = "clamp loose",
        item: str | None = "noise",
        numbers: tuple[str, ...] = ("26", "83"),
        **cells: Any,
    ) -> list[Any]:
        rows = implied_work(paddock(work(id="n", item=item, note=note, done=done, **cells)), numbers)
        return [(row.id, row.opened, row.item, row.reason, row.due) for row in rows]

    assert made("day 2 run 1") == [("n-loose", "day 2 run 2", "clamp again", "found loose: clamp loose", "next run")]
    assert made("day 2 10:30") == [("n-loose", "day 2 10:30", "clamp again", "found loose: clamp loose", "next run")]
    assert made("yes", "loose")[0][1:4] == ("yes", "noise again", "found loose: loose")
    assert made("yes", "loose", None)[0][2] == "it again"
    assert made("no") == made("") == made("day 1", "tight") == []
    assert made("day 1", item="coupe: noise") == []
    assert made("day 1", numbers=()) == []
    assert len(made("day 1", item="coupe: noise", numbers=("9",))) == 1


def test_changes_without_a_number_are_everybodys() -> None:
    rows = [
        change("a", number=None, item="wheels"),
        change("b", number="83", item="wheels"),
        change("d", number="9", item="wheels"),
    ]
    assert [row.id for row in implied_work(paddock(*rows), ["26", "83"])] == ["a-wheels", "b-wheels"]
    assert [row.id for row in implied_work(paddock(*rows), ["9"])] == ["a-wheels", "d-wheels"]


# --- what stands for it -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cells", "stands"),
    [
        ({"item": "wheel nuts", "opened": "day 1"}, False), ({"item": "rear wheels", "opened": "day 1"}, True),
        ({"item": "look", "note": "rear wheels", "opened": "day 1"}, True), ({"item": "front wheels", "opened": "day 1"}, False),
        ({"item": "rear wheels", "opened": "day 2"}, True), ({"item": "rear wheels"}, False),
        ({"item": "rear wheels", "opened": "day 1 run 1"}, True), ({"item": "x", "reason": "(c1)"}, True), ({"item": "x", "reason": "c12"}, False),
        ({"id": "c1-wheels", "item": "x"}, True),
    ],
)  # fmt: skip
def test_what_a_person_wrote_that_day_of_the_same_part_stands_for_a_recheck(
    cells: dict[str, str], stands: bool
) -> None:
    made = implied_work(paddock(change(item="rear wheels"), work(**cells)), ["26"])
    assert ("c1-wheels" not in {row.id for row in made}) == stands


@pytest.mark.parametrize(
    ("opened", "stands"),
    [
        ("day 1 run 3", True), ("day 1 run 4", True), ("day 1 run 2", False), ("day 2", True), ("", False),
        ("day 1 10:00", True), ("day 1", True),
    ],
)  # fmt: skip
def test_a_loose_parts_look_is_only_stood_for_by_one_opened_no_earlier(opened: str, stands: bool) -> None:
    """The part was found loose before run 3; where the row says only the clock it may have been later."""
    found = work(id="n", item="noise", note="clamp loose", done="day 1 run 2")
    made = implied_work(paddock(found, work(item="clamp", opened=opened)), ["26"])
    assert (made == ()) == stands
    by_clock = work(id="n", item="noise", note="clamp loose", done="day 1 10:30")
    earlier, later = (
        implied_work(paddock(by_clock, work(item="clamp", opened=f"day 1 {at}")), ["26"]) for at in ("10:29", "10:30")
    )
    assert (len(earlier), len(later)) == (1, 0)


def test_the_row_the_part_was_found_with_does_not_stand_for_the_next_look() -> None:
    found = work(id="n", item="clamp", note="clamp loose", done="day 1", opened="day 1")
    assert [row.id for row in implied_work(paddock(found), ["26"])] == ["n-loose"]


def test_one_word_in_common_is_the_same_noise() -> None:
    noisy = RunRow(day=1, run=2, number="26", unsafe="clonk at the right rear")
    for cells, count in (
        ({"item": "clonks"}, 0),
        ({"item": "x", "note": "the clonk"}, 0),
        ({"item": "right rear"}, 1),
        ({"item": "find it"}, 1),
    ):
        assert len(implied_work(paddock(noisy, work(opened="day 1", **cells)), ["26"])) == count, cells


# --- whose it is --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cells", "estate", "coupe"),
    [
        ({}, True, True), ({"reason": "the coupe's"}, False, True), ({"note": "Coupe"}, False, True), ({"item": "estate"}, True, False),
        ({"item": "coupes"}, True, True), ({"item": "xcoupe"}, True, True), ({"item": "coupe", "note": "estate"}, True, True),
        ({"reason": "c1"}, True, False), ({"reason": "c9"}, False, True), ({"opened": "day 1 10:08"}, True, False),
        ({"opened": "day 1 11:00"}, False, True), ({"opened": "day 2 10:08"}, True, True), ({"opened": "day 1 10:07"}, True, True),
        ({"reason": "c0"}, True, True), ({"reason": "c9", "opened": "day 1 10:08"}, False, True),
    ],
)  # fmt: skip
def test_whose_a_row_is(cells: dict[str, str], estate: bool, coupe: bool) -> None:
    of = paddock(change(at="10:08:30"), change("c9", number="9", at="11:00"), change("c0", number=None, at="12:00"))
    assert [is_theirs(work(**cells), of, number) for number in ("26", "83", "9")] == [estate, estate, coupe]


def test_without_car_files_everything_is_everybodys() -> None:
    bare = car([], work(item="coupe"), mine={"numbers": ["26"]})
    assert [line.id for line in due(bare, "26")] == ["w"]
