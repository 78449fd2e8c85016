"""What gives a change of bar back: the other bar reckoned, the pressure only learned."""

from __future__ import annotations

import pytest

from paddock.engine.car.balance import front_share
from paddock.engine.car.compensation import give_back
from paddock.engine.pressure.signs import Response
from tests.cars import coupe, saloon

KNOWN = (Response("front_share", -0.5, 0.1, 8, 5), Response("rear_psi", -0.25, 0.05, 8, 5))


def test_the_share_before_and_after() -> None:
    found = give_back(saloon(), rear=(1, 1))
    assert found.front_share_before == front_share(saloon())
    assert found.front_share_after == front_share(saloon(), rear=(1, 1))
    assert found.change is not None
    assert found.change > 0


def test_the_nearest_holes_of_the_other_bar() -> None:
    car = saloon(front__bar__arms_mm=[230, 220, 210, 200], front__bar__left=1, front__bar__right=1)
    found = give_back(car, rear=(4, 4))
    assert found.other_bar is not None
    best = min(
        abs((front_share(car, (a, b), (4, 4)) or 0) - (found.front_share_before or 0))
        for a in range(1, 5)
        for b in range(1, 5)
    )
    assert abs(found.other_bar.left_over) == pytest.approx(best)
    assert found.other_bar.axle == "front"
    assert found.other_bar.front_share == front_share(car, (found.other_bar.left, found.other_bar.right), (4, 4))


def test_no_other_bar_or_none_that_comes_nearer() -> None:
    assert give_back(coupe(), front=(1, 1)).other_bar is None
    assert give_back(saloon(), rear=(1, 1)).other_bar is None


def test_pressure_is_unknown_until_learned() -> None:
    for responses in (None, (), KNOWN[1:], KNOWN[:1], (KNOWN[0], Response("rear_psi", -0.25, 0.2, 8, 5))):
        found = give_back(saloon(), rear=(1, 1), responses=responses)
        assert found.rear_pressure is None
        assert found.unknown is not None
        assert found.unknown.startswith("unknown")


def test_pressure_from_the_cars_own_responses() -> None:
    # Share up by c points changes the balance by -0.5 c; rear pressure by -0.25 a psi: the opposite is -2 c psi.
    found = give_back(saloon(limits={"max_cold_psi": 50.0}), rear=(1, 1), responses=KNOWN)
    assert found.change is not None
    assert found.rear_pressure is not None
    assert found.rear_pressure.change_psi == pytest.approx(-2 * 100 * found.change)
    assert found.rear_pressure.se_psi == pytest.approx(abs(found.rear_pressure.change_psi) * (0.2**2 + 0.2**2) ** 0.5)
    assert found.rear_pressure.runs == 8


def test_nothing_is_raised_without_a_known_maximum_and_big_moves_go_in_steps() -> None:
    raised = give_back(saloon(), rear=(4, 4), responses=KNOWN).rear_pressure
    assert raised is not None
    assert raised.change_psi > 0
    assert raised.held_back is not None
    assert "no cold maximum" in raised.held_back
    steps = give_back(saloon(limits={"max_cold_psi": 50.0}), rear=(1, 1), responses=KNOWN).rear_pressure
    assert steps is not None
    assert steps.held_back is not None
    assert "at most 2 psi" in steps.held_back


def test_both_ends_changed_nothing_changed_or_nothing_known() -> None:
    assert give_back(saloon(), front=(2, 2), rear=(1, 1)).unknown is None
    same = give_back(saloon(), rear=(3, 3))
    assert same.change == pytest.approx(0)
    assert (same.other_bar, same.rear_pressure, same.unknown) == (None, None, None)
    lost = give_back(saloon(mass_kg=None), rear=(1, 1))
    assert lost.change is None
    assert lost.findings
