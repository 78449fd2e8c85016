"""Degrees to metres around one place, by the ellipsoid's two radii of curvature there (WGS84)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import polars as pl

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
