"""What is carried, key by key; the sheet's history; two cars in one event."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from paddock.engine.car.setup_sheet import Fastest, SheetLine, setup_at, sheet
from paddock.engine.pressure.corners import Reason, because
from paddock.engine.pressure.plan import ColdSet, SitePlace
from paddock.engine.season.carry import Carried, carry, cold_words, like_before, without_index
from paddock.model.car import Car
from paddock.model.edit import AddRow, SetKey
from paddock.model.event import Event
from paddock.model.rows import Row, SetupChange, WorkRow
from tests.engine.pressure.situations import HOT, MORNING, after, logged
from tests.engine.pressure.test_rules import told
from tests.engine.tyres.make import car, clean, fit, tread, tyres
from tests.factories import entrant, event, runs, settings


def two_cars(*rows: Row, **more: Any) -> Event:
    mine = {"numbers": ["26", "9"], "cars": {"26": "estate", "9": "coupe"}}
    made = event([entrant("26"), entrant("9")], clean("26", 1, 3), settings(mine=mine, **more), *rows)
    return replace(made, cars={"estate": Car(setup={"toe": 1}), "coupe": Car()})


def carried(of: Event, **more: Any) -> Carried:
    return carry(of, "Harbour", [date(2026, 7, 4)], iter("abcdefgh").__next__, **more)


def added(of: Event, file: str, **more: Any) -> list[dict[str, Any]]:
    return [dict(edit.cells) for edit in carried(of, **more).edits if isinstance(edit, AddRow) and edit.file == file]


def keys(of: Event, **more: Any) -> dict[tuple[str, ...], Any]:
    return {edit.path: edit.value for edit in carried(of, **more).edits if isinstance(edit, SetKey)}


def test_work_of_both_cars_is_carried_once_and_named_where_it_is_one_cars() -> None:
    found = added(two_cars(WorkRow(id="w", item="oil")), "worklist.csv")
    assert [(row["id"], row["item"]) for row in found] == [("w", "oil")]
    change = SetupChange(id="c", day=1, run=2, number="9", item="mirror")
    of_one = added(two_cars(WorkRow(id="w", item="oil", reason="after c"), change), "worklist.csv")
    assert [row["item"] for row in of_one] == ["coupe: oil"]
    named = added(two_cars(WorkRow(id="w", item="Coupe oil")), "worklist.csv")
    assert [row["item"] for row in named] == ["Coupe oil"]


@pytest.mark.parametrize(
    ("due", "carried_as"),
    [
        ("after the event", "before run 1"), ("before run 9", "before run 1"), ("now", "before run 1"), ("in 9 runs", "in 6 runs"),
        ("after run 9", "next run"), ("someday", "someday"), (None, None),
    ],
)  # fmt: skip
def test_when_work_is_due_next_time(due: str | None, carried_as: str | None) -> None:
    (row,) = added(two_cars(WorkRow(id="w", item="oil", opened="day 1 run 1", due=due)), "worklist.csv")
    assert row.get("due") == carried_as
    assert row["opened"] == "at Test event"


def test_numbers_stay_numbers() -> None:
    assert [like_before(old, text) for old, text in ((1, "2"), (1.5, "-2"), (1, "2.5"), (1, "soft"), ("a", "2"), (True, "2"), (None, "2"))] == [
        2, -2, 2.5, "soft", "2", "2", "2",
    ]  # fmt: skip
    assert isinstance(like_before(1.5, "2"), int)


def test_the_place_key_by_key() -> None:
    old = two_cars(altitude_m=400.0, site="Old field")
    same = keys(old, place=SitePlace(400.0, None, None))
    assert ("altitude_m",) not in same
    assert keys(old, place=SitePlace(500.0, None, None))["altitude_m",] == 500.0
    assert ("site",) not in same
    assert keys(old, site="New field")["site",] == "New field"
    asked = carried(old).questions
    assert [text.split(":")[0].split(" =")[0] for text in asked] == ["site", "altitude_m", "no forecast yet"]
    told = carried(old, place=SitePlace(500.0, 5.0, None), site="New field").questions
    assert told == ()


def test_setups_of_both_cars() -> None:
    rows = [
        SetupChange(id="a", day=1, run=2, number="26", setting="toe", before="1", after="2"),
        SetupChange(id="b", day=1, run=2, number="9", setting="wing", before="low", after="high"),
        SetupChange(id="c", day=1, run=2, number="9", setting="seat", before="a", after="b", kind="repair"),
        SetupChange(id="d", day=1, run=2, number="9", setting="rod", before="1", kind="test"),
    ]
    made = [
        edit for edit in carried(two_cars(*rows)).edits if isinstance(edit, SetKey) and edit.file.startswith("cars/")
    ]
    assert [(edit.file, edit.path, edit.value) for edit in made] == [
        ("cars/estate.toml", ("setup", "toe"), 2), ("cars/coupe.toml", ("setup", "wing"), "high"), ("cars/coupe.toml", ("setup", "rod"), "1"),
    ]  # fmt: skip
    said = "coupe: rod 1 to ? (change d) is still undecided: decide it in Test event"
    assert said in carried(two_cars(*rows)).questions
    notes = [row["text"] for row in added(two_cars(*rows), "notes.csv") if row["topic"] == "undecided from last time"]
    assert notes == [said]


def test_tyres_and_tread_of_what_ran() -> None:
    rows = [*tyres("A", "B", runs_before=2), *fit(1, 1, lf="A"), tread(0, "A", 7, 7, 7), tread(1, "A", 6.7, 6.7, 6.4)]
    of = two_cars(*rows)
    assert added(of, "tread.csv") == [{"day": 0, "tyre": "A", "inner_mm": 6.7, "middle_mm": 6.7, "outer_mm": 6.4}]
    assert added(of, "fitted.csv") == [{"day": 1, "number": "26", "corner": "lf", "tyre": "A"}]
    assert not [row for row in added(of, "worklist.csv") if row["item"].startswith("read the tread")]


def test_words_for_what_there_is() -> None:
    words = carried(two_cars(WorkRow(id="w", item="oil"), *tyres("A"))).words
    assert words[:3] == (
        "2 cars: estate, coupe, set up as they stand",
        "1 tyre with their runs and tread, as fitted",
        "open work: 1 line",
    )
    assert words[3:] == ("2 classes and the rules", "index table: no edition named", "my entries 26, 9")
    left = without_index(two_cars(), carried(two_cars()))
    assert left.questions[0] == "write the new factors and their edition under [index]"
    assert {edit.path for edit in left.edits if isinstance(edit, SetKey) and edit.path[0] == "index"} == {
        ("index", "edition"), ("index", "PINE"), ("index", "OAK"), ("index", "FIR"),
    }  # fmt: skip


def test_cold_pressures_in_words() -> None:
    assert cold_words([]) == ""
    sets = [
        cold_set("front", 8.0, 31.84),
        cold_set("rear", 8.0, None, because("no-target", target="dry")),
        cold_set("front", 12.5, 32.0, because("plan-held-down", air_c=30.0)),
    ]
    assert (
        cold_words(sets)
        == "at 8 °C front 31.8, rear ? (no target); at 12.5 °C front 32.0 (held down by the cold maximum) psi cold"
    )


def cold_set(axle: str, air_c: float, psi: float | None, limit: Reason | None = None) -> ColdSet:
    from dataclasses import MISSING, fields

    given: dict[str, Any] = {"axle": axle, "air_c": air_c, "set_psi": psi, "limit": limit}
    blank = {item.name: None for item in fields(ColdSet) if item.default is MISSING and item.default_factory is MISSING}
    return ColdSet(**(blank | given))


# --- the sheet --------------------------------------------------------------------------------------------------


def lines(*rows: SetupChange, times: Any = (), **more: Any) -> dict[str, SheetLine]:
    made = replace(
        car(list(times), *rows, mine={"numbers": ["26"], "cars": {"26": "h"}}, **more),
        cars={"h": Car(setup={"bar": "1", "abs": True})},
    )
    return {line.key: line for line in sheet(made, "26").lines}


def change(id_: str, run: int | None, before: str | None, after: str | None, **more: Any) -> SetupChange:
    return SetupChange(
        **({"id": id_, "day": 1, "run": run, "number": "26", "setting": "bar", "before": before, "after": after} | more)
    )


def test_a_setting_and_its_history() -> None:
    line = lines(change("b", 3, "2", "3"), change("a", 2, "1", "2"))["bar"]
    assert (line.start, line.now, line.history) == ("1", "3", ("1", "2", "3"))
    assert line.change is not None
    assert (line.change.id, line.undone, line.to_revert) == ("b", False, False)
    back = lines(change("a", 2, "1", "2"), change("b", 3, "2", None, undoes="a"))["bar"]
    assert (back.now, back.history, back.change, back.undone) == ("1", ("1", "2", "1"), None, True)
    revert = lines(change("a", 2, "1", "2", decision="revert"))["bar"]
    assert revert.to_revert
    assert lines()["abs"].now == "yes"
    other = lines(
        change("a", 2, "x", "y", setting=None, item="seat"), change("z", 2, "p", "q", number="9", setting="wing")
    )
    assert (other["seat"].start, other["seat"].now, "wing" in other) == ("x", "y", False)
    assert (other["bar"].history, other["bar"].change) == (("1",), None)
    blank = lines(change("a", 2, "1", None))["bar"]
    assert (blank.now, blank.history) == ("1", ("1",))


def test_a_change_is_in_force_from_its_run_on() -> None:
    of = replace(car([], change("a", 2, "1", "2"), change("b", None, "p", "q", setting="wing", day=None)), cars={})
    assert [dict(setup_at(of, "26", 1, run)) for run in (1, 2)] == [
        {"bar": "1", "wing": "q"},
        {"bar": "2", "wing": "q"},
    ]


def test_the_fastest_run_of_each_day() -> None:
    times = [*runs("26", 1, "47", "46+3", "45/1", "44 rerun", "46"), *runs("26", 2, "50"), *runs("9", 1, "40")]
    of = car(times, change("a", 2, "1", "2"), change("b", 4, "2", "3"))
    found = sheet(of, "26")
    assert found.fastest == (Fastest(1, 2, "26", 46_000), Fastest(2, 1, "26", 50_000))
    assert found.car == "26"
    (line,) = found.lines
    assert (line.at_fastest, line.now, line.differs) == (("2", "3"), "3", False)
    early = sheet(car(times[:5], change("a", 2, "1", "2"), change("b", 4, "2", "3")), "26").lines[0]
    assert (early.at_fastest, early.differs) == (("2",), True)
    assert not sheet(car([], change("a", 2, "1", "2")), "26").lines[0].differs
    counted = sheet(car(times[:5], rules={"miss": 5}), "26").fastest
    assert counted == (Fastest(1, 3, "26", 45_000),)
    limited = sheet(car(runs("26", 1, "47", "45/2", "46/1"), rules={"miss": 5, "miss_limit": 1}), "26").fastest
    assert limited == (Fastest(1, 3, "26", 46_000),)


def test_a_tyre_is_carried_as_the_later_run_of_the_day_left_it() -> None:
    """Turned over before run 3, which stands first in the file."""
    rows = [*fit(1, 3, lf="A", orientation="turned"), *fit(1, None, lf="A")]
    assert [row.get("orientation") for row in added(two_cars(*tyres("A"), *rows), "fitted.csv")] == ["turned"]


def test_cold_pressures_are_of_the_old_place_unless_the_new_one_says_its_altitude() -> None:
    old = told(MORNING, after(1, *HOT), logged(1))
    said = [
        [
            row["text"]
            for row in added(old, "notes.csv", place=SitePlace(altitude, 8.0, 8.0))
            if row["topic"] == "cold pressures"
        ]
        for altitude in (None, 412.0, 1600.0)
    ]
    assert said[0] == said[1] != said[2]
    assert len(said[0]) == 1
