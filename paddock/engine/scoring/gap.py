"""What to find: the slowest clean run that would put an entrant strictly ahead, and how far that is.

Worked on one table at a time; exact under truncation and half-up (design: section Scoring).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import cast

from paddock.engine.scoring.plain import ScoredRun, factor_of_entrant, scored_runs
from paddock.engine.scoring.tables import (
    INDEX,
    Basis,
    Factor,
    Standing,
    Standings,
    StandingsTable,
    day_score,
    days_run,
    may_count,
    slowest_raw_ms,
)
from paddock.model.event import Event
from paddock.model.kept import KeptRows
from paddock.model.rows import EntrantRow, TimeRow
from paddock.model.settings import Rules


@dataclass(frozen=True, slots=True)
class WaitingRival:
    """A rival who has not run today. ``lead_ms`` over the earlier days; None: I have no score there."""

    number: str
    lead_ms: int | None


@dataclass(frozen=True, slots=True)
class Freshness:
    """How fresh a table is on the day: entrants with a run entered, of how many, through which run.

    ``missing``: the rivals without one; ``carried``: how many of the event before are not seen here yet;
    ``without_class``: where nobody but me is in it, how many drive that day and have no class.
    """

    entrants: int
    of: int
    through_run: int | None
    newest: str | None
    missing: tuple[str, ...] = field(default=(), compare=False)
    carried: int = field(default=0, compare=False)
    without_class: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class Still:
    """A rival behind me who has runs left on the day. ``behind_ms`` None: without a score yet."""

    number: str
    runs: int
    behind_ms: int | None


@dataclass(frozen=True, slots=True)
class Gap:
    """The answer for one table; milliseconds, None = none. ``why`` says why something is None.

    ``still``: once I have no run left, the rivals behind me who have, the nearest first.
    """

    table: str
    scored_by: Basis
    rank: int | None
    score_ms: int | None
    leader_number: str | None
    leader_score_ms: int | None
    gap_ms: int | None
    need_raw_ms: int | None
    find_raw_ms: int | None
    drive_ms: int | None
    penalty_ms: int | None
    average_need_raw_ms: int | None
    why: str | None
    waiting: tuple[WaitingRival, ...]
    seen: Freshness
    runs_left: int | None
    above: Standing | None
    below: Standing | None
    still: tuple[Still, ...] = ()


@dataclass(frozen=True, slots=True)
class GapAnswer:
    """``class_`` None: the entrant's class isn't in the event. ``day``: the day a run would be added to."""

    number: str
    day: int | None
    class_: Gap | None
    index: Gap


@dataclass(frozen=True, slots=True)
class _Mine:
    """My side of one table on day D."""

    rules: Rules
    basis: Basis
    factor: Factor | None
    day: int
    runs: tuple[ScoredRun, ...]
    limit: int | None

    def on_day(self) -> list[ScoredRun]:
        """My recorded runs of the day that may count."""
        return [
            item for item in self.runs if item.ran and item.row.day == self.day and may_count(item.row.run, self.rules)
        ]

    def valid(self) -> list[ScoredRun]:
        """Those with a time."""
        return [item for item in self.on_day() if item.score(self.basis) is not None]

    def left(self) -> int | None:
        """Runs left on the day; None: not known."""
        if self.limit is None:
            return None
        last = max((item.row.run for item in self.runs if item.ran and item.row.day == self.day), default=0)
        return max(0, self.limit - last)


def _limit(event: Event, day: int) -> int | None:
    rules, whole = event.settings.rules, event.settings.runs_on(day)
    limits = [value for value in (whole, rules.first_runs) if value is not None]
    return min(limits, default=None)


def _total(scores: Iterable[int | None]) -> int:
    return sum(score for score in scores if score is not None)


def _day_score(mine: _Mine, day: int) -> int | None:
    """My score of another day; None: void or not run."""
    runs = _Mine(mine.rules, mine.basis, mine.factor, day, mine.runs, mine.limit)
    return day_score([item.score(mine.basis) for item in runs.on_day()], mine.rules)


def _other_days(mine: _Mine, days: Sequence[int]) -> tuple[int, str | None]:
    """What my other days add to the total, and why that can't be told."""
    if mine.rules.days != "sum":
        return 0, None
    scores = {day: _day_score(mine, day) for day in days if day != mine.day}
    missing = [day for day, score in scores.items() if score is None]
    if missing:
        return 0, f"day {missing[0]} gives no score, so the total has none"
    return _total(scores.values()), None


def _raw_equivalent(run: ScoredRun, mine: _Mine) -> int:
    """The run's total in raw terms: penalties after the index are divided by it, half-up."""
    raw = cast("int", run.row.time_ms)
    added = cast("int", run.total_ms) - raw
    if mine.basis == "index" and mine.rules.index_on == "raw" and mine.factor is not None:
        num, den = mine.factor.num, mine.factor.den
        added = (2 * added * den + num) // (2 * num)
    return raw + added


@dataclass(frozen=True, slots=True)
class _Find:
    need: int | None = None
    find: int | None = None
    drive: int | None = None
    average: int | None = None
    why: str | None = None


def _split(mine: _Mine, need: int) -> _Find:
    valid = mine.valid()
    if not valid:
        return _Find(need, why=f"no run of yours counts on day {mine.day} yet")
    counted = min(valid, key=lambda item: cast("int", item.score(mine.basis)))
    best_raw = min(cast("int", item.row.time_ms) for item in valid)
    return _Find(need, _raw_equivalent(counted, mine) - need, best_raw - need)


def _no_time(below: int) -> str:
    return "your other days are already behind: no time can do it" if below <= 0 else "no time can do it"


def _best(mine: _Mine, other: Standing, days: Sequence[int]) -> _Find:
    carried, why = _other_days(mine, days)
    if why is not None:
        return _Find(why=why)
    below = cast("int", other.score_ms) - carried
    need = slowest_raw_ms(below, mine.factor, mine.rules)
    return _Find(why=_no_time(below)) if need is None else _split(mine, need)


def _summed(mine: _Mine, other: Standing, days: Sequence[int]) -> _Find:
    """All runs are added: the average over the runs that bring me level with the rival's count."""
    if len(mine.valid()) < len(mine.on_day()):
        return _Find(why=f"a run of day {mine.day} is void, and so is the day")
    carried, why = _other_days(mine, days)
    if why is not None:
        return _Find(why=why)
    have = [item for item in mine.runs if item.ran and item.row.day in days]
    missing = other.runs_counted - len(have)
    if missing <= 0:
        return _Find(why=f"{other.number} has not run more often than you yet")
    left = mine.left()
    if left is not None and missing > left:
        return _Find(why=f"{other.number} has {missing} runs more and you have {left} left")
    below = cast("int", other.score_ms) - carried - _total(item.score(mine.basis) for item in mine.on_day())
    average = slowest_raw_ms((below - 1) // missing + 1, mine.factor, mine.rules) if below > 0 else None
    if average is None:
        return _Find(why=_no_time(below))
    return _Find(need=average if missing == 1 else None, average=average)


def _find(mine: _Mine, other: Standing | None, days: Sequence[int]) -> _Find:
    if mine.basis == "index" and mine.factor is None:
        return _Find(why="no index is known for you (the event's page, or event.toml)")
    if other is None:
        return _Find(why="nobody else has a score yet")
    if mine.day not in days:
        return _Find(why=f"nobody has run on day {mine.day} yet")
    if mine.left() == 0:
        return _Find(why=f"no run is left on day {mine.day}")
    return (_summed if mine.rules.summed else _best)(mine, other, days)


def _waiting(
    event: Event, table: StandingsTable, mine: _Mine, days: Sequence[int], number: str
) -> tuple[WaitingRival, ...]:
    """Rivals ahead overnight who have not run on the latest day."""
    earlier = days[:-1]
    rivals = [row.number for row in table.rows if row.waiting and row.number != number]
    if not rivals or not earlier:
        return ()
    runs = scored_runs(event, rivals)
    my_scores = [_day_score(mine, day) for day in earlier]
    if None in my_scores:
        return tuple(WaitingRival(rival, None) for rival in rivals)
    leads = {}
    for rival in rivals:
        theirs = _Mine(mine.rules, mine.basis, None, days[-1], tuple(runs.get(rival, ())), mine.limit)
        leads[rival] = _total(my_scores) - _total(_day_score(theirs, day) for day in earlier)
    ahead = sorted(((rival, lead) for rival, lead in leads.items() if lead > 0), key=lambda item: -item[1])
    return tuple(WaitingRival(rival, lead) for rival, lead in ahead)


_Latest = Mapping[str, tuple[int, str]]
"""By number: the last run of a day and its newest clock time."""


def _latest(event: Event, day: int) -> _Latest:
    found = ((number, own.once(_latest_of, day)) for number, own in event.times.by_number.items())
    return {number: latest for number, latest in found if latest is not None}


def _latest_of(rows: KeptRows[TimeRow], day: int) -> tuple[int, str] | None:
    today = [row for row in rows if row.day == day and row.status not in {"rerun", "practice"}]
    return (max(row.run for row in today), max(row.at or "" for row in today)) if today else None


def _with_status(entrants: KeptRows[EntrantRow]) -> frozenset[str]:
    return frozenset(item.number for item in entrants if item.status is not None)


def _carried(entrants: KeptRows[EntrantRow]) -> frozenset[str]:
    return frozenset(item.number for item in entrants if item.status == "carried")


def _without_class(entrants: KeptRows[EntrantRow]) -> frozenset[str]:
    return frozenset(item.number for item in entrants if not item.class_)


def contenders(event: Event, table: StandingsTable) -> frozenset[str]:
    """Who a place in the table is counted among: everybody ranked, and who may still be."""
    out = event.entrants.once(_with_status)
    return frozenset(row.number for row in table.rows if row.rank is not None or row.number not in out)


def _seen(event: Event, table: StandingsTable, latest: _Latest, me: str) -> Freshness:
    """How fresh the rivals' times are; my own runs count among the entered and for nothing else."""
    members = contenders(event, table)
    inside = members & latest.keys()
    rivals = [latest[number] for number in inside if number != me]
    through = min((run for run, _ in rivals), default=None)
    absent = members - inside - {me}
    missing = tuple(row.number for row in table.rows if row.number in absent) if absent else ()
    known = event.entrants.once(_carried)
    carried = sum(row.number in known and row.number not in members for row in table.rows) if known else 0
    newest = max((at for _, at in rivals), default="") or None
    homeless = len((event.entrants.once(_without_class) & latest.keys()) - {me}) if len(members) < 2 else 0
    return Freshness(len(inside), len(members), through, newest, missing, carried, homeless)


def _still(
    event: Event, table: StandingsTable, mine: _Mine, row: Standing | None, latest: _Latest
) -> tuple[Still, ...]:
    """Rivals behind me with runs left, once I have none."""
    if mine.left() != 0 or mine.limit is None or row is None or row.score_ms is None:
        return ()
    out = event.entrants.once(_with_status)
    found = []
    for item in table.rows:
        left = mine.limit - latest.get(item.number, (0, ""))[0]
        behind = None if item.score_ms is None else item.score_ms - row.score_ms
        if item.number != row.number and item.number not in out and left > 0 and (behind is None or behind >= 0):
            found.append(Still(item.number, left, behind))
    return tuple(sorted(found, key=lambda item: (item.behind_ms is None, item.behind_ms or 0)))


def _neighbours(table: StandingsTable, row: Standing | None) -> tuple[Standing | None, Standing | None]:
    if row is None or row.rank is None:
        return None, None
    place = table.rows.index(row)
    below = next(iter(table.rows[place + 1 : place + 2]), None)
    return (table.rows[place - 1] if place else None), (below if below and below.rank is not None else None)


def _gap_ms(row: Standing | None, leader: Standing | None, rules: Rules) -> int | None:
    if row is None or leader is None or row.score_ms is None or leader.score_ms is None:
        return None
    if rules.summed and row.runs_counted != leader.runs_counted:
        return None
    return row.score_ms - leader.score_ms


def _gap(event: Event, table: StandingsTable, mine: _Mine, days: Sequence[int], number: str, latest: _Latest) -> Gap:
    row, leader = table.of(number), table.leader
    practice = event.settings.is_practice(mine.day)
    found = (
        _Find(why=f"day {mine.day} is practice: nothing counts")
        if practice
        else _find(mine, table.best_other(number), days)
    )
    penalty = None if found.find is None or found.drive is None else found.find - found.drive
    above, below = _neighbours(table, row)
    return Gap(
        table=table.name,
        scored_by=table.scored_by,
        rank=row.rank if row else None,
        score_ms=row.score_ms if row else None,
        leader_number=leader.number if leader else None,
        leader_score_ms=leader.score_ms if leader else None,
        gap_ms=_gap_ms(row, leader, event.settings.rules),
        need_raw_ms=found.need,
        find_raw_ms=found.find,
        drive_ms=found.drive,
        penalty_ms=penalty,
        average_need_raw_ms=found.average,
        why=found.why,
        waiting=() if practice else _waiting(event, table, mine, days, number),
        seen=Freshness(0, 0, None, None) if practice else _seen(event, table, latest, number),
        runs_left=None if practice else mine.left(),
        above=above,
        below=below,
        still=_still(event, table, mine, row, latest),
    )


def gap(event: Event, number: str, found: Standings, day: int | None = None) -> GapAnswer:
    """What ``number`` must find in class and on index with one more run on ``day`` (default: the latest run).

    ``found``: the standings in total, or of that day where days are scored apart. Raises KeyError for
    a number that isn't entered.
    """
    entrant = event.entrant(number)
    if entrant is None:
        raise KeyError(number)
    days = found.days
    on = day or (max(days_run(event), default=1))
    runs = tuple(scored_runs(event, [number]).get(number, ()))
    factor = factor_of_entrant(entrant, event.settings)
    latest = _latest(event, on)
    answers: dict[str, Gap] = {}
    for name in {entrant.class_ or "", INDEX}:
        table = found.table(name)
        if table is not None:
            used = factor if table.scored_by == "index" else None
            mine = _Mine(event.settings.rules, table.scored_by, used, on, runs, _limit(event, on))
            answers[name] = _gap(event, table, mine, days, number, latest)
    return GapAnswer(number, on, answers.get(entrant.class_ or ""), answers[INDEX])
