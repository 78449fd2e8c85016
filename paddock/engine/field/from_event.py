"""An event's runs as a frame for the model: the one place where rows become numbers."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

from paddock.engine.field.scores import SCALE, Frame, Slot, groups_of, mistakes, void_entrants
from paddock.model.rows import EntrantRow, RunRow

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from paddock.engine.field.scores import Bools, Floats, Ints
    from paddock.model.event import Event


Kind = tuple[str, str]
_LEAST_CLOCKS = 3


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """A frame with its names. ``groups`` by the frame's count, None = no group; ``by_clock``: days told by the clock.

    ``clocks``: minutes since midnight at which a group (by count) drove a run, the middle car's.
    """

    frame: Frame
    groups: tuple[str | None, ...]
    kinds: tuple[Kind, ...]
    by_clock: frozenset[int]
    clocks: Mapping[tuple[int, Slot], float]

    def row(self, number: str) -> int | None:
        """A driver's place in the frame."""
        return self.frame.numbers.index(number) if number in self.frame.numbers else None


def _blank(found: Iterable[str | None], mine: str | None) -> str:
    """What a blank stands for: mine, else what most have."""
    if mine:
        return mine.casefold()
    counts = Counter(item.casefold() for item in found if item)
    return min(counts, key=lambda item: (-counts[item], item), default="")


def _kinds(people: Sequence[EntrantRow], me: EntrantRow) -> list[Kind]:
    drive = _blank((item.drive for item in people), me.drive)
    tyre = _blank((item.tyre_kind for item in people), me.tyre_kind)
    return [((item.drive or drive).casefold(), (item.tyre_kind or tyre).casefold()) for item in people]


def _group_names(event: Event, numbers: Sequence[str], days: Sequence[int], mine: str) -> dict[int, list[str | None]]:
    found = {}
    for day in days:
        known = groups_of(event, day)
        counts = Counter(known[n] for n in numbers if known.get(n))
        usual = known.get(mine) or min(counts, key=lambda item: (-counts[item], item or ""), default=None)
        found[day] = [known.get(number) or usual for number in numbers]
    return found


def _minutes(at: str | None) -> float | None:
    if not at:
        return None
    parts = at.split(":")
    return 60.0 * int(parts[0]) + int(parts[1]) + (int(parts[2]) / 60.0 if len(parts) > 2 else 0.0)


def _clocks(event: Event, group_at: Mapping[tuple[int, str], int]) -> dict[tuple[int, Slot], float]:
    seen: dict[tuple[int, Slot], list[float]] = defaultdict(list)
    for row in event.times:
        minutes = _minutes(row.at)
        group = group_at.get((row.day, row.number))
        if minutes is not None and group is not None:
            seen[group, (row.day, row.run)].append(minutes)
    return {key: median(found) for key, found in seen.items() if len(found) >= _LEAST_CLOCKS}


def _day_by_clock(runs: Sequence[int], of: Mapping[int, Mapping[int, float]]) -> dict[int, dict[int, float]] | None:
    """Group to run to place where the clock and the runs disagree over which came first; None where they agree."""
    full = {group: at for group, at in of.items() if len(at) >= 2}
    if len(full) < 2 or len(full) < len(of):
        return None
    batches = [(run, clock) for at in full.values() for run, clock in at.items()]
    if not any(a < b and clock_a > clock_b for a, clock_a in batches for b, clock_b in batches):
        return None
    steps = [(at[b] - at[a]) / (b - a) for at in full.values() for a in at for b in at if b == a + 1]
    step = median(steps) if steps else 0.0
    if step <= 0.0:
        return None
    start = min(clock for _, clock in batches)
    found: dict[int, dict[int, float]] = {}
    for group, at in full.items():
        known = sorted(at)
        places = np.interp(runs, known, [(at[run] - start) / step + 1.0 for run in known])
        outside = [max(0, run - known[-1]) - max(0, known[0] - run) for run in runs]
        found[group] = {run: float(place + more) for run, place, more in zip(runs, places, outside, strict=True)}
    return found


def placed(
    event: Event,
    times: Mapping[str, Mapping[Slot, int]],
    days: Sequence[int],
    me: str = "",
    everybody: bool = False,
    ahead: int = 0,
) -> Placed:
    """The runs of ``days``. ``me``: whose group and kind a blank stands for, and who is in it though control be ``no``.

    ``everybody``: entrants known to have changed something too, as for the chances; ``ahead``: runs of the last day
    that nobody has driven yet, appended. Disqualified entrants and drivers without a usable time are left out.
    """
    wanted, void = frozenset(days), void_entrants(event)
    known = {item.number: item for item in event.entrants}
    found = [
        number for number, theirs in times.items()
        if number == me or (number not in void and any(slot[0] in wanted for slot in theirs)
                            and (everybody or getattr(known.get(number), "control", None) is not False))
    ]  # fmt: skip
    slots = sorted({slot for number in found for slot in times.get(number, {}) if slot[0] in wanted})
    last = max((run for day, run in slots if day == max(days)), default=0)
    slots += [(max(days), last + 1 + i) for i in range(ahead)]
    people = [known.get(number) or EntrantRow(number=number) for number in found]
    kinds = _kinds(people, known.get(me) or EntrantRow(number=me or "-"))
    names = tuple(sorted(set(kinds)))
    group_names = _group_names(event, found, days, me)
    groups = tuple(sorted({name for row in group_names.values() for name in row}, key=lambda name: name or ""))
    of_slot = np.array([[groups.index(group_names[day][i]) for day, _ in slots] for i in range(len(found))])
    group = of_slot.reshape(len(found), len(slots)).astype(int)
    at = {(day, number): groups.index(group_names[day][i]) for i, number in enumerate(found) for day in days}
    clocks = _clocks(event, at)
    where, by_clock = _where(slots, len(groups), clocks)
    y, base = _logs(found, times, slots)
    frame = Frame(
        tuple(found), tuple(slots), y, group, np.array([names.index(kind) for kind in kinds], dtype=int), where,
        *_marks(event, found, slots), base,
    )  # fmt: skip
    return Placed(frame, groups, names, by_clock, clocks)


def _where(
    slots: Sequence[Slot], groups: int, clocks: Mapping[tuple[int, Slot], float]
) -> tuple[Floats, frozenset[int]]:
    where = np.tile(np.array([float(run) for _, run in slots]), (max(groups, 1), 1))
    told = set()
    for day in {day for day, _ in slots}:
        runs = [run for at, run in slots if at == day]
        of: dict[int, dict[int, float]] = defaultdict(dict)
        for (group, (on, run)), clock in clocks.items():
            if on == day:
                of[group][run] = clock
        places = _day_by_clock(runs, of)
        if places is not None and len(places) == groups:
            told.add(day)
            for group, at in places.items():
                for index, slot in enumerate(slots):
                    if slot[0] == day:
                        where[group, index] = at[slot[1]]
    return where, frozenset(told)


def _logs(
    found: Sequence[str], times: Mapping[str, Mapping[Slot, int]], slots: Sequence[Slot]
) -> tuple[Floats, Floats]:
    """45 ln(ms), each driver's own middle taken off (nan without a time), and that middle."""
    y = np.full((len(found), len(slots)), math.nan)
    index = {slot: at for at, slot in enumerate(slots)}
    for i, number in enumerate(found):
        for slot, ms in times.get(number, {}).items():
            if slot in index:
                y[i, index[slot]] = SCALE * math.log(ms)
    seen = ~np.isnan(y)
    base = np.where(seen, y, 0.0).sum(1) / np.maximum(seen.sum(1), 1)
    return y - base[:, None], base


def _marks(event: Event, found: Sequence[str], slots: Sequence[Slot]) -> tuple[Bools, Bools]:
    wrong = mistakes(event)
    said = {(row.number, (row.day, row.run)) for row in event.of(RunRow) if row.mistake is not None}
    marked = np.array([[(number, slot) in wrong for slot in slots] for number in found], dtype=bool)
    told = np.array([[(number, slot) in said for slot in slots] for number in found], dtype=bool)
    shape = (len(found), len(slots))
    return marked.reshape(shape), told.reshape(shape)


def group_row(found: Placed, event: Event, number: str) -> Ints:
    """A driver's group by slot, whether or not they are in the frame; the first group where it isn't known."""
    at = found.row(number)
    if at is not None:
        return np.asarray(found.frame.group[at])
    names = {day: groups_of(event, day).get(number) for day in {day for day, _ in found.frame.slots}}
    return np.array([found.groups.index(names[day]) if names[day] in found.groups else 0
                     for day, _ in found.frame.slots], dtype=int)  # fmt: skip
