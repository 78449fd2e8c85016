"""The wheel: tyre size, free diameter, and the road covered by one turn.

Sizes are arithmetic: rim in inches + 2 x width x aspect. A loaded tyre rolls as if it were smaller: 0.97 of the free
diameter. Sixteen rows of a tyre maker's table (light-truck sizes, revolutions per mile against inflated diameter) lie
between 0.9696 and 0.9747; a roll-out of your own tyre beats it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import pi

from paddock.engine.car.findings import Finding, doubt, fault
from paddock.model.car import Gearbox

__all__ = ["ROLLING", "TyreSize", "free_diameter_mm", "read_size", "revs_per_mile", "rolling_circumference"]

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


def free_diameter_mm(text: str) -> float | None:
    """Unloaded diameter of a size, None where it can't be read."""
    size = read_size(text)
    return None if size is None else size.diameter_mm


def revs_per_mile(free_mm: float, factor: float = ROLLING) -> float:
    """Turns per mile of a tyre that rolls at ``factor`` of its free diameter; 1 = the bare geometry."""
    return 1_609_344.0 / (pi * free_mm * factor)


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
