"""What is typed about the car: a value of its file, a stretch to hold a gear on."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, get_args, get_origin

from paddock.model.car import FREE, TABLES, cant_be, measure_of
from paddock.model.units import FAMILIES

# a value

_FACTORS: Mapping[str, Mapping[str, float]] = {
    "mm": {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, '"': 25.4},
    "kg": {"kg": 1.0, "lb": 0.45359237, "lbs": 0.45359237},
    "N/mm": {"n/mm": 1.0, "lb/in": 0.1751268, "lbf/in": 0.1751268, "kgf/mm": 9.80665, "kg/mm": 9.80665},
    "": {"%": 0.01},
    "psi": {unit.suffix: unit.factor for unit in FAMILIES["pressure"].units},
    "N.m": {"n.m": 1.0, "n·m": 1.0} | {unit.suffix: unit.factor for unit in FAMILIES["torque"].units},
}
"""Other units that may be typed behind a number. Factors: NIST SP 811 (2008), appendix B."""
_NUMBER = re.compile(r"([+-]?\d+(?:[.,]\d+)?|[+-]?[.,]\d+)\s*(\D*)")
_EXAMPLES = {"setup": "front_bar = 2-2", "fasteners": "wheel nut = 120", "advice": "quick = no"}


def value_text(value: object) -> str:
    """A value as it is typed: lists with spaces between, yes and no; blank for None."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value + 0.0:.10g}"
    if isinstance(value, list | tuple):
        return " ".join(value_text(item) for item in value)
    return str(value)


def read_value(path: Sequence[str], text: str) -> tuple[tuple[str, ...], Any]:
    """Where a text typed at ``path`` goes and what it is; ``-`` takes the value out (None).

    At a free table (``("setup",)``) the text is ``name = value``; numbers may have a unit behind them (60.2in, 2.4bar,
    61%). ValueError's sentence on a fault, and on a value that can't stand there.
    """
    text, table = text.strip(), path[0] in FREE
    if table and len(path) == 1:
        name, equals, value = (part.strip(' "') for part in text.partition("="))
        if not name or not equals or not value:
            raise ValueError(f"{text!r}: type name = value, like {_EXAMPLES[path[0]]}")
        path, text = (path[0], name), value
    made = None if text == "-" else _free(text, path[0]) if table else _typed(path, text)
    why = None if made is None else cant_be(".".join(path), made)
    if why:
        raise ValueError(why)
    return tuple(path), made


def _number(text: str, unit: str) -> float:
    found = _NUMBER.fullmatch(text.strip())
    if found is None:
        raise ValueError(f"{text!r} is no number")
    value, typed = float(found[1].replace(",", ".")), found[2].strip().lower()
    known = {**_FACTORS.get(unit, {}), unit.lower(): 1.0}
    if typed and typed not in known:
        fine = ", ".join(name for name in known if name) or "none"
        raise ValueError(f"{typed!r} is no unit for this: {fine}")
    return value if known.get(typed, 1.0) == 1.0 else round(value * known[typed], 6)


def _plain(value: float) -> int | float:
    return int(value) if value.is_integer() and abs(value) < 1e15 else value


def _list(text: str, unit: str) -> list[int | float]:
    parts = [part.strip(",") for part in re.split(r"[\s;]+|,\s+", text.strip("[] ")) if part.strip(",")]
    if len(parts) == 1 and parts[0].count(",") == 1:
        raise ValueError(f"{text!r} may be one number or two: put spaces between numbers")
    if len(parts) == 1 and parts[0].count(",") > 1:
        parts = parts[0].split(",")
    if not parts:
        raise ValueError("type the numbers with spaces between")
    return [_plain(_number(part, unit)) for part in parts]


def _kinds(path: Sequence[str]) -> tuple[Any, ...]:
    """What may stand at a path: float, int, str, tuple[...] or Literal[...]."""
    model = TABLES.get(".".join(path[:-1]))
    if model is None or path[-1] not in model.model_fields:
        return (str,)
    annotation = model.model_fields[path[-1]].annotation
    if get_origin(annotation) is Literal:
        return (annotation,)
    return tuple(kind for kind in get_args(annotation) if kind is not type(None)) or (annotation,)


def _typed(path: Sequence[str], text: str) -> Any:
    kinds, unit = _kinds(path), measure_of(".".join(path)).unit
    words = next((get_args(kind) for kind in kinds if get_origin(kind) is Literal), None)
    if words is not None:
        found = [word for word in words if word.startswith(text.lower())]
        if len(found) != 1:
            raise ValueError(f"{text!r}: write {', '.join(words)}")
        return found[0]
    listed = any(get_origin(kind) is tuple for kind in kinds)
    if listed and (float not in kinds or len(text.strip("[] ").split()) > 1):
        return _list(text, unit)
    if float in kinds:
        return _plain(_number(text, unit))
    if int in kinds:
        value = _number(text, unit)
        if not value.is_integer():
            raise ValueError(f"{text!r}: a whole number is wanted")
        return int(value)
    return text


def _free(text: str, table: str) -> Any:
    if table == "setup":
        return text
    try:
        return _plain(_number(text, "N.m" if table == "fasteners" else ""))
    except ValueError:
        if table == "fasteners":
            raise
    return {"yes": True, "no": False, "true": True, "false": False}.get(text.lower(), text)


# a stretch


@dataclass(frozen=True, slots=True)
class GearStretch:
    """Flat out for ``length_m`` from ``from_kmh``; ``gear`` None: the one in hand. ``lateral_g``: cornering on it."""

    gear: int | None
    from_kmh: float
    length_m: float
    lateral_g: float = 0.0


_FIGURE = r"\d+(?:[.,]\d+)?"
_STRETCH = re.compile(rf"(?:(\d)\s+)?({_FIGURE})\s+({_FIGURE})(?:\s+(\d?[.,]?\d+)\s*g)?")


def read_stretch(text: str) -> GearStretch:
    """``60 90``: from 60 km/h, 90 m; ``2 60 90``: in second; ``60 90 0.4g``: cornering at 0.4 g meanwhile.

    ValueError's sentence on anything else.
    """
    found = _STRETCH.fullmatch(text.strip())
    if found is None:
        raise ValueError(f"{text!r}: type the speed in km/h and the metres, like 60 90 (2 60 90 holds second)")
    kmh, metres, lateral = (float(part.replace(",", ".")) if part else 0.0 for part in found.groups()[1:])
    return GearStretch(int(found[1]) if found[1] else None, kmh, metres, lateral)
