"""Time against hot pressure, an axle at a time: what my own runs show once the course is taken off them.

Over all days at hand: ln time less the course, with a level and a learning of its own for each day, on the hot
pressures of both axles and, where three pressures or more were tried, on their squares (generalised least squares).
Pressure against grip is a hill (common practice), so the best pressure is where the curve turns; its range is that of a
ratio (E. C. Fieller, Journal of the Royal Statistical Society B 16, 1954), and no range at all while the curve does not
surely turn: "not bracketed yet".
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from paddock.engine.field.case import NO_HABITS, Case, Contrast, field_without, others_on, own_runs
from paddock.engine.field.priors import kind_of_change
from paddock.engine.field.scores import Slot, mistakes, raw_times
from paddock.engine.pressure.readings import car_log
from paddock.engine.stats.quantiles import t_quantile
from paddock.model.event import Event
from paddock.model.rows import RunRow, SetupChange

if TYPE_CHECKING:
    from paddock.engine.field.scores import Floats

AXLES = ("front", "rear")
LEAST_RUNS = 6
LEAST_SPREAD_PSI = 1.0
"""Less was not tried, only met."""
_APART_PSI = 0.5
"""Pressures closer than this are one pressure."""
_BEYOND_PSI = 1.0
"""So far beyond what was tried the curve still says which way."""


@dataclass(frozen=True, slots=True)
class PressureCurve:
    """Time by hot pressure of an axle, from ``runs`` on ``days``; tried from ``low_psi`` to ``high_psi``, true gauge.

    Seconds in 45 at ``middle_psi``: ``slope`` a psi (negative: more pressure is quicker), ``bend`` a psi squared (the
    curve is slope x + bend x squared; 0: a line), their covariance ``cov`` (slope, both, bend); ``freedom`` left.
    ``best_psi`` and ``best80_psi``: where it turns, None: not bracketed yet.
    """

    axle: str
    runs: int
    days: int
    low_psi: float
    high_psi: float
    middle_psi: float
    slope: float
    bend: float
    cov: tuple[float, float, float]
    freedom: float
    best_psi: float | None = None
    best80_psi: tuple[float, float] | None = None

    def steepness(self, psi: float) -> tuple[float, float]:
        """Seconds in 45 a psi at ``psi``, and the standard error."""
        away = 2.0 * (psi - self.middle_psi)
        error = self.cov[0] + 2.0 * away * self.cov[1] + away * away * self.cov[2]
        return self.slope + away * self.bend, math.sqrt(max(error, 0.0))

    def way(self, psi: float) -> int:
        """Which way is quicker from ``psi``: 1 more pressure, -1 less; 0: not clear at nine in ten, or never tried."""
        if not self.low_psi - _BEYOND_PSI <= psi <= self.high_psi + _BEYOND_PSI:
            return 0
        steep, error = self.steepness(psi)
        if abs(steep) <= t_quantile(0.95, self.freedom) * error:
            return 0
        return -1 if steep > 0 else 1


def fieller(top: float, bottom: float, cov: tuple[float, float, float], reach: float) -> tuple[float, float] | None:
    """Range of ``top / bottom``; ``cov``: variance of the top, covariance, variance of the bottom; ``reach``: t.

    None where the bottom is not surely off 0: the range then has no end.
    """
    a = bottom * bottom - reach * reach * cov[2]
    if a <= 0.0:
        return None
    b = top * bottom - reach * reach * cov[1]
    c = top * top - reach * reach * cov[0]
    half = math.sqrt(max(b * b - a * c, 0.0)) / a
    return b / a - half, b / a + half


@dataclass(frozen=True, slots=True)
class _Run:
    """A run of mine with both axles' hot pressures."""

    slot: Slot
    psi: tuple[float, float]


def pressure_curves(events: Sequence[Event], number: str) -> dict[str, PressureCurve]:
    """By axle, those that were moved enough over enough runs; empty where none was. Dry runs without a mistake only.

    ``events``: the one in question last; in the others the car is followed, whatever its number there.
    """
    car = events[-1].car_name_of(number) if events else None
    found = [
        (event, theirs, days)
        for event in events
        for theirs in numbers_of(event, number, car)
        if (days := list(_days(event, theirs)))
    ]
    runs = [run for *_, days in found for day in days for run in day]
    if len(runs) < LEAST_RUNS:
        return {}
    moved = [at for at in range(2) if _tried(found, at) >= LEAST_SPREAD_PSI]
    return _fitted(found, runs, moved) if moved else {}


def numbers_of(event: Event, number: str, car: str | None) -> list[str]:
    """Mine of the same car; where no car is named, the same number."""
    names = {mine: event.car_name_of(mine) for mine in event.settings.mine.numbers}
    return [mine for mine, name in names.items() if (name == car if name and car else mine == number)]


def _days(event: Event, number: str) -> Iterator[list[_Run]]:
    """Day by day the runs that can teach; days with one are passed over."""
    times, wrong = raw_times(event).get(number, {}), mistakes(event)
    wet = {(row.day, row.run) for row in event.of(RunRow)
           if row.number == number and row.surface not in (None, "dry", "drying")}  # fmt: skip
    read: dict[Slot, tuple[float, float]] = {}
    for item in car_log(event, number).readings:
        front, rear = item.psi.axle("front"), item.psi.axle("rear")
        if item.moment == "after" and item.timed.number == number and front is not None and rear is not None:
            read[item.timed.day, item.timed.run] = (front, rear)
    taught = [_Run(slot, read[slot]) for slot in sorted(times)
              if slot in read and slot not in wet and (number, slot) not in wrong]  # fmt: skip
    for day in sorted({run.slot[0] for run in taught}):
        runs = [run for run in taught if run.slot[0] == day]
        if len(runs) > 1:
            yield runs


_Found = Sequence[tuple[Event, str, list[list[_Run]]]]


def _tried(found: _Found, at: int) -> float:
    """The most an axle was moved within one day, psi: between days the course differs too."""
    spans = [max(run.psi[at] for run in day) - min(run.psi[at] for run in day) for *_, days in found for day in days]
    return max(spans, default=0.0)


def _levels(runs: Sequence[_Run], at: int) -> int:
    count, last = 0, -math.inf
    for psi in sorted(run.psi[at] for run in runs):
        if psi - last >= _APART_PSI:
            count, last = count + 1, psi
    return count


def _fitted(found: _Found, runs: Sequence[_Run], moved: Sequence[int]) -> dict[str, PressureCurve]:
    import numpy as np

    middles = [sum(run.psi[at] for run in runs) / len(runs) for at in range(2)]
    powers = [(at, power) for at in moved for power in ((1, 2) if _levels(runs, at) >= 3 else (1,))]
    info, score = np.zeros((len(powers), len(powers))), np.zeros(len(powers))
    used, days = 0, 0
    for event, number, by_day in found:
        for day in by_day:
            told = _told(
                event, number, day, [[(run.psi[at] - middles[at]) ** power for at, power in powers] for run in day]
            )
            if told is not None:
                info, score, used, days = info + told[0], score + told[1], used + len(day), days + 1
    freedom = used - days - len(powers)
    if freedom < 2 or np.linalg.cond(info) > 1e10:
        return {}
    cov = np.linalg.inv(info)
    value = cov @ score
    made = {}
    for at in moved:
        place = powers.index((at, 1))
        bent = (at, 2) in powers
        tried = [run.psi[at] for run in runs]
        curve = PressureCurve(
            AXLES[at], used, days, min(tried), max(tried), middles[at], float(value[place]),
            float(value[place + 1]) if bent else 0.0,
            (float(cov[place, place]), float(cov[place, place + 1]) if bent else 0.0,
             float(cov[place + 1, place + 1]) if bent else 0.0), float(freedom),
        )  # fmt: skip
        made[AXLES[at]] = _bracketed(curve)
    return made


def _bracketed(curve: PressureCurve) -> PressureCurve:
    """With its best pressure where the curve surely turns, within what was tried."""
    from dataclasses import replace

    slope, both, bend = curve.cov
    found = fieller(-curve.slope, 2 * curve.bend, (slope, -2 * both, 4 * bend), t_quantile(0.9, curve.freedom))
    if curve.bend <= 0.0 or found is None:
        return curve
    best = curve.middle_psi - curve.slope / (2 * curve.bend)
    if not curve.low_psi <= best <= curve.high_psi:
        return curve
    return replace(curve, best_psi=best, best80_psi=(curve.middle_psi + found[0], curve.middle_psi + found[1]))


def _told(event: Event, number: str, day: Sequence[_Run], columns: list[list[float]]) -> tuple[Floats, Floats] | None:
    """A day's information and score on the columns; None where nobody else tells its course."""
    import numpy as np

    from paddock.engine.field.own import whitened

    times = raw_times(event)
    field = field_without(event, number, times, (day[0].slot[0],))
    if field is None:
        return None
    slots = tuple(run.slot for run in day)
    others = others_on(event, number, slots, lambda row: kind_of_change(row.setting, row.item) != "pressure")
    quiet = Contrast("day", (), slots, (False,) * len(slots), others)
    own = own_runs(
        Case(event, SetupChange(id="-"), number, times, dict(times[number]), quiet), field, NO_HABITS, alone=True
    )
    inverse, gap = whitened(field.fitted, own)
    x = np.array(columns)
    return x.T @ inverse @ x, x.T @ inverse @ gap


@dataclass(frozen=True, slots=True)
class QuickerWay:
    """Which way is quicker, and what shows it: runs, s for 1 psi there, the best pressure (None: not bracketed)."""

    up: bool
    runs: int
    steep_s: float
    best_psi: float | None


def quicker_way(events: Sequence[Event], number: str, axle: str, psi: float | None) -> QuickerWay | None:
    """What my own times say of an axle that now runs at ``psi`` hot; None: nothing clear. The rules ask this alone."""
    curve = pressure_curves(events, number).get(axle) if psi is not None else None
    way = curve.way(psi) if curve is not None and psi is not None else 0
    if curve is None or not way:
        return None
    return QuickerWay(way > 0, curve.runs, abs(curve.steepness(psi or 0.0)[0]), curve.best_psi)
