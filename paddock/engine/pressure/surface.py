"""The surface now, since when, and whether it changes faster than a tyre can be set for."""

from __future__ import annotations

from dataclasses import dataclass

from paddock.engine.clock import minutes, settled
from paddock.engine.readings.log import CarLog
from paddock.engine.readings.timeline import TimedRun
from paddock.model.event import Event
from paddock.model.rows import WeatherRow

_DAY_MIN = 24 * 60


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
        return {"drying": "dry", "standing": "wet", None: "dry"}.get(self.word, self.word or "dry")


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
    """How many of the car's runs came before a clock time of a day."""
    clocked = [item for item in log.runs if item.day < day or (item.day == day and (item.clock or 0.0) <= minute)]
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


def surface_now(event: Event, log: CarLog, day: int) -> SurfaceNow:
    """Of a day, from the newest of the run log and the weather log; a run's own word stands at its start."""
    runs = _from_runs(log)
    unclocked = any(item.day == day and item.clock is None for item in log.runs) and any(
        item.day == day for item in runs
    )
    seen = sorted([*_from_weather(event, log, unclocked, day), *runs], key=lambda item: (item.day, item.minute))
    today = [item for item in seen if item.day == day]
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
