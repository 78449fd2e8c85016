"""Engine, gearbox, wheels and grip as one value that speeds, thrust and acceleration are read from.

Speed = rpm / overall ratio x rolling circumference. Thrust = torque x overall x efficiency / rolling radius.
Acceleration = the lesser of (thrust - drag) / (mass with all that turns) and (grip - drag) / mass. What turns:
wheel and engine inertias where given, else the mass factor 1.04 + 0.0025 x overall^2 (J. Y. Wong, Theory of Ground
Vehicles, for passenger cars; constants from memory). Grip with the load that moves between the axles when
accelerating: front drive ``mu m g f / (1 + mu h / l)``, rear drive
``mu m g (1 - f) / (1 - mu h / l)``, all: ``mu m g``.

Tyre sizes are arithmetic: rim in inches + 2 x width x aspect. A loaded tyre rolls as if it were smaller: 0.97 of the
free diameter. Sixteen rows of a tyre maker's table (light-truck sizes, revolutions per mile against inflated diameter)
lie between 0.9696 and 0.9747; a roll-out of your own tyre beats it.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import isfinite, pi, sqrt

from paddock.errors import Finding, doubt, fault, merged
from paddock.model.car import Car, measure_of
from paddock.model.car_drive import Engine, Gearbox

_FROM_LBFT = 4.4482216152605 * 0.3048


@dataclass(frozen=True, slots=True)
class TorqueCurve:
    """Points (rpm rising, N.m) and the slope at each. Outside them nothing is known."""

    rpm: tuple[float, ...]
    torque_nm: tuple[float, ...]
    slopes: tuple[float, ...]

    @property
    def low(self) -> float:
        """First rpm."""
        return self.rpm[0]

    @property
    def high(self) -> float:
        """Last rpm."""
        return self.rpm[-1]

    def knows(self, rpm: float) -> bool:
        """Whether ``rpm`` lies within the points."""
        return self.rpm[0] <= rpm <= self.rpm[-1]

    def at(self, rpm: float) -> float:
        """Torque in N.m; outside the points the nearest point's."""
        xs = self.rpm
        if rpm <= xs[0]:
            return self.torque_nm[0]
        if rpm >= xs[-1]:
            return self.torque_nm[-1]
        i = bisect_right(xs, rpm) - 1
        width = xs[i + 1] - xs[i]
        s = (rpm - xs[i]) / width
        y0, y1 = self.torque_nm[i], self.torque_nm[i + 1]
        d0, d1 = self.slopes[i] * width, self.slopes[i + 1] * width
        rise = y1 - y0
        return y0 + s * (d0 + s * (3 * rise - 2 * d0 - d1 + s * (d0 + d1 - 2 * rise)))


def _end_slope(near: float, far: float, near_secant: float, far_secant: float) -> float:
    slope = ((2 * near + far) * near_secant - near * far_secant) / (near + far)
    if slope * near_secant <= 0:
        return 0.0
    if near_secant * far_secant <= 0 and abs(slope) > 3 * abs(near_secant):
        return 3 * near_secant
    return slope


def _slopes(xs: Sequence[float], ys: Sequence[float]) -> tuple[float, ...]:
    widths = [b - a for a, b in pairwise(xs)]
    secants = [(b - a) / w for a, b, w in zip(ys, ys[1:], widths, strict=False)]
    if len(secants) == 1:
        return (secants[0], secants[0])
    inner = []
    for k in range(1, len(secants)):
        before, after = secants[k - 1], secants[k]
        if before * after <= 0:
            inner.append(0.0)
            continue
        w1, w2 = 2 * widths[k] + widths[k - 1], widths[k] + 2 * widths[k - 1]
        inner.append((w1 + w2) / (w1 / before + w2 / after))
    first = _end_slope(widths[0], widths[1], secants[0], secants[1])
    last = _end_slope(widths[-1], widths[-2], secants[-1], secants[-2])
    return (first, *inner, last)


def curve_through(rpm: Sequence[float], torque_nm: Sequence[float]) -> TorqueCurve:
    """The curve through at least two points with strictly rising rpm; ValueError otherwise."""
    if len(rpm) < 2 or len(rpm) != len(torque_nm) or any(b <= a for a, b in pairwise(rpm)):
        raise ValueError("at least two points with rising rpm, one torque each, are wanted")
    return TorqueCurve(tuple(rpm), tuple(torque_nm), _slopes(rpm, torque_nm))


def _sorted_points(engine: Engine, notes: list[Finding]) -> list[tuple[float, float]]:
    rpm, torque = engine.rpm or (), engine.torque_nm or ()
    points = list(zip(rpm, torque, strict=False))
    if any(b < a for a, b in pairwise(rpm)):
        notes.append(doubt("engine.rpm", "not in rising order: sorted with their torques; put them in order"))
        points.sort(key=lambda point: point[0])
    kept: list[tuple[float, float]] = []
    for point in points:
        if not 0 < point[0] <= 25000 or not 0 <= point[1] <= 5000:
            notes.append(fault("engine.torque_nm", f"{point[1]:g} N.m at {point[0]:g} rpm can't be: left out; mend it"))
        elif kept and point[0] == kept[-1][0]:
            notes.append(fault("engine.rpm", f"{point[0]:g} rpm is there twice: the first is used, strike one out"))
        else:
            kept.append(point)
    return kept


def curve_of(engine: Engine) -> tuple[TorqueCurve | None, tuple[Finding, ...]]:
    """The engine's curve, None where fewer than two good points are known."""
    rpm, torque = engine.rpm or (), engine.torque_nm or ()
    notes: list[Finding] = []
    if not rpm or not torque:
        return None, (doubt("engine.rpm", "no torque curve, so speeds only: give rpm and torque_nm, at least two "
                            "points, or curve = \"torque.csv\""),)  # fmt: skip
    if len(rpm) != len(torque):
        notes.append(fault("engine.torque_nm", f"{len(rpm)} rpm but {len(torque)} torques: give one torque per rpm"))
        return None, tuple(notes)
    points = _sorted_points(engine, notes)
    if len(points) < 2:
        notes.append(fault("engine.rpm", "a torque curve of one point says nothing: give at least two, better one "
                           "every 500 rpm up to the limiter"))  # fmt: skip
        return None, tuple(notes)
    return curve_through(*zip(*points, strict=True)), tuple(notes)


def _cells(line: str, separator: str) -> list[str]:
    return [cell.strip().strip('"').strip() for cell in line.split(separator)]


def _number(text: str) -> float | None:
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        return None
    return value if isfinite(value) else None


def read_points(text: str) -> tuple[tuple[float, ...], tuple[float, ...], tuple[Finding, ...]]:
    """rpm, torque (N.m) and findings from a CSV with columns ``rpm`` and ``torque_nm`` or ``torque_lbft``.

    Semicolons, tabs, decimal commas and a byte-order mark are read; a line that can't be is named and left out.
    """
    lines = [(number, line) for number, line in enumerate(text.lstrip("\ufeff").splitlines(), 1) if line.strip()]
    head = lines[0][1] if lines else ""
    separator = next((mark for mark in (";", "\t") if mark in head), ",")
    names = [name.lower() for name in _cells(head, separator)]
    column = next((name for name in ("torque_nm", "torque_lbft") if name in names), None)
    if "rpm" not in names or column is None:
        return (), (), (fault("engine.curve", "no columns rpm and torque_nm (or torque_lbft) in the first line"),)
    factor = _FROM_LBFT if column == "torque_lbft" else 1.0
    points, notes = [], []
    for number, line in lines[1:]:
        cells = dict(zip(names, (_number(cell) for cell in _cells(line, separator)), strict=False))
        rpm, torque = cells.get("rpm"), cells.get(column)
        if rpm is None or torque is None:
            notes.append(fault("engine.curve", f"line {number} of the curve can't be read: left out; mend it"))
        else:
            points.append((rpm, torque * factor))
    return tuple(p[0] for p in points), tuple(p[1] for p in points), tuple(notes)


G = 9.80665
EFFICIENCY, SHIFT_S, REACTION_S = 0.9, 0.3, 0.3
"""Taken where the car file has none: common practice, no source."""
AIR_KG_M3 = 1.2
ROLLING = 0.97
_METRIC = re.compile(r"(?:P|LT|C|T)?\s*(\d{3})\s*/\s*(\d{2,3})\s*Z?[RDB-]?X?\s*(\d{2}(?:\.5)?)", re.IGNORECASE)
_INCH = re.compile(r"(\d{2}(?:\.\d+)?)\s*X\s*(\d{1,2}(?:\.\d+)?)\s*Z?[RDB-]\s*(\d{2})", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class TyreSize:
    """``width_mm`` nominal section, ``rim_in`` the rim's diameter, ``diameter_mm`` free, unloaded."""

    width_mm: float
    rim_in: float
    diameter_mm: float


def read_size(text: str) -> TyreSize | None:
    """``225/45R17``, ``P205/60 R16``, ``225/45ZR17 91W``, ``31x10.5R15``; None: no size that can be read."""
    found = _METRIC.match(text.strip())
    if found is not None:
        width, aspect, rim = (float(part) for part in found.groups())
        size = TyreSize(width, rim, rim * 25.4 + 2 * width * aspect / 100)
    elif (found := _INCH.match(text.strip())) is not None:
        outer, across, rim = (float(part) for part in found.groups())
        size = TyreSize(across * 25.4, rim, outer * 25.4)
    else:
        return None
    return size if 8 <= size.rim_in <= 26 and size.rim_in * 25.4 < size.diameter_mm < 1300 else None


def rolling_circumference(gearbox: Gearbox) -> tuple[float | None, tuple[Finding, ...]]:
    """Millimetres of road per turn: the roll-out, else 0.97 of the size's circumference; None: neither."""
    size = None if gearbox.size is None else read_size(gearbox.size)
    key = "gearbox.rolling_circumference_mm"
    from_size = None if size is None else pi * size.diameter_mm * ROLLING
    rolled = gearbox.rolling_circumference_mm
    notes: list[Finding] = []
    if gearbox.size is not None and size is None:
        notes.append(fault("gearbox.size", f"{gearbox.size!r} is no tyre size: write it as moulded, like 225/45R17"))
    if rolled is None and from_size is None:
        notes.append(doubt(key, "missing, so no speeds: chalk the tread and the road, roll three turns with the driver "
                           "in and divide by three; or give size"))  # fmt: skip
    if rolled is not None and from_size is not None and abs(rolled / from_size - 1) > 0.04:
        notes.append(doubt(key, f"the roll-out of {rolled:g} mm and the size's {from_size:.0f} mm are far apart: "
                           "measure it again, or mend size; the roll-out is used"))  # fmt: skip
    return (rolled if rolled is not None else from_size), tuple(notes)


def mass_factor(overall: float) -> float:
    """Mass with all that turns over mass, for a passenger car with this overall ratio."""
    return 1.04 + 0.0025 * overall**2


@dataclass(frozen=True, slots=True)
class Driveline:
    """``ratios``: gearbox only, first gear first. ``limiter_rpm``, ``curve``, ``mass_kg``, ``grip_n`` None: not known.

    ``turning``: kg.m2 of (four wheels, engine), None each: not given. ``measured_rpm_per_s``: per gear, 0 = not.
    """

    ratios: tuple[float, ...]
    final: float
    circumference_m: float
    efficiency: float
    limiter_rpm: float | None
    curve: TorqueCurve | None
    mass_kg: float | None
    grip_n: float | None
    mu: float | None
    drag_area_m2: float
    turning: tuple[float | None, float | None]
    shift_s: float
    reaction_s: float
    measured_rpm_per_s: tuple[float, ...] = ()

    @property
    def radius_m(self) -> float:
        """Rolling radius."""
        return self.circumference_m / (2 * pi)

    @property
    def top_rpm(self) -> float | None:
        """Where a gear ends: the limiter, else the last point of the curve."""
        return self.limiter_rpm or (None if self.curve is None else self.curve.high)

    def overall(self, gear: int) -> float:
        """Engine turns per wheel turn in ``gear`` (from 1)."""
        return self.ratios[gear - 1] * self.final

    def kmh(self, gear: int, rpm: float) -> float:
        """Road speed at ``rpm``."""
        return rpm * 0.06 / self.overall(gear) * self.circumference_m

    def rpm(self, gear: int, kmh: float) -> float:
        """Engine speed at a road speed."""
        return kmh / 0.06 * self.overall(gear) / self.circumference_m

    def thrust_n(self, gear: int, rpm: float) -> float | None:
        """Force at the driven wheels before any grip limit; None: the curve does not reach ``rpm``."""
        if self.curve is None or not self.curve.knows(rpm):
            return None
        return self.curve.at(rpm) * self.overall(gear) * self.efficiency / self.radius_m

    def moving_kg(self, gear: int) -> float | None:
        """Mass with all that turns in ``gear``; None: no mass."""
        if self.mass_kg is None:
            return None
        wheels, engine = self.turning
        if wheels is None and engine is None:
            return self.mass_kg * mass_factor(self.overall(gear))
        turning = (wheels or 0.0) + (engine or 0.0) * self.overall(gear) ** 2
        return self.mass_kg + turning / self.radius_m**2

    def drag_n(self, kmh: float) -> float:
        """Air drag."""
        return 0.5 * AIR_KG_M3 * self.drag_area_m2 * (kmh / 3.6) ** 2

    def grip_left_n(self, lateral_g: float) -> float | None:
        """Grip left for driving while cornering: a circle; 0 = all of it is used sideways."""
        if self.grip_n is None or self.mu is None:
            return None
        return self.grip_n * sqrt(max(0.0, 1 - (lateral_g / self.mu) ** 2))

    def acceleration(self, gear: int, rpm: float, lateral_g: float = 0.0) -> float | None:
        """m/s2 at full throttle; outside the curve its nearest torque is used. None: no curve or no mass."""
        moving = self.moving_kg(gear)
        if moving is None or self.curve is None or self.mass_kg is None:
            return None
        drag = self.drag_n(self.kmh(gear, rpm))
        thrust = self.curve.at(rpm) * self.overall(gear) * self.efficiency / self.radius_m
        driven = (thrust - drag) / moving
        grip = self.grip_left_n(lateral_g)
        return driven if grip is None else min(driven, (grip - drag) / self.mass_kg)

    def rpm_per_s(self, gear: int, rpm: float) -> float | None:
        """How fast the engine speeds up at ``rpm``: as measured, else computed; None: neither."""
        if gear <= len(self.measured_rpm_per_s) and self.measured_rpm_per_s[gear - 1] > 0:
            return self.measured_rpm_per_s[gear - 1]
        rate = self.acceleration(gear, rpm)
        return None if rate is None else rate * self.overall(gear) * 60 / self.circumference_m


def _missing(key: str, what: str) -> Finding:
    row = measure_of(key)
    return doubt(key, f"missing, so {what}: {row.how}")


def grip_force(car: Car) -> tuple[float | None, tuple[Finding, ...]]:
    """Greatest force (N) the driven wheels hold on the straight, None: something is missing."""
    what = "no grip limit"
    names = ["drive", "mass_kg", *(["front_share"] if car.drive in ("front", "rear") else [])]
    gone = [_missing(name, what) for name in names if getattr(car, name) is None]
    mu = car.gearbox.grip_g
    if mu is None:
        gone.append(_missing("gearbox.grip_g", what))
    if gone or mu is None or car.mass_kg is None:
        return None, tuple(gone)
    whole = mu * car.mass_kg * G
    if car.drive == "all":
        return whole, ()
    assert car.front_share is not None
    if car.cg_height_mm is None or car.wheelbase_mm is None:
        key = "cg_height_mm" if car.cg_height_mm is None else "wheelbase_mm"
        share = car.front_share if car.drive == "front" else 1 - car.front_share
        return whole * share, (_missing(key, "grip is taken from the weight at rest"),)
    lean = mu * car.cg_height_mm / car.wheelbase_mm
    if car.drive == "front":
        return whole * car.front_share / (1 + lean), ()
    return (min(whole, whole * (1 - car.front_share) / (1 - lean)) if lean < 1 else whole), ()


def _limiter(box: Gearbox, curve: TorqueCurve | None) -> list[Finding]:
    if box.limiter_rpm is None:
        without = "the end of the torque curve stands in" if curve else "no speeds at the limiter"
        return [_missing("gearbox.limiter_rpm", without)]
    if curve is None:
        return []
    if curve.low >= box.limiter_rpm:
        return [fault("engine.rpm", f"the curve begins at {curve.low:g} rpm, above the limiter: mend one of them")]
    if curve.high < box.limiter_rpm:
        return [doubt("engine.rpm", f"the curve ends at {curve.high:g} rpm, the limiter is at {box.limiter_rpm:g}: "
                      "what lies between is not known; add points")]  # fmt: skip
    return []


def _ratios(box: Gearbox) -> list[Finding]:
    notes: list[Finding] = []
    ratios = box.ratios or ()
    for gear, ratio in enumerate(ratios, 1):
        if not 0.1 <= ratio <= 20:
            notes.append(fault("gearbox.ratios", f"a ratio of {ratio:g} in gear {gear} can't be: engine turns per turn "
                               "of the gearbox's output"))  # fmt: skip
        elif gear > 1 and ratio >= ratios[gear - 2] > 0:
            notes.append(fault("gearbox.ratios", f"out of order: gear {gear} ({ratio:g}) must be smaller than gear "
                               f"{gear - 1} ({ratios[gear - 2]:g}); speeds only, no shift between these"))  # fmt: skip
    return notes


def _needed(box: Gearbox) -> list[Finding]:
    gone = (name for name in ("ratios", "final") if not getattr(box, name))
    return [_missing(f"gearbox.{name}", "nothing of the gears") for name in gone]


def _assumed(car: Car, grip: tuple[Finding, ...], curve: TorqueCurve | None) -> list[Finding]:
    box = car.gearbox
    notes: list[Finding] = []
    if curve is None:
        return notes
    if car.mass_kg is None and "mass_kg" not in {item.key for item in grip}:
        notes.append(_missing("mass_kg", "no shift light"))
    if box.efficiency is None:
        notes.append(_missing("gearbox.efficiency", f"{EFFICIENCY:g} is taken"))
    if box.reaction_s is None:
        notes.append(_missing("gearbox.reaction_s", f"{REACTION_S:g} s is taken"))
    if box.shift_s is None:
        notes.append(_missing("gearbox.shift_s", f"{SHIFT_S:g} s is taken"))
    return [*grip, *notes]


def _given(value: float | None, default: float) -> float:
    return default if value is None else value


def driveline_of(car: Car) -> tuple[Driveline | None, tuple[Finding, ...]]:
    """The driveline of ``car`` and what is missing or can't be; None: no ratios, no final drive or no wheel."""
    box = car.gearbox
    around, wheel_notes = rolling_circumference(box)
    curve, curve_notes = curve_of(car.engine)
    needed = _needed(box)
    found = merged(needed, wheel_notes)
    if needed or around is None or box.ratios is None or box.final is None:
        return None, found
    grip, grip_notes = grip_force(car)
    limit = _limiter(box, curve)
    if any(item.level == "fault" for item in limit):
        curve = None
    wheel, engine = box.wheel_inertia_kg_m2, box.engine_inertia_kg_m2
    line = Driveline(
        ratios=box.ratios,
        final=box.final,
        circumference_m=around / 1000.0,
        efficiency=_given(box.efficiency, EFFICIENCY),
        limiter_rpm=box.limiter_rpm,
        curve=curve,
        mass_kg=car.mass_kg,
        grip_n=grip,
        mu=box.grip_g,
        drag_area_m2=_given(car.drag_area_m2, 0.0),
        turning=(None if wheel is None else 4 * wheel, engine),
        shift_s=_given(box.shift_s, SHIFT_S),
        reaction_s=_given(box.reaction_s, REACTION_S),
        measured_rpm_per_s=box.rpm_per_s or (),
    )
    return line, merged(found, _ratios(box), curve_notes, limit, _assumed(car, grip_notes, curve))
