"""My usual extra learning: what I gain on the field between the same runs on days without a change."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from paddock.engine.effect.controls import choose
from paddock.engine.effect.difference import change_of, compare
from paddock.engine.effect.states import Block, Contrast, car_changes, first_slot
from paddock.engine.paces import Slot, mistakes
from paddock.model.event import Event

__all__ = ["LEAST_DAYS", "Learning", "Timed", "combine_df", "usual_learning"]

LEAST_DAYS = 2
"""One day without a change is no habit: taking it off would add more error than it removes."""


@dataclass(frozen=True, slots=True)
class Learning:
    """``extra`` in ln units (negative: I usually gain on the field), its ``variance`` and freedom, ``days`` used."""

    extra: float
    variance: float
    df: float
    days: int


def combine_df(parts: Sequence[tuple[float, float]]) -> float:
    """Freedom of a sum of variances, each (variance, df): F. E. Satterthwaite, Biometrics Bulletin 2, 1946."""
    total = sum(variance for variance, _ in parts)
    below = sum(variance * variance / df for variance, df in parts)
    return total * total / below if below else max(df for _, df in parts)


def _quiet_days(event: Event, number: str, days: Sequence[int]) -> list[int]:
    moments = [first_slot(event, row) for row in car_changes(event, number)]
    busy = {moment[0] for moment in moments if moment is not None and moment[1] > 1}
    unknown = any(moment is None for moment in moments)
    return [] if unknown else [day for day in days if day not in busy]


def _moved(of: Contrast, day: int) -> Contrast:
    """The same run numbers on another day."""
    blocks = tuple(
        Block(tuple((day, run) for _, run in block.old), tuple((day, run) for _, run in block.new))
        for block in of.blocks
    )
    return Contrast("day", blocks)


def _on_day(
    event: Event, number: str, of: Contrast, times: Mapping[str, Mapping[Slot, int]]
) -> tuple[float, float, int] | None:
    """Extra, variance and freedom of one quiet day; None where it can't be told."""
    wrong = mistakes(event)
    mine = {slot: ms for slot, ms in times.get(number, {}).items() if (number, slot) not in wrong}
    if change_of(mine, of) is None or any(slot not in mine for slot in of.slots):
        return None
    chosen = choose(event, number, of, times)
    seen = compare(mine, {other: times[other] for other in chosen.full}, of)
    if seen.extra is None or seen.spread is None:
        return None
    return seen.extra, seen.spread.error**2, seen.spread.df


Timed = tuple[Event, Mapping[str, Mapping[Slot, int]]]
"""An event and its usable times."""


def usual_learning(events: Sequence[Timed], number: str, of: Contrast) -> Learning | None:
    """From days of ``events`` on which the car was left alone, between the same run numbers as ``of``.

    None for a comparison over a night or with fewer than ``LEAST_DAYS`` such days.
    """
    if of.kind != "day" or len(of.blocks) != 1:
        return None
    found = []
    for event, times in events:
        days = sorted({slot[0] for slot in times.get(number, {})})
        for day in _quiet_days(event, number, days):
            seen = _on_day(event, number, _moved(of, day), times)
            if seen is not None:
                found.append(seen)
    if len(found) < LEAST_DAYS:
        return None
    count = len(found)
    parts = [(variance / count**2, float(df)) for _, variance, df in found]
    extra = sum(value for value, _, _ in found) / count
    return Learning(extra, sum(variance for variance, _ in parts), combine_df(parts), count)
