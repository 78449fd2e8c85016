"""What-ifs about the tyres, against the gas law and against what the next run then reads."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from hypothesis import settings as effort
from hypothesis import strategies as st

from paddock.engine.pressure.air import AirState, ambient_pa, carry
from paddock.engine.pressure.corners import Corners
from paddock.engine.pressure.limits import cold_maximum
from paddock.engine.pressure.moment import WhatIf
from paddock.engine.pressure.moment import what_if as what_if_at
from paddock.engine.pressure.outside import Asked
from paddock.model.event import Event
from paddock.model.rows import PressureRow
from paddock.pages.pressure import as_json
from tests.engine.pressure.situations import MORNING, after, before, car, clock, cold, logged, now
from tests.engine.test_heat import told as told_day
from tests.factories import entrant, event, runs, settings


def day(*rows: object, **limits: float | None) -> Event:
    """The estate read cold at 12 C, 412 m up, and what else is said."""
    found = settings(altitude_m=412.0, forecast={"hottest_c": 30.0, "coldest_c": 12.0})
    whole = event([entrant("26")], runs("26", 1, "47.1"), found, *rows)  # type: ignore[arg-type]
    return dataclasses.replace(whole, cars={"estate": car(**limits)})


def told(sets: bool) -> Event:
    """The made day of five runs, and one more to come."""
    whole = told_day(sets=sets)
    return dataclasses.replace(whole, settings=whole.settings.model_copy(update={"runs_per_day": 6}))


def what_if(whole: Event, number: str, asked: Asked) -> WhatIf:
    return what_if_at(whole, number, clock(whole), asked)


def test_a_cold_reading_parked_elsewhere_is_the_gas_law() -> None:
    found = what_if(day(MORNING), "26", Asked(air_c=2.0, altitude_m=1600.0))
    want = carry(30.0, AirState(12.0, ambient_pa(412.0)), AirState(2.0, ambient_pa(1600.0)))
    assert found.parked["lf"] == pytest.approx(want, abs=1e-9)
    assert found.corners == ()


def test_nothing_asked_is_the_moments_own_answer() -> None:
    for whole in (day(MORNING, after(1, 36.5, 36.5, 46.0, 46.0), logged(1)), told(sets=False), day(MORNING)):
        asked, moment = what_if(whole, "26", Asked()), now(whole)
        assert as_json(asked.moment) == as_json(moment)
        wanted = {item.corner: item.set_psi for item in asked.corners}
        assert wanted == (dict.fromkeys(wanted) if moment.set is None else moment.set.as_dict())


def test_ten_hours_wait_without_a_fit_is_a_first_run_again() -> None:
    """By hand: 34 hot after a first run of 36 K (the morning's) over 8 C, carried down to the 54 C of now."""
    whole = day(MORNING, after(1, 36.5, 36.5, 46.0, 46.0), logged(1))
    found = what_if(whole, "26", Asked(air_c=8.0, wait_min=600.0)).corners[0]
    outside = ambient_pa(412.0) / 6894.757293168361
    inside = (36.5 + outside) / (30.0 + outside) * 285.15
    end = 8.0 + 273.15 + inside - 291.15
    assert found.set_psi == pytest.approx((34.0 + outside) * inside / end - outside, abs=0.01)


def test_set_so_it_ends_as_wanted() -> None:
    """What is set for a pressure is what, left so, ends at it."""
    whole = dataclasses.replace(told(sets=False), cars={"estate": car()})
    left = what_if(whole, "26", Asked(air_c=20.0, wait_min=5.0)).corners[0]
    back = what_if(whole, "26", Asked(air_c=20.0, wait_min=5.0, front_psi=left.end_psi, rear_psi=44.0)).corners[0]
    assert left.end_psi is not None
    assert back.set_psi == pytest.approx(whole.of(PressureRow)[-1].lf_psi)
    assert back.held == ""


def test_colder_air_is_set_higher() -> None:
    whole = dataclasses.replace(told(sets=False), cars={"estate": car()})
    cool, warm = (what_if(whole, "26", Asked(air_c=air, wait_min=20.0, front_psi=34.0)).corners[0] for air in (5, 25))
    assert (cool.set_psi or 0) > (warm.set_psi or 99)


@given(st.floats(-10, 45), st.floats(0, 90), st.floats(20, 90), st.floats(20, 90))
@effort(max_examples=60, deadline=None)
def test_never_above_the_cold_maximum(air_c: float, wait: float, front: float, rear: float) -> None:
    whole = day(MORNING, before(1, 30.0, 30.0, 39.2, 39.2), after(1, 33.0, 33.0, 42.0, 42.0), logged(1))
    limit = cold_maximum(whole.cars["estate"], None)
    assert limit is not None
    here = what_if(whole, "26", Asked(air_c=air_c, wait_min=wait, front_psi=front, rear_psi=rear))
    there = what_if(whole, "26", Asked(air_c=air_c, altitude_m=2000.0, front_psi=front, rear_psi=rear))
    hot = AirState(20.0, ambient_pa(412.0))
    for item in here.corners:
        assert item.set_psi is not None
        assert item.set_psi <= carry(limit, hot, AirState(60.0, ambient_pa(412.0))) + 1e-6
    assert there.cold is not None
    for plan in (there.cold.front, there.cold.rear):
        assert plan.cold_psi is None or plan.cold_psi <= carry(
            limit, AirState(20.0, there.cold.ambient_pa), AirState(max(20.0, air_c), there.cold.ambient_pa)
        )


def test_held_at_the_limits() -> None:
    whole = day(cold(30.0, 30.0, 39.2, 39.2, air_c=20.0), after(1, 33.0, 33.0, 42.0, 42.0, air_c=20.0), logged(1))
    much = what_if(whole, "26", Asked(rear_psi=80.0)).corners[2]
    little = what_if(whole, "26", Asked(front_psi=15.0)).corners[0]
    assert (much.held, little.held) == ("held at the limits", "held at the limits")
    assert (much.set_psi or 99.0) < 60.0
    assert (little.set_psi or 0.0) > 20.0


def test_a_gauge_that_reads_high_is_answered_as_it_reads() -> None:
    def read(offset: float) -> Event:
        gauges = [{"id": "dial", "step_psi": 0.5, "repeat_psi": 0.3, "offset_psi": offset}]
        found = settings(altitude_m=412.0, gauges=gauges, forecast={"hottest_c": 30.0, "coldest_c": 12.0})
        rows = (
            cold(30.0 + offset, 30.0 + offset, 39.2 + offset, 39.2 + offset),
            after(1, 33.0 + offset, 33.0 + offset, 42.0 + offset, 42.0 + offset),
        )
        whole = event([entrant("26")], runs("26", 1, "47.1"), found, *rows, logged(1))
        return dataclasses.replace(whole, cars={"estate": car()})

    true = what_if(read(0.0), "26", Asked(front_psi=33.5)).corners[0]
    high = what_if(read(1.0), "26", Asked(front_psi=34.5)).corners[0]
    assert high.wanted_psi == pytest.approx((true.wanted_psi or 0) + 1.0)
    assert high.set_psi == pytest.approx((true.set_psi or 0) + 1.0)
    assert high.end_psi == pytest.approx((true.end_psi or 0) + 1.0)


def test_nothing_read_is_nothing_told() -> None:
    found = what_if(event([entrant("26")], []), "26", Asked(air_c=8.0))
    assert found.parked == Corners()
    assert found.corners == ()
