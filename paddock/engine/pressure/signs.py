"""What the last run left behind: roll-over marks, tread patterns, balance by phase; and what such runs taught."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from paddock.engine.car.bar_parts import holes_of
from paddock.engine.clock import minutes, settled
from paddock.engine.pressure.corners import AXLES
from paddock.engine.pressure.readings import CarLog, Reading, runs_before
from paddock.engine.pressure.timeline import TimedRun
from paddock.engine.stats.fits import Slope, least_squares, rounding_variance, within
from paddock.model.car import Car
from paddock.model.event import Event
from paddock.model.rows import PressureRow, RunRow, SetupChange, TreadTempRow, WeatherRow
from paddock.model.units import BALANCE_STEP

# the surface now, since when, and whether it changes faster than a tyre can be set for


_DAY_MIN = 24 * 60


def like_surface(word: str | None) -> str:
    """Whose target, rises and heat fit a surface has: dry (also drying, not said), damp, wet (also standing)."""
    return {"drying": "dry", "standing": "wet", None: "dry"}.get(word, word or "dry")


def warmth_of(word: str | None) -> str:
    """How a surface warms a tyre: dry (also not said), drying, damp, wet (also standing)."""
    return "drying" if word == "drying" else like_surface(word)


@dataclass(frozen=True, slots=True)
class SurfaceNow:
    """``word``: the surface, None = not logged. ``since_run``: the car's runs (in all) before this spell began.

    ``from_wet``: it was damp or wetter earlier today. ``since_min``: the day's minute it began at, -1 = with the day.
    """

    word: str | None
    since_run: int
    changing: bool
    from_wet: bool = False
    since_min: float = -1.0

    @property
    def target(self) -> str:
        """The target of the car file that goes with it."""
        return like_surface(self.word)


@dataclass(frozen=True, slots=True)
class _Seen:
    day: int
    minute: float
    runs_before: int
    word: str


def _from_runs(log: CarLog) -> list[_Seen]:
    return [
        _Seen(item.day, item.minute, item.runs_before, run.log.surface)
        for item in log.runs
        if isinstance(run := item.what, TimedRun) and run.log is not None and run.log.surface is not None
    ]


def _before(log: CarLog, day: int, minute: float) -> int:
    """How many of the car's runs came before a clock time of a day, or in its minute."""
    clocked = [item for item in log.runs if (item.day, math.floor(item.clock or 0.0)) <= (day, minute)]
    return len(clocked)


def _from_weather(event: Event, log: CarLog, unclocked: bool, day: int) -> list[_Seen]:
    """Weather rows; those that can't be put among the runs by the clock stand at the day's start."""
    found = []
    rows = [row for row in event.of(WeatherRow) if row.surface is not None and row.day <= day]
    at = [(row.day, minutes(row.at)) for row in rows]
    kept = settled([((its,), None if minute is None else its * _DAY_MIN + minute) for its, minute in at])
    for row, settled_at in zip(rows, kept, strict=True):
        minute = None if settled_at is None else settled_at - row.day * _DAY_MIN
        early = minute is None or unclocked
        before = sum(1 for item in log.runs if item.day < row.day) if early else _before(log, row.day, minute or 0.0)
        found.append(_Seen(row.day, -1.0 if early else minute or 0.0, before, row.surface or ""))
    return found


def _in_order(event: Event, log: CarLog, day: int) -> list[_Seen]:
    """What the run log and the weather log say of the surface, the newest last; of one minute the weather is newer."""
    runs = _from_runs(log)
    unclocked = any(item.day == day and item.clock is None for item in log.runs) and any(
        item.day == day for item in runs
    )
    seen = [*runs, *_from_weather(event, log, unclocked, day)]
    return sorted(seen, key=lambda item: (item.day, math.floor(item.minute)))


def ran_on(event: Event, log: CarLog, place: int) -> str | None:
    """The surface of the car's run at ``place`` of all: its own word, else what was seen last before it that day; None:
    not said, or no such run."""
    if not 0 <= place < len(log.runs):
        return None
    timed = log.runs[place]
    if isinstance(run := timed.what, TimedRun) and run.log is not None and run.log.surface is not None:
        return run.log.surface
    seen = [item for item in _in_order(event, log, timed.day) if item.day == timed.day]
    return next((item.word for item in reversed(seen) if item.runs_before <= place), None)


def surface_now(event: Event, log: CarLog, day: int) -> SurfaceNow:
    """Of a day, from the newest of the run log and the weather log; a run's own word stands at its start."""
    today = [item for item in _in_order(event, log, day) if item.day == day]
    if not today:
        return SurfaceNow(None, len(log.runs), False)
    now, since = today[-1], today[-1]
    for item in reversed(today):
        if item.word != now.word:
            break
        since = item
    fresh = len(log.runs) - since.runs_before <= 1 and since is not today[0]
    wet = any(item.word in {"damp", "wet", "standing"} for item in today)
    return SurfaceNow(now.word, since.runs_before, now.word == "drying" or fresh, wet, since.minute)


def from_the_wet(event: Event, log: CarLog, change: SetupChange, day: int) -> bool:
    """Whether a change of today was first driven damp or wet, it is dry now, and nothing was done to it since."""
    if change.day != day or change.run is None:
        return False
    later = event.of(SetupChange)[event.of(SetupChange).index(change) + 1 :]
    if any((row.setting, row.number) == (change.setting, change.number) for row in later):
        return False
    place = runs_before(log.items, day, change.run, change.number)
    now = surface_now(event, log, day).word
    return like_surface(ran_on(event, log, place)) in {"damp", "wet"} and like_surface(now) == "dry"


PHASES = ("entry", "mid", "exit", "slalom")
_ROLL = ("short", "on", "past")


@dataclass(frozen=True, slots=True)
class Sign:
    """``kind``: mark, middle or a phase; ``axle`` None for a phase. ``counts``: enough to count for the hold gate.

    ``value``: ``past``, ``hot``, ``+2``; what it says stands in ``paddock.pages.reasons``.
    """

    kind: str
    axle: str | None
    value: str
    counts: bool


@dataclass(frozen=True, slots=True)
class AxleSigns:
    """``mark``: short, on, past, None = none or the sides disagree; ``middle``: hot, cool, even, None = not read."""

    mark: str | None = None
    middle: str | None = None

    @property
    def under(self) -> bool:
        """Rolls past the mark: under its best pressure."""
        return self.mark == "past"

    @property
    def over(self) -> bool:
        """Short of the mark with a hot middle: over its best pressure."""
        return self.mark == "short" and self.middle == "hot"


def _mark(rows: Iterable[TreadTempRow]) -> str | None:
    """The harder rolled tyre of the axle counts; short on one side and past on the other says nothing."""
    marks = {row.mark for row in rows if row.mark is not None}
    if not marks or marks >= {"short", "past"}:
        return None
    return max(marks, key=_ROLL.index)


def _over_edges(row: TreadTempRow) -> float | None:
    if row.inner_c is None or row.middle_c is None or row.outer_c is None:
        return None
    return row.middle_c - (row.inner_c + row.outer_c) / 2


def _middle(rows: Iterable[TreadTempRow], middle_c: float) -> str | None:
    """Mean over the axle's tyres; hot or cool only where no tyre says the opposite."""
    found = [value for row in rows if (value := _over_edges(row)) is not None]
    if not found:
        return None
    mean = sum(found) / len(found)
    if mean >= middle_c and min(found) > -middle_c:
        return "hot"
    return "cool" if mean <= -middle_c and max(found) < middle_c else "even"


def axle_signs(rows: Iterable[TreadTempRow], middle_c: float) -> dict[str, AxleSigns]:
    """Marks and middles of a run, per axle."""
    rows = tuple(rows)
    by_axle = {axle: [row for row in rows if row.corner in pair] for axle, pair in AXLES.items()}
    return {axle: AxleSigns(_mark(found), _middle(found, middle_c)) for axle, found in by_axle.items()}


def phases(run: RunRow | None) -> dict[str, int]:
    """Balance of the phases that were recorded: -3 strong understeer ... +3 strong oversteer."""
    if run is None:
        return {}
    return {name: value for name in PHASES if (value := getattr(run, name)) is not None}


def hottest_tread(rows: Iterable[TreadTempRow]) -> float | None:
    """The hottest tyre's mean tread temperature, C."""
    means = []
    for row in rows:
        known = [value for value in (row.inner_c, row.middle_c, row.outer_c) if value is not None]
        if known:
            means.append(sum(known) / len(known))
    return max(means, default=None)


def all_signs(axles: Mapping[str, AxleSigns], balance: Mapping[str, int]) -> tuple[Sign, ...]:
    """Every sign of the run, for the second page."""
    found = []
    for axle, signs in axles.items():
        if signs.mark:
            found.append(Sign("mark", axle, signs.mark, True))
        if signs.middle:
            found.append(Sign("middle", axle, signs.middle, signs.middle != "even"))
    felt = (Sign(name, None, f"{value:+d}" if value else "0", abs(value) >= 2) for name, value in balance.items())
    return (*found, *felt)


def supporting(signs: Iterable[Sign], axle: str, up: bool, side: int, marks: Iterable[str] = ()) -> tuple[Sign, ...]:
    """The counting signs that agree with moving ``axle`` up (or down).

    ``side``: -1 the complaint is understeer, +1 oversteer. ``marks``: marks of any axle the rule itself rests on
    (``front on``).
    """
    mark, middle = ("past", "cool") if up else ("short", "hot")
    return tuple(sign for sign in signs if sign.counts and _agrees(sign, axle, mark, middle, side, tuple(marks)))


def _agrees(sign: Sign, axle: str, mark: str, middle: str, side: int, marks: tuple[str, ...]) -> bool:
    if sign.kind == "mark":
        return (sign.axle == axle and sign.value == mark) or f"{sign.axle} {sign.value}" in marks
    if sign.kind == "middle":
        return sign.axle == axle and sign.value == middle
    return (sign.value.startswith("-")) == (side < 0)


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
    from paddock.engine.car.balance import front_share

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
