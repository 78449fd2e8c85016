"""Tracks as files: GPX 1.1, NMEA 0183 and CSV of what a receiver recorded."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from functools import reduce
from operator import xor
from typing import Any

from paddock.engine.where.line import Plane
from tests.receivers import PLANE

MORNING = datetime(2026, 6, 13, 7, 10, tzinfo=UTC).timestamp()
"""When the run of a track begins, on the first day of the small event."""


def degrees(recorded: Mapping[str, Any], plane: Plane = PLANE) -> list[tuple[float, float, float, float]]:
    """(t, lat, lon, speed) of each fix."""
    columns = (recorded[name] for name in ("t_s", "x_m", "y_m", "speed_mps"))
    return [(float(t), *plane.degrees(float(x), float(y)), float(v)) for t, x, y, v in zip(*columns, strict=True)]


def gpx(recorded: Mapping[str, Any], began: float = MORNING, plane: Plane = PLANE, places: int = 8) -> str:
    """GPX 1.1 with one track of one segment; speed in an extension where there is one."""
    points = []
    for t, lat, lon, speed in degrees(recorded, plane):
        stamp = datetime.fromtimestamp(began + t, UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
        more = "" if speed != speed else f"<extensions><speed>{speed:.3f}</speed></extensions>"
        points.append(f'<trkpt lat="{lat:.{places}f}" lon="{lon:.{places}f}"><time>{stamp}</time>{more}</trkpt>')
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<gpx version="1.1" creator="made up" xmlns="http://www.topografix.com/GPX/1/1">\n<trk><trkseg>\n'
        + "\n".join(points) + "\n</trkseg></trk>\n</gpx>\n"
    )  # fmt: skip


def _part(value: float, sides: str, width: int) -> str:
    whole, side = abs(value), sides[0] if value >= 0 else sides[1]
    return f"{int(whole):0{width}d}{(whole - int(whole)) * 60:010.7f},{side}"


def sentence(body: str) -> str:
    """``$body*sum``."""
    return f"${body}*{reduce(xor, body.encode()):02X}\r\n"


def nmea(recorded: Mapping[str, Any], began: float = MORNING) -> str:
    """An RMC sentence a fix."""
    made = []
    for t, lat, lon, speed in degrees(recorded):
        at = datetime.fromtimestamp(began + t, UTC)
        knots = "" if speed != speed else f"{speed * 3600 / 1852:.3f}"
        clock = f"{at:%H%M%S}.{at.microsecond // 1000:03d}"
        made.append(sentence(f"GNRMC,{clock},A,{_part(lat, 'NS', 2)},{_part(lon, 'EW', 3)},{knots},,{at:%d%m%y},,,A"))
    return "".join(made)


def csv(recorded: Mapping[str, Any], header: str = "time_s,lat,lon,speed_kmh") -> str:
    """A table of seconds and degrees."""
    rows = (f"{t:.3f},{lat:.8f},{lon:.8f},{'' if v != v else f'{v * 3.6:.2f}'}" for t, lat, lon, v in degrees(recorded))
    return "\n".join([header, *rows]) + "\n"
