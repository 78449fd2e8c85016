"""``[advice]`` of a car file: the thresholds of the advice, each with its bounds and what is taken without it."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from paddock.model.car import Car

STEP_CAP_PSI = 2.0
"""No new setting moves an axle by more in one run, whatever the car file says."""


@dataclass(frozen=True, slots=True)
class Thresholds:
    """``[advice]`` of a car file.

    ``step_psi`` a new setting's usual step, ``max_step_psi`` its most (never over 2); ``standing_psi`` added to the
    wet target on standing water (1 to 2); ``sudden_fall_psi`` one corner's fall against its mate that stops the car;
    ``middle_c`` the middle over (or under) the mean of the edges that is a sign; ``tread_hot_c`` a tread too hot to
    grip; ``fade_pct`` a clean run slower than the day's best that is fading; ``cold_air_c`` a cold first run;
    ``learn_runs`` and ``learn_psi`` the runs and the spread of pressure a learned response needs.
    """

    step_psi: float = 1.0
    max_step_psi: float = 2.0
    standing_psi: float = 1.0
    sudden_fall_psi: float = 3.0
    middle_c: float = 3.0
    tread_hot_c: float = 80.0
    fade_pct: float = 0.5
    cold_air_c: float = 12.0
    learn_runs: float = 6.0
    learn_psi: float = 2.0


_RANGES = {
    "step_psi": (0.1, STEP_CAP_PSI),
    "max_step_psi": (0.1, STEP_CAP_PSI),
    "standing_psi": (1.0, STEP_CAP_PSI),
    "sudden_fall_psi": (0.5, 10.0),
    "middle_c": (0.5, 30.0),
    "tread_hot_c": (30.0, 150.0),
    "fade_pct": (0.05, 20.0),
    "cold_air_c": (-20.0, 30.0),
    "learn_runs": (5.0, 100.0),
    "learn_psi": (0.5, 20.0),
}


def thresholds_of(car: Car | None) -> tuple[Thresholds, tuple[str, ...]]:
    """The car's thresholds, and what is wrong with those that were left at their default."""
    found, said, given = Thresholds(), [], {} if car is None else car.advice
    for item in fields(Thresholds):
        if item.name not in given:
            continue
        value, (low, high) = given[item.name], _RANGES[item.name]
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            said.append(f"[advice] {item.name} = {value!r} is no number: {item.default} is used")
        elif not low <= value <= high:
            said.append(f"[advice] {item.name} = {value:g} is not from {low:g} to {high:g}: {item.default} is used")
        else:
            found = replace(found, **{item.name: float(value)})
    return found, tuple(said)
