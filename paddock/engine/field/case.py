"""One question about my car, made ready for the model: which days, whose runs, what was on in each of mine."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from statistics import fmean
from typing import TYPE_CHECKING, Literal

from paddock.engine.field.effect import CoDriver, ControlUsed, LeftOut
from paddock.engine.field.priors import ChangePrior, default_prior, kind_of_change, pressure_step
from paddock.engine.field.scores import Slot, mistakes, raw_times, void_entrants
from paddock.model.event import Event
from paddock.model.rows import RunRow, SetupChange, TimeRow

if TYPE_CHECKING:
    from paddock.engine.field.fit import Fitted
    from paddock.engine.field.from_event import Placed
    from paddock.engine.field.own import OwnRuns


# which of my runs were driven with the change and which without, and what else was changed between them


Kind = Literal["day", "night", "mixed", "none"]


@dataclass(frozen=True, slots=True)
class CaseBlock:
    """Runs of mine to hold against each other: without the change, and with it."""

    old: tuple[Slot, ...]
    new: tuple[Slot, ...]


@dataclass(frozen=True, slots=True)
class Contrast:
    """What is compared. ``kind``: ``day`` within a day, ``night`` from one day to the next, ``mixed`` where another
    change was on in the very same runs, ``none`` with no run on one side.

    ``runs``: every run of mine the model is given, ``on``: whether the change was on in it. ``others``: other changes
    that were on in some of them, by id. ``mixed_with``: ids of those that can't be told apart from this one.
    ``blocks``: the runs my own change is read from, those that differ in nothing else where there are any.
    """

    kind: Kind
    blocks: tuple[CaseBlock, ...]
    runs: tuple[Slot, ...] = ()
    on: tuple[bool, ...] = ()
    others: tuple[tuple[str, tuple[bool, ...]], ...] = ()
    mixed_with: tuple[str, ...] = ()

    def weights(self) -> dict[Slot, float]:
        """Slot to its weight in "with less without": +1 over runs with, -1 over those without, blocks by their size."""
        sizes = [len(item.old) * len(item.new) / (len(item.old) + len(item.new)) for item in self.blocks]
        found: dict[Slot, float] = {}
        for block, size in zip(self.blocks, sizes, strict=True):
            share = size / sum(sizes)
            found.update({slot: -share / len(block.old) for slot in block.old})
            found.update({slot: share / len(block.new) for slot in block.new})
        return found


def label(change: SetupChange) -> str:
    """``front bar 2-2 to 1-1`` in the log's own words."""
    name = change.item or (change.setting or "").replace("_", " ") or f"change {change.id}"
    if change.before and change.after:
        return f"{name} {change.before} to {change.after}"
    return f"{name} to {change.after}" if change.after else name


def case_number(event: Event, change: SetupChange) -> str | None:
    """Whose runs judge the change: the row's number, else my first entry; None without either."""
    if change.number:
        return change.number
    mine = event.settings.mine.numbers
    return mine[0] if mine else None


def _clock_slot(event: Event, change: SetupChange, number: str) -> Slot | None:
    """The first run that started at or after the change's clock time."""
    if not change.at or change.day is None:
        return None
    later = [
        (row.day, row.run) for row in event.of(TimeRow)
        if row.number == number and row.day == change.day and row.at and row.at >= change.at
    ]  # fmt: skip
    return min(later, default=None)


def first_slot(event: Event, change: SetupChange) -> Slot | None:
    """The first run with the change: as logged, else by the clock; None where neither tells."""
    if change.day is None:
        return None
    if change.run is not None:
        return (change.day, change.run)
    number = case_number(event, change)
    return _clock_slot(event, change, number) if number else None


def car_changes(event: Event, number: str) -> tuple[SetupChange, ...]:
    """Every logged change to the car that ``number`` drives, whoever of its drivers logged it."""
    same = event.numbers_of_car(number)
    return tuple(row for row in event.of(SetupChange) if case_number(event, row) in same)


def _root(change: SetupChange, known: Mapping[str, SetupChange]) -> str:
    seen = {change.id}
    while (undone := known.get(change.undoes or "")) is not None and undone.id not in seen:
        change = undone
        seen.add(change.id)
    return change.id


@dataclass(frozen=True, slots=True)
class _Switch:
    """One setting going on and off: the first row puts it on, each later one turns it round."""

    root: str
    at: tuple[Slot, ...]

    def on(self, slot: Slot) -> bool:
        return sum(1 for moment in self.at if moment <= slot) % 2 == 1


def _switches(event: Event, changes: Sequence[SetupChange]) -> tuple[_Switch, ...]:
    known = {change.id: change for change in changes}
    moments: dict[str, list[Slot]] = defaultdict(list)
    for change in changes:
        slot = first_slot(event, change)
        if slot is not None:
            moments[_root(change, known)].append(slot)
    return tuple(_Switch(root, tuple(sorted(at))) for root, at in moments.items())


@dataclass(frozen=True, slots=True)
class _Run:
    slot: Slot
    new: bool
    others: frozenset[str]


def others_on(
    event: Event, number: str, slots: Sequence[Slot], wanted: Callable[[SetupChange], bool]
) -> tuple[tuple[str, tuple[bool, ...]], ...]:
    """The car's changes that are on in some of ``slots`` and not in others, by id; only those ``wanted``."""
    changes = car_changes(event, number)
    known = {row.id: row for row in changes}
    columns = [
        (item.root, tuple(item.on(slot) for slot in slots))
        for item in _switches(event, changes) if wanted(known[item.root])
    ]  # fmt: skip
    return tuple((name, column) for name, column in columns if len(set(column)) > 1)


def _groups(runs: Sequence[_Run], alike: bool) -> tuple[CaseBlock, ...]:
    """Day by day; ``alike``: only runs that differ in nothing else."""
    found: dict[object, list[_Run]] = defaultdict(list)
    for run in runs:
        found[run.slot[0], run.others if alike else None].append(run)
    blocks = [
        CaseBlock(tuple(run.slot for run in group if not run.new), tuple(run.slot for run in group if run.new))
        for group in found.values()
    ]
    return tuple(block for block in blocks if block.old and block.new)


def _nearest_days(runs: Sequence[_Run]) -> CaseBlock:
    """Over a night only the two days next to the change are compared."""
    first_new = min(run.slot[0] for run in runs if run.new)
    before = [run.slot[0] for run in runs if not run.new and run.slot[0] < first_new]
    day = max(before) if before else min(run.slot[0] for run in runs if not run.new)
    new_day = first_new if before else max(run.slot[0] for run in runs if run.new and run.slot[0] < day)
    return CaseBlock(
        tuple(run.slot for run in runs if not run.new and run.slot[0] == day),
        tuple(run.slot for run in runs if run.new and run.slot[0] == new_day),
    )


def contrast(event: Event, change: SetupChange, number: str, slots: Sequence[Slot]) -> Contrast:
    """Sort ``slots`` (my usable runs) into with and without.

    A row with ``undoes`` is judged as the return it is: "with" then means with the old setting back.
    """
    changes = car_changes(event, number)
    known = {row.id: row for row in changes}
    root = _root(change, known)
    switches = _switches(event, changes)
    mine = next((item for item in switches if item.root == root), None)
    moment = first_slot(event, change)
    if mine is None or moment is None:
        return Contrast("none", ())
    wanted = mine.on(moment)
    runs = [
        _Run(slot, mine.on(slot) == wanted, frozenset(s.root for s in switches if s.root != root and s.on(slot)))
        for slot in sorted(slots)
    ]
    if len({run.new for run in runs}) < 2:
        sides = CaseBlock(tuple(r.slot for r in runs if not r.new), tuple(r.slot for r in runs if r.new))
        return Contrast("none", (sides,) if runs else ())
    return _chosen(runs)


def _chosen(runs: Sequence[_Run]) -> Contrast:
    blocks, kind = _groups(runs, alike=False), "day"
    if not blocks:
        blocks, kind = (_nearest_days(runs),), "night"
    days = {slot[0] for block in blocks for slot in (*block.old, *block.new)}
    used = [run for run in runs if run.slot[0] in days]
    names = sorted({name for run in used for name in run.others})
    columns = {name: tuple(name in run.others for run in used) for name in names}
    on = tuple(run.new for run in used)
    moved = {name: column for name, column in columns.items() if len(set(column)) > 1}
    mixed = tuple(name for name, column in moved.items() if _same(used, on, column))
    if mixed:
        kind = "mixed"
    elif kind == "day":
        blocks = _groups(used, alike=True) or blocks
    return Contrast(kind, blocks, tuple(run.slot for run in used), on, tuple(moved.items()), mixed)  # type: ignore[arg-type]


def _same(runs: Sequence[_Run], on: Sequence[bool], column: Sequence[bool]) -> bool:
    """Whether the other change was on in the very same runs, or in the very others, of each day told by both."""
    by_day: dict[int, set[bool]] = defaultdict(set)
    for run, mine, theirs in zip(runs, on, column, strict=True):
        by_day[run.slot[0]].add(mine == theirs)
    return all(len(found) == 1 for found in by_day.values())


LEAST_RUNS = 2
"""A driver with fewer usable runs says nothing about the course."""


@dataclass(frozen=True, slots=True)
class Habits:
    """What my own seasons say. ``learning``: by number, mean and sd of learning beyond the field, and days it rests on;
    ``priors``: by kind of change, how far mine usually went, as a factor on the default; ``scatter``: by number, how
    many times wider my runs scatter than they are taken to, for so the ranges of my next runs were too narrow.
    """

    learning: Mapping[str, tuple[float, float, int]] = field(default_factory=dict)
    priors: Mapping[str, float] = field(default_factory=dict)
    scatter: Mapping[str, float] = field(default_factory=dict)

    def prior(self, change: SetupChange) -> ChangePrior:
        """How far such a change usually goes."""
        kind = kind_of_change(change.setting, change.item)
        usual = default_prior(kind, pressure_step(change.before, change.after))
        factor = self.priors.get(kind)
        return usual if factor is None else ChangePrior(usual.sd_s * factor, "own seasons")


NO_HABITS = Habits()
Times = Mapping[str, Mapping[Slot, int]]


@dataclass(frozen=True, slots=True)
class Case:
    """``mine``: my usable, unmarked times; ``of``: which of them were with the change and which without."""

    event: Event
    change: SetupChange
    number: str
    times: Times
    mine: Mapping[Slot, int]
    of: Contrast

    @property
    def time_ms(self) -> float:
        """My typical time in the runs used."""
        return math.exp(fmean(math.log(self.mine[slot]) for slot in self.of.runs))

    @property
    def days(self) -> tuple[int, ...]:
        """Days used."""
        return tuple(sorted({slot[0] for slot in self.of.runs}))

    def change_of(self, times: Mapping[Slot, int]) -> float | None:
        """Mean ln(time) with less without over the blocks whose sides are both there; None where none is."""
        parts = []
        for block in self.of.blocks:
            old = [math.log(times[slot]) for slot in block.old if slot in times]
            new = [math.log(times[slot]) for slot in block.new if slot in times]
            if old and new:
                parts.append((len(old) * len(new) / (len(old) + len(new)), fmean(new) - fmean(old)))
        total = sum(share for share, _ in parts)
        return sum(share * value for share, value in parts) / total if parts else None


def case_of(event: Event, change: SetupChange, times: Times | None = None) -> Case | None:
    """None where the row names no number and the event none of mine."""
    number = case_number(event, change)
    if number is None:
        return None
    known = raw_times(event) if times is None else times
    wrong = mistakes(event)
    mine = {slot: ms for slot, ms in known.get(number, {}).items() if (number, slot) not in wrong}
    return Case(event, change, number, known, mine, contrast(event, change, number, tuple(mine)))


@dataclass(frozen=True, slots=True, eq=False)
class Field:
    """The field without my car, fitted, and what is said about who is in it."""

    placed: Placed
    fitted: Fitted
    left_out: tuple[LeftOut, ...]
    controls: tuple[str, ...]


def field_without(event: Event, number: str, times: Times, days: Sequence[int]) -> Field | None:
    """The field of ``days`` as told by everybody but the car of ``number``; None where nobody else has two runs."""
    import numpy as np

    from paddock.engine.field.fit import fit
    from paddock.engine.field.from_event import placed

    found = placed(event, times, days, number)
    frame, own = found.frame, frozenset(event.numbers_of_car(number))
    ran = {other for other, theirs in times.items() if any(slot[0] in days for slot in theirs)}
    usable = (~np.isnan(frame.y) & ~frame.marked).sum(1)
    kept = [i for i, other in enumerate(frame.numbers) if other not in own and usable[i] >= LEAST_RUNS]
    controls = tuple(frame.numbers[i] for i in kept)
    void = void_entrants(event)
    out = tuple(
        LeftOut(other, "the same car" if other in own else "disqualified" if other in void
                else "known to have changed something" if other not in frame.numbers else "fewer than two usable runs")
        for other in sorted(ran - frozenset(controls) - {number})
    )  # fmt: skip
    if not kept:
        return None
    extra = _theirs(event, controls, frame.slots)
    changed = np.array(extra) if any(any(row) for row in extra) else None
    fitted = fit(frame.rows(kept), len(found.groups), len(found.kinds), changed)
    return Field(found, fitted, out, controls)


def _theirs(event: Event, numbers: Sequence[str], slots: Sequence[Slot]) -> list[list[float]]:
    """What others are known to have changed: how far it may have gone, by driver and slot."""
    from collections import defaultdict

    moments: dict[str, list[tuple[Slot, float]]] = defaultdict(list)
    for row in event.of(SetupChange):
        at = first_slot(event, row)
        if row.number and at is not None:
            for number in event.numbers_of_car(row.number):
                moments[number].append((at, NO_HABITS.prior(row).sd_s))
    return [[sum(sd for at, sd in moments.get(n, ()) if at <= slot) for slot in slots] for n in numbers]


def own_runs(case: Case, found: Field, habits: Habits, alone: bool = False) -> OwnRuns:
    """My runs and, but for ``alone``, those of who drives the same car, with what was on in each."""
    import numpy as np

    from paddock.engine.field.from_event import group_row
    from paddock.engine.field.own import OwnRuns

    event, frame = case.event, found.placed.frame
    changes = {row.id: habits.prior(row).sd_s for row in event.of(SetupChange)}
    me = habits.prior(case.change).sd_s
    on = dict(zip(case.of.runs, zip(case.of.on, *(column for _, column in case.of.others), strict=True), strict=True))
    mates = [n for n in event.numbers_of_car(case.number) if n != case.number and found.placed.row(n) is not None]
    mates = [] if alone else mates
    said = {(row.number, (row.day, row.run)) for row in event.of(RunRow) if row.mistake is not None}
    index = {slot: at for at, slot in enumerate(frame.slots)}
    weights = case.of.weights()
    rows: list[tuple[int, int, int, float, bool, list[float], float]] = []
    for driver, number in enumerate((case.number, *mates)):
        at = found.placed.row(number)
        assert at is not None
        group = group_row(found.placed, event, number)
        for slot in case.of.runs:
            y = frame.y[at, index[slot]]
            if np.isnan(y) or frame.marked[at, index[slot]]:
                continue
            apart = [float(on[slot][0]) if i + 1 == driver else 0.0 for i in range(len(mates))]
            state = [float(value) for value in on[slot]] + apart
            weight = weights.get(slot, 0.0) if driver == 0 else 0.0
            rows.append((driver, index[slot], int(group[index[slot]]), float(y), (number, slot) in said, state, weight))
    at = found.placed.row(case.number)
    assert at is not None
    return OwnRuns(
        np.array([row[0] for row in rows]), np.array([row[1] for row in rows]), np.array([row[2] for row in rows]),
        int(frame.kind[at]), np.array([row[3] for row in rows]), np.array([row[4] for row in rows]),
        np.array([row[5] for row in rows]),
        np.array([me, *(changes.get(name, 0.2) for name, _ in case.of.others), *[me / 2] * len(mates)]),
        np.array([row[6] for row in rows]),
        tuple(habits.learning[n][:2] if n in habits.learning else None for n in (case.number, *mates)),
        tuple(habits.scatter.get(n, 1.0) for n in (case.number, *mates)),
    )  # fmt: skip


def controls_used(case: Case, found: Field) -> tuple[ControlUsed, ...]:
    """Each with its own change between the same runs, the one that gained most first."""
    seen = [(number, case.change_of(case.times[number])) for number in found.controls]
    seen.sort(key=lambda item: (item[1] is None, item[1] or 0.0))
    return tuple(ControlUsed(n, None if value is None else value * case.time_ms) for n, value in seen)


def co_drivers(case: Case, field_change: float) -> tuple[CoDriver, ...]:
    """Whose runs of both sides are there; ``field_change`` in ln units."""
    wrong = mistakes(case.event)
    found = []
    for number in case.event.numbers_of_car(case.number):
        theirs = {slot: ms for slot, ms in case.times.get(number, {}).items() if (number, slot) not in wrong}
        change = case.change_of(theirs) if number != case.number else None
        if change is not None:
            time = math.exp(fmean(math.log(theirs[slot]) for slot in case.of.runs if slot in theirs))
            found.append(CoDriver(number, change * time, (change - field_change) * time))
    return tuple(found)
