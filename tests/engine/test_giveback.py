"""What gives a change of bar back: the other bar reckoned, the pressure only learned."""

from __future__ import annotations

import pytest

from paddock.engine.car.balance import front_share
from paddock.engine.car.compensation import GiveBack, OtherBar, PressureMove, give_back
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


def test_a_change_and_what_gives_it_back_whole() -> None:
    """The rear's four holes one by one against the share before; errors of the two responses carried through their quotient."""
    car = saloon(front__bar__arms_mm=[230, 200], limits={"max_cold_psi": 50.0})
    known = (
        Response("front_psi", 9.0, 0.1, 5, 5),
        Response("front_share", -0.5, 0.05, 9, 5),
        Response("rear_psi", -0.25, 0.05, 7, 5),
    )
    found = give_back(car, front=(2, 2), responses=known, lateral_g=0.5)
    before, after = front_share(car, lateral_g=0.5), front_share(car, front=(2, 2), lateral_g=0.5)
    assert before is not None
    assert after is not None
    shares = {(a, b): front_share(car, (2, 2), (a, b), 0.5) or 0.0 for a in range(1, 5) for b in range(a, 5)}
    best = min(shares, key=lambda holes: abs(shares[holes] - before))
    psi = -2 * 100 * (after - before)
    assert found == GiveBack(
        before, after, OtherBar("rear", *best, pytest.approx(shares[best]), pytest.approx(shares[best] - before)),
        PressureMove(pytest.approx(psi), pytest.approx(abs(psi) * (0.1**2 + 0.2**2) ** 0.5), 7, found.rear_pressure and found.rear_pressure.held_back), None, (),
    )  # fmt: skip
    assert best != (3, 3)
    assert found.change == after - before
    assert give_back(car, front=(2, 2), lateral_g=0.9).other_bar != found.other_bar


def test_a_twentieth_of_a_point_is_the_same() -> None:
    """Holes half a millimetre apart are .037 points, one millimetre .073; one hole moved of the second .037."""
    near, far = (saloon(front__bar__arms_mm=[230, second]) for second in (229.5, 229.0))
    assert [
        abs(give_back(car, front=holes).change or 0) for car, holes in ((near, (2, 2)), (far, (2, 2)), (far, (1, 2)))
    ] == pytest.approx([0.000366, 0.000734, 0.000367], abs=1e-6)
    assert [
        give_back(car, front=holes).unknown is None for car, holes in ((near, (2, 2)), (far, (2, 2)), (far, (1, 2)))
    ] == [True, False, True]


def test_the_other_bar_must_come_nearer_by_a_twentieth_of_a_point() -> None:
    """Fronts 1.5 points up; rear holes a third of a millimetre apart give nearly nothing back, a millimetre does."""

    def moved(second: float) -> OtherBar | None:
        car = saloon(
            front__bar__arms_mm=[230, 220], rear__bar__arms_mm=[210, second], rear__bar__left=1, rear__bar__right=1
        )
        found = give_back(car, front=(1, 2))
        assert found.change is not None
        full = front_share(car, (1, 2), (2, 2))
        assert full is not None
        gained = found.change - (full - (found.front_share_before or 0))
        assert (gained > 0.0005) == (found.other_bar is not None)
        return found.other_bar

    assert moved(209.9) is None
    assert moved(208.0) is not None


def test_nothing_but_one_end_is_given_back() -> None:
    for holes in ({"front": (2, 2), "rear": (4, 4)}, {}):
        found = give_back(saloon(), **holes, responses=KNOWN)
        assert (found.other_bar, found.rear_pressure, found.unknown) == (None, None, None)
        assert found.change is not None
    half = give_back(saloon(rear__bar__mr=[0.6, 0.6, 0.6]), rear=(4, 4), responses=KNOWN)
    assert (half.front_share_after, half.change, half.rear_pressure, half.other_bar) == (None, None, None, None)
    assert half.front_share_before is not None
    assert [item.key for item in half.findings] == ["rear.bar"]
