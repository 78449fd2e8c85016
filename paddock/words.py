"""Numbers to words, for commands and screens alike."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from paddock.model.units import format_time, from_psi, plain_number

if TYPE_CHECKING:
    from paddock.engine.clock import AsOf


def seconds(ms: int | None, decimals: int = 3) -> str:
    """``46.512``; a dash where there is none."""
    return "-" if ms is None else format_time(ms, decimals)


def difference(ms: int | None, decimals: int = 3) -> str:
    """A signed difference: ``-0.312`` is faster."""
    if ms is None:
        return "-"
    return ("+" if ms > 0 else "") + (format_time(ms, decimals) if ms else format_time(0, decimals))


def hundredths(ms: float) -> str:
    """A signed difference as the sentences round it: ``-0.31``; under half a hundredth ``0.00``."""
    whole = round(ms / 10)
    return f"{whole / 100:+.2f}" if whole else "0.00"


def run_text(raw_ms: int | None, cones: int, status: str | None, decimals: int = 3) -> str:
    """A run as results are written: ``46.512+1``, ``46.512 dnf``, ``dns``."""
    parts = [] if raw_ms is None else [seconds(raw_ms, decimals) + (f"+{cones}" if cones else "")]
    return " ".join([*parts, *([status] if status else [])]) or "-"


def pressure(psi: float | None, unit: str = "psi") -> str:
    """A gauge pressure with the decimals of its unit, without the unit's name."""
    if psi is None:
        return "-"
    return plain_number(from_psi(psi, unit), {"psi": 1, "kpa": 0, "bar": 2}[unit])


def balance(value: int | None) -> str:
    """``u2`` understeer, ``0`` neutral, ``o1`` oversteer: as it is typed."""
    if value is None:
        return "-"
    return "0" if value == 0 else ("u" if value < 0 else "o") + str(abs(value))


def plural(count: int, one: str, many: str | None = None) -> str:
    """``1 run``, ``2 runs``."""
    return f"{count} {one if count == 1 else many or one + 's'}"


_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def as_of(moment: AsOf) -> str:
    """``as of Sun 12:58``; only the weekday where no clock is known; "" where it is simply now."""
    if moment.source == "clock":
        return ""
    day = _WEEKDAYS[moment.time.weekday()]
    if moment.clocked and moment.source == "rows" and moment.minute < 2:
        return f"as of the evening before {day}"
    return f"as of {day} {moment.time:%H:%M}" if moment.clocked else f"as of {day}"


def ago(minutes: float) -> str:
    """``3 min ago``, ``2 h ago``."""
    return f"{minutes:.0f} min ago" if minutes < 90 else f"{minutes / 60:.0f} h ago"


def ordinal(rank: int) -> str:
    """``1st``, ``2nd``, ``11th``."""
    ending = "th" if rank % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(rank % 10, "th")
    return f"{rank}{ending}"


def torque(newton_metres: float) -> str:
    """``40 N·m``."""
    return f"{plain_number(newton_metres, 1)} N·m"


def runs_left(runs: float | None, low: float | None, high: float | None) -> str:
    """``62 (48-85)``; ``48+`` where there is no upper end; a dash where nothing is known. Whole runs, rounded down."""
    if runs is None:
        return "-"
    whole, least, most = (None if value is None else int(value + 1e-9) for value in (runs, low or 0.0, high))
    return f"{whole} ({least}+)" if most is None else f"{whole} ({least}-{most})"


def by_edge(values: Iterable[float | None], places: int) -> str:
    """Inner, middle and outer edge: ``5.1/5.4/4.2``."""
    return "/".join("-" if value is None else f"{value:.{places}f}" for value in values)


def reading(psi: float | None, unit: str = "psi") -> str:
    """A gauge reading with fixed decimals, so that columns line up: ``46.0``."""
    if psi is None:
        return "-"
    places = {"psi": 1, "kpa": 0, "bar": 2}[unit]
    text = plain_number(from_psi(psi, unit), places)
    whole, _, part = text.partition(".")
    return whole + (f".{part.ljust(places, '0')}" if places else "")


def pressure_difference(psi: float | None, unit: str = "psi") -> str:
    """A signed difference of pressures: ``+1.5`` is over."""
    text = reading(psi, unit)
    return f"+{text}" if psi is not None and psi > 0 and text.strip("0.") else text.replace("-0.0", "0.0")


def tenths(value: float | None) -> str:
    """To a tenth where it has one; "" where it isn't known."""
    return "" if value is None else plain_number(value, 1)


def capital(text: str) -> str:
    """The first letter large, the rest as it is."""
    return text[:1].upper() + text[1:]
