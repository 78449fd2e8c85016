"""Readings that can't be meant, or hardly: each is asked about, kept in the file and left out of the sums.

The bounds are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from paddock.engine.clock import hh_mm, minutes
from paddock.engine.pressure.corners import CORNER_NAMES
from paddock.model.rows import CORNERS, PressureRow
from paddock.model.settings import Gauge, Settings
from paddock.model.units import plain_number, to_psi

_TOP_PSI, _BAR_PSI = 100.0, 6.0
_AIR_C, _TYRE_C = (-40.0, 50.0), (-40.0, 120.0)
_SOON_MIN = 45.0
COLD_APART_K = 5.0
"""A tyre measured by more than this over the air is no cold tyre, K."""


@dataclass(frozen=True, slots=True)
class ReadingDoubt:
    """``field``: a corner or a column of the row; ``out``: left out of the sums."""

    row: PressureRow
    field: str
    text: str
    out: bool = True

    def __str__(self) -> str:
        where = f"pressures.csv:{self.row.line}" if self.row.line else "pressures.csv"
        run = f" run {self.row.run}" if self.row.run else ""
        return f"{where}: day {self.row.day}{run} {self.row.moment}: {self.text}"


def gauge_of(settings: Settings, row: PressureRow) -> Gauge:
    """The row's gauge; an unknown or unnamed one among several: 0.5 psi steps, repeats to 0.3 psi."""
    return settings.gauge_of(row.gauge) or Gauge(id=row.gauge or "")


def _n(value: float) -> str:
    return plain_number(value, 1)


def _corner(row: PressureRow, corner: str) -> ReadingDoubt | None:
    value: float | None = getattr(row, f"{corner}_psi")
    name = CORNER_NAMES[corner]
    if value is None:
        return ReadingDoubt(row, corner, f"{name} was not read")
    if value > _TOP_PSI:
        hint = f": is that kPa ({_n(to_psi(value, 'kpa'))} psi)?" if value <= 600 else ": is that right?"
        return ReadingDoubt(row, corner, f"{name} {_n(value)} psi{hint} Left out")
    if value < 0:
        return ReadingDoubt(row, corner, f"{name} {_n(value)} psi: no gauge reads that. Left out")
    return None


def _bar_typed(row: PressureRow) -> list[ReadingDoubt]:
    """All corners read in bar under a psi header: under 6 psi each, and none quite flat."""
    values = {corner: getattr(row, f"{corner}_psi") for corner in CORNERS}
    known = {corner: value for corner, value in values.items() if value is not None}
    if len(known) < 2 or not all(0.5 < value < _BAR_PSI for value in known.values()):
        return []
    return [ReadingDoubt(row, corner, _bar_text(corner, value)) for corner, value in known.items()]


def _bar_text(corner: str, value: float) -> str:
    return f"{CORNER_NAMES[corner]} {_n(value)} psi: is that bar ({_n(to_psi(value, 'bar'))} psi)? Left out"


def _fahrenheit(value: float) -> float:
    return (value - 32.0) * 5 / 9


def _air(row: PressureRow, weather_c: float | None) -> ReadingDoubt | None:
    value = row.air_c
    if value is None:
        return None
    for other, unit in ((_fahrenheit(value), "F"), (value * 1.8 + 32.0, "C")):
        near = weather_c is not None and abs(value - weather_c) > 15.0 and abs(other - weather_c) < 6.0
        if near or (unit == "F" and not _AIR_C[0] <= value <= _AIR_C[1]):
            return ReadingDoubt(row, "air_c", f"air {_n(value)} C: is that {_n(other)} C, typed in {unit}? Left out")
    return None


def _tyre(row: PressureRow, air_c: float | None) -> ReadingDoubt | None:
    value = row.tyre_c
    if value is None:
        return None
    other = _fahrenheit(value)
    likely = air_c is not None and value > air_c + 65.0 and air_c - 5.0 < other < air_c + 50.0
    if likely or not _TYRE_C[0] <= value <= _TYRE_C[1]:
        return ReadingDoubt(row, "tyre_c", f"tyre {_n(value)} C: is that {_n(other)} C, typed in F? Left out")
    return None


def _cold(row: PressureRow, air_c: float | None, ran: bool, since_run: float | None) -> ReadingDoubt | None:
    """A reading marked cold that can't be: soon after a run, or the tyre well above the air."""
    if row.moment != "cold":
        return None
    wait = row.wait_min if row.wait_min is not None and row.wait_min >= 0 else since_run
    if wait is not None and wait < _SOON_MIN and (ran or wait > 0):
        return ReadingDoubt(row, "moment", f"marked cold after standing {_n(wait)} min: was it hot? Not taken as cold")
    if row.tyre_c is not None and air_c is not None and row.tyre_c - air_c > COLD_APART_K:
        text = f"marked cold with the tyre {_n(row.tyre_c - air_c)} C over the air: was it hot? Not taken as cold"
        return ReadingDoubt(row, "moment", text)
    return None


def _clock(row: PressureRow, settled: float | None) -> ReadingDoubt | None:
    clock = minutes(row.at)
    if settled is None or clock is None or settled <= clock:
        return None
    text = f"{row.at} is before {hh_mm(settled)} of a row entered earlier: taken as later. Was the clock set back?"
    return ReadingDoubt(row, "at", text, out=False)


def _other(row: PressureRow, settings: Settings) -> Iterator[ReadingDoubt]:
    if row.wait_min is not None and row.wait_min < 0:
        yield ReadingDoubt(row, "wait_min", f"a wait of {_n(row.wait_min)} min: is that right? Left out")
    if row.gauge is not None and settings.gauge_of(row.gauge) is None:
        yield ReadingDoubt(
            row, "gauge", f"gauge {row.gauge!r} is not in event.toml: taken to repeat to 0.3 psi", out=False
        )


def doubts_of(
    row: PressureRow,
    settings: Settings,
    weather_c: float | None,
    ran: bool = False,
    since_run: float | None = None,
    settled: float | None = None,
) -> tuple[ReadingDoubt, ...]:
    """All questions a row raises.

    ``ran``: the car has run that day before it; ``since_run``: minutes since then, None = no clock; ``settled``: the
    minute it is taken as, after that of its clock where the clock was set back.
    """
    if all(getattr(row, f"{corner}_psi") is None for corner in CORNERS):
        return (ReadingDoubt(row, "moment", "no corner was read"),)
    pressures = _bar_typed(row) or [found for corner in CORNERS if (found := _corner(row, corner)) is not None]
    air = _air(row, weather_c)
    air_c = weather_c if air is not None or row.air_c is None else row.air_c
    tyre = _tyre(row, air_c)
    cold = _cold(row, air_c, ran, since_run) if tyre is None else None
    back = _clock(row, settled)
    return (*pressures, *(found for found in (air, tyre, cold, back) if found is not None), *_other(row, settings))
