"""Kinds of cells, and the units a column may carry in its header: text to the value kept inside, and back.

Inside: psi (gauge), C, mm, m, N.m, km/h. Factors: NIST SP 811 (2008), appendix B;
1/32 in = 25.4/32 mm exactly; lbf.ft = 4.4482216152605 * 0.3048 N.m exactly.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pydantic import BaseModel


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


# what a value of a TOML file is, how it is measured and between which bounds it can be: stands beside its field


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


def measured(model: type[BaseModel], field: str) -> Measured:
    """What a field of a model is, with its bounds. KeyError where it doesn't say."""
    return dict(measured_in(model))[field]


def measured_in(model: type[BaseModel]) -> Iterator[tuple[str, Measured]]:
    """The fields of a model that say what they are, in order."""
    for name, field in model.model_fields.items():
        row = next((extra for extra in field.metadata if isinstance(extra, Measured)), None)
        if row is not None:
            yield name, row


BALANCE_STEP = 1.0
"""Balance is noted in whole steps."""

_TIME = re.compile(r"(?:(\d{1,3}):)?(\d{1,7})(?:[.,](\d{0,3}))?", re.ASCII)
_CLOCK = re.compile(r"(\d{1,2}):(\d{2})(?::(\d{2}))?", re.ASCII)
_WHOLE = re.compile(r"[+-]?\d{1,9}", re.ASCII)


@dataclass(frozen=True, slots=True)
class CellKind:
    """``read``: text to value; ``write``: value to text with a decimal point."""

    name: str
    read: Callable[[str], object]
    write: Callable[[object], str]


def parse_time_ms(text: str) -> int:
    """Seconds as printed (``46.512``, ``46,512``, ``1:02.345``) to whole milliseconds, exactly."""
    found = _TIME.fullmatch(text)
    if found is None:
        raise ValueError(f"{text!r} is no time: write seconds with at most three decimals, like 46.512")
    minutes, seconds, part = found.groups()
    if minutes is not None and int(seconds) > 59:
        raise ValueError(f"{text!r} is no time: after the colon come 0 to 59 seconds")
    return (int(minutes or 0) * 60 + int(seconds)) * 1000 + int((part or "").ljust(3, "0"))


def format_time(ms: int, decimals: int = 3) -> str:
    """Milliseconds as seconds, with more decimals than asked only where the value has them."""
    sign, ms = ("-", -ms) if ms < 0 else ("", ms)
    part = f"{ms % 1000:03d}"
    while len(part) > decimals and part.endswith("0"):
        part = part[:-1]
    return f"{sign}{ms // 1000}" + (f".{part}" if part else "")


def plain_number(value: float, places: int) -> str:
    """Half-up decimal text without trailing zeros or an exponent."""
    step = Decimal(1).scaleb(-places)
    text = f"{Decimal(repr(float(value))).quantize(step, ROUND_HALF_UP):f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text).replace(
        "-0", "0", 1 if text.strip("-0.") == "" else 0
    )


def _float(text: str) -> float:
    try:
        value = float(Decimal(text.replace(",", ".") if text.count(",") == 1 and "." not in text else text))
    except (InvalidOperation, ValueError):
        raise ValueError(f"{text!r} is no number") from None
    if not math.isfinite(value) or abs(value) > 1e9:
        raise ValueError(f"{text!r} is no number that can be meant")
    return value


def _whole(text: str) -> int:
    if _WHOLE.fullmatch(text) is None:
        raise ValueError(f"{text!r} is no whole number")
    return int(text)


def _ranged(low: int, high: int | None, what: str) -> Callable[[str], int]:
    def read(text: str) -> int:
        value = _whole(text)
        if value < low or (high is not None and value > high):
            raise ValueError(f"{text!r} is out of range: {what}")
        return value

    return read


def _clock(text: str) -> str:
    found = _CLOCK.fullmatch(text)
    if found is None or int(found[1]) > 23 or int(found[2]) > 59 or int(found[3] or 0) > 59:
        raise ValueError(f"{text!r} is no clock time: write HH:MM or HH:MM:SS")
    return f"{int(found[1]):02d}:{found[2]}" + (f":{found[3]}" if found[3] else "")


def _date(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ValueError(f"{text!r} is no date: write YYYY-MM-DD") from None


_YES = {"yes": True, "y": True, "true": True, "1": True, "x": True}
_NO = {"no": False, "n": False, "false": False, "0": False, "-": False}


def _flag(text: str) -> bool:
    known = _YES | _NO
    if text.lower() not in known:
        raise ValueError(f"{text!r}: write yes or no")
    return known[text.lower()]


def _text(text: str) -> str:
    return text


def choice(*words: str) -> CellKind:
    """A cell that holds one of ``words``."""

    def read(text: str) -> str:
        if text.lower() not in words:
            raise ValueError(f"{text!r} is not known here: write {', '.join(words[:-1])} or {words[-1]}")
        return text.lower()

    return CellKind("choice", read, str)


def _write_float(value: object) -> str:
    return plain_number(float(value), 6)  # type: ignore[arg-type]


KINDS: dict[str, CellKind] = {
    kind.name: kind
    for kind in (
        CellKind("text", _text, str),
        CellKind("time", parse_time_ms, lambda value: format_time(int(value))),  # type: ignore[call-overload]
        CellKind("float", _float, _write_float),
        CellKind("ordinal", _ranged(1, 999, "counts from 1"), str),
        CellKind("count", _ranged(0, 999, "0 or more"), str),
        CellKind("balance", _ranged(-3, 3, "-3 strong understeer to +3 strong oversteer"), lambda value: f"{value}"),
        CellKind("clock", _clock, str),
        CellKind("date", _date, str),
        CellKind("flag", _flag, lambda value: "yes" if value else "no"),
    )
}
