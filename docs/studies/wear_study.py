"""Do 80 % ranges of runs left hold the truth in 80 of 100? Sets of tyres with the truth known, judged by the program.

Run: python docs/studies/wear_study.py [SETS]

Prints the table of docs/studies/wear.md (seeded). A set: four tyres on one car, read before the first run and after
each of so many days; axles, tyres, edges and days wear differently, and every depth has a gauge error of its own.
"""

from __future__ import annotations

import math
import random
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from paddock.engine.tyres.inventory import inventory
from paddock.engine.tyres.wear import EDGES
from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.rows import CORNERS, EntrantRow, FittedRow, Row, TimeRow, TreadRow, TyreRow
from paddock.model.settings import Settings

SEED, SETS = 20261130, 1000
FLOOR_MM, NEW_MM = 1.6, 6.5


@dataclass(frozen=True)
class Case:
    """``gauge_mm``: sd of a reading, which is written to 0.1 mm; ``surface``: sd of a day's wear as a share."""

    gauge_mm: float
    surface: float
    days: int = 2
    runs: int = 8
    drive: str | None = None


CASES = (
    *(Case(gauge, 0.35, days, 8, drive)
      for days, drive in ((2, None), (2, "rear"), (1, "front"), (4, "all")) for gauge in (0.05, 0.1, 0.2)),
    *(Case(gauge, 0.35, 2, 5) for gauge in (0.05, 0.1, 0.2)),
    Case(0.2, 0.0), Case(0.1, 0.0),
)  # fmt: skip


def draw(case: Case, rng: random.Random) -> tuple[Event, dict[str, float]]:
    """An event, and tyre to its true runs left on days like the car's usual."""
    rates: dict[str, dict[str, float]] = {}
    for corners, usual in ((("lf", "rf"), 0.06), (("lr", "rr"), 0.04)):
        mean = usual * math.exp(rng.gauss(0, 0.4))
        worst = rng.choice(EDGES)
        edges = {edge: 1.0 if edge == worst else rng.uniform(0.4, 0.9) for edge in EDGES}
        for corner in corners:
            own = mean * max(0.3, rng.gauss(1, 0.25))
            rates[corner] = {edge: own * share for edge, share in edges.items()}
    depth = {corner: dict.fromkeys(EDGES, NEW_MM) for corner in CORNERS}
    rows: list[Row] = [TyreRow(tyre=corner, size="205/50R16", floor_mm=FLOOR_MM) for corner in CORNERS]
    rows += [FittedRow(day=1, run=1, number="26", corner=corner, tyre=corner) for corner in CORNERS]  # type: ignore[arg-type]
    for day in range(case.days + 1):
        harsh = max(0.3, rng.gauss(1, case.surface)) if day else 0.0
        for corner in CORNERS:
            read = {}
            for edge in EDGES:
                depth[corner][edge] -= case.runs * rates[corner][edge] * harsh
                read[f"{edge}_mm"] = round(depth[corner][edge] + rng.gauss(0, case.gauge_mm), 1)
            rows.append(TreadRow(day=day, tyre=corner, **read))
    times = [TimeRow(day=day, run=run, number="26", time_ms=46_500)
             for day in range(1, case.days + 1) for run in range(1, case.runs + 1)]  # fmt: skip
    tables: dict[str, tuple[Row, ...]] = {"entrants.csv": (EntrantRow(number="26"),), "times.csv": tuple(times)}
    for row in rows:
        tables[row.FILE] = (*tables.get(row.FILE, ()), row)
    settings = Settings.model_validate(
        {
            "name": "drawn", "runs_per_day": case.runs, "mine": {"numbers": ["26"], "cars": {"26": "drawn"}},
            "days": [date(2026, 5, 9) + timedelta(days=at) for at in range(case.days)],
        }
    )  # fmt: skip
    cars = {"drawn": Car(name="drawn", drive=case.drive)} if case.drive else {}  # type: ignore[arg-type]
    left = {corner: min((depth[corner][edge] - FLOOR_MM) / rates[corner][edge] for edge in EDGES) for corner in CORNERS}
    return Event("drawn", settings, tables, cars), left


def said(case: Case, sets: int, seed: int = SEED) -> Iterator[tuple[float | None, float | None, float | None, float]]:
    """Figure, low, high and truth of every tyre that still has tread."""
    rng = random.Random(f"{seed} {case}")
    for _ in range(sets):
        event, left = draw(case, rng)
        for state in inventory(event).tyres:
            if left[state.tyre] > 0:
                yield state.life.runs, state.life.low, state.life.high, left[state.tyre]


def inside(case: Case, sets: int, seed: int = SEED) -> float:
    """The share of ranges that hold the truth."""
    found = [
        (low is None or low <= true) and (high is None or true <= high) for _, low, high, true in said(case, sets, seed)
    ]
    return sum(found) / len(found)


def _line(case: Case, sets: int) -> str:
    found = list(said(case, sets))
    held = sum((low or 0) <= true <= (high or math.inf) for _, low, high, true in found) / len(found)
    below = sum(true < (low or 0) for _, low, _, true in found) / len(found)
    widths = sorted((high - low) / runs if high is not None and low is not None and runs else math.inf
                    for runs, low, high, _ in found)  # fmt: skip
    return (
        f"| {case.gauge_mm} mm | {100 * case.surface:.0f} % | {case.days} | {case.runs} | {case.drive or 'not said'} | "
        f"{100 * held:.0f} % | {100 * below:.0f} % | {widths[len(widths) // 2]:.1f} |"
    )


def main() -> None:
    """The table."""
    sets = int(sys.argv[1]) if len(sys.argv) > 1 else SETS
    print(
        "| gauge, sd | surfaces differ by | days | runs a day | driven | inside | fewer left than the low end | width |"
    )
    print("|---|---|---|---|---|---|---|---|")
    for case in CASES:
        print(_line(case, sets), flush=True)


if __name__ == "__main__":
    main()
