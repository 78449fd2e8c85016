"""The one truth about pressures: what moment it is, and what it asks for.

``moment_of`` looks at the event and the clock and gives one value. Whoever shows a pressure, a target, an expected
reading or a setting shows this value. The moments stand in ``MOMENTS`` in order, the first that fits answers.
``what_if`` asks the same for another air, wait or place.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from paddock.engine.clock import AsOf
from paddock.engine.pressure.air import ZERO_C, ambient_pa, carry
from paddock.engine.pressure.answer import Action, Moment, Offer, Proposal
from paddock.engine.pressure.cautions import cautions, limits, road, stop, suspect
from paddock.engine.pressure.corners import AXLE_OF, MATE, Corners, Reason, because
from paddock.engine.pressure.decide import Decided, allowed, by_rules, settled
from paddock.engine.pressure.mass import Odd, will_read
from paddock.engine.pressure.outside import Asked
from paddock.engine.pressure.plan import ColdPlan
from paddock.engine.pressure.situation import Situation, situation
from paddock.engine.pressure.timeline import REST_MIN
from paddock.engine.pressure.whose import at_home, for_others, for_the_road
from paddock.model.event import Event
from paddock.model.rows import CORNERS, PressureRow


@dataclass(frozen=True, slots=True)
class MomentKind:
    """A moment: its name, whether it is that one, and what it answers."""

    name: str
    test: Callable[[Situation], bool]
    answer: Callable[[Situation], Decided]


def _unsafe(s: Situation) -> bool:
    return isinstance(stop(s), Proposal)


def _stop(s: Situation) -> Decided:
    found = stop(s)
    reason = found if isinstance(found, Reason) else found.reason
    return Decided("stop", "unsafe", reason, confidence="high")


def _over(s: Situation) -> bool:
    return s.left == 0


def _done(s: Situation) -> Decided:
    reason = because("event-done", **for_the_road(s))
    return Decided("none", "event-done", reason, cautions=road(s), confidence="high", now=False)


def _tomorrow(s: Situation) -> Decided:
    found = _cold_answer(s)
    reason = because("day-done", **for_the_road(s), tomorrow=found.reason)
    passed = tuple(
        replace(item, why=because("tomorrow-unread")) if item.why.name == "nothing-read" else item
        for item in found.passed
    )
    forecast = s.event.settings.forecast
    guessed = forecast.next_coldest_c is None and not s.outside.assumed
    todays = (because("todays-air", air_c=s.outside.air_c),) if guessed else ()
    return replace(
        found, rule="day-done", reason=reason, passed=passed, now=False, cautions=(*road(s), *todays, *found.cautions)
    )


def _unread_since(s: Situation) -> bool:
    """A run with nothing usable read or set since."""
    step, runs = s.step, len(s.car_log.runs)
    return s.runs_today > 0 and (s.unread or step is None or step.reading.timed.runs_before < runs)


def _odd(s: Situation) -> bool:
    return s.step is not None and not _unread_since(s) and (bool(_out_of_line(s)) or isinstance(suspect(s), Proposal))


def _out_of_line(s: Situation) -> dict[str, Odd]:
    """Corners that are not taken as read; a tyre changed or mended since is another matter."""
    return {} if s.step is None else {corner: odd for corner, odd in s.step.odd.items() if corner not in s.fresh}


def _odd_corner(s: Situation) -> Decided:
    found = suspect(s)
    if isinstance(found, Proposal):
        return Decided("stop", "odd-corner", found.reason, confidence="high")
    odd = _out_of_line(s)
    skip = tuple(dict.fromkeys(name for corner in odd for name in (corner, MATE[corner])))
    out, rest = tuple((corner, item.psi) for corner, item in odd.items()), by_rules(s, skip)
    if rest.action not in {"set", "plan"}:
        return Decided("read", "odd-corner", because("odd-corner", corners=out), None, rest.passed, (), "low")
    reason = because("odd-corner", corners=out, other=rest.reason)
    return replace(rest, rule="odd-corner", reason=reason, confidence="low")


def _read_first(s: Situation) -> Decided:
    reason = because("unread") if s.unread else because("ran", run=s.last.run if s.last else None, whose=_whose(s))
    return Decided("read", "ran", reason, confidence="high", now=False)


def _whose(s: Situation) -> str | None:
    """Who drove last, where that was not the one who asks."""
    return s.last.number if s.last is not None and s.last.number != s.number else None


def _hot(s: Situation) -> bool:
    return s.step is not None and not s.rested and s.step.reading.moment != "set"


def _counting(s: Situation) -> Decided:
    """A reading that counts: the rules; a tyre fitted or mended since gets its cold plan."""
    return _with_fresh(s, by_rules(s))


def _with_fresh(s: Situation, found: Decided) -> Decided:
    plan = {corner: psi for corner in s.fresh if (psi := s.plan.cold_of(corner)) is not None}
    if not plan or s.rested or found.action not in {"set", "hold", "none"}:
        return found
    to = Corners.of((found.set or s.now).as_dict() | plan)
    reason = because("another-tyre", corners=tuple(plan), first=found.reason if found.action == "set" else None)
    if found.action == "set":
        return replace(found, set=to, reason=reason)
    return replace(found, action="set", set=to, rule="cold-plan", reason=reason)


def _gauge_first(s: Situation) -> bool:
    return (
        _hot(s)
        and s.last is not None
        and s.last.implied is not None
        and s.step is not None
        and (s.step.reading.moment == "after")
    )


def _stale(s: Situation) -> bool:
    return _hot(s) and s.age_min is not None and s.age_min > REST_MIN


def _read_again(s: Situation) -> Decided:
    return Decided("read", "stale", because("stale", age_min=s.age_min or 0.0), confidence="high")


def _was_set(s: Situation) -> bool:
    return s.step is not None and s.step.reading.moment == "set" and (s.runs_today > 0 or not s.unread)


def _set_rows(s: Situation) -> tuple[set[object], bool]:
    """Keys of the newest settings in a row since the last reading of this stand, and whether there was one."""
    keys: set[object] = set()
    for step in reversed(s.heat.track.steps):
        timed, here = step.reading.timed, s.step.reading.timed if s.step else step.reading.timed
        if (timed.day, timed.runs_before) != (here.day, here.runs_before):
            break
        if step.reading.moment != "set":
            return keys, True
        keys.add(step.reading.row.key)
    return keys, False


def _advised(s: Situation) -> Moment | None:
    """The answer before the newest settings were made, on the same car otherwise."""
    keys, read = _set_rows(s)
    if not read and not s.rested:
        return None
    rows = tuple(row for row in s.event.of(PressureRow) if row.key not in keys)
    event = replace(s.event, tables={**s.event.tables, PressureRow.FILE: rows})
    return _moment(event, s.number, replace(s.clock, time=s.clock.time), s.leads, s.past, s.asked, ageless=True)


def _still_to_set(s: Situation, moment: Moment) -> dict[str, float]:
    """What was advised, in the state in hand, of axles set off it by more than noise and half a step; psi."""
    then, wanted, far = moment.known, dict[str, float](), set[str]()
    for corner, psi in (moment.set or Corners()).known().items():
        now, true = s.now[corner], psi - then.gauge.offset_psi
        if now is None:
            continue
        if not s.rested and s.way[corner].known and then.way[corner].known:
            outside = s.way[corner].outside_psi
            share = (s.way[corner].now_c + ZERO_C) / (then.way[corner].now_c + ZERO_C)
            true = (true + outside) * share - outside
        wanted[corner] = true
        if corner in moment.moves and abs(true - now) > s.min_psi + s.gauge.step_psi / 2 + 1e-9:
            far.add(AXLE_OF[corner])
    return {corner: psi for corner, psi in wanted.items() if AXLE_OF[corner] in far}


def _turned_since(s: Situation) -> Decided | None:
    """The answer for a surface that turned damp or under water after the setting; None: it didn't."""
    set_at = s.step.reading.timed if s.step is not None else None
    if s.rested or set_at is None or (set_at.day, set_at.minute) >= (s.clock.day, s.surface.since_min):
        return None
    found = by_rules(s)
    return found if found.rule in {"standing-water", "damp"} and found.action == "set" else None


def _after_setting(s: Situation) -> Decided:
    found = limits(s)
    if isinstance(found, Proposal):
        inside = settled(s, found)
        if found.kind == "stop":
            return Decided("stop", "limits", found.reason, confidence="high")
        if not isinstance(inside, Reason):
            return Decided("set", "limits", found.reason, Corners.of(inside[0]), confidence="high")
    turned = _turned_since(s)
    if turned is not None:
        return turned
    advised = _advised(s)
    if advised is None or not advised.moves:
        return Decided("none", "set", because("set"), confidence="fair")
    moment = advised
    wanted = _still_to_set(s, moment)
    if not wanted:
        return Decided("none", moment.rule, because("set-as-advised"), passed=moment.passed_over,
                       confidence=moment.confidence)  # fmt: skip
    left = settled(s, Proposal("return", moment.reason, wanted))
    if isinstance(left, Reason):
        return Decided("none", "set", because("set-but", why=left), passed=moment.passed_over)
    action: Action = "plan" if s.rested else "set"
    reason = because("remaining-step", why=moment.reason)
    return Decided(action, moment.rule, reason, Corners.of(left[0]), moment.passed_over, (),
                   moment.confidence)  # fmt: skip


def _cold_answer(s: Situation) -> Decided:
    """The cold plan where nothing counts as read."""
    empty = replace(s, step=None, rested=True, now=Corners())
    found = by_rules(empty)
    if found.action == "stop":
        return found
    to = found.set if found.set is not None else Corners()
    rule = found.rule if found.action == "plan" else "cold-plan"
    if s.unread:
        return replace(found, action="read", set=None, rule=rule, reason=because("unread"), confidence="low", now=False)
    return replace(found, action="plan", set=to, rule=rule, now=False)


def _cold_reading(s: Situation) -> bool:
    return s.step is not None and not s.unread and (s.rested or s.step.reading.moment in {"cold", "before"})


MOMENTS: tuple[MomentKind, ...] = (
    MomentKind("unsafe", _unsafe, _stop),
    MomentKind("event-done", lambda s: _over(s) and not s.more_days, _done),
    MomentKind("day-done", _over, _tomorrow),
    MomentKind("odd-corner", _odd, _odd_corner),
    MomentKind("ran", _unread_since, _read_first),
    MomentKind("gauge-first", lambda s: _gauge_first(s) and not _stale(s), _counting),
    MomentKind("stale", _stale, _read_again),
    MomentKind("set", _was_set, lambda s: _with_fresh(s, _after_setting(s))),
    MomentKind(
        "read",
        lambda s: _hot(s) and s.step is not None and s.step.reading.moment != "before" and s.runs_today > 0,
        _counting,
    ),
    MomentKind("cold-read", _cold_reading, _counting),
    MomentKind("before", lambda _: True, _cold_answer),
)
"""Name, test, answer; the first whose test holds."""


def moment_of(
    event: Event, number: str, clock: AsOf, leads_with_one_left: bool | None = None, past: Sequence[Event] = (),
    asked: Asked | None = None,
) -> Moment:  # fmt: skip
    """What to do to the pressures of the car that ``number`` drives next, as of ``clock``.

    ``leads_with_one_left`` None: worked out from the standings. ``past``: earlier events, for what a first run warms
    the tyres. ``asked``: what if. Never raises for a thin log: what is missing is among the cautions.
    """
    return _moment(event, number, clock, leads_with_one_left, past, asked)


def _moment(
    event: Event, number: str, clock: AsOf, leads: bool | None, past: Sequence[Event], asked: Asked | None,
    ageless: bool = False,
) -> Moment:  # fmt: skip
    s = situation(event, number, clock, leads, past, asked)
    s = replace(s, age_min=None, here=None) if ageless else s
    kind = next(item for item in MOMENTS if item.test(s))
    found = kind.answer(s)
    return _shown(s, kind.name, found if ageless else at_home(s, for_others(s, found)))


def _shown(s: Situation, name: str, answer: Decided) -> Moment:
    """As the gauge in use reads, with what is held against it, expected and offered."""
    off = s.gauge.offset_psi

    def hot(psi: float) -> float:
        return psi + off

    def there(psi: float) -> float:
        return off + (psi if s.here is None else carry(psi, s.outside.state, s.here))

    nothing = answer.action in {"read", "stop", "none"}
    now = s.now.map(there) if answer.now and s.now.known() else None
    to = None if nothing or answer.set is None else answer.set.map(there)
    fresh = name in {"read", "gauge-first", "set", "cold-read", "odd-corner"} or (
        name == "unsafe" and s.step is not None and not _unread_since(s) and not _stale(s)
    )
    held = Corners.of({corner: s.aim(corner) for corner in CORNERS})
    if name in {"event-done", "ran", "unsafe"}:
        held = Corners()
    elif answer.action == "plan" and answer.set is not None:
        held = Corners.of({corner: answer.set[corner] if held[corner] is not None else None for corner in CORNERS})
    cold = name in {"before", "day-done"} or s.rested
    expected = _expected(s, name, answer)
    found = Moment(
        number=s.number, name=name, action=answer.action, now=now, set=to, rule=answer.rule,
        reason=answer.reason, known=s, signs=s.signs, passed_over=answer.passed,
        cautions=cautions(s, answer.set or s.now, answer.cautions, name), confidence=answer.confidence, fresh=fresh,
        aim=held.map(there), aim_is="" if not held.known() else "cold plan" if cold else "hot target",
        expected=expected.map(hot),
    )  # fmt: skip
    return replace(found, offer=_offer(s, found))


def _expected(s: Situation, name: str, answer: Decided) -> Corners:
    """True psi after the next run; of ``ran``: after the run just driven."""
    if name in {"event-done", "day-done", "stale"} or s.step is None or answer.action == "stop":
        if name != "before" or answer.set is None:
            return Corners()
        return Corners.of(
            {corner: s.plan.of(AXLE_OF[corner]).hot_psi for corner in CORNERS if answer.set[corner] is not None}
        )
    start = answer.set if answer.set is not None and name != "ran" else s.now
    return Corners.of({corner: s.way[corner].ends_at(psi) for corner, psi in start.known().items()})


def run_due(s: Situation) -> int | None:
    """The run that the asking driver has to type next, a re-run under its own number; None: none is left today."""
    runs = [run for run in s.car_log.run_rows() if (run.day, run.number) == (s.clock.day, s.number)]
    counted = max((run.run for run in runs if run.counted), default=0)
    due = max([counted + 1, *(run.run for run in runs)])
    limit = s.event.settings.runs_on(s.clock.day)
    return None if s.left == 0 or (limit is not None and due > limit) else due


def _just_driven(s: Situation) -> bool:
    """The day's last run was minutes ago, or no clock tells: what is read now is read after it."""
    if s.last is None or s.last.day != s.clock.day:
        return False
    age = s.clock.age_min(s.last.day, s.last.at)
    return age is None or age <= REST_MIN


def _offer(s: Situation, found: Moment) -> Offer:
    """What must come next: advice to set goes first; before a first run cold; else the reading after the next run."""
    runs = [run for run in s.car_log.run_rows() if (run.day, run.number) == (s.clock.day, s.number)]
    last, due = max((run.run for run in runs), default=0), run_due(s)
    latest = s.last.run if s.last is not None and s.last.number == s.number and s.last.day == s.clock.day else last
    if found.moves and found.name in {"read", "gauge-first", "set", "cold-read", "odd-corner"}:
        return Offer("set", latest or None, found.moves, advised=True, how="as advised")
    if s.eve:
        return Offer("cold", None, found.now.known() if found.now is not None else {}, how="read again")
    if found.name == "event-done" or (found.name == "day-done" and _just_driven(s)):
        return Offer("after", latest or None, {})
    if found.name in {"before", "stale", "day-done"}:
        psi = found.set.known() if found.set is not None else {}
        return Offer("cold", None, psi, how="the cold plan" if psi else "")
    if found.name == "ran":
        return Offer("after", latest or None, found.expected.known(), how="expected")
    if found.name in {"odd-corner", "unsafe"}:
        return Offer("cold" if s.rested else "after", None if s.rested else latest or None, {}, how="read again")
    if due is None:
        return Offer("after", latest or None, {})
    return Offer("after", due, found.expected.known(), run_due=True, how="expected after the run")


@dataclass(frozen=True, slots=True)
class Set:
    """One corner, as the gauge reads, psi; None: not known. ``end_psi``: after the next run if nobody touches it;
    ``set_psi``: what to set now; ``held``: the limit it was cut short at, "" = none."""

    corner: str
    wanted_psi: float | None
    end_psi: float | None
    set_psi: float | None
    held: str = ""


@dataclass(frozen=True, slots=True)
class WhatIf:
    """``parked``: untouched and at the air asked for there, psi as the gauge reads. ``corners``: what to set now, where
    the car stays here. ``cold``: what to set cold, where another altitude is asked for; None: here. ``moment``: the
    answer these figures are of; ``air_c`` C.
    """

    air_c: float
    parked: Corners
    corners: tuple[Set, ...]
    cold: ColdPlan | None
    moment: Moment


def what_if(event: Event, number: str, clock: AsOf, asked: Asked) -> WhatIf:
    """Answer for the car that ``number`` drives. Without a reading that counts now no setting is given.

    Nothing asked: the moment's own setting. A reading that is old, or of before the last run, gives none either.
    """
    moment = moment_of(event, number, clock, asked=asked)
    s = moment.known
    offset = s.gauge.offset_psi
    outside = None if asked.altitude_m is None else ambient_pa(asked.altitude_m)
    parked = will_read(s.heat.track, s.outside.air_c, outside).map(lambda psi: psi + offset)
    if asked.altitude_m is not None:
        return WhatIf(s.outside.air_c, parked, (), s.plan, moment)
    corners = tuple(_corner(moment, corner, asked) for corner in CORNERS) if s.step is not None else ()
    return WhatIf(s.outside.air_c, parked, corners, None, moment)


def _corner(moment: Moment, corner: str, asked: Asked) -> Set:
    s = moment.known
    offset, now, held = s.gauge.offset_psi, s.now[corner], ""
    end = None if now is None else s.way[corner].ends_at(now)
    wanted = s.hot(corner)
    to = None
    if asked == Asked():
        shown = moment.set[corner] if moment.set is not None else None
        to = None if shown is None else shown - offset
    elif moment.fresh and moment.action != "stop" and now is not None and (aim := s.aim(corner)) is not None:
        to = aim if s.rested else allowed(s, corner, aim, "return")
        held = "held at the limits" if abs(to - aim) > 0.05 else ""
    wanted, end, to = (None if value is None else value + offset for value in (wanted, end, to))
    return Set(corner, wanted, end, to, held)
