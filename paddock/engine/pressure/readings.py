"""What surrounded a reading: the air and the pressure outside, from its own row, the weather log or the event."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from paddock.engine.clock import minutes, of_the_eve, stamp_of
from paddock.engine.pressure.air import ambient_pa
from paddock.engine.pressure.corners import CORNER_NAMES, Corners
from paddock.engine.pressure.timeline import (
    COLD_APART_K,
    REST_MIN,
    ReadingDoubt,
    Timed,
    TimedRun,
    doubts_of,
    gauge_of,
    timeline,
)
from paddock.model.event import Event
from paddock.model.rows import CORNERS, FittedRow, PressureRow, SetupChange, WeatherRow, WorkRow
from paddock.model.settings import Gauge


@dataclass(frozen=True, slots=True)
class _Seen:
    day: int
    minute: float | None
    air_c: float | None
    station_hpa: float | None


def _likely_air(value: float | None) -> float | None:
    return value if value is not None and -40.0 <= value <= 50.0 else None


def _likely_station(value: float | None) -> float | None:
    return value if value is not None and 500.0 <= value <= 1100.0 else None


class Around:
    """The weather log of an event, asked by day and minute. Figures that can't be meant are passed over."""

    def __init__(self, event: Event) -> None:
        self.altitude_m = event.settings.altitude_m
        self._seen = [
            _Seen(row.day, minutes(row.at), _likely_air(row.air_c), _likely_station(row.station_hpa))
            for row in event.of(WeatherRow)
        ]

    def _nearest(self, day: int, minute: float | None, field: str) -> float | None:
        rows = [item for item in self._seen if item.day == day and getattr(item, field) is not None]
        if not rows:
            return None
        if minute is None:
            return float(getattr(rows[-1], field))
        far = 24 * 60.0
        best = min(rows, key=lambda item: abs(item.minute - minute) if item.minute is not None else far)
        return float(getattr(best, field))

    def air_c(self, day: int, minute: float | None) -> float | None:
        """Air of the day's nearest weather row, C; ``minute`` None: the last row; None: not logged that day."""
        return self._nearest(day, minute, "air_c")

    def ambient_pa(self, day: int, minute: float | None) -> float:
        """Pressure outside, Pa: the day's nearest station pressure, else the altitude's, else sea level's."""
        return ambient_pa(self.altitude_m, self._nearest(day, minute, "station_hpa"))

    def ambient_known(self, day: int) -> bool:
        """Whether the pressure outside rests on more than an assumed sea level."""
        return self.altitude_m is not None or self._nearest(day, None, "station_hpa") is not None


# tyres fitted or repaired: a corner whose air has no history from then on


_TYRE = re.compile(r"tyre|tire|puncture|plug|patch|valve|leak|nail|cut|rubber", re.IGNORECASE)
_AFTER = 3


@dataclass(frozen=True, slots=True)
class Renewed:
    """``corner`` begins anew before the car's run of this place (0 = its first in all).

    ``minute`` of ``day``: when, where a clock says so. ``what``: fitted or repaired.
    """

    corner: str
    day: int
    place: int
    minute: float | None
    what: str

    def before(self, item: Timed) -> bool:
        """Whether it was done before something on the line of time."""
        if item.runs_before != self.place or item.day != self.day:
            return (item.day, item.runs_before) > (self.day, self.place)
        if self.minute is not None and item.clock is not None:
            return item.clock >= self.minute
        return self.minute is None and item.rank < _AFTER


def names_corner(text: str) -> list[str]:
    """The corners that a text names, ``right rear`` or ``RR``."""
    low = text.lower()
    return [
        corner for corner in CORNERS
        if CORNER_NAMES[corner] in low or " ".join(reversed(CORNER_NAMES[corner].split())) in low
        or re.search(rf"\b{corner}\b", low)
    ]  # fmt: skip


def runs_before(items: tuple[Timed, ...], day: int, run: int | None, number: str | None) -> int:
    """How many of the car's runs come before ``run`` of ``number`` on ``day``; None: the day's first."""
    count = 0
    for item in items:
        if not isinstance(item.what, TimedRun):
            continue
        same = number is None or item.number == number
        if item.day > day or (item.day == day and same and item.run >= (run or 0)):
            break
        count += 1
    return count


def _fitted(event: Event, numbers: tuple[str, ...], items: tuple[Timed, ...]) -> list[Renewed]:
    mine = (row for row in event.of(FittedRow) if row.number in numbers)
    rows = sorted(mine, key=lambda row: (row.day, row.run or 0))
    on: dict[str, tuple[str, str | None]] = {}
    found = []
    for row in rows:
        now = (row.tyre, row.orientation)
        if row.corner in on and on[row.corner] != now:
            place = runs_before(items, row.day, row.run, row.number)
            found.append(Renewed(row.corner, row.day, place, None, "fitted"))
        on[row.corner] = now
    return found


def renewals(event: Event, number: str, items: tuple[Timed, ...]) -> tuple[Renewed, ...]:
    """Every tyre of the car that ``number`` drives that was changed, turned on its rim, or mended, in the log's order.

    ``items``: the car's line of time. Mended: a change of kind ``repair`` or work that is done, which names a corner
    and the tyre or its valve.
    """
    numbers = event.numbers_of_car(number)
    found = _fitted(event, numbers, items)
    for change in event.of(SetupChange):
        text = " ".join(filter(None, (change.item, change.setting, change.reason, change.after)))
        mine = change.number is None or change.number in numbers
        if mine and change.kind == "repair" and change.day is not None and _TYRE.search(text):
            place = runs_before(items, change.day, change.run, change.number)
            found += [Renewed(corner, change.day, place, None, "repaired") for corner in names_corner(text)]
    for work in event.of(WorkRow):
        text = " ".join(filter(None, (work.item, work.reason, work.note)))
        done = stamp_of(work.done, event)
        if not work.is_done or done.day is None or not _TYRE.search(text):
            continue
        if done.minute is not None:
            place = sum(
                1 for item in items
                if isinstance(item.what, TimedRun) and (item.day, item.minute) < (done.day, done.minute)
            )  # fmt: skip
        else:
            place = runs_before(items, done.day, None if done.run is None else done.run + 1, None)
        found += [Renewed(corner, done.day, place, done.minute, "repaired") for corner in names_corner(text)]
    return tuple(found)


# the readings of one car, clean: true pressures (gauge offset taken off), air and ambient filled in, doubts named


COOLED_MIN = 180.0
"""Standing three hours, a tyre is cold: common practice, the owner's handbook's rule."""

_SIDES: dict[str, Literal["left", "right"]] = {"left": "left", "l": "left", "right": "right", "r": "right"}


@dataclass(frozen=True, slots=True)
class Reading:
    """One pressure row made clean.

    ``psi``: true gauge pressures, doubtful or missing corners None. ``cold``: at air temperature (marked cold and
    not doubted, or three hours parked). ``tyre_c``, ``air_c``, ``wait_min``: None = not known or doubted. ``sun``: the
    side in it. ``read``: the known corners of ``psi``. ``since_min``: minutes since the end of the day's last run
    before it, None = there was none, or no clock tells.
    """

    row: PressureRow
    timed: Timed
    psi: Corners
    gauge: Gauge
    ambient_pa: float
    air_c: float | None
    tyre_c: float | None
    wait_min: float | None
    cold: bool
    sun: Literal["left", "right"] | None
    doubts: tuple[ReadingDoubt, ...]
    read: Mapping[str, float]
    since_min: float | None = None

    @property
    def warmed(self) -> bool:
        """Warmed by something else than a run: its measured temperature is over the air's."""
        return self.tyre_c is not None and self.air_c is not None and self.tyre_c - self.air_c > COLD_APART_K

    @property
    def rested(self) -> bool:
        """Before a day's first run, or before the first one after a break: cold, or all but."""
        if self.warmed:
            return False
        if self.cold or self.timed.runs_today == 0:
            return True
        return self.since_min is not None and self.since_min > REST_MIN

    @property
    def eve(self) -> bool:
        """Read before the day: at home, in air of its own."""
        return of_the_eve(self.row.at)

    @property
    def moment(self) -> str:
        """cold, before, after or set."""
        return self.row.moment

    @property
    def shown(self) -> Corners:
        """As its gauge read, psi."""
        return Corners.of({corner: psi + self.gauge.offset_psi for corner, psi in self.read.items()})

    @property
    def noise_psi(self) -> float:
        """Twice the gauge's repeatability: less is not a difference."""
        return 2.0 * self.gauge.repeat_psi

    @property
    def usable(self) -> bool:
        """At least one corner can be used."""
        return bool(self.read)

    @property
    def where(self) -> str:
        """Day, run and moment in words."""
        run = f" run {self.row.run}" if self.row.run else ""
        return f"day {self.row.day}{run} {self.row.moment}"


@dataclass(frozen=True, slots=True)
class CarLog:
    """A car's line of time. ``readings`` in order; ``runs``: those started; ``day``: the latest of either, 0 = none.

    ``renewed``: corners whose tyre was changed or mended on the way.
    """

    items: tuple[Timed, ...]
    readings: tuple[Reading, ...]
    runs: tuple[Timed, ...]
    around: Around
    renewed: tuple[Renewed, ...] = ()

    @property
    def day(self) -> int:
        """The day in hand."""
        return max((item.day for item in self.items), default=0)

    @property
    def latest(self) -> Reading | None:
        """The newest reading with a usable corner."""
        return next((item for item in reversed(self.readings) if item.usable), None)

    @property
    def doubts(self) -> tuple[ReadingDoubt, ...]:
        """Every question the readings raise, in order."""
        return tuple(doubt for reading in self.readings for doubt in reading.doubts)

    def run_rows(self) -> tuple[TimedRun, ...]:
        """The runs themselves, in order."""
        return tuple(item.what for item in self.runs if isinstance(item.what, TimedRun))


def _clean(item: Timed, row: PressureRow, event: Event, around: Around, since: float | None) -> Reading:
    """``since``: minutes since the last run of the day began."""
    weather_c = around.air_c(item.day, item.minute or None)
    doubts = doubts_of(row, event.settings, weather_c, item.runs_today > 0, since, item.minute)
    out = {doubt.field for doubt in doubts if doubt.out}
    gauge = gauge_of(event.settings, row)
    psi = {
        corner: value - gauge.offset_psi
        for corner in CORNERS
        if corner not in out and (value := getattr(row, f"{corner}_psi")) is not None
    }
    wait = None if "wait_min" in out else row.wait_min
    return Reading(
        row=row,
        timed=item,
        psi=Corners.of(psi),
        read=psi,
        sun=_SIDES.get((row.sun or "").strip().lower()),
        gauge=gauge,
        ambient_pa=around.ambient_pa(item.day, item.minute or None),
        air_c=weather_c if row.air_c is None or "air_c" in out else row.air_c,
        tyre_c=None if "tyre_c" in out else row.tyre_c,
        wait_min=wait,
        cold=(row.moment == "cold" and "moment" not in out) or (wait is not None and wait >= COOLED_MIN),
        doubts=doubts,
        since_min=wait if since is None and item.runs_today else since,
    )


def car_log(event: Event, number: str) -> CarLog:
    """Everything about the car that ``number`` drives, whoever drove it, in order."""
    items, around = timeline(event, number), Around(event)
    readings: list[Reading] = []
    last: Timed | None = None
    for item in items:
        if isinstance(item.what, PressureRow):
            since = None
            if last is not None and last.day == item.day and last.clock is not None and item.clock is not None:
                took = last.what.minutes if isinstance(last.what, TimedRun) else 0.0
                since = max(0.0, item.clock - last.clock - took)
            readings.append(_clean(item, item.what, event, around, since))
        else:
            last = item
    runs = tuple(item for item in items if isinstance(item.what, TimedRun))
    return CarLog(items, tuple(readings), runs, around, renewals(event, number, items))
