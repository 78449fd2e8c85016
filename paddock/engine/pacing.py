"""What a driver's next run is likely to be: pace on the course as it is now, spread, cones, void runs.

Pace from the Huber fit of drivers by runs, each run group's runs for themselves, so everybody is put on the course as
their group last met it. Few runs of one's own are eked out with the field's: spread, cone rate and void rate lean on
it with the weight of a few runs (the weights are our choice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from paddock.engine.effect.controls import groups_of
from paddock.engine.paces import Slot, raw_times
from paddock.engine.stats.twoway import Fit, huber_fit
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


Column = tuple[Slot, str | None]
"""A run of a run group: groups meet the course at different hours."""


def _columns(event: Event, times: Mapping[str, Mapping[Slot, int]], apart: bool) -> dict[str, dict[Column, int]]:
    """Times by run and, where ``apart``, run group."""
    days = {slot[0] for theirs in times.values() for slot in theirs}
    groups = {day: groups_of(event, day) for day in days} if apart else {}
    return {
        number: {(slot, groups.get(slot[0], {}).get(number)): ms for slot, ms in theirs.items()}
        for number, theirs in times.items()
    }


@dataclass(frozen=True, slots=True)
class _Sheet:
    """The fit, and for each group of the latest day the run that stands for the course now."""

    columns: Sequence[Column]
    rows: Mapping[str, list[float | None]]
    fit: Fit
    now: Mapping[str | None, int]


def _now(columns: Sequence[Column], rows: Sequence[Sequence[float | None]], day: int) -> dict[str | None, int]:
    """Each group's latest run that enough have driven on ``day``; its latest of all where none is."""
    found: dict[str | None, int] = {}
    heads = [sum(1 for row in rows if row[index] is not None) for index in range(len(columns))]
    for group in {group for _, group in columns}:
        mine = [index for index, (slot, of) in enumerate(columns) if of == group and slot[0] == day]
        if mine:
            enough = min(_TIED, max(heads[index] for index in mine))
            found[group] = max(index for index in mine if heads[index] >= enough)
    return found


def _sheet(event: Event, times: Mapping[str, Mapping[Slot, int]], apart: bool) -> _Sheet:
    """``times`` in columns and fitted."""
    split = _columns(event, times, apart)
    columns = sorted({column for theirs in split.values() for column in theirs}, key=lambda at: (at[0], at[1] or ""))
    rows = {
        number: [math.log(theirs[column]) if column in theirs else None for column in columns]
        for number, theirs in split.items()
    }
    day = max(slot[0] for slot, _ in columns)
    return _Sheet(columns, rows, huber_fit(list(rows.values())), _now(columns, list(rows.values()), day))


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
    """Everybody with a usable time, over all days of the event; the course as at their group's latest run.

    Who has not run on the latest day in a group that has: as at that group's; in one that has not: as at everybody's.
    """
    times = raw_times(event)
    if not times:
        return {}
    sheet = _sheet(event, times, apart=True)
    day = max(slot[0] for slot, _ in sheet.columns)
    groups = groups_of(event, day)
    lost = [number for number in times if groups.get(number) not in sheet.now]
    whole = _sheet(event, times, apart=False) if lost else sheet
    rates = _rates(event)
    found = _paces({n: g for n in times if (g := groups.get(n)) in sheet.now}, sheet, rates)
    return found | _paces(dict.fromkeys(lost), whole, rates)


@dataclass(frozen=True, slots=True)
class _Rates:
    """Cones and void runs a try, one's own eked out with the field's."""

    counts: Mapping[str, _Counts]
    cones: float
    voids: float

    def of(self, number: str) -> tuple[float, float]:
        own = self.counts[number]
        return (
            (own.cones + _CONE_RUNS * self.cones) / (own.tries + _CONE_RUNS),
            (own.voids + _VOID_RUNS * self.voids) / (own.tries + _VOID_RUNS),
        )


def _rates(event: Event) -> _Rates:
    counts = _counts(event)
    tries = sum(item.tries for item in counts.values())
    cones, voids = sum(item.cones for item in counts.values()), sum(item.voids for item in counts.values())
    return _Rates(counts, cones / tries, voids / tries)


def _paces(numbers: Mapping[str, str | None], sheet: _Sheet, rates: _Rates) -> dict[str, Pace]:
    field = _field_spread(list(sheet.rows.values()), sheet.fit)
    at = {number: index for index, number in enumerate(sheet.rows)}
    found = {}
    for number, group in numbers.items():
        row, level = sheet.rows[number], sheet.fit.levels[at[number]]
        spread, runs = _spread(row, level, sheet.fit, field), sum(1 for value in row if value is not None)
        now = sheet.fit.effects[sheet.now[group]]
        found[number] = Pace(level + now, spread, spread / math.sqrt(runs), *rates.of(number), runs)
    return found
