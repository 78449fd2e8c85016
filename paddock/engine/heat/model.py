"""A first-order tyre: towards the air while waiting, towards a running level in a run.

With x the air inside over the air outside (K): a wait of t minutes gives x e^(-t/tau); a run of d minutes gives
x e^(-d/tau) + rise. So a first run from cold ends at ``rise``, and runs without end would end at the running level,
rise/(1 - e^(-d/tau)). First-order heat balance of a tyre: Mars and Luchini, Tire Science and Technology 27(3), 1999;
one set of figures does not fit all tyres (Luchini and Popio, same journal 35(2), 2007), so both are always fitted.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from paddock.engine.air import ZERO_C
from paddock.engine.readings.timeline import RUN_MIN
from paddock.model.units import PSI_PA

SPRAY_FACTOR = 2.0
SUN_K = 3.0
"""How much faster a sprayed tyre cools, and how much warmer one in the sun ends: common practice, no source.
Both give way to the car's own where the log has three such readings."""

COOLING = ("none", "shade", "spray")


@dataclass(frozen=True, slots=True)
class HeatFit:
    """One axle. ``tau_min`` minutes; ``rise_k`` per run from cold; 80 % ranges; ``tau_high`` None: no upper end.

    ``pairs``: how many changes between readings it rests on; ``noise_k``: their scatter. ``spray``: how much faster
    it cools sprayed; ``sun_k``: warmer on the sun side.
    """

    axle: str
    tau_min: float
    tau_low: float
    tau_high: float | None
    rise_k: float
    rise_low: float
    rise_high: float
    pairs: int
    noise_k: float
    spray: float = SPRAY_FACTOR
    sun_k: float = SUN_K

    def level_k(self, run_min: float = RUN_MIN) -> float:
        """The running level over the air, K."""
        return self.rise_k / -math.expm1(-run_min / self.tau_min)


def cooled(
    fit: HeatFit, temp_c: float, air_c: float, wait_min: float, cooling: str = "none", sunny: bool = False
) -> float:
    """Temperature after a wait (negative: before it), C."""
    air_c = air_c + (fit.sun_k if sunny else 0.0)
    rate = fit.spray if cooling == "spray" else 1.0
    return air_c + (temp_c - air_c) * math.exp(-wait_min * rate / fit.tau_min)


def warmed(fit: HeatFit, temp_c: float, air_c: float, run_min: float = RUN_MIN) -> float:
    """Temperature at the end of a run that began at ``temp_c``, C."""
    return air_c + (temp_c - air_c) * math.exp(-run_min / fit.tau_min) + fit.rise_k


def _at(psi: float, from_c: float, to_c: float, ambient_pa: float) -> float:
    outside = ambient_pa / PSI_PA
    return (psi + outside) * (to_c + ZERO_C) / (from_c + ZERO_C) - outside


@dataclass(frozen=True, slots=True)
class Ahead:
    """What lies between now and the end of the next run; minutes, C, Pa."""

    air_c: float
    ambient_pa: float
    wait_min: float = 0.0
    run_min: float = RUN_MIN
    cooling: str = "none"
    sunny: bool = False

    def end_c(self, fit: HeatFit, temp_c: float) -> float:
        """Temperature at the end of the run for a tyre at ``temp_c`` now."""
        start = cooled(fit, temp_c, self.air_c, self.wait_min, self.cooling, self.sunny)
        return warmed(fit, start, self.air_c, self.run_min)


def curve(
    fit: HeatFit, psi: float, temp_c: float, ahead: Ahead, after_min: float = 20.0, points: int = 60
) -> tuple[tuple[float, float], ...]:
    """(minutes from now, psi) through the wait, the run and ``after_min`` of cooling, for a plot."""
    total = ahead.wait_min + ahead.run_min + after_min
    corners = {ahead.wait_min, ahead.wait_min + ahead.run_min, total}
    times = sorted({total * i / (points - 1) for i in range(points)} | corners)
    return tuple((t, _at(psi, temp_c, _curve_c(fit, temp_c, ahead, t), ahead.ambient_pa)) for t in times)


def _curve_c(fit: HeatFit, temp_c: float, ahead: Ahead, minute: float) -> float:
    if minute <= ahead.wait_min:
        return cooled(fit, temp_c, ahead.air_c, minute, ahead.cooling, ahead.sunny)
    start = cooled(fit, temp_c, ahead.air_c, ahead.wait_min, ahead.cooling, ahead.sunny)
    running = min(minute - ahead.wait_min, ahead.run_min)
    share = math.expm1(-running / fit.tau_min) / math.expm1(-ahead.run_min / fit.tau_min) if ahead.run_min else 1.0
    warm = ahead.air_c + (start - ahead.air_c) * math.exp(-running / fit.tau_min) + fit.rise_k * share
    return cooled(fit, warm, ahead.air_c, max(0.0, minute - ahead.wait_min - ahead.run_min))
