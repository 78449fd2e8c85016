"""What a car file is carried on with: the set-up as it stands, its bars' holes, what a first run warms its tyres."""

from __future__ import annotations

import re
from collections.abc import Iterator

from paddock.engine.car.car_now import car_in_force
from paddock.engine.car.setup_sheet import changes_of, pressure_axle, sheet
from paddock.engine.heat.car import heat_of
from paddock.engine.pressure.plan import known_rises
from paddock.engine.tyres import my_cars
from paddock.model.car import Car
from paddock.model.edit import SetKey
from paddock.model.event import Event
from paddock.model.kinds import plain_number


def _like(old: object, text: str) -> object:
    """``text`` as a number where the setting was one and it still is."""
    if isinstance(old, int | float) and not isinstance(old, bool):
        try:
            return int(text) if re.fullmatch(r"[+-]?\d+", text) else float(text)
        except ValueError:
            return text
    return text


def setups(event: Event) -> Iterator[SetKey]:
    """``[setup]`` as the car stands now: what was kept and what is still open, without repairs."""
    for numbers in my_cars(event).values():
        car, name = event.car_of(numbers[0]), event.car_name_of(numbers[0])
        if car is None:
            continue
        repairs = {row.setting or row.item for row in changes_of(event, numbers[0]) if row.kind == "repair"}
        for line in sheet(event, numbers[0]).lines:
            if line.now is None or line.key in repairs or pressure_axle(line.key) is not None:
                continue
            if line.now != line.start or line.key not in car.setup:
                yield SetKey(f"cars/{name}.toml", ("setup", line.key), _like(car.setup.get(line.key), line.now))
        yield from _pressures(car, name or "")
        yield from _holes(event, numbers[0], car, name or "")
        yield from _rises(event, numbers[0], car, name or "")


def _pressures(car: Car, name: str) -> Iterator[SetKey]:
    """A setting that names an axle's pressure is what is aimed at; without a dry target it is left as it came."""
    target = car.target("dry")
    for key, old in car.setup.items():
        axle = pressure_axle(key)
        aimed = getattr(target, f"{axle}_psi", None) if axle else None
        if aimed is not None and _said(old) != aimed:
            yield SetKey(f"cars/{name}.toml", ("setup", key), _like(old, plain_number(aimed, 1)))


def _said(old: object) -> float | None:
    try:
        return float(str(old).replace(",", "."))
    except ValueError:
        return None


def _holes(event: Event, number: str, car: Car, name: str) -> Iterator[SetKey]:
    """The bar's own left and right as the log leaves them, so that they say what ``[setup]`` says."""
    held, _ = car_in_force(event, number, car)
    for axle in ("front", "rear"):
        old, new = getattr(car, axle).bar, getattr(held, axle).bar
        if old is not None and (old.left, old.right) != (new.left, new.right):
            yield SetKey(f"cars/{name}.toml", (axle, "bar", "left"), new.left)
            yield SetKey(f"cars/{name}.toml", (axle, "bar", "right"), new.right)


def _rises(event: Event, number: str, car: Car, name: str) -> Iterator[SetKey]:
    """What a dry first run warms the tyres as this car's own readings have it, for the cold plan of the next event."""
    for axle, rise in known_rises(event, number, heat_of(event, number)).items():
        if rise.source in {"read", "fit"} and round(rise.k, 1) != getattr(car.first_run, f"{axle}_rise_k"):
            yield SetKey(f"cars/{name}.toml", ("first_run", f"{axle}_rise_k"), round(rise.k, 1))
