"""The rates of an anti-roll bar on one pair of holes.

Three rates that are easily mixed up, kept apart and named. With the twist rate k_t = G J / L (N.m/rad):

- end-to-end rate: force per relative travel of the two arm ends, ``k_t (1/a_L + 1/a_R)^2 / 4``
- wheel rate in pure roll: force at a wheel per its own travel, ``k_t (m_L/a_L + m_R/a_R)^2 / 2``
- roll stiffness: moment per roll angle at fixed ride height, ``k_t (m_L/a_L + m_R/a_R)^2 t^2 / 4``

a: perpendicular lever of the hole, m: arm-end travel per wheel travel, t: track. Torsion of a round bar: any text on
strength of materials (J = pi (D^4 - d^4) / 32). Arms, links and rubber give in series with the twist.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from paddock.engine.bar_parts import BarParts, Hole, parts_of
from paddock.model.car import Car

__all__ = [
    "HEAVE_MM", "Pair", "bar_pair", "effective_twist_rate", "heave_forces", "pair_of", "polar_mm4", "roll_heave_free",
    "twist_rate",
]  # fmt: skip

HEAVE_MM = 10.0


@dataclass(frozen=True, slots=True)
class Pair:
    """One hole left and one right, counted from 1.

    ``wheel_rate_n_mm`` and ``roll_nm_per_rad``: None while the motion ratio or the track is missing.
    ``roll_heave_free_nm_per_rad``: roll stiffness when the ride height may follow, less for unequal holes; None: the
    axle's springs are not known. ``step_pct``: against the next softer pair, None for the softest;
    ``from_now_pct``: against the pair in use.
    ``end_heave_n``: forces (left, right) at the arm ends for 10 mm at both ends the same way;
    ``wheel_heave_n``: at the wheels for 10 mm at both wheels. Opposite in sense; 0 = equal holes.
    ``spread_pct``: the rate may be off by so much from what was measured; ``step_spread_pct``: the same for
    ``from_now_pct``, smaller because the steel and the bar itself are in both.
    """

    left: int
    right: int
    end_rate_n_mm: float
    wheel_rate_n_mm: float | None
    roll_nm_per_rad: float | None
    end_heave_n: tuple[float, float]
    wheel_heave_n: tuple[float, float] | None
    roll_heave_free_nm_per_rad: float | None = None
    step_pct: float | None = None
    from_now_pct: float | None = None
    spread_pct: float | None = None
    step_spread_pct: float | None = None


def polar_mm4(outer_mm: float, bore_mm: float = 0.0) -> float:
    """Polar moment of a round section, mm^4; bore 0 = solid."""
    return pi * (outer_mm**4 - bore_mm**4) / 32.0


def twist_rate(outer_mm: float, bore_mm: float, length_mm: float, shear_gpa: float) -> float:
    """G J / L in N.m per radian."""
    return shear_gpa * polar_mm4(outer_mm, bore_mm) / length_mm


def _levers(left: Hole, right: Hole) -> tuple[float, float]:
    return left.lever_mm / 1000.0, right.lever_mm / 1000.0


def effective_twist_rate(parts: BarParts, left: Hole, right: Hole) -> float:
    """Twist rate (N.m/rad) with arm bending, links and rubber in series.

    The torque is common, so an end that gives c (m/N) adds ``c / a^2`` of compliance.
    """
    a, b = _levers(left, right)
    compliance = 1.0 / twist_rate(parts.outer_mm, parts.bore_mm, parts.length_mm, parts.shear_gpa)
    compliance += parts.give_m_per_n(left) / a**2 + parts.give_m_per_n(right) / b**2
    return 1.0 / compliance


def heave_forces(parts: BarParts, left: Hole, right: Hole, at_wheel: bool) -> tuple[float, float] | None:
    """Forces (N; left, right; opposite in sense) for ``HEAVE_MM`` at both arm ends or both wheels alike.

    Common torque: F_L a_L = F_R a_R. Positive: the bar pushes that end down, out of bump. None: no motion ratio.
    """
    a, b = _levers(left, right)
    m_left, m_right = (left.mr, right.mr) if at_wheel else (1.0, 1.0)
    if m_left is None or m_right is None:
        return None
    p, q = m_left / a, m_right / b
    torque = effective_twist_rate(parts, left, right) * (p - q) * HEAVE_MM / 1000.0
    return torque * p + 0.0, -torque * q + 0.0


def pair_of(parts: BarParts, left: int, right: int) -> Pair | None:
    """The rates of hole ``left`` and hole ``right`` (from 1), None where one of them isn't there."""
    one, other = parts.hole("left", left), parts.hole("right", right)
    if one is None or other is None:
        return None
    twist = effective_twist_rate(parts, one, other)
    a, b = _levers(one, other)
    wheel_n_m = roll = None
    if one.mr is not None and other.mr is not None:
        wheel_n_m = twist * (one.mr / a + other.mr / b) ** 2 / 2.0
        roll = None if parts.track_mm is None else wheel_n_m * (parts.track_mm / 1000.0) ** 2 / 2.0
    ends = heave_forces(parts, one, other, at_wheel=False)
    assert ends is not None
    return Pair(
        left=left,
        right=right,
        end_rate_n_mm=twist * (1 / a + 1 / b) ** 2 / 4000.0,
        wheel_rate_n_mm=None if wheel_n_m is None else wheel_n_m / 1000.0,
        roll_nm_per_rad=roll,
        end_heave_n=ends,
        wheel_heave_n=heave_forces(parts, one, other, at_wheel=True),
    )


def roll_heave_free(parts: BarParts, pair: Pair, spring_wheel_n_mm: float) -> float | None:
    """Roll stiffness (N.m/rad) of the bar when the ride height may follow; None without motion ratio or track.

    ``spring_wheel_n_mm``: wheel rate of one spring. Unequal holes couple roll and heave; the heave is condensed
    out of the two-by-two stiffness (energy method). Equal to ``roll_nm_per_rad`` for equal holes.
    """
    one, other = parts.hole("left", pair.left), parts.hole("right", pair.right)
    if pair.roll_nm_per_rad is None or one is None or other is None or one.mr is None or other.mr is None:
        return None
    assert parts.track_mm is not None
    a, b = _levers(one, other)
    p, q, track = one.mr / a, other.mr / b, parts.track_mm / 1000.0
    twist = effective_twist_rate(parts, one, other)
    coupling = twist * (p + q) * (p - q) * track / 2.0
    heave = 2000.0 * spring_wheel_n_mm + twist * (p - q) ** 2
    return pair.roll_nm_per_rad - coupling**2 / heave if heave > 0 else pair.roll_nm_per_rad


def bar_pair(car: Car, axle: str, holes: tuple[int, int] | None = None) -> Pair | None:
    """The pair in use of ``axle`` (``front``, ``rear``), or of ``holes`` instead; None: no bar or it can't be."""
    parts, _ = parts_of(car, axle)
    if parts is None:
        return None
    left, right = holes or parts.in_use or (0, 0)
    return pair_of(parts, left, right)
