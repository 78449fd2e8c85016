"""Was it the change? One logged change held against the cars that were left alone."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import fmean

from paddock.engine.effect.controls import Chosen, LeftOut, choose
from paddock.engine.effect.difference import Compared, Spread, change_of, compare
from paddock.engine.effect.fitted import fit_change
from paddock.engine.effect.learning import Learning, Timed, combine_df, usual_learning
from paddock.engine.effect.plan import next_test
from paddock.engine.effect.prior import prior_sd, shrink
from paddock.engine.effect.result import CoDriver, ControlUsed, Effect, RunUsed
from paddock.engine.effect.states import Contrast, case_number, contrast, first_slot, label
from paddock.engine.effect.verdict import (
    CANT_TELL,
    no_runs,
    one_control,
    only_mine,
    run_list,
    sentence,
    together,
    two_controls,
    verdict_of,
)  # fmt: skip
from paddock.engine.paces import Slot, mistakes, raw_times
from paddock.engine.stats.fits import interval
from paddock.errors import UsageError
from paddock.model.event import Event
from paddock.model.rows import ChangeRow, RunRow

__all__ = ["LONG_DAY", "find_change", "judge", "judge_timed"]

LONG_DAY = 6
"""Runs of mine from which the two-way fit takes over."""
_FEW = 4
_ENOUGH = 3
"""Fewer comparable cars give figures and no verdict: their scatter may be near nothing by luck."""


def find_change(event: Event, change_id: str) -> ChangeRow:
    """The logged change of an id; UsageError where there is none."""
    for row in event.of(ChangeRow):
        if row.id == change_id:
            return row
    known = ", ".join(row.id for row in event.of(ChangeRow)) or "none"
    raise UsageError(f"no change {change_id!r} in changes.csv (logged: {known})")


@dataclass(frozen=True, slots=True)
class _Case:
    """One question with everything it is answered from."""

    event: Event
    change: ChangeRow
    number: str
    times: Mapping[str, Mapping[Slot, int]]
    mine: Mapping[Slot, int]
    of: Contrast
    bare: tuple[Slot, ...] = ()

    @property
    def name(self) -> str:
        return label(self.change)

    def blank(self, text: str, verdict: str = CANT_TELL) -> Effect:
        """The effect before any figure: runs used, what was passed over, the next test."""
        wrong = mistakes(self.event)
        days = {slot[0] for slot in self.of.slots}
        return Effect(
            change_id=self.change.id, number=self.number, label=self.name, verdict=verdict, sentence=text,
            next_test=next_test(self.event, self.number, self.change), kind=self.of.kind, method="none",
            decision=self.change.decision,
            runs_used=tuple(
                [RunUsed(*slot, self.mine[slot], slot in self.of.new) for slot in self.of.slots]
            ),
            mistakes_left_out=tuple(sorted(
                slot for number, slot in wrong if number == self.number and (slot[0] in days or not days)
            )),
            cautions=_cautions(self),
        )  # fmt: skip


def _cautions(case: _Case) -> tuple[str, ...]:
    found = []
    names = {row.id: label(row) for row in case.event.of(ChangeRow)}
    days = {slot[0] for slot in case.of.slots}
    spoilt = [(slot, other) for slot, other in case.of.passed_over if slot[0] in days]
    for spoiler in dict.fromkeys(other for _, other in spoilt):
        slots = [slot for slot, other in spoilt if other == spoiler]
        found.append(f"{run_list(slots)} left out: {names.get(spoiler, spoiler)} was changed too")
    if case.bare:
        found.append(f"{run_list(case.bare)} left out: fewer than two comparable cars have a time there")
    if case.of.kind == "night":
        found.append("made overnight: another course, so only cars of the same drive and tyre kind are compared")
    return tuple(found)


def judge(event: Event, change_id: str, season: Sequence[Event] = ()) -> Effect:
    """Judge a change; UsageError for an unknown id.

    ``season``: other events of mine, for my usual learning. What can't be said is None, and the sentence says why.
    """
    timed = [(item, raw_times(item)) for item in (event, *season)]
    return judge_timed(timed[0], find_change(event, change_id), timed)


def judge_timed(this: Timed, change: ChangeRow, season: Sequence[Timed]) -> Effect:
    """``judge`` with the usable times at hand; ``season`` holds ``this`` too."""
    event, times = this
    number = case_number(event, change)
    if number is None:
        raise UsageError(f"change {change.id!r} names no number, and event.toml has none under [mine]")
    wrong = mistakes(event)
    mine = {slot: ms for slot, ms in times.get(number, {}).items() if (number, slot) not in wrong}
    case = _Case(event, change, number, times, mine, contrast(event, change, number, tuple(mine)))
    if case.of.kind == "none":
        return case.blank(_why_none(case))
    case, chosen = _covered(case, choose(event, number, case.of, times))
    seen = _compared(case, chosen)
    learning = usual_learning(season, number, case.of)
    return _effect(case, chosen, seen, learning)


def _covered(case: _Case, chosen: Chosen) -> tuple[_Case, Chosen]:
    """Runs of mine that hardly a control has too say nothing beyond the course: they are left out."""
    heads = {slot: sum(1 for number in chosen.numbers if slot in case.times[number]) for slot in case.of.slots}
    for least in (2, 1):
        bare = tuple(slot for slot, count in heads.items() if count < min(least, max(heads.values())))
        kept = case.of.only(frozenset(heads) - frozenset(bare)) if bare else None
        if kept is not None:
            again = replace(case, of=kept, bare=bare)
            return again, choose(case.event, case.number, kept, case.times)
    return case, chosen


def _why_none(case: _Case) -> str:
    at = first_slot(case.event, case.change)
    if at is None:
        return no_runs(case.name, "the log doesn't say from which run it was on", "write its day and run")
    when = f"run {at[1]} of day {at[0]}"
    if not case.of.blocks:
        return no_runs(case.name, "you have no usable run", f"it is logged from {when} on")
    if not case.of.new:
        return no_runs(case.name, "it has not been driven in a usable run yet", f"it is logged from {when} on")
    return no_runs(case.name, "there is no usable run without it", f"it is logged from {when} on")


def _compared(case: _Case, chosen: Chosen) -> Compared:
    """The plain difference, or the two-way fit on long days and where the controls' runs differ."""
    mine = {slot: case.mine[slot] for slot in case.of.slots}
    controls = {number: case.times[number] for number in chosen.numbers}
    if len(controls) >= 2 and (chosen.part or len(mine) >= LONG_DAY):
        return fit_change(mine, controls, case.of, _spotless(case) and len(mine) < LONG_DAY)
    return compare(mine, controls, case.of, _spotless(case))


def _spotless(case: _Case) -> bool:
    """Whether the log says of every run used that it was no mistake."""
    said = {(row.day, row.run): row.mistake for row in case.event.of(RunRow) if row.number == case.number}
    return all(said.get(slot) is False for slot in case.of.slots)


def _effect(case: _Case, chosen: Chosen, seen: Compared, learning: Learning | None) -> Effect:
    time = math.exp(fmean(math.log(case.mine[slot]) for slot in case.of.slots))
    base = replace(
        case.blank(""),
        method=seen.method,
        time_ms=time,
        my_change_ms=seen.mine * time,
        field_change_ms=None if seen.field is None else seen.field * time,
        rank=seen.rank,
        controls_used=tuple(
            ControlUsed(number, value * time) for number, value in sorted(seen.theirs.items(), key=lambda at: at[1])
        ),
        left_out=(*chosen.left_out, *(LeftOut(number, "a change far outside the rest") for number in seen.far)),
        co_drivers=_co_drivers(case, seen),
    )
    if seen.field is None:
        return replace(base, sentence=_without_field(case, seen.mine * time))
    both = (seen.field * time, seen.mine * time)
    if seen.spread is None:
        return replace(base, extra_ms=both[1] - both[0], sentence=_with_one(case, *both))
    return _with_error(case, base, seen.spread, learning)


def _without_field(case: _Case, mine: float) -> str:
    if case.of.kind == "mixed":
        return together(case.name, _others(case), None, None)
    return only_mine(case.name, mine, case.of.kind == "night", case.of.slots)


def _with_one(case: _Case, field: float, mine: float) -> str:
    if case.of.kind == "mixed":
        return together(case.name, _others(case), mine - field, None)
    return one_control(case.name, field, mine)


def _others(case: _Case) -> str:
    names = {row.id: label(row) for row in case.event.of(ChangeRow)}
    return " and ".join(names.get(other, other) for other in case.of.mixed_with)


def _timing_floor(case: _Case, time: float) -> float:
    """Rounding of the printed times alone, in ln units: nothing can be surer than the clock."""
    step = case.event.settings.rules.unit_ms / math.sqrt(12.0)
    return step * math.sqrt(sum(weight**2 for weight in case.of.weights().values())) / time


def _with_error(case: _Case, base: Effect, seen: Spread, learning: Learning | None) -> Effect:
    """``base`` has both changes and ``time_ms``."""
    time, field, mine = base.time_ms or 0.0, base.field_change_ms or 0.0, base.my_change_ms or 0.0
    error, df, usual = max(seen.error, _timing_floor(case, time)), float(seen.df), 0.0
    if learning is not None:
        df = combine_df([(error**2, df), (learning.variance, learning.df)])
        error, usual = math.hypot(error, math.sqrt(learning.variance)), learning.extra
    extra, sd = mine - field - usual * time, prior_sd(time)
    reach = interval(extra, error * time, df)
    found = replace(
        base, extra_ms=extra, scatter_ms=seen.scatter * time, se_ms=error * time, df=df, interval80_ms=reach,
        learning_ms=usual * time, learning_days=learning.days if learning else 0,
        cautions=(*base.cautions, *_few(base.controls)),
    )  # fmt: skip
    if case.of.kind == "mixed":
        return replace(found, sentence=together(case.name, _others(case), extra, reach))
    if base.controls < _ENOUGH:
        return replace(found, sentence=two_controls(case.name, field, mine))
    left = shrink(extra, error * time, df, sd)
    verdict = verdict_of(left.p_faster)
    figures = (field, mine, extra)
    return replace(
        found, prior_sd_ms=sd, shrunk_ms=left.mean, shrunk_interval80_ms=(left.low, left.high),
        p_helped=left.p_faster, verdict=verdict, sentence=sentence(case.name, verdict, figures, usual * time, reach),
    )  # fmt: skip


def _few(count: int) -> tuple[str, ...]:
    return (f"only {count} comparable cars: the scatter itself is a guess",) if count < _FEW else ()


def _co_drivers(case: _Case, seen: Compared) -> tuple[CoDriver, ...]:
    if seen.field is None:
        return ()
    wrong = mistakes(case.event)
    found = []
    for number in case.event.numbers_of_car(case.number):
        theirs = {slot: ms for slot, ms in case.times.get(number, {}).items() if (number, slot) not in wrong}
        change = change_of(theirs, case.of) if number != case.number else None
        if change is not None:
            time = math.exp(fmean(math.log(theirs[slot]) for slot in case.of.slots if slot in theirs))
            found.append(CoDriver(number, change * time, (change - seen.field) * time))
    return tuple(found)
