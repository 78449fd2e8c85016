"""The next test: how to lay the runs left out so that course and learning cancel, and how likely it is to tell."""

from __future__ import annotations

import math
import random
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from paddock.engine.field import priors
from paddock.engine.field.case import car_changes, first_slot
from paddock.engine.field.effect import PlannedRun, Power, TestPlan
from paddock.engine.stats.fits import inverse
from paddock.engine.stats.quantiles import normal_cdf, normal_quantile
from paddock.model.event import Event
from paddock.model.rows import SetupChange

_QUICK = ("pressure", "psi", "kpa", "bar", "damper", "shock", "rebound", "compression", "bump", "click", "wing")
"""Changed between two runs by one person (common practice, no source)."""
_SLOW = ("spring", "camber", "toe", "caster", "alignment", "tyre", "tire", "wheel", "height", "diff", "bush", "spacer")


@dataclass(frozen=True, slots=True)
class WayToTest:
    """One way to spend the runs left: ``settings`` run by run, ``turns`` of the setting, what it is worth.

    ``name``: ``mirrored`` (old-new-new-old), ``alternating``, ``halves``, ``another day`` (four runs mirrored), ``eight
    runs`` (of another day, mirrored), ``days`` (a whole day each).
    """

    name: str
    settings: tuple[str, ...]
    turns: int
    power: Power


@dataclass(frozen=True, slots=True)
class Worth:
    """Keep, go back, or test again, as expectations a run in ms; negative gains.

    ``keep_ms`` and ``keep80_ms``: with the change against without. ``wrong_ms``: what going by the best guess costs on
    average because it may be wrong (the expected loss of acting now); ``saves_ms``: how much of that the next test as
    planned would save on average (H. Raiffa and R. Schlaifer, Applied Statistical Decision Theory, 1961; from memory).
    """

    keep_ms: float
    keep80_ms: tuple[float, float]
    wrong_ms: float
    saves_ms: float


def is_quick(change: SetupChange) -> bool:
    """Whether the change can be turned round between two runs, told by its key and item."""
    words = f"{change.setting or ''} {change.item or ''}".casefold().replace("-", " ").replace("_", " ")
    pressure = "pressure" in words or "psi" in words.split()
    return pressure or (any(word in words for word in _QUICK) and not any(word in words for word in _SLOW))


def open_test(event: Event, number: str) -> SetupChange | None:
    """The latest undecided change of the car that is no repair and takes nothing back."""
    taken = {row.undoes for row in event.of(SetupChange)}
    waiting = [
        row for row in car_changes(event, number)
        if row.decision is None and row.kind != "repair" and not row.undoes and row.id not in taken
    ]  # fmt: skip
    return max(waiting, key=lambda row: first_slot(event, row) or (0, 0), default=None)


def _last_slot(event: Event, number: str) -> tuple[int, int]:
    """The latest day anybody ran, and my last run number on it."""
    mine = [row for row in event.times if row.number == number]
    day = max({row.day for row in event.times}, default=1)
    return day, max((row.run for row in mine if row.day == day), default=0)


def _left(event: Event, run: int) -> int:
    return max(0, (event.settings.runs_per_day or 0) - run)


def _is_on(event: Event, change: SetupChange) -> bool:
    """Whether the car carries the change now: every later row that takes it back turns it round."""
    chain, turns = {change.id}, 0
    for row in event.of(SetupChange):
        if row.undoes in chain:
            chain.add(row.id)
            turns += 1
    return turns % 2 == 0


def _test_runs(count: int, now: str, other: str) -> list[str]:
    if count >= 4:
        whole = count // 4
        return [now, other, other, now] * whole + ["free"] * (count - 4 * whole)
    return ([other, now] + ["free"] * count)[:count] if count >= 2 else ["free"] * count


def _quick_plan(change: SetupChange, day: int, run: int, count: int, on: bool) -> TestPlan:
    now, other = ("new", "old") if on else ("old", "new")
    settings = _test_runs(count, now, other)
    runs = tuple(PlannedRun(day, run + 1 + i, setting) for i, setting in enumerate(settings))
    tested = [item for item in runs if item.setting != "free"]
    tested = tested or [PlannedRun(day, i + 1, setting) for i, setting in enumerate(_test_runs(4, now, other))]
    return TestPlan(change.id, True, runs, on, _power(change, [(item.run, item.setting == "new") for item in tested]))


def _slow_plan(event: Event, change: SetupChange, at: tuple[int, int, int], on: bool, seed: int) -> TestPlan:
    day, run, count = at
    now = "new" if on else "old"
    runs = [PlannedRun(day, run + 1 + i, now) for i in range(count)]
    setting = "old" if random.Random(seed).random() < 0.5 else "new"
    per_day = event.settings.runs_per_day or 0
    for later in range(day + 1, len(event.settings.days) + 1):
        runs += [PlannedRun(later, i + 1, setting) for i in range(per_day)]
        setting = "new" if setting == "old" else "old"
    return TestPlan(change.id, False, tuple(runs), on, _power(change, [], nights=max(per_day, 3)))


def plan(
    event: Event, number: str, runs_left: int | None = None, seed: int = 0, change_id: str | None = None
) -> TestPlan | None:
    """Lay out the runs left for the change ``change_id``, or for the latest open test; None where there is none.

    ``runs_left`` None: as the event says. ``seed`` decides the coin toss.
    """
    found = {row.id: row for row in event.of(SetupChange)}
    change = found.get(change_id) if change_id else open_test(event, number)
    if change is None:
        return None
    day, run = _last_slot(event, number)
    count = _left(event, run) if runs_left is None else max(0, runs_left)
    on = _is_on(event, change)
    if is_quick(change):
        return _quick_plan(change, day, run, count, on)
    return _slow_plan(event, change, (day, run, count), on, seed)


def hoped_effect(change: SetupChange) -> float:
    """Seconds hoped for: what ``expect`` names (``0.2 s``), else how far such changes usually go."""
    named = re.search(r"(\d+(?:[.,]\d+)?)\s*s\b", change.expect or "")
    if named and 0.0 < (value := float(named[1].replace(",", "."))) <= 5.0:
        return value
    return default_sd(change)


def default_sd(change: SetupChange) -> float:
    """How far such changes usually go, seconds in 45."""
    kind = priors.kind_of_change(change.setting, change.item)
    return priors.default_prior(kind, priors.pressure_step(change.before, change.after)).sd_s


def _told_variance(runs: Sequence[tuple[int, bool]]) -> float:
    """Variance with which runs (number, with the change) tell an effect: my scatter, a dozen others' course, my level
    and learning unknown. inf: they can't.
    """
    noise = priors.RUN_S**2 * 1.4
    h = [math.exp(-(run - 1.0) / priors.LEARNING_RUNS) for run, _ in runs]
    whole = [
        [400.0 + priors.LEARNING_S**2 * a * b + (noise if i == j else 0.0) for j, b in enumerate(h)]
        for i, a in enumerate(h)
    ]
    inner = inverse(whole)
    if inner is None:
        return math.inf
    told = sum(inner[i][j] for i, (_, a) in enumerate(runs) for j, (_, b) in enumerate(runs) if a and b)
    return 1.0 / told if told > 1e-6 else math.inf


_SCATTER_FREEDOM, _POINTS = 3.0, 5
"""What is known of my scatter is worth so many degrees of freedom and the runs of the test: with that the chance told
comes closest to what came on simulated days.
"""


def _scatters(freedom: float) -> tuple[float, ...]:
    """What my variance may be against the usual, as likely each: freedom over chi squared (E. B. Wilson and M. M.
    Hilferty, PNAS 17, 1931).
    """
    part = 2.0 / (9.0 * freedom)
    middles = (normal_quantile((at + 0.5) / _POINTS) for at in range(_POINTS))
    return tuple((1.0 - part + z * math.sqrt(part)) ** -3 for z in middles)


@lru_cache(maxsize=256)
def _needed(word: float, sd: float, variance: float, freedom: float) -> float:
    """How far apart the runs must come out for the chance to reach ``word``."""
    parts = [(share, part, times * variance) for share, part in priors.parts_of(sd) for times in _scatters(freedom)]

    def sure(seen: float) -> float:
        total = right = 0.0
        for share, part, error in parts:
            whole = part**2 + error
            weight = share / math.sqrt(whole) * math.exp(-0.5 * seen * seen / whole)
            total += weight
            right += weight * normal_cdf(seen * part / math.sqrt(whole * error))
        return right / total if total else 1.0

    low, high = 0.0, 30.0 * math.sqrt(variance * (sd**2 + variance)) / sd
    for _ in range(25):
        middle = (low + high) / 2.0
        low, high = (middle, high) if sure(middle) < word else (low, middle)
    return high


def _power_of(change: SetupChange, variance: float, runs: int) -> Power:
    hoped, sd = hoped_effect(change), default_sd(change)
    eight = _told_variance([(run, run % 4 in (2, 3)) for run in range(1, 9)])

    def chance(word: float, variance: float, runs: int) -> float:
        if math.isinf(variance):
            return 0.0
        away = hoped - _needed(word, sd, variance, _SCATTER_FREEDOM + runs)
        scatters = _scatters(_SCATTER_FREEDOM + runs)
        return sum(normal_cdf(away / math.sqrt(times * variance)) for times in scatters) / len(scatters)

    return Power(
        hoped, chance(0.8, variance, runs), chance(0.95, variance, runs), chance(0.8, eight, 8),
        math.inf if math.isinf(variance) else _needed(0.8, sd, variance, _SCATTER_FREEDOM + runs), math.sqrt(variance),
    )  # fmt: skip


def _power(change: SetupChange, runs: Sequence[tuple[int, bool]], nights: int = 0) -> Power:
    """``nights``: a day each way of so many runs, instead of ``runs``."""
    if nights:
        return _power_of(change, 2 * priors.NIGHT_S**2 + 2.8 * priors.RUN_S**2 / nights, 2 * nights)
    return _power_of(change, _told_variance(runs), len(runs))


def ways_to_test(
    event: Event, number: str, change: SetupChange, runs_left: int | None = None
) -> tuple[WayToTest, ...]:  # fmt: skip
    """What can be done with the runs left, and on another day; that which tells most today comes first."""
    _, run = _last_slot(event, number)
    count = _left(event, run) if runs_left is None else max(0, runs_left)
    now, other = ("new", "old") if _is_on(event, change) else ("old", "new")
    if not is_quick(change):
        nights = max(event.settings.runs_per_day or 0, 3)
        return (WayToTest("days", (now, other), 1, _power(change, [], nights=nights)),)
    patterns = {}
    if count >= 4:
        patterns["mirrored"] = [now, other, other, now] * (count // 4)
    if count >= 2:
        patterns["alternating"] = [now if at % 2 else other for at in range(count)]
    if count >= 3:
        patterns["halves"] = [now] * (count // 2) + [other] * (count - count // 2)
    today = [_way(change, name, settings, run, now) for name, settings in patterns.items()]
    today.sort(key=lambda way: way.power.error_s)
    later = [
        _way(change, name, [now, other, other, now] * blocks, 0, now)
        for name, blocks in (("another day", 1), ("eight runs", 2))
    ]
    return (*today, *later)


_USUAL = {
    "pressure": SetupChange(id="-", item="tyre pressure", before="28", after="30"),
    "quick": SetupChange(id="-", item="bar"),
    "slow": SetupChange(id="-", item="toe"),
    "tyres": SetupChange(id="-", setting="tyres"),
}


def usual_tests(event: Event, number: str, runs_left: int | None = None) -> tuple[tuple[str, WayToTest], ...]:
    """Before any change is logged: for each kind of change the way that tells most of those the runs left allow.

    Kinds: ``pressure`` (2 psi) and ``quick`` (turned between two runs), told of the next day where no two runs are
    left; ``slow`` and ``tyres`` (a whole day each).
    """
    return tuple((kind, ways_to_test(event, number, change, runs_left)[0]) for kind, change in _USUAL.items())


def _way(change: SetupChange, name: str, settings: Sequence[str], after: int, now: str) -> WayToTest:
    turns = sum(a != b for a, b in zip([now, *settings], settings, strict=False))
    power = _power(change, [(after + 1 + at, setting == "new") for at, setting in enumerate(settings)])
    return WayToTest(name, tuple(settings), turns, power)


def _loss(z: float) -> float:
    """The unit normal loss: E max(0, Z - z)."""
    return math.exp(-0.5 * z * z) / math.sqrt(2 * math.pi) - z * normal_cdf(-z)


def worth_of(guess_ms: float, range80_ms: tuple[float, float], error_ms: float) -> Worth:
    """From what is believed after the day and the error the next test would leave, at my time; inf: it can't tell."""
    sd = max((range80_ms[1] - range80_ms[0]) / 2.0 / normal_quantile(0.9), 1e-6)
    z = abs(guess_ms) / sd
    wrong = sd * _loss(z)
    learnt = 0.0 if math.isinf(error_ms) else sd**2 / math.hypot(sd, error_ms)
    return Worth(guess_ms, range80_ms, wrong, learnt * _loss(abs(guess_ms) / learnt) if learnt else 0.0)
