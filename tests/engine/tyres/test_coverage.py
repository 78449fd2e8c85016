"""Do 80 % ranges of runs left hold the truth in 80 of 100? Sets drawn from stated truths, judged by the program.

Sharp and blunt gauges, surfaces that wear differently from day to day. In brackets: what 400 sets a case should hold.
"""

from __future__ import annotations

import random
from collections.abc import Iterator

import pytest

from paddock.engine.tyres import inventory
from paddock.model.rows import Row
from tests.engine.tyres.make import SET, car, clean, fit, tread, tyres

DAYS, RUNS, SETS = 2, 8, 60
FLOOR = 1.6


def _sets(gauge_mm: float, between_days: float, seed: int) -> Iterator[tuple[float | None, float | None, float]]:
    """Low and high of a set's runs left, and the truth, for front tyres that wear 0.08 mm a run, more or less."""
    rng = random.Random(seed)
    for _ in range(SETS):
        rates = {name: max(0.02, rng.gauss(0.08 if name in "AB" else 0.04, 0.016)) for name in "ABCD"}
        depth = dict.fromkeys("ABCD", 6.5)
        rows: list[Row] = [*tyres(*"ABCD", size="205/50R16"), *fit(1, 1, **SET)]
        rows += [tread(0, name, *[round(rng.gauss(6.5, gauge_mm), 1)] * 3) for name in "ABCD"]
        for day in range(1, DAYS + 1):
            harsh = max(0.3, rng.gauss(1.0, between_days))
            for name in "ABCD":
                depth[name] -= RUNS * rates[name] * harsh
                rows.append(tread(day, name, *[round(rng.gauss(depth[name], gauge_mm), 1)] * 3))
        times = [row for day in range(1, DAYS + 1) for row in clean("26", day, RUNS)]
        for state in inventory(car(times, *rows, runs_per_day=RUNS)).tyres:
            yield state.life.low, state.life.high, (depth[state.tyre] - FLOOR) / rates[state.tyre]


def _held(gauge_mm: float, between_days: float) -> float:
    found = list(_sets(gauge_mm, between_days, 11))
    inside = sum((low is None or low <= true) and (high is None or true <= high) for low, high, true in found)
    return inside / len(found)


@pytest.mark.xfail(strict=True, reason="the range knows one gauge and no difference between days")
@pytest.mark.parametrize(("gauge_mm", "between_days"), [(0.2, 0.0), (0.1, 0.35)])
def test_ranges_of_runs_left_hold_as_often_as_they_say(gauge_mm: float, between_days: float) -> None:
    assert 0.77 <= _held(gauge_mm, between_days) <= 0.86


@pytest.mark.xfail(strict=True, reason="a move's life is one figure, though the life without it is a range")
def test_what_a_move_buys_has_a_range() -> None:
    from paddock.engine.tyres import moves_for

    rows: list[Row] = [*tyres(*"ABCD", size="205/50R16", directional=False), *fit(1, 1, **SET)]
    rows += [tread(0, name, 6, 6, 6) for name in "ABCD"]
    rows += [tread(1, name, *[5.0 if name in "AB" else 5.8] * 3) for name in "ABCD"]
    swaps = [item.sentence for item in moves_for(inventory(car(clean("26", 1, 10), *rows)))[0] if item.kind == "swap"]
    assert swaps
    assert "(" in swaps[0].partition("instead of")[2]
