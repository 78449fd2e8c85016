"""A torque curve through points without overshoot.

Piecewise cubic Hermite with the slopes of Fritsch and Butland (SIAM J. Sci. Stat. Comput. 5, 1984, p. 300; weighted
harmonic mean of the neighbouring secants, zero at a turn) and the three-point end slopes kept in shape (Moler,
Numerical Computing with Matlab, 3.4). Where the points rise, so does the curve: no hump that nobody measured.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import isfinite

from paddock.engine.car.findings import Finding, doubt, fault
from paddock.model.car_drive import Engine

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
