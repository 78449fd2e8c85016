"""What my own seasons say: my habits, how far my changes go, and the same change over several events.

The same change is pooled in a normal hierarchical model: each event's effect is normal around its own true effect, the
true effects are normal around a common one; the spread between events is integrated over, with a half-normal prior (A.
Gelman and others, Bayesian Data Analysis, ch. 5). The common effect has the prior of a single one. An event's error is
that of the normal with the 80 % range of its day.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from paddock.engine.field import priors
from paddock.engine.field.case import (
    NO_HABITS,
    Case,
    Contrast,
    Habits,
    car_changes,
    case_of,
    field_without,
    first_slot,
    own_runs,
)
from paddock.engine.field.effect import Effect, verdict_of
from paddock.engine.field.priors import LEARNING_S, kind_of_change
from paddock.engine.field.scores import SCALE, Slot, raw_times
from paddock.engine.field.verdict import judge_all
from paddock.engine.scoring.tables import days_run
from paddock.engine.stats.quantiles import normal_cdf, normal_quantile
from paddock.model.event import Event
from paddock.model.rows import SetupChange

# what my own seasons say: what I usually learn more than the field, and how far my changes usually went


LEAST_DAYS = 2
"""One day without a change is no habit."""
LEAST_CHANGES = 3
_FACTORS = tuple(math.exp(0.1 * step) for step in range(-13, 14))
_BELIEF = 0.5


def habits_of(events: Sequence[Event], numbers: Sequence[str]) -> Habits:
    """From ``events``, the one in question left out by the caller; nothing known where there are none."""
    learnt: dict[str, list[tuple[float, float]]] = defaultdict(list)
    went: dict[str, list[tuple[float, float, float]]] = defaultdict(list)
    for event in events:
        times = raw_times(event)
        for number in numbers:
            for day in _quiet_days(event, number, times):
                found = _learnt(event, number, day, times)
                if found is not None:
                    learnt[number].append(found)
        for row in event.of(SetupChange):
            seen = _went(event, row, times) if not row.undoes and row.kind != "repair" else None
            if seen is not None:
                went[kind_of_change(row.setting, row.item)].append(seen)
    learning = {n: (*_usual(found), len(found)) for n, found in learnt.items() if len(found) >= LEAST_DAYS}
    spreads = {kind: _factor(found) for kind, found in went.items() if len(found) >= LEAST_CHANGES}
    return Habits(learning, spreads) if learning or spreads else NO_HABITS


@dataclass(frozen=True, slots=True)
class OwnValue:
    """What was believed by ``default`` and what my own seasons say, from ``rests`` of ``of``; ``own`` None: too few.

    ``name``: ``run_s``, ``learning_s``, ``spoilt``, ``loss_s`` (of the fields I drove in), ``cone_runs``,
    ``void_runs``, ``learnt NUMBER`` (mine beyond the field's), ``pressure``, ``tyres``, ``other`` (how far my changes
    go, s in 45).
    """

    name: str
    default: float
    own: float | None
    rests: int
    of: str


def own_values(events: Sequence[Event], numbers: Sequence[str]) -> tuple[OwnValue, ...]:
    """Beside each default what ``events`` show. The field's own figures are averages of the days' fits, each of them
    drawn to the default; they are told and not used, for each day estimates them anew.
    """
    from paddock.engine.field.ahead import CONE_RUNS, VOID_RUNS, fault_weights

    habits, weights = habits_of(events, numbers), fault_weights(events)
    hypers = [
        field.fitted.hyper
        for event in events
        for day in days_run(event)
        for number in numbers[:1]
        if (field := field_without(event, number, raw_times(event), (day,))) is not None
    ]
    count = sum(item.runs for item in hypers)

    def mean(name: str) -> float | None:
        return sum(getattr(item, name) * item.runs for item in hypers) / count if count else None

    def root(value: float | None) -> float | None:
        return None if value is None else math.sqrt(value)

    values = [
        OwnValue("run_s", priors.RUN_S, root(mean("scatter")), len(hypers), "days"),
        OwnValue("learning_s", LEARNING_S, root(mean("learning")), len(hypers), "days"),
        OwnValue("spoilt", priors.SPOILT_SHARE, mean("spoilt"), len(hypers), "days"),
        OwnValue("loss_s", priors.SPOILT_S, mean("loss"), len(hypers), "days"),
        OwnValue("cone_runs", CONE_RUNS, weights.cone_runs if weights.drivers else None, weights.drivers, "drivers"),
        OwnValue("void_runs", VOID_RUNS, weights.void_runs if weights.drivers else None, weights.drivers, "drivers"),
    ]
    for number in (number for number in numbers if number in habits.learning):
        learnt, _, days = habits.learning[number]
        values.append(OwnValue(f"learnt {number}", 0.0, learnt, days, "days without a change"))
    rows = [row for event in events for row in event.of(SetupChange) if not row.undoes and row.kind != "repair"]
    for kind in ("pressure", "tyres", "other"):
        seen = sum(kind_of_change(row.setting, row.item) == kind for row in rows)
        usual, factor = priors.default_prior(kind).sd_s, habits.priors.get(kind)
        values.append(OwnValue(kind, usual, None if factor is None else usual * factor, seen, "changes"))
    return tuple(values)


def _quiet_days(event: Event, number: str, times: Mapping[str, Mapping[Slot, int]]) -> list[int]:
    moments = [first_slot(event, row) for row in car_changes(event, number)]
    if any(moment is None for moment in moments):
        return []
    busy = {moment[0] for moment in moments if moment is not None and moment[1] > 1}
    return sorted({slot[0] for slot in times.get(number, {})} - busy)


def _learnt(event: Event, number: str, day: int, times: Mapping[str, Mapping[Slot, int]]) -> tuple[float, float] | None:
    """My learning beyond the field's on a quiet day, and its variance."""
    from paddock.engine.field.own import quick_estimate

    runs = tuple(slot for slot in sorted(times.get(number, {})) if slot[0] == day)
    field = field_without(event, number, times, (day,)) if len(runs) > 1 else None
    if field is None:
        return None
    quiet = Contrast("day", (), runs, (False,) * len(runs))
    case = Case(event, SetupChange(id="-"), number, times, dict(times[number]), quiet)
    own = own_runs(case, field, NO_HABITS)
    return quick_estimate(field.fitted, own, field.fitted.layout.h[own.slot] * (own.driver == 0), learning=False)


def _usual(found: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Mean, and sd of another day about it: the field's spread is what days of mine differ by unless they show less."""
    between = max((LEARNING_S / 2) ** 2, _between(found))
    weights = [1.0 / (variance + between) for _, variance in found]
    prior = 1.0 / LEARNING_S**2
    total = sum(weights) + prior
    mean = sum(w * value for w, (value, _) in zip(weights, found, strict=True)) / total
    return mean, math.sqrt(1.0 / total + between)


def _between(found: Sequence[tuple[float, float]]) -> float:
    """Variance between days beyond their errors, by moments."""
    mean = sum(value for value, _ in found) / len(found)
    seen = sum((value - mean) ** 2 for value, _ in found) / (len(found) - 1)
    return max(0.0, seen - sum(variance for _, variance in found) / len(found))


def _went(event: Event, row: SetupChange, times: Mapping[str, Mapping[Slot, int]]) -> tuple[float, float, float] | None:
    """An effect over its default spread: estimate, and its variance, in units of that spread; and the spread."""
    from paddock.engine.field.own import quick_estimate

    case = case_of(event, row, times) if row.number or event.settings.mine.numbers else None
    if case is None or case.of.kind != "day":
        return None
    field = field_without(event, case.number, times, case.days)
    if field is None:
        return None
    own = own_runs(case, field, NO_HABITS)
    found = quick_estimate(field.fitted, own, own.changes[:, 0])
    sd = NO_HABITS.prior(row).sd_s
    return None if found is None else (found[0] / sd, found[1] / sd**2, sd)


def _factor(found: Sequence[tuple[float, float, float]]) -> float:
    """How many times the default spread my changes usually went: the posterior's geometric mean."""
    heights = []
    for factor in _FACTORS:
        height = -0.5 * (math.log(factor) / _BELIEF) ** 2
        for value, variance, _ in found:
            whole = factor * factor + variance
            height -= 0.5 * (math.log(whole) + value * value / whole)
        heights.append(height)
    weights = [math.exp(height - max(heights)) for height in heights]
    return math.exp(sum(w * math.log(f) for w, f in zip(weights, _FACTORS, strict=True)) / sum(weights))


_STEPS = 160
_TENTH = normal_quantile(0.9)


@dataclass(frozen=True, slots=True)
class Estimate:
    """One event's effect and the error of it."""

    effect: float
    error: float

    @property
    def variance(self) -> float:
        """Of the effect."""
        return self.error**2


@dataclass(frozen=True, slots=True)
class Pooled:
    """The common effect: ``mean``, ``sd``, 80 % range, chance to be below 0; ``between``: spread over events.

    ``each``: every event's effect drawn towards the common one.
    """

    mean: float
    sd: float
    low: float
    high: float
    p_faster: float
    between: float
    each: tuple[float, ...]


def given_between(estimates: Sequence[Estimate], between: float, prior_sd: float) -> tuple[float, float]:
    """Mean and sd of the common effect when the spread between events is known; ``prior_sd`` inf: no prior."""
    precision = [1.0 / (item.variance + between * between) for item in estimates]
    total = sum(precision) + (0.0 if math.isinf(prior_sd) else 1.0 / prior_sd**2)
    mean = sum(weight * item.effect for weight, item in zip(precision, estimates, strict=True)) / total
    return mean, 1.0 / math.sqrt(total)


def _log_height(
    estimates: Sequence[Estimate], between: float, prior_sd: float, scale: float
) -> tuple[float, float, float]:
    """ln posterior of ``between`` and of that prior up to a constant, the common effect's mean and sd given both."""
    mean, sd = given_between(estimates, between, prior_sd)
    height = math.log(sd) - 0.5 * (between / scale) ** 2
    if not math.isinf(prior_sd):
        height -= 0.5 * (mean / prior_sd) ** 2 + math.log(prior_sd)
    for item in estimates:
        variance = item.variance + between * between
        height -= 0.5 * math.log(variance) + 0.5 * (item.effect - mean) ** 2 / variance
    return height, mean, sd


def _mixture_quantile(share: float, parts: Sequence[tuple[float, float, float]]) -> float:
    low = min(mean - 9.0 * sd for _, mean, sd in parts)
    high = max(mean + 9.0 * sd for _, mean, sd in parts)
    for _ in range(60):
        middle = (low + high) / 2.0
        under = sum(weight * normal_cdf((middle - mean) / sd) for weight, mean, sd in parts)
        low, high = (middle, high) if under < share else (low, middle)
    return (low + high) / 2.0


def pool(estimates: Sequence[Estimate], prior_sd: float, between_scale: float | None = None) -> Pooled:
    """Pool one effect per event. ``between_scale``: half-normal scale of the spread, half the prior sd by default;
    ``prior_sd`` inf: no prior, else that of a change which usually goes so far.

    ValueError without an estimate.
    """
    if not estimates:
        raise ValueError("nothing to pool")
    scale = prior_sd / 2.0 if between_scale is None else between_scale
    believed = ((1.0, prior_sd),) if math.isinf(prior_sd) else priors.parts_of(prior_sd)
    steps = [5.0 * scale * (index + 0.5) / _STEPS for index in range(_STEPS)]
    grid = [between for between in steps for _ in believed]
    seen = []
    for between in steps:
        for share, sd in believed:
            height, at, left = _log_height(estimates, between, sd, scale)
            seen.append((height + math.log(share), at, left))
    top = max(height for height, _, _ in seen)
    weights = [math.exp(height - top) for height, _, _ in seen]
    total = sum(weights)
    parts = [(weight / total, mean, sd) for weight, (_, mean, sd) in zip(weights, seen, strict=True)]
    mean = sum(weight * at for weight, at, _ in parts)
    variance = sum(weight * (sd * sd + (at - mean) ** 2) for weight, at, sd in parts)
    return Pooled(
        mean, math.sqrt(variance), _mixture_quantile(0.1, parts), _mixture_quantile(0.9, parts),
        sum(weight * normal_cdf(-at / sd) for weight, at, sd in parts),
        sum(weight * between for (weight, _, _), between in zip(parts, grid, strict=True)),
        tuple(_drawn(item, parts, grid) for item in estimates),
    )  # fmt: skip


def _drawn(item: Estimate, parts: Sequence[tuple[float, float, float]], grid: Sequence[float]) -> float:
    total = 0.0
    for (weight, mean, _), between in zip(parts, grid, strict=True):
        own = between * between / (between * between + item.variance)
        total += weight * (own * item.effect + (1.0 - own) * mean)
    return total


def judged(event: Event, habits: Habits = NO_HABITS) -> tuple[Effect, ...]:
    """Every change of mine judged, newest first; rows without a number and without [mine] are passed over."""
    rows = [row for row in event.of(SetupChange) if row.number or event.settings.mine.numbers]
    rows.sort(key=lambda row: (row.day or 0, row.run or 0, row.at or ""), reverse=True)
    return judge_all(event, rows, habits)


@dataclass(frozen=True, slots=True)
class SeasonChange:
    """One change over a season. ``effects``: (event name, verdict there) in order; ``turned``: places of those
    that went the other way round and were counted with the opposite sign.

    ``car``: the car file's name, blank where the events name none: only changes of one car are pooled. ``runs``: the
    first run with each, None: not said. ``pooled``: in ms at ``time_ms``, None where no event gave a figure;
    ``verdict`` from its probability; ``usual_ms``: how far such changes usually go, at that time.
    """

    setting: str
    label: str
    car: str
    runs: tuple[int | None, ...]
    effects: tuple[tuple[str, Effect], ...]
    turned: tuple[int, ...]
    time_ms: float | None
    pooled: Pooled | None
    verdict: str
    usual_ms: float | None = None


def _number(text: str | None) -> float | None:
    try:
        return float((text or "").replace(",", "."))
    except ValueError:
        return None


def _way(change: SetupChange, first: SetupChange) -> int:
    """1 the same way as ``first``, -1 the other way round."""
    if (change.before, change.after) == (first.after, first.before) and change.before != change.after:
        return -1
    mine = (_number(change.before), _number(change.after))
    theirs = (_number(first.before), _number(first.after))
    if None in mine or None in theirs:
        return 1
    return -1 if (mine[1] - mine[0]) * (theirs[1] - theirs[0]) < 0 else 1  # type: ignore[operator]


def season_changes(events: Sequence[Event], habits: Habits | None = None) -> tuple[SeasonChange, ...]:
    """Every key's changes of a car over ``events`` judged and pooled; changes without a key stand alone under their id.

    Rows that take a change back belong to it and are not judged again; rows without a number and without [mine]
    are passed over. One id in two events is two changes. ``habits`` None: my learning as these events show it.
    """
    numbers = sorted({number for event in events for number in event.settings.mine.numbers})
    if habits is None:
        habits = Habits(habits_of(events, numbers).learning) if len(events) > 1 else NO_HABITS
    found: dict[tuple[str, str, int], list[tuple[str, SetupChange, Effect]]] = defaultdict(list)
    for at, event in enumerate(events):
        rows = [row for row in event.of(SetupChange) if not row.undoes and (row.number or event.settings.mine.numbers)]
        for change, effect in zip(rows, judge_all(event, rows, habits), strict=True):
            name = event.settings.name or event.name
            car = event.car_name_of(change.number or event.settings.mine.numbers[0]) or ""
            of_event = 0 if change.setting else at
            found[change.setting or change.id, car, of_event].append((name, change, effect))
    return tuple(_season_change(key, car, rows, habits) for (key, car, _), rows in found.items())


def _season_change(key: str, car: str, rows: Sequence[tuple[str, SetupChange, Effect]], habits: Habits) -> SeasonChange:
    first = rows[0][1]
    ways = [_way(change, first) for _, change, _ in rows]
    estimates, times = [], []
    for way, (_, _, effect) in zip(ways, rows, strict=True):
        if effect.p_helped is not None and effect.extra_ms is not None and effect.interval80_ms and effect.time_ms:
            share = SCALE / effect.time_ms
            error = (effect.interval80_ms[1] - effect.interval80_ms[0]) / 2 / _TENTH
            estimates.append(Estimate(effect.extra_ms * share * way, error * share))
            times.append(effect.time_ms)
    effects = tuple((name, effect) for name, _, effect in rows)
    runs = tuple(change.run for _, change, _ in rows)
    turned = tuple(index for index, way in enumerate(ways) if way < 0)
    if not estimates:
        return SeasonChange(key, rows[0][2].label, car, runs, effects, turned, None, None, verdict_of(None))
    usual, time = habits.prior(first).sd_s, sum(times) / len(times)
    pooled = pool(estimates, usual)
    ms = time / SCALE
    scaled = Pooled(
        pooled.mean * ms, pooled.sd * ms, pooled.low * ms, pooled.high * ms, pooled.p_faster, pooled.between * ms,
        tuple(value * ms for value in pooled.each),
    )  # fmt: skip
    return SeasonChange(
        key, rows[0][2].label, car, runs, effects, turned, time, scaled, verdict_of(pooled.p_faster), usual * ms
    )
