"""How far a verdict can be trusted: twelve kinds of day, the truth known.

Run: python docs/studies/field_study.py [DAYS] [RACES] [LINE ...]

Prints the tables of docs/studies/field.md, with each bar that is missed by more than two simulation errors; with LINEs
(from 1) those kinds of day alone, and no chances. Seeded: a line is the same alone and among the others.
"""

from __future__ import annotations

import math
import random
import re
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from field_days import BOLD, KINDS, Day, Kind, draw, draw_race

from paddock.engine.field.verdict import judge

SEED, DAYS = 20260509, 300


@dataclass(frozen=True)
class Said:
    """One judged day in seconds: the truth, the best guess, both 80 % ranges, the chance that it helped."""

    truth: float
    guess: float
    low: float
    high: float
    plain: tuple[float, float]
    p: float

    @property
    def sure(self) -> float:
        """The chance of the likelier side."""
        return max(self.p, 1.0 - self.p)

    @property
    def right(self) -> bool:
        """Whether the likelier side is the true one."""
        return (self.truth < 0.0) == (self.p > 0.5)


def answer(day: Day) -> Said | None:
    """As the program answers; None where it says that nothing can be said."""
    found = judge(day.event, "c")
    if found.p_helped is None or found.shrunk_interval80_ms is None or found.interval80_ms is None:
        return None
    low, high = found.shrunk_interval80_ms
    plain = (found.interval80_ms[0] / 1000, found.interval80_ms[1] / 1000)
    return Said(day.effect_s, (found.shrunk_ms or 0.0) / 1000, low / 1000, high / 1000, plain, found.p_helped)


@dataclass(frozen=True)
class Difference:
    """My change less the mean change of those who have the same runs: s in 45, error, degrees of freedom."""

    extra: float
    error: float
    df: int
    prior: float


def difference(day: Day) -> Difference | None:
    """None with fewer than two of them."""
    from paddock.engine.field.case import NO_HABITS, case_of
    from paddock.model.rows import SetupChange

    change = day.event.of(SetupChange)[0]
    case = case_of(day.event, change)
    mine = case.change_of(case.mine) if case is not None else None
    if case is None or mine is None:
        return None
    others = [case.change_of(theirs) for number, theirs in case.times.items()
              if number != case.number and all(slot in theirs for slot in case.of.runs)]  # fmt: skip
    known = [value for value in others if value is not None]
    if len(known) < 2:
        return None
    middle, df = sum(known) / len(known), len(known) - 1
    variance = sum((value - middle) ** 2 for value in known) / df * (1 + 1 / len(known))
    return Difference((mine - middle) * 45.0, math.sqrt(variance) * 45.0, df, NO_HABITS.prior(change).sd_s)


def plain(day: Day) -> Said | None:
    """As it was done before: a t range from their scatter, drawn to the usual size as a normal is."""
    return _plain([difference(day)], day.effect_s)


def _plain(found: Sequence[Difference | None], truth: float) -> Said | None:
    """Several are weighed by their errors."""
    from paddock.engine.stats.quantiles import t_cdf, t_quantile

    known = [item for item in found if item is not None]
    if not known:
        return None
    weights = [1.0 / max(item.error, 1e-6) ** 2 for item in known]
    extra = sum(w * item.extra for w, item in zip(weights, known, strict=True)) / sum(weights)
    error, df, prior = math.sqrt(1.0 / sum(weights)), sum(item.df for item in known), known[0].prior
    share = prior**2 / (prior**2 + error**2)
    guess, left, reach = share * extra, math.sqrt(share) * error, t_quantile(0.9, df)
    return Said(
        truth, guess, guess - reach * left, guess + reach * left, (extra - reach * error, extra + reach * error),
        t_cdf(-guess / left, df),
    )  # fmt: skip


def season_of(kind: Kind, rng: random.Random, effect_s: float) -> list[Day]:
    """The same change over several events, each with a truth a little of its own."""
    return [draw(kind, rng, effect_s + rng.gauss(0.0, 0.05)) for _ in range(kind.events)]


def seasons(days: Sequence[Day], effect_s: float) -> Said | None:
    """Pooled as the program pools them."""
    from paddock.engine.field.season import season_changes

    (found,) = season_changes([day.event for day in days])
    if found.pooled is None:
        return None
    pooled = found.pooled
    plain = (pooled.low / 1000, pooled.high / 1000)
    return Said(effect_s, pooled.mean / 1000, *plain, plain, pooled.p_faster)


def judged(kind: Kind, effect_s: float, count: int, seed: int = SEED, judge_day: Callable[[Day], Said | None] = answer,
           ) -> tuple[list[Said], int]:  # fmt: skip
    """``count`` days, effects of sd ``effect_s``; and how many more could not be answered, my mistakes having left a
    side empty not counted.
    """
    rng = random.Random(f"{seed} {kind.name} {effect_s}")
    found: list[Said] = []
    missed = 0
    while len(found) + missed < count:
        truth = rng.gauss(0.0, effect_s) if effect_s else 0.0
        if kind.events > 1:
            days = season_of(kind, rng, truth)
            said = seasons(days, truth) if judge_day is answer else _plain([difference(day) for day in days], truth)
        else:
            day = draw(kind, rng, truth)
            if not _both_sides(day):
                continue
            said = judge_day(day)
        if said is None:
            missed += 1
        else:
            found.append(said)
    return found, missed


def _both_sides(day: Day) -> bool:
    from paddock.engine.field.case import case_of
    from paddock.model.rows import SetupChange

    case = case_of(day.event, day.event.of(SetupChange)[0])
    return case is not None and case.of.kind != "none"


@dataclass(frozen=True)
class Bar:
    """A figure held against its bar; ``error``: its simulation error."""

    value: float
    error: float
    low: float = -math.inf
    high: float = math.inf

    @property
    def holds(self) -> bool:
        """Within two simulation errors."""
        reach = 2 * self.error + 1e-9
        return self.low - reach <= self.value <= self.high + reach


def _share(hits: int, of: int, low: float = -math.inf, high: float = math.inf) -> Bar:
    if not of:
        return Bar(math.nan, math.inf, low, high)
    edge = low if math.isfinite(low) else high
    edge = edge if math.isfinite(edge) else hits / of
    return Bar(hits / of, math.sqrt(edge * (1 - edge) / of), low, high)


@dataclass(frozen=True)
class Row:
    """One kind of day held against every bar."""

    name: str
    days: int
    answered: float
    range_: Bar
    plain: float
    very: tuple[int, Bar]
    probably: tuple[int, Bar]
    null_very: Bar
    null_probably: float
    error: Bar
    bold: Bar

    @property
    def missed(self) -> tuple[str, ...]:
        """Bars that are missed."""
        bars = (("range", self.range_), ("very likely", self.very[1]), ("probably", self.probably[1]),
                ("very likely of nothing", self.null_very), ("best guess", self.error),
                ("boldness", self.bold))  # fmt: skip
        return tuple(name for name, bar in bars if not (math.isnan(bar.value) or bar.holds))

    def cells(self) -> list[str]:
        """As printed."""

        def right(of: tuple[int, Bar]) -> str:
            return f"{100 * of[1].value:.0f} % of {of[0]}" if of[0] else "none said"

        range_, null = self.range_, self.null_very
        return [
            self.name, f"{self.days}", f"{100 * self.answered:.0f} %",
            f"{100 * range_.value:.0f} ± {100 * range_.error:.0f} %", f"{100 * self.plain:.0f} %",
            right(self.very), right(self.probably), f"{100 * null.value:.1f} ± {100 * null.error:.1f} %",
            f"{100 * self.null_probably:.0f} %", f"{self.error.value:.2f} ± {self.error.error:.2f}",
            f"{100 * self.bold.value:.0f}{f' ± {100 * self.bold.error:.0f}' if self.bold.error else ''} %",
            ", ".join(self.missed) or "none",
        ]  # fmt: skip


HEAD = ("day", "days", "answered", "80 % range holds", "by the day alone", "very likely: right", "probably: right",
        "very likely of nothing", "probably or surer of nothing", "error against saying nothing", "very likely said",
        "bars missed")  # fmt: skip
BESIDE = ("day", "answered", "80 % range holds", "very likely: right", "very likely of nothing",
          "probably or surer of nothing", "error against saying nothing")  # fmt: skip


def beside(before: Row, now: Row) -> list[str]:
    """The plain difference and the model, side by side."""
    at = [HEAD.index(name) for name in BESIDE]
    old, new = before.cells(), now.cells()
    old, new = ([re.sub(r" ± [\d.]+", "", cell) for cell in row] for row in (old, new))
    return [new[0], *(f"{old[i]} → {new[i]}" for i in at[1:])]


def row_of(kind: Kind, count: int, judge_day: Callable[[Day], Said | None] = answer) -> Row:
    """A kind of day, with effects as they come and with none."""
    told, unsaid = judged(kind, kind.effect_s, count, judge_day=judge_day)
    nulls, _ = judged(kind, 0.0, count, judge_day=judge_day)
    very = [item for item in told if item.sure >= 0.95]
    probably = [item for item in told if 0.8 <= item.sure < 0.95]
    size = math.sqrt(sum(item.truth**2 for item in told) / len(told))
    squares = [(item.guess - item.truth) ** 2 for item in told]
    error = math.sqrt(sum(squares) / len(told)) / size
    limit = 1.10 if kind.own_learning_s is not None else 1.0
    return Row(
        kind.name, count, len(told) / (len(told) + unsaid),
        _share(sum(item.low <= item.truth <= item.high for item in told), len(told), 0.76, 0.88),
        sum(item.plain[0] <= item.truth <= item.plain[1] for item in told) / len(told),
        (len(very), _share(sum(item.right for item in very), len(very), 0.93)),
        (len(probably), _share(sum(item.right for item in probably), len(probably), 0.80)),
        _share(sum(item.sure >= 0.95 for item in nulls), len(nulls), high=0.04),
        sum(item.sure >= 0.8 for item in nulls) / len(nulls),
        Bar(error, error / math.sqrt(2 * len(told)), high=limit),
        _share(len(very), len(told), 0.15 if kind.turns else 0.0),
    )  # fmt: skip


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A Markdown table."""
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    return "\n".join([*lines, *("| " + " | ".join(row) + " |" for row in rows)])


def chances_asked(count: int, seed: int = SEED) -> list[tuple[float, bool]]:
    """Chances to lead the class asked of everybody after each run but the last, and whether they led."""
    from paddock.engine.field.chances import chances
    from paddock.engine.field.hindsight import as_it_was

    rng = random.Random(f"{seed} chances")
    found = []
    for _ in range(count):
        event = draw_race(rng)
        numbers = [entrant.number for entrant in event.entrants]
        led = {number: chances(event, number, 0).class_.p_lead == 1.0 for number in numbers}
        for run in (1, 2, 3):
            seen = as_it_was(event, numbers[0], 1, run)
            asked = [(chances(seen, number).class_.p_lead, led[number]) for number in numbers]
            found += [(p, came) for p, came in asked if p is not None]
    return found


def chance_rows(asked: Sequence[tuple[float, bool]]) -> list[list[str]]:
    """By bins of the chance: how many, said on average, came true; then the Brier score against its base."""
    edges = (0.0, 0.05, 0.2, 0.4, 0.6, 0.8, 0.95, 1.01)
    rows = []
    for low, high in pairwise(edges):
        here = [(p, led) for p, led in asked if low <= p < high]
        if here:
            said, came = sum(p for p, _ in here) / len(here), sum(led for _, led in here) / len(here)
            rows.append(
                [f"{low:.2f} to {min(high, 1):.2f}", f"{len(here)}", f"{100 * said:.0f} %", f"{100 * came:.0f} %"]
            )
    often = sum(led for _, led in asked) / len(asked)
    brier = sum((p - led) ** 2 for p, led in asked) / len(asked)
    return [*rows, ["Brier score", f"{len(asked)}", f"{brier:.3f}", f"base {often * (1 - often):.3f}"]]


def main(count: int = DAYS, races: int = DAYS, *lines: int) -> None:
    """The gate's table line by line as it comes; the plain difference beside it; the chances."""
    print(table(HEAD, []), flush=True)
    rows = []
    for at, kind in enumerate((*KINDS, *BOLD), 1):
        if not lines or at in lines:
            rows.append((kind, row_of(kind, count)))
            print("| " + " | ".join(rows[-1][1].cells()) + " |", flush=True)
    print()
    print(table(BESIDE, [beside(row_of(kind, count, plain), now) for kind, now in rows]), flush=True)
    if not lines:
        print()
        print(table(("chance said", "how many", "on average", "came true"), chance_rows(chances_asked(races))))


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
