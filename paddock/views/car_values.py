"""Every value of a car file for its page: shown, read from what is typed, set in the file."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, get_args, get_origin

from paddock.engine.car.balance import load_transfer
from paddock.engine.car.bars import CAUTIONS, pairs_table
from paddock.engine.car.gears import gear_table
from paddock.model.car import Car
from paddock.model.car_values import FREE, TABLES, cant_be, measures
from paddock.model.edit import Batch, SetKey
from paddock.model.measured import Measured
from paddock.model.units import FAMILIES
from paddock.views.car import CarNow, Fault, car_file

__all__ = [
    "FREE", "ValueLine", "caution", "impossible", "new_car", "read_value", "set_value", "value_text", "values_of",
]  # fmt: skip


_KEYS = frozenset(row.key for row in measures())


@dataclass(frozen=True, slots=True)
class ValueLine:
    """One value. ``text`` blank: not in the file. ``table``: a free table itself, which takes ``name = value``."""

    path: tuple[str, ...]
    text: str
    measure: Measured
    faults: tuple[Fault, ...] = ()
    table: bool = False

    @property
    def key(self) -> str:
        """The dotted key."""
        return ".".join(self.path)

    @property
    def mark(self) -> str:
        """``!`` can't be, ``?`` missing or doubtful, blank: fine or not needed."""
        return "" if not self.faults else "!" if any(fault.hard for fault in self.faults) else "?"


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


def _at(car: Car | None, path: Iterable[str]) -> Any:
    node: Any = car
    for name in path:
        node = node.get(name) if isinstance(node, Mapping) else getattr(node, name, None)
    return node


def _faults(now: CarNow) -> tuple[Fault, ...]:
    """Everything bar, balance and gears have to say."""
    if now.car is None:
        return now.faults
    tables = [pairs_table(now.car, axle) for axle in ("front", "rear")]
    bars = [table.findings for table in tables if table]
    return now.with_findings(*bars, load_transfer(now.car).findings, gear_table(now.car).findings)


def _free_lines(car: Car | None, row: Measured, said: Mapping[str, list[Fault]]) -> Iterator[ValueLine]:
    held: Mapping[str, object] = _at(car, (row.key,)) or {}
    yield ValueLine((row.key,), f"{len(held)} set" if held else "", row, tuple(said.get(row.key, ())), table=True)
    for name, value in held.items():
        key = f"{row.key}.{name}"
        yield ValueLine((row.key, name), value_text(value), row, tuple(said.get(key, ())))


def _by_value(faults: Sequence[Fault]) -> dict[str, list[Fault]]:
    """Faults by the value to mend; one of a whole table is told only where none of its values is named."""
    said: dict[str, list[Fault]] = {}
    for fault in faults:
        if fault.key in _KEYS or fault.key.split(".")[0] in FREE:
            said.setdefault(fault.key, []).append(fault)
        elif not any(other.key.startswith(f"{fault.key}.") for other in faults):
            said.setdefault(_nearest(fault.key), []).append(fault)
    return said


def values_of(now: CarNow) -> tuple[ValueLine, ...]:
    """Every value in the order of the car file, with what is wrong with it; faults of no value stand with ``name``."""
    said = _by_value(_faults(now))
    lines: list[ValueLine] = []
    for row in measures():
        if row.key in FREE:
            lines += _free_lines(now.filed, row, said)
        else:
            path = tuple(row.key.split("."))
            lines.append(ValueLine(path, value_text(_at(now.filed, path)), row, tuple(said.get(row.key, ()))))
    return tuple(lines)


def _nearest(key: str) -> str:
    """The first value under a key that is none itself (``gearbox``), else the name."""
    return next((row.key for row in measures() if row.key.startswith(f"{key}.")), "name") if key else "name"


def caution(line: ValueLine) -> str:
    """What to mind while measuring; blank where nobody goes under the car for it."""
    return CAUTIONS[0] if line.path[0] in ("front", "rear") else ""


# reading

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


def _choice(text: str, words: Sequence[str]) -> str:
    found = [word for word in words if word.startswith(text.lower())]
    if len(found) != 1:
        raise ValueError(f"{text!r}: write {', '.join(words)}")
    return found[0]


def _free(text: str, table: str) -> Any:
    if table == "setup":
        return text
    try:
        return _plain(_number(text, "N.m" if table == "fasteners" else ""))
    except ValueError:
        if table == "fasteners":
            raise
    return {"yes": True, "no": False, "true": True, "false": False}.get(text.lower(), text)


def read_value(line: ValueLine, text: str) -> tuple[tuple[str, ...], Any]:
    """Where a typed text goes and what it is; ``-`` takes the value out (None). ValueError's sentence on a fault.

    On a free table the text is ``name = value``; numbers may have a unit behind them (60.2in, 2.4bar, 61%).
    """
    text = text.strip()
    if line.table:
        name, equals, value = (part.strip(' "') for part in text.partition("="))
        if not name or not equals or not value:
            raise ValueError(f"{text!r}: type name = value, like {_EXAMPLES[line.key]}")
        return (*line.path, name), None if value == "-" else _free(value, line.key)
    if text == "-":
        return line.path, None
    if line.path[0] in FREE:
        return line.path, _free(text, line.path[0])
    return line.path, _typed(line, text)


_EXAMPLES = {"setup": "front_bar = 2-2", "fasteners": "wheel nut = 120", "advice": "quick = no"}


def _typed(line: ValueLine, text: str) -> Any:
    kinds, unit = _kinds(line.path), line.measure.unit
    words = next((get_args(kind) for kind in kinds if get_origin(kind) is Literal), None)
    if words is not None:
        return _choice(text, words)
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


# setting


def impossible(path: Sequence[str], value: Any) -> str | None:
    """Why a value can't stand there at all, with the mend; None: it may."""
    return None if value is None else cant_be(".".join(path), value)


def _other_units(path: Sequence[str]) -> list[tuple[str, ...]]:
    """The same quantity in another unit: two keys for one thing would be one too many."""
    stem, _, suffix = path[-1].rpartition("_")
    for name in ("pressure", "torque"):
        units = FAMILIES[name].units
        if stem and units[0].suffix == suffix and path[0] not in FREE:
            return [(*path[:-1], f"{stem}_{unit.suffix}") for unit in units[1:]]
    return []


def set_value(name: str, path: Sequence[str], value: Any) -> Batch:
    """The value set in the car file, or taken out with None: one step for undo."""
    file, key = car_file(name), ".".join(path)
    label = f"{key} taken out" if value is None else f"{key} = {value_text(value)}"
    others = [SetKey(file, other, None) for other in _other_units(path)]
    return Batch(f"{name}: {label}", (SetKey(file, tuple(path), value), *others))


def new_car(number: str, said: str) -> Batch:
    """A car file of that name for the entry. ValueError's sentence where it can't be a file's name."""
    name = re.sub(r"[^\w-]+", "-", said.strip().lower()).strip("-_")
    if not name or len(name) > 40:
        raise ValueError(f"{said!r}: a short name for the car, letters and digits")
    edits = (
        SetKey(car_file(name), ("name",), said.strip()),
        SetKey("event.toml", ("mine", "cars", number), name),
    )
    return Batch(f"car {name} for {number}", edits)
