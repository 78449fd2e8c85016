"""Units a column may carry in its header, and the way to the unit kept inside.

Inside: psi (gauge), C, mm, m, N.m, km/h. Factors: NIST SP 811 (2008), appendix B;
1/32 in = 25.4/32 mm exactly; lbf.ft = 4.4482216152605 * 0.3048 N.m exactly.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

PSI_PA = 4.4482216152605 / 0.0254**2


@dataclass(frozen=True, slots=True)
class Unit:
    """``inside = (outside + shift) * factor``; ``places``: decimals when written."""

    suffix: str
    label: str
    factor: float = 1.0
    shift: float = 0.0
    places: int = 2

    def inward(self, outside: float) -> float:
        """The value in the unit kept inside."""
        return (outside + self.shift) * self.factor

    def outward(self, inside: float) -> float:
        """The value in this unit."""
        return inside / self.factor - self.shift


@dataclass(frozen=True, slots=True)
class Family:
    """Units of one quantity; the first is the one kept inside."""

    name: str
    units: tuple[Unit, ...]

    def by_suffix(self, suffix: str) -> Unit | None:
        """The unit of a header's ending, or None."""
        return next((unit for unit in self.units if unit.suffix == suffix), None)


FAMILIES: dict[str, Family] = {
    family.name: family
    for family in (
        Family(
            "pressure",
            (
                Unit("psi", "psi", places=2),
                Unit("kpa", "kPa", 1000.0 / PSI_PA, places=1),
                Unit("bar", "bar", 100_000.0 / PSI_PA, places=3),
            ),
        ),
        Family("temperature", (Unit("c", "°C", places=1), Unit("f", "°F", 5 / 9, -32.0, 1))),
        Family("depth", (Unit("mm", "mm"), Unit("32nds", "/32 in", 25.4 / 32))),
        Family("altitude", (Unit("m", "m", places=1), Unit("ft", "ft", 0.3048, places=0))),
        Family("torque", (Unit("nm", "N·m", places=1), Unit("lbft", "lb·ft", 4.4482216152605 * 0.3048, places=1))),
        Family("speed", (Unit("kmh", "km/h", places=1), Unit("mph", "mph", 1.609344, places=1))),
    )
}


def _pressure(unit: str) -> Unit:
    found = FAMILIES["pressure"].by_suffix(unit.lower())
    if found is None:
        raise ValueError(f"{unit!r} is no pressure unit: psi, kpa or bar")
    return found


def to_psi(value: float, unit: str) -> float:
    """Gauge pressure in psi, bit for bit unchanged when already psi."""
    return _pressure(unit).inward(value)


def from_psi(psi: float, unit: str) -> float:
    """Gauge pressure ``psi`` in ``unit`` (psi, kpa or bar)."""
    return _pressure(unit).outward(psi)


def pressure_label(unit: str) -> str:
    """How a sentence writes a pressure unit: ``kPa``."""
    return _pressure(unit).label


_FIGURE = re.compile(r"\d+(?:\.\d+)?")
_SAID = re.compile(
    r"(?:\d+(?:\.\d+)?(?:, (?:and )?| to | and |/)(?:[A-Za-z]{2,5} )?[+-]?)*\d+(?:\.\d+)? psi\b"
)  # fmt: skip
_ASKED = re.compile(r"is that (?:kPa|bar|psi)\b")


def said_in(text: str, unit: str) -> str:
    """A sentence's pressures, said in psi (``LF 34.0, RF 34.5 psi``), in ``unit``; one that asks which unit was meant
    stays as it is."""
    if unit == "psi" or _ASKED.search(text):
        return text

    def figure(found: re.Match[str]) -> str:
        psi = float(found[0])
        places = {"kpa": 0 if psi >= 10 else 1, "bar": 2 if psi >= 10 else 3}[unit]
        return f"{from_psi(psi, unit):.{places}f}"

    def group(found: re.Match[str]) -> str:
        return _FIGURE.sub(figure, found[0].removesuffix("psi")) + pressure_label(unit)

    return _SAID.sub(group, text)
