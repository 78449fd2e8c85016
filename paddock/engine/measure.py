"""Every value of a car file: what it is, where to measure it, what is done without it.

Data for the car editor, ``paddock bar``, ``paddock gears`` and the docs. ``low`` and ``high`` bound what can be at
all (generous: outside them a value is taken as a slip of the pen and left out), not what is wise. Bounds and usual
ranges are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from paddock.engine.measure_axle import AXLE_ROWS, BAR_ROWS
from paddock.engine.measure_car import CAR_ROWS, FIRST_RUN_ROWS, LIMIT_ROWS, TABLE_ROWS, TARGET_ROWS
from paddock.engine.measure_drive import ENGINE_ROWS, GEARBOX_ROWS

__all__ = ["Measure", "measure_of", "measures"]


@dataclass(frozen=True, slots=True)
class Measure:
    """``key``: dotted key of the car file; ``unit`` blank: a number or text; ``low``/``high`` None: not bounded."""

    key: str
    label: str
    unit: str
    meaning: str
    how: str
    without: str
    low: float | None = None
    high: float | None = None


def _rows(prefix: str, rows: tuple[tuple[object, ...], ...]) -> tuple[Measure, ...]:
    made = (Measure(*row) for row in rows)  # type: ignore[arg-type]
    return tuple(replace(row, key=prefix + row.key) for row in made)


def _built() -> tuple[Measure, ...]:
    ends = ("front", "rear")
    return (
        *_rows("", CAR_ROWS),
        *(row for end in ends for row in (*_rows(f"{end}.", AXLE_ROWS), *_rows(f"{end}.bar.", BAR_ROWS))),
        *_rows("gearbox.", GEARBOX_ROWS),
        *_rows("engine.", ENGINE_ROWS),
        *_rows("limits.", LIMIT_ROWS),
        *(row for surface in ("dry", "damp", "wet") for row in _rows(f"targets.{surface}.", TARGET_ROWS)),
        *_rows("first_run.", FIRST_RUN_ROWS),
        *_rows("", TABLE_ROWS),
    )


_ALL = _built()
_BY_KEY = {row.key: row for row in _ALL}


def measures() -> tuple[Measure, ...]:
    """All values in the order of the car file; front and rear each by their own dotted key."""
    return _ALL


def measure_of(key: str) -> Measure | None:
    """The value of a dotted key (``rear.bar.length_mm``), None for a key the program does not use."""
    return _BY_KEY.get(key)
