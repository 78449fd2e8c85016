"""Numbers to words, for commands and screens alike."""

from __future__ import annotations

from paddock.model.kinds import format_time, plain_number
from paddock.model.units import from_psi

__all__ = ["ago", "balance", "difference", "plural", "pressure", "run_text", "seconds"]

_SIDES = {0: "neutral", 1: "slight", 2: "clear", 3: "strong"}


def seconds(ms: int | None, decimals: int = 3) -> str:
    """``46.512``; a dash where there is none."""
    return "-" if ms is None else format_time(ms, decimals)


def difference(ms: int | None, decimals: int = 3) -> str:
    """A signed difference: ``-0.312`` is faster."""
    if ms is None:
        return "-"
    return ("+" if ms > 0 else "") + (format_time(ms, decimals) if ms else format_time(0, decimals))


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


def ago(minutes: float) -> str:
    """``3 min ago``, ``2 h ago``."""
    return f"{minutes:.0f} min ago" if minutes < 90 else f"{minutes / 60:.0f} h ago"
