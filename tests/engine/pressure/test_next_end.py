"""The end of the next run by a car's own heat, worked by hand: exponentials, the spread of its ranges, the gauge's scatter."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from paddock.engine.pressure.ahead import CornerAhead, run_end_c, way_ahead
from paddock.engine.pressure.heat import heat_of
from paddock.engine.pressure.heat_fit import HeatFit
from paddock.engine.pressure.mass import CornerAir
from paddock.engine.pressure.plan import Rise
from paddock.engine.pressure.readings import car_log
from paddock.model.rows import Row
from tests.engine.pressure.situations import HOT, ME, MORNING, after, before, logged
from tests.engine.pressure.test_rules import told

PA = 100_000.0
OUTSIDE = PA / 6894.757293168361
READ = car_log(told(MORNING, logged(1), after(1, *HOT)), ME).readings[-1]
"""Two minutes after the first run."""
FIT = HeatFit("front", 20.0, 19.0, 21.0, 10.0, 9.8, 10.2, 12, 0.2)
RISE = Rise(20.0, 12.0, 28.0, "usual")
CORNER = CornerAir(psi=34.0, read=True, temp_c=38.0, temp_from="inferred", gas_c=38.0)


def way(fit: HeatFit | None = FIT, corner: CornerAir = CORNER, rise: Rise = RISE, **more: Any) -> CornerAhead:
    """From 38 C in air of 18, a run of 0.8 minutes after ten of waiting in air of 16."""
    ahead: dict[str, Any] = {
        "wait_min": 10.0, "break": False, "run_min": 0.8, "read_min": 2.0, "again_min": 0.0, "end_c": None,
        "before_k": 0.0, "runs": 1.0, "cooling": "none", "sunny": False, "turned": False, "water": False, "ran_k": 20.0,
        "unfinished": False,
    }  # fmt: skip
    return way_ahead(READ, corner, fit, rise, 18.0, 16.0, PA, ahead | more)


def end(tau: float = 20.0, rise: float = 10.0, wait: float = 10.0, rate: float = 1.0, sun: float = 0.0, from_c: float = 38.0,
        read: float = 2.0) -> float:  # fmt: skip
    """It cools, is warmed by the run, and cools until it is read, by the middle time constant."""
    start = 16.0 + sun + (from_c - 16.0 - sun) * math.exp(-wait * rate / tau)
    hot = 16.0 + (start - 16.0) * math.exp(-0.8 / tau) + rise
    return 16.0 + (hot - 16.0) * math.exp(-read / 20.0)


def test_a_fit_tells_the_end_and_its_range() -> None:
    found = way()
    assert (found.how, found.known, found.now_c) == ("fit", True, 38.0)
    assert found.end_c == pytest.approx(end())
    unread = [end(tau, rise, read=0.0) for tau, rise in ((20.0, 9.8), (20.0, 10.2), (19.0, 10.2), (21.0, 9.8))]
    middle, scatter = end(read=0.0), math.hypot(1.2816 * 0.2, 1.2)
    low, high = middle - math.hypot(middle - min(unread), scatter), middle + math.hypot(max(unread) - middle, scatter)
    assert found.low_c == pytest.approx(16.0 + (low - 16.0) * math.exp(-2.0 / 20.0))
    assert found.high_c == pytest.approx(16.0 + (high - 16.0) * math.exp(-2.0 / 20.0))


def test_what_moves_the_end_of_a_fit() -> None:
    assert way(wait_min=0.0).end_c == pytest.approx(end(wait=0.0))
    assert way(cooling="spray").end_c == pytest.approx(end(rate=FIT.spray))
    assert way(sunny=True).end_c == pytest.approx(end(sun=FIT.sun_k))
    assert way(read_min=3.0).end_c == pytest.approx(end(read=3.0))
    assert way(read_min=9.0).end_c == pytest.approx(end(read=3.0)), "read as one walks round the car, at the latest"
    assert way(read_min=None).end_c == pytest.approx(end(read=0.0))
    assert way(wait_min=None).end_c == pytest.approx(end(wait=0.0))
    assert way(turned=True).how == way(**{"break": True}).how == "fit", "a fit knows of any wait"


@pytest.mark.parametrize(("noise", "used"), [(1.15, True), (2.3, True), (2.4, False), (4.0, False)])
def test_a_fit_that_leaves_more_than_a_pound_open_is_not_used(noise: float, used: bool) -> None:
    """Its range in psi: K over K, of 34 psi and the air outside."""
    wide = replace(FIT, noise_k=noise, rise_low=8.5, rise_high=11.5)
    found = way(wide)
    ends = [end(tau, rise, read=0.0) for tau, rise in ((20.0, 8.5), (20.0, 11.5), (19.0, 11.5), (21.0, 8.5))]
    middle, scatter = end(read=0.0), math.hypot(1.2816 * noise, 1.2)
    width_k = math.hypot(middle - min(ends), scatter) + math.hypot(max(ends) - middle, scatter)
    width = width_k * math.exp(-2.0 / 20.0) / 311.15 * (34.0 + OUTSIDE)
    assert (width <= 1.0) is used
    assert (found.how == "fit") is used


def test_a_fit_without_an_upper_end_of_its_time_constant() -> None:
    """Taken to 240 minutes: what little it cools then is the low end of what the run adds."""
    found = way(replace(FIT, tau_high=None, rise_low=9.9), wait_min=1.0)
    slow = end(240.0, 9.9, 1.0, read=0.0)
    ends = [slow, end(20.0, 9.9, 1.0, read=0.0), end(20.0, 10.2, 1.0, read=0.0), end(19.0, 10.2, 1.0, read=0.0)]
    middle, scatter = end(wait=1.0, read=0.0), math.hypot(1.2816 * 0.2, 1.2)
    high = middle + math.hypot(max(ends) - middle, scatter)
    assert found.how == "fit"
    assert max(ends) == slow
    assert found.high_c == pytest.approx(16.0 + (high - 16.0) * math.exp(-2.0 / 20.0))


def test_no_air_inside_no_fit() -> None:
    assert way(FIT, replace(CORNER, gas_c=None)).how != "fit"
    assert way(None).how != "fit"


BREAK: dict[str, Any] = {"break": True, "wait_min": 46.0}
SMALL = Rise(3.0, 1.0, 9.0, "read", 1)


def after_break(rise: Rise, fit: HeatFit | None = None, **more: Any) -> tuple[str, float, float, float]:
    """Low, likely and high end over the air of 16 C after a break of three quarters of an hour and a bit."""
    found = way(fit, replace(CORNER, gas_c=78.0, temp_c=78.0), rise=rise, **(BREAK | more))
    return found.how, found.low_c - 16.0, found.end_c - 16.0, found.high_c - 16.0


def test_after_a_break_a_run_ends_as_a_first_one_or_as_warm_as_the_tyre_still_is() -> None:
    """60 K over the air leave 6.02 K in 46 minutes at 20 minutes' time constant."""
    left = 60.0 * math.exp(-46.0 / 20.0)
    assert after_break(RISE) == ("first", pytest.approx(12.0), pytest.approx(20.0), pytest.approx(28.0))
    assert after_break(SMALL) == ("first", pytest.approx(left), pytest.approx(left), pytest.approx(9.0))
    assert after_break(SMALL, wait_min=45.0)[0] != "first"
    assert after_break(SMALL, **{"break": False})[0] != "first", "nobody asked for it"
    wide = replace(FIT, noise_k=9.0)
    by_fit = end(wait=46.0, from_c=78.0) - 16.0
    assert by_fit > 9.0
    assert after_break(SMALL, wide) == ("first", pytest.approx(by_fit), pytest.approx(by_fit), pytest.approx(by_fit))
    cool = way(None, replace(CORNER, gas_c=10.0, temp_c=10.0), rise=SMALL, **BREAK)
    assert (cool.low_c, cool.end_c, cool.high_c) == (17.0, 19.0, 25.0), "colder than the air: as from the air"


def test_on_another_surface_what_is_left_and_what_that_one_warms() -> None:
    """20 K over the air at the reading; 12.8 minutes on two thirds of what that leaves is there on water, all else."""
    left = 20.0 * math.exp(-12.8 / 20.0)
    dry, wet = way(None, turned=True), way(None, turned=True, water=True)
    assert (dry.how, dry.end_c) == ("turned", pytest.approx(16.0 + left + 20.0))
    assert (wet.how, wet.end_c) == ("turned", pytest.approx(16.0 + left * 2 / 3 + 20.0))
    assert dry.low_c == pytest.approx(dry.end_c - math.hypot(0.3 * left, 8.0))
    assert wet.high_c == pytest.approx(wet.end_c + math.hypot(0.5 * left * 2 / 3, 8.0))
    assert way(None, turned=True, read_min=None, run_min=0.0, wait_min=0.0).end_c == pytest.approx(16.0 + 20.0 + 20.0)
    cold = way(None, replace(CORNER, gas_c=10.0, temp_c=10.0), turned=True)
    assert cold.end_c == pytest.approx(36.0)
    unknown = way(None, CornerAir(psi=34.0, read=True), turned=True)
    assert (unknown.known, unknown.now_c) == (False, pytest.approx(38.0)), "20 K over the air, as the last run warms it"


def test_before_anything_is_read_a_run_begins_at_the_air() -> None:
    found = way_ahead(None, CornerAir(), None, RISE, 18.0, 16.0, PA, {"wait_min": 0.0, "run_min": 0.8})
    assert (found.how, found.now_c, found.low_c, found.end_c, found.high_c) == ("first", 18.0, 28.0, 36.0, 44.0)
    assert (found.known, found.outside_psi) == (True, pytest.approx(OUTSIDE))


def test_what_is_set_for_an_end_ends_there() -> None:
    found = CornerAhead(
        **{name: getattr(way(), name) for name in CornerAhead.__slots__} | {"now_c": 38.0, "end_c": 48.0}
    )
    assert found.set_for(34.0) == pytest.approx((34.0 + OUTSIDE) * 311.15 / 321.15 - OUTSIDE)
    assert found.ends_at(34.0) == pytest.approx((34.0 + OUTSIDE) * 321.15 / 311.15 - OUTSIDE)
    assert found.ends_at(34.0, 28.0) == pytest.approx((34.0 + OUTSIDE) * 301.15 / 311.15 - OUTSIDE)


# --- how warm it was at the last run's end ----------------------------------------------------------------------------------


def run_end(*rows: Row, corner: str = "lf", times: tuple[str, ...] = ("47",)) -> float | None:
    """As the newest reading of the car is asked."""
    of = told(MORNING, logged(1), *rows, times=times)
    heat = heat_of(of, ME)
    return run_end_c(heat, heat.track.steps[-1].reading, corner)


def inside(psi: float, cold: float = 30.0) -> float:
    """C of a corner that read ``cold`` at 12 C, 13.99 psi outside."""
    outside = 96_472.48 / 6894.757
    return 285.15 * (psi + outside) / (cold + outside) - 273.15


def test_the_first_reading_after_a_run_tells_how_warm_it_ended() -> None:
    """Within three minutes as it read; later with what it lost since put back, at 20 minutes' time constant; the first
    reading itself asks for none."""
    found = before(2, 33.0, 33.0, 43.0, 43.0, at="09:20")
    assert run_end(after(1, *HOT)) is None
    assert run_end(after(1, *HOT), found) == pytest.approx(inside(34.0), abs=0.01)
    assert run_end(after(1, *HOT), found, corner="lr") == pytest.approx(inside(44.0, 39.2), abs=0.01)
    late = run_end(after(1, *HOT, at="09:10"), found)
    assert late == pytest.approx(18.0 + (inside(34.0) - 18.0) * math.exp(9.2167 / 20.0), abs=0.1)
    assert run_end(before(2, *HOT, at="09:10"), found) is None, "found before the next run is no reading after the last"
    again = (after(1, *HOT), logged(2), before(3, 33.0, 33.0, 43.0, 43.0, at="10:20"))
    assert run_end(*again, times=("47", "47")) is None, "of the run before that"


def test_a_corner_read_again_on_the_same_walk_counts_as_read_the_first_time() -> None:
    """41 psi beside 44, out of line; read again at once it is taken so, ten minutes later it is another reading."""
    odd = after(1, 34.0, 34.0, 44.0, 49.0)
    for minute, same in (("09:05", True), ("09:20", False)):
        there = after(1, 34.0, 34.0, 44.0, 44.2, at=minute)
        found = run_end(odd, there, corner="rr")
        assert (found is not None) is same, minute
        if same:
            assert found == pytest.approx(inside(44.2, 39.2), abs=0.1)
