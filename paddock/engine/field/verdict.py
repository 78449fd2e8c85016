"""Was it the change? One logged change held against the field it was driven in; and which test nobody has decided."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from paddock.engine.field.case import (
    NO_HABITS,
    Case,
    Field,
    Habits,
    case_of,
    co_drivers,
    controls_used,
    field_without,
    first_slot,
    label,
    own_runs,
)
from paddock.engine.field.effect import TOLD_LITTLE, Caution, Effect, NoVerdict, RunUsed, TestPlan, verdict_of
from paddock.engine.field.plan import plan
from paddock.engine.field.scores import SCALE, Slot, mistakes, raw_times
from paddock.errors import UsageError
from paddock.model.event import Event
from paddock.model.rows import RunRow, SetupChange

if TYPE_CHECKING:
    from paddock.engine.field.own import Judged


_FEW = 4
"""Fewer cars hardly tell the course: the sentence says so."""
_LEARNT_MS = 50
"""Own learning from which the sentence names it."""

FieldsByDays = dict[tuple[int, ...], Field | None]
"""Fields fitted so far, by the days they tell."""


def find_change(event: Event, change_id: str | None) -> SetupChange:
    """The logged change of an id; UsageError with all of them where there is none."""
    for row in event.of(SetupChange):
        if row.id == change_id:
            return row
    known = ", ".join(f"{row.id} {label(row)}" for row in event.of(SetupChange)) or "none"
    if change_id is None:
        raise UsageError(f"--change is wanted, the id of one (logged: {known})")
    raise UsageError(f"no change {change_id!r} in changes.csv (logged: {known})")


def judge(event: Event, change_id: str | None, habits: Habits = NO_HABITS) -> Effect:
    """Judge a change; UsageError for an unknown id or without a number. What can't be said is None, and ``why`` tells
    the reason. ``habits``: from my own seasons.
    """
    return judge_row(event, find_change(event, change_id), habits)


def judge_all(event: Event, rows: Sequence[SetupChange], habits: Habits = NO_HABITS) -> tuple[Effect, ...]:
    """Several changes of an event; the field of a day is fitted once for all my changes on it."""
    times, fields = raw_times(event), dict[str, FieldsByDays]()
    return tuple(judge_row(event, row, habits, times, fields) for row in rows)


def judge_row(
    event: Event, change: SetupChange, habits: Habits = NO_HABITS,
    times: Mapping[str, Mapping[Slot, int]] | None = None,
    fields: dict[str, FieldsByDays] | None = None,
) -> Effect:  # fmt: skip
    """``judge`` with what is at hand: usable times, and fields fitted before, by my number."""
    case = case_of(event, change, times)
    if case is None:
        raise UsageError(f"change {change.id!r} names no number, and event.toml has none under [mine]")
    if case.of.kind == "none":
        return _blank(case, _why_none(case))
    kept = (fields if fields is not None else {}).setdefault(case.number, {})
    if case.days not in kept:
        kept[case.days] = field_without(event, case.number, case.times, case.days)
    found, mine = kept[case.days], (case.change_of(case.mine) or 0.0) * case.time_ms
    why: NoVerdict = "together" if case.of.mixed_with else "nobody else" if found is None else "judged"
    base = replace(_blank(case, why), time_ms=case.time_ms, my_change_ms=mine, not_separable=case.of.mixed_with)
    if found is None:
        return base
    from paddock.engine.field.own import judge_runs

    return _judged(case, base, found, habits, judge_runs(found.fitted, own_runs(case, found, habits)))


def _blank(case: Case, why: NoVerdict) -> Effect:
    """The effect before any figure: runs used, what was passed over, the next test."""
    wrong, days = mistakes(case.event), set(case.days)
    slots = case.of.runs or tuple(slot for block in case.of.blocks for slot in (*block.old, *block.new))
    on = dict(zip(case.of.runs, case.of.on, strict=True)) or {
        slot: slot in block.new for block in case.of.blocks for slot in (*block.old, *block.new)
    }
    made = None if case.change.kind == "repair" else plan(case.event, case.number, change_id=case.change.id)
    names = {row.id: label(row) for row in case.event.of(SetupChange)}
    return Effect(
        power=made.power.probably if made else None, hoped_ms=1000 * made.power.hoped_s if made else None,
        change_id=case.change.id, number=case.number, label=label(case.change), verdict=verdict_of(None), why=why,
        kind=case.of.kind, first=first_slot(case.event, case.change), plan=made, decision=case.change.decision,
        together_with=tuple(names.get(name, name) for name in case.of.mixed_with),
        runs_used=tuple(RunUsed(*slot, case.mine[slot], on[slot]) for slot in slots),
        mistakes_left_out=tuple(sorted(
            slot for number, slot in wrong if number == case.number and (slot[0] in days or not days)
        )),
    )  # fmt: skip


def _why_none(case: Case) -> NoVerdict:
    if first_slot(case.event, case.change) is None:
        return "no first run"
    if not case.of.blocks:
        return "no run"
    return "none without" if case.of.blocks[0].new else "not driven"


def _judged(case: Case, base: Effect, found: Field, habits: Habits, seen: Judged) -> Effect:
    ms = case.time_ms / SCALE
    field, mine = seen.field * ms, base.my_change_ms or 0.0
    reach = _scaled(seen.plain.range80(), ms)
    prior = habits.prior(case.change)
    controls = controls_used(case, found)
    changes = [item.change_ms for item in controls if item.change_ms is not None]
    base = replace(
        base, field_change_ms=field, extra_ms=seen.plain.mean * ms, se_ms=seen.plain.sd * ms, interval80_ms=reach,
        scatter_ms=found.fitted.hyper.scatter**0.5 * ms, controls_used=controls, left_out=found.left_out,
        rank=1 + sum(value < mine for value in changes), co_drivers=co_drivers(case, field / case.time_ms),
        own_learning_ms=seen.learnt.mean * ms, own_learning_interval80_ms=_scaled(seen.learnt.range80(), ms),
        learning_days=habits.learning[case.number][2] if case.number in habits.learning else 0,
        scatter_wider=habits.scatter.get(case.number, 1.0),
    )  # fmt: skip
    if case.of.mixed_with:
        return base
    p = seen.effect.under(0.0)
    guess, left = seen.effect.mean * ms, _scaled(seen.effect.range80(), ms)
    told = min(1.0, max(0.0, 1.0 - (seen.effect.sd / prior.sd_s) ** 2))
    base = replace(
        base, prior_sd_ms=prior.sd_s * ms, prior_source=prior.source, shrunk_ms=guess, shrunk_interval80_ms=left,
        p_helped=p, verdict=verdict_of(p), told_share=told,
    )  # fmt: skip
    return _with_cautions(case, base, told, seen.learnt.mean * ms)


def _scaled(reach: tuple[float, float], by: float) -> tuple[float, float]:
    return reach[0] * by, reach[1] * by


def _with_cautions(case: Case, found: Effect, told: float, learnt_ms: float) -> Effect:
    """With what moves the answer."""
    logged = {
        (row.day, row.run) for row in case.event.of(RunRow) if row.number == case.number and row.mistake is not None
    }
    silent = tuple(slot for slot in case.of.runs if slot not in logged)
    names = {row.id: label(row) for row in case.event.of(SetupChange)}
    others = tuple(dict.fromkeys(names.get(name, name) for name, _ in case.of.others))
    named: tuple[tuple[Caution, bool], ...] = (
        ("tells little", told < TOLD_LITTLE),
        ("own learning", abs(learnt_ms) >= _LEARNT_MS),
        ("scatter", found.scatter_wider > 1.0),
        ("few cars", found.controls < _FEW),
        ("silent log", bool(silent)),
        ("changed too", bool(others)),
        ("overnight", case.of.kind == "night"),
    )
    cautions = tuple(name for name, holds in named if holds)
    return replace(found, cautions=cautions, silent=silent, changed_too=others)


# what to test next: the tests nobody has decided, across my cars, the likeliest to settle first


@dataclass(frozen=True, slots=True)
class ToTest:
    """One undecided test. ``car`` blank: no car file is named. ``p_helped`` None: no figure yet."""

    car: str
    change: SetupChange
    label: str
    verdict: str
    p_helped: float | None
    plan: TestPlan | None

    @property
    def leans(self) -> float:
        """How far the chance that it helped is from even, 0 to 0.5; -1 without a figure."""
        return -1.0 if self.p_helped is None else abs(self.p_helped - 0.5)


def undecided(event: Event) -> tuple[SetupChange, ...]:
    """Tests of my cars that are neither kept, reverted nor taken back."""
    rows, mine = event.of(SetupChange), event.settings.mine.numbers
    taken = {row.undoes for row in rows if row.undoes}
    cars = {item for number in mine for item in event.numbers_of_car(number)}
    return tuple(
        row for row in rows
        if row.kind == "test" and row.decision is None and not row.undoes and row.id not in taken
        and (row.number in cars or (row.number is None and mine))
    )  # fmt: skip


def _one(event: Event, row: SetupChange, effect: Effect) -> ToTest:
    number = row.number or event.settings.mine.numbers[0]
    made = plan(event, number, change_id=row.id)
    return ToTest(event.car_name_of(number) or "", row, label(row), effect.verdict, effect.p_helped, made)


def to_test(event: Event, habits: Habits = NO_HABITS, judged: Sequence[Effect] = ()) -> tuple[ToTest, ...]:
    """Every undecided test with its plan; verdicts that lean come first, the latest change where they lean alike.

    ``judged``: verdicts at hand; the rest is judged here, with ``habits``.
    """
    rows, known = undecided(event), {item.change_id: item for item in judged}
    missing = [row for row in rows if row.id not in known]
    known |= {item.change_id: item for item in judge_all(event, missing, habits)}
    found = [_one(event, row, known[row.id]) for row in rows]
    found.sort(key=lambda item: (item.change.day or 0, item.change.run or 0), reverse=True)
    return tuple(sorted(found, key=lambda item: -item.leans))
