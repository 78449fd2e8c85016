"""Which of my runs were driven with the change and which without, and what else was changed between them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from paddock.engine.paces import Slot
from paddock.model.event import Event
from paddock.model.rows import ChangeRow, TimeRow

__all__ = ["Block", "Contrast", "car_changes", "case_number", "contrast", "first_slot", "label"]

Kind = Literal["day", "night", "mixed", "none"]


@dataclass(frozen=True, slots=True)
class Block:
    """Runs of mine that differ in the judged change only."""

    old: tuple[Slot, ...]
    new: tuple[Slot, ...]


@dataclass(frozen=True, slots=True)
class Contrast:
    """What is compared. ``kind``: ``day`` within a day, ``night`` from one day to the next, ``mixed`` where
    another change was made at the same time, ``none`` with no run on one side.

    ``weights`` add up to +1 over runs with the change and -1 over runs without. ``mixed_with``: ids of the changes
    that can't be told apart from this one. ``passed_over``: usable runs left out, with the id that spoils them.
    """

    kind: Kind
    blocks: tuple[Block, ...]
    mixed_with: tuple[str, ...] = ()
    passed_over: tuple[tuple[Slot, str], ...] = ()

    @property
    def old(self) -> tuple[Slot, ...]:
        """Slots of the runs without the change, in order."""
        return tuple(sorted(slot for block in self.blocks for slot in block.old))

    @property
    def new(self) -> tuple[Slot, ...]:
        """Slots of the runs with the change, in order."""
        return tuple(sorted(slot for block in self.blocks for slot in block.new))

    @property
    def slots(self) -> tuple[Slot, ...]:
        """All slots used, in order."""
        return tuple(sorted((*self.old, *self.new)))

    def shares(self) -> tuple[float, ...]:
        """How much each block counts: as least squares would weigh it."""
        sizes = [len(item.old) * len(item.new) / (len(item.old) + len(item.new)) for item in self.blocks]
        return tuple(size / sum(sizes) for size in sizes)

    def only(self, kept: Collection[Slot]) -> Contrast | None:
        """The same over ``kept`` alone; None where no block has both sides left."""
        cut = [
            Block(tuple(s for s in block.old if s in kept), tuple(s for s in block.new if s in kept))
            for block in self.blocks
        ]
        blocks = tuple(block for block in cut if block.old and block.new)
        return replace(self, blocks=blocks) if blocks else None

    def weights(self) -> dict[Slot, float]:
        """Slot to its weight in "with less without"."""
        found: dict[Slot, float] = {}
        for block, share in zip(self.blocks, self.shares(), strict=True):
            found.update({slot: -share / len(block.old) for slot in block.old})
            found.update({slot: share / len(block.new) for slot in block.new})
        return found


def label(change: ChangeRow) -> str:
    """``front bar 2-2 to 1-1`` in the log's own words."""
    name = change.item or (change.setting or "").replace("_", " ") or f"change {change.id}"
    if change.before and change.after:
        return f"{name} {change.before} to {change.after}"
    return f"{name} to {change.after}" if change.after else name


def case_number(event: Event, change: ChangeRow) -> str | None:
    """Whose runs judge the change: the row's number, else my first entry; None without either."""
    if change.number:
        return change.number
    mine = event.settings.mine.numbers
    return mine[0] if mine else None


def _clock_slot(event: Event, change: ChangeRow, number: str) -> Slot | None:
    """The first run that started at or after the change's clock time."""
    if not change.at or change.day is None:
        return None
    later = [
        (row.day, row.run) for row in event.of(TimeRow)
        if row.number == number and row.day == change.day and row.at and row.at >= change.at
    ]  # fmt: skip
    return min(later, default=None)


def first_slot(event: Event, change: ChangeRow) -> Slot | None:
    """The first run with the change: as logged, else by the clock; None where neither tells."""
    if change.day is None:
        return None
    if change.run is not None:
        return (change.day, change.run)
    number = case_number(event, change)
    return _clock_slot(event, change, number) if number else None


def car_changes(event: Event, number: str) -> tuple[ChangeRow, ...]:
    """Every logged change to the car that ``number`` drives, whoever of its drivers logged it."""
    same = event.numbers_of_car(number)
    return tuple(row for row in event.of(ChangeRow) if case_number(event, row) in same)


def _root(change: ChangeRow, known: Mapping[str, ChangeRow]) -> str:
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


def _switches(event: Event, changes: Sequence[ChangeRow]) -> tuple[_Switch, ...]:
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


def _groups(runs: Sequence[_Run], by_day: bool) -> dict[object, Block]:
    found: dict[object, list[_Run]] = defaultdict(list)
    for run in runs:
        found[(run.slot[0] if by_day else 0, run.others)].append(run)
    blocks = {
        key: Block(tuple(run.slot for run in group if not run.new), tuple(run.slot for run in group if run.new))
        for key, group in found.items()
    }
    return {key: block for key, block in blocks.items() if block.old and block.new}


def _nearest_days(block: Block) -> Block:
    """Over a night only the two days next to the change are compared."""
    first_new = min(slot[0] for slot in block.new)
    before = [slot[0] for slot in block.old if slot[0] < first_new]
    day = max(before) if before else min(slot[0] for slot in block.old)
    new_day = first_new if before else max(slot[0] for slot in block.new if slot[0] < day)
    return Block(
        tuple(slot for slot in block.old if slot[0] == day), tuple(slot for slot in block.new if slot[0] == new_day)
    )


def _mixed(runs: Sequence[_Run]) -> Contrast:
    """Another change at the same moment: the runs just before and just after judge them together."""
    at = next(i for i in range(1, len(runs)) if runs[i].new != runs[i - 1].new)
    before, after = runs[at - 1], runs[at]
    left = tuple(run.slot for run in runs[:at] if run.others == before.others and run.slot[0] == before.slot[0])
    right = tuple(run.slot for run in runs[at:] if run.others == after.others and run.slot[0] == after.slot[0])
    block = Block(left, right) if after.new else Block(right, left)
    return Contrast("mixed", (block,), tuple(sorted(before.others ^ after.others)))


def _spoilt(runs: Sequence[_Run], used: frozenset[Slot], norm: frozenset[str]) -> tuple[tuple[Slot, str], ...]:
    return tuple(
        (run.slot, min(run.others ^ norm)) for run in runs if run.slot not in used and run.others ^ norm
    )  # fmt: skip


def contrast(event: Event, change: ChangeRow, number: str, slots: Sequence[Slot]) -> Contrast:
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
    others = {run.slot: run.others for run in runs}
    blocks = tuple(_groups(runs, by_day=True).values())
    kind: Kind = "day"
    if not blocks:
        kind = "night"
        blocks = tuple(_nearest_days(block) for block in list(_groups(runs, by_day=False).values())[:1])
    if not blocks:
        return _mixed(runs)
    used = frozenset(slot for block in blocks for slot in (*block.old, *block.new))
    return Contrast(kind, blocks, (), _spoilt(runs, used, others[blocks[0].old[0]]))
