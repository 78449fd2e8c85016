"""Where the surface does not turn: from which warmth should the next run's end be reckoned?

Run: python docs/studies/warmth_study.py [CARS]

Prints the table of docs/studies/warmth.md (seeded). A day of one axle of a car: a cold reading, six runs, each read
two minutes after it and set anew. Tyres cool and warm as the program has it (``docs/methods/heat.md``), each at its
own pace. What a run warms differs from car to car, from day to day, as the course is learnt, and from run to run.
"""

from __future__ import annotations

import math
import random
import sys
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from statistics import fmean, quantiles, stdev

SEED, CARS, RUNS = 20261130, 2000, 6
OUT_PSI, COOLING_MIN, WAIT_MIN, RUN_MIN, READ_MIN = 14.7, 20.0, 15.0, 0.8, 2.0
AXLES = {"front": (32.0, 20.0), "rear": (40.0, 16.0)}
"""Hot target, psi, and K that a first run warms an axle of the middle car."""

HALF_80, ONE_RUN_K = 1.2816, 2.0
"""``ONE_RUN_K``: scatter of one run's warming that the weighted rule takes, near what is simulated."""


@dataclass(frozen=True)
class Case:
    """``day_psi``: sd of a day's effect; ``known``: earlier days the car's usual is known from, 0 = the stated default.

    ``cooling_min``: median time constant; ``scatter``: of a run's warming, as a share; ``learnt``: how much more the
    later runs warm; ``waits``: a day's usual minutes from the gauge to the next run; ``step_psi``: the gauge's;
    ``read_min``: minutes from the run to it; ``cold``: read cold in the morning, else the tyres' warmth is a guess.
    """

    day_psi: float = 1.0
    known: int = 3
    cooling_min: float = 20.0
    scatter: float = 0.08
    learnt: float = 0.08
    waits: tuple[float, float] = (8.0, 22.0)
    step_psi: float = 0.1
    read_min: float = READ_MIN
    cold: bool = True


@dataclass(frozen=True)
class Known:
    """What a rule may look at, K over the air, minutes: ends as read, and from each to the next; ``usual``, ``spread``:
    what a first run usually warms, and its sd."""

    ends: tuple[float, ...]
    gaps: tuple[float, ...]
    usual: float
    spread: float

    @property
    def warmed(self) -> list[float]:
        """What each run of today added to what was left of the one before."""
        left = (end * math.exp(-gap / COOLING_MIN) for end, gap in zip(self.ends, self.gaps, strict=False))
        return [end - kept for end, kept in zip(self.ends, (0.0, *left), strict=False)]

    @property
    def left(self) -> float:
        """Of the last end at the next, after as long as last time, else the usual wait."""
        gap = self.gaps[-1] if self.gaps else WAIT_MIN + RUN_MIN + READ_MIN
        return self.ends[-1] * math.exp(-gap / COOLING_MIN)


def weighted(known: Known) -> float:
    """Mean of today's warming and the usual one, each by its variance."""
    today, before = len(known.ends) / ONE_RUN_K**2, 1.0 / known.spread**2
    return known.left + (today * fmean(known.warmed) + before * known.usual) / (today + before)


RULES: Mapping[str, Callable[[Known], float]] = {
    "as warm as the last": lambda known: known.ends[-1],
    "left + usual": lambda known: known.left + known.usual,
    "left + today's first": lambda known: known.left + known.ends[0],
    "left + weighted": weighted,
    "left + the last run's": lambda known: known.left + known.warmed[-1],
}
"""The next run's end, K over the air. The first was the program's, the last is. The third is what the rule for a turned
surface would give on a car's first day."""


def usual_of(case: Case, own: float, middle: float, day_k: float, chance: random.Random) -> tuple[float, float]:
    """What is known of a car before the day, and its sd, as ``engine/pressure/plan.py`` has it."""
    if not case.known:
        return middle, 0.4 * middle / HALF_80
    seen = [max(1.0, own + chance.gauss(0.0, math.hypot(day_k, 1.0, case.scatter * own))) for _ in range(case.known)]
    spread = stdev(seen) * math.sqrt(1.0 + 1.0 / case.known) if case.known > 1 else 4.0 / HALF_80
    return fmean(seen), max(1.5 / HALF_80, spread)


@dataclass
class Axle:
    """``air_c`` C; ``over`` K; ``psi_per_k``: the air that is in it."""

    air_c: float
    cooling_min: float
    over: float = 0.0
    psi_per_k: float = 0.0

    def psi(self) -> float:
        return self.psi_per_k * (273.15 + self.air_c + self.over) - OUT_PSI

    def stand(self, minutes: float) -> None:
        self.over *= math.exp(-minutes / self.cooling_min)


def day(case: Case, axle: str, common: float, chance: random.Random) -> Iterator[tuple[int, str, float]]:
    """Per run from the second on and rule: by how much it ended over its target, psi."""
    target, middle = AXLES[axle]
    psi_per_k = (target + OUT_PSI) / (288.15 + middle)
    own, day_k = max(2.0, chance.gauss(middle, 0.25 * middle)), case.day_psi / psi_per_k
    usual, spread = usual_of(case, own, middle, day_k, chance)
    today = max(1.0, own + day_k * (0.8 * common + 0.6 * chance.gauss(0.0, 1.0)))
    tyre = Axle(chance.uniform(8.0, 22.0), case.cooling_min * math.exp(chance.gauss(0.0, 0.3)))
    tyre.psi_per_k = psi_per_k

    def read() -> float:
        """Mean of two wheels, absolute psi."""
        both = (round((tyre.psi() + chance.gauss(0.0, 0.05)) / case.step_psi) * case.step_psi for _ in range(2))
        return fmean(both) + OUT_PSI

    inside = read() / (273.15 + tyre.air_c + chance.gauss(0.0, 0.7))  # a garage's air is not quite the tyre's
    wait, gap, known = chance.uniform(*case.waits), 0.0, Known((), (), usual, spread)
    said: dict[str, float] = {}
    for run in range(1, RUNS + 1):
        warms = today * (1.0 + case.learnt * (1.0 - 0.5 ** (run - 1))) * (1.0 + chance.gauss(0.0, case.scatter))
        tyre.stand(RUN_MIN)
        tyre.over += warms
        tyre.stand(READ_MIN)
        for rule, share in said.items():
            yield run, rule, share * (tyre.psi() + OUT_PSI) - OUT_PSI - target
        tyre.stand(case.read_min - READ_MIN)
        now_k = max(0.0, read() / inside - 273.15 - tyre.air_c)
        back = math.exp((case.read_min - READ_MIN) / COOLING_MIN)
        known = replace(known, gaps=(*known.gaps, gap) if run > 1 else ())
        if not case.cold:
            now_k = (usual + (known.ends[-1] * math.exp(-gap / COOLING_MIN) if run > 1 else 0.0)) / back
        known = replace(known, ends=(*known.ends, now_k * back))
        to = {rule: tyre.air_c + 273.15 + foretold(known) for rule, foretold in RULES.items()}
        here = (tyre.air_c + 273.15 + now_k) / (tyre.psi() + OUT_PSI)
        said = {rule: (target + OUT_PSI) * here / end for rule, end in to.items()}
        inside = read() / (273.15 + tyre.air_c + now_k)  # set, and read as set
        stood = wait * math.exp(chance.gauss(0.0, 0.2))
        tyre.stand(stood)
        gap = case.read_min + stood + RUN_MIN


@dataclass(frozen=True)
class Score:
    """Of one rule: mean miss, psi; % within 1 psi; the miss that one run in twenty is over, either way, psi."""

    mean: float
    within: float
    worst: float

    @classmethod
    def of(cls, misses: list[float]) -> Score:
        sizes = [abs(miss) for miss in misses]
        within = 100.0 * sum(size <= 1.0 for size in sizes) / len(sizes)
        return cls(fmean(misses), within, quantiles(sizes, n=20)[-1])

    def __str__(self) -> str:
        return f"{self.within:.0f} %, {self.mean:+.1f}, {self.worst:.1f}"


def scores(case: Case, cars: int, runs: range = range(2, RUNS + 1)) -> dict[str, Score]:
    """Each rule over both axles of so many cars."""
    chance, found = random.Random(SEED), {rule: list[float]() for rule in RULES}
    for _ in range(cars):
        common = chance.gauss(0.0, 1.0)
        for axle in AXLES:
            for run, rule, miss in day(case, axle, common, chance):
                if run in runs:
                    found[rule].append(miss)
    return {rule: Score.of(misses) for rule, misses in found.items()}


ROWS: tuple[tuple[str, Case, range], ...] = (
    *((f"days differ by {sd:g} psi", Case(day_psi=sd), range(2, RUNS + 1)) for sd in (0.0, 0.5, 1.0, 1.5, 2.0, 3.0)),
    *((f"the same, no day before known: {sd:g} psi", Case(sd, 0), range(2, RUNS + 1)) for sd in (0.0, 1.0, 3.0)),
    ("second run of a day", Case(), range(2, 3)),
    ("third run", Case(), range(3, 4)),
    ("later runs", Case(), range(4, RUNS + 1)),
    ("read 12 minutes after the run", Case(read_min=12.0, waits=(4.0, 12.0)), range(2, RUNS + 1)),
    ("not read cold: warmth not known", Case(cold=False), range(2, RUNS + 1)),
    ("a gauge of half pounds", Case(step_psi=0.5), range(2, RUNS + 1)),
    ("runs differ by a quarter", Case(scatter=0.25), range(2, RUNS + 1)),
    ("a course that is learnt: 30 % more", Case(learnt=0.3), range(2, RUNS + 1)),
    ("tyres cool twice as fast", Case(cooling_min=10.0), range(2, RUNS + 1)),
    ("tyres cool half as fast", Case(cooling_min=40.0), range(2, RUNS + 1)),
    ("waits of 25 to 45 minutes", Case(waits=(25.0, 45.0)), range(2, RUNS + 1)),
    ("waits of 5 to 10 minutes", Case(waits=(5.0, 10.0)), range(2, RUNS + 1)),
)
"""What the line says, the case, the runs that count."""


if __name__ == "__main__":
    cars = int(sys.argv[1]) if len(sys.argv) > 1 else CARS
    print(f"| | {' | '.join(RULES)} |\n|---|{'---|' * len(RULES)}")
    for name, case, runs in ROWS:
        print(f"| {name} | {' | '.join(str(score) for score in scores(case, cars, runs).values())} |")
