"""The program's own record: each event of mine replayed, every question asked after each run, held against what came.

Nothing is stored for it. What is asked: my next run's raw time, the course's step to it, my chance to lead class and
index at the end of the day. A Brier score has its parts (A. H. Murphy, Journal of Applied Meteorology 12, 1973):
brier = reliability - resolution + base.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import time
from statistics import median

from paddock.engine.clock import cut, stands_at
from paddock.engine.field.chances import Chances, expected
from paddock.engine.field.course import course_evolution
from paddock.engine.field.frame import SCALE
from paddock.engine.field.runs import groups_of
from paddock.engine.field.scores import ScoreTable, score_field
from paddock.engine.stats.quantiles import normal_quantile
from paddock.model.event import Event
from paddock.model.rows import PressureRow, RunRow, SetupChange, TimeRow

KINDS = ("my next run", "the course's next step", "lead class", "lead index")
_TENTH = normal_quantile(0.9)
_BINS = 5
WIDE_FROM = 20
"""Answers from which a range is called too narrow or not."""


@dataclass(frozen=True, slots=True)
class AskedForecast:
    """One answer and what came. A figure: ``said``, its 80 % range, and ``came``, ms. A chance: ``p``, ``happened``."""

    kind: str
    said: float = 0.0
    low: float = 0.0
    high: float = 0.0
    came: float = 0.0
    p: float | None = None
    happened: bool = False


@dataclass(frozen=True, slots=True)
class ForecastRecord:
    """One kind of answer counted. ``median_error`` ms and ``inside80`` share: None for chances; ``brier`` and
    ``brier_base`` (what always saying how often it comes would have scored) None for figures.

    ``widen``: how many times wider an 80 % range would have had to be to hold 80 %, None: too few answers to say.
    """

    kind: str
    n: int
    median_error: float | None = None
    inside80: float | None = None
    brier: float | None = None
    brier_base: float | None = None
    reliability: float | None = None
    resolution: float | None = None
    widen: float | None = None


def hindsight(events: Sequence[Event]) -> tuple[ForecastRecord, ...]:
    """Every kind, those without an answer too."""
    found: dict[str, list[AskedForecast]] = defaultdict(list)
    for event in events:
        for number in event.settings.mine.numbers:
            for asked in replayed(event, number):
                found[asked.kind].append(asked)
    return tuple(_record(kind, found[kind]) for kind in KINDS)


def replayed(event: Event, number: str) -> Iterator[AskedForecast]:
    """Every answer after each run of ``number`` but the last of a day."""
    mine = sorted({(row.day, row.run) for row in event.times if row.number == number and row.time_ms is not None})
    for day, run in mine:
        later = [at for its_day, at in mine if its_day == day and at > run]
        if not later or event.entrant(number) is None:
            continue
        seen = as_it_was(event, number, day, run)
        last = max(later)
        found = expected(seen, number, None if event.settings.runs_per_day else last - run)
        yield from _next_run(event, number, day, run + 1, found.next_ms)
        yield from _course_step(event, number, day, run, found.course_s)
        yield from _leads(event, number, day, found.chances)


def as_it_was(event: Event, number: str, day: int, run: int) -> Event:
    """The event just after my run: by the clock where my runs have one, else every run up to that number."""
    stands = stands_at(event)
    rows = [row for row in event.times if row.number == number and row.day == day]
    moments = [stands(row) for row in rows]
    here = next((m for row, m in zip(rows, moments, strict=True) if row.run == run), None)
    if here is not None and len(set(moments)) == len(moments) and here.time() != time():
        return cut(event, here)
    return _by_run(event, day, run)


def _by_run(event: Event, day: int, run: int) -> Event:
    tables = dict(event.tables)
    for model in (TimeRow, RunRow, PressureRow, SetupChange):
        tables[model.FILE] = tuple(
            row for row in event.tables.get(model.FILE, ())
            if (getattr(row, "day", None) or 0, getattr(row, "run", None) or 0) <= (day, run)
        )  # fmt: skip
    return replace(event, tables=tables)


def _next_run(
    event: Event, number: str, day: int, run: int, said: tuple[float, float, float] | None
) -> Iterator[AskedForecast]:
    came = next((row.time_ms for row in event.times if (row.number, row.day, row.run) == (number, day, run)
                 and row.status is None and not row.misses and row.time_ms), None)  # fmt: skip
    if said is not None and came is not None:
        yield AskedForecast("my next run", said[1], said[0], said[2], float(came))


def _course_step(
    event: Event, number: str, day: int, run: int, said: tuple[float, float] | None
) -> Iterator[AskedForecast]:
    """What came is itself only estimated: its doubt is added to the range."""
    if said is None:
        return
    own, group = frozenset(event.numbers_of_car(number)), groups_of(event, day).get(number)
    told = course_evolution(event, day, group, own)
    pair = next((item for item in told.pairs if (item.run_from, item.run_to) == (run, run + 1)), None)
    if pair is None or told.time_ms is None:
        return
    ms = told.time_ms / SCALE
    reach = math.hypot(_TENTH * said[1] * ms, (pair.high_ms - pair.low_ms) / 2)
    yield AskedForecast(
        "the course's next step", said[0] * ms, said[0] * ms - reach, said[0] * ms + reach, pair.change_ms
    )


def _leads(event: Event, number: str, day: int, said: Chances) -> Iterator[AskedForecast]:
    after = score_field(_by_run(event, day, 10**6), number, 0)
    tables = (("lead class", said.class_, after.class_table), ("lead index", said.index, after.index_table))
    for kind, chance, table in tables:
        led = _led(table, number)
        if chance.p_lead is not None and led is not None:
            yield AskedForecast(kind, p=chance.p_lead, happened=led)


def _led(table: ScoreTable | None, number: str) -> bool | None:
    if table is None:
        return None
    mine = table.scores[number].known if number in table.scores else None
    others = [score.known for other, score in table.scores.items() if other != number and score.known is not None]
    return mine is not None and all(mine <= other for other in others)


def _record(kind: str, asked: Sequence[AskedForecast]) -> ForecastRecord:
    if not asked:
        return ForecastRecord(kind, 0)
    if asked[0].p is not None:
        return _chance_record(kind, asked)
    inside = sum(item.low <= item.came <= item.high for item in asked) / len(asked)
    stretch = sorted(_stretch(item) for item in asked)
    widen = stretch[math.ceil(0.8 * len(stretch)) - 1] if len(asked) >= WIDE_FROM else None
    return ForecastRecord(kind, len(asked), median(abs(item.came - item.said) for item in asked), inside, widen=widen)


def _stretch(item: AskedForecast) -> float:
    """How many times its own half range an answer was off, on the side it was off."""
    half = item.high - item.said if item.came > item.said else item.said - item.low
    return abs(item.came - item.said) / max(half, 1.0)


def _chance_record(kind: str, asked: Sequence[AskedForecast]) -> ForecastRecord:
    count = len(asked)
    often = sum(item.happened for item in asked) / count
    bins: dict[int, list[AskedForecast]] = defaultdict(list)
    for item in asked:
        bins[min(_BINS - 1, int((item.p or 0.0) * _BINS))].append(item)
    reliability = resolution = 0.0
    for found in bins.values():
        came = sum(item.happened for item in found) / len(found)
        said = sum(item.p or 0.0 for item in found) / len(found)
        reliability += len(found) * (said - came) ** 2 / count
        resolution += len(found) * (came - often) ** 2 / count
    return ForecastRecord(
        kind, count, brier=sum(((item.p or 0.0) - item.happened) ** 2 for item in asked) / count,
        brier_base=often * (1.0 - often), reliability=reliability, resolution=resolution,
    )  # fmt: skip
