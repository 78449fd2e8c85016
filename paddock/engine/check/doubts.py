"""Values that are possible and unlikely: a warning asks, it never forbids.

The bounds are wide on purpose; common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache

from paddock.engine.check.finding import said
from paddock.errors import Problem
from paddock.model import rows as r
from paddock.model.kinds import format_time, plain_number

__all__ = ["doubts"]

_TIME_MS = (10_000, 300_000)
_CONES, _MISSES = 15, 8
_PSI = (12.0, 75.0)
_CORNERS = frozenset({"lf_psi", "rf_psi", "lr_psi", "rr_psi"})
_BOUNDS: dict[str, tuple[float, float, str]] = {
    "tyre_c": (-25.0, 130.0, "C"),
    "air_c": (-25.0, 50.0, "C"),
    "surface_c": (-25.0, 80.0, "C"),
    "inner_c": (-25.0, 150.0, "C"),
    "middle_c": (-25.0, 150.0, "C"),
    "outer_c": (-25.0, 150.0, "C"),
    "inner_mm": (0.0, 14.0, "mm"),
    "middle_mm": (0.0, 14.0, "mm"),
    "outer_mm": (0.0, 14.0, "mm"),
    "floor_mm": (0.0, 8.0, "mm"),
    "wait_min": (0.0, 600.0, "min"),
    "humidity_pct": (0.0, 100.0, "%"),
    "station_hpa": (600.0, 1085.0, "hPa"),
    "wind_kmh": (0.0, 150.0, "km/h"),
    "lost_s": (0.0, 60.0, "s"),
    "torque_nm": (1.0, 900.0, "N·m"),
    "max_cold_psi": (25.0, 75.0, "psi"),
}


def _pressure(row: r.Row, field: str, value: float) -> Problem | None:
    if _PSI[0] <= value <= _PSI[1]:
        return None
    hint = "" if value < 100 else f"; if that is kPa it is {plain_number(value / 6.894757, 1)} psi"
    return said(row, f"{field[:2]} reads {plain_number(value, 1)} psi: is that right?{hint}", "warning")


@cache
def _asked(row: type[r.Row]) -> tuple[str, ...]:
    """The fields of a row that have bounds."""
    return tuple(field for field in row.model_fields if field in _CORNERS or field in _BOUNDS)


def _bounded(row: r.Row) -> Iterator[Problem]:
    for field in _asked(type(row)):
        value = getattr(row, field)
        if not isinstance(value, float | int) or isinstance(value, bool):
            continue
        if field in _CORNERS:
            found = _pressure(row, field, value)
            if found is not None:
                yield found
        else:
            low, high, unit = _BOUNDS[field]
            if not low <= value <= high:
                yield said(row, f"{field} is {plain_number(value, 2)} {unit}: is that right?", "warning")


def _ordinary(row: r.TimeRow) -> bool:
    """A run nobody would ask about: asked of thousands after every entry, so in few steps."""
    time, cones, misses = row.time_ms, row.cones, row.misses
    return (
        time is not None
        and _TIME_MS[0] <= time <= _TIME_MS[1]
        and row.status != "dns"
        and (cones is None or cones <= _CONES)
        and (misses is None or misses <= _MISSES)
    )


def _time(row: r.TimeRow) -> Iterator[Problem]:
    if row.time_ms is None and row.status is None:
        yield said(row, "no time and no status: not counted until one is there", "warning")
    if row.time_ms is not None and not _TIME_MS[0] <= row.time_ms <= _TIME_MS[1]:
        yield said(row, f"a run of {format_time(row.time_ms)} s: is that right?", "warning")
    if row.time_ms is not None and row.status == "dns":
        yield said(row, "dns with a time: did it start or not?", "warning")
    if (row.cones or 0) > _CONES:
        yield said(row, f"{row.cones} cones in one run: is that right?", "warning")
    if (row.misses or 0) > _MISSES:
        yield said(row, f"{row.misses} missed gates in one run: is that right?", "warning")


def doubts(rows: Iterable[r.Row]) -> list[Problem]:
    """The questions one file's good rows raise."""
    found: list[Problem] = []
    for row in rows:
        if not isinstance(row, r.TimeRow):
            found += _bounded(row)
        elif not _ordinary(row):
            found += _time(row)
    return found
