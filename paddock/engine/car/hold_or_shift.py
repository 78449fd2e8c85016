"""Holding a gear against shifting, over a stated stretch: from one speed, flat out, for so many metres.

Three ways are timed: hold the gear (on the limiter when it is reached), shift at the best point (no drive for the
shift time), and take the stretch in the next gear from the start. Time and distance are integrals of dv/a and v dv/a
over speed, by Simpson's rule in panels of at most a quarter of a m/s; see ``driveline`` for the acceleration.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, field
from math import sqrt

from paddock.engine.car.driveline import Driveline, driveline_of
from paddock.engine.car.gears import shift_point
from paddock.errors import UNSAID, Finding, doubt, merged
from paddock.model.car import Car

PANEL_MS = 0.25
FAR_M = 600.0
LEVEL_S = 0.02
"""Below this two ways are called level: no driver repeats a shift to a fiftieth."""


@dataclass(frozen=True, slots=True)
class Trace:
    """A run down the stretch: metres, seconds and m/s at its points, the gear left of each point."""

    metres: tuple[float, ...]
    seconds: tuple[float, ...]
    speeds: tuple[float, ...]

    def time_at(self, metres: float) -> float:
        """Seconds when ``metres`` are done; steady acceleration between points, steady speed past the last."""
        i = bisect_left(self.metres, metres)
        if i == 0:
            return 0.0
        if i == len(self.metres):
            return self.seconds[-1] + (metres - self.metres[-1]) / self.speeds[-1]
        done, length = metres - self.metres[i - 1], self.metres[i] - self.metres[i - 1]
        before = self.speeds[i - 1]
        here = sqrt(max(0.0, before**2 + (self.speeds[i] ** 2 - before**2) * done / length))
        return self.seconds[i - 1] + 2 * done / (before + here)

    def kmh_at(self, metres: float) -> float:
        """Speed when ``metres`` are done."""
        i = min(max(bisect_left(self.metres, metres), 1), len(self.metres) - 1)
        done = min(max(metres - self.metres[i - 1], 0.0), self.metres[i] - self.metres[i - 1])
        length = self.metres[i] - self.metres[i - 1] or 1.0
        before = self.speeds[i - 1]
        return 3.6 * sqrt(max(0.0, before**2 + (self.speeds[i] ** 2 - before**2) * done / length))


@dataclass(frozen=True, slots=True)
class Hold:
    """Seconds over ``length_m`` from ``from_kmh``; ``best``: ``hold``, ``shift``, ``next`` or ``level``.

    ``shift_s``, ``next_gear_s`` None: no next gear; ``shifting_saves_s``: against holding, negative: what it costs.
    ``shifts`` False: the stretch ends before the shift.
    ``hold_to_m``, ``hold_to_kmh``: where the stretch must end for holding and shifting to cost the same: hold to
    there, shift on anything longer; None: holding is never slower within 600 m.
    ``limiter_after_m``: where the held gear reaches the limiter, None: not on this stretch.
    ``shift_at_kmh``: best point.
    """

    gear: int
    from_kmh: float
    length_m: float
    hold_s: float
    shift_s: float | None
    next_gear_s: float | None
    shifting_saves_s: float | None
    best: str
    hold_to_m: float | None
    hold_to_kmh: float | None
    limiter_after_m: float | None
    shift_at_kmh: float | None = field(metadata=UNSAID)
    shifts: bool = field(metadata=UNSAID)


class _Run:
    """The points of a trace while it grows."""

    def __init__(self, speed: float) -> None:
        self.points = [(0.0, 0.0, speed)]

    @property
    def metres(self) -> float:
        return self.points[-1][0]

    @property
    def speed(self) -> float:
        return self.points[-1][2]

    def add(self, metres: float, seconds: float, speed: float) -> None:
        """One more piece, so long and lasting so long, ending at ``speed`` (m/s)."""
        at, since, _ = self.points[-1]
        if metres > 0:
            self.points.append((at + metres, since + seconds, speed))

    def trace(self) -> Trace:
        """What was gathered."""
        metres, seconds, speeds = zip(*self.points, strict=True)
        return Trace(metres, seconds, speeds)


def _accelerate(run: _Run, line: Driveline, gear: int, until: float, far: float, lateral_g: float) -> None:
    """Flat out in ``gear`` up to ``until`` (m/s) or ``far`` metres, or as fast as it will go."""

    def rate(speed: float) -> float:
        found = line.acceleration(gear, line.rpm(gear, speed * 3.6), lateral_g)
        assert found is not None
        return found

    count = max(1, int((until - run.speed) / PANEL_MS) + 1)
    panel = (until - run.speed) / count
    start = rate(run.speed)
    for _ in range(count):
        low, high = run.speed, run.speed + panel
        middle, end = rate((low + high) / 2), rate(high)
        if min(start, middle, end) <= 1e-3 or run.metres >= far:
            return
        seconds = panel / 6 * (1 / start + 4 / middle + 1 / end)
        metres = panel / 6 * (low / start + 2 * (low + high) / middle + high / end)
        run.add(metres, seconds, high)
        start = end


def _coast(run: _Run, line: Driveline, seconds: float) -> None:
    """No drive for ``seconds``: only air drag slows the car."""
    mass = line.mass_kg or 1.0
    slowed = max(run.speed - line.drag_n(run.speed * 3.6) / mass * seconds, 0.1)
    run.add((run.speed + slowed) / 2 * seconds, seconds, slowed)


def _top(line: Driveline, gear: int) -> float:
    top = line.top_rpm
    assert top is not None
    return line.kmh(gear, top) / 3.6


def trace(
    line: Driveline, gear: int, from_kmh: float, shift_kmh: float | None = None, far_m: float = FAR_M,
    lateral_g: float = 0.0,
) -> Trace:  # fmt: skip
    """Flat out in ``gear`` from ``from_kmh``; ``shift_kmh``: into the next gear there, None: hold to the limiter."""
    run = _Run(from_kmh / 3.6)
    if shift_kmh is None:
        _accelerate(run, line, gear, _top(line, gear), far_m, lateral_g)
        return run.trace()
    _accelerate(run, line, gear, min(shift_kmh / 3.6, _top(line, gear)), far_m, lateral_g)
    if run.metres < far_m:
        _coast(run, line, line.shift_s)
        _accelerate(run, line, gear + 1, _top(line, gear + 1), far_m, lateral_g)
    return run.trace()


def break_even_m(hold: Trace, shift: Trace, after_m: float) -> float | None:
    """The metres at which both take as long, beyond the shift; None: holding is never slower within ``FAR_M``."""

    def behind(metres: float) -> float:
        return hold.time_at(metres) - shift.time_at(metres)

    step = 5.0
    at = after_m
    while at < FAR_M and behind(at + step) <= 0:
        at += step
    if at >= FAR_M:
        return None
    low, high = at, at + step
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if behind(middle) <= 0 else (low, middle)
    return (low + high) / 2


def _best(times: dict[str, float]) -> str:
    order = sorted(times, key=times.__getitem__)
    if len(order) > 1 and times[order[1]] - times[order[0]] < LEVEL_S:
        return "level"
    return order[0]


def _refusal(line: Driveline | None, gear: int, from_kmh: float, length_m: float) -> Finding | None:
    if line is None or line.curve is None or line.mass_kg is None or line.top_rpm is None:
        return doubt("gearbox", "holding against shifting needs ratios, the wheel, a torque curve and the mass")
    if not 1 <= gear <= len(line.ratios):
        return doubt("gearbox.ratios", f"there is no gear {gear}: 1 to {len(line.ratios)}")
    if min(line.ratios) <= 0:
        return doubt("gearbox.ratios", "a ratio can't be: mend it first")
    if not 0 < from_kmh < line.kmh(gear, line.top_rpm):
        return doubt("gearbox", f"gear {gear} ends at {line.kmh(gear, line.top_rpm):.0f} km/h: the stretch must begin "
                     "slower than that and rolling")  # fmt: skip
    return None if 0 < length_m <= FAR_M else doubt("gearbox", f"the stretch must be 1 to {FAR_M:.0f} m long")


def _first_at(run: Trace, kmh: float) -> float | None:
    return next((m for m, v in zip(run.metres, run.speeds, strict=True) if v * 3.6 >= kmh - 1e-6), None)


def hold_or_shift(
    car: Car, gear: int, from_kmh: float, length_m: float, lateral_g: float = 0.0
) -> tuple[Hold | None, tuple[Finding, ...]]:
    """Hold ``gear`` or shift up, over ``length_m`` metres flat out from ``from_kmh``.

    ``lateral_g``: cornering meanwhile, which takes its part of the grip. None with findings: it can't be told.
    """
    line, findings = driveline_of(car)
    refusal = _refusal(line, gear, from_kmh, length_m)
    if refusal is not None or line is None or line.curve is None or line.top_rpm is None:
        return None, merged(findings, [refusal] if refusal else [])
    held = trace(line, gear, from_kmh, lateral_g=lateral_g)
    times = {"hold": held.time_at(length_m)}
    to = shift_kmh = shift_s = next_gear_s = None
    if gear < len(line.ratios) and line.ratios[gear] < line.ratios[gear - 1]:
        rpm, _ = shift_point(line.curve, line.overall(gear), line.overall(gear + 1), line.top_rpm)
        shift_kmh = max(line.kmh(gear, rpm), from_kmh)
        shifted = trace(line, gear, from_kmh, shift_kmh, lateral_g=lateral_g)
        higher = trace(line, gear + 1, from_kmh, lateral_g=lateral_g)
        times |= {"shift": shifted.time_at(length_m), "next": higher.time_at(length_m)}
        shift_s, next_gear_s = times["shift"], times["next"]
        begins = _first_at(shifted, shift_kmh)
        if begins is None or begins >= length_m:
            del times["shift"]
        if begins is not None:
            to = break_even_m(held, shifted, begins + shift_kmh / 3.6 * line.shift_s)
    limit = _first_at(held, line.kmh(gear, line.top_rpm))
    hold = Hold(
        gear=gear, from_kmh=from_kmh, length_m=length_m, hold_s=times["hold"], shift_s=shift_s, next_gear_s=next_gear_s,
        shifting_saves_s=None if shift_s is None else times["hold"] - shift_s,
        best=_best(times), hold_to_m=to, hold_to_kmh=None if to is None else held.kmh_at(to),
        limiter_after_m=limit if limit is not None and limit <= length_m else None, shift_at_kmh=shift_kmh,
        shifts="shift" in times,
    )  # fmt: skip
    return hold, findings
