"""Values that are possible and unlikely: a warning asks, it never forbids.

The bounds are wide on purpose; common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from itertools import pairwise

from paddock.engine.check.finding import said
from paddock.engine.clock import Place, hh_mm, minutes, settled
from paddock.engine.readings.timeline import readings_entered
from paddock.errors import Problem
from paddock.model import rows as r
from paddock.model.kinds import format_time, plain_number

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


def doubts(rows: Sequence[r.Row]) -> list[Problem]:
    """The questions one file's good rows raise."""
    found: list[Problem] = []
    for row in rows:
        if not isinstance(row, r.TimeRow):
            found += _bounded(row)
        elif not _ordinary(row):
            found += _time(row)
    return [*found, *_clocks(rows)]


def _clocks(rows: Sequence[r.Row]) -> Iterator[Problem]:
    """Where a clock was set back: once a day and entry, at the first row."""
    if not rows or not isinstance(rows[0], r.TimeRow | r.RunRow | r.PressureRow | r.WeatherRow):
        return
    days: dict[tuple[int, str], list[r.Row]] = {}
    for row in rows:
        if getattr(row, "at", None) is not None:
            days.setdefault((row.day, getattr(row, "number", "")), []).append(row)  # type: ignore[attr-defined]
    for entered in days.values():
        ats: list[str] = [row.at for row in entered]  # type: ignore[attr-defined]
        if all(one <= other for one, other in pairwise(ats)):
            continue
        clocks = [minutes(at) for at in ats]
        kept = settled(list(zip(_places(entered, clocks), clocks, strict=True)))
        wrong = [place for place, clock in enumerate(clocks) if kept[place] != clock]
        if wrong:
            first = wrong[0]
            line = max((row.line for row, clock in zip(entered[:first], clocks, strict=False) if clock == kept[first]))
            words = (
                f"{ats[first]} is before {hh_mm(kept[first] or 0.0)} of line {line}, entered earlier: where clocks "
                "disagree the order of entry counts; put right the clock that is wrong"
            )
            yield said(entered[first], words, "warning")


def _places(rows: Sequence[r.Row], clocks: Sequence[float | None]) -> list[Place]:
    """Where the log puts each row within its day."""
    if isinstance(rows[0], r.PressureRow):
        items = readings_entered(row for row in rows if isinstance(row, r.PressureRow))
        return [(item.run, item.rank) for item in items]
    return [
        (getattr(row, "run", 0), clock or 0.0) if hasattr(row, "run") else ()
        for row, clock in zip(rows, clocks, strict=True)
    ]
