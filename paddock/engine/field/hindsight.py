"""The program's own record: each event of mine replayed, every question asked as of then, held against what came.

Nothing is stored for it. What is asked: after each run my next run's raw time, the course's step to it, my chance to
lead class and index at the end of the day; before each run what the axles will read after it, a first run's from the
cold setting; before each depth reading what it will be. A Brier score has its parts (A. H. Murphy, Journal of Applied
Meteorology 12, 1973): brier = reliability - resolution + base.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from itertools import chain, pairwise
from statistics import median

from paddock.engine.clock import AsOf, as_of, cut, minutes, stands_at
from paddock.engine.field.chances import Chances, expected
from paddock.engine.field.course import course_evolution
from paddock.engine.field.response import numbers_of
from paddock.engine.field.scores import SCALE, ScoreTable, groups_of, score_field
from paddock.engine.pressure.corners import AXLES
from paddock.engine.pressure.moment import moment_of
from paddock.engine.pressure.readings import Reading, car_log
from paddock.engine.pressure.timeline import TimedRun
from paddock.engine.stats.quantiles import normal_quantile
from paddock.engine.tyres.inventory import inventory
from paddock.engine.tyres.wear import Z80
from paddock.model.event import Event
from paddock.model.rows import PressureRow, RunRow, SetupChange, TimeRow, TreadRow, WeatherRow

NEXT_RUN, STEP, CLASS, INDEX = "my next run", "the course's next step", "lead class", "lead index"
COLD, HOT, TREAD = "a first run's reading", "a later run's reading", "the next tread depth"
UNITS = {NEXT_RUN: "ms", STEP: "ms", CLASS: "", INDEX: "", COLD: "psi", HOT: "psi", TREAD: "mm"}
KINDS = tuple(UNITS)
_TENTH = normal_quantile(0.9)
_BINS = 5
WIDE_FROM = 20
"""Answers from which a range is called too narrow or not."""
NARROW = 0.7
"""Inside less often than this an 80 % range was too narrow."""
_EVER, _DRAWS = datetime(9000, 1, 1), 600


@dataclass(frozen=True, slots=True)
class AskedForecast:
    """One answer and what came. A figure: ``said``, its 80 % range, and ``came``, in the unit of its kind. A chance:
    ``p``, ``happened``.
    """

    kind: str
    said: float = 0.0
    low: float = 0.0
    high: float = 0.0
    came: float = 0.0
    p: float | None = None
    happened: bool = False


@dataclass(frozen=True, slots=True)
class ForecastRecord:
    """One kind of answer counted. ``median_error`` (``UNITS`` says in what) and ``inside80``, a share: None for
    chances; ``brier`` and ``brier_base`` (what always saying how often it comes would have scored) None for figures.

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

    @property
    def wider(self) -> float:
        """What a range of this kind is widened by from now on: 1 unless the record says that they were too narrow."""
        narrow = self.widen is not None and self.inside80 is not None and self.inside80 < NARROW
        return max(1.0, self.widen or 1.0) if narrow else 1.0


def hindsight(events: Sequence[Event], told: Callable[[int, int], None] | None = None) -> tuple[ForecastRecord, ...]:
    """Every kind, those without an answer too. ``events`` in order of date; ``told``: how many are done and in all."""
    found: dict[str, list[AskedForecast]] = defaultdict(list)
    for at, event in enumerate(events):
        for number in event.settings.mine.numbers:
            for asked in chain(replayed(event, number), readings_replayed(event, number, events[:at])):
                found[asked.kind].append(asked)
        for asked in tread_replayed(event, events[:at]):
            found[asked.kind].append(asked)
        if told is not None:
            told(at + 1, len(events))
    return tuple(record_of(kind, found[kind]) for kind in KINDS)


def own_record(events: Sequence[Event], number: str, most: int = 24) -> tuple[ForecastRecord, ...]:
    """The kinds the chances rest on, for one number, from the newest ``most`` moments: asked beside an answer."""
    moments = [(event, *slot) for event in events for slot in _moments(event, number)][-most:]
    found: dict[str, list[AskedForecast]] = defaultdict(list)
    for event, day, run in moments:
        for asked in _asked(event, number, day, run, steps=False):
            found[asked.kind].append(asked)
    return tuple(record_of(kind, found[kind]) for kind in (NEXT_RUN, CLASS, INDEX))


def own_scatter(events: Sequence[Event], numbers: Sequence[str]) -> dict[str, float]:
    """By number how many times wider my runs scatter than they were taken to, those that do."""
    found = {number: own_record(events, number)[0].wider for number in numbers}
    return {number: wider for number, wider in found.items() if wider > 1.0}


def cold_record(events: Sequence[Event], number: str) -> ForecastRecord:
    """First runs' readings of the car that ``number`` drives in the last of ``events``, whatever its number there."""
    car = events[-1].car_name_of(number)
    asked = [
        item for at, event in enumerate(events) for theirs in numbers_of(event, number, car)
        for item in readings_replayed(event, theirs, events[:at], first=True) if item.kind == COLD
    ]  # fmt: skip
    return record_of(COLD, asked)


def replayed(event: Event, number: str) -> Iterator[AskedForecast]:
    """Every answer after each run of ``number`` but the last of a day."""
    for day, run in _moments(event, number):
        yield from _asked(event, number, day, run)


def _moments(event: Event, number: str) -> list[tuple[int, int]]:
    mine = sorted({(row.day, row.run) for row in event.times if row.number == number and row.time_ms is not None})
    last = dict(mine)
    return [(day, run) for day, run in mine if event.entrant(number) and run != last[day]]


def _asked(event: Event, number: str, day: int, run: int, steps: bool = True) -> Iterator[AskedForecast]:
    last = max(row.run for row in event.times if row.number == number and row.day == day and row.time_ms is not None)
    seen = as_it_was(event, number, day, run)
    found = expected(seen, number, None if event.settings.runs_per_day else last - run, _DRAWS)
    yield from _next_run(event, number, day, run + 1, found.next_ms)
    if steps:
        yield from _course_step(event, number, day, run, found.course_s)
    if _is_over(event, number, day):
        yield from _leads(event, number, day, found.chances)


def _is_over(event: Event, number: str, day: int) -> bool:
    """Whether what became of a day is known: another followed, or all its runs are driven."""
    per_day = event.settings.runs_per_day
    done = max((row.run for row in event.times if row.number == number and row.day == day), default=0)
    return any(row.day > day for row in event.times) or per_day is None or done >= per_day


def as_it_was(event: Event, number: str, day: int, run: int) -> Event:
    """The event just after my run: by the clock where my runs follow each other by it, else all up to its number."""
    stands = stands_at(event)
    rows = sorted((row for row in event.times if row.number == number and row.day == day), key=lambda row: row.run)
    moments = [(row.run, moment) for row in rows if (moment := stands(row)) is not None]
    here = next((moment for at, moment in moments if at == run), None)
    if here is not None and all(one < other for (_, one), (_, other) in pairwise(moments)) and here.time() != time():
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


def readings_replayed(
    event: Event, number: str, past: Sequence[Event] = (), first: bool = False
) -> Iterator[AskedForecast]:  # fmt: skip
    """What each axle would read after a run of ``number``, asked just before it as the car was set, psi. ``first``: of
    the car's first run of a day alone.
    """
    log = car_log(event, number)
    after = {(item.timed.day, item.timed.run, item.timed.number): item for item in log.readings
             if item.moment == "after"}  # fmt: skip
    for at, item in enumerate(log.items):
        run = item.what
        if not isinstance(run, TimedRun) or run.number != number or (first and item.runs_today):
            continue
        read = after.get((run.day, run.run, number))
        if read is None:
            continue
        before = {row.key for earlier in log.items[:at] if isinstance(row := earlier.what, PressureRow)}
        kept = tuple(row for row in event.of(PressureRow) if row.key in before)
        if any(row.day == run.day for row in kept):
            yield from _readings(*_just_before(event, run, kept), number, read, past)


def _just_before(event: Event, run: TimedRun, read: tuple[PressureRow, ...]) -> tuple[Event, AsOf]:
    """The event and the clock as ``run`` began, ``read`` before it. Without a clock of it: the runs before it by
    number, and the weather up to the day's newest reading.
    """
    clock, days = minutes(run.at), event.settings.days
    if clock is not None and run.day <= len(days):
        began = datetime.combine(days[run.day - 1], time()) + timedelta(minutes=clock)
        seen, now = cut(event, began), AsOf(began, run.day, "asked")
        of_run = (run.day, run.run, run.number)
        tables = {
            TimeRow.FILE: tuple(row for row in seen.times if (row.day, row.run, row.number) != of_run),
            RunRow.FILE: tuple(row for row in seen.of(RunRow) if (row.day, row.run, row.number) != of_run),
        }
    else:
        seen = _by_run(event, run.day, run.run - 1)
        known = max((at for row in read if row.day == run.day and (at := minutes(row.at)) is not None), default=-1.0)
        weather = seen.of(WeatherRow)
        tables = {
            WeatherRow.FILE: tuple(row for row in weather if (row.day, minutes(row.at) or 0.0) <= (run.day, known))
        }
        now = as_of(replace(seen, tables={**seen.tables, PressureRow.FILE: read}), _EVER)
    return replace(seen, tables={**seen.tables, **tables, PressureRow.FILE: read}), now


def _readings(
    seen: Event, now: AsOf, number: str, read: Reading, past: Sequence[Event]
) -> Iterator[AskedForecast]:  # fmt: skip
    known = moment_of(seen, number, now, past=past).known
    for axle, corners in AXLES.items():
        pairs = [(known.way[c], psi) for c in corners if (psi := known.now[c]) is not None and read.psi[c] is not None]
        came = read.psi.axle(axle)
        if len(pairs) < len(corners) or came is None:
            continue
        said, low, high = (
            sum(way.ends_at(psi, end) for (way, psi), end in zip(pairs, ends, strict=True)) / len(pairs)
            for ends in ([way.end_c for way, _ in pairs], [way.low_c for way, _ in pairs],
                         [way.high_c for way, _ in pairs])
        )  # fmt: skip
        how = pairs[0][0].how
        if high > low and (how == "fit" or known.rested):  # else carried back, and no range is claimed
            yield AskedForecast(COLD if known.rested else HOT, said, low, high, came)


def tread_replayed(event: Event, past: Sequence[Event] = ()) -> Iterator[AskedForecast]:
    """Each depth read, worked forward from the readings before it, mm."""
    for day in sorted({row.day for row in event.of(TreadRow)}):
        seen = _by_run(event, day, 10**6)
        kept = tuple(row for row in event.of(TreadRow) if row.day < day)
        seen = replace(seen, tables={**seen.tables, TreadRow.FILE: kept})
        came = {row.tyre: row for row in event.of(TreadRow) if row.day == day}
        for tyre in inventory(seen, past).tyres:
            row, runs = came.get(tyre.tyre), tyre.runs_since_reading
            for edge, said in tyre.life.depth_mm.items() if row is not None and runs else ():
                depth, rate = getattr(row, f"{edge}_mm", None), tyre.wear.get(edge)
                if depth is not None and rate is not None:
                    days = rate.share * rate.mm, rate.scatter.surface * rate.mm  # those it comes from, and this one
                    gauge = math.sqrt(2) * rate.scatter.gauge_mm
                    reach = Z80 * math.hypot(gauge, runs * rate.sd, *(runs * share for share in days))
                    yield AskedForecast(TREAD, said, said - reach, said + reach, float(depth))


def _next_run(
    event: Event, number: str, day: int, run: int, said: tuple[float, float, float] | None
) -> Iterator[AskedForecast]:
    came = next((row.time_ms for row in event.times if (row.number, row.day, row.run) == (number, day, run)
                 and row.status is None and not row.misses and row.time_ms), None)  # fmt: skip
    if said is not None and came is not None:
        yield AskedForecast(NEXT_RUN, said[1], said[0], said[2], float(came))


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
    yield AskedForecast(STEP, said[0] * ms, said[0] * ms - reach, said[0] * ms + reach, pair.change_ms)


def _leads(event: Event, number: str, day: int, said: Chances) -> Iterator[AskedForecast]:
    after = score_field(_by_run(event, day, 10**6), number, 0)
    tables = ((CLASS, said.class_, after.class_table), (INDEX, said.index, after.index_table))
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


def record_of(kind: str, asked: Sequence[AskedForecast]) -> ForecastRecord:
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
    return abs(item.came - item.said) / max(half, 1e-6)


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
