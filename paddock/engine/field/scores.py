"""Everybody's score so far and runs to come, by table: and the runs as a frame."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from paddock.engine.scoring.plain import ScoredRun, factor_of_entrant, scored_runs
from paddock.engine.scoring.tables import Basis, Factor, basis_of_class, day_score, days_run, may_count
from paddock.model.event import Event
from paddock.model.rows import EntrantRow, GridRow, RunRow
from paddock.model.settings import Rules

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Score:
    """One entrant's score to come in one table, all in the table's milliseconds.

    ``base``: what earlier days add. ``banked``: today's score so far, None = none yet. ``left``: runs to come.
    ``factor``: index, 1 on raw times. ``cone_ms``: what a cone adds in the table. ``summed``: today's runs are added
    up (``banked`` then is their sum so far, 0 = none, None = one of them is void).
    """

    base: float
    banked: float | None
    left: int
    factor: float
    cone_ms: float
    summed: bool = False

    @property
    def known(self) -> float | None:
        """The score as it stands if nothing more comes, None = none."""
        return None if self.banked is None else self.base + self.banked


@dataclass(frozen=True, slots=True)
class ScoreTable:
    """``scores`` by number, for everybody who can still end with one; ``days``: how many the scores so far hold."""

    scores: Mapping[str, Score]
    days: int
    entered: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ScoreField:
    """The latest day run, its runs for me, and both tables; None where I am in none."""

    day: int
    per_day: int
    class_table: ScoreTable | None
    index_table: ScoreTable | None


def _done(runs: Sequence[ScoredRun], day: int) -> int:
    return max((item.row.run for item in runs if item.ran and item.row.day == day), default=0)


def _counted(runs: Sequence[ScoredRun], day: int, basis: Basis, rules: Rules) -> list[int | None]:
    return [item.score(basis) for item in runs if item.ran and item.row.day == day and may_count(item.row.run, rules)]


@dataclass(frozen=True, slots=True)
class _Desk:
    """The rules and the day, to turn one entrant's runs into what may come."""

    rules: Rules
    days: Sequence[int]
    per_day: int

    def left(self, entrant: EntrantRow, runs: Sequence[ScoredRun]) -> int:
        last = self.per_day if self.rules.first_runs is None else min(self.per_day, self.rules.first_runs)
        return 0 if entrant.status else max(0, last - _done(runs, self.days[-1]))

    def score(
        self, entrant: EntrantRow, runs: Sequence[ScoredRun], basis: Basis, factor: Factor | None
    ) -> Score | None:
        """None: can't end with a score."""
        rules = self.rules
        share = 1.0 if basis == "raw" or factor is None else factor.num / factor.den
        cone = rules.cone_ms * (1.0 if basis == "raw" or rules.index_on == "raw" else share)
        earlier = [day_score(_counted(runs, day, basis, rules), rules) for day in self.days[:-1]]
        today = _counted(runs, self.days[-1], basis, rules)
        banked = day_score(today, rules) if today or not rules.summed else 0
        base = 0
        if rules.days == "sum":
            if any(score is None for score in earlier):
                return None
            base = sum(score or 0 for score in earlier)
        elif rules.days == "best" and not rules.summed:
            banked = min((score for score in (*earlier, banked) if score is not None), default=None)
        made = Score(base, banked, self.left(entrant, runs), share, cone, rules.summed)
        return None if banked is None and (not made.left or rules.summed) else made


def _table(event: Event, desk: _Desk, people: Sequence[EntrantRow], basis: Basis,
           scored: Mapping[str, list[ScoredRun]]) -> ScoreTable:  # fmt: skip
    found: dict[str, Score] = {}
    for entrant in people:
        factor = factor_of_entrant(entrant, event.settings)
        if entrant.status == "dsq" or (basis == "index" and factor is None):
            continue
        made = desk.score(entrant, scored.get(entrant.number, []), basis, factor)
        if made is not None:
            found[entrant.number] = made
    entered = tuple(item.number for item in people if item.status is None)
    return ScoreTable(found, len(desk.days) if desk.rules.days == "sum" else 1, entered)


def score_field(event: Event, number: str, runs_left: int | None) -> ScoreField:
    """The tables ``number`` stands in. ``runs_left``: mine, None as the event says; others have as many in all."""
    days = days_run(event)
    if not days:
        return ScoreField(1, event.settings.runs_per_day or 0, None, None)
    scored = scored_runs(event)
    done = _done(scored.get(number, []), days[-1])
    seen = max((_done(runs, days[-1]) for runs in scored.values()), default=0)
    per_day = (event.settings.runs_per_day or seen) if runs_left is None else done + runs_left
    desk = _Desk(event.settings.rules, days, per_day)
    me = event.entrant(number)
    code = me.class_ if me else None
    mates = [item for item in event.entrants if item.class_ == code]
    class_table = None
    if code is not None:
        class_table = _table(event, desk, mates, basis_of_class(event.settings, code), scored)
    return ScoreField(days[-1], per_day, class_table, _table(event, desk, event.entrants, "index", scored))


SCALE = 45.0
"""Seconds in which the priors are told."""

Slot = tuple[int, int]
"""Day and run number."""


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """Drivers by slots. ``y`` is nan where there is no usable time, and ``base`` a driver less: their own middle.

    ``group`` and ``kind`` count from 0, a driver each; a group holds over a day, so ``group`` is drivers by slots.
    ``where``: groups by slots, when that group drove that run: 1 from one run number to the next, later days far off.
    ``marked``: the driver says it was a mistake; ``told``: the driver's log says whether it was one.
    """

    numbers: tuple[str, ...]
    slots: tuple[Slot, ...]
    y: Floats
    group: Ints
    kind: Ints
    where: Floats
    marked: Bools
    told: Bools
    base: Floats

    def rows(self, kept: Sequence[int]) -> Frame:
        """Some of the drivers."""
        at = list(kept)
        return Frame(
            tuple(self.numbers[i] for i in at), self.slots, self.y[at], self.group[at], self.kind[at], self.where,
            self.marked[at], self.told[at], self.base[at],
        )  # fmt: skip


# which timed runs say something about pace, by entrant and slot


def raw_times(event: Event) -> dict[str, dict[Slot, int]]:
    """Number to slot to raw milliseconds of the runs that say something about pace; of two rows for one slot the later
    in the file stands.

    Only runs driven round the whole course, cones or not: penalties off. Runs with a missed gate, without a time or
    with any status (``dnf``, ``rerun``, ``practice`` ...) are left out.
    """
    found: dict[str, dict[Slot, int]] = {}
    for row in event.times:
        if row.time_ms and row.status is None and not row.misses:
            mine = found.get(row.number)
            if mine is None:
                mine = found[row.number] = {}
            mine[row.day, row.run] = row.time_ms
    return found


def mistakes(event: Event) -> frozenset[tuple[str, Slot]]:
    """Number and slot of the runs their driver marked as a mistake."""
    return frozenset((row.number, (row.day, row.run)) for row in event.of(RunRow) if row.mistake)


def void_entrants(event: Event) -> frozenset[str]:
    """Numbers whose every run is void."""
    return frozenset(entrant.number for entrant in event.entrants if entrant.status == "dsq")


def groups_of(event: Event, day: int) -> dict[str, str | None]:
    """Number to run group on a day; a blank group is None."""
    return {row.number: row.group for row in event.of(GridRow) if row.day == day}
