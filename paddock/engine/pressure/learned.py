"""The car's own response to pressure, where its log has contrast enough to show one.

Least squares within days: balance of a run (mean of its phases) on the hot pressures of both axles and the run's place
in the day, so that neither another course nor a track that comes in is taken for the tyres. Kept only where
the runs are enough, the pressure was moved enough, and the slope's 90 % range leaves out zero.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from paddock.engine.pressure.signs import phases
from paddock.engine.readings.log import CarLog, Reading
from paddock.engine.stats.fits import least_squares, rounding_variance, within
from paddock.model.kinds import BALANCE_STEP


@dataclass(frozen=True, slots=True)
class Sample:
    """One run: its day and place, mean balance, hot mean pressure of each axle, psi."""

    day: int
    place: int
    balance: float
    front_psi: float
    rear_psi: float


@dataclass(frozen=True, slots=True)
class Learned:
    """Balance per psi of an axle: positive = more pressure brings more oversteer. ``low``, ``high``: 90 % range."""

    axle: str
    slope: float
    low: float
    high: float
    runs: int
    spread_psi: float

    @property
    def evidence(self) -> str:
        """The evidence in words."""
        towards = "oversteer" if self.slope > 0 else "understeer"
        return (
            f"learned from {self.runs} runs over {self.spread_psi:.1f} psi: {self.axle} +1 psi brings "
            f"{abs(self.slope):.2f} of a step to {towards} (90 %: {self.low:+.2f} to {self.high:+.2f})"
        )


def _after_of(log: CarLog) -> dict[tuple[int, int, str], Reading]:
    return {
        (item.timed.day, item.timed.run, item.timed.number): item
        for item in log.readings if item.moment == "after" and item.usable
    }  # fmt: skip


def samples_of(log: CarLog, number: str, surfaces: Sequence[str | None]) -> tuple[Sample, ...]:
    """The runs of one driver that can teach: logged, no mistake, on one of ``surfaces``, hot pressures read."""
    after, found = _after_of(log), []
    for place, run in enumerate(log.run_rows()):
        reading = after.get((run.day, run.run, run.number))
        balance = phases(run.log)
        if run.number != number or run.log is None or run.log.mistake or reading is None or not balance:
            continue
        front, rear = reading.psi.axle("front"), reading.psi.axle("rear")
        if run.log.surface in surfaces and front is not None and rear is not None:
            found.append(Sample(run.day, place, sum(balance.values()) / len(balance), front, rear))
    return tuple(found)


def _contrast(samples: Sequence[Sample], axle: str) -> float:
    """The most the axle's pressure was moved within one day, psi."""
    by_day: dict[int, list[float]] = defaultdict(list)
    for sample in samples:
        by_day[sample.day].append(getattr(sample, f"{axle}_psi"))
    return max((max(found) - min(found) for found in by_day.values()), default=0.0)


def learn(samples: Sequence[Sample], runs: float, contrast_psi: float) -> dict[str, Learned]:
    """The learned response of each axle that shows one; empty where the log is too thin."""
    spreads = {axle: _contrast(samples, axle) for axle in ("front", "rear")}
    axles = [axle for axle, spread in spreads.items() if spread >= contrast_psi]
    df = len(samples) - len({sample.day for sample in samples}) - len(axles) - 1
    if len(samples) < runs or not axles or df < 2:
        return {}
    days = [sample.day for sample in samples]
    columns = [within(days, [getattr(sample, f"{axle}_psi") for sample in samples]) for axle in axles]
    columns.append(within(days, [float(sample.place) for sample in samples]))
    balance = within(days, [sample.balance for sample in samples])
    found = least_squares(columns, balance, df, rounding_variance(BALANCE_STEP))
    if found is None:
        return {}
    return {
        axle: Learned(axle, slope.value, *slope.interval(0.9), len(samples), spreads[axle])
        for axle, slope in zip(axles, found, strict=False) if slope.clear(0.9)
    }  # fmt: skip
