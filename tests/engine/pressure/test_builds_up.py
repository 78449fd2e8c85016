"""Heat builds up: the next run's end on the surface of the last one, by hand.

The air inside at the next end is the air, plus what is left of the last end's warmth (a time constant of 20 minutes), plus
what the last run warmed: its end less what was left of the warmth before it. To set: (target + outside) x T now / T then
- outside, 13.99 psi outside at 412 m. 30 psi at 12 C.
"""

from __future__ import annotations

import dataclasses
import math

import pytest

from paddock.engine.pressure.answer import Moment
from paddock.model.event import Event
from paddock.model.rows import GridRow, Row
from paddock.model.settings import GridSettings
from paddock.pages.pressure import later_words
from tests.engine.pressure.situations import ME, after, cold, logged, now, put
from tests.engine.pressure.test_rules import asked
from tests.engine.pressure.test_turned import AIR_C, MORNING, day, ran
from tests.engine.said import cautions

OUTSIDE = 13.99


def warm(psi: float, cold_psi: float = 30.0) -> float:
    """K over the air of 13.5 C, of tyres that read ``cold_psi`` at 12 C."""
    return (psi + OUTSIDE) / (cold_psi + OUTSIDE) * 285.15 - 273.15 - AIR_C


def to_set(target: float, now_k: float, end_k: float) -> float:
    return (target + OUTSIDE) * (273.15 + AIR_C + now_k) / (273.15 + AIR_C + end_k) - OUTSIDE


def left(minutes: float) -> float:
    return math.exp(-minutes / 20.0)


def front(*rows: Row, grid: tuple[int, ...] = ()) -> tuple[float, float, float]:
    """K over the air, at the reading and at the next end; what to set. ``grid``: seconds from start to start."""
    found = told(day(*rows), *grid)
    way = found.known.way["lf"]
    assert (way.how, way.low_c, way.high_c) == ("back", way.end_c, way.end_c)
    return way.now_c - AIR_C, way.end_c - AIR_C, way.set_for(34.0)


def told(whole: Event, interval_s: int | None = None) -> Moment:
    if interval_s is None:
        return now(whole)
    order = (GridRow(day=1, number=ME, order=1), GridRow(day=1, number="5", order=2))
    found = whole.settings.model_copy(update={"grid": GridSettings(interval_s=interval_s)})
    return now(dataclasses.replace(whole, settings=found, tables={**whole.tables, GridRow.FILE: order}))


ONE = (MORNING, *ran(1, "dry", (33.2, 33.2, 43.0, 43.0)))
X1 = warm(33.2)
TWO = (*ONE, *ran(2, "dry", (34.4, 34.4, 44.4, 44.4)))
X2 = warm(34.4)


def test_the_second_run_gains_what_is_left_of_the_first() -> None:
    """Nothing says when it starts: a quarter of an hour, the run, two and a half minutes to the gauge."""
    end = X1 * left(15.0 + 0.8 + 2.5) + X1
    assert (X1, end) == (pytest.approx(19.24, abs=0.01), pytest.approx(26.95, abs=0.01))
    assert front(*ONE) == pytest.approx((X1, end, to_set(34.0, X1, end)), abs=0.01)
    assert to_set(34.0, X1, end) == pytest.approx(32.82, abs=0.01)


def test_the_third_gains_less_and_is_taken_to_start_after_as_long_a_time() -> None:
    """25 minutes from reading to reading."""
    end = X2 * left(25.0) + X2 - X1 * left(25.0)
    assert front(*TWO) == pytest.approx((X2, end, to_set(34.0, X2, end)), abs=0.01)
    assert X2 < end < X2 + 2.5


def test_the_running_order_goes_before_the_last_gap_and_three_quarters_of_an_hour_leave_nothing() -> None:
    """Every 40 minutes: 36.7 of them from the reading, to 5; every hour and a half: nothing is left."""
    warmed = X2 - X1 * left(25.0)
    assert front(*TWO, grid=(1200,))[1] == pytest.approx(X2 * left(35.0 + 0.8 + 2.5) + warmed, abs=0.01)
    assert front(*TWO, grid=(2700,))[1] == pytest.approx(warmed, abs=0.01)
    assert front(*ONE, grid=(2700,))[1] == pytest.approx(X1, abs=0.01)


def test_a_run_that_was_not_read_has_warmed_as_the_last_one() -> None:
    """Both runs since the morning warmed alike, and of the first what is left after 25 minutes."""
    unread = (MORNING, logged(1, at="09:00"), *ran(2, "dry", (34.4, 34.4, 44.4, 44.4)))
    warmed = X2 / (1.0 + left(25.0))
    assert front(*unread)[1] == pytest.approx(X2 * left(25.0) + warmed, abs=0.01)


def test_of_two_readings_between_two_runs_the_first_counts_and_a_setting_changes_nothing() -> None:
    again = after(1, 32.6, 32.6, 42.3, 42.3, air_c=AIR_C, at="09:09:00")
    rows = (*ONE, again, *ran(2, "dry", (34.4, 34.4, 44.4, 44.4)))
    assert front(*rows) == pytest.approx(front(*TWO), abs=0.01)
    lower = put(2, 32.2, 32.2, 42.0, 42.0, air_c=AIR_C, at="09:04:30")
    mass = (32.2 + OUTSIDE) / (33.2 + OUTSIDE)
    hot = (34.4 + OUTSIDE) * mass - OUTSIDE
    assert front(*ONE, lower, *ran(2, "dry", (hot, hot, 43.3, 43.3)))[:2] == pytest.approx(front(*TWO)[:2], abs=0.01)


def test_a_late_reading_is_carried_back_first_and_is_set_by_as_the_soon_one_was() -> None:
    """Twelve minutes after the end 55 % is left; what ends the next run on target is of the same air."""
    soon = front(*ONE)
    x = X1 * left(12.0)
    psi = (273.15 + AIR_C + x) / 285.15 * (30.0 + OUTSIDE) - OUTSIDE
    rows = (MORNING, logged(1, at="09:00"), after(1, psi, psi, 42.0, 42.0, air_c=AIR_C, at="09:12:48"))
    late = front(*rows)
    assert late[0] == pytest.approx(x, abs=0.01)
    assert late[1] == pytest.approx(X1 * left(12.0 + 3.0 + 0.8 + 12.0) + X1, abs=0.01)
    assert late[1] - X1 < soon[1] - X1


def test_runs_in_quick_succession_are_taken_to_go_on_so() -> None:
    """Twelve minutes apart, less than the usual quarter of an hour's wait."""
    soon = after(2, 34.4, 34.4, 44.4, 44.4, air_c=AIR_C, at="09:15:18")
    end = X2 * left(12.0) + X2 - X1 * left(12.0)
    assert front(*ONE, logged(2, at="09:12"), soon)[1] == pytest.approx(end, abs=0.01)


def test_a_late_second_reading_counts_what_was_left_up_to_its_runs_end() -> None:
    """Twelve minutes late: 22.5 minutes from the first reading to the second run's end."""
    late = after(2, 33.0, 33.0, 42.9, 42.9, air_c=AIR_C, at="09:37:48")
    over = warm(33.0) / left(12.0)
    end = over * left(25.0) + over - X1 * left(22.5)
    assert front(*ONE, logged(2, at="09:25"), late)[1] == pytest.approx(end, abs=0.01)


def test_both_sides_of_an_axle_are_set_alike() -> None:
    read = after(1, 34.8, 34.0, 43.0, 43.0, air_c=AIR_C, at="09:03:18", sun="left")
    found = told(day(MORNING, logged(1, at="09:00"), read))
    assert found.moves["lf"] == pytest.approx(found.moves["rf"])
    ways = [found.known.way[corner] for corner in ("lf", "rf")]
    mean = (warm(34.8) + warm(34.0)) / 2
    assert sum(way.end_c for way in ways) / 2 - AIR_C == pytest.approx(mean * (1 + left(18.3)), abs=0.01)


@pytest.mark.parametrize(("psi", "rule"), [(33.45, "hold"), (33.55, "heat-drift")])
def test_nothing_under_the_gauges_noise_is_drift(psi: float, rule: str) -> None:
    """Read at once, by the wait that is logged. At 33.45 it is 16.4 K over 18 C, and 42 % of that comes on top: 32.95 ends
    the next run on 34; for 33.55 it is 32.91, more than the gauge's noise of 0.6 away."""
    read = after(1, psi, psi, 42.9, 42.9, at=None, wait_min=0.0)
    assert asked(cold(30.0, 30.0, 39.2, 39.2), read, logged(1, at=None)).rule == rule


def test_it_is_said_where_it_counts() -> None:
    found = told(day(*ONE[:1], *ran(1, "dry", (34.0, 34.0, 44.0, 44.0))))
    assert found.moves
    assert later_words(found, "psi")[0].endswith("LF 34.0  RF 34.0  RR 44.0  LR 44.0, as heat builds up")
    hours = told(day(*ONE[:1], *ran(1, "dry", (34.0, 34.0, 44.0, 44.0))), 2700)
    assert not hours.moves
    assert "builds up" not in later_words(hours, "psi")[0]
    assert "builds up" not in " ".join(later_words(told(day(cold(30.0, 30.0, 39.2, 39.2, air_c=12.0))), "psi"))


SHORT = warm(31.6)
"""K over the air after a run that was broken off."""


def broken_off(*rows: Row) -> Moment:
    """The last run was not finished."""
    whole = day(*rows)
    *times, last = whole.times
    times.append(last.model_copy(update={"status": "dnf", "time_ms": None}))
    return told(dataclasses.replace(whole, tables={**whole.tables, last.FILE: tuple(times)}))


def test_after_a_run_that_was_not_finished_the_next_warms_as_a_first_run_does() -> None:
    """19.2 K, as the morning's did, on what is left of the little that was read; the usual 20 K where there is none."""
    for rows, rise in (((*ONE, *ran(2, "dry", (31.6, 31.6, 41.0, 41.0))), X1),
                       ((MORNING, *ran(1, "dry", (31.6, 31.6, 41.0, 41.0))), 20.0)):  # fmt: skip
        found = broken_off(*rows)
        way = found.known.way["lf"]
        assert (way.how, way.now_c - AIR_C) == ("unfinished", pytest.approx(SHORT, abs=0.01))
        assert way.end_c - AIR_C == pytest.approx(SHORT * left(18.3) + rise, abs=0.01)
        assert way.set_for(34.0) == pytest.approx(to_set(34.0, SHORT, SHORT * left(18.3) + rise), abs=0.01)
        assert found.confidence == ("fair" if rise == X1 else "low")
        run = 2 if rise == X1 else 1
        assert any(words.startswith(f"Run {run} was not finished") for words in cautions(found))


def test_it_warms_no_less_than_the_one_that_was_not_finished() -> None:
    found = broken_off(*TWO)
    assert found.known.way["lf"].end_c - AIR_C == pytest.approx(max(X2 * left(18.3) + X1, front(*TWO)[1]), abs=0.01)
    hotter = broken_off(*ONE, *ran(2, "dry", (36.4, 36.4, 46.4, 46.4)))
    x = warm(36.4)
    assert hotter.known.way["lf"].end_c - AIR_C == pytest.approx(x * left(25.0) + x - X1 * left(25.0), abs=0.01)


def test_it_teaches_nothing_of_what_a_first_run_warms() -> None:
    whole = broken_off(*ONE).known
    assert (whole.rises["front"].source, whole.rises["front"].runs) == ("usual", 0)
    assert (told(day(*ONE)).known.rises["front"].source) == "read"
