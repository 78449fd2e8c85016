"""Runs and pressure rows of one car in the order they happened, whoever drove; which readings are in doubt.

Rows may lack a clock time; then the order of runs and moments (cold, before, set, the run, after, set) stands in,
and a ``set`` row counts as after its run only where it follows that run's ``after`` row in the file.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from paddock.engine.clock import hh_mm, minutes, settled
from paddock.engine.pressure.corners import CORNER_NAMES
from paddock.model.event import Event
from paddock.model.rows import CORNERS, PressureRow, RunRow, TimeRow
from paddock.model.settings import Gauge, Settings
from paddock.model.units import plain_number, to_psi

RUN_MIN = 0.8
"""A run of unknown length, minutes."""

_COLD, _BEFORE, _RUN, _AFTER, _SET_AFTER = range(5)


@dataclass(frozen=True, slots=True)
class TimedRun:
    """A run of the car: my log of it, its timed row, either may be missing. ``time.status`` is never ``dns``.

    ``implied``: nothing of it is typed yet, the gauge was first: a reading after it says that it was driven.
    """

    day: int
    run: int
    number: str
    log: RunRow | None = None
    time: TimeRow | None = None
    implied: str | None = None

    @property
    def at(self) -> str | None:
        """Clock time of the start as timed, else as logged; of a run not typed yet, of the reading after it."""
        return (self.time.at if self.time else None) or (self.log.at if self.log else None) or self.implied

    @property
    def minutes(self) -> float:
        """How long it took; ``RUN_MIN`` where no time is known."""
        time = self.time.time_ms if self.time else None
        return RUN_MIN if time is None or self.implied else time / 60_000

    @property
    def finished(self) -> bool:
        """A whole course was driven, as far as is known."""
        return self.time is None or self.time.status != "dnf"

    @property
    def counted(self) -> bool:
        """One of the runs of a day: no practice, and no run that is driven again."""
        return self.time is None or self.time.status not in {"rerun", "practice"}


@dataclass(frozen=True, slots=True)
class Timed:
    """One thing on the line of time. ``minute`` may be borrowed from a neighbour: only its order is sure.

    It is later than ``clock`` where that was set back (``paddock.engine.clock.settled``).

    ``clock``: the row's own clock in minutes, None where it has none. ``runs_before``: the car's runs before it, in
    all; ``runs_today``: those of its day.
    """

    what: TimedRun | PressureRow
    day: int
    run: int
    number: str
    rank: int
    index: int
    clock: float | None
    minute: float = 0.0
    runs_before: int = 0
    runs_today: int = 0


def car_runs(event: Event, numbers: Sequence[str]) -> list[TimedRun]:
    """All runs of these entries that were started, re-runs and practice too."""
    logs = {(row.day, row.run, row.number): row for row in event.of(RunRow) if row.number in numbers}
    found: list[TimedRun] = []
    seen: set[tuple[int, int, str]] = set()
    for row in event.times_of(*numbers):
        key = (row.day, row.run, row.number)
        if row.status == "dns":
            seen.add(key)
        elif row.time_ms is not None or row.status is not None or key in logs:
            found.append(TimedRun(*key, log=logs.get(key), time=row))
            seen.add(key)
    found += [TimedRun(*key, log=row) for key, row in logs.items() if key not in seen]
    return found + _not_typed_yet(event, numbers, found)


_APART_MIN, _LATE_MIN = 8.0, 15.0
"""Two readings after one run further apart than this are of two runs where the first is driven again."""


def _not_typed_yet(event: Event, numbers: Sequence[str], typed: Sequence[TimedRun]) -> list[TimedRun]:
    """The run a reading after it tells of: the next of its number, or the re-run that is due."""
    found = []
    after = [row for row in event.of(PressureRow) if row.moment == "after" and row.run and row.number in numbers]
    for day, number in dict.fromkeys((row.day, row.number) for row in after):
        mine = [run for run in typed if (run.day, run.number) == (day, number)]
        last = max((run.run for run in mine), default=0)
        rows = [row for row in after if (row.day, row.number) == (day, number)]
        newest = [row for row in rows if row.run == last + 1]
        if not newest and last and all(not run.counted for run in mine if run.run == last):
            clocks = [minute for row in rows if row.run == last and (minute := minutes(row.at)) is not None]
            if clocks and max(clocks) - clocks[0] > _APART_MIN:
                newest = [row for row in rows if row.run == last and minutes(row.at) == max(clocks)]
        if newest and newest[0].run is not None:
            found.append(TimedRun(day, newest[0].run, number, implied=newest[0].at))
    return found


def _rank(row: PressureRow, after_seen: bool) -> int:
    if row.moment == "set":
        return _SET_AFTER if after_seen else _BEFORE
    return {"cold": _COLD, "before": _BEFORE, "after": _AFTER}[row.moment]


def readings_entered(rows: Iterable[PressureRow]) -> list[Timed]:
    """Readings in the order they were entered, each at its run and rank within it."""
    after_seen: set[tuple[int, int | None, str]] = set()
    runs: dict[tuple[int, str], int] = {}
    found = []
    for index, row in enumerate(rows):
        key = (row.day, row.run, row.number)
        run = row.run or (0 if row.moment == "cold" else runs.get((row.day, row.number), 0))
        runs[row.day, row.number] = run
        found.append(
            Timed(row, row.day, run, row.number, _rank(row, key in after_seen), index, minutes(row.at)),
        )
        if row.moment == "after":
            after_seen.add(key)
    return found


def _held(runs: Sequence[Timed], others: Sequence[Timed]) -> list[Timed]:
    """The tries of one run, their clocks kept between its own before and after rows: a log is often typed late.

    Of a run driven again a reading belongs to the last try that began before it, or was typed minutes after it.
    """
    after = sorted(item.clock for item in others if item.rank == _AFTER and item.clock is not None)
    before = [item.clock for item in others if item.rank < _RUN and item.clock is not None]
    found: list[Timed] = []
    for place, run in enumerate(runs):
        if run.clock is None:
            found.append(run)
            continue
        since = found[-1].clock if found else None
        mine = [clock for clock in after if since is None or clock > since + _APART_MIN]
        if place + 1 < len(runs) or place:
            mine = [clock for clock in mine if clock >= run.clock - _LATE_MIN]
        high = min(mine, default=run.clock)
        low = max((clock for clock in before if clock <= (run.clock if place else high)), default=0.0)
        found.append(replace(run, clock=min(max(run.clock, low), high) if low <= high else run.clock))
    return found


def _filled(items: list[Timed]) -> list[Timed]:
    """``minute`` set for every item of one entry's day: its clock as the entry settles it, else its neighbour's."""
    items = sorted(_settled(items), key=lambda item: (item.run, item.rank, item.index))
    known = next((item.minute for item in items if item.clock is not None), 0.0)
    filled = []
    for item in items:
        known = item.minute if item.clock is not None else known
        filled.append(replace(item, minute=known))
    return filled


def _settled(items: Sequence[Timed]) -> list[Timed]:
    """Those with a clock at their minute; a run kept between what was read before and after it, and at other runs."""
    entered = sorted(items, key=lambda item: item.index)
    read, ran = ([item for item in entered if (item.rank == _RUN) is runs] for runs in (False, True))
    minutes_read = settled([((item.run, item.rank), item.clock) for item in read])
    found = [replace(item, minute=minute or 0.0) for item, minute in zip(read, minutes_read, strict=True)]
    clocked = [item for item in found if item.clock is not None]
    tries = Counter(item.run for item in ran)
    for item, minute in zip(ran, settled([((item.run, item.clock or 0.0), item.clock) for item in ran]), strict=True):
        kept = minute or 0.0
        low = max((at.minute for at in clocked if 0 < at.run < item.run), default=0.0)
        high = min((at.minute for at in clocked if at.run > item.run), default=math.inf)
        kept = min(max(kept, low), high) if low <= high else kept
        if tries[item.run] == 1:
            low = max((at.minute for at in clocked if at.run == item.run and at.rank < _RUN), default=kept)
            high = min((at.minute for at in clocked if at.run == item.run and at.rank == _AFTER), default=kept)
            kept = min(max(kept, low), high) if low <= high else kept
        found.append(replace(item, minute=kept))
    return found


def _counted(items: list[Timed]) -> tuple[Timed, ...]:
    total, today, day, counted = 0, 0, 0, []
    for item in items:
        today = today if item.day == day else 0
        day = item.day
        counted.append(replace(item, runs_before=total, runs_today=today))
        if isinstance(item.what, TimedRun):
            total, today = total + 1, today + 1
    return tuple(counted)


def timeline(event: Event, number: str) -> tuple[Timed, ...]:
    """Runs and pressure rows of the car that ``number`` drives, in order."""
    numbers = event.numbers_of_car(number)
    readings = readings_entered(row for row in event.of(PressureRow) if row.number in numbers)
    by_run: dict[tuple[int, int, str], list[Timed]] = {}
    for item in readings:
        by_run.setdefault((item.day, item.run, item.number), []).append(item)
    tries: dict[tuple[int, int, str], list[Timed]] = {}
    for index, run in enumerate(car_runs(event, numbers)):
        key = (run.day, run.run, run.number)
        tries.setdefault(key, []).append(Timed(run, *key, _RUN, index, minutes(run.at)))
    runs = [
        run for key, same in tries.items()
        for run in _held(sorted(same, key=lambda item: (item.clock is None, item.clock)), by_run.get(key, ()))
    ]  # fmt: skip
    groups: dict[tuple[int, str], list[Timed]] = {}
    for item in (*readings, *runs):
        groups.setdefault((item.day, item.number), []).append(item)
    filled = [item for group in groups.values() for item in _filled(group)]
    first = {key: place for place, key in enumerate(by_run)}
    place = {number: place for place, number in enumerate(numbers)}
    filled.sort(
        key=lambda item: (
            item.day, item.minute, item.run,
            first.get((item.day, item.run, item.number), len(first)), place[item.number], item.rank, item.index,
        )
    )  # fmt: skip
    return _counted(filled)


_TOP_PSI, _BAR_PSI = 100.0, 6.0
_AIR_C, _TYRE_C = (-40.0, 50.0), (-40.0, 120.0)
REST_MIN = 45.0
"""A tyre that has stood longer than this after a run is before a first run again: our choice, two cooling times."""
COLD_APART_K = 5.0
"""A tyre measured by more than this over the air is no cold tyre, K."""


@dataclass(frozen=True, slots=True)
class ReadingDoubt:
    """``field``: a corner or a column of the row; ``out``: left out of the sums."""

    row: PressureRow
    field: str
    text: str
    out: bool = True

    def __str__(self) -> str:
        where = f"pressures.csv:{self.row.line}" if self.row.line else "pressures.csv"
        run = f" run {self.row.run}" if self.row.run else ""
        return f"{where}: day {self.row.day}{run} {self.row.moment}: {self.text}"


def gauge_of(settings: Settings, row: PressureRow) -> Gauge:
    """The row's gauge; an unknown or unnamed one among several: 0.5 psi steps, repeats to 0.3 psi."""
    return settings.gauge_of(row.gauge) or Gauge(id=row.gauge or "")


def unknown_gauge(row: PressureRow, settings: Settings) -> str:
    """What is asked of a row whose gauge the settings lack; "" = they have it."""
    if row.gauge is None or settings.gauge_of(row.gauge) is not None:
        return ""
    return f"gauge {row.gauge!r} is not in event.toml: taken to repeat to 0.3 psi"


def _n(value: float) -> str:
    return plain_number(value, 1)


def _corner(row: PressureRow, corner: str) -> ReadingDoubt | None:
    value: float | None = getattr(row, f"{corner}_psi")
    name = CORNER_NAMES[corner]
    if value is None:
        return ReadingDoubt(row, corner, f"{name} was not read")
    if value > _TOP_PSI:
        hint = f": is that kPa ({_n(to_psi(value, 'kpa'))} psi)?" if value <= 600 else ": is that right?"
        return ReadingDoubt(row, corner, f"{name} {_n(value)} psi{hint} Left out")
    if value < 0:
        return ReadingDoubt(row, corner, f"{name} {_n(value)} psi: no gauge reads that. Left out")
    return None


def _left_alone(row: PressureRow, corner: str) -> bool:
    """What a setting does not name was left as it was: so is advice of one corner kept."""
    return row.moment == "set" and getattr(row, f"{corner}_psi") is None


def _bar_typed(row: PressureRow) -> list[ReadingDoubt]:
    """All corners read in bar under a psi header: under 6 psi each, and none quite flat."""
    values = {corner: getattr(row, f"{corner}_psi") for corner in CORNERS}
    known = {corner: value for corner, value in values.items() if value is not None}
    if len(known) < 2 or not all(0.5 < value < _BAR_PSI for value in known.values()):
        return []
    return [ReadingDoubt(row, corner, _bar_text(corner, value)) for corner, value in known.items()]


def _bar_text(corner: str, value: float) -> str:
    return f"{CORNER_NAMES[corner]} {_n(value)} psi: is that bar ({_n(to_psi(value, 'bar'))} psi)? Left out"


def _fahrenheit(value: float) -> float:
    return (value - 32.0) * 5 / 9


def _air(row: PressureRow, weather_c: float | None) -> ReadingDoubt | None:
    value = row.air_c
    if value is None:
        return None
    for other, unit in ((_fahrenheit(value), "F"), (value * 1.8 + 32.0, "C")):
        near = weather_c is not None and abs(value - weather_c) > 15.0 and abs(other - weather_c) < 6.0
        if near or (unit == "F" and not _AIR_C[0] <= value <= _AIR_C[1]):
            return ReadingDoubt(row, "air_c", f"air {_n(value)} C: is that {_n(other)} C, typed in {unit}? Left out")
    return None


def _tyre(row: PressureRow, air_c: float | None) -> ReadingDoubt | None:
    value = row.tyre_c
    if value is None:
        return None
    other = _fahrenheit(value)
    likely = air_c is not None and value > air_c + 65.0 and air_c - 5.0 < other < air_c + 50.0
    if likely or not _TYRE_C[0] <= value <= _TYRE_C[1]:
        return ReadingDoubt(row, "tyre_c", f"tyre {_n(value)} C: is that {_n(other)} C, typed in F? Left out")
    return None


def _cold(row: PressureRow, air_c: float | None, ran: bool, since_run: float | None) -> ReadingDoubt | None:
    """A reading marked cold that can't be: soon after a run, or the tyre well above the air."""
    if row.moment != "cold":
        return None
    wait = row.wait_min if row.wait_min is not None and row.wait_min >= 0 else since_run
    if wait is not None and wait < REST_MIN and (ran or wait > 0):
        return ReadingDoubt(row, "moment", f"marked cold after standing {_n(wait)} min: was it hot? Not taken as cold")
    if row.tyre_c is not None and air_c is not None and row.tyre_c - air_c > COLD_APART_K:
        text = f"marked cold with the tyre {_n(row.tyre_c - air_c)} C over the air: was it hot? Not taken as cold"
        return ReadingDoubt(row, "moment", text)
    return None


def _clock(row: PressureRow, settled: float | None) -> ReadingDoubt | None:
    clock = minutes(row.at)
    if settled is None or clock is None or settled <= clock:
        return None
    text = f"{row.at} is before {hh_mm(settled)} of a row entered earlier: taken as later. Was the clock set back?"
    return ReadingDoubt(row, "at", text, out=False)


def _other(row: PressureRow, settings: Settings) -> Iterator[ReadingDoubt]:
    if row.wait_min is not None and row.wait_min < 0:
        yield ReadingDoubt(row, "wait_min", f"a wait of {_n(row.wait_min)} min: is that right? Left out")
    if text := unknown_gauge(row, settings):
        yield ReadingDoubt(row, "gauge", text, out=False)


def doubts_of(
    row: PressureRow,
    settings: Settings,
    weather_c: float | None,
    ran: bool = False,
    since_run: float | None = None,
    settled: float | None = None,
) -> tuple[ReadingDoubt, ...]:
    """All questions a row raises.

    ``ran``: the car has run that day before it; ``since_run``: minutes since then, None = no clock; ``settled``: the
    minute it is taken as, after that of its clock where the clock was set back.
    """
    if all(getattr(row, f"{corner}_psi") is None for corner in CORNERS):
        return (ReadingDoubt(row, "moment", "no corner was read"),)
    asked = [corner for corner in CORNERS if not _left_alone(row, corner)]
    pressures = _bar_typed(row) or [found for corner in asked if (found := _corner(row, corner)) is not None]
    air = _air(row, weather_c)
    air_c = weather_c if air is not None or row.air_c is None else row.air_c
    tyre = _tyre(row, air_c)
    cold = _cold(row, air_c, ran, since_run) if tyre is None else None
    back = _clock(row, settled)
    return (*pressures, *(found for found in (air, tyre, cold, back) if found is not None), *_other(row, settings))
