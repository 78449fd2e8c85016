"""A square set against a staggered one."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.engine.tyres.inventory import inventory
from paddock.engine.tyres.putting import SquareAnswer, lives, square_against_staggered
from tests.engine.tyres.make import SET, car, clean, fit, tread, tyres

wear = st.floats(0.005, 0.2)


def test_the_worked_case() -> None:
    # .06 and .03 (32nds a run), 5/32 to use: apart 83 and 167 runs, as one set 111 (arithmetic).
    found = lives(5.0, {"outer": 0.06}, {"outer": 0.03})
    assert found is not None
    assert [round(value) for value in found] == [83, 167, 111]


@given(st.floats(0.5, 8), st.tuples(wear, wear, wear), st.tuples(wear, wear, wear))
def test_one_set_never_costs_more_tread_than_two(
    spare: float, front: tuple[float, ...], rear: tuple[float, ...]
) -> None:
    edges = ("inner", "middle", "outer")
    found = lives(spare, dict(zip(edges, front, strict=True)), dict(zip(edges, rear, strict=True)))
    assert found is not None
    front_runs, rear_runs, square_runs = found
    assert 2 / square_runs <= 1 / front_runs + 1 / rear_runs + 1e-9
    assert min(front_runs, rear_runs) <= square_runs * (1 + 1e-9)


def _answer(rear_size: str = "225/45R17", price: float | None = 150.0, **more: Any) -> SquareAnswer:
    rows = [
        *tyres("A", "B", size="225/45R17", price=price, **more),
        *tyres("C", "D", size=rear_size, price=price, **more),
    ]
    rows += [*fit(1, 1, **SET), *[tread(0, name, 7.6, 7.6, 7.6) for name in "ABCD"]]
    rows += [tread(1, name, 7.6, 7.6, 6.4) for name in "AB"] + [tread(1, name, 7.0, 7.6, 7.6) for name in "CD"]
    found = square_against_staggered(inventory(car(clean("26", 1, 20), *rows)))
    return found[0]


def test_axles_that_wear_different_edges_are_cheaper_in_one_set() -> None:
    """Front outer .06 a run, rear inner .03; 6 mm to 1.6: by hand 100, 200; changed about the outer edge wears .03."""
    found = _answer()
    assert (found.front_runs, found.rear_runs) == (pytest.approx(100), pytest.approx(200))
    assert found.square_runs == pytest.approx(200)
    assert found.apart_cost == pytest.approx(300 / 100 + 300 / 200)
    assert found.square_cost == pytest.approx(600 / 200)
    assert found.is_square is True
    assert "4.50 a run for all four" in found.sentence
    assert "counted from 7.6 mm, the deepest reading here" in found.sentence


def test_the_table_s_cost_stands_beside_the_sets() -> None:
    """The table divides the price by the whole life: by hand each tyre's price over runs done and left, added up."""
    found = _answer(runs_before=40)
    # 40 before and 20 here; fronts have (6.4 - 1.6) / .06 = 80 left, rears (7.0 - 1.6) / .03 = 180.
    assert found.table_cost == pytest.approx(2 * 150 / 140 + 2 * 150 / 240, rel=0.01)
    assert f"{found.table_cost:.2f} a run in the table" in found.sentence


def test_sizes_and_prices_not_known() -> None:
    assert _answer(rear_size="245/40R17").is_square is False
    bare = _answer(price=None)
    assert (bare.apart_cost, bare.square_cost) == (None, None)
    assert "a run)" not in bare.sentence


def test_nothing_without_wear_on_both_axles() -> None:
    rows = [*fit(1, 1, **SET), tread(0, "A", 7, 7, 7)]
    assert square_against_staggered(inventory(car(clean("26", 1, 5), *rows))) == ()
