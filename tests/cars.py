"""Two invented cars for tests: a front-driven saloon with a heavy nose, a light rear-driven coupe."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

from hypothesis import settings

from paddock.engine.car.bars import BarTable, pairs_table
from paddock.model.car import Car

laws = settings(deadline=None, derandomize=True, max_examples=60)
"""For properties: the same examples every time, no clock."""

SALOON: dict[str, Any] = {
    "name": "saloon",
    "drive": "front",
    "mass_kg": 1310,
    "front_share": 0.61,
    "cg_height_mm": 540,
    "wheelbase_mm": 2600,
    "front": {
        "track_mm": 1530, "spring_n_mm": 32, "spring_mr": 0.96, "tyre_n_mm": 245, "roll_centre_mm": 60,
        "unsprung_kg": 84, "unsprung_cg_mm": 310,
        "bar": {"diameter_mm": 24, "length_mm": 930, "arms_mm": [230, 210], "mr": 0.55, "left": 1, "right": 1},
    },
    "rear": {
        "track_mm": 1540, "spring_n_mm": 60, "spring_mr": 0.75, "tyre_n_mm": 250, "roll_centre_mm": 90,
        "unsprung_kg": 78, "unsprung_cg_mm": 310,
        "bar": {
            "diameter_mm": 25.4, "wall_mm": 4, "length_mm": 900, "arms_mm": [240, 225, 210, 195], "mr": 0.6,
            "left": 3, "right": 3, "shear_gpa": 79,
        },
    },
    "gearbox": {
        "ratios": [3.5, 2.0, 1.4, 1.0], "final": 4.0, "efficiency": 0.92, "limiter_rpm": 7000, "shift_s": 0.3,
        "reaction_s": 0.35, "grip_g": 0.95, "rolling_circumference_mm": 1905,
    },
    "engine": {"rpm": [2000, 4000, 6000, 7000], "torque_nm": [250, 300, 280, 240]},
}  # fmt: skip

COUPE: dict[str, Any] = {
    "name": "coupe",
    "drive": "rear",
    "mass_kg": 1150,
    "front_share": 0.52,
    "cg_height_mm": 455,
    "wheelbase_mm": 2400,
    "front": {
        "track_mm": 1410, "spring_n_mm": 55, "spring_mr": 0.64, "tyre_n_mm": 215, "roll_centre_mm": 45,
        "unsprung_kg": 62, "unsprung_cg_mm": 295,
        "bar": {"diameter_mm": 22.2, "length_mm": 820, "arms_mm": [220, 200, 180], "mr": 0.62, "left": 2, "right": 2},
    },
    "rear": {
        "track_mm": 1430, "spring_n_mm": 38, "spring_mr": 0.78, "tyre_n_mm": 215, "roll_centre_mm": 80,
        "unsprung_kg": 60, "unsprung_cg_mm": 295,
    },
    "gearbox": {
        "ratios": [3.2, 1.95, 1.35, 1.0, 0.8], "final": 4.2, "efficiency": 0.91, "limiter_rpm": 7200,
        "shift_s": 0.25, "reaction_s": 0.35, "grip_g": 0.98, "size": "205/50R16",
    },
    "engine": {
        "rpm": [1500, 2500, 3500, 4500, 5500, 6500, 7200], "torque_nm": [120, 140, 152, 160, 159, 144, 124],
    },
}  # fmt: skip


def changed(base: dict[str, Any], **values: Any) -> Car:
    """``base`` with dotted keys (``rear__bar__left=7``) set; ``None`` takes a key out."""
    made = deepcopy(base)
    for key, value in values.items():
        *path, last = key.split("__")
        node = made
        for name in path:
            node = node.setdefault(name, {})
        if value is None:
            node.pop(last, None)
        else:
            node[last] = value
    return Car.model_validate(made)


def saloon(**values: Any) -> Car:
    """The front-driven car, with changes."""
    return changed(SALOON, **values)


def coupe(**values: Any) -> Car:
    """The rear-driven car, with changes."""
    return changed(COUPE, **values)


def rear_bar(**values: Any) -> BarTable:
    """The table of the front-driven car's rear bar, with changes to the bar's keys."""
    found = pairs_table(saloon(**{f"rear__bar__{key}": value for key, value in values.items()}), "rear")
    assert found is not None
    return found
