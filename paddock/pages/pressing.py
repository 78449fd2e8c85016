"""Four readings while they are taken: which they are, what to expect, and what each one means as it is typed.

All figures are those of the moment (``paddock.engine.pressure.moment``); nothing is worked out here but the sums of a
reading that is just being typed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from paddock import words
from paddock.engine.clock import as_of
from paddock.engine.pressure.air import ZERO_C, AirState, carry
from paddock.engine.pressure.answer import Moment, Offer
from paddock.engine.pressure.corners import Corners
from paddock.engine.pressure.limits import cold_maximum, parked_hot_c
from paddock.engine.pressure.moment import moment_of, run_due
from paddock.entry import PressureLine
from paddock.model.event import Event
from paddock.model.rows import CORNERS
from paddock.model.settings import Gauge
from paddock.model.units import PSI_PA, plain_number
from paddock.pages.reasons import say

_AS_IN_THE_FILE_PSI = 0.3


@dataclass(frozen=True, slots=True)
class CornerNow:
    """One corner, psi. ``given``: typed or confirmed; ``cold_psi``: what it would read parked at ``parked_c``.

    ``off_psi`` to the target, ``gain_psi`` since it was read or set cold; None: not known.
    ``aim``: what ``target_psi`` is, in words.
    """

    corner: str
    psi: float | None
    given: bool
    target_psi: float | None
    off_psi: float | None
    gain_psi: float | None
    cold_psi: float | None
    parked_c: float
    """The hottest air expected, C."""
    over: str
    aim: str = "target"


@dataclass(frozen=True, slots=True)
class Taking:
    """Which readings are taken: ``kind`` of the row and ``run`` (None: before any; ``due``: not typed yet).

    ``psi`` by corner in the gauge's steps: what will probably be read, or, ``advised``, is to be set: those may be
    saved by Enter alone, nothing else. ``how``: where the figures come from. ``targets``: what a reading is held to.
    """

    kind: str
    run: int | None
    due: bool
    psi: dict[str, float]
    advised: bool
    how: str
    targets: Corners
    aim: str
    moment: Moment


def gauge_step(event: Event) -> float:
    """The smallest step of the gauge in use, psi; an unknown gauge's where there is none or more than one."""
    gauge, unknown = event.settings.gauge_of(None), Gauge(id="")
    return gauge.step_psi if gauge and gauge.step_psi > 0 else unknown.step_psi


def readings_due(moment: Moment) -> tuple[Offer, ...]:
    """What can be gauged, what is offered first: cold, after the last run, after the run not typed yet, set."""
    s = moment.known
    runs = [run for run in s.car_log.run_rows() if (run.day, run.number) == (s.clock.day, s.number)]
    last, due = runs[-1].run if runs else None, run_due(s)
    expected, moves = moment.expected.known(), moment.moves_now
    found = [
        Offer("cold", None, {}),
        *([Offer("after", last, expected, how="expected")] if last is not None else []),
        *([Offer("after", due, expected, run_due=True, how="expected")] if due is not None else []),
        Offer("set", last, moves, advised=bool(moves), how="as advised" if moves else ""),
    ]
    first = moment.offer
    rest = [item for item in found if (item.kind, item.run) != (first.kind, first.run)]
    order = ("cold", "after", "set")
    return (
        first,
        *sorted(rest, key=lambda item: (order.index(item.kind) - order.index(first.kind)) % len(order) or len(order)),
    )


def taking(event: Event, number: str, now: datetime, turn: int = 0, kind: str | None = None) -> Taking:
    """The readings to be taken. ``turn``: how often another kind was asked for; ``kind``: one that was named."""
    moment = moment_of(event, number, as_of(event, now))
    offers = readings_due(moment)
    offer = offers[turn % len(offers)]
    if kind is not None:
        offer = next((item for item in offers if item.kind == kind), Offer(kind, offer.run, {}))
    psi = dict(offer.psi)
    if not psi and moment.now is not None and offer.kind != "cold":
        psi = moment.now.known()
    if offer.kind == "cold" and not psi:
        psi = moment.now.known() if moment.now is not None else _plan(moment).known()
    step = gauge_step(event)
    psi = psi if offer.advised else {corner: round(round(value / step) * step, 6) for corner, value in psi.items()}
    targets, aim = _targets(moment, offer)
    return Taking(offer.kind, offer.run, offer.run_due, psi, offer.advised, offer.how, targets, aim, moment)


def taking_on_home(event: Event, number: str, now: datetime, line: PressureLine) -> Taking:
    """Whose readings a line of home is: what it says, else the next ones to be read, the run typed yet or not.

    Set pressures say that they are set; four figures alone are what the gauge read.
    """
    found = taking(event, number, now, 0, line.moment)
    if line.moment is None and found.moment.known.eve:
        return replace(found, kind="cold", run=None, due=False)
    if line.moment is None and found.kind == "set":
        after = [offer for offer in readings_due(found.moment) if offer.kind == "after"]
        due = next((offer for offer in after if offer.run_due), after[0])
        found = replace(found, kind=due.kind, run=due.run, due=due.run_due)
    return replace(found, run=line.run, due=False) if line.run and found.kind != "cold" else found


def no_plan_words(found: Taking) -> str:
    """Why there is no cold plan to read against."""
    plan = found.moment.known.plan
    why = plan.front.why or plan.rear.why
    return "" if why is None else say(why)


def _plan(moment: Moment) -> Corners:
    s = moment.known
    off = s.gauge.offset_psi
    return Corners.of({corner: s.plan.cold_of(corner) for corner in CORNERS}).map(lambda psi: psi + off)


def _targets(moment: Moment, offer: Offer) -> tuple[Corners, str]:
    """What a reading of this kind is held against: a cold one with the plan, one after a run with the hot target."""
    s = moment.known
    if offer.kind == "set":
        if moment.name == "day-done":
            return Corners(), "target"
        known = moment.set if moment.moves else None
        return (known, "advised") if known is not None else (moment.aim, aim_words(moment) or "target")
    if offer.kind in {"cold", "before"}:
        return _plan(moment) if offer.kind == "cold" or s.rested else Corners(), "cold plan"
    return _hot(moment), "hot target"


def _hot(moment: Moment) -> Corners:
    s = moment.known
    return Corners.of({corner: s.hot(corner) for corner in CORNERS}).map(lambda psi: psi + s.gauge.offset_psi)


def aim_words(moment: Moment) -> str:
    """What the tyres are held against; a hot target as it reads in a cooled tyre is not the car file's figure."""
    hot, held = _hot(moment), moment.aim.known().items()
    apart = [abs(psi - target) for corner, psi in held if (target := hot[corner]) is not None]
    if moment.aim_is == "hot target" and max(apart, default=0.0) > _AS_IN_THE_FILE_PSI:
        return "hot target, now"
    return f"tomorrow's {moment.aim_is}" if moment.name == "day-done" and moment.aim_is else moment.aim_is


def taking_words(found: Taking) -> str:
    """Which reading is being taken."""
    if found.kind == "after":
        return f"after run {found.run}" + (", not typed yet" if found.due else "")
    if found.kind == "set":
        return "set, as advised: Enter logs it" if found.advised else "set: what you let out or added to"
    s = found.moment.known
    cold_c = s.here.temp_c if s.here is not None else s.outside.air_c
    at = "the air's temperature" if s.outside.assumed and s.here is None else f"{plain_number(cold_c, 0)} °C"
    return {"cold": f"cold, at {at}", "before": f"as found before run {found.run or 1}"}[found.kind]


def _tyre_c(found: Taking, corner: str, psi: float, measured_c: float | None) -> float | None:
    """The tyre's temperature, C: as measured; a cold tyre's is the air's; one just set is as warm as it was read; else
    by the air known to be in it. None: not known."""
    s = found.moment.known
    if measured_c is not None:
        return measured_c
    if found.kind == "cold":
        return s.here.temp_c if s.here is not None else None if s.outside.assumed else s.outside.air_c
    air = s.step.corners[corner] if s.step is not None else None
    if found.kind == "set" or air is None:
        return air.gas_c if air is not None else None
    if air.mass is None or not air.sure:
        return None
    return (psi - s.gauge.offset_psi + s.outside.ambient_pa / PSI_PA) / air.mass - ZERO_C


def over_cold(found: Taking, corner: str, psi: float, tyre_c: float | None) -> tuple[float | None, str]:
    """What a reading reads parked in the hottest air expected, as the gauge shows it, and why it is over the maximum.

    The reading itself is compared where the tyre's temperature isn't known.
    """
    s, unit = found.moment.known, found.moment.known.event.settings.pressure_unit or "psi"
    off, parked = s.gauge.offset_psi, AirState(parked_hot_c(s.outside.hottest_c), s.outside.ambient_pa)
    cold = None if tyre_c is None else carry(psi - off, AirState(tyre_c, s.outside.ambient_pa), parked)
    shown = None if cold is None else cold + off
    tyre = s.tyres.get(corner)
    limit = cold_maximum(s.car, tyre)
    if limit is None or (psi - off if cold is None else cold) <= limit + 1e-9:
        return shown, ""
    own = tyre is not None and tyre.max_cold_psi == limit
    most = (
        f"{words.reading(limit, unit)}, the cold maximum of {f'tyre {tyre.tyre}' if own and tyre else 'the car file'}"
    )
    if shown is None:
        return None, f"reads {words.reading(psi, unit)}, over {most}; how hot is it? t41 on the line tells"
    return shown, f"would read {words.reading(shown, unit)} parked at {parked.temp_c:.0f} °C, over {most}: let air out"


def pressing(
    found: Taking, psi: Mapping[str, float], given: frozenset[str], measured_c: float | None = None
) -> tuple[CornerNow, ...]:
    """Every corner with what its reading means. ``psi``: expected or typed readings."""
    first, made = _cold_of_day(found), []
    parked_c = parked_hot_c(found.moment.known.outside.hottest_c)
    for corner in CORNERS:
        value, target, base = psi.get(corner), _target(found, corner, measured_c), first.get(corner)
        off = None if value is None or target is None else value - target
        gain = None if value is None or base is None or found.kind == "cold" else value - base
        cold, over = (None, "")
        if value is not None:
            cold, over = over_cold(found, corner, value, _tyre_c(found, corner, value, measured_c))
        made.append(CornerNow(corner, value, corner in given, target, off, gain, cold, parked_c, over, found.aim))
    return tuple(made)


def _target(found: Taking, corner: str, measured_c: float | None) -> float | None:
    """What the corner is held against; the cold plan as it reads in a tyre of the temperature that is typed."""
    s, target = found.moment.known, found.targets[corner]
    if target is None or found.kind != "cold":
        return target
    stands = s.here if measured_c is None else AirState(measured_c, s.outside.ambient_pa)
    off = s.gauge.offset_psi
    return target if stands is None else carry(target - off, s.outside.state, stands) + off


def _cold_of_day(found: Taking) -> dict[str, float]:
    """The day's last cold reading or setting of a cold tyre, as its gauge read it."""
    s, cold = found.moment.known, dict[str, float]()
    for reading in s.car_log.readings:
        set_cold = reading.moment == "set" and reading.rested
        if reading.timed.day == s.clock.day and (reading.moment == "cold" or set_cold) and not reading.eve:
            cold |= reading.shown.known()
    return cold
