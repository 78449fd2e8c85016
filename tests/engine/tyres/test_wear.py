"""Wear by edge, and how it is shrunk."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.engine.stats.fits import shrunk
from paddock.engine.tyres.inventory import inventory
from paddock.engine.tyres.scatter import GAUGE_SD_MM
from paddock.engine.tyres.wear import observe, stretches
from paddock.model.rows import Row
from tests.engine.tyres.make import SET, car, clean, fit, tread, tyres

SCHOOLS = [(28, 15), (8, 10), (-3, 16), (7, 11), (-1, 9), (1, 11), (18, 10), (12, 18)]


def test_no_scatter_between_tyres_gives_the_pooled_mean() -> None:
    # Eight schools, Rubin 1981: completely pooled 7.7, standard error 4.1.
    found = shrunk([(float(y), float(s)) for y, s in SCHOOLS], 0.0)
    assert {round(mean, 1) for mean, _, _ in found} == {7.7}
    assert {round(sd, 1) for _, sd, _ in found} == {4.1}


def test_much_scatter_between_tyres_keeps_each_its_own() -> None:
    found = shrunk([(float(y), float(s)) for y, s in SCHOOLS], 1e6)
    assert [(round(mean), round(sd)) for mean, sd, _ in found] == SCHOOLS


pairs = st.lists(st.tuples(st.floats(0, 1), st.floats(0.001, 0.5)), min_size=1, max_size=6)


@given(pairs, st.floats(0.0, 1.0))
def test_a_shrunk_rate_lies_between_its_own_and_the_mean_and_is_no_wider(
    rates: list[tuple[float, float]], tau: float
) -> None:
    lowest, highest = min(y for y, _ in rates), max(y for y, _ in rates)
    for (_, s), (mean, sd, own) in zip(rates, shrunk(rates, tau), strict=True):
        assert lowest - 1e-9 <= mean <= highest + 1e-9
        assert sd <= s + 1e-9
        assert 0 <= own <= 1


def test_a_tyre_alone_keeps_what_was_measured() -> None:
    event = car(clean("26", 1, 10), *fit(1, 1, lf="A"), tread(0, "A", 6, 6, 6), tread(1, "A", 5.7, 5.8, 5.5))
    wear = inventory(event).tyres[0].wear
    assert {edge: pytest.approx(rate.mm) for edge, rate in wear.items()} == {
        "inner": 0.03,
        "middle": 0.02,
        "outer": 0.05,
    }
    assert wear["outer"].sd == pytest.approx(math.sqrt(2) * GAUGE_SD_MM / 10)


def test_axle_mates_are_drawn_together_and_the_axles_are_not() -> None:
    rows = [*fit(1, 1, **SET), *[tread(0, name, 6, 6, 6) for name in "ABCD"]]
    rows += [tread(1, "A", 6, 6, 5.4), tread(1, "B", 6, 6, 5.0), tread(1, "C", 6, 6, 5.8), tread(1, "D", 6, 6, 5.8)]
    found = {item.tyre: item.wear["outer"].mm for item in inventory(car(clean("26", 1, 10), *rows)).tyres}
    assert 0.06 < found["A"] < found["B"] < 0.10
    assert found["A"] + found["B"] == pytest.approx(0.16)
    assert found["C"] == pytest.approx(found["D"]) == pytest.approx(0.02)


def test_a_tyre_without_readings_takes_the_rate_of_its_place() -> None:
    rows = [*fit(1, 1, lf="A", rf="B"), tread(0, "A", 6, 6, 6), tread(1, "A", 5.8, 5.8, 5.4)]
    states = inventory(car(clean("26", 1, 10), *rows))
    rate = states.of("B").wear["outer"]  # type: ignore[union-attr]
    assert (rate.basis, rate.mm) == ("other tyres", pytest.approx(0.06))
    assert rate.sd > states.of("A").wear["outer"].sd  # type: ignore[union-attr]


def test_earlier_events_are_the_history() -> None:
    old = car(clean("26", 1, 10), *fit(1, 1, lf="A"), tread(0, "A", 6, 6, 6), tread(1, "A", 6, 6, 5.5))
    new = car([], *fit(1, None, lf="N"), tread(0, "N", 7, 7, 7))
    assert inventory(new).tyres[0].life.runs is None
    state = inventory(new, [old]).tyres[0]
    assert (state.wear["outer"].mm, state.wear["outer"].basis) == (pytest.approx(0.05), "other tyres")
    assert state.life.runs == pytest.approx((7 - 1.6) / 0.05)


def test_joined_readings_carry_the_gauge_twice_and_not_four_times() -> None:
    rows: list[Row] = [*fit(1, 1, lf="A"), tread(0, "A", 6, 6, 6), tread(1, "A", 6, 6, 5.7), tread(2, "A", 6, 6, 5.4)]
    seen = observe(stretches(car(clean("26", 1, 5) + clean("26", 2, 5), *rows)), "26")["front", "outer"]
    assert [(item.mm, item.runs) for item in seen] == [(pytest.approx(0.06), 10)]
    assert seen[0].sd == pytest.approx(math.sqrt(2) * GAUGE_SD_MM / 10)


def test_a_tyre_turned_over_on_its_rim_keeps_its_rubber() -> None:
    """Inner 4, outer 6 on day 1; turned over, the edge now inside is the one that was outside."""
    rows: list[Row] = [*fit(1, 1, lf="A"), tread(1, "A", 4.0, 5, 6.0), *fit(2, 1, lf="A", orientation="turned over")]
    rows.append(tread(2, "A", 5.8, 5, 4.0))
    parts = stretches(car(clean("26", 1, 5) + clean("26", 2, 5), *rows))
    assert len(parts) == 1
    assert parts[0].drop_mm == pytest.approx({"inner": 0.2, "middle": 0.0, "outer": 0.0})
    assert parts[0].place is not None
    assert parts[0].place.turned


def test_a_move_between_readings_is_no_place_and_still_gives_a_rough_rate() -> None:
    rows = [*fit(1, 1, lf="A", lr="C"), *fit(2, 1, lf="C", lr="A"), tread(0, "A", 6, 6, 6), tread(2, "A", 6, 6, 5.5)]
    event = car(clean("26", 1, 5) + clean("26", 2, 5), *rows)
    assert stretches(event)[0].place is None
    rate = inventory(event).of("A").wear["outer"]  # type: ignore[union-attr]
    assert (rate.basis, rate.mm) == ("mixed places", pytest.approx(0.05))


def test_an_edge_that_grew_a_lot_is_left_out_of_the_wear() -> None:
    rows = [*fit(1, 1, lf="A", rf="B"), *tyres("A", "B")]
    rows += [tread(0, "A", 6, 6, 5.0), tread(1, "A", 5.5, 6, 6.0), tread(0, "B", 6, 6, 6), tread(1, "B", 6, 6, 5.5)]
    rate = inventory(car(clean("26", 1, 10), *rows)).of("A").wear  # type: ignore[union-attr]
    assert rate["outer"].basis == "other tyres"
    assert rate["inner"].basis == "measured"


def test_a_soft_kind_does_not_pull_the_street_tyres() -> None:
    """Four runs each way on one axle: the street pair wears .05, the soft pair .20; each keeps its own kind's mean."""
    rows = [*tyres("A", "B", kind="street"), *tyres("S", "T", "U", kind="soft")]
    rows += [*fit(1, 1, lf="A", rf="B"), *fit(2, 1, lf="S", rf="T")]
    rows += [tread(0, name, 6, 6, 6) for name in "ABSTU"] + [tread(1, name, 6, 6, 5.5) for name in "AB"]
    rows += [tread(1, name, 6, 6, 6) for name in "STU"] + [tread(2, name, 6, 6, 4.0) for name in "ST"]
    event = car(clean("26", 1, 10) + clean("26", 2, 10), *rows, *fit(3, 1, lf="U"))
    found = {item.tyre: item.wear["outer"] for item in inventory(event).tyres}
    assert (found["A"].mm, found["S"].mm) == (pytest.approx(0.05), pytest.approx(0.20))
    assert (found["U"].mm, found["U"].basis) == (pytest.approx(0.20), "other tyres")


def test_another_kind_is_asked_only_where_nothing_else_is_known() -> None:
    rows = [*tyres("A", kind="street"), *tyres("S", kind="soft"), *fit(1, 1, lf="A", rf="S")]
    rows += [tread(0, "A", 6, 6, 6), tread(1, "A", 6, 6, 5.5)]
    rate = inventory(car(clean("26", 1, 10), *rows)).of("S").wear["outer"]  # type: ignore[union-attr]
    assert (rate.basis, rate.mm) == ("other kind", pytest.approx(0.05))
    assert rate.sd > 0.03
