"""On what kind of element a change acted: my runs with it less those without, where both have splits on one course."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, variance

from paddock.engine.field.effect import Effect
from paddock.engine.where.answer import part_of, segments, verdict_of
from paddock.engine.where.placed import HALF80
from paddock.engine.where.splits import SplitRun, course_of, timed_runs
from paddock.model.event import Event

USUAL_SHARE = 0.01
"""A driver's scatter from run to run as a share of an element's time, worth two runs of evidence: common practice, no
source."""
_WORTH = 2


@dataclass(frozen=True, slots=True)
class KindDelta:
    """``delta_ms``: with the change less without it, what the field gave meanwhile taken off; negative is faster.
    ``error_ms``: half-width of its 80 % range; ``verdict`` as ``verdict_of`` has it; ``without``, ``having``: runs."""

    kind: str
    delta_ms: int
    error_ms: int
    verdict: str
    without: int
    having: int


def kind_deltas(event: Event, found: Effect) -> tuple[KindDelta, ...]:
    """By kind of element, the largest first; empty where a side has no run with splits."""
    days = {item.day for item in found.runs_used}
    courses = {tuple((row.element, row.name, row.kind) for row in course_of(event, day)) for day in days}
    if len(courses) != 1:
        return ()
    timed = {(run.day, run.run): run for day in days for run in timed_runs(event, day, found.number)}
    sides = [
        [timed[item.day, item.run] for item in found.runs_used if item.new is new and (item.day, item.run) in timed]
        for new in (False, True)
    ]
    if not all(sides):
        return ()
    marks = set.intersection(*(set(run.passes) for side in sides for run in side))
    kinds: dict[str, list[tuple[int, int]]] = {}
    rows = course_of(event, min(days))
    for begin, end in segments(sorted(marks)):
        names = {row.kind or "" for row in rows if begin < row.element <= end}
        if len(names) == 1 and (name := names.pop()):
            kinds.setdefault(name, []).append((begin, end))
    made = [_delta(kind, parts, sides[0], sides[1], found.field_change_ms or 0.0) for kind, parts in kinds.items()]
    return tuple(sorted(made, key=lambda item: -abs(item.delta_ms)))


def _delta(
    kind: str, stretches: Sequence[tuple[int, int]], old: Sequence[SplitRun], new: Sequence[SplitRun], field_ms: float
) -> KindDelta:  # fmt: skip
    times: list[list[float]] = []
    marking = 0.0
    for side in (old, new):
        parts = [[part for stretch in stretches if (part := part_of(run, stretch)) is not None] for run in side]
        times.append([float(sum(part.ms for part in found)) for found in parts])
        each = [sum(part.error_ms**2 for part in found) for found in parts]
        marking += sum(each) / len(side) ** 2
    usual = USUAL_SHARE * fmean([*times[0], *times[1]])
    degrees = len(times[0]) + len(times[1]) - 2
    seen = sum((len(side) - 1) * variance(side) for side in times if len(side) > 1)
    scatter = (seen + _WORTH * usual**2) / (degrees + _WORTH)
    error = math.sqrt(marking + HALF80**2 * scatter * (1 / len(old) + 1 / len(new)))
    share = fmean(times[0]) / fmean(run.official_ms for run in old)
    delta = fmean(times[1]) - fmean(times[0]) - field_ms * share
    return KindDelta(kind, round(delta), round(error), verdict_of(delta, error), len(old), len(new))
