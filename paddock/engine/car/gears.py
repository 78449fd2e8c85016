"""Gears: speed in each, where to shift, where to put the light, where grip is the limit.

The best shift is where the thrust curves of two gears cross at equal road speed; there the engine gives equal power
before and after. Where they don't cross below the limiter, the limiter is the shift. The light comes earlier by the
engine's rise near the shift (taken half a reaction time before it) times the reaction time.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from paddock.engine.car.driveline import Driveline, TorqueCurve, driveline_of
from paddock.errors import Finding, doubt, merged
from paddock.model.car import Car

CAUTIONS = ("Grip is for this surface, on the straight, both driven wheels sharing: less in a corner or on one wheel.",)

_SCAN = 96


@dataclass(frozen=True, slots=True)
class Gear:
    """One gear, from 1. ``shift_*``, ``crosses``, ``light_rpm``, ``drop_rpm`` are of the shift out of it.

    ``crosses`` True: thrust crosses below the limiter; False: shift at the limiter; None: no next gear, or not known.
    ``drop_rpm``: engine speed after the shift. ``rise_rpm_per_s``: near the shift.
    ``grip_limited_below_kmh``: up to this speed thrust exceeds grip (``grip_limited_from_kmh``: from this one, the
    lowest the curve knows or higher); None: it never does, or grip is not known.
    ``spins_below_kmh``: the same with the engine's own inertia taken off, as when accelerating freely.
    """

    gear: int
    ratio: float
    limiter_kmh: float | None
    shift_rpm: float | None = None
    shift_kmh: float | None = None
    crosses: bool | None = None
    light_rpm: float | None = None
    grip_limited_below_kmh: float | None = None
    drop_rpm: float | None = None
    rise_rpm_per_s: float | None = None
    grip_limited_from_kmh: float | None = None
    spins_below_kmh: float | None = None


@dataclass(frozen=True, slots=True)
class GearTable:
    """Every gear; ``grip_n`` None: not known. ``line`` None: nothing could be computed, ``findings`` say why."""

    gears: tuple[Gear, ...]
    grip_n: float | None
    line: Driveline | None
    findings: tuple[Finding, ...]


def _root(fall: Callable[[float], float], low: float, high: float) -> float:
    """Where ``fall`` changes sign between ``low`` and ``high``, by bisection to the last bit that matters."""
    sign = fall(low) > 0
    for _ in range(60):
        middle = (low + high) / 2
        if (fall(middle) > 0) == sign:
            low = middle
        else:
            high = middle
        if high - low < 1e-9:
            break
    return (low + high) / 2


def _last_change(value: Callable[[float], float], low: float, high: float) -> float | None:
    """The highest x where ``value`` turns from positive to not positive, None: it does not within the span."""
    step = (high - low) / _SCAN
    after = high
    for index in range(1, _SCAN + 1):
        before = high - index * step
        if value(before) > 0:
            return _root(value, before, after)
        after = before
    return None


def shift_point(curve: TorqueCurve, overall: float, next_overall: float, top_rpm: float) -> tuple[float, bool]:
    """Engine speed to shift at, and whether the thrusts cross there (False: the limiter).

    Only where the curve knows both gears' torque is a crossing looked for; the highest one counts. When the next
    gear pulls harder wherever both are known, the lowest such rpm is given.
    """
    drop = next_overall / overall
    low, high = max(curve.low, curve.low / drop), min(top_rpm, curve.high)

    def gain(rpm: float) -> float:
        return curve.at(rpm) * overall - curve.at(rpm * drop) * next_overall

    if low >= high or gain(high) >= 0:
        return top_rpm, False
    crossing = _last_change(gain, low, high)
    return (low, True) if crossing is None else (crossing, True)


def grip_limited(line: Driveline, gear: int, share: float = 1.0) -> tuple[float, float] | None:
    """Speeds (km/h) between which thrust x ``share`` exceeds grip in ``gear``; None: nowhere, or not known."""
    curve, grip, top = line.curve, line.grip_n, line.top_rpm
    if curve is None or grip is None or top is None:
        return None
    low, high = curve.low, min(top, curve.high)
    per_torque = line.overall(gear) * line.efficiency / line.radius_m * share

    def over(rpm: float) -> float:
        return curve.at(rpm) * per_torque - grip

    upper = high if over(high) > 0 else _last_change(over, low, high)
    if upper is None:
        return None
    step = (upper - low) / _SCAN
    first = next((low + i * step for i in range(_SCAN) if over(low + i * step) > 0), upper)
    lower = first if first == low else _root(over, max(low, first - step), first)
    return line.kmh(gear, lower), line.kmh(gear, upper)


def light_rpm(line: Driveline, gear: int, shift_rpm: float) -> tuple[float | None, float | None]:
    """Where the light comes on, and the rise (rpm/s) it is reckoned with; None: neither mass nor a measured rise."""
    rise = line.rpm_per_s(gear, shift_rpm)
    if rise is None:
        return None, None
    middle = line.rpm_per_s(gear, max(shift_rpm - rise * line.reaction_s / 2, shift_rpm / 2))
    assert middle is not None
    return shift_rpm - middle * line.reaction_s, middle


def _shift_out(line: Driveline, gear: int) -> dict[str, float | bool | None]:
    top = line.top_rpm
    if gear >= len(line.ratios) or line.curve is None or top is None:
        return {}
    if not 0 < line.ratios[gear] < line.ratios[gear - 1]:
        return {}
    rpm, crosses = shift_point(line.curve, line.overall(gear), line.overall(gear + 1), top)
    light, rise = light_rpm(line, gear, rpm)
    return {
        "shift_rpm": rpm,
        "shift_kmh": line.kmh(gear, rpm),
        "crosses": crosses,
        "drop_rpm": rpm * line.ratios[gear] / line.ratios[gear - 1],
        "light_rpm": light,
        "rise_rpm_per_s": rise,
    }


def _gear(line: Driveline, gear: int) -> Gear:
    ratio = line.ratios[gear - 1]
    if ratio <= 0:
        return Gear(gear, ratio, None)
    limit = None if line.limiter_rpm is None else line.kmh(gear, line.limiter_rpm)
    held = grip_limited(line, gear)
    moving = line.moving_kg(gear)
    spins = grip_limited(line, gear, (line.mass_kg or 0.0) / moving) if moving else None
    return Gear(
        gear,
        ratio,
        limit,
        grip_limited_below_kmh=None if held is None else held[1],
        grip_limited_from_kmh=None if held is None else held[0],
        spins_below_kmh=None if spins is None else spins[1],
        **_shift_out(line, gear),  # type: ignore[arg-type]
    )


def gear_table(car: Car) -> GearTable:
    """Speeds, shifts, lights and grip limits of every gear of ``car``."""
    line, findings = driveline_of(car)
    if line is None:
        return GearTable((), None, None, findings)
    gears = tuple(_gear(line, gear) for gear in range(1, len(line.ratios) + 1))
    notes = [
        doubt("engine.rpm", f"gear {item.gear + 1} pulls harder wherever the curve knows both: add points below "
              f"{line.curve.low:g} rpm")
        for item in gears
        if line.curve and item.crosses and item.drop_rpm is not None and item.drop_rpm <= line.curve.low * (1 + 1e-9)
    ]  # fmt: skip
    return GearTable(gears, line.grip_n, line, merged(findings, notes))


def speed_table(line: Driveline, step_rpm: float = 1000.0) -> tuple[tuple[float, tuple[float | None, ...]], ...]:
    """(rpm, km/h in every gear) in steps up to the limiter, which is the last row; empty without a limiter or curve.

    None: a ratio that can't be.
    """
    top = line.top_rpm
    if top is None:
        return ()
    rpms = [step_rpm * index for index in range(1, int(top / step_rpm) + 1)]
    rpms += [] if rpms and rpms[-1] == top else [top]
    return tuple(
        (rpm, tuple(line.kmh(gear, rpm) if ratio > 0 else None for gear, ratio in enumerate(line.ratios, 1)))
        for rpm in rpms
    )


def thrust_curves(line: Driveline, points: int = 60) -> tuple[tuple[tuple[float, float], ...], ...]:
    """Per gear (km/h, N) within the curve and below the limiter, for a plot; empty without a curve."""
    curve, top = line.curve, line.top_rpm
    if curve is None or top is None:
        return ()
    low, high = curve.low, min(top, curve.high)
    rpms = [low + (high - low) * step / (points - 1) for step in range(points)]
    return tuple(
        tuple((line.kmh(gear, rpm), line.thrust_n(gear, rpm) or 0.0) for rpm in rpms) if ratio > 0 else ()
        for gear, ratio in enumerate(line.ratios, 1)
    )
