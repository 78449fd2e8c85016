"""The car of an entry as the bar, gear and value pages see it: what is set now, and what is wrong in its file."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from paddock.engine.car.car_now import car_in_force
from paddock.engine.car.findings import Finding, merged
from paddock.model.car import Car
from paddock.model.event import Event

__all__ = ["CarNow", "Fault", "car_file", "car_now", "faults_of"]

Curve = Callable[[Car], tuple[Car, tuple[Finding, ...]]]
"""Reads the torque curve a car file names beside it."""


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with or missing from a car file. ``key`` blank: the file as a whole; ``hard``: it can't be."""

    key: str
    message: str
    hard: bool

    @property
    def sentence(self) -> str:
        """Both on one line."""
        return f"{self.key}: {self.message}" if self.key else self.message


@dataclass(frozen=True, slots=True)
class CarNow:
    """``car`` None: no car file can be used, ``faults`` say why. ``name``: of the file, without ending.

    ``filed``: the car as its file has it, without what the change log and the torque curve's file say.
    """

    name: str
    car: Car | None
    faults: tuple[Fault, ...] = ()
    filed: Car | None = None

    def with_findings(self, *groups: Iterable[Finding]) -> tuple[Fault, ...]:
        """What is wrong, with what the engine found as well, each once."""
        return tuple(dict.fromkeys([*self.faults, *faults_of(merged(*groups))]))


def car_file(name: str) -> str:
    """The file of a car."""
    return f"cars/{name}.toml"


def faults_of(findings: Iterable[Finding]) -> tuple[Fault, ...]:
    """Findings of the engine as faults."""
    return tuple(Fault(item.key, item.message, item.level == "fault") for item in findings)


def _in_file(event: Event, name: str) -> tuple[Fault, ...]:
    found = []
    for problem in event.problems:
        if problem.file == car_file(name):
            key, colon, message = problem.message.partition(": ")
            known = bool(colon) and " " not in key
            found.append(Fault(key if known else "", message if known else problem.message, problem.level == "fault"))
    return tuple(found)


def _no_car(number: str, name: str) -> Fault:
    if name:
        return Fault("", f"there is no {car_file(name)} to use", True)
    return Fault("", f"no car file is named for {number or 'your entry'}", False)


def car_now(event: Event, number: str, curve: Curve) -> CarNow:
    """The car of ``number`` with the holes its change log leaves in use and its torque curve read in."""
    name = event.car_name_of(number) or ""
    car = event.car_of(number)
    if car is None:
        return CarNow(name, None, _in_file(event, name) or (_no_car(number, name),))
    held, logged = car_in_force(event, number, car)
    whole, of_curve = curve(held)
    return CarNow(name, whole, (*_in_file(event, name), *faults_of((*logged, *of_curve))), car)
