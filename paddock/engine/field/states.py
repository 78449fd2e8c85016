"""Which of my runs were driven with the change and which without, and what else was changed between them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from paddock.engine.field.runs import Slot
from paddock.model.event import Event
from paddock.model.rows import SetupChange, TimeRow

Kind = Literal["day", "night", "mixed", "none"]


@dataclass(frozen=True, slots=True)
class Block:
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
    blocks: tuple[Block, ...]
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


def _groups(runs: Sequence[_Run], alike: bool) -> tuple[Block, ...]:
    """Day by day; ``alike``: only runs that differ in nothing else."""
    found: dict[object, list[_Run]] = defaultdict(list)
    for run in runs:
        found[run.slot[0], run.others if alike else None].append(run)
    blocks = [
        Block(tuple(run.slot for run in group if not run.new), tuple(run.slot for run in group if run.new))
        for group in found.values()
    ]
    return tuple(block for block in blocks if block.old and block.new)


def _nearest_days(runs: Sequence[_Run]) -> Block:
    """Over a night only the two days next to the change are compared."""
    first_new = min(run.slot[0] for run in runs if run.new)
    before = [run.slot[0] for run in runs if not run.new and run.slot[0] < first_new]
    day = max(before) if before else min(run.slot[0] for run in runs if not run.new)
    new_day = first_new if before else max(run.slot[0] for run in runs if run.new and run.slot[0] < day)
    return Block(
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
        sides = Block(tuple(r.slot for r in runs if not r.new), tuple(r.slot for r in runs if r.new))
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
    mixed = tuple(name for name, column in moved.items() if _same(used, on, column, kind == "night"))
    if mixed:
        kind = "mixed"
    elif kind == "day":
        blocks = _groups(used, alike=True) or blocks
    return Contrast(kind, blocks, tuple(run.slot for run in used), on, tuple(moved.items()), mixed)  # type: ignore[arg-type]


def _same(runs: Sequence[_Run], on: Sequence[bool], column: Sequence[bool], whole: bool) -> bool:
    """Whether the other change was on in the very same runs, or in the very others, of each day told by both."""
    by_day: dict[int, set[bool]] = defaultdict(set)
    for run, mine, theirs in zip(runs, on, column, strict=True):
        by_day[0 if whole else run.slot[0]].add(mine == theirs)
    return all(len(found) == 1 for found in by_day.values())
