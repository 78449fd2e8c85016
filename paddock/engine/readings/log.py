"""The readings of one car, clean: true pressures (gauge offset taken off), air and ambient filled in, doubts named."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from paddock.engine.corners import Corners
from paddock.engine.readings.around import Around
from paddock.engine.readings.doubts import COLD_APART_K, ReadingDoubt, doubts_of, gauge_of
from paddock.engine.readings.renewed import Renewed, renewals
from paddock.engine.readings.timeline import Timed, TimedRun, timeline
from paddock.model.event import Event
from paddock.model.rows import CORNERS, PressureRow
from paddock.model.settings import Gauge

REST_MIN = 45.0
"""A tyre that has stood longer than this after a run is before a first run again: our choice, two cooling times."""

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
    def moment(self) -> str:
        """cold, before, after or set."""
        return self.row.moment

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
