"""A car file against itself: values that can't stand beside each other, whatever else is in the folder.

What a single value may be stands in the model and keeps it out there; here come a minimum above a maximum, a target
beyond the wheel's limit, a hole that isn't there, a bore wider than its bar, ratios out of order.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from paddock.engine.air import cold_for_hot
from paddock.engine.car.balance import chassis_of
from paddock.engine.car.bars import pairs_table
from paddock.engine.car.driveline import driveline_of
from paddock.engine.car.findings import Finding, doubt, fault, merged
from paddock.engine.pressure.limits import minimum
from paddock.engine.pressure.thresholds import thresholds_of
from paddock.errors import Problem
from paddock.model.car import Car

PARKED_C = 15.0
"""A mild day's air, at which a parked car's pressures are looked at (common practice, no source)."""
CarLine = Callable[[str, tuple[str, ...]], int]


def _limits(car: Car) -> Iterator[Finding]:
    """A minimum over a maximum, a target or placard over the wheel's own limit."""
    limits = car.limits
    for end in ("front", "rear"):
        low = getattr(limits, f"{end}_min_psi")
        for name in ("max_cold_psi", "wheel_max_psi"):
            high = getattr(limits, name)
            if low is not None and high is not None and low > high:
                yield fault(f"limits.{end}_min_psi", f"{low:g} psi is over {name}, {high:g} psi: mend one of the two; "
                            "the maximum stands until then")  # fmt: skip
                break
        placard, wheel = getattr(limits, f"placard_{end}_psi"), limits.wheel_max_psi
        if placard is not None and wheel is not None and placard > wheel:
            yield fault(f"limits.placard_{end}_psi", f"{placard:g} psi is over wheel_max_psi, {wheel:g} psi: "
                        "mend one of the two")  # fmt: skip
        for surface, target in car.targets.items():
            hot = getattr(target, f"{end}_psi")
            if hot is not None and wheel is not None and hot > wheel:
                yield fault(f"targets.{surface}.{end}_psi", f"{hot:g} psi is over wheel_max_psi, {wheel:g} psi: "
                            "no target may be")  # fmt: skip


def _parts(car: Car) -> tuple[Finding, ...]:
    tables = (pairs_table(car, end) for end in ("front", "rear"))
    found = merged(*(table.findings for table in tables if table), chassis_of(car)[1], driveline_of(car)[1])
    return tuple(item for item in found if item.level == "fault")


def car_faults(car: Car) -> tuple[Finding, ...]:
    """Everything in ``car`` that can't be, each once; empty: nothing.

    A car without a gearbox or an engine is no fault: only what is written is judged.
    """
    advice = (fault("advice", sentence.removeprefix("[advice] ")) for sentence in thresholds_of(car)[1])
    return merged(_limits(car), _parts(car), advice)


def car_warnings(car: Car) -> tuple[Finding, ...]:
    """Targets whose tyres, parked and cooled, stand under the car's lowest pressure.

    Cooled by the rise of a first run where the file carries it, else not at all; in air of 15 C at sea level.
    """
    found = []
    for surface, target in car.targets.items():
        for end in ("front", "rear"):
            hot, low, rise = getattr(target, f"{end}_psi"), minimum(car, end), getattr(car.first_run, f"{end}_rise_k")
            if hot is None or low is None:
                continue
            cold = cold_for_hot(hot, PARKED_C + (rise or 0.0), PARKED_C)
            if cold < low - 0.05:
                at = f" at {cold:.1f} psi ({PARKED_C:g} C)," if rise else ""
                found.append(doubt(f"targets.{surface}.{end}_psi", f"a target of {hot:g} psi parks the tyre{at} "
                                   f"under the lowest pressure, {low:g} psi: which of the two is right?"))  # fmt: skip
    return tuple(found)


def _without(car: Car, key: str) -> Car:
    """The car without a limit or a target; what the bar, gear and balance rooms leave out they leave out themselves."""
    table, *rest = key.split(".")
    if table == "limits":
        return car.model_copy(update={"limits": car.limits.model_copy(update={rest[0]: None})})
    if table == "targets":
        target = car.targets[rest[0]].model_copy(update={rest[1]: None})
        return car.model_copy(update={"targets": {**car.targets, rest[0]: target}})
    return car


@dataclass(frozen=True)
class _Judged:
    """One car file, judged once however often the folder is read: a frozen car stays as it is."""

    car: Car

    @cached_property
    def kept(self) -> Car:
        car = self.car
        for item in car_faults(self.car):
            car = _without(car, item.key)
        return car

    @cached_property
    def found(self) -> tuple[Finding, ...]:
        return (*car_faults(self.car), *car_warnings(self.kept))


_LAST: dict[str, _Judged] = {}


def _judged(name: str, car: Car) -> _Judged:
    """Judged again only where the file has changed: this is asked after every typed entry."""
    last = _LAST.get(name)
    if last is None or last.car is not car:
        last = _LAST[name] = _Judged(car)
    return last


def checked_cars(cars: Mapping[str, Car], line_of: CarLine) -> tuple[dict[str, Car], list[Problem]]:
    """The cars without what can't be, and what is wrong in each of their files."""
    kept, problems = {}, []
    for name, car in cars.items():
        judged, file = _judged(name, car), f"cars/{name}.toml"
        kept[name] = judged.kept
        for item in judged.found:
            line = line_of(file, tuple(item.key.split(".")))
            problems.append(Problem(file, line, f"{item.key}: {item.message}", item.level))
    return kept, problems
