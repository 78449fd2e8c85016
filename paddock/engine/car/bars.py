"""Anti-roll bars: the rates of one pair of holes, and what every pair is worth against the others.

Three rates that are easily mixed up, kept apart and named. With the twist rate k_t = G J / L (N.m/rad):

- end-to-end rate: force per relative travel of the two arm ends, ``k_t (1/a_L + 1/a_R)^2 / 4``
- wheel rate in pure roll: force at a wheel per its own travel, ``k_t (m_L/a_L + m_R/a_R)^2 / 2``
- roll stiffness: moment per roll angle at fixed ride height, ``k_t (m_L/a_L + m_R/a_R)^2 t^2 / 4``

a: perpendicular lever of the hole, m: arm-end travel per wheel travel, t: track. Torsion of a round bar: any text on
strength of materials (J = pi (D^4 - d^4) / 32). Arms, links and rubber give in series with the twist.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import pi, sqrt

from paddock.engine.car.bar_parts import BarParts, Hole, parts_of
from paddock.errors import Finding
from paddock.model.car import Car
from paddock.model.car_axle import Axle, Bar

HEAVE_MM = 10.0


@dataclass(frozen=True, slots=True)
class Pair:
    """One hole left and one right, counted from 1.

    ``wheel_rate_n_mm`` and ``roll_nm_per_rad``: None while the motion ratio or the track is missing.
    ``roll_heave_free_nm_per_rad``: roll stiffness when the ride height may follow, less for unequal holes; None: the
    axle's springs are not known. ``step_pct``: against the next softer pair, None for the softest;
    ``from_now_pct``: against the pair in use.
    ``heave_end_n``: forces (left, right) at the arm ends for 10 mm at both ends the same way;
    ``heave_wheel_n``: at the wheels for 10 mm at both wheels. Opposite in sense; 0 = equal holes.
    ``spread_pct``: the rate may be off by so much from what was measured; ``step_spread_pct``: the same for
    ``from_now_pct``, smaller because the steel and the bar itself are in both.
    """

    left: int
    right: int
    end_rate_n_mm: float
    wheel_rate_n_mm: float | None
    roll_nm_per_rad: float | None
    roll_heave_free_nm_per_rad: float | None = None
    step_pct: float | None = None
    from_now_pct: float | None = None
    spread_pct: float | None = None
    step_spread_pct: float | None = None
    heave_end_n: tuple[float, float] = (0.0, 0.0)
    heave_wheel_n: tuple[float, float] | None = None

    @property
    def holes(self) -> str:
        """``3-2``: left hole, right hole."""
        return f"{self.left}-{self.right}"


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
        heave_end_n=heave,
        heave_wheel_n=heave_forces(parts, one, other, at_wheel=True),
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
    pair = holes or parts.in_use
    return None if pair is None else pair_of(parts, *pair)


# steps between pairs, and how far a rate may be off


PartsChange = Callable[[BarParts], BarParts]

DIAMETER_PM_MM, WALL_PM_MM, LENGTH_PM_MM, ARMS_PM_MM, MR_PM, SHEAR_PM = 0.1, 0.2, 5.0, 1.0, 0.02, 0.05
"""What a calliper, a tape and a careful hand give: common practice, no source; the steel's: the spread of handbooks."""

Spread = tuple[str, PartsChange, PartsChange]
"""Key of the input and the bar with it at the low and at the high end of its range."""


def _moved(holes: tuple[Hole | None, ...], lever_mm: float, mr: float) -> tuple[Hole | None, ...]:
    return tuple(
        None
        if hole is None
        else replace(hole, lever_mm=hole.lever_mm + lever_mm, mr=None if hole.mr is None else max(hole.mr + mr, 1e-3))
        for hole in holes
    )


def _thicker(bar: Bar, parts: BarParts, step: float) -> BarParts:
    """Another diameter; the bore goes with it where the wall was measured, else it stays."""
    outer = max(parts.outer_mm + step, 1.0)
    if parts.bore_mm == 0:
        return replace(parts, outer_mm=outer)
    if bar.bore_mm is None:
        return replace(parts, outer_mm=outer, bore_mm=min(max(0.0, parts.bore_mm + step), 0.999 * outer))
    return replace(parts, outer_mm=max(outer, 1.001 * parts.bore_mm))


def _both(name: str, make: Callable[[float], PartsChange], size: float) -> Spread:
    return name, make(-size), make(size)


def spreads(bar: Bar) -> tuple[Spread, ...]:
    """Every measured input of ``bar`` with its low and high; 0 given = taken as exact."""

    def size(name: str, default: float) -> float:
        given: float | None = getattr(bar, name)
        return default if given is None else given

    def bore(step: float) -> PartsChange:
        return lambda parts: parts if parts.bore_mm == 0 else replace(
            parts, bore_mm=min(max(0.0, parts.bore_mm + step), 0.999 * parts.outer_mm)
        )  # fmt: skip

    return (
        _both("diameter_mm", lambda step: lambda p: _thicker(bar, p, step), size("diameter_pm_mm", DIAMETER_PM_MM)),
        _both("wall_mm", bore, size("wall_pm_mm", WALL_PM_MM) * (2.0 if bar.bore_mm is None else 1.0)),
        _both("length_mm", lambda step: lambda p: replace(p, length_mm=p.length_mm + step),
              size("length_pm_mm", LENGTH_PM_MM)),
        _both("arms_mm, left", lambda step: lambda p: replace(p, left=_moved(p.left, step, 0.0)),
              size("arms_pm_mm", ARMS_PM_MM)),
        _both("arms_mm, right", lambda step: lambda p: replace(p, right=_moved(p.right, step, 0.0)),
              size("arms_pm_mm", ARMS_PM_MM)),
        _both("mr", lambda step: lambda p: replace(p, left=_moved(p.left, 0.0, step), right=_moved(p.right, 0.0, step)),
              size("mr_pm", MR_PM)),
        _both("shear_gpa", lambda step: lambda p: replace(p, shear_gpa=p.shear_gpa * (1 + step)),
              size("shear_pm", SHEAR_PM)),
    )  # fmt: skip


def _rates(parts: BarParts, pairs: Sequence[tuple[int, int]]) -> list[float]:
    """Wheel rate of each pair, or the end-to-end rate where no motion ratio is known, N/mm."""
    bare = bare_compliance(parts)
    left, right = ({n: end_of(parts, hole) for n, hole in enumerate(holes, 1) if hole} for holes in parts.sides)
    return [rate_n_mm(bare, left[one], right[other]) for one, other in pairs]


def spread_of(
    parts: BarParts, bar: Bar, pair: tuple[int, int], base: tuple[int, int] | None = None
) -> dict[str, float]:
    """Per input, by how many per cent (half range) the rate of ``pair`` may be off, over that of ``base`` if given.

    Independent inputs add as squares: ``sqrt(sum of squares)`` is the whole (GUM, JCGM 100:2008, 5.1.2).
    """

    def value(changed: BarParts) -> float:
        rate, against = _rates(changed, [pair, base or pair])
        return rate if base is None else rate / against

    middle = value(parts)
    return {name: abs(value(high(parts)) - value(low(parts))) / 2 / middle * 100 for name, low, high in spreads(bar)}


def _root(parts: list[float]) -> float:
    return sqrt(sum(part * part for part in parts))


def _steps(pairs: tuple[Pair, ...]) -> dict[tuple[int, int], float | None]:
    """Per cent against the next softer pair; mirror twins share theirs."""
    order = sorted(pairs, key=lambda item: item.end_rate_n_mm)
    steps: dict[tuple[int, int], float | None] = {}
    softer: float | None = None
    level = order[0].end_rate_n_mm if order else 0.0
    for pair in order:
        if pair.end_rate_n_mm > level * (1 + 1e-9):
            softer, level = level, pair.end_rate_n_mm
        steps[pair.left, pair.right] = None if softer is None else (level / softer - 1) * 100
    return steps


def with_steps(parts: BarParts, bar: Bar, pairs: tuple[Pair, ...]) -> tuple[Pair, ...]:
    """``pairs`` with steps and spreads filled in, against the pair in use where there is one."""
    numbers = [(pair.left, pair.right) for pair in pairs]
    steps, base = _steps(pairs), _rates(parts, numbers)
    ranges = [
        list(zip(_rates(low(parts), numbers), _rates(high(parts), numbers), strict=True))
        for _, low, high in spreads(bar)
    ]
    mine = numbers.index(parts.in_use) if parts.in_use in numbers else None
    filled = []
    for index, pair in enumerate(pairs):
        whole = _root([(row[index][1] - row[index][0]) / 2 / base[index] * 100 for row in ranges])
        step = change = None
        if mine is not None:
            change = (base[index] / base[mine] - 1) * 100
            step = _root([(row[index][1] / row[mine][1] - row[index][0] / row[mine][0]) * 50 for row in ranges])
        softer = steps[pair.left, pair.right]
        filled.append(replace(pair, step_pct=softer, from_now_pct=change, spread_pct=whole, step_spread_pct=step))
    return tuple(filled)


# every pair of a bar


CAUTIONS = (
    "Before going under the car: level ground, wheels chocked, on stands, never on a jack alone.",
    "Tighten every fastener to the maker's torque, with the car at ride height where the maker says so.",
    "Ask the class rules first: many allow no other bar, or only one end.",
)


@dataclass(frozen=True, slots=True)
class BarTable:
    """Every hole pair of one bar, left hole first; ``in_use`` None: not known or can't be, ``findings`` say why."""

    axle: str
    parts: BarParts | None
    pairs: tuple[Pair, ...]
    in_use: Pair | None
    findings: tuple[Finding, ...]

    def pair(self, left: int, right: int) -> Pair | None:
        """The pair of two holes, None where there is no such hole."""
        return next((item for item in self.pairs if (item.left, item.right) == (left, right)), None)

    def least_moved(self, pair: Pair) -> Pair:
        """Of the pairs as stiff as ``pair`` (2-3 and 3-2) the one that moves the fewest holes from those in use."""
        now = self.in_use
        if now is None:
            return pair
        same = [
            item for item in self.pairs
            if abs(item.end_rate_n_mm - pair.end_rate_n_mm) < 1e-9 and item.roll_nm_per_rad == pair.roll_nm_per_rad
        ]  # fmt: skip
        return min(same, key=lambda item: abs(item.left - now.left) + abs(item.right - now.right), default=pair)

    @property
    def distinct(self) -> tuple[Pair, ...]:
        """The pairs from soft to stiff, of mirror twins only the one with the lower hole left."""
        seen: dict[tuple[float, float | None], Pair] = {}
        for item in self.pairs:
            seen.setdefault((round(item.end_rate_n_mm, 9), item.roll_nm_per_rad), item)
        return tuple(sorted(seen.values(), key=lambda item: item.end_rate_n_mm))


def pairs_table(car: Car, axle: str) -> BarTable | None:
    """Every hole pair of the bar at ``axle`` (``front``, ``rear``); None: that axle has no bar."""
    ends: Axle = getattr(car, axle)
    if ends.bar is None:
        return None
    parts, findings = parts_of(car, axle)
    if parts is None:
        return BarTable(axle, None, (), None, findings)
    numbers = [(left, right) for left in range(1, len(parts.left) + 1) for right in range(1, len(parts.right) + 1)]
    plain = tuple(pair for pair in (pair_of(parts, *both) for both in numbers) if pair is not None)
    if ends.spring_n_mm is not None:
        spring = ends.spring_n_mm * (ends.spring_mr or 1.0) ** 2
        plain = tuple(replace(pair, roll_heave_free_nm_per_rad=roll_heave_free(parts, pair, spring)) for pair in plain)
    pairs = with_steps(parts, ends.bar, plain)
    table = BarTable(axle, parts, pairs, None, findings)
    return table if parts.in_use is None else replace(table, in_use=table.pair(*parts.in_use))
