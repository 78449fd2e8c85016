"""Everything an answer about pressures rests on, gathered once, as of a moment."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from paddock.engine.clock import AsOf
from paddock.engine.clock.when import next_start
from paddock.engine.pressure.ahead import CornerAhead, run_end_c, stood_min, warmed_before, way_ahead
from paddock.engine.pressure.air import ZERO_C, AirState
from paddock.engine.pressure.corners import AXLE_OF, AXLES, SIDE_OF, Corners
from paddock.engine.pressure.heat import CarHeat, heat_of, typical_wait
from paddock.engine.pressure.left import others_left, runs_left
from paddock.engine.pressure.limits import (
    Bound,
    Likely,
    bounds,
    cold_maximum,
    fitted_tyres,
    likely_temps,
    placard,
)
from paddock.engine.pressure.mass import CornerAir, Step
from paddock.engine.pressure.outside import Asked, Outside, outside_of, stands_in
from paddock.engine.pressure.plan import ColdPlan, Rise, axles_now, cold_plan, known_rises, rise_over_air
from paddock.engine.pressure.readings import COOLED_MIN, CarLog, Reading
from paddock.engine.pressure.signs import (
    AxleSigns,
    Learned,
    Sign,
    SurfaceNow,
    all_signs,
    axle_signs,
    hottest_tread,
    learn,
    like_surface,
    phases,
    ran_on,
    samples_of,
    surface_now,
    warmth_of,
)
from paddock.engine.pressure.timeline import REST_MIN, RUN_MIN, Timed, TimedRun
from paddock.model.car import Car, Target
from paddock.model.event import Event
from paddock.model.rows import CORNERS, RunRow, TreadTempRow, TyreRow
from paddock.model.settings import Gauge
from paddock.model.thresholds import Thresholds, thresholds_of

_WAIT_MIN, _AFTER_MIN = 15.0, 1.5
_START_WITHIN_MIN = 5.0
"""How well the running order tells a start: our choice, so that an answer doesn't move with every car that goes."""


_BUILDS_K = 0.5
"""Less is not worth a word."""


@dataclass(frozen=True, slots=True)
class Situation:
    """``step``: the newest usable reading of the day in hand; ``now``: true pressures, psi, of a rested car at the air
    now, else as read. ``rested``: what comes is a first run (of the day or after a break). ``bound``: limits there.
    ``way``: how each corner gets to the next run's end; ``hot``: what it should read there. ``more_psi``: added to the
    target on standing water; to what is asked for nothing is.

    ``last``: the car's last run; ``log``: its row where the asking driver drove it; ``changed``: psi an axle was set by
    since. ``left``: runs left today on the car, None = not known; ``others_left``: whose they are and how many, where
    the asking driver has none; ``more_days``: another day follows. ``age_min`` of the newest reading, None: no clock.
    ``here``: where the car stands the evening before, if not in the air expected. ``fresh``: corners whose tyre was
    fitted or mended and not read since.
    """

    event: Event
    number: str
    clock: AsOf
    car: Car | None
    tyres: Mapping[str, TyreRow]
    thresholds: Thresholds
    heat: CarHeat
    step: Step | None
    now: Corners
    rested: bool
    outside: Outside
    likely: Mapping[str, Likely]
    bound: Mapping[str, Bound]
    gauge: Gauge
    surface: SurfaceNow
    more_psi: float
    target: Target | None
    rises: Mapping[str, Rise]
    plan: ColdPlan
    way: Mapping[str, CornerAhead]
    last: TimedRun | None
    log: RunRow | None
    axles: Mapping[str, AxleSigns]
    balance: Mapping[str, int]
    signs: tuple[Sign, ...]
    tread_c: float | None
    learned: Mapping[str, Learned]
    standing_done: bool
    target_done: bool
    leads: bool | None
    unread: bool
    left: int | None
    more_days: bool
    age_min: float | None
    asked: Asked
    past: tuple[Event, ...] = ()
    others_left: tuple[tuple[str, int], ...] = ()
    here: AirState | None = None

    @property
    def car_log(self) -> CarLog:
        """The car's line of time."""
        return self.heat.track.log

    @property
    def fresh(self) -> tuple[str, ...]:
        """Corners without a history."""
        return self.heat.track.fresh

    @property
    def eve(self) -> bool:
        """What was read is of the evening before; the answer is for the morning."""
        return self.step is not None and self.step.reading.eve

    @property
    def found_warm(self) -> bool:
        """What was read is how the car was found before its next run, the tyres not at the air's temperature."""
        return self.step is not None and not self.rested and self.step.reading.moment in {"cold", "before"}

    @property
    def turned(self) -> bool:
        """The next run's end is reckoned for another surface than the tyres were warmed on."""
        return any(self.way[corner].how == "turned" for corner in self.now.known())

    @property
    def unfinished(self) -> bool:
        """The last run was not finished, so the next run's end is reckoned from what whole runs warm."""
        return any(self.way[corner].how == "unfinished" for corner in self.now.known())

    @property
    def builds_up(self) -> bool:
        """The next run ends warmer than the last one did by what is left of that one's warmth."""
        ways = (self.way[corner] for corner in self.now.known())
        return any(way.how == "back" and way.end_c > way.now_c + _BUILDS_K for way in ways)

    @property
    def min_psi(self) -> float:
        """No change under the gauge's step or twice its repeatability."""
        return max(self.gauge.step_psi, 2.0 * self.gauge.repeat_psi)

    @property
    def runs_today(self) -> int:
        """The car's runs of the day in hand."""
        return sum(1 for item in self.car_log.runs if item.day == self.clock.day)

    def hot(self, corner: str) -> float | None:
        """What a corner should read at the end of the next run, psi: the hot target, more on standing water."""
        target = self.wanted(corner)
        return None if target is None else target + self.more_psi

    def wanted(self, corner: str) -> float | None:
        """The surface's hot target of a corner, psi."""
        if self.target is None:
            return None
        return self.target.front_psi if AXLE_OF[corner] == "front" else self.target.rear_psi

    def aim(self, corner: str) -> float | None:
        """What a corner should read in the state it is in, psi, before limits."""
        hot = self.hot(corner)
        if hot is None or self.rested or corner in self.fresh or self.step is None:
            return None if hot is None else self.plan.cold_of(corner)
        return self.way[corner].set_for(hot)

    @property
    def understeer(self) -> bool:
        """Some phase understeers clearly and none oversteers so."""
        return any(value <= -2 for value in self.balance.values()) and not self.oversteers

    @property
    def oversteer(self) -> bool:
        """Some phase oversteers clearly and none understeers so."""
        return self.oversteers and not any(value <= -2 for value in self.balance.values())

    @property
    def oversteers(self) -> bool:
        """Some phase oversteers clearly."""
        return any(value >= 2 for value in self.balance.values())


def _last_runs(log: CarLog, number: str) -> tuple[TimedRun | None, RunRow | None]:
    """The car's last run, and my row of it where I drove it."""
    runs = log.run_rows()
    last = runs[-1] if runs else None
    return last, last.log if last is not None and last.number == number else None


def _surfaces(word: str | None) -> tuple[str | None, ...]:
    return {"damp": ("damp",), "wet": ("wet", "standing"), "standing": ("wet", "standing")}.get(
        word or "dry", ("dry", "drying", None)
    )


def _scrubbed(event: Event, last: TimedRun | None, number: str) -> tuple[TreadTempRow, ...]:
    """Marks and temperatures of the asking driver's run, where it was the car's last."""
    if last is None or last.number != number:
        return ()
    key = (last.day, last.run, last.number)
    return tuple(row for row in event.of(TreadTempRow) if (row.day, row.run, row.number) == key)


_NEAR_TARGET_PSI = 2.0


def _was_set_to(heat: CarHeat, target: Target | None, more: float, surface: SurfaceNow, day: int) -> bool:
    """A ``set`` since the surface's spell began brought every axle that has a target near it."""
    values = {axle: getattr(target, f"{axle}_psi") for axle in AXLES} if target else {}
    wanted = {axle: psi + more for axle, psi in values.items() if psi is not None}
    return bool(wanted) and any(
        step.reading.moment == "set"
        and step.reading.timed.runs_before >= surface.since_run
        and (step.reading.timed.day, step.reading.timed.minute) >= (day, surface.since_min)
        and all(
            (psi := step.psi.axle(axle)) is not None and abs(psi - value) <= _NEAR_TARGET_PSI
            for axle, value in wanted.items()
        )
        for step in heat.track.steps
    )


def _ceilings(
    car: Car | None,
    tyres: Mapping[str, TyreRow],
    plan: ColdPlan,
    outside: Outside,
    log: CarLog,
) -> dict[str, float | None]:
    """Psi per kelvin that no raise goes beyond where no cold maximum is known: the highest of the target's cold plan,
    the placard and the cold settings logged before; None: none of them."""
    here, found = outside.state, dict[str, float | None]()
    for corner in CORNERS:
        if cold_maximum(car, tyres.get(corner)) is not None:
            continue
        cold = [value for value in (plan.cold_of(corner), placard(car, AXLE_OF[corner])) if value is not None]
        inside = [(psi + here.ambient_psi) / here.kelvin for psi in cold]
        for reading in log.readings:
            psi = reading.read.get(corner)
            if (
                reading.moment in {"cold", "set"}
                and reading.rested
                and psi is not None
                and reading.timed.day <= log.day
            ):
                state = AirState(reading.air_c if reading.air_c is not None else outside.air_c, reading.ambient_pa)
                inside += [(psi + state.ambient_psi) / state.kelvin] if reading.moment == "set" else []
        found[corner] = max(inside, default=None)
    return found


def situation(
    event: Event, number: str, clock: AsOf, leads_with_one_left: bool | None = None, past: Sequence[Event] = (),
    asked: Asked | None = None,
) -> Situation:  # fmt: skip
    """Gather what the answer needs. ``leads_with_one_left`` None: worked out from the standings.

    ``past``: earlier events, for the rise of a first run where neither this one nor the car file knows it.
    """
    asked = asked or Asked()
    car, heat = event.car_of(number), heat_of(event, number)
    thresholds, _ = thresholds_of(car)
    track, day = heat.track, clock.day
    log = track.log
    step = track.latest if track.latest is not None and _counts(track.latest, clock) else None
    newest = log.readings[-1] if log.readings else None
    entries_left = runs_left(event, number, log, day)
    left = None if entries_left is None else sum(entries_left.values())
    more_days = day < len(event.settings.days)
    outside = outside_of(event, log, clock, left == 0 and more_days, asked)
    surface = surface_now(event, log, day) if not (left == 0 and more_days) else SurfaceNow(None, len(log.runs), False)
    target = _target(car, surface.word, asked, step, event)
    tyres = fitted_tyres(event, event.numbers_of_car(number), (day, log.items[-1].run + 1 if log.items else 0))
    rises = known_rises(event, number, heat, surface.word, past)
    aimed = (car or Car()).model_copy(update={"targets": {surface.target: target}}) if target else None
    own = asked.front_psi is not None or asked.rear_psi is not None
    more = thresholds.standing_psi if surface.word == "standing" and not own else 0.0
    plan = cold_plan(
        aimed, surface.word, outside.state, rises, tyres, outside.hottest_c, outside.coldest_c,
        axles_now(track, outside.state), more,
    )  # fmt: skip
    reading = step.reading if step else None
    age_min = clock.age_min(reading.timed.day, reading.row.at) if reading else None
    rested = (
        reading is None
        or reading.rested
        or (reading.warmed and (age_min or 0.0) > REST_MIN and reading.timed.runs_today == 0)
    )
    now, airs = _now(step, rested, outside, track.fresh)
    typical = {axle: rise_over_air(track, axle) for axle in AXLES}
    air_c = outside.air_c if rested or reading is None or reading.air_c is None else reading.air_c
    ambient = outside.ambient_pa if rested or reading is None else reading.ambient_pa
    likely = (
        {corner: Likely(outside.air_c, outside.air_c) for corner in CORNERS} if rested or reading is None
        else likely_temps(reading, {corner: airs[corner].temp_c for corner in CORNERS}, typical, air_c)
    )  # fmt: skip
    ceilings = _ceilings(car, tyres, plan, outside, log)
    bound = bounds(
        ambient, likely, car, tyres, (min(outside.coldest_c, air_c), max(outside.hottest_c, air_c)), ceilings
    )
    last, mine = _last_runs(log, number)
    rows, balance = _scrubbed(event, last, number), phases(mine)
    axles = axle_signs(rows, thresholds.middle_c)
    gauge = reading.gauge if reading else event.settings.gauge_of(None) or Gauge(id="")
    start = _next_start(event, event.numbers_of_car(number), log, day) if asked.wait_min is None else None
    way = _ways(event, number, past, heat, reading, airs, rises, (air_c, outside.air_c), asked, ambient, start,
                surface.word)  # fmt: skip
    return Situation(
        event=event, number=number, clock=clock, car=car, tyres=tyres, thresholds=thresholds, heat=heat, step=step,
        now=now, rested=rested, outside=outside, likely=likely, bound=bound, gauge=gauge, surface=surface,
        more_psi=more, target=target, rises=rises, plan=plan, way=way, last=last, log=mine, axles=axles,
        balance=balance, signs=all_signs(axles, balance), tread_c=hottest_tread(rows),
        learned=learn(samples_of(log, number, _surfaces(surface.word)), thresholds.learn_runs, thresholds.learn_psi),
        standing_done=_was_set_to(heat, target, thresholds.standing_psi, surface, day),
        target_done=_was_set_to(heat, target, 0.0, surface, day), leads=leads_with_one_left,
        unread=newest is not None and not newest.usable and newest.timed.day == day, left=left, more_days=more_days,
        others_left=others_left(entries_left or {}, number),
        age_min=age_min, asked=asked, here=stands_in(reading, outside),
        past=tuple(past),
    )  # fmt: skip


def _counts(step: Step, clock: AsOf) -> bool:
    """A reading of the day in hand; one of the evening before not beyond the night."""
    return step.reading.timed.day == clock.day and (not step.reading.eve or clock.minute < COOLED_MIN)


def _target(car: Car | None, word: str | None, asked: Asked, step: Step | None, event: Event) -> Target | None:
    """The surface's hot target, true psi, what is asked for in its place."""
    found = car.target(word) if car else None
    if asked.front_psi is None and asked.rear_psi is None:
        return found
    gauge = step.reading.gauge if step else event.settings.gauge_of(None)
    offset = gauge.offset_psi if gauge else 0.0
    front = found.front_psi if found and asked.front_psi is None else asked.front_psi
    rear = found.rear_psi if found and asked.rear_psi is None else asked.rear_psi
    return Target(
        front_psi=front - offset if front is not None and asked.front_psi is not None else front,
        rear_psi=rear - offset if rear is not None and asked.rear_psi is not None else rear,
    )


def _now(
    step: Step | None, rested: bool, outside: Outside, fresh: Sequence[str]
) -> tuple[Corners, dict[str, CornerAir]]:
    """True pressures in the state in hand: a rested car's at the air now, where its air is known; else as read."""
    if step is None:
        return Corners(), {corner: CornerAir() for corner in CORNERS}
    airs = {corner: CornerAir() if corner in fresh else air for corner, air in step.corners.items()}
    if not rested:
        return Corners.of({corner: air.psi for corner, air in airs.items()}), airs
    found: dict[str, float | None] = {}
    for corner, air in airs.items():
        there = air.at(outside.air_c, outside.ambient_pa) if corner not in step.odd else None
        found[corner] = air.psi if there is None else there
    return Corners.of(found), airs


def _next_start(event: Event, numbers: Sequence[str], log: CarLog, day: int) -> float | None:
    """The minute of the day at which the running order sends the car out next, whoever drives; None: can't be told."""
    starts, limit = [], event.settings.runs_on(day)
    for number in numbers:
        runs = log.run_rows()
        done = max((run.run for run in runs if (run.day, run.number) == (day, number) and run.counted), default=0)
        if limit is None or done < limit:
            starts.append(next_start(event, number, day, done + 1))
    return min((start for start in starts if start is not None), default=None)


def _ways(
    event: Event, number: str, past: Sequence[Event], heat: CarHeat, reading: Reading | None,
    airs: Mapping[str, CornerAir], rises: Mapping[str, Rise], air: tuple[float, float], asked: Asked, ambient: float,
    start: float | None, word: str | None,
) -> dict[str, CornerAhead]:  # fmt: skip
    """``air``: at the reading and now, C; ``word``: the surface now."""
    log, read, (air_c, newest_c) = heat.track.log, reading, air
    driven = log.runs[read.timed.runs_before] if read is not None and read.timed.runs_before < len(log.runs) else None
    wait = asked.wait_min
    if wait is None:
        stood = 0.0 if read is None else stood_min(read)
        wait = max(0.0, min(REST_MIN, typical_wait(heat.track, "before", _WAIT_MIN)) - stood)
    told = asked.wait_min is not None or driven is not None
    again = None if told or read is None else _between(log, read.timed)
    if driven is not None and read is not None:
        clocks = driven.clock, read.timed.clock
        wait = clocks[0] - clocks[1] if clocks[0] is not None and clocks[1] is not None else 0.0
    elif start is not None and read is not None and read.timed.clock is not None and start > read.timed.clock:
        wait, again = _START_WITHIN_MIN * round((start - read.timed.clock) / _START_WITHIN_MIN), None
    to, left, unfinished = word, word, False
    if read is not None and read.timed.runs_today:
        left = ran_on(event, log, read.timed.runs_before - 1)
        unfinished = not log.run_rows()[read.timed.runs_before - 1].finished
    if driven is not None and read is not None:
        to = ran_on(event, log, read.timed.runs_before)
        rises = rises if warmth_of(to) == warmth_of(word) else known_rises(event, number, heat, to, past)
    turned = warmth_of(left) != warmth_of(to)
    ran = known_rises(event, number, heat, left, past) if turned else rises
    runs = [run.minutes for run in log.run_rows() if run.time is not None and run.time.time_ms is not None]
    then = asked.air_c if asked.air_c is not None else newest_c if turned else air_c
    read_min, found = typical_wait(heat.track, "after", _AFTER_MIN), {}
    for corner in CORNERS:
        axle, sunny = AXLE_OF[corner], read is not None and read.sun == SIDE_OF[corner]
        before_k, ran_over = warmed_before(heat, read, corner, _WAIT_MIN + RUN_MIN + read_min)
        found[corner] = way_ahead(
            read, airs[corner], heat.fit_for(corner, to), rises[axle], air_c, then, ambient,
            {
                "wait_min": max(0.0, wait), "end_c": run_end_c(heat, read, corner),
                "break": told, "run_min": runs[-1] if runs else RUN_MIN,
                "read_min": read_min, "again_min": again, "before_k": before_k, "runs": ran_over,
                "cooling": asked.cooling, "sunny": sunny,
                "turned": turned, "water": like_surface(to) != "dry", "ran_k": ran[axle].k, "unfinished": unfinished,
            },
        )  # fmt: skip
    for pair in AXLES.values():
        ways = [found[corner] for corner in pair]
        if all(way.how in ("back", "unfinished") and way.known for way in ways):  # each side by the axle's share
            share = sum(way.end_c + ZERO_C for way in ways) / sum(way.now_c + ZERO_C for way in ways)
            found |= {corner: found[corner].ends_by(share) for corner in pair}
    return found


def _between(log: CarLog, read: Timed) -> float | None:
    """Minutes from run to run of the day as they last were, breaks left out where there is another; None: no clocks."""
    clocks = [run.clock for run in log.runs[read.runs_before - read.runs_today : read.runs_before]]
    gaps = [two - one for one, two in pairwise(clocks) if one is not None and two is not None]
    usual = [gap for gap in gaps if gap <= REST_MIN] or gaps
    return usual[-1] if usual else None
