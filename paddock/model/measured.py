"""What a value of a TOML file is, how it is measured and between which bounds it can be: stands beside its field.

Bounds are generous: outside them a value can't be meant and stays out, with a question where it would fit another
unit; they don't say what is wise. Bounds and usual ranges: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from paddock.model.units import FAMILIES, PSI_PA

if TYPE_CHECKING:
    from pydantic import BaseModel


@dataclass(frozen=True, slots=True)
class Measured:
    """``unit`` blank: a number or text; ``low``/``high`` None: not bounded that way. A list is bounded item by item.

    ``without``: what answer is not given, or what is taken instead, where the value is missing. ``key``: dotted, filled
    in where values of several tables stand together.
    """

    label: str
    unit: str = ""
    meaning: str = ""
    how: str = ""
    without: str = ""
    low: float | None = None
    high: float | None = None
    key: str = ""

    def fits(self, value: float) -> bool:
        """Whether the value can be."""
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)


class Written(float):
    """A value in the unit kept inside that its file wrote in another: ``suffix`` of it, ``text`` as it stands there."""

    suffix: str
    text: str

    def __new__(cls, value: float, suffix: str, text: str) -> Written:
        made = super().__new__(cls, value)
        made.suffix, made.text = suffix, text
        return made


_SLIPS: dict[str, tuple[tuple[str, str, float], ...]] = {
    "psi": (("kPa", "kpa", 1000 / PSI_PA), ("bar", "bar", 100_000 / PSI_PA)),
    "mm": (("metres", "", 1000.0), ("centimetres", "", 10.0), ("inches", "", 25.4)),
    "kg": (("tonnes", "", 1000.0), ("pounds", "", 0.45359237)),
    "N/mm": (("N/m", "", 0.001), ("lbf/in", "", 0.1751268)),
    "N.m": (("lbf.ft", "lbft", 1.3558179483),),
    "GPa": (("MPa", "", 0.001),),
    "rpm": (("thousands", "", 1000.0),),
    "s": (("milliseconds", "", 0.001),),
    "m": (("feet", "ft", 0.3048), ("kilometres", "", 1000.0)),
    "m2": (("square centimetres", "", 0.0001),),
    "hPa": (("inches of mercury", "", 33.86389), ("mm of mercury", "", 1.333224)),
}
"""By the unit kept inside: another unit, its ending of a key where there is one, its factor. NIST SP 811 (2008)."""


def misfit(value: float, unit: str, low: float | None, high: float | None, stem: str = "") -> str:
    """``; did you mean kPa? ...`` where the value fits in another unit or a power of ten off; else nothing.

    ``stem``: the key without its unit, where the file may name the other one.
    """
    bounds = Measured("", unit, low=low, high=high)
    if isinstance(value, Written):
        plain = float(value.text)
        return f"; did you mean {unit}?" if bounds.fits(plain) else misfit(plain, unit, low, high, stem)
    if unit == "C" and bounds.fits((value - 32) / 1.8):
        return f"; did you mean Fahrenheit? {value:g} F is {(value - 32) / 1.8:.1f} C"
    if not unit and high is not None and high <= 1 and bounds.fits(value / 100):
        return f"; did you mean {value:g} %? write {value / 100:g}"
    for other, suffix, factor in _SLIPS.get(unit, ()):
        if bounds.fits(value * factor):
            key = f"write {stem}_{suffix} = {value:g}, or {value * factor:.3g}" if suffix and stem else ""
            return f"; did you mean {other}? {key or f'that is {value * factor:.6g} {unit}'}"
    near = next((value * step for step in (10, 100, 0.1, 0.01, 1000, 0.001) if bounds.fits(value * step)), None)
    return f"; did you mean {near:g}{f' {unit}' if unit else ''}?" if near else ""


def _range(row: Measured) -> str:
    if row.low is None:
        return f"at most {row.high:g}"
    return f"at least {row.low:g}" if row.high is None else f"{row.low:g} to {row.high:g}"


def _numbers(value: object) -> Iterator[float]:
    for item in value if isinstance(value, list | tuple) else (value,):
        if isinstance(item, Written):
            yield item
        elif isinstance(item, int | float | Decimal) and not isinstance(item, bool):
            yield float(item)


def out_of_bounds(row: Measured, name: str, value: object) -> str | None:
    """Why a value (or one of a list) can't be, with the mend; None: it can, or is no number at all."""
    wrong = next((number for number in _numbers(value) if not row.fits(number)), None)
    if wrong is None:
        return None
    unit = f" {row.unit}" if row.unit else ""
    stem, _, suffix = name.rpartition("_")
    known = any(family.units[0].suffix == suffix for family in FAMILIES.values())
    written = f" (from {wrong.text} {wrong.suffix})" if isinstance(wrong, Written) else ""
    hint = misfit(wrong, row.unit, row.low, row.high, stem if known else "")
    how = f": {row.how}" if row.how and not hint else ""
    return f"{float(wrong):.6g}{unit}{written} can't be, {_range(row)} can{how}{hint}"


def measured_in(model: type[BaseModel]) -> Iterator[tuple[str, Measured]]:
    """The fields of a model that say what they are, in order."""
    for name, field in model.model_fields.items():
        row = next((extra for extra in field.metadata if isinstance(extra, Measured)), None)
        if row is not None:
            yield name, row
