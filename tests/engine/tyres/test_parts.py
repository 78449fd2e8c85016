"""Which tyre did what, how it wears and how long it lasts, at the edges. By hand."""

from __future__ import annotations

import math

import pytest

from paddock.engine.stats.fits import shrunk
from paddock.engine.tyres.counts import (
    CarRun,
    FittedPlace,
    count_of,
    fitted_now,
    heat_cycles,
    is_turned,
    my_cars,
    runs_of,
    uses,
    whole,
)
from paddock.engine.tyres.scatter import GAUGE_SD_MM
from paddock.engine.tyres.wear import (
    Observed,
    Rate,
    life_of,
    observe,
    rates_of,
    runs_to,
    stretches,
    turned_over,
)
from paddock.model.rows import Row, TimeRow
from tests.engine.tyres.make import SET, car, clean, fit, tread, tyres


def rate(mm: float, sd: float = 0.0, own: float = 0.0, runs: int = 0) -> Rate:
    return Rate(mm, sd, own, runs, "measured")


# --- counts -------------------------------------------------------------------------------------------------------------


def test_small_words() -> None:
    assert [count_of(value) for value in (0.9, 1.0, 1.9, 2.0)] == ["0 runs", "1 run", "1 run", "2 runs"]
    assert [whole(value) for value in (49.0, 49.9, 50 - 1e-12, 50.0)] == [49, 49, 50, 50]
    assert [is_turned(text) for text in ("turned over", "Flipped", "reversed", "as moulded", None)] == [
        True,
        True,
        True,
        False,
        False,
    ]
    assert (FittedPlace("lf").axle, FittedPlace("rr").axle) == ("front", "rear")


def test_a_new_heat_cycle_after_an_hour_of_rest() -> None:
    def cycles(*at: str) -> int:
        return heat_cycles([CarRun(1, place, clock, "26", "") for place, clock in enumerate(at, 1)])

    assert (cycles("10:00", "11:00"), cycles("10:00", "11:01"), cycles("10:00:30", "11:00:30")) == (1, 2, 1)
    assert (cycles("10:00", "", "11:30"), cycles("", ""), cycles("10:00", "10:50", "11:40")) == (2, 1, 1)


def test_a_tyre_put_on_a_second_corner_has_left_the_first() -> None:
    event = car(clean("26", 1, 3), *fit(1, 1, **SET), *fit(1, 2, lf="B"))
    assert {corner: held[0] for corner, held in fitted_now(event, ["26"]).items()} == {"lf": "B", "lr": "C", "rr": "D"}
    assert [(use.place, use.run.run) for use in uses(event) if use.tyre == "B"] == [
        (FittedPlace("rf"), 1), (FittedPlace("lf"), 2), (FittedPlace("lf"), 3),
    ]  # fmt: skip
    assert runs_of(event) == {"A": 1, "B": 3, "C": 3, "D": 3}


def test_which_rows_are_runs_of_the_car() -> None:
    from paddock.engine.tyres.counts import car_runs

    rows = [
        TimeRow(day=1, run=run, number="26", **cells)
        for run, cells in enumerate(({}, {"cones": 1}, {"misses": 0}, {"at": "09:00"}), 1)
    ]  # type: ignore[arg-type]
    assert [(item.run, item.at) for item in car_runs(car(rows), ["26"])] == [(2, ""), (3, ""), (4, "09:00")]
    assert my_cars(car([], *fit(1, 1, number="9", lf="A"), mine={"numbers": ["26"]})) == {"26": ("26",), "9": ("9",)}


# --- wear ---------------------------------------------------------------------------------------------------------------


def test_shrinking_by_hand() -> None:
    """Rates .04 and .06 with s = .01, tau = .02: weights equal, mean .05, pull .2: .042 and .058."""
    one, two = shrunk([(0.04, 0.01), (0.06, 0.01)], 0.02)
    assert (one[0], two[0]) == (pytest.approx(0.042), pytest.approx(0.058))
    assert one[1] == pytest.approx(math.sqrt(0.8 * 0.0001 + 0.04 / (2 / 0.0005)))
    assert one[2] == pytest.approx(0.8)


def test_an_edge_may_grow_by_scatter_and_not_by_more() -> None:
    def seen(last: float) -> list[Observed]:
        event = car(
            clean("26", 1, 10), *fit(1, 1, lf="A"), tread(0, "A", None, None, 6.0), tread(1, "A", None, None, last)
        )
        return list(observe(stretches(event), "26").get(("front", "outer"), []))

    limit = 3 * math.sqrt(2) * GAUGE_SD_MM
    assert seen(6.0 + limit - 0.001) == [
        Observed("A", pytest.approx(-0.0508, abs=1e-3), pytest.approx(math.sqrt(2) * GAUGE_SD_MM / 10), 10)
    ]
    assert seen(6.0 + limit + 0.001) == []
    assert observe((), "26") == {}


def test_the_order_of_trust() -> None:
    item = [Observed("A", 0.05, 0.01, 10)]
    assert rates_of({("front", "outer"): item}, "A", "front")["outer"].basis == "measured"
    assert rates_of({("front", "outer"): item}, "B", "front")["outer"].basis == "other tyres"
    assert rates_of({("front", "outer"): item}, "B", "rear")["outer"].basis == "other axle"
    assert rates_of({("mixed", "outer"): item}, "B", "rear")["outer"].basis == "mixed places"
    kind = rates_of({}, "B", "rear", {("rear", "outer"): item})["outer"]
    assert kind.basis == "other kind"
    assert kind.sd == pytest.approx(math.sqrt(0.03**2 + 0.01**2 + 0.03**2))
    other = rates_of({("front", "outer"): item}, "B", "front")["outer"]
    assert other.sd == pytest.approx(math.sqrt(0.0125**2 + 0.01**2 + 0.0125**2))
    assert rates_of({}, "B", "rear") == {}
    pair = [Observed("A", 0.04, 0.01, 10), Observed("C", 0.08, 0.04, 30)]
    rough = (0.04 * 10 + 0.08 * 30) / 40
    weights = [1 / (sd**2 + (0.25 * rough) ** 2) for sd in (0.01, 0.04)]
    drawn = rates_of({("front", "outer"): pair}, "B", "front")["outer"]
    assert drawn.mm == pytest.approx((weights[0] * 0.04 + weights[1] * 0.08) / sum(weights))
    assert drawn.sd == pytest.approx(math.sqrt((0.25 * rough) ** 2 + 1 / sum(weights)))


def test_stretches_know_their_place_and_their_kind() -> None:
    rows: list[Row] = [
        *tyres("A", kind="soft"),
        *fit(1, 1, lf="A"),
        tread(0, "A", 6, None, 6),
        tread(1, "A", 5, 5, 5.5),
        tread(3, "A", 4, 4, 5),
    ]
    (first, second) = stretches(car(clean("26", 1, 4) + clean("26", 2, 2), *rows))
    assert (first.runs, first.days, first.joined, first.kind, first.place) == (
        4,
        (0, 1),
        False,
        "soft",
        FittedPlace("lf"),
    )
    assert first.drop_mm == {"inner": 1.0, "outer": 0.5}
    assert (second.runs, second.days, second.joined) == (2, (1, 3), True)
    assert stretches(car([], *rows)) == ()
    assert turned_over({"inner": 1.0, "middle": 2.0, "outer": 3.0}) == {"outer": 1.0, "middle": 2.0, "inner": 3.0}


# --- life ---------------------------------------------------------------------------------------------------------------


def test_a_life_at_its_ends() -> None:
    assert runs_to(3.0, rate(0.05)) == (
        pytest.approx(60),
        pytest.approx(60 - 1.2 * 2.563103, abs=1e-5),
        pytest.approx(60 + 1.2 * 2.563103, abs=1e-5),
    )
    assert runs_to(3.0, rate(-0.05))[0] is None
    assert runs_to(3.0, rate(0.0, 0.01))[0] is None
    assert runs_to(-1.0, rate(0.01, 0.1))[1] == 0.0
    at_floor = life_of({"inner": 1.6, "outer": 5.0}, 0, {"outer": rate(0.05)})
    assert (at_floor.runs, at_floor.low, at_floor.edge) == (0.0, 0.0, "inner")
    past = life_of({"outer": 2.0}, 100, {"outer": rate(0.05)})
    assert (past.runs, past.low, past.high) == (0.0, 0.0, 0.0)
    assert past.depth_mm == {"outer": pytest.approx(-3.0)}
