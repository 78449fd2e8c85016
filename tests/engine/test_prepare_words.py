"""What is carried, cell by cell and word by word: orders, cold pressures, the car's own rise, questions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import count
from typing import Any

import pytest

from paddock.engine.pressure.plan import SitePlace
from paddock.engine.season.carry import Carried, carry, without_index
from paddock.model.car import Car, Target
from paddock.model.car_axle import Axle, Bar
from paddock.model.edit import AddRow, SetKey
from paddock.model.event import Event
from paddock.model.rows import NoteRow, Row, SetupChange, TickRow, WorkRow
from tests.engine.pressure.situations import HOT, MORNING, after, logged
from tests.engine.pressure.test_rules import told
from tests.engine.tyres.make import clean, fit, tread, tyres
from tests.factories import entrant, event, settings

JULY = date(2026, 7, 4)
MINE = {"numbers": ["26", "9"], "cars": {"26": "estate", "9": "coupe"}}


def two_cars(*rows: Row, runs: int = 3, **more: Any) -> Event:
    made = event([entrant("26"), entrant("9")], clean("26", 1, runs), settings(mine=MINE, **more), *rows)
    return replace(made, cars={"estate": Car(), "coupe": Car()})


def carried(of: Event, days: Sequence[date] = (JULY,), **more: Any) -> Carried:
    ids = count(1)
    return carry(of, "Harbour", days, lambda: f"n{next(ids)}", **more)


def added(found: Carried, file: str) -> list[dict[str, Any]]:
    return [dict(edit.cells) for edit in found.edits if isinstance(edit, AddRow) and edit.file == file]


def keys(found: Carried, file: str) -> dict[tuple[str, ...], Any]:
    return {edit.path: edit.value for edit in found.edits if isinstance(edit, SetKey) and edit.file == file}


# --- the event's own file -----------------------------------------------------------------------------------------------


def test_the_event_file_key_by_key() -> None:
    stale = ("hottest_f", "coldest_f", "next_hottest_c", "next_coldest_c", "next_hottest_f", "next_coldest_f")
    plain = {("id",): "n1", ("name",): "Harbour", ("days",): [JULY], **{("forecast", key): None for key in stale}}
    forecast = {("forecast", "hottest_c"): None, ("forecast", "coldest_c"): None}
    assert keys(carried(two_cars()), "event.toml") == plain | forecast
    there = carried(two_cars(altitude_m=400.0), place=SitePlace(0.0, 7.0, 21.0), site="")
    assert keys(there, "event.toml") == plain | {
        ("forecast", "hottest_c"): 21.0, ("forecast", "coldest_c"): 7.0, ("site",): "", ("altitude_ft",): None,
        ("altitude_m",): 0.0,
    }  # fmt: skip


def test_index_years_and_what_is_left_without_it() -> None:
    of = two_cars(index={"edition": "table of 1999 to 2025", "factors": {"PINE": Decimal("0.812")}})
    asked = "the index table is 'table of 1999 to 2025' and the event is in 2026: does it still hold?"
    found = carried(of, [date(2027, 1, 1), date(2026, 12, 31)])
    assert (found.index_question, found.questions[0]) == (asked, asked)
    assert "index table: table of 1999 to 2025 (ask)" in found.words
    assert carried(of, [date(2027, 1, 1), date(2025, 12, 31)]).index_question is None
    assert carried(of, []).index_question is None
    assert carried(two_cars(index={"edition": "2025", "factors": {}})).index_question is None
    left = without_index(of, found)
    assert left.questions == ("write the new factors and their edition under [index]", *found.questions[1:])
    assert left.edits[len(found.edits) :] == (
        SetKey("event.toml", ("index", "edition"), None), SetKey("event.toml", ("index", "PINE"), None),
    )  # fmt: skip
    assert left.edits[: len(found.edits)] == found.edits
    assert left.words == tuple(word for word in found.words if "index" not in word)


def test_words_for_one_of_each_and_for_none() -> None:
    alone = event(
        [entrant("26"), entrant("45")], [], settings(mine={"numbers": ["26"]}, classes=[{"code": "PINE"}], index={})
    )
    assert carried(alone).words == (
        "1 class and the rules", "my entry 26", "1 rival in their classes, carried: they count once they are seen here",
    )  # fmt: skip
    of = event(
        [entrant("7"), entrant("26"), entrant("45")], [], settings(mine={"numbers": ["26", "83"]}, classes=[], index={}),
        WorkRow(id="a", item="oil"), WorkRow(id="b", item="pads"), *tyres("A", "B"),
        NoteRow(id="p", topic="plan", text="bar"),
    )  # fmt: skip
    assert carried(of).words == (
        "2 tyres with their runs and tread, as fitted", "open work: 2 lines", "the plan: test: bar", "my entry 26",
        "2 rivals in their classes, carried: they count once they are seen here",
    )  # fmt: skip


# --- the car files ------------------------------------------------------------------------------------------------------


def test_pressures_aimed_at_and_holes_axle_by_axle() -> None:
    estate = Car(
        setup={"front_pressure": "33,5", "rear_pressure": 40.0, "wing": "low"},
        targets={"dry": Target(front_psi=33.5, rear_psi=41.28)},
        front=Axle(bar=Bar(left=2, right=2)), rear=Axle(bar=Bar(left=1, right=1)),
    )  # fmt: skip
    moved = [
        SetupChange(id="a", day=1, run=2, number="26", setting="front_bar", before="2-2", after="2-1", decision="keep"),
        SetupChange(id="b", day=1, run=2, number="26", setting="wing", before="low", after="low", decision="keep"),
    ]
    of = replace(two_cars(*moved), cars={"estate": estate, "coupe": Car()})
    assert keys(carried(of), "cars/estate.toml") == {
        ("setup", "front_bar"): "2-1", ("setup", "rear_pressure"): 41.3, ("front", "bar", "left"): 2,
        ("front", "bar", "right"): 1,
    }  # fmt: skip
    assert keys(carried(of), "cars/coupe.toml") == {}
    soft = estate.model_copy(update={"setup": {"front_pressure": "soft"}})
    assert keys(carried(replace(of, cars={"estate": soft})), "cars/estate.toml")["setup", "front_pressure"] == "33.5"


def test_what_a_first_run_warms_is_written_where_it_was_read() -> None:
    """Cold 30.0 and 42.0 at 12 C, read hot after run 1: by Gay-Lussac the rise over the air, to a tenth of a kelvin."""
    of = told(MORNING, after(1, *HOT), logged(1))
    found = keys(carried(of), "cars/estate.toml")
    assert set(found) == {("first_run", "front_rise_k"), ("first_run", "rear_rise_k")}
    assert all(value == round(value, 1) and 5 < value < 60 for value in found.values())
    known = of.cars["estate"].model_copy(
        update={
            "first_run": of.cars["estate"].first_run.model_copy(
                update={path[1]: value for path, value in found.items()}
            )
        }
    )
    assert keys(carried(replace(of, cars={"estate": known})), "cars/estate.toml") == {}
    assert keys(carried(told(MORNING)), "cars/estate.toml") == {}


# --- work and orders ----------------------------------------------------------------------------------------------------


def test_a_line_of_work_cell_by_cell() -> None:
    row = WorkRow(id="w", opened="day 1 run 1", item="oil", reason="dark", due="in 9 runs", torque_nm=25.0, note="can")
    assert added(carried(two_cars(row)), "worklist.csv") == [
        {"id": "w", "opened": "at Test event", "item": "oil", "reason": "dark", "due": "in 6 runs", "torque_nm": 25.0, "note": "can"},
    ]  # fmt: skip
    unnamed = replace(two_cars(WorkRow(id="v", item="pads")), name="2026-05 field")
    unnamed = replace(unnamed, settings=unnamed.settings.model_copy(update={"name": None}))
    assert added(carried(unnamed), "worklist.csv") == [{"id": "v", "opened": "at 2026-05 field", "item": "pads"}]


def ordered(item: str, due: str | None, *rows: Row, days: Sequence[date] = (JULY,), runs: int = 3) -> str:
    """When an order of the estate is due at the next event."""
    of = two_cars(WorkRow(id="o", item=item, due=due, opened="day 1 run 1"), *rows, runs=runs)
    return next(row["due"] for row in added(carried(of, days), "worklist.csv") if row["id"] == "o")


FITTED = fit(1, 1, lf="A", rf="B", lr="C", rr="D")
WAITS = [*tyres("A", delivery_days=9), *tyres("B", delivery_days=14), *tyres("C", delivery_days=30), *tyres("D")]


def test_the_day_to_order_is_the_slowest_delivery_of_the_axle_that_is_named() -> None:
    """4 July less 14 days and less 30; where no axle is named the sooner of the two; front and rear have one each."""
    assert ordered("order front tyres", "now", *FITTED, *WAITS) == "2026-06-20"
    assert ordered("order rear tyres", "now", *FITTED, *WAITS) == "2026-06-04"
    assert ordered("order tyres", "now", *FITTED, *WAITS) == "2026-06-04"
    assert ordered("Buy: Front tyres", "now", *FITTED, *WAITS) == "2026-06-20"
    assert ordered("estate: buy rear tyres", "now", *FITTED, *WAITS) == "2026-06-04"
    assert ordered("order front tyres", "by 2026-05-30 at the latest", *FITTED, *WAITS) == "by 2026-05-30 at the latest"
    assert ordered("order front tyres", "now", *FITTED, *tyres(*"ABCD")) == "order now"
    assert ordered("order front tyres", "now", *FITTED, *WAITS, days=()) == "order now"
    assert ordered("reorder the tools", "now", *FITTED, *WAITS) == "before run 1"


def test_an_order_whose_day_is_the_last_of_the_old_event_or_past_goes_at_once() -> None:
    """The old event ends on 10 May: 24 May less 14 days is that day, a day later is not."""
    assert ordered("order front tyres", "now", *FITTED, *WAITS, days=[date(2026, 5, 24)]) == "order now"
    assert ordered("order front tyres", "now", *FITTED, *WAITS, days=[date(2026, 5, 25)]) == "2026-05-11"
    several = [date(2026, 7, 5), JULY]
    assert ordered("order front tyres", "now", *FITTED, *WAITS, days=several) == "2026-06-20"


def test_tyres_that_run_out_before_the_new_event_are_ordered_at_once() -> None:
    """A wears .3 mm a run and has .3 mm over the floor: one run, and three more are planned on day 2."""
    worn = [tread(0, "A", 2.8, 2.8, 2.8), tread(1, "A", 1.9, 1.9, 1.9)]
    assert ordered("order front tyres", "now", *FITTED, *WAITS, *worn) == "order now"
    assert ordered("order rear tyres", "now", *FITTED, *WAITS, *worn) == "2026-06-04"
    lasting = [tread(0, "A", 7, 7, 7), tread(1, "A", 6.7, 6.7, 6.7)]
    assert ordered("order front tyres", "now", *FITTED, *WAITS, *lasting) == "2026-06-20"


@pytest.mark.parametrize(
    ("due", "runs", "carried_as"),
    [
        ("before the event", 3, "before run 1"), ("next run", 0, "next run"), ("next run", 3, "before run 1"), ("by dusk", 3, "by dusk"),
        ("in 3 runs", 3, "before run 1"), ("in 4 runs", 3, "in 1 run"), ("after run 9", 3, "next run"),
    ],
)  # fmt: skip
def test_other_work_is_due_as_its_words_leave_it(due: str, runs: int, carried_as: str) -> None:
    assert ordered("oil", due, runs=runs) == carried_as


# --- tyres, ticks, notes ------------------------------------------------------------------------------------------------


def test_tread_is_worked_forward_to_the_hundredth_and_asked_about() -> None:
    """A: .9 / 7 mm a run, two more runs on day 2: 6.1 less .257 is 5.84; B was read after its last run, C never."""
    rows = [*tyres("A", "B", "C"), *fit(1, 1, lf="A"), *fit(1, 1, rr="B"), *fit(1, 1, "9", lf="C")]
    rows += [tread(0, "A", 7, None, 7), tread(1, "A", 6.1, None, 7), tread(0, "B", 5, 5, 5), tread(2, "B", 4.1, 5, 5)]
    of = event([entrant("26")], clean("26", 1, 7) + clean("26", 2, 2), settings(mine=MINE), *rows)
    found = carried(of)
    assert added(found, "tread.csv") == [
        {"day": 0, "tyre": "A", "inner_mm": 5.84, "outer_mm": 7.0},
        {"day": 0, "tyre": "B", "inner_mm": 4.1, "middle_mm": 5.0, "outer_mm": 5.0},
    ]
    assert added(found, "worklist.csv")[-1] == {
        "id": "n2", "opened": "at Test event", "due": "before run 1", "item": "read the tread of A",
        "reason": "day 0 in tread.csv is worked forward from a reading before the last runs",
    }  # fmt: skip
    assert "tread of A is worked forward to day 0: measure before the first run" in found.questions


def test_ticks_of_the_last_time_a_list_was_used_in_its_order() -> None:
    ticks = [TickRow(list="grid", item=item, day=day) for item, day in (("c", 2), ("a", 2), ("b", 1), ("gone", 2))]
    of = replace(two_cars(*ticks), checklists={"grid": ("a", "b", "c")})
    assert added(carried(of), "ticks.csv") == [{"list": "grid", "item": "a"}, {"list": "grid", "item": "c"}]


def test_what_is_to_go_back_and_what_is_undecided_is_asked() -> None:
    cells = {"day": 1, "run": 2, "number": "26", "before": "1", "after": "2"}
    rows = [
        SetupChange(id="a", setting="toe", decision="revert", **cells), SetupChange(id="b", setting="bar", kind="test", **cells),
        SetupChange(id="c", kind="test", day=1, run=2),
    ]  # fmt: skip
    found = carried(two_cars(*rows, site="Old field", altitude_m=400.0))
    assert found.questions == (
        "toe is to go back and still is 2: carried as it is on the car",
        "estate: bar 1 to 2 (change b) is still undecided: decide it in Test event",
        "estate: c ? to ? (change c) is still undecided: decide it in Test event",
        "site = 'Old field' is the old one: is it this event's?",
        "altitude_m = 400 is the old place's: is it this one's?",
        "no forecast yet: write hottest_c and coldest_c under [forecast]",
    )
    assert "no forecast yet" not in " ".join(carried(two_cars(), place=SitePlace(None, None, 20.0)).questions)


def cold_note(here_m: float | None, there_m: float | None, **more: Any) -> str:
    """The note of the cold pressures for 8 C at the new place."""
    of = told(MORNING, after(1, *HOT), logged(1), altitude_m=here_m, **more)
    notes = added(carried(of, place=SitePlace(there_m, 8.0, 8.0)), "notes.csv")
    return next(str(row["text"]) for row in notes if row["topic"] == "cold pressures")


def air_psi(metres: float) -> float:
    """The standard atmosphere's troposphere (ISO 2533): 101325 (1 - 2.25577e-5 h) ^ 5.25588 Pa."""
    return float(101325 * (1 - 2.25577e-5 * metres) ** 5.25588 / 6894.757)


def test_the_cold_pressures_say_what_a_gauge_shows_at_the_old_place() -> None:
    assert cold_note(0.0, 0.0).startswith("estate: at 8 °C front ")
    assert cold_note(0.0, 0.0).endswith(" psi cold")
    assert cold_note(0.0, 140.0).endswith(" psi cold"), "0.24 psi: less than half a gauge's step"
    more = air_psi(0) - air_psi(150)
    assert cold_note(0.0, 150.0).endswith(f"; as a gauge reads at 150 m: at 0 m, as cold, it shows {more:.1f} less")
    more = air_psi(0) - air_psi(1600)
    assert cold_note(0.0, 1600.0).endswith(f" at 1600 m: at 0 m, as cold, it shows {more:.1f} less")
    assert cold_note(1600.0, 0.0).endswith(f" at 0 m: at 1600 m, as cold, it shows {more:.1f} more")
    more = air_psi(0) - air_psi(300)
    assert cold_note(300.0, 0.0).endswith(f" at 0 m: at 300 m, as cold, it shows {more:.1f} more")
    assert cold_note(None, 1600.0).endswith(" psi cold")


def test_the_cold_pressures_are_as_the_gauge_shows_them() -> None:
    """Never read, so that the figures are the targets' alone: a gauge that shows a pound too much shows one more."""

    def figures(*offsets_psi: float) -> list[float]:
        gauges = [{"id": f"g{at}", "offset_psi": offset} for at, offset in enumerate(offsets_psi)]
        notes = added(carried(told(gauges=gauges), place=SitePlace(412.0, 8.0, 8.0)), "notes.csv")
        words = str(notes[0]["text"]).replace(",", "").split()
        return [float(words[words.index(axle) + 1]) for axle in ("front", "rear")]

    front, rear = figures()
    assert figures(1.0) == [pytest.approx(front + 1), pytest.approx(rear + 1)]
    assert figures(-0.5) == [pytest.approx(front - 0.5), pytest.approx(rear - 0.5)]
    assert figures(1.0, 2.0) == [front, rear], "of two gauges none is the one"
