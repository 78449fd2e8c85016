"""The car's own response to pressure, where its log has contrast enough to show one.

Least squares within days: balance of a run (mean of its phases) on the hot pressures of both axles and the run's place
in the day, so that neither another course nor a track that comes in is taken for the tyres. Kept only where
the runs are enough, the pressure was moved enough, and the slope's 90 % range leaves out zero.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from paddock.engine.car.balance import front_share
from paddock.engine.car.bar_parts import holes_of
from paddock.engine.pressure.readings import CarLog, Reading
from paddock.engine.pressure.signs import phases
from paddock.engine.stats.fits import Slope, least_squares, rounding_variance, within
from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.rows import PressureRow, RunRow, SetupChange
from paddock.model.units import BALANCE_STEP

# what a car's own log has shown: balance (mid-corner, -3 ... +3) per psi of hot pressure and per point of share


MIN_RUNS = 4


@dataclass(frozen=True, slots=True)
class Response:
    """``key``: ``rear_psi``, ``front_psi`` (per psi) or ``front_share`` (per 0.01). ``per_unit``: change of balance,
    positive towards oversteer; ``se`` its standard error with ``freedom`` degrees of freedom, from ``runs``.
    """

    key: str
    per_unit: float
    se: float
    runs: int
    freedom: int

    @property
    def clear(self) -> bool:
        """Whether its 90 % range leaves out zero, from four runs or more."""
        return self.runs >= MIN_RUNS and Slope(self.per_unit, self.se, self.freedom).clear(0.9)


@dataclass(frozen=True, slots=True)
class Levels:
    """One entry a run: its day, the noted balance, and the levels it was driven at by the keys of ``Response``."""

    days: tuple[int, ...]
    balance: tuple[float, ...]
    columns: Mapping[str, tuple[float, ...]]


def fitted(levels: Levels) -> tuple[Response, ...]:
    """Responses to every column that moved within a day; empty where runs are too few or they can't be told apart."""
    count = len(levels.balance)
    centred = {key: within(levels.days, values) for key, values in levels.columns.items()}
    moved = {key: values for key, values in centred.items() if max(map(abs, values), default=0.0) > 1e-9}
    freedom = count - len(moved) - len(set(levels.days))
    if not moved or count < MIN_RUNS:
        return ()
    balance = within(levels.days, levels.balance)
    found = least_squares(list(moved.values()), balance, freedom, rounding_variance(BALANCE_STEP))
    if found is None:
        return ()
    return tuple(
        Response(key, slope.value, slope.error, count, freedom) for key, slope in zip(moved, found, strict=True)
    )


def _axle_psi(row: PressureRow, axle: str) -> float | None:
    pair = (row.lf_psi, row.rf_psi) if axle == "front" else (row.lr_psi, row.rr_psi)
    known = [value for value in pair if value is not None]
    return sum(known) / len(known) if known else None


def holes_at(car: Car, end: str, changes: Sequence[SetupChange], when: tuple[int, int]) -> tuple[int, int] | None:
    """Holes in force on a run: the last change of ``front_bar`` or ``rear_bar`` up to it, None: as the car starts."""
    held = holes_of(str(car.setup.get(f"{end}_bar", "")))
    for change in sorted(changes, key=lambda row: (row.day or 0, row.run or 0)):
        if change.setting == f"{end}_bar" and (change.day or 0, change.run or 0) <= when:
            held = holes_of(change.after) or held
    return held


def _shares(car: Car | None, changes: Sequence[SetupChange], runs: Sequence[tuple[int, int]]) -> tuple[float, ...]:
    """Front share in points with the bars in force on each run; all 0 (it never moves) where one can't be told."""
    found: list[float] = []
    for when in runs:
        front, rear = (holes_at(car, end, changes, when) if car else None for end in ("front", "rear"))
        share = front_share(car, front, rear) if car else None
        if share is None:
            return (0.0,) * len(runs)
        found.append(100 * share)
    return tuple(found)


def levels_of(event: Event, number: str) -> Levels:
    """Levels and mid-corner balance over the runs of ``number`` that have all of them."""
    car = event.car_of(number)
    numbers = event.numbers_of_car(number)
    changes = [row for row in event.of(SetupChange) if row.number in (None, *numbers)]
    after = {(row.day, row.run): row for row in event.of(PressureRow) if row.number == number and row.moment == "after"}
    found: list[tuple[tuple[int, int], float, float, float]] = []
    for run in event.of(RunRow):
        row = after.get((run.day, run.run))
        if run.number != number or run.mid is None or run.mistake or run.surface not in (None, "dry") or row is None:
            continue
        front, rear = _axle_psi(row, "front"), _axle_psi(row, "rear")
        if front is not None and rear is not None:
            found.append(((run.day, run.run), float(run.mid), front, rear))
    runs, balance, front_psi, rear_psi = zip(*found, strict=True) if found else ((),) * 4
    columns = {"front_psi": front_psi, "rear_psi": rear_psi, "front_share": _shares(car, changes, runs)}
    return Levels(tuple(day for day, _ in runs), balance, columns)


def learned(event: Event, number: str) -> tuple[Response, ...]:
    """The responses the log of ``number`` shows, clear ones and others; empty: not enough runs or contrast."""
    return fitted(levels_of(event, number))


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
