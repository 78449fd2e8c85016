"""What the last run left behind: roll-over marks, tread temperatures as a pattern, balance by phase."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from paddock.engine.clock import minutes, settled
from paddock.engine.pressure.corners import AXLES
from paddock.engine.pressure.readings import CarLog
from paddock.engine.pressure.timeline import TimedRun
from paddock.model.event import Event
from paddock.model.rows import RunRow, TreadTempRow, WeatherRow

# the surface now, since when, and whether it changes faster than a tyre can be set for


_DAY_MIN = 24 * 60


def like_surface(word: str | None) -> str:
    """Whose target, rises and heat fit a surface has: dry (also drying, not said), damp, wet (also standing)."""
    return {"drying": "dry", "standing": "wet", None: "dry"}.get(word, word or "dry")


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


PHASES = ("entry", "mid", "exit", "slalom")
_ROLL = {"short": 0, "on": 1, "past": 2}


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
    return max(marks, key=lambda mark: _ROLL[mark])


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
