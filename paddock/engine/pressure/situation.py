"""Everything the rules look at, gathered once."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from paddock.engine.corners import AXLES, Corners
from paddock.engine.heat.car import heat_of
from paddock.engine.pressure.learned import Learned, learn, samples_of
from paddock.engine.pressure.limits import Bound, Weather, bounds, fitted_tyres
from paddock.engine.pressure.signs import AxleSigns, Sign, all_signs, axle_signs, hottest_tread, phases
from paddock.engine.pressure.surface import SurfaceNow, surface_now
from paddock.engine.pressure.thresholds import Thresholds, thresholds_of
from paddock.engine.readings.log import CarLog, Reading
from paddock.engine.readings.mass import Step, Track
from paddock.engine.readings.timeline import CarRun
from paddock.model.car import Car, Target
from paddock.model.event import Event
from paddock.model.rows import RunRow, TreadTempRow
from paddock.model.settings import Gauge
from paddock.model.units import PSI_PA

__all__ = ["Situation", "situation"]


@dataclass(frozen=True, slots=True)
class Situation:
    """``step``: the newest usable reading; ``now``: its true pressures, psi. ``hot``: what the tyres would read after
    the next run like the last ``after`` reading of today, sets since then counted in; None = not known.

    ``last``: the car's last run; ``log``: the last run of this driver; ``changed``: psi an axle was set by since the
    last run. ``min_psi``: no smaller change is suggested.
    """

    event: Event
    number: str
    car: Car | None
    thresholds: Thresholds
    track: Track
    step: Step | None
    now: Corners
    hot: Corners
    bound: Mapping[str, Bound]
    gauge: Gauge
    surface: SurfaceNow
    target: Target | None
    last: CarRun | None
    log: RunRow | None
    axles: Mapping[str, AxleSigns]
    balance: Mapping[str, int]
    signs: tuple[Sign, ...]
    tread_c: float | None
    learned: Mapping[str, Learned]
    changed: Mapping[str, float]
    standing_done: bool
    target_done: bool
    leads: bool | None
    weather: Weather
    unread: bool

    @property
    def car_log(self) -> CarLog:
        """The car's line of time."""
        return self.track.log

    @property
    def min_psi(self) -> float:
        """No change under the gauge's step or twice its repeatability."""
        return max(self.gauge.step_psi, 2.0 * self.gauge.repeat_psi)

    @property
    def runs_today(self) -> int:
        """The car's runs of the day in hand."""
        return sum(1 for item in self.car_log.runs if item.day == self.car_log.day)

    @property
    def stale(self) -> bool:
        """The newest reading is older than the last run."""
        return self.step is not None and self.step.reading.timed.runs_before < len(self.car_log.runs)

    def wanted(self, corner: str) -> float | None:
        """The surface's hot target of a corner, psi."""
        if self.target is None:
            return None
        return self.target.front_psi if corner in AXLES["front"] else self.target.rear_psi

    @property
    def understeer(self) -> bool:
        """Some phase understeers and none oversteers."""
        return any(value <= -1 for value in self.balance.values()) and not self.oversteers

    @property
    def oversteer(self) -> bool:
        """Some phase oversteers and none understeers."""
        return self.oversteers and not any(value <= -1 for value in self.balance.values())

    @property
    def oversteers(self) -> bool:
        """Some phase oversteers."""
        return any(value >= 1 for value in self.balance.values())


def _weather(event: Event, log: CarLog, reading: Reading | None) -> Weather:
    """Hottest and coldest: the forecast, and no cooler or warmer than what was already seen."""
    air_c = reading.air_c if reading else None
    forecast, seen = event.settings.forecast, log.around.highest(log.day or 1)
    hot = [value for value in (forecast.hottest_c, seen, air_c) if value is not None]
    cold = [value for value in (forecast.coldest_c, air_c) if value is not None]
    return Weather(max(hot, default=None), min(cold, default=None))


def _same_stand(one: Step, two: Step) -> bool:
    """No run and no night between two readings."""
    there, here = one.reading.timed, two.reading.timed
    return there.day == here.day and there.runs_before == here.runs_before


def _factor(one: Step, two: Step, corner: str) -> float | None:
    """How a ``set`` beside a reading changed a corner's absolute pressure."""
    there, here = one.corners[corner], two.corners[corner]
    before, after = there.psi, here.psi
    if before is None or after is None or not _same_stand(one, two):
        return None
    if there.mass is not None and here.mass is not None:
        return here.mass / there.mass
    outside = two.reading.ambient_pa / PSI_PA
    return (after + outside) / (before + outside)


def _hot(track: Track) -> Corners:
    """Today's last ``after`` reading with the sets since then counted in, by proportion of the air inside."""
    steps = track.steps
    last = next((i for i in range(len(steps) - 1, -1, -1) if steps[i].reading.moment == "after"), None)
    if last is None or steps[last].reading.timed.day != track.log.day:
        return Corners()
    found: dict[str, float | None] = {}
    outside = steps[last].reading.ambient_pa / PSI_PA
    for corner, psi in steps[last].psi.items():
        share: float | None = 1.0
        for one, two in zip(steps[last:], steps[last + 1 :], strict=False):
            if two.reading.moment == "set" and share is not None:
                factor = _factor(one, two, corner)
                share = None if factor is None else share * factor
        found[corner] = None if psi is None or share is None else (psi + outside) * share - outside
    return Corners.of(found)


def _changed(track: Track) -> dict[str, float]:
    """By how much each axle was set since the last run, psi; infinite where there is nothing to compare with."""
    runs, moved = len(track.log.runs), dict.fromkeys(AXLES, 0.0)
    for one, two in zip((None, *track.steps), track.steps, strict=False):
        if not runs or two.reading.moment != "set" or two.reading.timed.runs_before != runs:
            continue
        for axle, pair in AXLES.items():
            for corner in pair:
                before, after = one.corners[corner].psi if one else None, two.corners[corner].psi
                known = one is not None and before is not None and after is not None and _same_stand(one, two)
                by = abs((after or 0.0) - (before or 0.0)) if known else math.inf
                moved[axle] = max(moved[axle], by if two.corners[corner].read else 0.0)
    return moved


def _was_set_to(track: Track, wanted: Mapping[str, float | None], since_run: int, within: float) -> bool:
    """A ``set`` since the spell began brought every wanted corner to its figure or, for standing water, above."""
    if not any(value is not None for value in wanted.values()):
        return False
    return any(
        step.reading.moment == "set"
        and step.reading.timed.runs_before >= since_run
        and all(
            (psi := step.corners[corner].psi) is not None and abs(psi - value) <= within
            for corner, value in wanted.items() if value is not None
        )
        for step in track.steps
    )  # fmt: skip


def _targets(target: Target | None, more: float = 0.0) -> dict[str, float | None]:
    values = {"front": target.front_psi, "rear": target.rear_psi} if target else {}
    return {
        corner: None if (value := values.get(axle)) is None else value + more
        for axle, pair in AXLES.items() for corner in pair
    }  # fmt: skip


def _last_runs(log: CarLog, number: str) -> tuple[CarRun | None, RunRow | None]:
    runs = log.run_rows()
    mine = next((run for run in reversed(runs) if run.number == number), None)
    return (runs[-1] if runs else None), (mine.log if mine else None)


def _surfaces(word: str | None) -> tuple[str | None, ...]:
    return {"damp": ("damp",), "wet": ("wet", "standing"), "standing": ("wet", "standing")}.get(
        word or "dry", ("dry", "drying", None)
    )


def _scrubbed(event: Event, last: CarRun | None) -> tuple[TreadTempRow, ...]:
    """Marks and temperatures of the car's last run."""
    if last is None:
        return ()
    key = (last.day, last.run, last.number)
    return tuple(row for row in event.of(TreadTempRow) if (row.day, row.run, row.number) == key)


def _bounds(event: Event, number: str, step: Step, weather: Weather, log: CarLog) -> dict[str, Bound]:
    upto = (log.day, log.items[-1].run + 1 if log.items else 0)
    tyres = fitted_tyres(event, event.numbers_of_car(number), upto)
    return bounds(step.reading, step.temps.as_dict(), event.car_of(number), tyres, weather)


def situation(event: Event, number: str, leads_with_one_left: bool | None = None) -> Situation:
    """Gather what the rules need. ``leads_with_one_left`` None: worked out from the standings."""
    car = event.car_of(number)
    thresholds, _ = thresholds_of(car)
    track = heat_of(event, number, ranges=False).track
    log, step = track.log, track.latest
    newest = log.readings[-1] if log.readings else None
    last, mine = _last_runs(log, number)
    rows, balance = _scrubbed(event, last), phases(mine)
    axles, surface = axle_signs(rows, thresholds.middle_c), surface_now(event, log)
    target = None if car is None else car.target(surface.word)
    weather = _weather(event, log, step.reading if step else None)
    gauge = step.reading.gauge if step else Gauge(id="")
    within = max(gauge.step_psi, 2.0 * gauge.repeat_psi)
    raised = _targets(target, thresholds.standing_psi)
    return Situation(
        event=event, number=number, car=car, thresholds=thresholds, track=track, step=step,
        now=step.psi if step else Corners(), hot=_hot(track),
        bound=_bounds(event, number, step, weather, log) if step else {},
        gauge=gauge, surface=surface, target=target, last=last, log=mine,
        axles=axles, balance=balance, signs=all_signs(axles, balance), tread_c=hottest_tread(rows),
        learned=learn(samples_of(log, number, _surfaces(surface.word)), thresholds.learn_runs, thresholds.learn_psi),
        changed=_changed(track), leads=leads_with_one_left, weather=weather,
        standing_done=_was_set_to(track, raised, surface.since_run, max(within, 1.0)),
        target_done=_was_set_to(track, _targets(target), surface.since_run, within),
        unread=newest is not None and not newest.usable,
    )  # fmt: skip
