"""The rates of an anti-roll bar on one pair of holes.

Three rates that are easily mixed up, kept apart and named. With the twist rate k_t = G J / L (N.m/rad):

- end-to-end rate: force per relative travel of the two arm ends, ``k_t (1/a_L + 1/a_R)^2 / 4``
- wheel rate in pure roll: force at a wheel per its own travel, ``k_t (m_L/a_L + m_R/a_R)^2 / 2``
- roll stiffness: moment per roll angle at fixed ride height, ``k_t (m_L/a_L + m_R/a_R)^2 t^2 / 4``

a: perpendicular lever of the hole, m: arm-end travel per wheel travel, t: track. Torsion of a round bar: any text on
strength of materials (J = pi (D^4 - d^4) / 32). Arms, links and rubber give in series with the twist.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import pi

from paddock.engine.car.bar_parts import BarParts, Hole, parts_of
from paddock.model.car import Car

__all__ = [
    "HEAVE_MM", "End", "Pair", "bar_pair", "bare_compliance", "effective_twist_rate", "end_of", "heave_forces",
    "pair_of", "polar_mm4", "rate_n_mm", "roll_heave_free", "twist_rate",
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


@dataclass(frozen=True, slots=True)
class End:
    """One arm end per radian and newton: ``turn`` 1/a, ``wheel`` m/a (None: no motion ratio), ``give`` c/a^2."""

    turn: float
    wheel: float | None
    give: float


def end_of(parts: BarParts, hole: Hole) -> End:
    """An arm end with its link in ``hole``; the torque is common, so one that gives c (m/N) adds c / a^2."""
    lever = hole.lever_mm / 1000.0
    return End(1 / lever, None if hole.mr is None else hole.mr / lever, parts.give_m_per_n(hole) / lever**2)


def bare_compliance(parts: BarParts) -> float:
    """Radians per N.m of the twisting part alone."""
    return 1.0 / twist_rate(parts.outer_mm, parts.bore_mm, parts.length_mm, parts.shear_gpa)


def effective_twist_rate(parts: BarParts, left: Hole, right: Hole) -> float:
    """Twist rate (N.m/rad) with arm bending, links and rubber in series."""
    return 1.0 / (bare_compliance(parts) + end_of(parts, left).give + end_of(parts, right).give)


def rate_n_mm(bare: float, left: End, right: End) -> float:
    """Wheel rate in pure roll, or the end-to-end rate where a motion ratio is missing; ``bare``: rad per N.m."""
    twist = 1.0 / (bare + left.give + right.give)
    if left.wheel is None or right.wheel is None:
        return twist * (left.turn + right.turn) ** 2 / 4000.0
    return twist * (left.wheel + right.wheel) ** 2 / 2000.0


def heave_forces(parts: BarParts, left: Hole, right: Hole, at_wheel: bool) -> tuple[float, float] | None:
    """Forces (N; left, right; opposite in sense) for ``HEAVE_MM`` at both arm ends or both wheels alike.

    Common torque: F_L a_L = F_R a_R. Positive: the bar pushes that end down, out of bump. None: no motion ratio.
    """
    ends = end_of(parts, left), end_of(parts, right)
    p, q = (end.wheel if at_wheel else end.turn for end in ends)
    if p is None or q is None:
        return None
    torque = effective_twist_rate(parts, left, right) * (p - q) * HEAVE_MM / 1000.0
    return torque * p + 0.0, -torque * q + 0.0


def pair_of(parts: BarParts, left: int, right: int) -> Pair | None:
    """The rates of hole ``left`` and hole ``right`` (from 1), None where one of them isn't there."""
    one, other = parts.hole("left", left), parts.hole("right", right)
    if one is None or other is None:
        return None
    bare, ends = bare_compliance(parts), (end_of(parts, one), end_of(parts, other))
    wheel = roll = None
    if ends[0].wheel is not None and ends[1].wheel is not None:
        wheel = rate_n_mm(bare, *ends)
        roll = None if parts.track_mm is None else wheel * 1000.0 * (parts.track_mm / 1000.0) ** 2 / 2.0
    heave = heave_forces(parts, one, other, at_wheel=False)
    assert heave is not None
    return Pair(
        left=left,
        right=right,
        end_rate_n_mm=rate_n_mm(bare, *(replace(end, wheel=None) for end in ends)),
        wheel_rate_n_mm=wheel,
        roll_nm_per_rad=roll,
        end_heave_n=heave,
        wheel_heave_n=heave_forces(parts, one, other, at_wheel=True),
    )


def roll_heave_free(parts: BarParts, pair: Pair, spring_wheel_n_mm: float) -> float | None:
    """Roll stiffness (N.m/rad) of the bar when the ride height may follow; None without motion ratio or track.

    ``spring_wheel_n_mm``: wheel rate of one spring. Unequal holes couple roll and heave; the heave is condensed
    out of the two-by-two stiffness (energy method). Equal to ``roll_nm_per_rad`` for equal holes.
    """
    one, other = parts.hole("left", pair.left), parts.hole("right", pair.right)
    if pair.roll_nm_per_rad is None or parts.track_mm is None or one is None or other is None:
        return None
    p, q, track = end_of(parts, one).wheel, end_of(parts, other).wheel, parts.track_mm / 1000.0
    if p is None or q is None:
        return None
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
