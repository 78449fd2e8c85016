"""The first morning of an event: a cold tyre starts from the cold plan, never from the hot target."""

from __future__ import annotations

import dataclasses
from datetime import date, datetime
from pathlib import Path

import pytest

from paddock.folders.starting import new_event
from paddock.model.car import FirstRun
from paddock.model.event import Event
from paddock.pages.home import home
from paddock.pages.pressing import pressing, taking
from paddock.session.loading import load
from tests.engine.pressure.situations import car, cold
from tests.factories import entrant, event, settings

MORNING = datetime(2026, 5, 9, 7, 50)


def dawn(*rows: object, rise_k: float | None = 15.0) -> Event:
    """Nothing run yet, 12 C; the car file knows what a first run warms its tyres."""
    found = settings(
        altitude_m=412.0, runs_per_day=5, forecast={"hottest_c": 27.0, "coldest_c": 12.0},
        gauges=[{"id": "dial", "step_psi": 0.5, "repeat_psi": 0.3}],
    )  # fmt: skip
    estate = car().model_copy(update={"first_run": FirstRun(front_rise_k=rise_k, rear_rise_k=rise_k)})
    return dataclasses.replace(event([entrant("26")], [], found, *rows), cars={"estate": estate})  # type: ignore[arg-type]


def test_the_cold_reading_starts_from_the_plan_to_the_gauges_step() -> None:
    """By hand: 34 hot after 15 K from 12 C is (34 + 13.99) x 285.15 / 300.15 - 13.99 = 31.6, so 31.5 on the dial."""
    found = taking(dawn(), "26", MORNING)
    assert (found.kind, found.run, found.advised, found.how) == ("cold", None, False, "the cold plan")
    assert found.psi == {"lf": 31.5, "rf": 31.5, "lr": 41.0, "rr": 41.0}


def test_home_says_the_plan_before_anything_is_read() -> None:
    found = home(dawn(), "26", MORNING, None)
    assert found.advice[0] == "set cold: LF 31.6  RF 31.6  RR 41.1  LR 41.1"
    assert "from the car file" in found.advice[1]
    assert found.moment is not None
    assert (found.moment.aim_is, found.moment.aim["lf"]) == ("cold plan", pytest.approx(31.6, abs=0.05))


def test_a_cold_reading_is_compared_with_the_cold_plan() -> None:
    corner = pressing(taking(dawn(), "26", MORNING), {"lf": 34.0}, frozenset({"lf"}))[0]
    assert (corner.aim, corner.off_psi) == ("cold plan", pytest.approx(2.4, abs=0.05))
    read = home(dawn(cold(33.0, 33.0, 41.0, 41.0)), "26", MORNING, None)
    assert read.advice[0] == "set cold: LF 33.0→31.6  RF 33.0→31.6, let out"


def test_without_a_rise_of_its_own_the_usual_one_stands_in_and_is_said() -> None:
    found = home(dawn(rise_k=None), "26", MORNING, None)
    assert "20 K (usual, this car's own is not known), good to 1.4 psi" in found.advice[1]
    assert "confidence low" in found.advice[1]


def test_a_new_event_without_a_car_says_nothing_false(tmp_path: Path) -> None:
    whole = load(new_event(tmp_path / "fresh", "Fresh", [date(2026, 7, 11)], ["5"]))
    now = datetime(2026, 7, 11, 8, 0)
    assert taking(whole, "5", now).psi == {}
    assert home(whole, "5", now, None).advice == ("no cold plan", "no dry target in the car file")
