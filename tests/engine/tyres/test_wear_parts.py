"""Wear and life worked forward by hand: chains of readings, priors, ends of the range."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.engine.tyres.counts import FittedPlace
from paddock.engine.tyres.inventory import TyreState, inventory
from paddock.engine.tyres.scatter import Scatter
from paddock.engine.tyres.wear import Life, Observed, Rate, Stretch, life_of, observe, rates_of, runs_to, stretches
from paddock.model.rows import Row
from tests.engine.tyres.make import car, clean, fit, tread, tyres

SCATTER = Scatter(0.1, 0.3)


def part(days: tuple[int, int], runs: int, joined: bool = False, corner: str | None = "lf", tyre: str = "A", of: str = "h",
         per_day: tuple[int, ...] = (), **drop_mm: float) -> Stretch:  # fmt: skip
    place = None if corner is None else FittedPlace(corner)
    return Stretch(tyre, of, place, runs, days, 0, drop_mm, joined, per_day=per_day)


# --- what was seen ------------------------------------------------------------------------------------------------------


def test_a_chain_of_readings_has_two_ends_and_one_that_grew_breaks_it() -> None:
    whole = [part((0, 1), 5, outer=0.5), part((1, 2), 5, True, outer=0.4), part((2, 3), 10, True, outer=0.6)]
    broken = [whole[0], part((1, 2), 5, True, outer=-1.0), whole[2]]
    apart = [whole[0], part((1, 2), 5, outer=0.4)]
    first = [part((1, 2), 4, True, outer=0.2)]
    found = [observe(parts, "h", SCATTER)["front", "outer"] for parts in (whole, broken, apart, first)]
    assert found == [
        [Observed("A", pytest.approx(1.5 / 20), pytest.approx(math.sqrt(2) * 0.1 / 20), 20, pytest.approx(400 / 150))],
        [Observed("A", pytest.approx(1.1 / 15), pytest.approx(2 * 0.1 / 15), 15, pytest.approx(225 / 125))],
        [Observed("A", pytest.approx(0.9 / 10), pytest.approx(2 * 0.1 / 10), 10, pytest.approx(2.0))],
        [Observed("A", pytest.approx(0.05), pytest.approx(math.sqrt(2) * 0.1 / 4), 4, pytest.approx(1.0))],
    ]


def test_unequal_days_are_worth_fewer() -> None:
    """Nine runs and one: 100 / 82 days; where the days are told they count, else the stretch is one."""
    (seen,) = observe([part((0, 2), 10, per_day=(9, 1), inner=0.5)], "h", SCATTER)["front", "inner"]
    assert seen.days == pytest.approx(100 / 82)


def test_by_axle_edge_and_tyre_of_the_car_alone() -> None:
    parts = [
        part((0, 1), 5, corner="lf", inner=0.1, outer=0.2), part((0, 1), 5, corner="rr", tyre="B", outer=0.3),
        part((0, 1), 5, corner=None, tyre="C", middle=0.4), part((0, 1), 5, corner="rf", tyre="D", outer=0.5),
        part((0, 1), 5, of="k", tyre="E", outer=0.6),
    ]  # fmt: skip
    found = {
        key: [(item.tyre, round(item.mm, 6)) for item in seen] for key, seen in observe(parts, "h", SCATTER).items()
    }
    assert found == {
        ("front", "inner"): [("A", 0.02)], ("front", "outer"): [("A", 0.04), ("D", 0.1)], ("rear", "outer"): [("B", 0.06)],
        ("mixed", "middle"): [("C", 0.08)],
    }  # fmt: skip


def test_a_stretch_cell_by_cell() -> None:
    """Two runs on day 1, three on day 2; the middle was read once, the car is that of the last run."""
    rows: list[Row] = [
        *tyres("A", kind="soft"),
        *fit(1, 1, rr="A"),
        tread(0, "A", 6, 5, 6, 7),
        tread(2, "A", 5.5, None, 5, 9),
    ]
    of = car(clean("26", 1, 2) + clean("26", 2, 3), *rows, mine={"numbers": ["26"], "cars": {"26": "h"}})
    assert stretches(of) == (
        Stretch("A", "h", FittedPlace("rr"), 5, (0, 2), 9, {"inner": 0.5, "outer": 1.0}, False, "soft", "test", (2, 3)),
    )
    before_it_ran = car(clean("26", 2, 3), *rows)
    assert [(found.runs, found.per_day) for found in stretches(before_it_ran)] == [(3, (3,))]
    moved = car(clean("26", 1, 2) + clean("26", 2, 3), *rows, *fit(2, 2, lf="A"))
    assert [(found.place, found.runs) for found in stretches(moved)] == [(None, 5)]


def test_a_tyre_lent_to_another_car_between_two_readings_is_that_cars() -> None:
    rows: list[Row] = [
        *fit(1, 1, lf="A"),
        *fit(2, 1, "9", lf="A"),
        *fit(2, 1, lf="B"),
        tread(0, "A", 6, 6, 6),
        tread(2, "A", 5, 5, 5),
    ]
    of = car(clean("26", 1, 2) + clean("9", 2, 3), *rows, mine={"numbers": ["26", "9"]})
    assert [(found.car, found.place, found.runs) for found in stretches(of)] == [("9", None, 5)]


def test_before_its_first_run_a_tyre_was_as_that_run_found_it() -> None:
    """Read on day 0, turned over after its first run: inside then is outside now."""
    rows: list[Row] = [
        *fit(1, 1, lf="A"),
        *fit(1, 2, lf="A", orientation="turned"),
        tread(0, "A", 5, 6, 7),
        tread(1, "A", 6.5, 5.5, 4.5),
    ]
    (found,) = stretches(car(clean("26", 1, 3), *rows))
    assert (found.place, found.drop_mm) == (None, {"inner": 0.5, "middle": 0.5, "outer": 0.5})


# --- rates --------------------------------------------------------------------------------------------------------------

USUAL = {
    ("front", "front"): 70,
    ("front", "rear"): 25,
    ("rear", "front"): 45,
    ("rear", "rear"): 50,
    ("all", "front"): 60,
    ("all", "rear"): 45,
}
"""Thousandths of a millimetre a run of the inner and the outer edge: the stated prior, by driven wheels and axle."""


@pytest.mark.parametrize("drive", ["front", "rear", "all"])
@pytest.mark.parametrize(("axle", "other"), [("front", "rear"), ("rear", "front")])
def test_what_is_usual_of_a_place(drive: str, axle: str, other: str) -> None:
    """The other axle's rate goes over in proportion; a reading that says nothing leaves what is usual."""
    there = {(other, edge): [Observed("B", 0.1, 0.01, 10)] for edge in ("inner", "middle", "outer")}
    times = USUAL[drive, axle] / USUAL[drive, other]
    plain = rates_of(there, "A", axle, scatter=SCATTER)
    for edge, rate in rates_of(there, "A", axle, drive=drive, scatter=SCATTER).items():
        assert (rate.mm, rate.sd, rate.basis) == (
            pytest.approx(0.1 * times),
            pytest.approx(plain[edge].sd * times),
            "other axle",
        )
        assert (plain[edge].mm, rate.share) == (pytest.approx(0.1), pytest.approx(0.3))
    blind = {(axle, edge): [Observed("A", 0.2, 1e6, 10)] for edge in ("inner", "middle", "outer")}
    found = {edge: rate.mm for edge, rate in rates_of(blind, "A", axle, drive=drive, scatter=SCATTER).items()}
    usual = USUAL[drive, axle] / 1000
    assert found == {"inner": pytest.approx(usual), "middle": pytest.approx(0.7 * usual), "outer": pytest.approx(usual)}


def test_a_measured_rate_by_hand() -> None:
    """Its own reading drawn to the axle's mean, then to what is usual there; days worth 4 at the most."""
    group = [Observed("A", 0.09, 0.02, 10, 2.0), Observed("B", 0.05, 0.01, 20, 4.0)]
    tau = 0.25 * (0.09 * 10 + 0.05 * 20) / 30
    weights = [1 / (0.02**2 + tau**2), 1 / (0.01**2 + tau**2)]
    mean = (weights[0] * 0.09 + weights[1] * 0.05) / sum(weights)
    own = tau**2 / (tau**2 + 0.02**2)
    mm, variance = own * 0.09 + (1 - own) * mean, own * 0.02**2 + (1 - own) ** 2 / sum(weights)
    plain = rates_of({("rear", "inner"): group}, "A", "rear", scatter=SCATTER)["inner"]
    assert (plain.mm, plain.sd, plain.own_runs, plain.basis) == (
        pytest.approx(mm),
        pytest.approx(math.sqrt(variance)),
        10,
        "measured",
    )
    assert (plain.share, plain.scatter) == (pytest.approx(0.3 / 2), SCATTER)
    found = rates_of({("rear", "inner"): group}, "A", "rear", drive="all", scatter=SCATTER)["inner"]
    vague = (0.7 * 0.045) ** 2
    kept = vague / (vague + variance + (0.15 * mm) ** 2)
    assert (found.mm, found.sd) == (
        pytest.approx(kept * mm + (1 - kept) * 0.045),
        pytest.approx(math.sqrt(kept * variance)),
    )
    assert found.own == pytest.approx(plain.own * kept)
    assert rates_of({("rear", "inner"): group}, "A", "rear", drive="tracks", scatter=SCATTER)["inner"] == plain


def test_a_group_that_grew_has_no_spread_of_its_own() -> None:
    """Mean -.01, tau 0: the mean's own error alone."""
    seen = [Observed("B", -0.01, 0.02, 10)]
    found = rates_of({("front", "outer"): seen}, "A", "front", scatter=SCATTER)["outer"]
    assert (found.mm, found.sd, found.own, found.own_runs) == (pytest.approx(-0.01), pytest.approx(0.02), 0.0, 0)


# --- life ---------------------------------------------------------------------------------------------------------------

Z = 1.2815515655446004


def solves(runs: float, spare: float, rate: Rate) -> None:
    """(D - n r)^2 = z^2 (vD + (s D)^2 - 2 n cov + n^2 vr): Fieller (1954), with what the days' surfaces share."""
    gauge = rate.scatter.gauge_mm**2
    shared = -rate.own * gauge / rate.own_runs if rate.own_runs else 0.0
    variance = gauge + (rate.share * spare) ** 2 - 2 * runs * shared + (runs * rate.sd) ** 2
    assert (spare - runs * rate.mm) ** 2 == pytest.approx(Z**2 * variance)


@pytest.mark.parametrize("share", [0.0, 0.2])
@pytest.mark.parametrize(("own", "own_runs"), [(0.8, 12), (0.0, 0), (1.0, 4)])
def test_both_ends_solve_the_equation_and_where_there_is_no_upper_one_the_lower(
    share: float, own: float, own_runs: int
) -> None:
    sharp = Rate(0.05, 0.01, own, own_runs, "measured", SCATTER, share)
    runs, low, high = runs_to(3.0, sharp)
    assert runs == pytest.approx(60)
    assert high is not None
    assert low < 60 < high
    solves(low, 3.0, sharp)
    solves(high, 3.0, sharp)
    blunt = Rate(0.05, 0.06, own, own_runs, "measured", SCATTER, share)
    runs, low, high = runs_to(3.0, blunt)
    assert (runs, high) == (pytest.approx(60), None)
    assert 0 < low < 60
    solves(low, 3.0, blunt)
    unworn = Rate(0.0, 0.02, own, own_runs, "measured", SCATTER, share)
    runs, low, high = runs_to(3.0, unworn)
    assert (runs, high) == (None, None)
    solves(low, 3.0, unworn)


def test_below_the_floor_nothing_is_left_whatever_the_wear() -> None:
    for mm, sd in ((0.0, 0.02), (-0.01, 0.02), (0.05, 0.06)):
        assert runs_to(-3.0, Rate(mm, sd, 0.0, 0, "measured", SCATTER))[1:] == (0.0, None)


def test_a_life_takes_the_edge_that_ends_first_and_the_soonest_ends() -> None:
    """Outer .05 +- little: 40 runs from 2 mm; inner .04 but unsure: 50 runs, sooner at its low end. Six runs since."""
    sure, unsure = Rate(0.05, 0.001, 0.0, 0, "measured", SCATTER), Rate(0.04, 0.015, 0.0, 0, "measured", SCATTER)
    found = life_of(
        {"inner": 4.0, "middle": 5.0, "outer": 4.0}, 6, {"inner": unsure, "outer": sure, "other": sure}, 2.0
    )
    lows, highs = zip(*(runs_to(2.0, rate)[1:] for rate in (unsure, sure)), strict=True)
    assert lows[0] < lows[1]
    assert highs[1] < highs[0]
    assert found == Life(
        pytest.approx(34), pytest.approx(lows[0] - 6), pytest.approx(highs[1] - 6), "outer",
        {"inner": pytest.approx(3.76), "middle": 5.0, "outer": pytest.approx(3.7)}, 2.0,
    )  # fmt: skip


def test_an_edge_at_its_floor_ends_it_and_one_that_does_not_wear_says_nothing() -> None:
    still = Rate(0.0, 0.001, 0.0, 0, "measured", SCATTER)
    assert life_of(
        {"inner": 2.0, "outer": 5.0}, 1, {"inner": still, "outer": Rate(0.1, 0.01, 0, 0, "measured")}, 2.0
    ) == Life(0.0, 0.0, 0.0, "inner", {"inner": 2.0, "outer": pytest.approx(4.9)}, 2.0)
    assert life_of({"outer": 5.0}, 3, {"outer": still}) == Life(depth_mm={"outer": 5.0})
    assert life_of({"outer": 2.01}, 0, {}, 2.0) == Life(depth_mm={"outer": 2.01}, floor_mm=2.0)
    assert life_of({"outer": 0.0}, 0, {}, 0.0).runs == 0.0


@given(st.floats(0.5, 6), st.floats(0.01, 0.2), st.integers(0, 40))
def test_a_run_done_is_a_run_less(spare: float, mm: float, since: int) -> None:
    rate = Rate(mm, mm / 10, 0.0, 0, "measured")
    fresh, later = (
        life_of({"outer": 1.6 + spare}, 0, {"outer": rate}),
        life_of({"outer": 1.6 + spare}, since, {"outer": rate}),
    )
    assert fresh.runs is not None
    assert later.runs == pytest.approx(max(fresh.runs - since, 0))
    assert later.depth_mm["outer"] == pytest.approx(fresh.depth_mm["outer"] - since * mm)


# --- a tyre now ---------------------------------------------------------------------------------------------------------


def of_a(*rows: Row, days: tuple[int, ...] = (4, 2), **row: Any) -> Any:
    times = [time for day, runs in enumerate(days, 1) for time in clean("26", day, runs)]
    return inventory(car(times, *tyres("A", **row), *rows)).of("A")


def test_the_last_reading_has_the_names_its_edges_have_now() -> None:
    """Read after day 1 as it came, turned over for day 2: what was the outer edge is inside now."""
    rows = [*fit(1, 1, lf="A"), tread(0, "A", 7, 7, 7), tread(1, "A", 6.9, 6.8, 6.6)]
    straight, turned = of_a(*rows), of_a(*rows, *fit(2, 1, lf="A", orientation="turned"))
    assert straight.life.depth_mm["outer"] == pytest.approx(6.6 - 2 * 0.1)
    assert straight.life.depth_mm["inner"] == pytest.approx(6.9 - 2 * 0.025)
    assert turned.life.depth_mm["inner"] == pytest.approx(6.6 - 2 * 0.025)
    assert (turned.read_on_day, turned.runs_since_reading) == (1, 2)
    new = of_a(tread(0, "A", 6.9, 6.8, 6.6), *fit(1, 1, lf="A", orientation="turned"))
    assert new.life.depth_mm == {"inner": 6.9, "middle": 6.8, "outer": 6.6}, "read as it is fitted"


def test_a_tyre_off_the_car_a_spare_and_one_nobody_listed() -> None:
    rows = [*fit(1, 1, lf="A", rf="Z"), *fit(2, 1, lf="B"), tread(1, "Q", 5, 5, 5)]
    found = inventory(car(clean("26", 1, 4) + clean("26", 2, 2), *tyres("S", "A", runs_before=3), *rows))
    assert [(item.tyre, item.car, item.place, item.runs, item.event_runs, item.row is None) for item in found.tyres] == [
        ("S", None, None, 3, 0, False), ("A", "26", None, 7, 4, False), ("Z", "26", FittedPlace("rf"), 6, 6, True),
        ("B", "26", FittedPlace("lf"), 2, 2, True), ("Q", None, None, 0, 0, True),
    ]  # fmt: skip
    assert found.cars == {"26": {"rf": "Z", "lf": "B"}}
    assert found.tyres[-1].read_mm == {"inner": 5.0, "middle": 5.0, "outer": 5.0}


def test_of_a_tyre_nothing_is_known_of_all_is_blank() -> None:
    assert TyreState("A") == TyreState("A", None, None, None, 0, 0, {}, 0, None, {}, Life(), None, 0, {})
    assert Life() == Life(None, None, None, None, {}, 1.6)


def test_the_deepest_reading_edge_by_edge() -> None:
    found = of_a(
        *fit(1, 1, lf="A"), tread(0, "A", 6, None, 7), tread(1, "A", 6.2, 6.5, 6.8), tread(2, "A", 6.1, 6.4, 6.9)
    )
    assert found.read_mm == {"inner": 6.2, "middle": 6.5, "outer": 7.0}


def test_cost_a_run_only_where_price_and_life_are_known() -> None:
    worn = [*fit(1, 1, lf="A"), tread(0, "A", 7, 7, 7), tread(2, "A", 7, 7, 6.4)]
    assert of_a(*worn, price=96.0, runs_before=2).cost_per_run == pytest.approx(96 / (8 + (6.4 - 1.6) / 0.1))
    assert of_a(*worn, runs_before=2).cost_per_run is None
    assert of_a(price=96.0).cost_per_run is None
    at_floor = [*fit(1, 1, lf="A"), tread(0, "A", 1, 1, 1)]
    assert of_a(*at_floor, price=96.0, days=()).cost_per_run is None, "no run at all to share it"
    assert of_a(*at_floor, price=96.0, runs_before=48, days=()).cost_per_run == pytest.approx(2.0)
