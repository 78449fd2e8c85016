"""My chance to lead class and index when the runs left are driven, from the same model of the field as the verdicts.

Runs to come are drawn, seeded: the same question has the same answer. What is drawn once for all (the course's next
steps) keeps rivals from being independent. A bank or push is told as far as my record shows fewer cones when slower.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from paddock.engine.field.evidence import Trade, trade_of
from paddock.engine.field.scores import SCALE, Score, ScoreField, ScoreTable, raw_times, score_field
from paddock.engine.scoring.tables import days_run, has_run
from paddock.errors import UsageError
from paddock.model.event import Event

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from paddock.engine.field.ahead import Drawn, RunRates
    from paddock.engine.field.fit import Fitted
    from paddock.engine.field.scores import Bools, Floats

_SHOWN = 5
LEAST_PACED = 2
_RIVALS = 30
"""So many of the best in a table can end first; the rest can't."""
_QUICK = 0.985
LEVEL = 0.05
"""Chances closer than this are level."""
_MOST_AHEAD = 12


@dataclass(frozen=True, slots=True)
class RivalChance:
    """Chance that one rival ends ahead of me."""

    number: str
    p_ahead: float


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """The chance to lead if one assumption were different: my pace 0.1 s ``quicker`` or ``slower``, my spread ``wider``
    by half, twice the ``cones``.
    """

    what: str
    p_lead: float


@dataclass(frozen=True, slots=True)
class LuckPace:
    """The present gap to ``number`` on the table's scores: what pace explains; the rest is luck, cones included.

    Positive: I am behind.
    """

    number: str
    gap_ms: int
    pace_ms: float


WhyNoChance = Literal["no class", "nobody ran", "no score", "no rival", "few runs"]
"""No class; nobody has run; no score of mine can come any more; of the rivals entered none has a time; fewer than
``LEAST_PACED`` usable runs of mine."""


@dataclass(frozen=True, slots=True)
class MyPace:
    """My next run: raw time and its scatter in s, cones, share of void runs, from ``usable`` runs of mine; ``wider``:
    how many times wider than they show my runs are taken to scatter.
    """

    time_s: float
    spread_s: float
    cones: float
    voids: float
    usable: int
    wider: float


@dataclass(frozen=True, slots=True)
class Rests:
    """``left`` of ``per_day`` runs of ``day`` are mine to come; ``pace`` and ``trade`` None: no run of mine is left.
    ``unseen``: entered, without a time and left out.
    """

    day: int
    left: int
    per_day: int
    pace: MyPace | None
    trade: Trade | None
    unseen: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TableChance:
    """One table. Chances None = can't be said, ``why`` tells the reason; ``rests``: on what they rest.

    ``p_range``: the chance if my pace is at the quick and at the slow end of what my runs show. ``evidence``:
    my own record shows what a safe run does; without it both are as driven so far. ``level``: banked, usual and pushed
    are within ``LEVEL``.
    """

    p_lead: float | None
    p_lead_if_banked: float | None
    p_lead_if_pushed: float | None
    why: WhyNoChance | None = None
    rests: Rests | None = None
    p_range: tuple[float, float] | None = None
    evidence: bool = False
    runs_left: int = 0
    rivals: tuple[RivalChance, ...] = ()
    sensitivity: tuple[Sensitivity, ...] = ()
    luck: LuckPace | None = None

    @property
    def level(self) -> bool:
        """Whether it makes no difference worth the name how the next run is driven."""
        known = [p for p in (self.p_lead, self.p_lead_if_banked, self.p_lead_if_pushed) if p is not None]
        return len(known) > 1 and max(known) - min(known) < LEVEL


@dataclass(frozen=True, slots=True)
class Chances:
    """Class and index; ``class_name`` None: no class."""

    number: str
    class_name: str | None
    class_: TableChance
    index: TableChance


@dataclass(frozen=True, slots=True, eq=False)
class _Outlook:
    """Everybody who matters, their runs to come. ``runs``: run numbers of the slots drawn; ``done``: by number.
    ``next_step``: mean and sd, seconds in 45, of the course's step from my latest run to my next one; None: no such.
    """

    drawn: Drawn
    rates: RunRates
    at: dict[str, int]
    runs: Sequence[int]
    done: dict[str, int]
    usable: dict[str, int]
    level: dict[str, float]
    next_step: tuple[float, float] | None

    def open(self, number: str, score: Score) -> Bools:
        """Which of the slots drawn are this driver's to come."""
        import numpy as np

        first = self.done.get(number, 0)
        return np.array([first < run <= first + score.left for run in self.runs])

    def finish(self, number: str, score: Score, shift: float = 0.0, wider: float = 1.0, cones: float = 1.0,
               next_only: bool = False) -> Floats:  # fmt: skip
        """Final scores by draw; inf: none. ``shift`` in ln units, ``wider`` scatter, ``cones`` as many, for all runs
        to come or the next one only.
        """
        import numpy as np

        draws = self.drawn.pace.shape[1]
        known = math.inf if score.known is None else score.known
        mask = self.open(number, score) if number in self.at else np.zeros(0, dtype=bool)
        if not mask.any():
            return np.full(draws, known)
        at = self.at[number]
        raw, hit, void = (
            self.drawn.raw_ms[at][mask],
            self.drawn.cones[at][mask].astype(float),
            self.drawn.void[at][mask],
        )
        count = 1 if next_only else len(raw)
        raw, hit = raw.copy(), hit.copy()
        if wider != 1.0:
            middle = np.median(np.log(raw), axis=1, keepdims=True)
            raw[:count] = np.exp(middle + wider * (np.log(raw) - middle))[:count]
        raw[:count] *= math.exp(shift)
        hit[:count] = _more(hit[:count], cones)
        totals = np.where(void > 0, np.inf, score.factor * raw + score.cone_ms * hit)
        if score.summed:
            banked = math.inf if score.banked is None else score.banked
            return np.asarray(score.base + banked + totals.sum(0))
        return np.asarray(np.minimum(known, score.base + totals.min(0)))


def _more(cones: Floats, times: float) -> Floats:
    """As many cones as at ``times`` the rate (up to twice): some taken away, or some of another draw's added."""
    import numpy as np

    if times == 1.0:
        return cones
    random = np.random.default_rng(1)
    if times < 1.0:
        return np.asarray(random.binomial(cones.astype(int), times), dtype=float)
    return np.asarray(cones + random.binomial(np.roll(cones, 1, axis=1).astype(int), min(1.0, times - 1.0)))


def _outlook(
    event: Event, number: str, field: ScoreField, season: Sequence[Event], draws: int | None = None
) -> _Outlook | None:
    """None where nobody has a usable time, or no run of the day can be drawn."""
    import numpy as np

    from paddock.engine.field.ahead import DRAWS, draw_ahead, fault_weights, rates_of
    from paddock.engine.field.fit import fit
    from paddock.engine.field.from_event import placed

    times, days = raw_times(event), days_run(event)
    if not times:
        return None
    done: dict[str, int] = {}
    for row in event.times:
        if row.day == field.day and has_run(row):
            done[row.number] = max(done.get(row.number, 0), row.run)
    last = max((run for theirs in times.values() for day, run in theirs if day == field.day), default=0)
    ahead = min(_MOST_AHEAD, field.per_day - last)
    found = placed(event, times, days, number, everybody=True, ahead=ahead)
    frame = found.frame
    if number not in frame.numbers or not any(day == field.day for day, _ in frame.slots):
        return None
    fitted = fit(frame, len(found.groups), len(found.kinds))
    usable = {n: int((~np.isnan(row)).sum()) for n, row in zip(frame.numbers, frame.y, strict=True)}
    near = _near(fitted.frame.numbers, frame.base, field, number)
    rates = rates_of(event, fault_weights(season))
    step = _next_step(fitted, number, (field.day, done.get(number, 0)))
    first = next(at for at, slot in enumerate(frame.slots) if slot[0] == field.day)
    while first < len(frame.slots) - 1 and all(done.get(n, 0) >= frame.slots[first][1] for n in near):
        first += 1
    alike = {entrant.number: entrant.class_ for entrant in event.entrants}
    drawn = draw_ahead(fitted, near, first, rates, alike, draws or DRAWS)
    return _Outlook(
        drawn, rates, {n: at for at, n in enumerate(near)}, [run for _, run in frame.slots[first:]], done, usable,
        {n: math.exp(float(value) / SCALE) for n, value in zip(frame.numbers, frame.base, strict=True)}, step,
    )  # fmt: skip


def _next_step(fitted: Fitted, number: str, now: tuple[int, int]) -> tuple[float, float] | None:
    """Of the course, for the group of ``number``, from the slot ``now`` to the next run."""
    import numpy as np

    frame = fitted.frame
    slots = {slot: at for at, slot in enumerate(frame.slots)}
    later = (now[0], now[1] + 1)
    if now not in slots or later not in slots:
        return None
    row: Floats = np.zeros(fitted.layout.size)
    first = int(frame.group[frame.numbers.index(number)][slots[now]]) * len(frame.slots)
    row[first + slots[later]], row[first + slots[now]] = 1.0, -1.0
    return float(row @ fitted.mean), math.sqrt(max(float(row @ fitted.cov @ row), 0.0))


def _near(numbers: Sequence[str], base: Floats, field: ScoreField, me: str) -> list[str]:
    """Whose runs to come are drawn: mine, and in each table those who may end best."""
    level = {n: math.exp(float(value) / SCALE) for n, value in zip(numbers, base, strict=True)}
    kept = {me}
    for table in (field.class_table, field.index_table):
        if table is not None and me in table.scores:
            kept |= {n for n in _best(table, level, me) if n in level}
    return sorted(kept)


def _best(table: ScoreTable, level: Mapping[str, float], me: str) -> list[str]:
    """Rivals by what they may end with: the score so far, or a run a little under their middling one."""

    def may(number: str, score: Score) -> float:
        known = math.inf if score.known is None else score.known
        if not score.left or number not in level:
            return known
        run = score.factor * level[number] * _QUICK
        if score.summed:
            return known + score.left * run
        return min(known, score.base + run)

    ranked = sorted((may(n, score), n) for n, score in table.scores.items() if n != me)
    return [n for _, n in ranked[:_RIVALS]]


def _lead(me: Floats, others: Sequence[Floats]) -> Bools:
    import numpy as np

    if not len(others):
        return np.isfinite(me)
    best = np.minimum.reduce(list(others))
    return np.asarray(np.isfinite(me) & (me <= best))


def _p_range(leads: Bools, pace: Floats) -> tuple[float, float]:
    """The chance in the quick and in the slow fifth of what my pace may be: about its 10 and 90 % points."""
    import numpy as np

    order = np.argsort(pace, kind="stable")
    fifth = len(order) // 5
    ends = sorted((float(leads[order[:fifth]].mean()), float(leads[order[-fifth:]].mean())))
    return ends[0], ends[1]


def _luck(table: ScoreTable, outlook: _Outlook, number: str) -> LuckPace | None:
    """Against the best other score so far."""
    me = table.scores[number]
    others = [
        (score.known, other) for other, score in table.scores.items() if score.known is not None and other != number
    ]
    best = min(others, default=None)
    if me.known is None or best is None or me.summed or best[1] not in outlook.at:
        return None
    if min(outlook.usable[number], outlook.usable[best[1]]) < LEAST_PACED:
        return None
    times = {n: math.exp(float(outlook.drawn.pace[outlook.at[n]].mean())) for n in (number, best[1])}
    pace = (me.factor * times[number] - table.scores[best[1]].factor * times[best[1]]) * table.days
    gap = round(me.known - best[0])
    return LuckPace(best[1], gap, pace)


def _none(why: WhyNoChance) -> TableChance:
    return TableChance(None, None, None, why)


def _table_chance(
    field: ScoreField, table: ScoreTable | None, outlook: _Outlook | None, number: str, name: str, trade: Trade,
    wide: float = 1.0,
) -> TableChance:  # fmt: skip
    if table is None or outlook is None:
        return _none("no class" if name == "class" else "nobody ran")
    if number not in table.scores:
        return _none("no score")
    me = table.scores[number]
    rivals_entered = set(table.entered) - {number}
    if rivals_entered and not rivals_entered & set(outlook.usable):
        return _none("no rival")
    if me.left > 0 and outlook.usable[number] < LEAST_PACED:
        return _none("few runs")
    rivals = {other: outlook.finish(other, table.scores[other]) for other in _best(table, outlook.level, number)}
    others = list(rivals.values())
    mine = outlook.finish(number, me, wider=wide)
    leads = _lead(mine, others)
    moving = me.left > 0
    drawn = outlook.drawn

    def if_(shift: float = 0.0, wider: float = 1.0, cones: float = 1.0, next_only: bool = False) -> float:
        return float(_lead(outlook.finish(number, me, shift, wide * wider, cones, next_only), others).mean())

    scatter = float(drawn.scatter[outlook.at[number]]) if moving else 0.0
    banked = pushed = float(leads.mean())
    if moving and trade.clear:
        banked = if_(0.5 * scatter, 1.0, trade.slower, True)
        pushed = if_(-0.5 * scatter, 1.0, 1.0 / trade.slower, True)
    ahead = [RivalChance(n, float((end < mine)[_scored(mine)].mean())) for n, end in rivals.items()]
    ahead = [item for item in sorted(ahead, key=lambda item: (-item.p_ahead, item.number)) if item.p_ahead > 0.001]
    step = 100.0 / math.exp(float(drawn.pace[outlook.at[number]].mean())) if moving else 0.0
    cases = (
        ("quicker", if_(-step)), ("slower", if_(step)), ("wider", if_(wider=1.5)), ("cones", if_(cones=2.0)),
    ) if moving else ()  # fmt: skip
    return TableChance(
        float(leads.mean()), banked, pushed, None, _rests(field, table, outlook, number, me, trade, wide),
        _p_range(leads, drawn.pace[outlook.at[number]]) if moving else (float(leads.mean()),) * 2,
        trade.clear, me.left,
        tuple(ahead[:_SHOWN]), tuple(Sensitivity(what, p) for what, p in cases), _luck(table, outlook, number),
    )  # fmt: skip


def _scored(values: Floats) -> Bools:
    """Draws in which I end with a score; all where there is none."""
    import numpy as np

    found = np.isfinite(values)
    return found if found.any() else np.ones_like(found)


def _rests(
    field: ScoreField, table: ScoreTable, outlook: _Outlook, number: str, me: Score, trade: Trade, wide: float
) -> Rests:
    moving = me.left > 0
    pace = None
    if moving:
        at = outlook.at[number]
        time = math.exp(float(outlook.drawn.pace[at].mean())) / 1000
        pace = MyPace(
            time, float(outlook.drawn.scatter[at]) * time * wide, outlook.rates.cone_rate(number),
            outlook.rates.void_rate(number), outlook.usable[number], wide,
        )  # fmt: skip
    unseen = tuple(n for n in table.entered if n not in outlook.usable)
    return Rests(field.day, me.left, field.per_day, pace, trade if moving else None, unseen)


@dataclass(frozen=True, slots=True)
class Expected:
    """What is expected of me next: ``chances``; ``next_ms``: low, middle and high of my next run's raw time (80 %);
    ``course_s``: mean and sd of the course's step to it, seconds in 45. None: can't be said.
    """

    chances: Chances
    next_ms: tuple[float, float, float] | None
    course_s: tuple[float, float] | None


def expected(event: Event, number: str, runs_left: int | None = None, draws: int | None = None) -> Expected:
    """``chances`` and what they rest on, from one fit. ``draws`` None: as many as always."""
    import numpy as np

    field = score_field(event, number, runs_left)
    outlook = _outlook(event, number, field, (), draws)
    found = _chances(event, number, field, outlook, ())
    score = next((t.scores[number] for t in (field.index_table, field.class_table) if t and number in t.scores), None)
    next_ms = None
    if outlook is not None and score is not None and outlook.open(number, score).any():
        raw = outlook.drawn.raw_ms[outlook.at[number]][outlook.open(number, score)][0]
        low, middle, high = np.quantile(raw, (0.1, 0.5, 0.9))
        next_ms = (float(low), float(middle), float(high))
    return Expected(found, next_ms, outlook.next_step if outlook is not None else None)


def chances(
    event: Event, number: str, runs_left: int | None = None, season: Sequence[Event] = (), wider: float = 1.0
) -> Chances:  # fmt: skip
    """Chances of an entrant; ``runs_left`` None: as the event says. ``season``: other events, for my record of cones
    and how much a driver's own faults weigh; ``wider``: my runs scatter so many times as much as they show, for so
    my record of earlier ranges says.

    UsageError for an unknown number.
    """
    me = event.entrant(number)
    if me is None:
        raise UsageError(f"no entrant {number!r}")
    if runs_left is not None and runs_left < 0:
        raise UsageError("runs left: 0 or more")
    field = score_field(event, number, runs_left)
    return _chances(event, number, field, _outlook(event, number, field, season), season, wider)


def _chances(
    event: Event, number: str, field: ScoreField, outlook: _Outlook | None, season: Sequence[Event], wider: float = 1.0
) -> Chances:
    trade, me = trade_of([event, *season], number), event.entrant(number)
    return Chances(
        number, me.class_ if me else None,
        _table_chance(field, field.class_table, outlook, number, "class", trade, wider),
        _table_chance(field, field.index_table, outlook, number, "index", trade, wider),
    )  # fmt: skip
