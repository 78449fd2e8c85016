"""Every value of a car file in one list, for the car editor, ``check``, the engine's findings and the docs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from paddock.model.car import Car, FirstRun, Limits, Target
from paddock.model.car_axle import Axle, Bar
from paddock.model.car_drive import Engine, Gearbox
from paddock.model.measured import Measured, measured_in, out_of_bounds
from paddock.model.toml_base import TomlModel

FREE = ("setup", "fasteners", "advice")
"""Tables with keys of one's own."""
TABLES: Mapping[str, type[TomlModel]] = {
    "": Car, "front": Axle, "front.bar": Bar, "rear": Axle, "rear.bar": Bar, "gearbox": Gearbox, "engine": Engine,
    "limits": Limits, "targets.dry": Target, "targets.damp": Target, "targets.wet": Target, "first_run": FirstRun,
}  # fmt: skip
"""Tables of a car file in its order."""


def _built() -> tuple[Measured, ...]:
    rows = [
        replace(row, key=f"{table}.{name}" if table else name)
        for table, model in TABLES.items()
        for name, row in measured_in(model)
    ]
    return tuple(sorted(rows, key=lambda row: row.key in FREE))


_ALL = _built()
_BY_KEY = {row.key: row for row in _ALL}


def measures() -> tuple[Measured, ...]:
    """All values in the order of the car file; front and rear each by their own dotted key."""
    return _ALL


def measure_of(key: str) -> Measured:
    """The value of a dotted key (``rear.bar.length_mm``). KeyError for a key the program does not use."""
    return _BY_KEY[key]


def cant_be(key: str, value: Any) -> str | None:
    """Why a value can't stand at a dotted key, with the mend; None: it may, or the key is one of its owner's."""
    row = _BY_KEY.get(key) or (_BY_KEY["fasteners"] if key.startswith("fasteners.") else None)
    return None if row is None else out_of_bounds(row, key.rpartition(".")[2], value)
