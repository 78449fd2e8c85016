"""What my own seasons say: what I usually learn more than the field, and how far my changes usually went.

Learning from days on which the car was left alone. Spread of changes: the default spread times a factor with a
log-normal prior, weighed by the effects estimated in other events (empirical Bayes; A. Gelman and others, Bayesian Data
Analysis, chapter 5). Both replace the default only from several days on.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from paddock.engine.field import priors
from paddock.engine.field.case import NO_HABITS, Case, Habits, case_of, field_without, own_runs
from paddock.engine.field.priors import LEARNING_S, kind_of_change
from paddock.engine.field.runs import Slot, raw_times
from paddock.engine.field.states import Contrast, car_changes, first_slot
from paddock.engine.scoring.tables import days_run
from paddock.model.event import Event
from paddock.model.rows import SetupChange

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
