"""The reference line of a course: one run's path, and the gates across it where the marks are."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    import polars as pl
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


NEAR_M = 25.0
"""A mark farther from the path than this is not on it."""
STATION_M = 1.0


@dataclass(frozen=True, slots=True)
class MarkGate:
    """Across the line at a mark. ``share``: of the line's length from its start; ``along``: the unit vector driven."""

    element: int
    share: float
    x_m: float
    y_m: float
    along: tuple[float, float]


@dataclass(frozen=True, slots=True)
class DrivenLine:
    """Stations every metre or so: ``x_m``, ``y_m`` and the unit vector along (``ax``, ``ay``); gates in order."""

    x_m: Floats
    y_m: Floats
    ax: Floats
    ay: Floats
    length_m: float
    gates: tuple[MarkGate, ...]


def travelled(x: Floats, y: Floats) -> Floats:
    """Metres driven at each point, from 0."""
    import numpy as np

    return np.concatenate(([0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))))


def line_of(x: Floats, y: Floats, points: Sequence[tuple[int, float, float]]) -> DrivenLine:
    """The line through a run's path, fixes thinned to where it moved, and a gate at each ``(element, x, y)``.

    A mark belongs to the pass near it that keeps all marks in their order; one with no pass within ``NEAR_M`` is left
    out. The path is resampled every ``STATION_M`` and its direction taken over some 6 m, so that noise turns no gate.
    """
    import numpy as np

    far = travelled(x, y)
    moved = np.concatenate(([True], np.diff(far) > 1e-6))
    far, x, y = far[moved], x[moved], y[moved]
    count = max(8, round(far[-1] / STATION_M))
    stations = np.linspace(0.0, far[-1], count)
    sx, sy = np.interp(stations, far, x), np.interp(stations, far, y)
    step = far[-1] / (count - 1)
    reach = max(1, round(3.0 / step))
    at = np.arange(count)
    before, after = np.maximum(at - reach, 0), np.minimum(at + reach, count - 1)
    dx, dy = sx[after] - sx[before], sy[after] - sy[before]
    size = np.maximum(np.hypot(dx, dy), 1e-9)
    ax, ay = dx / size, dy / size
    gates = _gates(stations, sx, sy, ax, ay, points)
    return DrivenLine(sx, sy, ax, ay, float(far[-1]), gates)


def _gates(
    stations: Floats, x: Floats, y: Floats, ax: Floats, ay: Floats, points: Sequence[tuple[int, float, float]]
) -> tuple[MarkGate, ...]:
    import numpy as np

    choices: list[list[tuple[int, float]]] = []
    for _, px, py in points:
        apart = np.hypot(x - px, y - py)
        padded = np.concatenate(([np.inf], apart, [np.inf]))
        lowest = (apart <= padded[:-2]) & (apart < padded[2:]) & (apart < NEAR_M)
        choices.append([(int(at), float(apart[at]) ** 2) for at in np.flatnonzero(lowest)])
    chosen = in_order(choices, miss=(2 * NEAR_M) ** 2)
    gates = []
    for (element, px, py), options, which in zip(points, choices, chosen, strict=True):
        if which is not None:
            at = options[which][0]
            along = (float(ax[at]), float(ay[at]))
            share = float(stations[at] / stations[-1])
            gates.append(MarkGate(element, share, px, py, along))
    return tuple(gates)


def in_order(choices: Sequence[Sequence[tuple[float, float]]], miss: float) -> list[int | None]:
    """For each list of ``(place, cost)`` which is chosen, None for none: places rise, the sum of costs is least.

    ``miss``: the cost of choosing none.
    """
    best: list[tuple[float, float, tuple[int | None, ...]]] = [(-1e300, 0.0, ())]
    for options in choices:
        grown = [(place, cost + miss, (*path, None)) for place, cost, path in best]
        for at, (place, cost) in enumerate(options):
            fits = [(total, path) for last, total, path in best if last < place]
            if fits:
                total, path = min(fits, key=lambda item: item[0])
                grown.append((place, total + cost, (*path, at)))
        best = _undominated(grown)
    return list(min(best, key=lambda item: item[1])[2])


def _undominated(
    found: list[tuple[float, float, tuple[int | None, ...]]],
) -> list[tuple[float, float, tuple[int | None, ...]]]:
    """Ways that are neither later nor dearer than another."""
    found.sort(key=lambda item: (item[0], item[1]))
    kept: list[tuple[float, float, tuple[int | None, ...]]] = []
    for item in found:
        if not kept or item[1] < kept[-1][1]:
            kept.append(item)
    return kept


# a place on the earth as metres on a plane


A_M = 6_378_137.0
E2 = 0.006694379990141316
"""Semi-major axis and squared eccentricity of WGS84 (NIMA TR8350.2)."""
MOST_LATITUDE = 89.0
"""Nearer to a pole east and west turn within a course: no plane there."""


def radii_m(lat: float) -> tuple[float, float]:
    """(along the meridian, across it) at a latitude in degrees."""
    part = 1 - E2 * math.sin(math.radians(lat)) ** 2
    return A_M * (1 - E2) / part**1.5, A_M / math.sqrt(part)


@dataclass(frozen=True, slots=True)
class Plane:
    """East ``x_m`` and north ``y_m`` of a place in degrees. Good to a few mm over a course of 1 km."""

    lat: float
    lon: float

    def xy(self, lat: float, lon: float) -> tuple[float, float]:
        """Metres of a point; the antimeridian is no edge."""
        north, across = radii_m(self.lat)
        east = (lon - self.lon + 180) % 360 - 180
        return across * math.cos(math.radians(self.lat)) * math.radians(east), north * math.radians(lat - self.lat)

    def degrees(self, x_m: float, y_m: float) -> tuple[float, float]:
        """(lat, lon) of a point in metres; the longitude from -180 up to 180."""
        north, across = radii_m(self.lat)
        east = math.degrees(x_m / (across * math.cos(math.radians(self.lat))))
        return self.lat + math.degrees(y_m / north), (self.lon + east + 180) % 360 - 180

    def placed(self, fixes: pl.DataFrame) -> pl.DataFrame:
        """``lat`` and ``lon`` of a frame as ``x_m`` and ``y_m``."""
        import polars as pl

        north, across = radii_m(self.lat)
        east = (pl.col("lon") - self.lon + 180) % 360 - 180
        to_east = across * math.cos(math.radians(self.lat)) * math.pi / 180
        return fixes.with_columns(x_m=east * to_east, y_m=(pl.col("lat") - self.lat) * (north * math.pi / 180)).drop(
            "lat", "lon"
        )
