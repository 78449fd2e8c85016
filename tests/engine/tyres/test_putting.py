"""Tyres moved about: where each stands then, and what is asked about."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from paddock.engine.tyres.counts import FittedPlace
from paddock.engine.tyres.inventory import Inventory, TyreState
from paddock.engine.tyres.proposals import FLIP, FLIP_ACROSS, FRONT_REAR, SIDES
from paddock.engine.tyres.putting import Put, after_move, doubts, put_on
from paddock.model.rows import CORNERS, TyreRow

HELD = {corner: (f"T{at}", FittedPlace(corner)) for at, corner in enumerate(CORNERS, 1)}


def shelf(directional: bool | None = False, **sizes: str) -> Inventory:
    """Four tyres on the car and S1 on the shelf."""
    names = ["T1", "T2", "T3", "T4", "S1"]
    rows = [TyreRow(tyre=name, directional=directional, size=sizes.get(name, "225/45R17")) for name in names]
    return Inventory(tuple(TyreState(row.tyre, row) for row in rows), {})


def as_text(puts: tuple[Put, ...]) -> str:
    return " ".join(f"{put.corner}={put.tyre}{'*' if put.turned else ''}" for put in puts)


def test_moves() -> None:
    assert as_text(after_move(HELD, FRONT_REAR)) == "lf=T3 rf=T4 lr=T1 rr=T2"
    assert as_text(after_move(HELD, SIDES, ("lr", "rr"))) == "lr=T4 rr=T3"
    assert as_text(after_move(HELD, FLIP, ("lf", "rf"))) == "lf=T1* rf=T2*"


def test_turned_twice_is_as_it_came() -> None:
    once = after_move(HELD, FLIP)
    again = after_move({put.corner: (put.tyre, FittedPlace(put.corner, put.turned)) for put in once}, FLIP)
    assert as_text(again) == "lf=T1 rf=T2 lr=T3 rr=T4"


def test_a_tyre_on_another_corner_changes_places() -> None:
    assert as_text(put_on(HELD, "lf", "T4")) == "lf=T4 rr=T1"
    assert as_text(put_on(HELD, "lf", "S1")) == "lf=S1"
    assert put_on(HELD, "lf", "T1") == ()
    assert as_text(put_on({}, "lf", "S1")) == "lf=S1"


@given(st.sampled_from([FRONT_REAR, SIDES, FLIP, FLIP_ACROSS]))
def test_no_tyre_is_lost_or_doubled(move: object) -> None:
    puts = after_move(HELD, move)  # type: ignore[arg-type]
    assert {put.tyre for put in puts} == {"T1", "T2", "T3", "T4"}
    assert [put.corner for put in puts] == list(CORNERS)


def test_directional_tyres_roll_one_way() -> None:
    one_way, either, unsaid = shelf(True), shelf(False), shelf(None)
    across = after_move(HELD, SIDES)
    assert len(doubts(one_way, HELD, across)) == 4
    assert doubts(either, HELD, across) == ()
    assert all("is it directional?" in text for text in doubts(unsaid, HELD, across))
    assert len(doubts(unsaid, HELD, across)) == 4
    assert doubts(one_way, HELD, after_move(HELD, FLIP_ACROSS)) == ()
    assert doubts(one_way, HELD, after_move(HELD, FRONT_REAR)) == ()
    assert len(doubts(one_way, HELD, after_move(HELD, FLIP))) == 4


def test_two_sizes_on_an_axle_are_named() -> None:
    assert doubts(shelf(S1="205/50R16"), HELD, put_on(HELD, "rf", "S1")) == (
        "two sizes on the front axle: 205/50R16, 225/45R17",
    )


def test_a_new_tyre_and_an_empty_corner_are_named() -> None:
    assert doubts(shelf(), HELD, (Put("lf", "N9"),)) == ("N9 isn't in tyres.csv yet: it is added",)
    assert doubts(shelf(), HELD, (Put("lf", "T4"),)) == ("nothing is on the rr then",)
