"""How the course changed: what the field gave between run numbers, by run group, and "did I slow, or did everyone?".

Read off the one model of the field. What drivers learn on average can't be told from the course: it is the course and
everybody's learning together.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from paddock.engine.field.case import LEAST_RUNS
from paddock.engine.field.scores import SCALE, groups_of, raw_times
from paddock.engine.stats.quantiles import normal_quantile, t_quantile
from paddock.model.event import Event
from paddock.model.rows import RunRow

if TYPE_CHECKING:
    from paddock.engine.field.fit import Fitted
    from paddock.engine.field.from_event import Placed
    from paddock.engine.field.scores import Floats

CONED = 3
"""So many cones and the run was off its line (our choice)."""
_TENTH = normal_quantile(0.9)


@dataclass(frozen=True, slots=True)
class CoursePoint:
    """``change_ms``: the course at this run against the first run of the day; negative is faster. ``low_ms``,
    ``high_ms``: 80 % range. ``clock_min``: minutes since midnight at which the group drove it, None: not known.
    """

    run: int
    drivers: int
    change_ms: float
    low_ms: float
    high_ms: float
    clock_min: float | None = None


@dataclass(frozen=True, slots=True)
class CoursePair:
    """What the course gave from one run number to the next; ``drivers`` have both."""

    run_from: int
    run_to: int
    drivers: int
    change_ms: float
    low_ms: float
    high_ms: float


@dataclass(frozen=True, slots=True)
class Evolution:
    """A day of a run group (None: everybody) at ``time_ms``, the field's typical time. Empty without data.

    ``by_clock``: groups met the course at other hours than their run numbers say, so it is told by the clock.
    """

    day: int
    group: str | None
    time_ms: float | None
    points: tuple[CoursePoint, ...]
    pairs: tuple[CoursePair, ...]
    by_clock: bool = False


@dataclass(frozen=True, slots=True)
class Slowed:
    """My change between two of my runs against the course's; ``extra_ms`` and range None with too few rivals.

    ``interval80_ms``: what the extra would be four times in five had I driven both as usual: the course's doubt and my
    scatter, about the extra seen. ``who`` it was: ``everyone``, the ``scatter``, ``me``, None: nobody else has both
    runs; ``spoilt``: there is no clean run to hold it against. ``passed``: runs of mine that are spoilt: the earlier
    one where there is no clean one, those passed over, and ``run_to`` itself.
    """

    run_from: int
    run_to: int
    my_change_ms: float
    field_change_ms: float | None
    drivers: int
    extra_ms: float | None
    interval80_ms: tuple[float, float] | None
    who: Literal["everyone", "scatter", "me", "spoilt"] | None
    passed: tuple[SpoiltRun, ...] = ()


@dataclass(frozen=True, slots=True)
class SpoiltRun:
    """A run that says nothing about pace: marked a mistake or unsafe, or ``cones`` many."""

    run: int
    why: Literal["mistake", "unsafe", "cones"]
    cones: int = 0


def groups_on(event: Event, day: int) -> tuple[str, ...]:
    """The run groups of a day, by name."""
    return tuple(sorted({group for group in groups_of(event, day).values() if group}))


@dataclass(frozen=True, slots=True, eq=False)
class _Told:
    """A day's field fitted. ``pool``: drivers by slots with a usable time."""

    placed: Placed
    fitted: Fitted
    seen: Floats
    time_ms: float

    def contrast(self, group: str | None, weights: Mapping[int, float]) -> Floats:
        """Over the unknowns: the course at slots with weights, of a group; everybody's, each group by its drivers."""
        import numpy as np

        layout = self.fitted.layout
        made = np.zeros((layout.groups, layout.slots))
        counts = np.bincount(self.fitted.frame.group[:, 0], minlength=layout.groups).astype(float)
        if group is not None and group in self.placed.groups:
            counts = np.eye(layout.groups)[self.placed.groups.index(group)]
        for slot, weight in weights.items():
            made[:, slot] = weight * counts / counts.sum()
        return np.concatenate([made.ravel(), np.zeros(layout.size - made.size)])

    def change(self, row: Floats) -> tuple[float, float]:
        """Mean and sd of a contrast, seconds in 45."""
        return float(row @ self.fitted.mean), math.sqrt(max(float(row @ self.fitted.cov @ row), 0.0))


def _told(event: Event, day: int, without: frozenset[str], me: str = "") -> _Told | None:
    import numpy as np

    from paddock.engine.field.fit import fit
    from paddock.engine.field.from_event import placed

    times = {number: theirs for number, theirs in raw_times(event).items() if any(slot[0] == day for slot in theirs)}
    if not times:
        return None
    found = placed(event, times, (day,), me, everybody=True)
    usable = ~np.isnan(found.frame.y) & ~found.frame.marked
    kept = [i for i, n in enumerate(found.frame.numbers) if n not in without and usable[i].sum() >= LEAST_RUNS]
    if not kept:
        return None
    frame = found.frame.rows(kept)
    time = math.exp(float(frame.base.mean()) / SCALE)
    return _Told(found, fit(frame, len(found.groups), len(found.kinds)), usable[kept].astype(float), time)


def course_evolution(
    event: Event, day: int, group: str | None = None, without: frozenset[str] = frozenset()
) -> Evolution:
    """What each run number of ``day`` gave. ``group`` None: everybody; ``without``: numbers to leave out.

    Runs marked as mistakes are left out; so are drivers with one run only, who can't tell a change.
    """
    found = _told(event, day, without)
    return Evolution(day, group, None, (), ()) if found is None else _evolution(found, day, group)


def courses(event: Event, day: int, without: frozenset[str] = frozenset()) -> tuple[Evolution, ...]:
    """One for each run group of a day, everybody together where there are none; one fit for all."""
    found = _told(event, day, without)
    if found is None:
        return ()
    return tuple(_evolution(found, day, group) for group in groups_on(event, day) or (None,))


def _evolution(found: _Told, day: int, group: str | None) -> Evolution:
    import numpy as np

    frame, ms = found.fitted.frame, found.time_ms / SCALE
    here = np.ones(len(frame.numbers), dtype=bool)
    index = 0
    if group is not None and group in found.placed.groups:
        index = found.placed.groups.index(group)
        here = frame.group[:, 0] == index
    runs = [at for at in range(len(frame.slots)) if found.seen[here, at].any()]
    if len(runs) < 2:
        return Evolution(day, group, None, (), ())

    def between(a: int, b: int) -> tuple[float, float, float]:
        mean, sd = found.change(found.contrast(group, {a: -1.0, b: 1.0}))
        return mean * ms, (mean - _TENTH * sd) * ms, (mean + _TENTH * sd) * ms

    points = [
        CoursePoint(
            frame.slots[at][1], int(found.seen[here, at].sum()),
            *(between(runs[0], at) if at != runs[0] else (0.0, 0.0, 0.0)),
            clock_min=found.placed.clocks.get((index, frame.slots[at])),
        )
        for at in runs
    ]  # fmt: skip
    pairs = [
        CoursePair(
            frame.slots[a][1], frame.slots[b][1], int((found.seen[here, a] * found.seen[here, b]).sum()), *between(a, b)
        )
        for a, b in pairwise(runs)
    ]  # fmt: skip
    return Evolution(day, group, found.time_ms, tuple(points), tuple(pairs), day in found.placed.by_clock)


def spoilt(event: Event, number: str, day: int) -> dict[int, SpoiltRun]:
    """My runs of a day that say nothing about pace, by number."""
    found = {
        row.run: SpoiltRun(row.run, "cones", row.cones or 0) for row in event.times
        if row.number == number and row.day == day and (row.cones or 0) >= CONED
    }  # fmt: skip
    for row in event.of(RunRow):
        if row.number == number and row.day == day and (row.mistake or row.unsafe):
            found[row.run] = SpoiltRun(row.run, "mistake" if row.mistake else "unsafe")
    return found


def slowed_runs(
    event: Event, number: str, day: int, pairs: tuple[tuple[int | None, int], ...]
) -> tuple[Slowed | None, ...]:
    """My runs beside the course's change: of each pair an earlier run of mine (None: the last clean one before) and the
    one held against it.

    None where I have no such two runs. The later one counts though it be spoilt: the question is about this very run;
    with nothing clean before it there is nothing to hold it against. The course's change is that of
    ``course_evolution`` for my group without my car; the field is fitted once for all pairs.
    """
    mine = {slot[1]: ms for slot, ms in raw_times(event).get(number, {}).items() if slot[0] == day}
    field = _told(event, day, frozenset(event.numbers_of_car(number)), number) if len(mine) > 1 else None
    group = groups_of(event, day).get(number)
    marked = spoilt(event, number, day)
    return tuple(_slowed(mine, marked, field, group, day, *pair) for pair in pairs)


def _slowed(
    mine: Mapping[int, int], marked: Mapping[int, SpoiltRun], field: _Told | None, group: str | None, day: int,
    run_from: int | None, run_to: int,
) -> Slowed | None:  # fmt: skip
    earlier = sorted(run for run in mine if run < run_to)
    clean = [run for run in earlier if run not in marked]
    before = max(clean or earlier, default=None) if run_from is None else run_from
    if before is None or before not in mine or run_to not in mine:
        return None
    time = math.sqrt(mine[before] * mine[run_to])
    change = math.log(mine[run_to] / mine[before]) * time
    if before in marked and run_from is None:
        return Slowed(before, run_to, change, None, 0, None, None, "spoilt", (marked[before],))
    passed = tuple(marked[run] for run in (*earlier, run_to) if run > before and run in marked)
    slots = {slot: at for at, slot in enumerate(field.fitted.frame.slots)} if field else {}
    first, last = slots.get((day, before)), slots.get((day, run_to))
    both = _both(field, first, last)
    if field is None or first is None or last is None or not both:
        return Slowed(before, run_to, change, None, 0, None, None, None, passed)
    mean, sd = field.change(field.contrast(group, {first: -1.0, last: 1.0}))
    hyper = field.fitted.hyper
    usual = _usual(field, first, last)
    reach = t_quantile(0.9, hyper.freedom + 1.0) * math.hypot(sd, usual) * time / SCALE
    course = mean * time / SCALE
    extra = change - course
    span = (extra - reach, extra + reach)
    return Slowed(before, run_to, change, course, both, extra, span, _who(change, course, span), passed)


def _both(field: _Told | None, first: int | None, last: int | None) -> int:
    if field is None or first is None or last is None:
        return 0
    return int((field.seen[:, first] * field.seen[:, last]).sum())


def _usual(field: _Told, first: int, last: int) -> float:
    """Sd of the step between two usual runs of one driver beyond the course's: scatter, and learning that differs."""
    h = field.fitted.layout.h
    hyper = field.fitted.hyper
    return math.sqrt(2.0 * hyper.scatter + hyper.learning * float(h[first] - h[last]) ** 2)


def _who(change: float, field: float, reach: tuple[float, float]) -> Literal["everyone", "scatter", "me"]:
    if reach[0] <= 0.0 <= reach[1]:
        return "everyone" if change * field > 0 else "scatter"
    return "me"
