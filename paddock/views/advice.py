"""The next-pressure answer in two short lines, and the work that is due, for the home page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from paddock import words
from paddock.entry.pressures import WALK
from paddock.model.event import Event

if TYPE_CHECKING:
    from paddock.engine.pressure.answer import Advice
    from paddock.engine.work.due import Due

__all__ = ["advice_lines", "due_lines", "set_words"]


def set_words(advice: Advice, unit: str, walk: tuple[str, ...] = WALK) -> str:
    """``LF 36.5→34.0 RF 37.5→34.0, let out``: only the corners that move, in the order they are typed."""
    now, wanted = advice.now.as_dict(), advice.set.as_dict()
    moves: list[str] = []
    ways: set[str] = set()
    for corner in walk:
        one, two = now[corner], wanted[corner]
        if two is None or one == two:
            continue
        moves.append(f"{corner.upper()} {words.reading(one, unit)}→{words.reading(two, unit)}")
        ways.add("set" if one is None else "let out" if two < one else "add")
    return "  ".join(moves) + (f", {' and '.join(sorted(ways))}" if ways else "")


def advice_lines(event: Event, number: str, walk: tuple[str, ...] = WALK) -> tuple[str, ...]:
    """What to do and why; empty for a number without readings, or while the answer can't be had."""
    from paddock.engine.pressure.advise import advise

    found = advise(event, number)
    unit = event.settings.pressure_unit or "psi"
    if found.action == "stop":
        return (f"STOP and look first: {found.reason}",)
    if found.action == "hold":
        cold = _cold_lines(event, number, unit)
        unread = found.now.known() == {} and found.confidence == "low" and bool(cold)
        return cold if unread else (*cold, f"hold: {found.reason}")
    return (
        f"set now: {set_words(found, unit, walk)}",
        f"{found.reason} (confidence {found.confidence}), or hold",
    )


def _cold_lines(event: Event, number: str, unit: str) -> tuple[str, ...]:
    """The cold plan where the car has not run today and nothing was read since it stood cold; else nothing."""
    from paddock.engine.pressure.plan import first_run_plan
    from paddock.engine.readings.log import car_log

    log = car_log(event, number)
    latest = log.latest
    if any(item.day == log.day for item in log.runs) or event.car_of(number) is None:
        return ()
    if latest is not None and latest.timed.day == (log.day or 1) and latest.moment not in {"cold", "before"}:
        return ()
    plan = first_run_plan(event, number)
    if isinstance(plan, str):
        return (f"cold plan: {plan}",)
    psi = [item.cold_psi for item in (plan.front, plan.rear)]
    why = next((item.why for item in (plan.front, plan.rear) if item.why), "")
    if psi == [None, None]:
        return (f"cold plan: {why}",)
    pair = "/".join(words.reading(value, unit) for value in psi)
    return (f"cold plan: {pair} {unit} at {plan.air_c:.0f} °C" + (f"; {why}" if why else ""),)


def _due_words(item: Due) -> str:
    torque = f", {words.torque(item.torque_nm)}" if item.torque_nm else ""
    return f"{item.item}{torque}" + ("" if item.now or not item.when else f" ({item.when})")


def due_lines(event: Event, number: str) -> tuple[tuple[bool, str], ...]:
    """Open work on the car: whether it is due before the next run, and the words for it."""
    from paddock.engine.work.due import due

    return tuple((item.now, _due_words(item)) for item in due(event, number))
