"""The evening before the day: what is read in a warm garage, and what of it counts in the morning."""

from __future__ import annotations

import dataclasses
from datetime import datetime

import pytest

from paddock.actions.runs import log_pressures
from paddock.engine.clock import as_of, entry_clock
from paddock.engine.pressure.air import AirState, carry
from paddock.engine.pressure.answer import Moment
from paddock.engine.pressure.moment import moment_of
from paddock.entry.pressures import PressureLine
from paddock.model.edit import AddRow, Batch
from paddock.model.event import Event
from paddock.model.rows import PressureRow, Row, WeatherRow
from paddock.pages.pressing import pressing, taking, taking_on_home, taking_words
from paddock.pages.pressure import headline
from paddock.pages.why import as_said
from tests.engine.pressure.days import ME, Day, gauge, run, whole
from tests.engine.said import cautions, reason

EVENING, MORNING = datetime(2026, 5, 8, 19, 0), datetime(2026, 5, 9, 7, 30)
GARAGE = PressureLine({"lf": 30.0, "rf": 30.0, "lr": 39.0, "rr": 39.0}, tyre_c=18.0)


def logged(told: Event, now: datetime, line: PressureLine, moment: str) -> Event:
    """The event with four readings typed at that time."""
    edit = log_pressures(told, ME, 1, line, moment, None, entry_clock(told, 1, now)).edit
    return _with(told, edit)


def _with(told: Event, edit: object) -> Event:
    assert isinstance(edit, Batch)
    (one,) = edit.edits
    assert isinstance(one, AddRow)
    rows: tuple[Row, ...] = tuple(told.tables.get("pressures.csv", ()))
    return dataclasses.replace(told, tables=told.tables | {"pressures.csv": (*rows, PressureRow(**one.cells))})


def at(told: Event, now: datetime) -> Moment:
    return moment_of(told, ME, as_of(told, now))


EMPTY = whole(Day("eve", (), ()))


def test_in_a_warm_garage_the_figures_are_what_the_gauge_shows_there() -> None:
    """(p + outside) / T is constant: what is set at 18 C reads the cold plan of the forecast's 10 C."""
    plan = at(EMPTY, EVENING)
    assert (plan.name, plan.known.outside.air_c) == ("before", 10.0)
    read = logged(EMPTY, EVENING, GARAGE, "cold")
    found = at(read, EVENING)
    assert (found.name, found.action) == ("cold-read", "plan")
    assert found.now is not None
    assert found.now.known() == pytest.approx({"lf": 30.0, "rf": 30.0, "lr": 39.0, "rr": 39.0})
    outside = found.known.outside
    assert plan.set is not None
    for corner, psi in plan.set.known().items():
        here = carry(psi, outside.state, AirState(18.0, outside.ambient_pa))
        assert found.moves[corner] == pytest.approx(here)
        assert here > psi + 0.9
    assert headline(found, "psi")[0].startswith("set here, at 18 °C: LF 30.0→")
    assert "As the gauge shows here at 18 °C; at 10 °C that is front " in reason(found)


def test_set_as_said_in_the_garage_is_done_and_not_asked_for_again() -> None:
    read = logged(EMPTY, EVENING, GARAGE, "cold")
    made = as_said(at(read, EVENING), 1, entry_clock(read, 1, EVENING))
    assert made is not None
    found = at(_with(read, made.edit), EVENING)
    assert (found.name, found.action, dict(found.moves)) == ("set", "none", {})
    assert found.known.eve
    again = taking_on_home(_with(read, made.edit), ME, EVENING, PressureLine({"lf": 31.0}))
    assert (again.kind, again.run) == ("cold", None)


def test_without_a_temperature_it_says_what_it_takes_the_tyres_for() -> None:
    found = at(logged(EMPTY, EVENING, dataclasses.replace(GARAGE, tyre_c=None), "cold"), EVENING)
    assert "taken as at 10 °C" in reason(found)
    assert found.confidence == "low"


def test_while_it_is_typed_the_plan_is_what_it_reads_at_that_temperature() -> None:
    found = taking(EMPTY, ME, EVENING)
    assert taking_words(found) == "cold, at 10 °C"
    cold, warm = (pressing(found, {"lf": 30.0}, frozenset({"lf"}), c)[0].off_psi for c in (None, 18.0))
    assert cold is not None
    assert warm is not None
    assert warm < cold - 0.9


def test_in_the_morning_the_evening_counts_for_nothing() -> None:
    """Seen in a cold garage: the evening's 19:00 stood in the day's future, and a cold reading was taken as hot."""
    evening = logged(EMPTY, EVENING, GARAGE, "cold")
    evening = logged(evening, EVENING, GARAGE, "set")
    assert [row.at for row in evening.tables["pressures.csv"]] == ["00:00:00", "00:00:01"]  # type: ignore[attr-defined]
    weather = (WeatherRow(day=1, at="00:00", air_c=18.0), WeatherRow(day=1, at="07:30", air_c=6.0, surface="dry"))
    evening = dataclasses.replace(evening, tables=evening.tables | {"weather.csv": weather})
    found = at(evening, MORNING)
    assert (found.name, found.known.outside.air_c, found.known.clock.later) == ("before", 6.0, 0)
    first = taking_on_home(evening, ME, MORNING, PressureLine({"lf": 29.0}))
    assert (first.kind, first.run) == ("cold", None)
    morning = gauge("cold", "07:31", 29.0, 29.0, 38.0, 38.0)
    rows = (*evening.tables["pressures.csv"], morning)
    alone = whole(Day("morning", (*weather[1:], morning), ()))
    later = MORNING.replace(minute=32)
    both = at(dataclasses.replace(evening, tables=evening.tables | {"pressures.csv": rows}), later)
    assert dict(both.moves) == dict(at(alone, later).moves)
    assert not [text for text in cautions(both) if "clock set back" in text or "was it hot" in text]


def test_a_car_found_warm_is_no_longer_warm_after_three_quarters_of_an_hour() -> None:
    rows = (
        WeatherRow(day=1, at="07:00", air_c=8.0, surface="dry"),
        gauge("cold", "07:05", 30.0, 30.0, 39.0, 39.0, tyre_c=20.0),
    )
    told = whole(Day("garage", rows, ()))
    warm, stood = at(told, MORNING.replace(minute=10, hour=7)), at(told, MORNING.replace(hour=8))
    assert (warm.known.rested, stood.known.rested) == (False, True)
    assert stood.now is not None
    assert stood.now["lf"] == pytest.approx(
        carry(30.0, AirState(20.0, stood.known.outside.ambient_pa), stood.known.outside.state)
    )
    ran = whole(Day("ran", (*rows, *run(1, "09:00")), ()))
    assert at(ran, MORNING.replace(hour=9)).name == "ran"
