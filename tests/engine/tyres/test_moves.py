"""What swaps, sides and flips buy, and where they can't be."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.engine.tyres.inventory import inventory
from paddock.engine.tyres.proposals import FLIP, FRONT_REAR, SIDES, Stock, TyreProposal, gain, in_turn, moves_for
from paddock.model.event import Event
from paddock.model.rows import Row
from tests.engine.tyres.make import SET, car, clean, fit, tread, tyres


def _even(spare: float, front: float, rear: float) -> dict[str, Stock]:
    return {corner: Stock(corner, {"outer": spare}, {"outer": front if corner[1] == "f" else rear}) for corner in SET}


def test_a_well_timed_swap() -> None:
    # .06 and .03 (32nds a run, front and rear), 5/32 to use: swapped 111 runs, not swapped 83 (arithmetic).
    found = gain(_even(5, 0.06, 0.03), FRONT_REAR)
    assert found is not None
    assert round(found.without) == 83
    assert round(found.life) == 111
    assert found.life == pytest.approx(5 / 0.045)
    assert found.after == pytest.approx(found.life / 2)


def test_a_late_swap_goes_now() -> None:
    stocks = _even(5, 0.06, 0.03)
    worn = {
        corner: Stock(corner, {"outer": 1.0 if corner[1] == "f" else 4.0}, stock.wear_mm)
        for corner, stock in stocks.items()
    }
    found = gain(worn, FRONT_REAR)
    assert found is not None
    assert found.after == pytest.approx(0, abs=1e-6)
    assert found.life == pytest.approx(1.0 / 0.03)


def test_a_flip_evens_the_shoulders() -> None:
    stocks = {
        corner: Stock(corner, {"inner": 4.0, "outer": 4.0}, {"inner": 0.02, "outer": 0.06}) for corner in ("lf", "rf")
    }
    found = gain(stocks, FLIP)
    assert found is not None
    assert (found.without, found.life) == (pytest.approx(4 / 0.06), pytest.approx(4 / 0.04))


@given(st.lists(st.floats(0.5, 8), min_size=4, max_size=4), st.lists(st.floats(0.005, 0.2), min_size=4, max_size=4))
def test_the_best_moment_beats_every_other(spare: list[float], wear: list[float]) -> None:
    stocks = {c: Stock(c, {"outer": s}, {"outer": w}) for c, s, w in zip(SET, spare, wear, strict=True)}
    found = gain(stocks, SIDES)
    assert found is not None
    partner = {"lf": "rf", "rf": "lf", "lr": "rr", "rr": "lr"}

    def by_hand(after: float) -> float:
        left = {c: stocks[c].spare_mm["outer"] - after * stocks[c].wear_mm["outer"] for c in SET}
        return after + min(left[c] / stocks[partner[c]].wear_mm["outer"] for c in SET)

    for tenth in range(11):
        assert found.life >= by_hand(found.without * tenth / 10) - 1e-6
    assert found.life == pytest.approx(by_hand(found.after))


def _event(rear_size: str | None = "225/45R17", directional: bool | None = False, **more: Any) -> Event:
    rows: list[Row] = [*tyres("A", "B", size="225/45R17", directional=directional, **more)]
    rows += tyres("C", "D", size=rear_size, directional=directional, **more)
    rows += [*fit(1, 1, **SET), *[tread(0, name, 7, 7, 7) for name in "ABCD"]]
    rows += [tread(1, name, 6.4, 6.4, 5.8) for name in "AB"] + [tread(1, name, 6.7, 6.7, 6.7) for name in "CD"]
    return car(clean("26", 1, 20), *rows)


def _kinds(event: Event) -> set[str]:
    return {item.kind for item in moves_for(inventory(event))[0]}


def test_a_square_set_is_swapped_and_its_fronts_turned_over() -> None:
    proposals, _ = moves_for(inventory(_event()))
    by_kind = {item.kind: item for item in proposals}
    assert set(by_kind) == {"swap", "flip"}
    assert by_kind["flip"].tyres == ("A", "B")
    # Fronts: 4.2 mm at .06 a run = 70 runs; turned over at the best moment: outer and inner share .09.
    # inner spare 4.8, outer 4.2: x at .06/.03, then .03/.06: both end together at (4.2 + 4.8) / .09 = 100 runs.
    assert by_kind["flip"].runs_gained == pytest.approx(30)
    assert by_kind["swap"].runs_gained is not None
    assert "rims" in by_kind["flip"].sentence


def test_a_staggered_set_keeps_its_axles() -> None:
    proposals, refusals = moves_for(inventory(_event(rear_size="245/40R17")))
    assert "swap" not in {item.kind for item in proposals}
    assert any(item.kind == "swap" and "sizes differ" in item.reason for item in refusals)


def test_a_blank_size_or_a_blank_directional_is_asked_for() -> None:
    assert "swap" not in _kinds(_event(rear_size=None))
    proposals, refusals = moves_for(inventory(_event(directional=None)))
    assert {item.kind for item in proposals} == {"swap"}
    assert any("directional" in item.reason for item in refusals)


def test_directional_tyres_turn_over_only_across_the_car() -> None:
    proposals, refusals = moves_for(inventory(_event(directional=True)))
    flip = next(item for item in proposals if item.kind == "flip")
    assert "change sides" in flip.sentence
    assert any(item.kind == "sides" for item in refusals)


def test_sides_where_left_and_right_wear_apart() -> None:
    rows: list[Row] = [*tyres("A", "B", size="x", directional=False), *fit(1, 1, lf="A", rf="B")]
    rows += [tread(0, "A", 7, 7, 7), tread(0, "B", 7, 7, 7), tread(1, "A", 6, 6, 6), tread(1, "B", 3.5, 3.5, 3.5)]
    proposals, _ = moves_for(inventory(car(clean("26", 1, 50), *rows)))
    assert [item.kind for item in proposals] == ["sides"]


def test_even_wear_asks_for_nothing() -> None:
    rows: list[Row] = [*tyres("A", "B", "C", "D", size="x", directional=False), *fit(1, 1, **SET)]
    rows += [tread(day, name, 7 - day, 7 - day, 7 - day) for name in "ABCD" for day in (0, 1)]
    assert moves_for(inventory(car(clean("26", 1, 20), *rows)))[0] == ()


def test_of_two_moves_that_want_the_same_tyres_one_is_first_with_its_reason() -> None:
    proposals, _ = moves_for(inventory(_event()))
    assert [item.sentence.split(":")[0] for item in proposals] == ["Do this", "Or instead of it"]
    assert proposals[0].life is not None
    assert "First because it" in proposals[0].sentence


def test_the_least_work_wins_where_it_lasts_nearly_as_long() -> None:
    flip, swap = (
        TyreProposal("flip", ("A", "B"), "turn.", 31, 32, life=93),
        TyreProposal("swap", ("A", "B", "C"), "swap.", 24, 38, life=86),
    )
    found = in_turn((flip, swap))
    assert [item.kind for item in found] == ["swap", "flip"]
    assert (
        found[0].sentence == "Do this: swap. First because it is less work, and 86 runs are nearly the 93 of the other."
    )
    far = in_turn((flip, replace(swap, life=70.0)))
    assert (far[0].kind, far[0].sentence) == ("flip", "Do this: turn. First because it lasts longest.")
    apart = in_turn((flip, replace(swap, tyres=("C",))))
    assert [item.sentence for item in apart] == ["turn.", "swap."]


def test_worn_fronts_that_come_to_the_rear_bring_the_wet_road_caution() -> None:
    worn = [item.sentence for item in moves_for(inventory(_event()))[0] if item.kind == "swap"]
    assert len(worn) == 1
    assert "Mind a wet road" in worn[0]
    rows = [tread(0, name, 6, 6, 6) for name in "ABCD"] + [tread(2, name, 5.8, 5.8, 5.8) for name in "AB"]
    rows += [tread(2, name, 5, 5, 5) for name in "CD"]
    cells = {"size": "205/50R16", "directional": False}
    event = car(clean("26", 1, 5) + clean("26", 2, 5), *fit(1, 1, **SET), *tyres(*"ABCD", **cells), *rows)
    swaps = [item.sentence for item in moves_for(inventory(event))[0] if item.kind == "swap"]
    assert swaps
    assert not any("Mind a wet road" in sentence for sentence in swaps)
