"""What a driver's next run is likely to be: pace on the course as it is now, spread, cones, void runs.

Pace from the Huber fit of drivers by runs, so everybody is put on the same course. Few runs of one's own are eked
out with the field's: spread, cone rate and void rate lean on it with the weight of a few runs (the weights are our
choice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from paddock.engine.paces import Slot, logs, raw_times
from paddock.engine.twoway import Fit, huber_fit
from paddock.model.event import Event

__all__ = ["Pace", "paces"]

_SPREAD_RUNS = 6.0
_CONE_RUNS = 4.0
_VOID_RUNS = 10.0
_LEAST_SPREAD = 0.001
"""Nobody repeats a run better than 0.1 % (our choice, no source)."""
_TIED = 3
"""Drivers who must have driven a run before it stands for the course now."""


@dataclass(frozen=True, slots=True)
class Pace:
    """``level``: ln(ms) of a run on the course as it is now; ``spread``: its sd; ``unsure``: sd of the level itself.

    ``cone_rate``: cones a run; ``void_rate``: share of void runs; ``runs``: usable runs it rests on.
    """

    level: float
    spread: float
    unsure: float
    cone_rate: float
    void_rate: float
    runs: int

    @property
    def time_ms(self) -> float:
        """A middling run."""
        return math.exp(self.level)


@dataclass(slots=True)
class _Counts:
    tries: int = 0
    cones: int = 0
    voids: int = 0


def _counts(event: Event) -> dict[str, _Counts]:
    found: dict[str, _Counts] = {}
    for row in event.times:
        if row.status in {"rerun", "practice", "dns"} or (row.time_ms is None and row.status is None):
            continue
        mine = found.setdefault(row.number, _Counts())
        mine.tries += 1
        mine.cones += row.cones or 0
        mine.voids += bool(row.status or row.misses)
    return found


def _now(times: Mapping[str, Mapping[Slot, int]], slots: Sequence[Slot]) -> int:
    """Index of the latest run enough have driven; the latest of all where none is."""
    heads = [sum(1 for theirs in times.values() if slot in theirs) for slot in slots]
    enough = [index for index, count in enumerate(heads) if count >= min(_TIED, max(heads))]
    return max(enough)


def _field_spread(rows: Sequence[Sequence[float | None]], fit: Fit) -> float:
    """The fit's scale, made good for the levels and effects it has used up."""
    count = sum(1 for row in rows for value in row if value is not None)
    spare = count - len(fit.levels) - len(fit.effects) + 1
    return fit.scale * math.sqrt(count / max(spare, 1))


def _spread(row: Sequence[float | None], level: float, fit: Fit, field: float) -> float:
    squares, count = _SPREAD_RUNS * field**2, 0
    for value, effect in zip(row, fit.effects, strict=True):
        if value is not None:
            residual = value - level - effect
            squares += min(residual * residual, fit.clip**2)
            count += 1
    return max(_LEAST_SPREAD, math.sqrt(squares / (_SPREAD_RUNS + max(count - 1, 0))))


def paces(event: Event) -> dict[str, Pace]:
    """Everybody with a usable time, over all days of the event; the course as at its latest run."""
    times = raw_times(event)
    if not times:
        return {}
    slots = sorted({slot for theirs in times.values() for slot in theirs})
    rows = {number: logs(theirs, slots) for number, theirs in times.items()}
    fit = huber_fit(list(rows.values()))
    now = fit.effects[_now(times, slots)]
    counts = _counts(event)
    tries = sum(item.tries for item in counts.values())
    cones = sum(item.cones for item in counts.values()) / tries
    voids = sum(item.voids for item in counts.values()) / tries
    field = _field_spread(list(rows.values()), fit)
    found = {}
    for (number, row), level in zip(rows.items(), fit.levels, strict=True):
        spread, runs, own = _spread(row, level, fit, field), len(times[number]), counts[number]
        found[number] = Pace(
            level + now, spread, spread / math.sqrt(runs),
            (own.cones + _CONE_RUNS * cones) / (own.tries + _CONE_RUNS),
            (own.voids + _VOID_RUNS * voids) / (own.tries + _VOID_RUNS),
            runs,
        )  # fmt: skip
    return found
