"""Which rows stay out of an event and with which words; the good ones stay."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from paddock.engine.check.sift import sift
from paddock.errors import Problem
from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.rows import CourseRow, EntrantRow, PressureRow, Row, RunRow, SplitRow, TimeRow, WeatherRow
from tests.factories import entrant, settings


def sifted(entrants: Sequence[EntrantRow], *rows: Row, problems: Sequence[Problem] = ()) -> Event:
    tables: dict[str, tuple[Row, ...]] = {"entrants.csv": tuple(entrants)}
    for row in rows:
        tables[row.FILE] = (*tables.get(row.FILE, ()), row)
    return sift("test", settings(), tables, problems=problems)


def time(line: int, number: str = "26", run: int = 1, **more: object) -> TimeRow:
    made: dict[str, object] = {"day": 1, "run": run, "number": number, "line": line, "time_ms": 45_000}
    return TimeRow(**(made | more))  # type: ignore[arg-type]


def said(of: Event) -> list[tuple[str, int, str]]:
    return [(item.file, item.line, item.message) for item in of.problems if item.level == "fault"]


def asked(of: Event) -> list[tuple[str, int, str]]:
    return [(item.file, item.line, item.message) for item in of.problems if item.level == "warning"]


def test_a_sound_event_keeps_everything() -> None:
    of = sifted([entrant("26", line=2)], time(2), time(3, run=2))
    assert of.problems == ()
    assert (len(of.entrants), len(of.times)) == (1, 2)


def test_unknown_classes_and_indexes() -> None:
    of = sifted(
        [
            entrant("26", "PNE", line=2),
            entrant("7", "ZZZZ", line=3),
            entrant("9", index="PINEE", line=4),
            entrant("11", index="QQ", line=5),
            entrant("12", None, line=6),
        ]
    )
    assert [item.number for item in of.entrants] == ["12"]
    assert said(of) == [
        ("entrants.csv", 2, "class PNE is unknown; did you mean PINE?"),
        ("entrants.csv", 3, "class ZZZZ is unknown: event.toml has PINE, OAK"),
        ("entrants.csv", 4, "index PINEE is unknown; did you mean PINE?"),
        ("entrants.csv", 5, "index QQ is unknown: add it to [index] in event.toml"),
    ]


def test_no_classes_are_named_as_such() -> None:
    tables = {"entrants.csv": (entrant("26", line=2),)}
    found = sift("test", settings(classes=[]), tables)
    assert said(found)[0][2] == "class PINE is unknown: event.toml has no classes"
    assert found.entrants == ()


def test_a_fault_is_said_once_for_a_row() -> None:
    of = sifted([entrant("26", line=2), entrant("26", "ZZZZ", line=3)])
    assert said(of) == [("entrants.csv", 3, "number 26 is on line 2 already: take one of the two out")]
    assert len(of.entrants) == 1


def test_rows_of_unknown_numbers_and_days_stay_out() -> None:
    of = sifted(
        [entrant("26", line=2), entrant("107", "ZZZZ", line=3)],
        time(2, "#026"), time(3, "310"), time(4, "107"), time(5, day=3), time(6), WeatherRow(day=3, line=2, at="09:00"),
    )  # fmt: skip
    assert [row.line for row in of.times] == [6]
    assert of.of(WeatherRow) == ()
    assert said(of)[1:] == [
        ("times.csv", 2, "number #026 is not entered; did you mean 26?"),
        ("times.csv", 3, "number 310 is not entered: add it to entrants.csv, or mend the number"),
        ("times.csv", 4, "the row of 107 in entrants.csv is out, and so is this one: mend that first"),
        ("times.csv", 5, "day 3 is outside the event: event.toml lists 2 days"),
        ("weather.csv", 2, "day 3 is outside the event: event.toml lists 2 days"),
    ]


def test_reruns_without_a_try_may_repeat_and_others_may_not() -> None:
    of = sifted(
        [entrant("26", line=2)],
        time(2, status="rerun"), time(3, status="rerun"), time(4),
        time(5, run=2, status="rerun", try_="a"), time(6, run=2, status="rerun", try_="a"),
        RunRow(day=1, run=1, number="26", line=2), RunRow(day=1, run=1, number="26", line=3),
    )  # fmt: skip
    assert [row.line for row in of.times] == [2, 3, 4, 5]
    assert [(file, line) for file, line, _ in said(of)] == [("runs.csv", 3), ("times.csv", 6)]
    assert asked(of) == []


def test_a_run_counted_twice_and_one_too_many_are_asked_about() -> None:
    of = sifted(
        [entrant("26", line=2)],
        time(2), time(3, try_="b"), time(4, run=3), time(5, run=4), time(6, run=3, try_="p", status="practice"),
    )  # fmt: skip
    assert len(of.times) == 5
    assert asked(of) == [
        ("times.csv", 3, "run 1 of 26 counts twice (line 2): mark the first one rerun"),
        ("times.csv", 5, "run 4 of 3: is that right?"),
    ]


def test_what_reading_found_comes_back_in_order() -> None:
    early, late = Problem("cars/a.toml", 1, "early"), Problem("times.csv", 1, "late")
    of = sifted([entrant("26", line=2)], time(2, time_ms=1), problems=[late, early])
    assert [item.message for item in of.problems] == ["early", "late", "a run of 0.001 s: is that right?"]
    assert (of.name, of.cars, of.checklists) == ("test", {}, {})


def test_each_gauge_the_settings_lack_is_asked_about_once() -> None:
    readings = [
        PressureRow(day=1, run=run, number="26", moment="after", gauge=gauge, lf_psi=35.0, line=line)
        for line, run, gauge in ((2, 1, "pencil"), (3, 2, "dial"), (4, 3, "pencil"), (5, 4, None))
    ]
    found = [words for words in asked(sifted([entrant("26", line=2)], *readings)) if "gauge" in words[2]]
    assert found == [
        ("pressures.csv", 2, "gauge 'pencil' is not in event.toml: taken to repeat to 0.3 psi"),
        ("pressures.csv", 3, "gauge 'dial' is not in event.toml: taken to repeat to 0.3 psi"),
    ]


def test_who_was_carried_is_entered_once_a_run_is_there() -> None:
    of = sifted([entrant("26"), entrant("7", status="carried"), entrant("9", status="carried")], time(2), time(3, "7"))
    assert [(item.number, item.status) for item in of.entrants] == [("26", None), ("7", None), ("9", "carried")]


def test_what_is_wrong_with_a_car_is_said_with_the_event() -> None:
    """A lowest pressure over the wheel's highest, and a placard over it, each at its own end."""
    made = {"limits": {"front_min_psi": 41.0, "rear_min_psi": 30.0, "wheel_max_psi": 40.0, "placard_rear_psi": 45.0}}
    car = Car.model_validate({"name": "estate", "drive": "front", **made})
    of = sift("test", settings(), {"entrants.csv": (entrant("26"),)}, {"estate": car})
    words = [item.message for item in of.problems]
    assert [word for word in words if "front_min_psi" in word and "over wheel_max_psi" in word] != []
    assert [word for word in words if "placard_rear_psi" in word and "over wheel_max_psi" in word] != []
    assert not any("rear_min_psi" in word or "placard_front_psi" in word for word in words)


def test_a_target_that_can_not_be_is_left_out_and_one_that_parks_too_low_is_asked_about() -> None:
    """44 psi hot, 20 K above a mild day's 15 C, is (44 + 14.6959) x 288.15 / 308.15 - 14.6959 = 40.2 psi cold."""
    made = {"limits": {"front_min_psi": 42.0, "rear_min_psi": 42.0, "wheel_max_psi": 46.0},
            "targets": {"dry": {"front_psi": 44.0, "rear_psi": 41.0}, "wet": {"front_psi": 47.0}},
            "first_run": {"front_rise_k": 20.0}}  # fmt: skip
    car = Car.model_validate({"name": "estate", "drive": "front", **made})
    of = sift("test", settings(), {"entrants.csv": (entrant("26"),)}, {"estate": car})
    words = " | ".join(item.message for item in of.problems)
    assert "a target of 44 psi parks the tyre at 40.2 psi (15 C), under the lowest pressure, 42 psi" in words
    assert "a target of 41 psi parks the tyre under the lowest pressure, 42 psi" in words
    assert "47 psi is over wheel_max_psi, 46 psi: no target may be" in words
    (kept,) = of.cars.values()
    assert (kept.targets["dry"].front_psi, kept.targets["wet"].front_psi) == (44.0, None)


def test_what_hangs_on_a_file_that_can_not_be_used_is_not_asked_about() -> None:
    """Splits wait for times and course: where one of these, or the list of entrants, is out, that is the one thing to mend."""
    tables: dict[str, tuple[Row, ...]] = {
        "entrants.csv": (entrant("26"),), "times.csv": (time(2),), "course.csv": (CourseRow(day=1, element=1),),
        "splits.csv": (SplitRow(day=1, run=2, number="26", element=1, at_ms=5_000),),
    }  # fmt: skip
    whole = sift("test", settings(), tables)
    assert [item.message for item in whole.problems] == ["run 2 of 26 has no time in times.csv: its splits wait for it"]
    for file in ("entrants.csv", "times.csv", "course.csv"):
        broken = Problem(file, 1, "can't be read")
        rest = {name: rows for name, rows in tables.items() if name != file}
        assert sift("test", settings(), rest, problems=[broken]).problems == (broken,)


def test_where_nobody_knows_the_line_it_is_0() -> None:
    made = {"limits": {"front_min_psi": 50.0, "max_cold_psi": 44.0}}
    car = Car.model_validate({"name": "estate", "drive": "front", **made})
    found = sift("test", settings(days=[]), {"entrants.csv": (entrant("26"),)}, {"estate": car})
    assert [(item.file, item.line) for item in found.problems] == [("cars/estate.toml", 0), ("event.toml", 0)]


def test_only_faults_are_looked_for_where_no_warning_is_wanted() -> None:
    rows = {"entrants.csv": (entrant("26"),), "times.csv": (time(2, time_ms=1), time(3, day=9))}
    said_of = {
        warned: [item.line for item in sift("test", settings(), rows, warned=warned).problems]
        for warned in (True, False)
    }
    assert said_of == {True: [2, 3], False: [3]}


def test_a_day_of_practice_leaves_what_was_no_run_alone() -> None:
    """A run that ended, however it did, is practice; one not started, driven again or not yet timed stays as it is."""
    rows = (
        time(2), time(3, run=2, status="dnf", time_ms=None), time(4, run=3, status="dns", time_ms=None),
        time(5, run=4, status="rerun"), time(6, run=5, time_ms=None), time(7, day=2),
    )  # fmt: skip
    of = sift(
        "test", settings(practice_days=(1,), runs_per_day=9), {"entrants.csv": (entrant("26"),), "times.csv": rows}
    )
    assert [row.status for row in of.times] == ["practice", "practice", "dns", "rerun", None, None]


@pytest.mark.parametrize(("low", "rise", "asked_of"), [(41.0, None, False), (41.04, None, False), (41.06, None, True),
                                                       (40.2, 20.0, False), (40.3, 20.0, True)])  # fmt: skip
def test_a_target_that_parks_at_the_lowest_pressure_is_no_question(
    low: float, rise: float | None, asked_of: bool
) -> None:
    """41 psi with no rise known parks at 41; 44 psi, 20 K above 15 C, at 40.19; a twentieth is not asked about."""
    made = {"limits": {"front_min_psi": low}, "targets": {"dry": {"front_psi": 44.0 if rise else 41.0}},
            "first_run": {"front_rise_k": rise} if rise else {}}  # fmt: skip
    car = Car.model_validate({"name": "estate", "drive": "front", **made})
    of = sift("test", settings(), {"entrants.csv": (entrant("26"),)}, {"estate": car})
    assert bool([item for item in of.problems if "parks the tyre" in item.message]) is asked_of
