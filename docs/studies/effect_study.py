"""How far a verdict can be trusted: simulated days, the truth known. Run: python docs/studies/effect_study.py

Prints the tables of docs/studies/effect.md. Seeded: the same figures every time. Takes about a minute.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from paddock.engine.effect import Effect, judge
from paddock.model.event import Event
from paddock.model.rows import ChangeRow, EntrantRow, RunRow, TimeRow
from paddock.model.settings import Settings

SEED = 20260509
COUNT = 2000
PACE_S, RUN_SD_S, MISTAKES, MISTAKE_S, DRYING_S = 45.0, 0.35, 0.12, 1.5, 0.4
SETTINGS = Settings.model_validate({"runs_per_day": 8, "mine": {"numbers": ["31"]}})


@dataclass(frozen=True)
class Scenario:
    """One kind of day. ``effect_s`` None: drawn from the program's prior for each day.

    ``marked``: I log of every run whether it was a mistake; ``learning_sd_s``: how far drivers differ in what they gain
    from the first half of the day to the second.
    """

    name: str
    controls: int = 8
    runs: int = 4
    effect_s: float | None = 0.0
    marked: bool = True
    learning_sd_s: float = 0.0
    drying_s: float = DRYING_S


def _day(rng: random.Random, pace: float, scenario: Scenario, effect: float) -> tuple[list[float], list[bool]]:
    learning = rng.gauss(0.0, scenario.learning_sd_s) if scenario.learning_sd_s else 0.0
    times, spoilt = [], []
    for run in range(scenario.runs):
        late = run >= scenario.runs // 2
        wrong = rng.random() < MISTAKES
        lost = rng.expovariate(1.0 / MISTAKE_S) if wrong else 0.0
        times.append(pace - scenario.drying_s * run + late * (effect + learning) + rng.gauss(0.0, RUN_SD_S) + lost)
        spoilt.append(wrong)
    return times, spoilt


def drawn(rng: random.Random, scenario: Scenario) -> tuple[Event, float, list[float]]:
    """An event, the true effect in seconds, and my times."""
    truth = rng.gauss(0.0, 0.2) if scenario.effect_s is None else scenario.effect_s
    people, times, log = [], [], []
    mine: list[float] = []
    for number in ("31", *(str(100 + i) for i in range(scenario.controls))):
        me = number == "31"
        seconds, spoilt = _day(rng, PACE_S if me else rng.gauss(PACE_S, 1.5), scenario, truth if me else 0.0)
        people.append(EntrantRow(number=number))
        times += [TimeRow(day=1, run=i + 1, number=number, time_ms=round(s * 1000)) for i, s in enumerate(seconds)]
        if me:
            mine = seconds
            log = [RunRow(day=1, run=i + 1, number=number, mistake=w) for i, w in enumerate(spoilt)]
    change = ChangeRow(id="c", day=1, run=scenario.runs // 2 + 1, number="31", item="bar")
    tables = {
        "entrants.csv": tuple(people),
        "times.csv": tuple(times),
        "runs.csv": tuple(log) if scenario.marked else (),
        "changes.csv": (change,),
    }
    return Event("study", SETTINGS, tables), truth, mine


@dataclass(frozen=True)
class Trial:
    """One day, all in seconds."""

    truth: float
    best: float
    mean: float
    effect: Effect


def trials(scenario: Scenario, count: int = COUNT, seed: int = SEED) -> list[Trial]:
    """``count`` days of a scenario; days on which my mistakes leave one side empty are drawn again."""
    rng = random.Random(f"{seed} {scenario.name}")
    found: list[Trial] = []
    while len(found) < count:
        event, truth, mine = drawn(rng, scenario)
        effect = judge(event, "c")
        if effect.extra_ms is None:
            continue
        half = scenario.runs // 2
        best = min(mine[half:]) - min(mine[:half])
        found.append(Trial(truth, best, fmean(mine[half:]) - fmean(mine[:half]), effect))
    return found


def estimates(found: Sequence[Trial]) -> dict[str, list[float]]:
    """Each way of answering: its estimates."""
    return {
        "best against best": [item.best for item in found],
        "mean against mean": [item.mean for item in found],
        "field-controlled": [(item.effect.extra_ms or 0.0) / 1000 for item in found],
        "shrunk": [(item.effect.shrunk_ms or 0.0) / 1000 for item in found],
    }


def error_rows(scenario: Scenario, count: int = COUNT) -> list[list[str]]:
    """Scenario, way, bias, root mean square error, share of days with the wrong sign or, at no effect, "faster"."""
    found = trials(scenario, count)
    rows = []
    for way, values in estimates(found).items():
        errors = [value - item.truth for value, item in zip(values, found, strict=True)]
        faster = fmean(value < 0 for value in values)
        wrong = fmean(value * item.truth < 0 for value, item in zip(values, found, strict=True))
        share = faster if scenario.effect_s == 0.0 else wrong
        rmse = math.sqrt(fmean(error * error for error in errors))
        rows.append([scenario.name, way, f"{fmean(errors):+.2f}", f"{rmse:.2f}", f"{100 * share:.0f} %"])
    return rows


def _held(ranges: Sequence[tuple[float, float] | None], found: Sequence[Trial]) -> float:
    inside = [low <= 1000 * item.truth <= high for (low, high), item in zip(ranges, found, strict=True)]  # type: ignore[misc]
    return fmean(inside)


def call_row(scenario: Scenario, count: int = COUNT) -> list[str]:
    """Scenario, shares of the verdicts, coverage of both 80 % ranges."""
    found = trials(scenario, count)
    words = [item.effect.verdict for item in found]
    shares = [fmean(word == wanted for word in words) for wanted in (
        "very likely helped", "probably helped", "leans helped", "can't tell", "leans hurt", "probably hurt",
        "very likely hurt",
    )]  # fmt: skip
    plain = _held([item.effect.interval80_ms for item in found], found)
    shrunk = _held([item.effect.shrunk_interval80_ms for item in found], found)
    return [scenario.name, *(f"{100 * share:.0f}" for share in (*shares, plain, shrunk))]


SCENARIOS = (
    Scenario("nothing changed, dry", drying_s=0.0),
    Scenario("nothing changed, drying"),
    Scenario("helped 0.2 s, drying", effect_s=-0.2),
    Scenario("helped 0.5 s, drying", effect_s=-0.5),
    Scenario("helped 1.0 s, drying", effect_s=-1.0),
    Scenario("drawn from the prior", effect_s=None),
    Scenario("prior, 3 controls", controls=3, effect_s=None),
    Scenario("prior, 20 controls", controls=20, effect_s=None),
    Scenario("prior, 8 runs", runs=8, effect_s=None),
    Scenario("prior, my log is silent", marked=False, effect_s=None),
    Scenario("prior, drivers learn apart", learning_sd_s=0.3, effect_s=None),
)


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A Markdown table."""
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    return "\n".join([*lines, *("| " + " | ".join(row) + " |" for row in rows)])


def main(count: int = COUNT) -> str:
    """Both tables."""
    errors = [row for scenario in SCENARIOS[:6] for row in error_rows(scenario, count)]
    calls = [call_row(scenario, count) for scenario in SCENARIOS]
    first = table(("day", "answer", "bias s", "error s", "wrong way"), errors)
    second = table(
        ("day", "very likely helped", "probably", "leans", "can't tell", "leans", "probably", "very likely hurt",
         "plain range holds", "shrunk range holds"), calls,
    )  # fmt: skip
    return f"{first}\n\n{second}"


if __name__ == "__main__":
    print(main())
