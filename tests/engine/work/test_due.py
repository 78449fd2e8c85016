"""When work is due."""

from __future__ import annotations

from dataclasses import replace

import pytest

from paddock.actions.work import add_work, done_words, log_fault, note_found, tick, untick
from paddock.engine.work import due
from paddock.engine.work.due import closing_note, faults_due, last_ticks, questions_of, with_car
from paddock.model.car import Car
from paddock.model.edit import ChangeRow as EditRow
from paddock.model.event import Event
from paddock.model.rows import NoteRow, RunRow, SetupChange, TickRow, WorkRow
from tests.engine.tyres.make import car, clean


def _event(*rows: WorkRow | SetupChange, runs: int = 0, second: int = 0) -> Event:
    times = clean("26", 1, runs) + clean("26", 2, second)
    return car(times, *rows, mine={"numbers": ["26", "83"], "cars": {"26": "estate", "83": "runabout"}})


def _when(text: str, runs: int = 0, second: int = 0, opened: str = "day 1 run 2") -> tuple[bool, str]:
    found = due(_event(WorkRow(id="w", item="x", opened=opened, due=text), runs=runs, second=second), "26")
    return found[0].now, found[0].when


@pytest.mark.parametrize(
    ("text", "runs", "second", "expect"),
    [
        ("next run", 1, 0, (False, "after the next run")),
        ("next run", 2, 0, (True, "before the next run")),
        ("after run 3", 2, 0, (False, "after run 3")),
        ("after run 3", 3, 0, (True, "after run 3")),
        ("day 2 run 1", 3, 0, (False, "after run 1")),
        ("day 2 run 1", 3, 1, (True, "after run 1")),
        ("before run 3", 1, 0, (False, "before run 3")),
        ("before run 3", 2, 0, (True, "before run 3")),
        ("day 2, before run 1", 3, 0, (True, "before run 1 of day 2")),
        ("day 3, before run 1", 3, 0, (False, "before run 1 of day 3")),
        ("before next run", 0, 0, (True, "before the next run")),
        ("now", 0, 0, (True, "before the next run")),
        ("in 4 runs", 3, 0, (False, "in 2 runs")),
        ("in 4 runs", 3, 1, (False, "in 1 run")),
        ("in 4 runs", 3, 2, (True, "now")),
        ("after the event", 3, 2, (False, "after the event")),
        ("after the event", 3, 3, (True, "now the event is over")),
        ("2026-05-10", 3, 0, (False, "on 2026-05-10")),
        ("2026-05-10", 3, 1, (True, "on 2026-05-10")),
        ("", 3, 3, (False, "open")),
        ("when it is dry", 3, 3, (False, "when it is dry")),
    ],
)
def test_due(text: str, runs: int, second: int, expect: tuple[bool, str]) -> None:
    assert _when(text, runs, second) == expect


def test_the_first_run_of_a_day_comes_before_the_run_after_the_next() -> None:
    rows = [WorkRow(id="a", item="a", due="after run 2"), WorkRow(id="b", item="b", due="day 3, before run 1")]
    assert [line.id for line in due(_event(*rows, runs=1), "26")] == ["b", "a"]


def test_the_last_note_of_a_topic_or_of_one_day() -> None:
    rows = [NoteRow(id=name, day=day, topic="plan", text=name) for name, day in (("one", 1), ("two", 2), ("later", 2))]
    told = car([], *rows)
    found = [closing_note(told, "plan", day) for day in (None, 1, 2, 3)]
    assert [row.text if row else None for row in found] == ["later", "one", "later", None]


@pytest.mark.parametrize(("practice", "asked"), [((), True), ((2,), True), ((1,), True), ((1, 2), False)])
def test_rivals_are_asked_about_unless_every_day_is_practice(practice: tuple[int, ...], asked: bool) -> None:
    topics = [item.topic for item in questions_of(car([], practice_days=practice))]
    assert ("debrief rivals" in topics) == asked


def test_opened_by_clock_counts_the_runs_after_it() -> None:
    times = [row.model_copy(update={"at": f"10:{row.run}0:00"}) for row in clean("26", 1, 3)]
    work = WorkRow(id="w", item="x", opened="day 1 10:25", due="in 2 runs")
    assert due(car(times, work), "26")[0].when == "in 1 run"


def test_opened_before_the_event_or_unreadable_is_before_its_first_run() -> None:
    assert _when("next run", 0, opened="") == (False, "after the next run")
    assert _when("next run", 1, opened="last year") == (True, "before the next run")


def test_what_is_due_now_stands_first_and_done_is_gone() -> None:
    rows = [
        WorkRow(id="a", item="a", due="after the event"),
        WorkRow(id="b", item="b", due="next run", opened="day 1 run 1", done="day 1"),
        WorkRow(id="c", item="c", due="next run", opened="day 1 run 1"),
    ]
    assert [line.id for line in due(_event(*rows, runs=1), "26")] == ["c", "a"]


def test_work_of_another_car_stays_with_it() -> None:
    rows = (
        WorkRow(id="a", item="wheel nuts of the runabout"),
        WorkRow(id="b", item="end link", opened="day 1 10:08"),
        WorkRow(id="c", item="wash the trailer"),
        SetupChange(id="k", day=1, run=2, number="26", at="10:08:30", setting="rear_pressure"),
    )
    event = replace(_event(*rows), cars={"estate": Car(), "runabout": Car()})
    assert [line.id for line in due(event, "26")] == ["b", "c"]
    assert [line.id for line in due(event, "83")] == ["a", "c"]


def test_edits() -> None:
    line = due(_event(WorkRow(id="w", item="x")), "26")[0]
    assert tick(line, "day 1") == EditRow("worklist.csv", ("w",), {"done": "day 1"})
    assert untick("w") == EditRow("worklist.csv", ("w",), {"done": None})
    assert add_work("n", "paint mark", "day 1", due="next run").cells == {
        "id": "n", "opened": "day 1", "item": "paint mark", "due": "next run",
    }  # fmt: skip
    fault = WorkRow(**dict(log_fault("n", "clonk", "right rear", "day 2 run 3", "over the seams").cells))
    assert (fault.item, fault.reason, fault.due) == ("find the clonk: right rear", "over the seams", "before next run")
    assert due(_event(fault, runs=3), "26")[0].now
    assert note_found("n", "jam nut loose", "day 2").cells == {"note": "jam nut loose", "done": "day 2"}
    assert note_found("n", "nothing yet").cells == {"note": "nothing yet"}


def test_a_carried_row_with_the_cars_name_in_front_stays_with_it() -> None:
    event = replace(
        _event(WorkRow(id="a", item="runabout: front end links")), cars={"estate": Car(), "runabout": Car()}
    )
    assert due(event, "26") == ()
    assert len(due(event, "83")) == 1


def test_a_row_of_ones_own_gets_the_torque_of_the_fastener_it_names() -> None:
    estate = Car(fasteners={"wheel nut": 120.0, "rear end-link jam nut": 40.0, "rear end-link nut": 55.0})
    rows = [
        WorkRow(id="a", item="wheel nuts again"),
        WorkRow(id="b", item="right rear end-link jam nut"),
        WorkRow(id="c", item="right rear end link"),
        WorkRow(id="d", item="wheel nuts", torque_nm=110.0),
    ]
    found = due(replace(_event(*rows), cars={"estate": estate}), "26")
    assert {line.id: line.torque_nm for line in found} == {"a": 120.0, "b": 40.0, "c": None, "d": 110.0}


@pytest.mark.parametrize(
    ("opened", "screen", "clock", "done"),
    [
        ("day 2 run 3", 1, "15:53", "day 2 15:53"),
        ("day 1 run 1", 1, "15:53", "day 2 15:53"),
        ("day 2 15:55", 2, "15:53", "day 2 15:53"),
        ("day 2 run 3", 3, "07:10", "day 3 07:10"),
        ("day 3", 1, "07:10", "day 3 07:10"),
    ],
)
def test_work_is_never_done_before_the_car_last_ran(opened: str, screen: int, clock: str, done: str) -> None:
    found = _event(WorkRow(id="w", item="x", opened=opened), runs=1, second=3)
    assert done_words(found, "26", due(found, "26")[0], screen, clock) == done


def test_a_clock_before_the_last_run_gives_the_run() -> None:
    row, run = WorkRow(id="w", item="stop", opened="day 2 run 3"), RunRow(day=2, run=3, number="26", at="16:10")
    found = car([], row, run, mine={"numbers": ["26"]})
    assert done_words(found, "26", due(found, "26")[0], 1, "15:53") == "day 2 run 3"


def test_what_was_ticked_the_last_time_is_of_an_earlier_day() -> None:
    rows = [TickRow(list="grid", item=item, day=day) for day, item in ((1, "gloves"), (2, "helmet"), (2, "nuts"))]
    found = [last_ticks(car([], *rows), "grid", before) for before in (1, 2, 3)]
    assert found == [frozenset(), frozenset({"gloves"}), frozenset({"helmet", "nuts"})]


# --- faults, torques, names, one look for many ----------------------------------------------------------------------


def test_a_fault_to_find_is_due_where_it_is_due_now() -> None:
    rows = [
        WorkRow(id="a", item="find the clonk", due="before next run"), WorkRow(id="b", item="Find: the buzz", due="now"),
        WorkRow(id="c", item="find the leak", due="after the event"), WorkRow(id="d", item="findings to write", due="now"),
        WorkRow(id="e", item="find the rattle", due="now", done="day 1"), WorkRow(id="f", item="stop", due="now"),
        WorkRow(id="g", item="find it: runabout", due="now"), WorkRow(id="h", due="now"),
    ]  # fmt: skip
    event = replace(_event(*rows), cars={"estate": Car(), "runabout": Car()})
    assert [line.id for line in faults_due(event, "26")] == ["a", "b"]
    assert [line.id for line in faults_due(event, "83")] == ["a", "b", "g"]
    assert faults_due(_event(rows[2], rows[5]), "26") == ()


def test_two_faults_of_the_same_words_stay_two_and_two_looks_become_one() -> None:
    faults = [WorkRow(id=name, item="find the clonk", due="now", reason=name) for name in "ab"]
    assert [(line.id, line.why, line.also) for line in due(_event(*faults), "26")] == [("a", "a", ()), ("b", "b", ())]
    looks = [
        WorkRow(id=name, item=item, due=when, reason=why, torque_nm=torque)
        for name, item, when, why, torque in (
            ("a", "Wheel nuts", "now", "swap", 110.0), ("b", "wheel nut", "before", "", 110.0), ("c", "wheel nuts", "now", "swap", 110.0),
            ("d", "wheel nuts", "now", "lug", 120.0), ("e", "wheel nuts", "next run", "late", 110.0), ("f", "estate: wheel nuts", "now", "own", 110.0),
        )
    ]  # fmt: skip
    found = due(_event(*looks), "26")
    assert [(line.id, line.why, [other.id for other in line.also]) for line in found] == [
        ("a", "swap; own", ["b", "c", "f"]), ("d", "lug", []), ("e", "late", []),
    ]  # fmt: skip


def test_a_line_is_what_the_row_says() -> None:
    row = WorkRow(id="w", item="oil", reason="dark", due="in 2 runs", opened="day 1", torque_nm=25.0)
    (line,) = due(_event(row), "26")
    assert (line.id, line.item, line.why, line.when, line.torque_nm, line.now, line.row, line.written) == (
        "w", "oil", "dark", "in 2 runs", 25.0, False, row, True,
    )  # fmt: skip
    (bare,) = due(_event(WorkRow(id="v")), "26")
    assert (bare.item, bare.why, bare.when, bare.torque_nm) == ("work", "", "open", None)
    change = SetupChange(id="c", day=1, run=2, number="26", setting="front_toe")
    (made,) = due(_event(change), "26")
    assert (made.id, made.written) == ("c-rods", False)


def test_which_fastener_of_the_file_a_row_names() -> None:
    fasteners = {
        "end link nut": 50.0,
        "end link jam nut": 20.0,
        "hub nut": 200.0,
        "front hub nut": 210.0,
        "lock nut": 15.0,
    }

    def torque(item: str) -> float | None:
        event = replace(_event(WorkRow(id="w", item=item)), cars={"estate": Car(fasteners=fasteners)})
        return due(event, "26")[0].torque_nm

    assert [torque(item) for item in ("end link nuts", "end link jam nuts", "end link lock nut", "link nut")] == [
        50.0, 20.0, 15.0, None,
    ]  # fmt: skip
    assert (torque("hub nut"), torque("front hub nut")) == (200.0, None), "two figures that differ give none"
    unnamed = WorkRow(id="w", item="hub nut")
    assert due(car([], unnamed, mine={"numbers": ["26"]}), "26")[0].torque_nm is None


def test_the_cars_name_stands_before_what_only_it_has_to_do() -> None:
    change = SetupChange(id="c", day=1, run=2, number="26", item="mirror")
    own, named = WorkRow(id="w", item="oil", reason="c"), WorkRow(id="v", item="the ESTATE's oil", reason="c")
    for_all = WorkRow(id="u", item="trailer")
    event = replace(_event(change, own, named, for_all), cars={"estate": Car(), "runabout": Car()})
    lines = {line.id: line for line in due(event, "26")}
    assert {key: with_car(event, line, "26") for key, line in lines.items()} == {
        "w": "estate: oil", "v": "the ESTATE's oil", "u": "trailer",
    }  # fmt: skip
    alone = car([], own, change, mine={"numbers": ["26"], "cars": {"26": "estate"}})
    assert with_car(alone, due(alone, "26")[0], "26") == "oil"
    two_of_three = car(
        [],
        WorkRow(id="w", item="oil", reason="estate and runabout"),
        mine={"numbers": ["26", "83", "9"], "cars": {"26": "estate", "83": "runabout", "9": "van"}},
    )
    two_of_three = replace(two_of_three, cars={"estate": Car(), "runabout": Car(), "van": Car()})
    assert [with_car(two_of_three, due(two_of_three, number)[0], number) for number in ("26", "83")] == ["oil", "oil"]
    assert due(two_of_three, "9") == ()
    nameless = car([], own, change, mine={"numbers": ["26", "83"]})
    assert with_car(nameless, due(nameless, "26")[0], "26") == "oil"
