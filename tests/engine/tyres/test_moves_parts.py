"""Which move buys what, which can't be, and one set against two. By hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.engine.tyres.counts import (
    FittedPlace,
)
from paddock.engine.tyres.inventory import Inventory, TyreState
from paddock.engine.tyres.proposals import (
    FLIP,
    FLIP_ACROSS,
    FRONT_REAR,
    SIDES,
    Move,
    Refusal,
    Stock,
    TyreProposal,
    gain,
    in_turn,
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
    lone = Inventory((replace(mixed.tyres[0], row=TyreRow(tyre="A")),), {"h": {"lf": "A"}})
    assert kinds(lone) == ([], []), "one tyre alone changes with nobody"
    unsized = tuple(replace(item, row=TyreRow(tyre=item.tyre, directional=False)) for item in mixed.tyres[:3])
    assert kinds(Inventory(unsized, three.cars)) == (["flip"], []), "of three nothing is said about front and rear"
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


LASTING = "after 40 more runs or a little before: the first of them is at its floor after about 80 runs instead of 50"
WET = (
    "Mind a wet road: the more worn tyres then stand at the rear, and there they let go without warning; not before a wet "
    "day or a wet way home."
)
SWAP = f"h: swap front and rear on each side {LASTING}. It costs four wheels off once and their nuts again after the first run; then all four are due together. {WET}"
RIMS = "It costs two tyres taken off, turned and balanced (not where the wall is marked inside and outside)."


def test_every_move_word_for_word() -> None:
    """4 mm and .08 outside against .02: 50 runs; changed at the half 4 / .05 = 80, the fronts .8 mm left, the rears 3.2."""
    swap, flip = moves_for(held(OUTER, EVEN))[0]
    assert (swap.sentence, flip.sentence) == (
        f"Do this: {SWAP} First because it lasts longest.", f"Or instead of it: h: turn the front tyres over on their rims {LASTING}. {RIMS}",
    )  # fmt: skip
    assert (swap.kind, swap.tyres, swap.order_by) == ("swap", ("A", "B", "C", "D"), None)
    assert (swap.runs_gained, swap.after_runs, swap.life) == (pytest.approx(30), pytest.approx(40), pytest.approx(80))
    across = moves_for(held(OUTER, EVEN, directional=True))[0][1]
    assert (
        across.sentence
        == f"Or instead of it: h: turn the front tyres over on their rims and change sides {LASTING}. {RIMS}"
    )
    (alone,) = moves_for(held(OUTER, EVEN, directional=None))[0]
    assert alone.sentence == SWAP
    rears = moves_for(held(EVEN, OUTER, size=None))[0]
    assert [item.sentence for item in rears] == [f"h: turn the rear tyres over on their rims {LASTING}. {RIMS}"]
    apart = Inventory(
        (state("A", "lf", {"outer": 0.08}), state("B", "rf", {"outer": 0.02})), {"h": {"rf": "B", "lf": "A"}}
    )
    (sides,) = moves_for(apart)[0]
    assert (sides.tyres, sides.sentence) == (
        ("A", "B"), f"h: change sides on the front {LASTING}. It costs two wheels off once and their nuts again after the first run.",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("front", "rear", "mind"),
    [(0.5, 0.54, False), (0.5, 0.56, True), (0.56, 0.5, False), (0.9, 0.86, True), (0.9, 0.84, False)],
)
def test_which_tyres_are_the_more_worn_at_the_move(front: float, rear: float, mind: bool) -> None:
    """Outside .8 mm at the front and 3.2 at the rear by then; an inner edge whose wear isn't known stays: .05 mm is the same."""
    base = held({"outer": 0.08}, {"outer": 0.02})
    states = [
        replace(item, life=replace(item.life, depth_mm={**item.life.depth_mm, "inner": 1.6 + (front if item.tyre in "AB" else rear)}))
        for item in base.tyres
    ]  # fmt: skip
    swaps = [item.sentence for item in moves_for(Inventory(tuple(states), base.cars))[0] if item.kind == "swap"]
    assert [WET in sentence for sentence in swaps] == [mind]


def test_every_refusal_word_for_word() -> None:
    front, rear, four_ = ("A", "B"), ("C", "D"), ("A", "B", "C", "D")
    said = "say yes or no under directional in tyres.csv, the same for both tyres"
    assert moves_for(held(OUTER, EVEN, directional=None))[1] == tuple(
        Refusal(kind, pair, said) for pair in (front, rear) for kind in ("sides", "flip")
    )
    said = "directional: they change sides only when turned over on the rim as well"
    assert moves_for(held(OUTER, EVEN, directional=True))[1] == (
        Refusal("sides", front, said),
        Refusal("sides", rear, said),
    )
    blank = Refusal("swap", four_, "a size is blank in tyres.csv: front and rear change only on one size")
    assert moves_for(held(OUTER, EVEN, size=None))[1] == (blank,)
    sizes = held(OUTER, EVEN)
    wide = tuple(
        replace(item, row=TyreRow(tyre=item.tyre, size="225/45 r16", directional=False)) for item in sizes.tyres[:1]
    )
    assert moves_for(Inventory((*wide, *sizes.tyres[1:]), sizes.cars))[1] == (
        Refusal("swap", four_, "front and rear sizes differ: each axle keeps its own tyres"), Refusal("flip", front, "left and right sizes differ"),
    )  # fmt: skip
    same = [replace(item, row=TyreRow(tyre=item.tyre, size=size, directional=False)) for item, size in
            zip(sizes.tyres, ("205/50 r16", "205/50  R16", "205/50 R16", " 205/50 R16"), strict=True)]  # fmt: skip
    assert moves_for(Inventory(tuple(same), sizes.cars))[1] == (), "a size is the same in other letters and spaces"
    unlike = (replace(sizes.tyres[0], row=TyreRow(tyre="A", size="205/50R16", directional=True)), *sizes.tyres[1:])
    assert [item.kind for item in moves_for(Inventory(unlike, sizes.cars))[1]] == ["sides", "flip"]


def test_ranges_and_when_in_words() -> None:
    """As shares of 50 runs: 30 to 100 are .6 and 2; of 80 runs 48 to 160."""

    def words(low: float | None, high: float | None, spare: float = 4.0, front: float = 0.08) -> str:
        states = [state("A", "lf", {"outer": front}, spare), state("B", "rf", {"outer": 0.02}, 4.0)]
        runs = spare / front
        lives = [replace(one.life, runs=runs, low=low and low * runs, high=high and high * runs) for one in states]
        found = Inventory(
            tuple(replace(one, life=life) for one, life in zip(states, lives, strict=True)),
            {"h": {"lf": "A", "rf": "B"}},
        )
        return moves_for(found)[0][0].sentence.partition("front ")[2].partition(". It")[0]

    assert words(0.6, 2.0).endswith("about 80 (48-160) runs instead of 50 (30-100)")
    assert words(0.6, None).endswith("about 80 (48+) runs instead of 50 (30+)")
    assert words(None, None).endswith("about 80 runs instead of 50")
    assert words(None, None, spare=0.41).startswith(
        "now: the first of them is at its floor after about 20 runs instead of 5"
    )
    # moved after n runs both end together where (.8 - .08 n) / .02 = (4 - .02 n) / .08: 40 - 4 n = 50 - n / 4, so at once
    assert words(None, None, spare=0.84, front=0.08).startswith("now: ")
    # (1 - .08 n) / .02 = (4 - .02 n) / .08: n = 0; (1.075 - .08 n) * 4 = 4 - .02 n gives n = 1
    assert words(None, None, spare=1.08, front=0.08).startswith("after 1 more run or a little before: ")


def test_of_moves_that_want_the_same_tyres_the_least_work_that_lasts_nine_tenths() -> None:
    def first(*lives: tuple[str, float]) -> tuple[str, str]:
        made = [TyreProposal(kind, ("A", "B"), f"{kind}.", 10, 5, life=life) for kind, life in lives]
        best, *others = in_turn(made)
        assert all(item.sentence == f"Or instead of it: {item.kind}." for item in others)
        assert [item.life for item in others] == [life for _, life in lives if life != best.life]
        return best.kind, best.sentence.partition(" First because ")[2]

    assert first(("flip", 100.0), ("swap", 90.0), ("sides", 89.9)) == (
        "swap", "it is less work, and 90 runs are nearly the 100 of the other.",
    )  # fmt: skip
    assert first(("flip", 100.0), ("swap", 89.9)) == ("flip", "it lasts longest.")
    assert first(("flip", 95.0), ("swap", 96.0), ("sides", 100.0)) == ("sides", "it lasts longest.")
    assert first(("swap", 95.0), ("swap", 100.0))[1] == "it lasts longest."
    apart = [TyreProposal("swap", ("A", "B"), "a.", life=1.0), TyreProposal("flip", ("C",), "b.", life=2.0)]
    assert in_turn(apart) == tuple(apart)


SHORES = st.fixed_dictionaries({"inner": st.floats(0.0, 8), "outer": st.floats(0.5, 8)})
WEARS = st.fixed_dictionaries({"outer": st.floats(0.005, 0.2)}, optional={"inner": st.floats(0.005, 0.2)})


@given(
    st.lists(SHORES, min_size=4, max_size=4),
    st.lists(WEARS, min_size=4, max_size=4),
    st.sampled_from([FLIP, FLIP_ACROSS, FRONT_REAR, SIDES]),
)
def test_no_other_moment_of_any_move_lasts_longer(
    spares: list[dict[str, float]], wears: list[dict[str, float]], move: Move
) -> None:
    stocks = {corner: Stock(corner, spare, wear) for corner, spare, wear in zip(SET, spares, wears, strict=True)}
    other = {"inner": "outer", "outer": "inner"}

    def lasts(after: float) -> float:
        found = [999.0]
        for corner, stock in stocks.items():
            for edge, spare in stock.spare_mm.items():
                there = stocks[move[corner].corner].wear_mm.get(other[edge] if move[corner].turned else edge)
                left = spare - after * stock.wear_mm.get(edge, 0.0)
                if there is not None:
                    found.append(max(left, 0.0) / there)
        return after + min(found)

    unmoved = min(
        spare / stock.wear_mm[edge]
        for stock in stocks.values()
        for edge, spare in stock.spare_mm.items()
        if edge in stock.wear_mm
    )
    found = gain(stocks, move)
    if found is None:
        assert lasts(0.0) > 900, "nothing known of where the tyres go"
        return
    assert found.without == pytest.approx(unmoved)
    assert 0 <= found.after <= found.without + 1e-6
    assert found.life == pytest.approx(lasts(found.after), abs=1e-5)
    assert all(found.life >= lasts(unmoved * step / 20) - 1e-5 for step in range(21))


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


def test_both_sets_in_a_sentence() -> None:
    """50 runs a pair of fronts at 100 each, 200 a pair of rears; done 10 runs each: 100 / (10 + 50), 100 / (10 + 200)."""
    apart = held({"outer": 0.08}, {"outer": 0.02}, price=100.0)
    apart = Inventory(tuple(replace(item, runs=10) for item in apart.tyres), apart.cars)
    (found,) = square_against_staggered(apart)
    head = "h, every set counted from 5.6 mm, the deepest reading here, to the floor: kept on their axles a pair of fronts lasts 50 runs and a pair of rears 200"
    assert found.table_cost == pytest.approx(2 * 100 / 60 + 2 * 100 / 210)
    assert found.sentence == (
        f"{head} (5.00 a run for all four); four of one size that change places last 80 (5.00 a run for all four). These four "
        "cost 4.29 a run in the table, which counts the runs they did before that"
    )
    (bare,) = square_against_staggered(held({"outer": 0.08}, {"outer": 0.02}))
    assert bare.sentence == f"{head}; four of one size that change places last 80"
    assert bare.table_cost is None


def test_prices_sizes_floors_and_depths_of_the_four() -> None:
    """Fronts 90 and 110, rears 50; one floor of 2 mm counts for all: 3.6 mm from 5.6, 45 and 180 runs, 72 in one set."""
    base = held({"outer": 0.08}, {"outer": 0.02})
    rows = [
        TyreRow(tyre=tyre, size=size, price=price)
        for tyre, size, price in (("A", "X", 90.0), ("B", "X", 110.0), ("C", "Y", 50.0), ("D", "Y", 50.0))
    ]
    states = [replace(item, row=row) for item, row in zip(base.tyres, rows, strict=True)]
    states[0] = replace(states[0], life=replace(states[0].life, floor_mm=2.0))
    states[1] = replace(states[1], read_mm={"outer": 4.0})
    (found,) = square_against_staggered(Inventory(tuple(states), {"h": SET}))
    assert (found.car, found.is_square, found.new_mm) == ("h", False, pytest.approx(5.6))
    assert (found.front_runs, found.rear_runs, found.square_runs) == (
        pytest.approx(45),
        pytest.approx(180),
        pytest.approx(72),
    )
    assert (found.apart_cost, found.square_cost) == (pytest.approx(200 / 45 + 100 / 180), pytest.approx(4 * 75 / 72))
    one_unsaid = [*states[:3], replace(states[3], row=TyreRow(tyre="D", size="Y"))]
    (part,) = square_against_staggered(Inventory(tuple(one_unsaid), {"h": SET}))
    assert (part.apart_cost, part.square_cost, part.table_cost, part.is_square) == (None, None, None, False)
    no_row = [*states[:3], replace(states[3], row=None)]
    assert square_against_staggered(Inventory(tuple(no_row), {"h": SET}))[0].is_square is None


def test_the_wear_of_an_axle_is_the_mean_of_its_tyres_edge_by_edge() -> None:
    """Fronts .06 and .10 outside, only one read inside; rears .02 and .04: 4 mm at .08 and .03, .055 in one set."""
    wears = {
        "A": {"outer": 0.06},
        "B": {"outer": 0.10, "inner": 0.5},
        "C": {"outer": 0.02, "inner": 0.01},
        "D": {"outer": 0.04, "inner": 0.01},
    }
    states = tuple(state(tyre, corner, wears[tyre]) for corner, tyre in SET.items())
    (found,) = square_against_staggered(Inventory(states, {"h": SET}))
    assert (found.front_runs, found.rear_runs, found.square_runs) == (
        pytest.approx(4 / 0.08), pytest.approx(4 / 0.03), pytest.approx(4 / 0.055),
    )  # fmt: skip
    unread = (replace(states[0], wear={}), *states[1:])
    assert square_against_staggered(Inventory(unread, {"h": SET}))[0].front_runs == pytest.approx(4 / 0.5)
    assert (
        square_against_staggered(Inventory((*states[:2], *(replace(item, wear={}) for item in states[2:])), {"h": SET}))
        == ()
    )
