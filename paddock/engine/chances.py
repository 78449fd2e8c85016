"""My chance to lead class and index when the runs left are driven, and what a safe run or a push does to it.

Closed form: my final score is integrated against the chance that every rival ends above it, rivals independent. It
replaces a simulation; the tests hold a seeded simulation against it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from paddock.engine.finish import Finish
from paddock.engine.pacing import Pace, paces
from paddock.engine.runs_left import Field, Table, field_of
from paddock.errors import UsageError
from paddock.model.event import Event

__all__ = [
    "Chances",
    "LuckPace",
    "RivalChance",
    "Sensitivity",
    "TableChance",
    "chances",
    "lead_chance",
    "pushed",
    "safe",
]

_CELLS = 96
_SHOWN = 5
_LEAST_RUNS = 2
_NEGLIGIBLE = 1e-5
SAFE_SLOWER, PUSH_QUICKER, PUSH_CONES = 0.5, 0.5, 2.0
"""A safe run is half a spread slower, without cones; a push half a spread quicker, with twice the cones and void
runs (our assumptions, no source)."""


@dataclass(frozen=True, slots=True)
class RivalChance:
    """Chance that one rival ends ahead of me."""

    number: str
    p_ahead: float


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """The chance to lead if one assumption were different."""

    what: str
    p_lead: float


@dataclass(frozen=True, slots=True)
class LuckPace:
    """The present gap to ``number`` on the table's scores: what pace explains and what is luck, cones included.

    Positive: I am behind.
    """

    number: str
    gap_ms: int
    pace_ms: float
    luck_ms: float


@dataclass(frozen=True, slots=True)
class TableChance:
    """One table. Chances None = can't be said; ``assumptions`` says why or what they rest on."""

    p_lead: float | None
    p_lead_if_banked: float | None
    p_lead_if_pushed: float | None
    assumptions: tuple[str, ...]
    runs_left: int = 0
    rivals: tuple[RivalChance, ...] = ()
    sensitivity: tuple[Sensitivity, ...] = ()
    luck: LuckPace | None = None


@dataclass(frozen=True, slots=True)
class Chances:
    """Class and index; ``class_name`` None: no class."""

    number: str
    class_name: str | None
    class_: TableChance
    index: TableChance


def safe(pace: Pace) -> Pace:
    """A run driven to be clean."""
    return replace(pace, level=pace.level + SAFE_SLOWER * pace.spread, cone_rate=0.0, void_rate=0.0)


def pushed(pace: Pace) -> Pace:
    """A run driven for the time."""
    return replace(
        pace, level=pace.level - PUSH_QUICKER * pace.spread, cone_rate=PUSH_CONES * pace.cone_rate,
        void_rate=min(1.0, PUSH_CONES * pace.void_rate),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Grid:
    """Scores with which I may lead, and the chance there that all rivals stay above. ``near``: who may end under."""

    edges: tuple[float, ...]
    all_above: tuple[float, ...]
    at_known: float
    near: tuple[tuple[str, Finish], ...]


def _edges(low: float, high: float) -> tuple[float, ...]:
    return tuple(low + (high - low) * index / _CELLS for index in range(_CELLS + 1)) if low < high else ()


def _middles(edges: Sequence[float]) -> list[float]:
    return [(a + b) / 2.0 for a, b in pairwise(edges)]


def _product(curves: Sequence[Sequence[float]], width: int) -> tuple[float, ...]:
    return tuple(map(math.prod, zip(*curves, strict=True))) if curves else (1.0,) * width


def _grid(me: Finish, rivals: Sequence[tuple[str, Finish]]) -> _Grid:
    """Nobody leads with more than the least any rival surely ends with; rivals who can hardly go under are dropped."""
    known, (low, high) = me.known(), me.reach()
    top = min([high, *(rival.cap for _, rival in rivals)])
    near = tuple((number, item) for number, item in rivals if item.above(min(top, 1e12)) < 1.0 - _NEGLIGIBLE)
    edges = _edges(low, top)
    middles = _middles(edges)
    everyone = _product([item.curve(middles) for _, item in near], len(middles))
    at_known = 0.0 if known is None or known > top else math.prod(item.above(known) for _, item in near)
    return _Grid(edges, everyone, at_known, near)


def _steps(me: Finish, edges: Sequence[float]) -> tuple[list[float], float]:
    """My chance to end in each cell, and to keep what I have."""
    if not me.open:
        return [0.0] * max(0, len(edges) - 1), 0.0 if me.known() is None else 1.0
    above = me.curve(edges)
    known = me.known()
    return [a - b for a, b in pairwise(above)], 0.0 if known is None or me.summed else me.above(known)


def _lead(me: Finish, grid: _Grid) -> float:
    cells, kept = _steps(me, grid.edges)
    total = sum(cell * value for cell, value in zip(cells, grid.all_above, strict=True)) + kept * grid.at_known
    return min(1.0, max(0.0, total))


def lead_chance(me: Finish, rivals: Sequence[tuple[str, Finish]]) -> float:
    """Chance that nobody ends ahead of ``me``; 0 where I end without a score."""
    return _lead(me, _grid(me, rivals))


def _ahead(me: Finish, rival: Finish) -> float:
    """Chance that one rival ends ahead of me, among the cases in which I end with a score.

    The rival's score so far is an edge of the grid: against one who is done the sum is my own distribution, exactly.
    """
    low, high = me.reach()
    edges = _edges(low, high)
    if low < rival.cap < high:
        edges = tuple(sorted({*edges, rival.cap}))
    cells, kept = _steps(me, edges)
    known = me.known()
    under = sum(cell * (1.0 - value) for cell, value in zip(cells, rival.curve(_middles(edges)), strict=True))
    return min(1.0, under + (kept * (1.0 - rival.above(known)) if known is not None else 0.0))


def _rivals(me: Finish, grid: _Grid) -> tuple[RivalChance, ...]:
    """The likeliest of those who may end under the best that counts."""
    edge = grid.edges[len(grid.edges) // 2] if grid.edges else me.cap
    likely = sorted(grid.near, key=lambda item: item[1].above(min(edge, 1e12)))[: 2 * _SHOWN]
    found = [RivalChance(number, _ahead(me, item)) for number, item in likely]
    return tuple(sorted(found, key=lambda item: -item.p_ahead)[:_SHOWN])


def _with_first(me: Finish, how: Callable[[Pace], Pace]) -> Finish:
    return replace(me, first=how(me.pace)) if me.pace is not None and me.open else me


def _sensitivity(me: Finish, grid: _Grid) -> tuple[Sensitivity, ...]:
    pace = me.pace
    if pace is None or not me.open:
        return ()
    step = 100.0 / pace.time_ms
    cases = (
        ("my pace 0.1 s quicker", replace(pace, level=pace.level - step)),
        ("my pace 0.1 s slower", replace(pace, level=pace.level + step)),
        ("my spread half as large again", replace(pace, spread=1.5 * pace.spread)),
        ("my cones doubled", replace(pace, cone_rate=2.0 * pace.cone_rate)),
    )
    return tuple(Sensitivity(what, _lead(replace(me, pace=other), grid)) for what, other in cases)


def _luck(table: Table, number: str) -> LuckPace | None:
    """Against the best other score so far."""
    me = table.finish[number]
    mine = me.known()
    others = [(known, other) for other, item in table.finish.items() if (known := item.known()) is not None]
    best = min((item for item in others if item[1] != number), default=None)
    if mine is None or best is None or me.pace is None or me.summed:
        return None
    them = table.finish[best[1]]
    if them.pace is None or min(me.pace.runs, them.pace.runs) < _LEAST_RUNS:
        return None
    pace = (me.factor * me.pace.time_ms - them.factor * them.pace.time_ms) * table.days
    gap = round(mine - best[0])
    return LuckPace(best[1], gap, pace, gap - pace)


def _none(why: str) -> TableChance:
    return TableChance(None, None, None, (why,))


def _assumptions(field: Field, table: Table, me: Finish) -> tuple[str, ...]:
    pace = me.pace
    found = [
        f"day {field.day} only; I have {me.left} of {field.per_day} runs left, each rival what the sheet leaves them",
        "the course stays as at the latest run, everybody independent",
    ]
    if pace is not None:
        time = pace.time_ms / 1000
        found.append(
            f"my run {time:.2f} s raw +- {pace.spread * time:.2f} s, {pace.cone_rate:.2f} "
            f"cones and {100 * pace.void_rate:.0f} % void a run, from {pace.runs} of mine and the field"
        )
        found.append(
            f"a safe run: clean and {SAFE_SLOWER:g} spread slower; "
            f"a push: {PUSH_QUICKER:g} spread quicker with {PUSH_CONES:g} times the cones and void runs"
        )
    if table.unseen:
        found.append(f"without a time so far and left out: {', '.join(table.unseen)}")
    return tuple(found)


def _table_chance(field: Field, table: Table | None, number: str, name: str) -> TableChance:
    if table is None:
        return _none("no class" if name == "class" else "nobody has run")
    if number not in table.finish:
        return _none("no score can come any more: a void day, no index, or no run left")
    me = table.finish[number]
    if me.left > 0 and (me.pace is None or me.pace.runs < _LEAST_RUNS):
        return _none(f"fewer than {_LEAST_RUNS} usable runs of mine: no pace to reckon with")
    rivals = [(other, item) for other, item in table.finish.items() if other != number]
    grid = _grid(me, rivals)
    return TableChance(
        _lead(me, grid), _lead(_with_first(me, safe), grid), _lead(_with_first(me, pushed), grid),
        _assumptions(field, table, me), me.left, _rivals(me, grid), _sensitivity(me, grid), _luck(table, number),
    )  # fmt: skip


def chances(event: Event, number: str, runs_left: int | None = None) -> Chances:
    """Chances of an entrant; ``runs_left`` None: as the event says. UsageError for an unknown number."""
    me = event.entrant(number)
    if me is None:
        raise UsageError(f"no entrant {number!r}")
    if runs_left is not None and runs_left < 0:
        raise UsageError("runs left: 0 or more")
    field = field_of(event, number, runs_left, paces(event))
    return Chances(
        number, me.class_,
        _table_chance(field, field.class_table, number, "class"),
        _table_chance(field, field.index_table, number, "index"),
    )  # fmt: skip
