"""The ordered rules. Each looks at a situation and gives a proposal, or says why it is passed over.

Directions marked "common practice" have no source: pressure against grip is a hill, and the roll-over mark says on
which side of it a tyre stands.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from paddock.engine.pressure.answer import Proposal, Tested
from paddock.engine.pressure.cautions import limits, stop
from paddock.engine.pressure.corners import AXLES, Reason, because
from paddock.engine.pressure.readings import CarLog
from paddock.engine.pressure.returns import (
    cold_plan_rule,
    damp,
    fading,
    heat_drift,
    no_plan,
    plan_cautions,
    plan_reason,
    standing_water,
)
from paddock.engine.pressure.signs import Learned, Sign, SurfaceNow, supporting
from paddock.engine.pressure.situation import Situation
from paddock.engine.scoring import plain
from paddock.engine.scoring.gap import Gap, gap
from paddock.engine.scoring.tables import days_run, has_run
from paddock.model.event import Event
from paddock.model.rows import CORNERS, RunRow, SetupChange

if TYPE_CHECKING:
    from paddock.engine.field.response import QuickerWay

# the hold gate: what stops a *new* setting. It never stops a stop, the limits or a return to a known target


SIGNS_WANTED = 2


def _leads(table: Gap | None) -> bool:
    """First in a table with somebody behind, and one run left."""
    return table is not None and table.rank == 1 and table.runs_left == 1 and table.below is not None


def _one_left(event: Event, number: str) -> bool:
    """Whether one run is left, by the run numbers alone: spares the standings where it is not."""
    limits = [value for value in (event.settings.runs_per_day, event.settings.rules.first_runs) if value is not None]
    day = max(days_run(event), default=1)
    last = max((row.run for row in event.times_of(number) if row.day == day and has_run(row)), default=0)
    return bool(limits) and min(limits) - last == 1


def leads_with_one_left(event: Event, number: str) -> bool:
    """Whether the number leads its class or the index table with one run left on the latest day."""
    if event.entrant(number) is None or not _one_left(event, number):
        return False
    answer = gap(event, number, plain.standings(event))
    return _leads(answer.class_) or _leads(answer.index)


def _runs_since(log: CarLog, change: SetupChange) -> int:
    if change.day is None:
        return 0
    first = (change.day, change.run or 0)
    return sum(1 for run in log.run_rows() if (run.day, run.run) >= first)


def open_change(event: Event, number: str, log: CarLog) -> SetupChange | None:
    """A change to this car that is undecided, not taken back, and not yet run twice. Corrections are not tests."""
    numbers = event.numbers_of_car(number)
    undone = {row.undoes for row in event.of(SetupChange) if row.undoes}
    for row in event.of(SetupChange):
        mine = row.number is None or row.number in numbers
        closed = row.decision is not None or row.undoes is not None or row.id in undone or row.kind == "correction"
        if mine and not closed and _runs_since(log, row) < 2:
            return row
    return None


def standing_gates(
    event: Event, number: str, log: CarLog, mine: RunRow | None, surface: SurfaceNow, leads: bool | None
) -> tuple[Reason, ...]:
    """The gates that hold whatever the proposal is."""
    return tuple(_standing(event, number, log, mine, surface, leads))


def _standing(
    event: Event, number: str, log: CarLog, mine: RunRow | None, surface: SurfaceNow, leads: bool | None
) -> Iterator[Reason]:
    if mine is not None and mine.mistake:
        yield because("mistake")
    change = open_change(event, number, log)
    if change is not None:
        yield because("open-change", what=change.item or change.setting or change.id)
    if surface.changing:
        yield because("surface-changes")
    if leads if leads is not None else leads_with_one_left(event, number):
        yield because("you-lead")


def move_gates(signs: Sequence[Sign], move_psi: float, min_psi: float) -> tuple[Reason, ...]:
    """The gates that hang on the proposal: signs that agree, and the size of its step."""
    found = []
    if len(signs) < SIGNS_WANTED:
        found.append(because("too-few-signs", sign=signs[0] if signs else None))
    if abs(move_psi) < min_psi - 1e-9:
        found.append(because("step-too-small", psi=abs(move_psi), least_psi=min_psi))
    return tuple(found)


def first_run(s: Situation) -> Tested:
    """A cold or damp first run: the rear under the plan, only where it is known to be over its best."""
    if not s.rested:
        return because("not-a-first-run")
    cold = s.outside.air_c < s.thresholds.cold_air_c
    damp = s.surface.word in {"damp", "wet", "standing"}
    if not cold and not damp:
        return because("neither-cold-nor-damp")
    learned = s.learned.get("rear")
    timed = timed_way(s, "rear", s.target.rear_psi if s.target else None)
    if not s.axles["rear"].over and (learned is None or learned.slope <= 0) and (timed is None or timed.up):
        return because("rear-not-over")
    size = s.thresholds.max_step_psi if cold and damp else s.thresholds.step_psi
    signs = supporting(s.signs, "rear", up=False, side=1)
    stops = new_setting_stops(s, signs, size)
    if stops:
        return because("held", stops=stops)
    plan = {corner: psi for corner in CORNERS if (psi := s.plan.cold_of(corner)) is not None}
    if not any(corner in plan for corner in AXLES["rear"]):
        return s.plan.rear.why or no_plan(s)
    wanted = {}
    for corner, psi in plan.items():
        rear = corner in AXLES["rear"]
        wanted[corner] = s.bound[corner].lowered(psi - size, psi, new=True) if rear else psi
    least = max(wanted[corner] - plan[corner] for corner in AXLES["rear"] if corner in wanted)
    if abs(least) < s.min_psi - 1e-9:
        return because("limits-leave-nothing")
    wanted |= {corner: plan[corner] + least for corner in AXLES["rear"] if corner in wanted}
    shown = learned if learned and learned.slope > 0 else None
    reason = because(
        "first-run", cold=cold, damp=damp, shown=timed if timed is not None and not timed.up else shown,
        psi=abs(least), plan=plan_reason(s),
    )  # fmt: skip
    after = because("rear-up-after", psi=abs(least))
    return Proposal("plan", reason, wanted, signs, least, (after, *plan_cautions(s)))


def opposed(s: Situation) -> Tested:
    """Phases of opposite sign, one of them clear: no pressure answer."""
    tight = {name: value for name, value in s.balance.items() if value <= -1}
    loose = {name: value for name, value in s.balance.items() if value >= 1}
    if not tight or not loose:
        return because("not-opposite" if s.balance else "no-balance")
    if max(map(abs, (*tight.values(), *loose.values()))) < 2:
        return because("opposite-faint")
    if s.log is not None and s.log.mistake:
        return because("mistake-proves-nothing")
    return Proposal("none", because("opposite-phases", understeer=tuple(tight), oversteer=tuple(loose)), {})


def only_on_power(s: Situation) -> Tested:
    """The exit alone at 2 or more: throttle or shift plan first."""
    fault = s.balance.get("exit", 0)
    others = [value for name, value in s.balance.items() if name != "exit"]
    if abs(fault) < 2 or any(abs(value) >= 2 for value in others):
        return because("not-the-exit-alone" if s.balance else "no-balance")
    if s.log is not None and s.log.mistake:
        return because("mistake-proves-nothing")
    return Proposal("none", because("exit-alone", side="understeer" if fault < 0 else "oversteer"), {})


def new_setting_stops(s: Situation, signs: tuple[Sign, ...], step_psi: float) -> tuple[Reason, ...]:
    """The hold gate: why a new setting is not made now; empty: it may be."""
    held_by = standing_gates(s.event, s.number, s.car_log, s.log, s.surface, s.leads)
    return (*move_gates(signs, step_psi, s.min_psi), *held_by)


def change_seen(s: Situation, axle: str) -> float:
    """By how much an axle was set since the last run, psi; infinite where there is nothing to compare with."""
    steps, runs, moved = s.heat.track.steps, len(s.car_log.runs), 0.0
    for one, two in zip((None, *steps), steps, strict=False):
        if not runs or two.reading.moment != "set" or two.reading.timed.runs_before != runs:
            continue
        same = one is not None and (one.reading.timed.day, one.reading.timed.runs_before) == (
            two.reading.timed.day,
            runs,
        )
        for corner in AXLES[axle]:
            before, after = one.corners[corner].psi if one and same else None, two.corners[corner].psi
            by = abs(after - before) if before is not None and after is not None else math.inf
            moved = max(moved, by if two.corners[corner].read else 0.0)
    return moved


def _move(
    s: Situation, axle: str, psi: float, reason: Reason, signs: tuple[Sign, ...], cautions: tuple[Reason, ...] = ()
) -> Tested:
    """A new setting of one axle; none where it was set since the run the signs are from."""
    if change_seen(s, axle) >= s.min_psi:
        return because("set-since", axle=axle)
    wanted = {corner: now + psi for corner in AXLES[axle] if (now := s.now[corner]) is not None}
    if not wanted:
        return because("axle-not-read", axle=axle)
    return Proposal("new", reason, wanted, signs, psi, cautions)


def _size(s: Situation, signs: tuple[Sign, ...]) -> float:
    """The usual step; the most allowed where three signs agree."""
    return s.thresholds.max_step_psi if len(signs) >= 3 else s.thresholds.step_psi


def timed_way(s: Situation, axle: str, psi: float | None) -> QuickerWay | None:
    """Which way my own times say is quicker from ``psi`` hot, this event and the earlier ones; None: nothing clear."""
    from paddock.engine.field.response import quicker_way

    return quicker_way((*s.past, s.event), s.number, axle, psi)


def _directed(s: Situation, axle: str, up: bool, side: int, seen: str, wide: bool = False) -> Tested:
    """Move an axle by the default direction, by the learned one where there is one, by my own times where they tell.

    ``side``: -1 against understeer, +1 against oversteer; ``seen``: name of what was seen.
    """
    learned, timed = s.learned.get(axle), timed_way(s, axle, s.now.axle(axle))
    shown: Learned | QuickerWay | None = None
    if learned is not None:
        up, shown = (learned.slope > 0) == (side < 0), learned
    if timed is not None:
        up, shown = timed.up, timed
    signs = supporting(s.signs, axle, up, side)
    size = _size(s, signs) if wide and up else s.thresholds.step_psi
    reason = because("directed", seen=seen, axle=axle, up=up, psi=size, shown=shown)
    return _move(s, axle, size if up else -size, reason, signs)


def front_past(s: Situation) -> Tested:
    if not s.axles["front"].under or not s.understeer:
        return because("no-front-past")
    return _directed(s, "front", True, -1, "front-past", wide=True)


def front_short(s: Situation) -> Tested:
    if not s.axles["front"].over or not s.understeer:
        return because("no-front-short")
    return _directed(s, "front", False, -1, "front-short")


def front_right(s: Situation) -> Tested:
    """leave the front; the other axle where its direction is learned or known, else hold."""
    if s.axles["front"].mark != "on" or s.balance.get("mid", 0) > -2:
        return because("no-front-right")
    learned, rear = s.learned.get("rear"), s.axles["rear"]
    if s.oversteers:
        return because("oversteers-too")
    if learned is None and not rear.over:
        return Proposal("none", because("front-right-rear-unknown"), {})
    up = learned.slope > 0 if learned else True
    signs = supporting(s.signs, "rear", not up, -1, marks=("front on",))
    size = s.thresholds.step_psi if up else -s.thresholds.step_psi
    reason = because("front-right", up=up, psi=abs(size), shown=learned)
    return _move(s, "rear", size, reason, signs)


def rear_past(s: Situation) -> Tested:
    if not s.axles["rear"].under or not s.oversteer:
        return because("no-rear-past")
    return _directed(s, "rear", True, 1, "rear-past")


def rear_short(s: Situation) -> Tested:
    if not s.axles["rear"].over or not s.oversteer:
        return because("no-rear-short")
    return _directed(s, "rear", False, 1, "rear-short")


def unread_signs(s: Situation) -> Reason | None:
    """Why no rule that rests on the last run's signs can answer; None: they can."""
    last = s.last
    if last is None:
        return because("no-run")
    if last.implied is not None or (last.log is None and last.time is None):
        return because("waits-for-the-line", run=last.run)
    if last.number != s.number:
        return because("not-my-run", number=last.number)
    return None


@dataclass(frozen=True, slots=True)
class Rule:
    """``name`` (its words stand in ``paddock.pages.reasons``); ``test`` gives a proposal, or why it is passed over.

    ``signs``: it rests on what the last run showed.
    """

    name: str
    test: Callable[[Situation], Tested]
    signs: bool = False


RULES: tuple[Rule, ...] = (
    Rule("unsafe", stop),
    Rule("limits", limits),
    Rule("first-run", first_run),
    Rule("cold-plan", cold_plan_rule),
    Rule("standing-water", standing_water),
    Rule("heat-drift", heat_drift),
    Rule("damp", damp),
    Rule("opposite-phases", opposed, signs=True),
    Rule("exit-alone", only_on_power, signs=True),
    Rule("front-past", front_past, signs=True),
    Rule("front-short", front_short, signs=True),
    Rule("front-right", front_right, signs=True),
    Rule("rear-past", rear_past, signs=True),
    Rule("rear-short", rear_short, signs=True),
    Rule("fading", fading, signs=True),
)
"""In the order they are tried; the place is the number. After the last of them: hold."""
