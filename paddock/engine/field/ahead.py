"""Runs to come, drawn from the fitted field: pace on the course that is still to come, scatter, cones, void runs.

The course's next steps are drawn once for everybody, so that a better course helps all alike; what one driver's level,
learning and scatter may be is drawn for each. Cones are a gamma-Poisson, void runs a beta-binomial; both lean on the
field by the weights measured in like sport.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from paddock.engine.field import priors
from paddock.engine.field.fit import times
from paddock.engine.field.scores import SCALE

if TYPE_CHECKING:
    from paddock.engine.field.fit import Fitted
    from paddock.engine.field.scores import Floats, Ints
    from paddock.model.event import Event

DRAWS = 2000
_SEED = 20260510
CONE_RUNS, VOID_RUNS = 3.7, 4.4
"""Runs of the field that a driver's own cones, and void runs, are weighed against (10,204 runs of a like sport)."""
LEAST_EVENTS = 3
"""Fewer of my own events do not replace those weights."""
_CLEAN, _WEIGHT_BELIEF = 0.3, 0.5
_MOST_CONES = 200
_LEVEL_S, _ALIKE_DRIVERS = 1.5, 2.0
"""What drivers of a class usually differ by in pace, and how many of them that belief is worth."""


@dataclass(frozen=True, slots=True)
class RunRates:
    """``tries``, ``cones`` and ``voids`` by number, the field's cones and voids a try, and how many runs of the field a
    driver's own are weighed against.
    """

    counts: Mapping[str, tuple[int, int, int]]
    cones: float
    voids: float
    cone_runs: float = CONE_RUNS
    void_runs: float = VOID_RUNS

    def cone_rate(self, number: str) -> float:
        """Cones a run, own record and field together."""
        tries, cones, _ = self.counts.get(number, (0, 0, 0))
        return (cones + self.cone_runs * self.cones) / (tries + self.cone_runs)

    def void_rate(self, number: str) -> float:
        """Share of void runs, own record and field together."""
        tries, _, voids = self.counts.get(number, (0, 0, 0))
        return (voids + self.void_runs * self.voids) / (tries + self.void_runs)


@dataclass(frozen=True, slots=True)
class FaultWeights:
    """How many runs of the field a driver's own cones, and void runs, weigh against, from ``drivers`` of ``events``."""

    cone_runs: float = CONE_RUNS
    void_runs: float = VOID_RUNS
    drivers: int = 0
    events: int = 0


def fault_weights(events: Sequence[Event]) -> FaultWeights:
    """From how drivers of one event differ: cones as a gamma-Poisson, void runs as a beta-binomial, the weight's
    posterior geometric mean about the default (its ln has sd 0.5). The default itself with fewer than ``LEAST_EVENTS``.
    """
    found = [(rates, [item for item in rates.counts.values() if item[0]]) for rates in map(rates_of, events)]
    found = [(rates, counts) for rates, counts in found if len(counts) > 1]
    if len(found) < LEAST_EVENTS:
        return FaultWeights()
    steps = [math.exp(0.1 * at) for at in range(-15, 16)]

    def geometric(default: float, height: Callable[[float], float]) -> float:
        heights = [height(default * step) - 0.5 * (math.log(step) / _WEIGHT_BELIEF) ** 2 for step in steps]
        shares = [math.exp(value - max(heights)) for value in heights]
        return default * math.exp(sum(w * math.log(x) for w, x in zip(shares, steps, strict=True)) / sum(shares))

    def cones(weight: float) -> float:
        return sum(gamma_poisson(hit, tries, weight, rates.cones) for rates, of in found for tries, hit, _ in of)

    def voids(weight: float) -> float:
        return sum(beta_binomial(lost, tries, weight, rates.voids) for rates, of in found for tries, _, lost in of)

    drivers = sum(len(counts) for _, counts in found)
    return FaultWeights(geometric(CONE_RUNS, cones), geometric(VOID_RUNS, voids), drivers, len(found))


def gamma_poisson(hit: int, tries: int, weight: float, rate: float) -> float:
    """ln chance of ``hit`` cones in ``tries``, but for what does not depend on ``weight``."""
    shape = weight * rate
    return (math.lgamma(shape + hit) - math.lgamma(shape) + shape * math.log(weight / (weight + tries))
            + hit * math.log(tries / (weight + tries)))  # fmt: skip


def beta_binomial(lost: int, tries: int, weight: float, share: float) -> float:
    a, b = weight * share, weight * (1.0 - share)
    return (math.lgamma(a + lost) + math.lgamma(b + tries - lost) - math.lgamma(weight + tries)
            + math.lgamma(weight) - math.lgamma(a) - math.lgamma(b))  # fmt: skip


def rates_of(event: Event, weights: FaultWeights | None = None) -> RunRates:
    """From every run that was started, all days. ``weights`` None: those measured in a like sport."""
    found: dict[str, list[int]] = defaultdict(lambda: [0, 0, 0])
    for row in event.times:
        if row.status in {"rerun", "practice", "dns"} or (row.time_ms is None and row.status is None):
            continue
        mine = found[row.number]
        mine[0] += 1
        mine[1] += row.cones or 0
        mine[2] += bool(row.status or row.misses)
    tries = sum(item[0] for item in found.values())
    cones, voids = sum(item[1] for item in found.values()), sum(item[2] for item in found.values())
    counts = {number: (item[0], item[1], item[2]) for number, item in found.items()}
    weights = weights or FaultWeights()
    return RunRates(
        counts, (cones + _CLEAN) / (tries + 1), (voids + 0.1) / (tries + 2), weights.cone_runs, weights.void_runs
    )


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """Runs to come by driver (as asked), run and draw. ``raw_ms``; ``cones``; ``void``.

    ``pace``: each driver's expected ``ln(ms)`` of the next run, by draw; ``scatter``: a driver's sd of a run, ln units.
    """

    raw_ms: Floats
    cones: Ints
    void: Floats
    pace: Floats
    scatter: Floats


def _levels(fitted: Fitted, rows: Sequence[int], alike: Mapping[str, str | None]) -> dict[int, tuple[float, float]]:
    """By row what is believed of a driver's level, against his own middle: mean, and variance about it.

    Who looks quickest of several was also lucky: levels are drawn to the middle of those of the same class, as far as
    these differ beyond their errors (empirical Bayes; B. Efron and C. Morris, JASA 70, 1975). Alone in it: as seen.
    """
    layout, frame, at = fitted.layout, fitted.frame, np.arange(fitted.layout.slots)
    variance = layout.own_variance(fitted.hyper)
    moved, mean, course_size = fitted.moved[frame.group, at], fitted.mean, layout.groups * layout.slots
    own = np.tile(layout.own(np.zeros(layout.slots)), (len(frame.numbers), 1, 1))
    own[:, :, -1] = moved
    weighted = own * fitted.precision[:, :, None]
    inner = np.linalg.inv(np.diag(1.0 / variance) + own.transpose(0, 2, 1) @ weighted)
    course = mean[:course_size].reshape(layout.groups, -1)[frame.group, at]
    if layout.per_kind:
        kinds = mean[course_size:].reshape(layout.kinds, -1)[frame.kind]
        course = course + moved * kinds[:, :1] + kinds[:, 1:] @ layout.by_day()[:, 1:].T
    left = np.where(fitted.precision > 0, fitted.target - course, 0.0)
    levels = times(np.asarray(inner, dtype=float), times(weighted.transpose(0, 2, 1), left))[:, 0]
    seen: dict[str | None, list[tuple[int, float, float]]] = defaultdict(list)
    for row, number in enumerate(frame.numbers):
        if alike.get(number) is not None or row in rows:
            seen[alike.get(number)].append((row, float(levels[row] + frame.base[row]), float(inner[row, 0, 0])))
    found = {}
    for name, drivers in seen.items():
        if name is None or len(drivers) < 3:
            found.update({row: (0.0, float(variance[0])) for row, *_ in drivers})
            continue
        middle = sum(level for _, level, _ in drivers) / len(drivers)
        beyond = sum((level - middle) ** 2 - error for _, level, error in drivers)
        between = (_ALIKE_DRIVERS * _LEVEL_S**2 + max(0.0, beyond)) / (_ALIKE_DRIVERS + len(drivers) - 1)
        found.update({row: (middle - float(frame.base[row]), between) for row, *_ in drivers})
    return found


def _own(
    fitted: Fitted, rows: Sequence[int], courses: Floats, first: int, alike: Mapping[str, str | None]
) -> tuple[Floats, Floats]:
    """Drivers by slots to come by draws: expected ``y``; and drivers' variances by draws. ``courses``: the unknowns."""
    random = np.random.default_rng(_SEED + 1)
    layout, hyper, frame = fitted.layout, fitted.hyper, fitted.frame
    at = np.arange(layout.slots)
    spread = _levels(fitted, rows, alike)
    variance = layout.own_variance(hyper)
    of_cell: dict[tuple[object, ...], Floats] = {}
    expected = np.empty((len(rows), layout.slots - first, courses.shape[0]))
    for at_row, row in enumerate(rows):
        usual, variance[0] = spread[row]
        moved = fitted.moved[frame.group[row], at]
        cell = (int(frame.kind[row]), *frame.group[row].tolist())
        if cell not in of_cell:
            of_cell[cell] = layout.design(frame.group[row], int(frame.kind[row]), moved) @ courses.T
        course, own, precision = of_cell[cell], layout.own(moved), fitted.precision[row]
        weighted = own.T * precision
        inner = np.linalg.inv(np.diag(1.0 / variance) + weighted @ own)
        known = np.where(precision > 0, fitted.target[row] - usual, 0.0)
        middle = inner @ ((weighted @ known)[:, None] - weighted @ course)
        drawn = middle + np.linalg.cholesky(inner) @ random.standard_normal(middle.shape)
        expected[at_row] = course[first:] + own[first:] @ drawn + (usual + frame.base[row])
    return expected, _scatters(random, fitted, rows, courses.shape[0])


def _scatters(random: np.random.Generator, fitted: Fitted, rows: Sequence[int], draws: int) -> Floats:
    """Drivers by draws: what a driver's variance may be; as many runs, as much is known of it."""
    runs = (fitted.precision[rows] > 0).sum(1)
    freedom = fitted.hyper.freedom + np.maximum(runs - 2.0, 0.0)
    found = np.empty((len(rows), draws))
    for value in np.unique(freedom):
        alike = np.flatnonzero(freedom == value)
        found[alike] = _dealt(random, value / random.chisquare(value, (2, draws)), len(alike))
    return fitted.scatter[rows][:, None] * found


def draw_ahead(
    fitted: Fitted, numbers: Sequence[str], first: int, rates: RunRates, alike: Mapping[str, str | None] | None = None,
    draws: int = DRAWS,
) -> Drawn:  # fmt: skip
    """``numbers``: whose runs, all in the fitted frame; ``first``: the slot from which runs are to come; ``alike``: by
    number the class whose pace a driver's own is drawn to, none: nobody's.
    """
    random = np.random.default_rng(_SEED)
    rows = [fitted.frame.numbers.index(number) for number in numbers]
    part = np.searchsorted(np.cumsum(fitted.weights), (np.arange(draws) + 0.5) / draws).clip(0, len(fitted.weights) - 1)
    size = fitted.layout.size
    roots = np.linalg.cholesky(fitted.covs + 1e-10 * np.eye(size))
    noise = random.standard_normal((draws, size))
    courses = np.empty((draws, size))
    for k in range(len(fitted.weights)):
        here = part == k
        courses[here] = fitted.means[k] + noise[here] @ roots[k].T
    expected, scatters = _own(fitted, rows, courses, first, alike or {})
    shape = expected.shape
    slots = shape[1:]
    tails = _dealt(random, random.chisquare(priors.NU, (4, *slots)) / priors.NU, len(rows))
    error = random.standard_normal(shape) * np.sqrt(scatters[:, None] / tails)
    losses = _dealt(random, random.exponential(fitted.hyper.loss, (4, *slots)), len(rows))
    lost = (random.random(shape) < fitted.hyper.spoilt) * losses
    raw = np.exp((expected + error + lost) / SCALE)
    cones, void = _faults(random, numbers, rates, shape)
    return Drawn(raw, cones, void, expected[:, 0] / SCALE, np.sqrt(scatters.mean(1)) / SCALE)


def _dealt(random: np.random.Generator, drawn: Floats, drivers: int) -> Floats:
    """A driver each their own stretch of what was drawn once, for drawing anew for each takes longer than the rest."""
    packs, *slots, draws = drawn.shape
    whole = np.moveaxis(drawn, 0, -2).reshape(*slots, packs * draws)
    whole = np.concatenate([whole, whole[..., :draws]], axis=-1)
    starts = random.integers(packs * draws, size=drivers)
    return np.array([whole[..., start : start + draws] for start in starts.tolist()])


def _faults(
    random: np.random.Generator, numbers: Sequence[str], rates: RunRates, shape: tuple[int, ...]
) -> tuple[Ints, Floats]:
    """Cones and void runs: drivers with the same record have the same belief, dealt anew to each."""
    of_record: dict[tuple[int, int, int], list[int]] = defaultdict(list)
    for i, number in enumerate(numbers):
        of_record[rates.counts.get(number, (0, 0, 0))].append(i)
    rate, share = np.empty((shape[0], shape[2])), np.empty((shape[0], shape[2]))
    for (tries, hit, lost), drivers in of_record.items():
        cones = random.gamma(rates.cone_runs * rates.cones + hit, 1.0 / (rates.cone_runs + tries), (1, shape[2]))
        field = rates.void_runs * rates.voids, rates.void_runs * (1.0 - rates.voids)
        voids = random.beta(field[0] + lost, field[1] + tries - lost, (1, shape[2]))
        rate[drivers], share[drivers] = _dealt(random, cones, len(drivers)), _dealt(random, voids, len(drivers))
    return _counted(random.random(shape), rate[:, None]), (random.random(shape) < share[:, None]).astype(float)


def _counted(under: Floats, rate: Floats) -> Ints:
    """The Poisson count under which the share ``under`` lies."""
    count = np.zeros(under.shape, dtype=np.int64)
    chance = np.broadcast_to(np.exp(-rate), under.shape).ravel()
    rates, left, counts = np.broadcast_to(rate, under.shape).ravel(), under.ravel() - chance, count.ravel()
    at, k = np.flatnonzero(left > 0.0), 0
    chance, rates, left = chance[at], rates[at], left[at]
    while at.size and k < _MOST_CONES:
        k += 1
        counts[at] = k
        chance = chance * rates / k
        left = left - chance
        more = left > 0.0
        at, chance, rates, left = at[more], chance[more], rates[more], left[more]
    return counts.reshape(under.shape)
