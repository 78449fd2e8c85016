"""The air about the car: now, expected, and where it stands the evening before."""

from __future__ import annotations

from dataclasses import dataclass

from paddock.engine.clock import AsOf, minutes, of_the_eve, settled
from paddock.engine.pressure.air import AirState, ambient_pa
from paddock.engine.pressure.readings import CarLog, Reading
from paddock.model.event import Event
from paddock.model.rows import WeatherRow

ASSUMED_C, ASSUMED_COLD_C, ASSUMED_HOT_C = 15.0, 5.0, 30.0
"""The air where nothing says it: our choice."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What if. None: as it is. ``air_c`` of the next run, C; ``altitude_m``; ``wait_min`` from now to its start;
    ``front_psi``, ``rear_psi``: wanted at its end, as the gauge reads; ``cooling``: none, shade or spray."""

    air_c: float | None = None
    altitude_m: float | None = None
    wait_min: float | None = None
    front_psi: float | None = None
    rear_psi: float | None = None
    cooling: str = "none"


@dataclass(frozen=True, slots=True)
class Outside:
    """The air now and what is expected before the next setting, C; ``assumed``: nothing says it."""

    air_c: float
    coldest_c: float
    hottest_c: float
    ambient_pa: float
    assumed: bool

    @property
    def state(self) -> AirState:
        """A tyre at the air's temperature."""
        return AirState(self.air_c, self.ambient_pa)


def outside_of(event: Event, log: CarLog, clock: AsOf, tomorrow: bool, asked: Asked) -> Outside:
    """The newest air of the day, else the forecast's coldest; what is expected never narrower than what was seen.

    What was logged the evening before is no air of the day.
    """
    forecast, day = event.settings.forecast, clock.day
    logged = [
        (minutes(row.at), row.air_c) for row in event.of(WeatherRow)
        if row.day == day and row.air_c is not None and -40.0 <= row.air_c <= 50.0 and not of_the_eve(row.at)
    ]  # fmt: skip
    kept = settled([((), minute) for minute, _ in logged])
    rows = [(-1.0 if minute is None else minute, air) for minute, (_, air) in zip(kept, logged, strict=True)]
    rows += [
        (item.timed.minute if item.row.at else -1.0, item.air_c) for item in log.readings
        if item.timed.day == day and item.row.air_c is not None and item.air_c is not None and not item.eve
    ]  # fmt: skip
    seen = [air for _, air in sorted(rows, key=lambda item: item[0])]
    if tomorrow:
        seen = []
    cold = forecast.next_coldest_c if tomorrow and forecast.next_coldest_c is not None else forecast.coldest_c
    hot = forecast.next_hottest_c if tomorrow and forecast.next_hottest_c is not None else forecast.hottest_c
    near = [value for value in (asked.air_c, *seen[-1:], cold, log.latest.air_c if log.latest else None)
            if value is not None]  # fmt: skip
    air_c = near[0] if near else ASSUMED_C
    known = [value for value in (*seen, asked.air_c, air_c) if value is not None]
    assumed = not near
    return Outside(
        air_c,
        min([*known, *([cold] if cold is not None else []), *([ASSUMED_COLD_C] if assumed else [])]),
        max([*known, *([hot] if hot is not None else []), *([ASSUMED_HOT_C] if assumed else [])]),
        ambient_pa(asked.altitude_m) if asked.altitude_m is not None else log.around.ambient_pa(day, clock.minute),
        assumed,
    )


def stands_in(reading: Reading | None, outside: Outside) -> AirState | None:
    """The state a car read the evening before stands in; None: in the air that is expected, or nobody says."""
    if reading is None or not reading.eve or not reading.rested or reading.row.air_c is None or reading.air_c is None:
        return None
    apart = abs(reading.air_c - outside.air_c) > 1.0
    return AirState(reading.air_c, outside.ambient_pa) if apart else None
