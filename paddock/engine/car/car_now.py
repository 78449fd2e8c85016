"""The car of an entry as it is now: its file, the holes its change log leaves in use, and what is wrong with it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from paddock.engine.car.bar_parts import holes_of
from paddock.engine.car.setup_sheet import NOW, changes_of, setup_at
from paddock.errors import Finding, doubt, fault, merged
from paddock.model.car import Car
from paddock.model.car_axle import Axle
from paddock.model.event import Event

Curve = Callable[[Car], tuple[Car, tuple[Finding, ...]]]
"""Reads the torque curve a car file names beside it."""


@dataclass(frozen=True, slots=True)
class CarNow:
    """``car`` None: no car file can be used, ``findings`` say why. ``name``: of the file, without ending.

    ``filed``: the car as its file has it, without what the change log and the torque curve's file say.
    """

    name: str
    car: Car | None
    findings: tuple[Finding, ...] = ()
    filed: Car | None = None

    def and_found(self, *groups: Iterable[Finding]) -> tuple[Finding, ...]:
        """What is wrong, with what was found besides, each once."""
        return merged(self.findings, *groups)


def car_now(event: Event, number: str, curve: Curve) -> CarNow:
    """The car of ``number`` with the holes its change log leaves in use and its torque curve read in."""
    name = event.car_name_of(number) or ""
    car = event.car_of(number)
    if car is None:
        return CarNow(name, None, _in_file(event, name) or (_no_car(number, name),))
    held, logged = car_in_force(event, number, car)
    whole, of_curve = curve(held)
    return CarNow(name, whole, merged(_in_file(event, name), logged, of_curve), car)


def car_in_force(event: Event, number: str, car: Car) -> tuple[Car, tuple[Finding, ...]]:
    """``car`` of ``number`` with the bar holes its change log leaves in use.

    A change of ``front_bar`` or ``rear_bar`` that names no pair of holes is told and leaves the file's holes.
    """
    changed = {row.setting for row in changes_of(event, number)}
    held = setup_at(event, number, *NOW)
    found: list[Finding] = []
    for axle in ("front", "rear"):
        key = f"{axle}_bar"
        if key not in changed:
            continue
        holes = holes_of(held.get(key))
        ends: Axle = getattr(car, axle)
        if holes is None:
            found.append(doubt(f"setup.{key}", f"the change log says {held.get(key)!r}, which is no pair of holes like "
                               "1-2 (left-right): the car file's holes are used"))  # fmt: skip
        elif ends.bar is not None:
            bar = ends.bar.model_copy(update={"left": holes[0], "right": holes[1]})
            setup = {**car.setup, key: f"{holes[0]}-{holes[1]}"}
            car = car.model_copy(update={axle: ends.model_copy(update={"bar": bar}), "setup": setup})
    return car, tuple(found)


def _in_file(event: Event, name: str) -> tuple[Finding, ...]:
    """What is wrong in the file; a problem that names no value has a blank key."""
    found = []
    for problem in event.problems:
        if problem.file == f"cars/{name}.toml":
            key, colon, message = problem.message.partition(": ")
            known = bool(colon) and " " not in key
            say = fault if problem.level == "fault" else doubt
            found.append(say(key, message) if known else say("", problem.message))
    return tuple(found)


def _no_car(number: str, name: str) -> Finding:
    if name:
        return fault("", f"there is no cars/{name}.toml to use")
    return doubt("", f"no car file is named for {number or 'your entry'}")
