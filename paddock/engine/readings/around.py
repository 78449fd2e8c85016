"""What surrounded a reading: the air and the pressure outside, from its own row, the weather log or the event."""

from __future__ import annotations

from dataclasses import dataclass

from paddock.engine.air import ambient_pa
from paddock.engine.clock import minutes
from paddock.model.event import Event
from paddock.model.rows import WeatherRow


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

    def highest(self, day: int) -> float | None:
        """The day's hottest logged air, C."""
        return max((item.air_c for item in self._seen if item.day == day and item.air_c is not None), default=None)


def air_on(event: Event, day: int) -> float | None:
    """The day's last logged air, C."""
    return Around(event).air_c(day, None)
