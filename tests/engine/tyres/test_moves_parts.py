"""Which move buys what, which can't be, and one set against two. By hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from paddock.engine.tyres.counts import (
    FittedPlace,
)
from paddock.engine.tyres.inventory import Inventory, TyreState
from paddock.engine.tyres.proposals import (
    FLIP,
    FRONT_REAR,
    SIDES,
    Refusal,
    Stock,
    TyreProposal,
    gain,
    moves_for,
    stocks_of,
)
from paddock.engine.tyres.putting import lives, square_against_staggered
from paddock.engine.tyres.wear import Life, Rate
from paddock.model.rows import TyreRow
from tests.engine.tyres.make import SET


def rate(mm: float, sd: float = 0.0, own: float = 0.0, runs: int = 0) -> Rate:
    return Rate(mm, sd, own, runs, "measured")


# --- moves --------------------------------------------------------------------------------------------------------------


def four(front: float, rear: float, spare: float = 4.0) -> dict[str, Stock]:
    return {
        corner: Stock(corner.upper(), {"outer": spare}, {"outer": front if corner[1] == "f" else rear})
        for corner in ("lf", "rf", "lr", "rr")
    }


def test_swapping_axles_by_hand() -> None:
    """4 mm, .08 and .02 a run: kept apart 50 runs; half the runs each way (4 / .05 = 80), so 40 and 40."""
    found = gain(four(0.08, 0.02), FRONT_REAR)
    assert found is not None
    assert (found.after, found.without, found.life, found.runs) == (
        pytest.approx(40, abs=1e-3), pytest.approx(50), pytest.approx(80), pytest.approx(30),
    )  # fmt: skip
    assert gain(four(0.0, 0.0), FRONT_REAR) is None
    assert gain({}, FRONT_REAR) is None
    assert gain({corner: stock for corner, stock in four(0.08, 0.02).items() if corner != "lr"}, FRONT_REAR) is None
    at_floor = gain(four(0.08, 0.02, 0.0), FRONT_REAR)
    assert at_floor is not None
    assert (at_floor.without, at_floor.life) == (0.0, pytest.approx(0.0, abs=1e-6))
    still = {corner: Stock(corner, {"outer": 0.0}, {"outer": 0.0}) for corner in ("lf", "rf")}
    unworn = gain(still, SIDES)
    assert unworn is not None
    assert (unworn.without, unworn.runs) == (0.0, 0.0)


def test_turning_over_by_hand() -> None:
    stocks = {
        corner: Stock(corner, {"inner": 4.0, "outer": 4.0}, {"inner": 0.02, "outer": 0.08}) for corner in ("lf", "rf")
    }
    found = gain(stocks, FLIP)
    assert found is not None
    assert (found.without, found.life) == (pytest.approx(50), pytest.approx(80))
    stays = gain(stocks, SIDES)
    assert stays is not None
    assert stays.runs == pytest.approx(0)


def state(tyre: str, corner: str, wear: dict[str, float], spare: float = 4.0, **row: Any) -> TyreState:
    found = {"size": "205/50R16", "directional": False} | row
    return TyreState(
        tyre=tyre, row=TyreRow(tyre=tyre, **found), car="h", place=FittedPlace(corner), runs=0, wear={edge: rate(mm) for edge, mm in wear.items()},
        life=Life(spare / max(wear.values()), None, None, "outer", dict.fromkeys(wear, spare + 1.6)),
        read_mm=dict.fromkeys(wear, spare + 1.6),
    )  # fmt: skip


def held(front: dict[str, float], rear: dict[str, float], **row: Any) -> Inventory:
    states = tuple(state(tyre, corner, front if corner[1] == "f" else rear, **row) for corner, tyre in SET.items())
    return Inventory(states, {"h": SET})


OUTER, EVEN = {"inner": 0.02, "outer": 0.08}, {"inner": 0.02, "outer": 0.02}


def kinds(found: Inventory) -> tuple[list[str], list[str]]:
    proposals, refusals = moves_for(found)
    return [item.kind for item in proposals], [item.kind for item in refusals]


def test_which_moves_are_worth_it_and_which_can_not_be() -> None:
    assert kinds(held(OUTER, EVEN)) == (["swap", "flip"], [])
    assert kinds(held(OUTER, EVEN, directional=True)) == (["swap", "flip"], ["sides", "sides"])
    assert kinds(held(OUTER, EVEN, directional=None)) == (["swap"], ["sides", "flip", "sides", "flip"])
    assert kinds(held(OUTER, EVEN, size=None)) == (["flip"], ["swap"])
    assert kinds(held(EVEN, EVEN)) == ([], [])
    mixed = held(OUTER, EVEN)
    odd = replace(
        mixed,
        tyres=(
            *mixed.tyres[:2],
            *(
                replace(item, row=TyreRow(tyre=item.tyre, size="225/45R16", directional=False))
                for item in mixed.tyres[2:]
            ),
        ),
    )
    assert kinds(odd) == (["flip"], ["swap"])
    left_right = replace(
        mixed,
        tyres=(replace(mixed.tyres[0], row=TyreRow(tyre="A", size="225/45R16", directional=False)), *mixed.tyres[1:]),
    )
    assert kinds(left_right) == ([], ["swap", "flip"])
    three = Inventory(mixed.tyres[:3], {"h": {"lf": "A", "rf": "B", "lr": "C"}})
    assert kinds(three) == (["flip"], [])
    assert set(stocks_of(SET, mixed)) == set(SET)


def test_a_range_is_carried_as_shares_of_its_figure() -> None:
    """50 runs, 30 to 100: .6 and 2 of it; without a figure none."""
    told, unsaid, gone = (
        replace(state("A", "lf", {"outer": 0.08}), life=Life(runs, low, high, "outer", {"outer": 5.6}))
        for runs, low, high in ((50.0, 30.0, 100.0), (50.0, None, None), (0.0, 0.0, 0.0))
    )
    found = [stocks_of({"lf": "A"}, Inventory((one,), {}))["lf"].doubt for one in (told, unsaid, gone)]
    assert found == [(0.6, 2.0), (None, None), (None, None)]


def test_a_move_must_buy_three_runs_and_a_twentieth() -> None:
    def swap(front: float, spare: float) -> bool:
        states = tuple(
            state(tyre, corner, {"outer": front if corner[1] == "f" else 0.04}, spare) for corner, tyre in SET.items()
        )
        return "swap" in kinds(Inventory(states, {"h": SET}))[0]

    assert not swap(0.0439, 4.0)  # 91.1 runs without, 95.4 with: 4.7 %
    assert swap(0.0445, 4.0)  # 89.9 without, 94.7 with: 5.3 %
    assert not swap(0.06, 0.8)  # 13.3 without, 16.0 with: 2.7 runs
    assert swap(0.06, 1.0)  # 16.7 without, 20.0 with: 3.3 runs


def test_a_proposal_in_words() -> None:
    proposals, _ = moves_for(held(OUTER, EVEN))
    assert isinstance(proposals[0], TyreProposal)
    assert proposals[0].sentence.startswith(
        "Do this: h: swap front and rear on each side after 40 more runs or a little before: "
    )
    assert "after about 80 runs instead of 50." in proposals[0].sentence
    assert proposals[0].tyres == ("A", "B", "C", "D")
    worn = moves_for(held({"inner": 0.02, "outer": 0.08}, EVEN, size="X"))[0]
    assert worn[0].runs_gained == pytest.approx(30)
    assert isinstance(moves_for(held(OUTER, EVEN, size=None))[1][0], Refusal)


# --- one set or two -----------------------------------------------------------------------------------------------------


def test_square_against_staggered_by_hand() -> None:
    """4 mm: .08 against .02 outside: 50 and 200 runs apart, 80 in one set; with 100 a tyre 5.00 a run either way."""
    assert lives(4.0, {"outer": 0.08}, {"outer": 0.02}) == (pytest.approx(50), pytest.approx(200), pytest.approx(80))
    assert lives(0.0, {"outer": 0.08}, {"outer": 0.02}) is None
    assert lives(4.0, {"outer": 0.0}, {"outer": 0.02}) is None
    assert lives(4.0, {"inner": 0.08}, {"outer": 0.02}) is None
    (found,) = square_against_staggered(held({"outer": 0.08}, {"outer": 0.02}, price=100.0))
    assert (found.is_square, found.new_mm) == (True, pytest.approx(5.6))
    assert (found.apart_cost, found.square_cost) == (
        pytest.approx(2 * 100 / 50 + 2 * 100 / 200),
        pytest.approx(400 / 80),
    )
    (bare,) = square_against_staggered(held({"outer": 0.08}, {"outer": 0.02}, size=None))
    assert (bare.is_square, bare.apart_cost, bare.square_cost) == (None, None, None)
    assert square_against_staggered(Inventory(held(OUTER, EVEN).tyres, {"h": {"lf": "A", "rf": "B", "lr": "C"}})) == ()
