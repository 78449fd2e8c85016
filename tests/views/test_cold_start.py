"""The first morning of a carried event: a cold tyre starts from the cold plan, never from the hot target."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from paddock.engine.cold import Place
from paddock.engine.pressure.plan import next_event_plan
from paddock.folders.reading import load
from paddock.folders.starting import carry_on, new_event
from paddock.model.event import Event
from paddock.views.advice import advice_lines
from paddock.views.pressing import expected, pressing, warmth
from paddock.views.readings import readings

EXAMPLE = Path(__file__).parents[2] / "example_event"
HIGH_PSI = 0.5
"""What the example's gauge reads too much."""


@pytest.fixture(scope="module")
def carried(tmp_path_factory: pytest.TempPathFactory) -> Event:
    folder = tmp_path_factory.mktemp("season") / "next"
    carry_on(EXAMPLE, load(EXAMPLE), folder, "Next", [date(2026, 7, 11)], Place(20.0, 12.0, 27.0), None)
    return load(folder)


@pytest.mark.parametrize("number", ["58", "12"])
def test_the_cold_reading_starts_from_the_plan_the_old_event_gives(carried: Event, number: str) -> None:
    """The same figures that ``next --altitude-m 20 --air-c 12`` gives from the old folder, to the gauge's half psi."""
    plan = next_event_plan(load(EXAMPLE), number, 20.0, 12.0, hottest_c=27.0)
    found = expected(carried, number, 1, "cold")
    assert found.how == "the cold plan at 12 °C"
    for corner, psi in found.psi.items():
        assert psi == pytest.approx((plan.cold_of(corner) or 0.0) + HIGH_PSI, abs=0.26)
        assert psi % 0.5 == 0.0
    assert set(found.psi) == {"lf", "rf", "lr", "rr"}


def test_home_says_the_plan_before_anything_is_read(carried: Event) -> None:
    plan = next_event_plan(load(EXAMPLE), "58", 20.0, 12.0, hottest_c=27.0)
    front, rear = plan.front.cold_psi or 0.0, plan.rear.cold_psi or 0.0
    assert advice_lines(carried, "58") == (f"cold plan: {front:.1f}/{rear:.1f} psi at 12 °C",)
    found = readings(carried, "58", 1)
    assert (found.cold, found.of("lf").target_psi) == ("cold plan", pytest.approx(front + HIGH_PSI, abs=0.05))


def test_a_cold_reading_is_compared_with_the_cold_plan(carried: Event) -> None:
    warm = warmth(carried, "58", 1, "cold")
    corner = pressing(carried, "58", 1, {"lf": 32.0}, frozenset({"lf"}), warm)[0]
    assert corner.aim == "cold plan"
    assert corner.off_psi is not None
    assert corner.off_psi > 2.0


def test_the_first_reading_before_a_run_is_not_the_hot_target(carried: Event) -> None:
    assert expected(carried, "58", 1, "before").psi == {}


def test_without_a_rise_nothing_is_compared_and_the_reason_is_said(carried: Event) -> None:
    from dataclasses import replace

    from paddock.model.car import FirstRun

    bare = replace(
        carried, cars={name: car.model_copy(update={"first_run": FirstRun()}) for name, car in carried.cars.items()}
    )
    found = expected(bare, "58", 1, "cold")
    assert (found.psi, found.how) == ({}, "no rise in a run is known: read before and after")
    assert {corner.off_psi for corner in readings(bare, "58", 1).corners} == {None}
    assert {corner.target_psi for corner in readings(bare, "58", 1).corners} == {None}
    assert advice_lines(bare, "58") == ("cold plan: no rise in a run is known: read before and after",)


def test_a_new_event_without_a_car_says_nothing_false(tmp_path: Path) -> None:
    event = load(new_event(tmp_path / "fresh", "Fresh", [date(2026, 7, 11)], ["5"]))
    assert expected(event, "5", 1, "cold").psi == {}
    assert advice_lines(event, "5") == ("hold: no pressure has been read yet",)
